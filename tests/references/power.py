#!/usr/bin/env python3
"""Reference figures for the board's power, solved another way than the program does.

Trees of rails: the equations of all nodes together by SciPy's root finder. Lives behind a regulator that follows its input:
integrated over time by DOP853 with an event. Lives under two loads in pulses: the same, with every state of both loads at a
voltage from Brent's root finding. Prints power.csv; with --check compares it
with the committed file instead. Needs NumPy and SciPy (1.10 or later).
"""

import csv
import io
import pathlib
import sys

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq, root


def efficiency(current, rows):
    """Linear over the logarithm of the current, the end values beyond."""
    return np.interp(np.log(current), np.log([at for at, _ in rows]), [share for _, share in rows])


def tree(volts, i_ldo, i_boost, i_buck, ohms):
    """Battery -> boost 5 V -> LDO 3.3 V; battery -> load switch -> buck 1.8 V: the battery's current, the switch's output."""
    table = [(1e-3, 0.8), (0.1, 0.92)]

    def nodes(x):
        i_boost_in, i_buck_in, v_switch = x
        on_boost = i_boost + i_ldo + 5e-6
        return [
            volts * i_boost_in - 5.0 * on_boost / efficiency(on_boost, table),
            v_switch * i_buck_in - 1.8 * i_buck / 0.85,
            volts - ohms * (i_buck_in + 4e-6) - v_switch,
        ]

    found = root(nodes, [0.05, i_buck / 2, volts], tol=1e-14, method="hybr")
    i_boost_in, i_buck_in, v_switch = found.x
    return i_boost_in + 20e-6 + i_buck_in + 4e-6 + 1e-6, v_switch


# The open-circuit table of a lithium manganese dioxide cell, as in src/cell/chemistry.rs.
COIN_SOC = [0.0, 0.05, 0.1, 0.2, 0.4, 0.6, 0.8, 0.9, 0.95, 1.0]
COIN_OCV = [2.00, 2.50, 2.70, 2.80, 2.88, 2.94, 2.99, 3.03, 3.08, 3.20]
# What else the plain device of the tests takes: 2 uA of its microcontroller.
ASLEEP = 2e-6


def follow(milliamperes, dropout, least):
    """100 mAh behind an LDO of 2.8 V that follows, feeding a boost to 5 V at 80 %, until the LDO's output is below least."""
    whole = 360.0

    def rail(q):
        return min(2.8, np.interp(q / whole, COIN_SOC, COIN_OCV) - dropout)

    def slope(_, y):
        return [-(5.0 * milliamperes * 1e-3 / 0.8 / rail(y[0]) + ASLEEP)]

    def ends(_, y):
        return rail(y[0]) - least - 1e-12

    ends.terminal = True
    rate = 5.0 * milliamperes * 1e-3 / 0.8 / 2.8
    found = solve_ivp(slope, [0, 3 * whole / rate], [whole], method="DOP853", events=ends, rtol=1e-10, atol=1e-9,
                      max_step=whole / rate / 2000)
    return float(found.t_events[0][0])


def pulsed(ohms, share, radio, lamp):
    """100 mAh behind a resistance and a buck-boost to 3 V at 80 % until a fifth is left: the radio on for 0.5 % of the time,
    the lamp on for 1 %, whenever chance will have it, beside 10 uA and the microcontroller asleep. With share = 0 as if
    both drew their means."""
    whole = 360.0
    states = [(0.005 * 0.01, radio + lamp), (0.005 * 0.99, radio), (0.995 * 0.01, lamp), (0.995 * 0.99, 0.0)]
    if share == 0.0:
        states = [(1.0, 0.005 * radio + 0.01 * lamp)]

    def amps(q, milliamperes):
        ocv, power = np.interp(q / whole, COIN_SOC, COIN_OCV), 3.0 * (milliamperes * 1e-3 + 10e-6 + ASLEEP) / 0.8
        volts = brentq(lambda v: ocv - ohms * power / v - v, 0.5 * ocv, ocv, xtol=1e-14, rtol=1e-14)
        return power / volts

    def slope(_, y):
        return [-sum(part * amps(y[0], load) for part, load in states)]

    def ends(_, y):
        return y[0] - 0.2 * whole

    ends.terminal = True
    span = 2.0 * whole / -slope(0.0, [whole])[0]
    found = solve_ivp(slope, [0, span], [whole], method="DOP853", events=ends, rtol=1e-10, atol=1e-9, max_step=span / 2000)
    return float(found.t_events[0][0])


def rows():
    for volts, i_ldo, i_boost, i_buck, ohms in [
        (3.7, 10e-3, 5e-3, 20e-3, 1.0),
        (3.0, 0.5e-3, 0.2e-3, 80e-3, 3.0),
        (4.2, 60e-3, 20e-3, 1e-3, 10.0),
        (2.5, 2e-3, 0.1e-3, 40e-3, 5.0),
    ]:
        yield ["tree", volts, i_ldo, i_boost, i_buck, ohms, *tree(volts, i_ldo, i_boost, i_buck, ohms)]
    for milliamperes, dropout, least in [(0.2, 0.1, 2.3), (1.0, 0.15, 2.0), (0.05, 0.05, 2.6)]:
        yield ["follow", milliamperes, dropout, least, follow(milliamperes, dropout, least)]
    for ohms, radio, lamp in [(10.0, 14.0, 4.0), (25.0, 4.0, 3.0), (2.0, 60.0, 1.0), (0.0, 20.0, 4.0)]:
        lives = [pulsed(ohms, share, radio, lamp) for share in (1.0, 0.0)]
        yield ["pulsed", ohms, radio, lamp, *lives]


def text():
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for row in rows():
        writer.writerow([f"{value:.12g}" if isinstance(value, float) else value for value in row])
    return out.getvalue()


def main():
    path = pathlib.Path(__file__).with_suffix(".csv")
    if "--check" not in sys.argv:
        sys.stdout.write(text())
        return 0
    committed = path.read_text().splitlines()
    made = text().splitlines()
    if len(committed) != len(made):
        print(f"{path.name}: {len(committed)} rows, made {len(made)}")
        return 1
    for old, new in zip(committed, made):
        a, b = old.split(","), new.split(",")
        far = [1 for x, y in zip(a[1:], b[1:]) if abs(float(x) - float(y)) > 1e-7 * max(abs(float(x)), 1e-12)]
        if a[0] != b[0] or len(a) != len(b) or far:
            print(f"{path.name}: differs\n  {old}\n  {new}")
            return 1
    print(f"{path.name}: {len(made)} rows agree")
    return 0


if __name__ == "__main__":
    sys.exit(main())
