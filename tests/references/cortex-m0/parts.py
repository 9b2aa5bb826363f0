#!/usr/bin/env python3
"""Bytes that each part of the interpreter and of the machine in C adds on a Cortex-M0, as src/firmware/footprint.rs has
them. Needs arm-none-eabi-gcc. Usage: parts.py FOLDER, where FOLDER holds an export of c-live.

A part counts what the code shrinks by without it while all others are there; a part with parts of its own, what they do
not. What several share is what is left."""
import os
import re
import shutil
import subprocess
import sys
import tempfile

FLAGS = "-mcpu=cortex-m0 -mthumb -std=c99 -Os -ffunction-sections -c".split()
MACHINE = ["ink_machine.c"]
WHOLE = {
    "INK_HISTORIES": ["INK_LINE_CHARTS", "INK_BAR_CHARTS", "INK_GRIDS", "INK_ENDS", "INK_LIMITS", "INK_HOURS", "INK_CURSORS"],
    "INK_ROWS": ["INK_PAGES", "INK_COUNTED", "INK_CELLS_DIFFER"],
    "INK_CLOCKS": ["INK_DATES"],
}
# Parts of the machine of which several share functions.
MACHINE_SHARED = [
    ["INK_HOLDS", "INK_REPEATS"],
    ["INK_UNITS", "INK_PICKS", "INK_GOES_BY", "INK_DIGITS", "INK_WITHIN"],
]
SHARED = ["INK_BARS", "INK_MARKERS", "INK_ARCS", "INK_RING_MARKERS", "INK_HISTORIES"]


def size(folder, files, off):
    defines = [f"-D{part}=0" for part in off]
    total = 0
    for file in files:
        subprocess.check_call(["arm-none-eabi-gcc", *FLAGS, *defines, file, "-o", "part.o"], cwd=folder)
        said = subprocess.check_output(["arm-none-eabi-size", "part.o"], cwd=folder, text=True)
        total += int(said.splitlines()[1].split()[0])
    return total


def main():
    folder = tempfile.mkdtemp()
    for file in os.listdir(sys.argv[1]):
        shutil.copy(os.path.join(sys.argv[1], file), folder)
    # Facts of the design that parts need.
    facts = {"FROZEN": 1, "RECENT": 1, "SAVED_BOX": 1, "FRONT": 5, "BEFORE": 6}
    parts = {}
    for file in ["ink_draw.h", "ink_machine.h"]:
        path = os.path.join(folder, file)
        text = open(path).read()
        text = re.sub(r"(#define INK_(?!STATED|NARROW)[A-Z_]+) 0\n", r"\1 1\n", text).replace("INK_MEMO 1", "INK_MEMO 0")
        # Values in as many bytes as they need are counted for themselves, not with what draws.
        for fact, number in facts.items():
            text = re.sub(rf"(#define INK_STATED_{fact}) \d+u", rf"\1 {number}u", text)
        open(path, "w").write(text)
        found = re.findall(r"#define (INK_[A-Z_]+) 1\n", text)
        parts[file] = [part for part in found if part not in ("INK_LONG_CODES", "INK_WIDE_RINGS", "INK_STRIP_MEMO", "INK_STATED", "INK_NARROW", "INK_FAR", "INK_NESTED")]
    for file, units in [("ink_machine.h", MACHINE), ("ink_draw.h", ["ink_draw.c"])]:
        if file == "ink_draw.h":
            path = os.path.join(folder, file)
            text = open(path).read()
            print("places:", size(folder, units, []), "with,")
            open(path, "w").write(text.replace("#define INK_PLACES_STATED\n", ""))
            print("   ", size(folder, units, []), "without")
        all_of = parts[file] + (["INK_UNITS"] if file == "ink_machine.h" else [])
        full = size(folder, units, [])
        bytes_of = {part: full - size(folder, units, [part]) for part in all_of}
        for whole, own in WHOLE.items():
            if whole in bytes_of:
                bytes_of[whole] -= sum(bytes_of[part] for part in own)
        none = size(folder, units, all_of)
        rest = full - none - sum(bytes_of.values())
        print(file, "none:", none, "all:", full)
        for part, count in bytes_of.items():
            print(f'    (&["{part}"], {max(count, 0)}),')
        if file == "ink_machine.h":
            for several in MACHINE_SHARED:
                shared = full - size(folder, units, several) - sum(bytes_of[part] for part in several)
                rest -= shared
                print("    (&[" + ", ".join(f'"{part}"' for part in several) + f"], {shared}),")
            print("left:", none + rest)
        elif rest > 0:
            print("    (&[" + ", ".join(f'"{part}"' for part in SHARED) + f"], {rest}),")
    shutil.rmtree(folder)


main()
