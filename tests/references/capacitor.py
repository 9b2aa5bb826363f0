#!/usr/bin/env python3
"""Reference figures for a capacitor beside the battery, solved another way than the program does.

The circuit is integrated over time by SciPy's implicit Runge-Kutta method (Radau) for the capacitor's voltage, with the
terminals' voltage from the roots of Kirchhoff's current law at each step; a train of pulses until it has settled. Prints
capacitor.csv; with --check compares it with the committed file instead. Needs NumPy and SciPy (1.10 or later).
"""

import csv
import io
import pathlib
import sys

import numpy as np
from scipy.integrate import solve_ivp


def terminal(ocv, ohms, esr, u, amps, watts):
    """The upper root of (ocv - v) / ohms + (u - v) / esr = amps + watts / v, or None."""
    roots = np.roots([1 / ohms + 1 / esr, amps - ocv / ohms - u / esr, watts])
    real = [root.real for root in roots if abs(root.imag) < 1e-9 and root.real > 1e-9]
    return max(real) if real else None


def leg(source, capacitor, u, amps, watts, time):
    """The lowest voltage of a leg and the capacitor's at its end, or None and when the voltage collapses."""
    (ocv, ohms), (farads, esr) = source, capacitor
    # What is under the root of the law's upper solution: a collapse where it becomes negative.
    both = 1 / ohms + 1 / esr
    under = lambda _, y: (ocv / ohms + y[0] / esr - amps) ** 2 - 4 * both * watts
    under.terminal, under.direction = True, -1
    if under(0, [u]) < 0 or ocv / ohms + u / esr <= amps:
        return None, 0.0

    def volts(at):
        inside = max((ocv / ohms + at / esr - amps) ** 2 - 4 * both * watts, 0.0)
        return (ocv / ohms + at / esr - amps + np.sqrt(inside)) / (2 * both)

    found = solve_ivp(lambda _, y: [(volts(y[0]) - y[0]) / (esr * farads)], (0, time), [u], method="Radau", events=under,
                      rtol=1e-11, atol=1e-13)
    if len(found.t_events[0]):
        return None, float(found.t_events[0][0])
    return min(volts(at) for at in found.y[0]), float(found.y[0][-1])


def dip(source, capacitor, always, legs):
    """The lowest voltage along legs from rest, 0 where it collapses; and the capacitor's at the end, or the time of collapse."""
    (ocv, ohms), (_, esr) = source, capacitor
    u = max(np.roots([1, ohms * always[0] - ocv, ohms * always[1]]).real)
    lowest, gone = terminal(ocv, ohms, esr, u, *always), 0.0
    for amps, watts, time in legs:
        volts, end = leg(source, capacitor, u, amps, watts, time)
        if volts is None:
            return 0.0, gone + end
        lowest, u, gone = min(lowest, volts), end, gone + time
    return lowest, u


def settled(source, capacitor, always, pulse, period):
    """The lowest voltage of pulses that have come so long that each begins as the one before."""
    ocv, ohms = source
    u = max(np.roots([1, ohms * always[0] - ocv, ohms * always[1]]).real)
    lowest = None
    for _ in range(400):
        lowest, after = leg(source, capacitor, u, pulse[0], pulse[1], pulse[2])
        _, before = leg(source, capacitor, after, *always, period - pulse[2])
        if abs(before - u) < 1e-11:
            break
        u = before
    return lowest


SOURCES = [(3.0, 20.0), (3.7, 1.0), (2.6, 80.0), (3.1, 300.0)]
CAPACITORS = [(100e-6, 0.5), (0.1, 0.05), (1.0, 30.0), (2.2e-3, 1e-3)]


def rows():
    always = (10e-6, 30e-6)
    legs = [
        [(6e-3, 20e-3, 0.05), (1e-3, 0.0, 0.4), (10e-6, 30e-6, 0.2)],
        [(0.0, 40e-3, 0.5), (0.02, 0.1, 0.004), (0.0, 5e-3, 2.0)],
        [(30e-3, 0.0, 0.01), (10e-6, 30e-6, 0.05), (30e-3, 0.0, 0.01)],
        [(0.0, 0.33, 0.02), (1e-3, 1e-3, 1.0), (0.0, 0.02, 3.0)],
    ]
    for source in SOURCES:
        for capacitor in CAPACITORS:
            for course in legs:
                flat = [value for one in course for value in one]
                yield ["dip", *source, *capacitor, *always, *flat, *dip(source, capacitor, always, course)]
    for source, capacitor, pulse, period in [
        ((3.0, 20.0), (2.2e-3, 0.1), (20e-3, 0.0, 0.01), 0.05),
        ((3.0, 20.0), (2.2e-3, 0.1), (0.0, 60e-3, 0.01), 0.03),
        ((3.0, 60.0), (47e-3, 2.0), (5e-3, 80e-3, 0.005), 0.2),
        ((2.8, 10.0), (1e-3, 0.2), (0.0, 0.1, 0.004), 1.0),
    ]:
        yield ["train", *source, *capacitor, *always, *pulse, period, settled(source, capacitor, always, pulse, period)]


def text():
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for row in rows():
        writer.writerow([f"{float(value):.10g}" if not isinstance(value, str) else value for value in row])
    return out.getvalue()


def main():
    path = pathlib.Path(__file__).with_suffix(".csv")
    if "--check" not in sys.argv:
        sys.stdout.write(text())
        return 0
    committed, made = path.read_text().splitlines(), text().splitlines()
    if len(committed) != len(made):
        print(f"{path.name}: {len(committed)} rows, made {len(made)}")
        return 1
    for old, new in zip(committed, made):
        a, b = old.split(","), new.split(",")
        if a[0] != b[0] or any(abs(float(x) - float(y)) > 1e-7 * max(abs(float(x)), 1.0) for x, y in zip(a[1:], b[1:])):
            print(f"{path.name}: differs\n  {old}\n  {new}")
            return 1
    print(f"{path.name}: {len(made)} rows agree")
    return 0


if __name__ == "__main__":
    sys.exit(main())
