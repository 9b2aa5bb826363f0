#!/usr/bin/env python3
"""Writes a large project for measurements of how time and memory grow. All of its data is invented.

project.py OUT [--screens N] [--locales N] [--elements N] [--panel NAME] [--heap]

Every screen has two live values, texts of the locale, and a key to the next; ELEMENTS is the number of elements on each, apart
from one another, or with --heap live texts all in one place.
"""
import argparse
import pathlib

PLACES = "orchard vineyard meadow hillside hollow terrace garden nursery".split()


def device(args):
    return f'''name = "Large project (invented)"
locale = "l0"

[panel]
from = "{args.panel}"
mounted = 90
rail = "core"

[display]
viewing-distance = "35 cm"
keys = [{{ centre = "6 mm", width = "10 mm" }}, {{ centre = "20 mm", width = "10 mm" }}]

[board.mcu]
rail = "core"
ram = "256 KiB"
flash = "16 MiB"
clock = "16 MHz"
active = "2 mA"
sleep = "1 uA"
wake = "1 ms"
cycles-per-pixel = 20
during-refresh = "sleep"

[board.bus]
clock = "4 MHz"
overhead = "10 %"

[board.rails.core]
regulator = "ldo"
output = "3.0 V"
dropout = "100 mV"
quiescent = "1 uA"

[battery]
from = "lithium-ion-pouch"

[fields.a]
unit = "°C"
decimals = 1
range = [-20, 60]
sample = 21.4
every = "{args.every}"
signal = {{ random-walk = {{ step = 0.4 }} }}

[fields.b]
unit = "%"
range = [0, 100]
sample = 47
every = "{args.every}"
signal = {{ random-walk = {{ step = 1 }} }}

[policy]
max-partials = 20
min-interval = "10 s"

[usage]
home = "s0"
start = "2031-03-01"
days = {args.days}
seed = 1
temperature = {{ low = "20 °C", high = "20 °C", warmest = "15:00" }}

[usage.journeys.glance]
per-day = 20
between = ["06:00", "22:00"]
steps = [{{ look = "5 s" }}, {{ press = 1, look = "4 s" }}, {{ press = 2, look = "4 s" }}]
'''


def screen(number, args):
    content = [
        '{ text = "{a}", at = [4, 4], size = [60, 16] }',
        '{ text = "{b}", at = [68, 4], size = [60, 16] }',
        '{ keys = "ticks", bottom = 16 }',
    ]
    if args.heap:
        content = [content[0]] * args.elements
    # A grid of cells that do not touch, as large as the smallest panel (the narrow side is a line of 104 pixels).
    for element in range(args.elements - len(content)):
        x, y = 4 + element % 28 * 7, 24 + element // 28 * 2
        if element % 7 == 0 and element < 21:
            content.append(f'{{ text = "@t{(number * 3 + element // 7) % 60}", at = [4, {24 + element // 7 * 18}], size = [120, 16] }}')
        else:
            content.append(f'{{ line = 1, at = [{x}, {y % 60 + 24}], size = [5, 1] }}')
    after, before = (number + 1) % args.screens, (number - 1) % args.screens
    keys = f'[keys]\n1 = {{ label = "@on", go = "s{after}" }}\n2 = {{ label = "@back", go = "s{before}" }}\n'
    return "content = [\n  " + ",\n  ".join(content) + ",\n]\n\n" + keys


def strings(locale):
    lines = ['on = "On"', 'back = "Back"']
    for text in range(60):
        lines.append(f't{text} = "{PLACES[(text + locale) % len(PLACES)].capitalize()} {text + locale}"')
    return "\n".join(lines) + "\n"


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("out", type=pathlib.Path)
    parser.add_argument("--screens", type=int, default=200)
    parser.add_argument("--locales", type=int, default=10)
    parser.add_argument("--elements", type=int, default=12)
    parser.add_argument("--panel", default="mono-296x128")
    parser.add_argument("--every", default="5 min")
    parser.add_argument("--heap", action="store_true")
    parser.add_argument("--days", type=int, default=7)
    args = parser.parse_args()
    for folder in ("screens", "strings"):
        (args.out / folder).mkdir(parents=True, exist_ok=True)
    (args.out / "device.toml").write_text(device(args), encoding="utf-8")
    for number in range(args.screens):
        (args.out / "screens" / f"s{number}.toml").write_text(screen(number, args), encoding="utf-8")
    for locale in range(args.locales):
        (args.out / "strings" / f"l{locale}.toml").write_text(strings(locale), encoding="utf-8")


main()
