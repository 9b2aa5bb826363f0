#!/usr/bin/env python3
"""Writes an invented trace of a measured current to standard output: ROWS rows at 10,000 a second, an update every 10 s.

trace.py ROWS > trace.csv
"""
import sys

RATE, PERIOD = 10_000, 100_000


def current(row):
    """Amperes: sleep with a little ripple, then a transfer, a charge pump and a drive."""
    at = row % PERIOD
    if at < 200:
        return 0.0042 + at % 7 * 1e-5
    if at < 8_000:
        return 0.0081 + at % 11 * 2e-5
    return 2.1e-6 + at % 13 * 1e-8


def main():
    rows = int(sys.argv[1])
    sys.stdout.write("time s,current A\n")
    # The rows of each second of a period, with a mark where the second's number goes.
    seconds = [
        [f"@.{row:04d},{current(second * RATE + row):.7f}\n" for row in range(RATE)] for second in range(PERIOD // RATE)
    ]
    whole = ["".join(rows) for rows in seconds]
    for second in range(rows // RATE):
        sys.stdout.write(whole[second % len(whole)].replace("@", str(second)))
    last = rows // RATE
    sys.stdout.write("".join(seconds[last % len(seconds)][: rows % RATE]).replace("@", str(last)))


main()
