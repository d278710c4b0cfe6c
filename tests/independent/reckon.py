"""The crank's and the valves' sums by another road, with SciPy: loop closure solved for, dead centres searched for, the lift
law's coefficients solved from what it must do at its ends. No closed form of the program's is used. Writes piston.csv and
lift.csv, which the tests read.

    pip install scipy && python3 tests/independent/reckon.py
"""

import csv
import pathlib

import numpy as np
from scipy.optimize import brentq

HERE = pathlib.Path(__file__).parent


def height(radius, rod, pin_y, throw_deg):
    """The gudgeon pin's height: the one place above the crankpin that is a rod's length from it, found by bracketing."""
    throw = np.radians(throw_deg)
    pin = radius * np.array([np.cos(throw), np.sin(throw)])
    return brentq(lambda x: np.hypot(x - pin[0], pin_y - pin[1]) - rod, pin[0], pin[0] + 2 * rod, xtol=1e-13, rtol=1e-14)


def dead_centre(radius, rod, pin_y, near):
    """Where crank centre, crankpin and gudgeon pin are in one line: the piston can go no further."""

    def out_of_line(throw_deg):
        throw = np.radians(throw_deg)
        return radius * (np.cos(throw) * pin_y - np.sin(throw) * height(radius, rod, pin_y, throw_deg))

    return brentq(out_of_line, near - 80, near + 80, xtol=1e-12)


def piston():
    for stroke, rod, offset in [(80, 135, 0), (77, 140, 1), (100, 190, -2.5), (90, 140, 10), (60, 50, 10), (152.4, 304.8, 0)]:
        radius, pin_y = stroke / 2, -offset
        top = dead_centre(radius, rod, pin_y, 0)
        bottom = dead_centre(radius, rod, pin_y, 180)
        highest = height(radius, rod, pin_y, top)
        for phase in range(0, 360, 15):
            drop = highest - height(radius, rod, pin_y, top + phase)
            yield [stroke, rod, offset, f"{top:.9f}", f"{bottom - top:.9f}", phase, f"{drop:.9f}"]


def law():
    """x and its powers to the sixth: nothing of lift, slope and bend at either end, one half way."""
    powers = np.arange(7)

    def row(x, derivative):
        factor = np.array([np.prod([power - k for k in range(derivative)]) for power in powers], dtype=float)
        exponent = np.maximum(powers - derivative, 0)
        return factor * np.power(float(x), exponent)

    rows = [row(0, 0), row(0, 1), row(0, 2), row(1, 0), row(1, 1), row(1, 2), row(0.5, 0)]
    return np.linalg.solve(np.array(rows), np.array([0, 0, 0, 0, 0, 0, 1.0]))


def lift():
    coefficients = law()

    def ordinate(x):
        return float(np.polyval(coefficients[::-1], x)) if 0 < x < 1 else 0.0

    for opens, closes, full, quoted in [(348, 592, 9.5, 0), (128, 372, 9, 0), (358, 574, 9.4, 1), (375, 575, 8, 0.25)]:
        # Where the law comes to the quoted lift, as a part of the whole; the rest is proportion.
        reached = brentq(lambda x: full * ordinate(x) - quoted, 0, 0.5, xtol=1e-15) if quoted else 0.0
        seat = (closes - opens) / (1 - 2 * reached)
        start = (opens + closes) / 2 - seat / 2
        for phase in range(0, 720, 15):
            turned = next((phase + turn for turn in (-720, 0, 720) if start < phase + turn < start + seat), None)
            value = 0.0 if turned is None else full * ordinate((turned - start) / seat)
            yield [opens, closes, full, quoted, f"{seat:.6f}", phase, f"{value:.9f}"]


def write(name, header, rows):
    with open(HERE / name, "w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(header)
        writer.writerows(rows)


write("piston.csv", ["stroke_mm", "rod_mm", "pin_offset_mm", "tdc_deg", "down_deg", "phase_deg", "drop_mm"], piston())
write("lift.csv", ["opens_deg", "closes_deg", "lift_mm", "quoted_at_mm", "seat_deg", "phase_deg", "value_mm"], lift())
