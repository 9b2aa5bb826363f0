#!/usr/bin/env bash
# Cycles that drawing each screen of the demo takes on a simulated AVR, by its own timer, as a table for costs.md.
# Needs avr-gcc with avr-libc, simavr and python3. Usage: avr_costs.sh path/to/inkjoule [PROJECT]
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
inkjoule=$(realpath "$1")
project=$(realpath "${2:-$here/../../screens-demo}")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
"$inkjoule" export "$project" --to c-live,json --out "$work" >/dev/null
cd "$work"
python3 - <<'PY'
import glob, json
manifest = json.load(open(glob.glob("*.json")[0]))
def sample(field):
    low, high = (min(max(end, -1e8), 1e8) for end in field["range"] or [-1e8, 1e8])
    return round((low + 0.6 * (high - low)) * 10 ** field["decimals"])
values = ", ".join(str(sample(field)) + "L" for field in manifest["fields"])
open("values.h", "w").write("static const int32_t sample_values[] = { %s };\n" % values)
PY
cat >board.c <<'C'
#include "screens_live.h"
#include "values.h"
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>

static uint8_t frame[SCREENS_LIVE_STRIDE * SCREENS_LIVE_LINES], past[SCREENS_LIVE_PAST + 1];
static volatile uint16_t over;

ISR(TIMER1_OVF_vect)
{
    over++;
}

static void say(char letter)
{
    UCSR0B = 1 << TXEN0;
    while (!(UCSR0A & (1 << UDRE0))) {
    }
    UDR0 = (uint8_t)letter;
}

static void say_number(uint32_t number)
{
    if (number > 9) {
        say_number(number / 10);
    }
    say((char)('0' + number % 10));
}

int main(void)
{
    uint16_t screen;
    ink_past_clear(&screens_live_design, past);
    for (screen = 0; screen < SCREENS_LIVE_SCREENS; screen++) {
        struct ink_layer layer = { screen, sample_values, past };
        struct ink_view view = { &layer, 1, 0 };
        uint32_t cycles;
        over = 0;
        TCNT1 = 0;
        TIMSK1 = 1 << TOIE1;
        TCCR1B = 1 << CS10;
        sei();
        ink_draw(&screens_live_design, &view, frame, 0, SCREENS_LIVE_LINES);
        cli();
        cycles = TCNT1;
        cycles |= (uint32_t)over << 16;
        TCCR1B = 0;
        say_number(screen);
        say(' ');
        say_number(cycles);
        say('\n');
    }
    for (;;) {
        sleep_mode();
    }
}
C
avr-gcc -mmcu=atmega1284p -Os -std=gnu99 -DINK_FLASH=__flash -DF_CPU=16000000UL board.c ink_draw.c screens_live.c -o board.elf
avr-gcc --version | head -1
timeout 300 simavr -m atmega1284p -f 16000000 board.elf </dev/null >said 2>&1 || true
python3 - <<'PY'
import re
header = open("screens_live.h").read()
names = dict((int(place), name.lower()) for name, place in re.findall(r"SCREENS_LIVE_SCREEN_(\w+) = (\d+)", header))
size = [int(re.search(r"SCREENS_LIVE_%s (\d+)" % side, header)[1]) for side in ("WIDTH", "HEIGHT")]
said = re.sub(r"\x1b\[[0-9;]*m", "", open("said").read())
rows = [(names[int(a)], int(b)) for a, b in re.findall(r"^(\d+) (\d+)", said, re.M)]
print("\n| screen | cycles | cycles a pixel |\n|---|---|---|")
for name, cycles in rows + [("all", sum(c for _, c in rows))]:
    print(f"| {name} | {cycles} | {cycles / size[0] / size[1] / (len(rows) if name == 'all' else 1):.1f} |")
PY
