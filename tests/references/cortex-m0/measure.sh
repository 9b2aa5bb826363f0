#!/bin/sh
# Instructions that drawing each screen of the demo takes on an emulated Cortex-M0, and bytes of code and tables.
# Needs arm-none-eabi-gcc, qemu-system-arm and python3. Usage: measure.sh path/to/inkjoule [PROJECT]
set -eu
here=$(cd "$(dirname "$0")" && pwd)
inkjoule=$(realpath "$1")
project=$(realpath "${2:-$here/../../../screens-demo}")
work=$(mktemp -d)
trap 'rm -r "$work"' EXIT
"$inkjoule" export "$project" --to c-live,json --out "$work" > /dev/null
cp "$here/board.c" "$here/link.ld" "$work"
cd "$work"
python3 - <<'PY'
import glob, json
manifest = json.load(open(glob.glob("*.json")[0]))
def sample(field):
    low, high = (min(max(end, -1e8), 1e8) for end in field["range"] or [-1e8, 1e8])
    return round((low + 0.6 * (high - low)) * 10 ** field["decimals"])
values = ", ".join(str(sample(field)) for field in manifest["fields"])
open("values.c", "w").write('#include <stdint.h>\nextern const int32_t sample_values[];\nconst int32_t sample_values[] = { %s };\n' % values)
PY
flags="-mcpu=cortex-m0 -mthumb -std=c99 -Os -ffunction-sections"
for file in ink_draw screens_live board values; do
    arm-none-eabi-gcc $flags -c $file.c -o $file.o
done
arm-none-eabi-gcc -mcpu=cortex-m0 -mthumb -nostartfiles -Wl,--gc-sections -T link.ld ink_draw.o screens_live.o board.o values.o -o board.elf
arm-none-eabi-gcc --version | head -1
qemu-system-arm --version | head -1
arm-none-eabi-size ink_draw.o screens_live.o | awk 'NR > 1 { print $6 ": " $1 " B of flash, " $2 + $3 " B of RAM" }'
echo "locale screen instructions_whole instructions_strips_16 stack_bytes"
timeout 120 qemu-system-arm -M microbit -nographic -monitor none -serial none -icount shift=0 -semihosting-config enable=on,target=native -kernel board.elf 2>&1
