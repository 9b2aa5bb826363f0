#!/usr/bin/env python3
"""Reference figures for the battery physics, solved another way than the program does.

Life and charging are integrated over time by SciPy's explicit Runge-Kutta method (DOP853) with events; terminal voltages
come from SciPy's Brent root finding on Kirchhoff's voltage law. Prints cell.csv; with --check compares it with the
committed file instead. Needs NumPy and SciPy (1.10 or later).
"""

import csv
import io
import pathlib
import sys

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import RegularGridInterpolator
from scipy.optimize import brentq

# An invented cell, the same as in tests/cell_references.rs.
SOC = [0.0, 0.1, 0.5, 0.9, 1.0]
OCV = [3.0, 3.5, 3.75, 4.0, 4.2]
TEMPERATURES = [-10.0, 10.0, 30.0]
R_SOC = [0.0, 0.2, 1.0]
R = [[9.0, 5.0, 4.0], [4.0, 2.5, 2.0], [2.0, 1.2, 1.0]]
K_TEMP = [0.7, 0.9, 1.0]
PERCENT_PER_MONTH = 0.01 * 12 / (365.25 * 86400)


class Cell:
    def __init__(self, capacity, resistance, temperature):
        self.whole = capacity * np.interp(temperature, TEMPERATURES, K_TEMP)
        grid = RegularGridInterpolator((TEMPERATURES, R_SOC), np.array(R), bounds_error=True)
        self.r_row = [resistance * float(grid((temperature, s))) for s in R_SOC]

    def source(self, q):
        soc = min(max(q / self.whole, 0.0), 1.0)
        return np.interp(soc, SOC, OCV), np.interp(soc, R_SOC, self.r_row)


def terminal(ocv, r, current, power):
    """The stable voltage of KVL, or None."""
    if power == 0.0:
        return ocv - r * current
    law = lambda v: v - ocv + r * (current + power / v)
    turn = np.sqrt(r * power)  # below it the law falls with the voltage
    if law(turn) > 0.0:
        return None
    top = max(ocv, ocv - r * current) + 1.0
    return brentq(law, turn, top, xtol=1e-14, rtol=8.9e-16, maxiter=500)


def life(capacity, resistance, temperature, reserve, percent, parts, peak, v_min):
    cell = Cell(capacity, resistance, temperature)
    floor = reserve * cell.whole
    k = percent * PERCENT_PER_MONTH

    def current(q):
        ocv, r = cell.source(q)
        return sum(share * (i + (p / terminal(ocv, r, i, p) if p else 0.0)) for share, i, p in parts)

    def slope(_, state):
        lost = k * (state[0] - floor)
        drawn = current(state[0])
        return [-(drawn + lost), drawn, lost]

    def gone(_, state):
        return state[0] - floor

    def sagged(_, state):
        v = terminal(*cell.source(state[0]), *peak)
        return (v if v is not None else 0.0) - v_min

    gone.terminal = sagged.terminal = True
    span = 4 * cell.whole / current(cell.whole)
    run = solve_ivp(slope, (0, span), [cell.whole, 0.0, 0.0], "DOP853", events=[gone, sagged],
                    rtol=1e-10, atol=1e-8, max_step=span / 400)
    why = "charge" if len(run.t_events[0]) else "voltage"
    return [run.t[-1], run.y[1][-1], run.y[2][-1], why]


def ageing(capacity, resistance, temperature, reserve, percent, fade, growth, parts, peak, v_min):
    """Life of a cell whose capacity fades and whose resistance grows, both a rate a year, all the time."""
    cell = Cell(capacity, resistance, temperature)
    k, year = percent * PERCENT_PER_MONTH, 365.25 * 86400
    fade, growth = fade / year, growth / year
    # The state of charge stays while the capacity fades.
    whole = lambda t: cell.whole * np.exp(-fade * t)

    def source(t, q):
        ocv, r = cell.source(q * cell.whole / whole(t))
        return ocv, r * np.exp(growth * t)

    def slope(t, state):
        q, ocv_r = state[0], source(t, state[0])
        drawn = sum(share * (i + (p / terminal(*ocv_r, i, p) if p else 0.0)) for share, i, p in parts)
        return [-drawn - k * (q - reserve * whole(t)) - fade * q, drawn]

    def gone(t, state):
        return state[0] - reserve * whole(t)

    def sagged(t, state):
        v = terminal(*source(t, state[0]), *peak)
        return (v if v is not None else 0.0) - v_min

    gone.terminal = sagged.terminal = True
    span = 4 * cell.whole / slope(0.0, [cell.whole, 0.0])[1]
    run = solve_ivp(slope, (0, span), [cell.whole, 0.0], "DOP853", events=[gone, sagged],
                    rtol=1e-10, atol=1e-8, max_step=span / 400)
    return [run.t[-1], run.y[1][-1], "charge" if len(run.t_events[0]) else "voltage"]


def charge(capacity, resistance, temperature, start, current, taper, float_v, load):
    cell = Cell(capacity, resistance, temperature)

    def volts(q):
        return terminal(*cell.source(q), load[0] - current, load[1])

    def into_cc(_, state):
        v = volts(state[0])
        return [current - load[0] - load[1] / v]

    def turned(_, state):
        return volts(state[0]) - float_v

    turned.terminal = True
    span = 6 * cell.whole / current
    first = solve_ivp(into_cc, (0, span), [start * cell.whole], "DOP853", events=turned,
                      rtol=1e-10, atol=1e-8, max_step=span / 400)

    def into_cv(q):
        ocv, r = cell.source(q)
        return (float_v - ocv) / r

    def tapered(_, state):
        return into_cv(state[0]) + load[0] + load[1] / float_v - taper

    tapered.terminal = True
    second = solve_ivp(lambda _, s: [into_cv(s[0])], (0, span), [first.y[0][-1]], "DOP853", events=tapered,
                       rtol=1e-10, atol=1e-8, max_step=span / 400)
    return [first.t[-1], second.t[-1], first.y[0][-1] / cell.whole, second.y[0][-1] / cell.whole]


LIFE_CASES = [
    # capacity, resistance, temperature, reserve, %/month, parts (share, amps, watts), peak (amps, watts), v_min
    (1800.0, 0.2, 30.0, 0.0, 2.0, [(1.0, 50e-6, 0.0)], (0.0, 0.0), 0.5),
    (1800.0, 0.2, 25.0, 0.05, 2.0, [(1.0, 20e-6, 300e-6)], (0.0, 0.1), 3.2),
    (1800.0, 0.4, -10.0, 0.0, 3.0, [(1.0, 5e-6, 0.0), (0.002, 0.0, 0.12)], (0.005, 0.25), 3.3),
    (810.0, 15.0, 10.0, 0.1, 1.0, [(1.0, 3e-6, 0.0), (0.001, 0.001, 0.03)], (0.0, 0.06), 2.6),
    (3600.0, 0.1, 5.0, 0.0, 0.0, [(1.0, 0.0, 0.5)], (0.0, 0.5), 2.9),
]
AGEING_CASES = [
    # capacity, resistance, temperature, reserve, %/month, fading and growth of resistance a year, parts, peak, v_min
    (1800.0, 0.2, 30.0, 0.0, 0.0, 0.05, 0.0, [(1.0, 30e-6, 0.0)], (0.0, 0.0), 0.5),
    (1800.0, 0.2, 25.0, 0.1, 2.0, 0.04, 0.3, [(1.0, 20e-6, 100e-6)], (0.0, 0.1), 3.0),
    (810.0, 15.0, 10.0, 0.0, 1.0, 0.02, 0.25, [(1.0, 3e-6, 0.0), (0.001, 0.001, 0.03)], (0.0, 0.06), 2.6),
    (3600.0, 3.0, 5.0, 0.05, 0.5, 0.1, 0.6, [(1.0, 40e-6, 0.0)], (0.03, 0.1), 3.2),
]
CHARGE_CASES = [
    # capacity, resistance, temperature, start, current, taper, float, load (amps, watts)
    (1800.0, 0.3, 30.0, 0.0, 0.25, 0.025, 4.2, (0.0, 0.0)),
    (1800.0, 0.3, 25.0, 0.1, 0.25, 0.05, 4.1, (0.002, 0.05)),
    (1800.0, 0.3, 10.0, 0.3, 0.5, 0.05, 4.2, (0.01, 0.0)),
    (720.0, 0.6, 20.0, 0.0, 0.05, 0.02, 4.15, (0.0, 0.03)),
]
PEAK_CASES = [
    # ocv, ohms, amps, watts
    (4.2, 0.12, 0.0, 0.1), (3.0, 0.9, 0.02, 0.5), (3.0, 15.0, 0.0, 0.14), (3.0, 15.0, 0.0, 0.149), (3.0, 15.0, 0.0, 0.151),
    (2.8, 40.0, 0.005, 0.03), (2.8, 40.0, 0.03, 0.03), (1.3, 0.2, 0.5, 0.0), (3.7, 0.5, -0.25, 0.05),
]


def flat(values):
    for value in values:
        if isinstance(value, (list, tuple)):
            yield from flat(value)
        else:
            yield value


def rows():
    for case in LIFE_CASES:
        # Every case has room for two parts.
        parts = case[5] + [(0.0, 0.0, 0.0)] * (2 - len(case[5]))
        yield ["life", *flat(case[:5]), *flat(parts), *case[6], case[7], *life(*case)]
    for case in AGEING_CASES:
        parts = case[7] + [(0.0, 0.0, 0.0)] * (2 - len(case[7]))
        yield ["ageing", *flat(case[:7]), *flat(parts), *case[8], case[9], *ageing(*case)]
    for case in CHARGE_CASES:
        yield ["charge", *flat(case), *charge(*case)]
    for case in PEAK_CASES:
        v = terminal(*case)
        yield ["peak", *case, "collapse" if v is None else v]


def text(value):
    return value if isinstance(value, str) else f"{float(value):.12g}"


def same(a, b):
    try:
        return abs(float(a) - float(b)) <= 1e-7 * max(abs(float(a)), abs(float(b)), 1e-9)
    except ValueError:
        return a == b


def main():
    table = [[text(value) for value in row] for row in rows()]
    if "--check" not in sys.argv:
        csv.writer(sys.stdout, lineterminator="\n").writerows(table)
        return 0
    committed = (pathlib.Path(__file__).parent / "cell.csv").read_text(encoding="ascii")
    old = list(csv.reader(io.StringIO(committed)))
    good = len(old) == len(table) and all(
        len(a) == len(b) and all(map(same, a, b)) for a, b in zip(old, table)
    )
    print("cell.csv is up to date" if good else "cell.csv differs from what this script computes")
    return 0 if good else 1


if __name__ == "__main__":
    sys.exit(main())
