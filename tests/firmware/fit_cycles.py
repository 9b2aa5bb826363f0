#!/usr/bin/env python3
"""Cycles of each amount that drawing comes to, fitted to what was counted, as constants for src/hardware/core.rs.

Usage: AMOUNTS=amounts.csv cargo test --test export prices
       tests/firmware/avr_costs.sh path/to/inkjoule PROJECT > NAME.avr    (demo, product, orchard)
       fit_cycles.py amounts.csv [NAME.avr ...]

Needs NumPy and SciPy. A fit by least squares of relative errors, no cycle below 0; frames drawn at once count twice, strips
of 8 lines half, sheets with one kind of element a third. The AVR, of which only whole frames are counted, is held to the shape of the Cortex-M0's.
"""
import csv
import sys
from pathlib import Path

import numpy as np
from scipy.optimize import nnls

NAMES = "calls words drawn characters measured codes rows fills bytes asked samples noted cleared compared".split()

# Below so many cycles an error is a share of these.
SMALL = 120e3


# What comparing takes for each byte: see the updates of updates_are_priced_as_the_machine_makes_them.
COMPARED = 75.0


def constants(name, cycles, compared):
    print(f"const {name}: Amounts = Amounts {{")
    for amount, cost in zip(NAMES, [*cycles[:-1], compared]):
        print(f"    {amount}: {cost:.1f},")
    print("};")


rows = [(design, screen, way, memo == "true", float(counted), np.array([float(one) for one in amounts]))
        for design, screen, way, memo, counted, *amounts in csv.reader(open(sys.argv[1]))]
counted = [row for row in rows if not row[0].endswith(".avr")]
whole = ("96", "296")
amounts = np.array([row[5] for row in counted])
cycles = np.array([row[4] for row in counted])
weights = np.array([3.0 if row[0] != "sheets" else 1.0 for row in counted]) / np.maximum(cycles, SMALL)
weights *= [2.0 if row[2] in whole else 0.5 if row[2] == "8" else 1.0 for row in counted]
m0, _ = nnls(amounts * weights[:, None], cycles * weights)
constants("CORTEX_M0", m0, COMPARED)
off = amounts @ m0 / cycles - 1
for way, memo in sorted({(row[2], row[3]) for row in counted}):
    some = [at for at, row in enumerate(counted) if (row[2], row[3]) == (way, memo) and row[0] != "sheets"]
    if not some:
        continue
    print(f"// {way} lines, memo {memo}: rms {np.sqrt(np.mean(off[some] ** 2)):.3f}, most {np.abs(off[some]).max():.3f}, "
          f"all {amounts[some].sum(0) @ m0 / cycles[some].sum():.3f}")

asked = {(row[0].removesuffix(".avr"), row[1]): row[5] for row in rows if row[0].endswith(".avr")}
pairs = []
for path in sys.argv[2:]:
    for line in Path(path).read_text().splitlines():
        cells = [cell.strip() for cell in line.split("|")]
        if len(cells) > 3 and cells[2].isdigit() and cells[1] != "all":
            pairs.append((asked[Path(path).stem, cells[1]], float(cells[2])))
if pairs:
    amounts = np.array([pair[0] for pair in pairs])
    cycles = np.array([pair[1] for pair in pairs])
    scale = (cycles / (amounts @ m0)).mean()
    pull = 0.3 * np.diag(1 / np.maximum(m0, 1.0) / scale)
    left = np.vstack([amounts / cycles[:, None], pull])
    avr, _ = nnls(left, np.concatenate([np.ones(len(cycles)), pull @ (m0 * scale)]))
    constants("AVR", avr, COMPARED * scale)
    off = amounts @ avr / cycles - 1
    print(f"// {len(cycles)} frames: rms {np.sqrt(np.mean(off ** 2)):.3f}, most {np.abs(off).max():.3f}, scale {scale:.2f}")
