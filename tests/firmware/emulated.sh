#!/usr/bin/env bash
# A part of the scripts of tests/export/machine_scripts.rs on an emulated Cortex-M0: the machine in C, compiled for that
# processor, tells the same as the machine in Rust. Needs arm-none-eabi-gcc with newlib, and qemu-system-arm.
#
# emulated.sh [FOLDER_WITH_SCRIPTS]: absent, the tests write them.
set -euo pipefail
root=$(cd "$(dirname "$0")/../.." && pwd)
for tool in arm-none-eabi-gcc qemu-system-arm; do
  command -v $tool >/dev/null || { echo "$tool is not installed: nothing emulated"; exit 0; }
done
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
scripts=${1:-$work/scripts}
if [ -z "${1:-}" ]; then
  mkdir "$scripts"
  (cd "$root" && INK_SCRIPTS=$scripts cargo test --locked --test export the_machine_in_c_runs_random >/dev/null)
fi
cd "$work"
cp "$root"/src/export/c/ink_*.[ch] "$root/tests/firmware/machine_scripts.c" "$root/tests/firmware/emulated.ld" .
cat >vectors.c <<'C'
extern char __stack;
void _mainCRTStartup(void);
__attribute__((section(".vectors"), used)) static const void *const vectors[] = { &__stack, (const void *)_mainCRTStartup };
C
arm-none-eabi-gcc -mcpu=cortex-m0 -mthumb -Os -std=c99 -DINK_FILES --specs=rdimon.specs -T emulated.ld \
  vectors.c machine_scripts.c ink_machine.c -o scripts.elf
ran=0
for input in $(ls "$scripts"/*.in | head -${SCRIPTS:-12}); do
  cp "$input" scripts.in
  timeout 300 qemu-system-arm -M microbit -nographic -monitor none -serial none \
    -semihosting-config enable=on,target=native -kernel scripts.elf </dev/null >said 2>&1 || { cat said; echo "$input: stopped"; exit 1; }
  cmp scripts.told "${input%.in}.out" || { echo "$input: the emulated Cortex-M0 tells something else"; exit 1; }
  ran=$((ran + $(stat -c %s scripts.told)))
done
[ "$ran" -gt 0 ] || { echo "no scripts ran"; exit 1; }
echo "Cortex-M0, emulated: $ran bytes told, all as the machine in Rust tells them"
