"""The crank's and the valves' sums by another road, with SciPy: loop closure solved for, dead centres searched for, the lift
law's coefficients solved from what it must do at its ends, lobes as measured by SciPy's own monotone interpolator. No closed
form of the program's is used. Writes piston.csv, lift.csv, measured_points.csv, measured.csv, measured_passes.csv and ramps.csv, which
the tests read.

    pip install scipy && python3 tests/independent/reckon.py
"""

import csv
import pathlib

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq, fsolve

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


# Invented lobes, as a dial and a wheel might read them: phase and lift. Even steps, uneven ones, one side steeper than the
# other, a level top, a second top.
MEASURED = [
    [(330, 0), (340, 0.04), (350, 0.31), (360, 0.92), (370, 1.85), (380, 3.02), (390, 4.33), (400, 5.65), (410, 6.84), (420, 7.81),
     (430, 8.46), (440, 8.71), (450, 8.52), (460, 7.93), (470, 6.98), (480, 5.78), (490, 4.44), (500, 3.1), (510, 1.9), (520, 0.95),
     (530, 0.33), (540, 0.05), (550, 0)],
    [(120, 0), (127, 0.11), (131, 0.3), (150, 2.9), (163, 5.2), (170, 6.31), (188, 8.9), (201, 9.4), (220, 8.1), (239, 5), (240, 4.81),
     (255, 1.92), (266, 0.6), (281, 0)],
    [(700, 0), (705, 0.9), (712, 2.2), (720, 4.4), (735, 6), (750, 6), (770, 3.3), (795, 0.8), (801, 0.2), (820, 0)],
    [(10, 0), (30, 3), (50, 5), (70, 4.2), (90, 6.1), (110, 2), (130, 0)],
]


def interpolator(points):
    """SciPy's, given the seat on both sides as points of its own: so its slope is 0 where the valve leaves it."""
    first, last = points[0][0], points[-1][0]
    return PchipInterpolator(*np.array([(first - 20, 0), *points, (last + 20, 0)], dtype=float).T)


def measured_points():
    for lobe, points in enumerate(MEASURED):
        for phase, value in points:
            yield [lobe, phase, value]


def measured():
    for lobe, points in enumerate(MEASURED):
        curve = interpolator(points)
        for phase in np.arange(points[0][0] - 11.3, points[-1][0] + 12, 2.7):
            yield [lobe, f"{phase:.1f}", *(f"{float(curve(round(phase, 1), derivative)):.12f}" for derivative in (0, 1, 2))]


def measured_passes():
    """Where the curve first and last stands at a lift: of the roots that SciPy finds, the ends."""
    for lobe, points in enumerate(MEASURED):
        curve = interpolator(points)
        for part in (0.05, 0.1, 0.25, 0.5, 0.65, 0.9):
            value = part * max(value for _, value in points)
            roots = curve.solve(value, extrapolate=False)
            yield [lobe, f"{value:.6f}", f"{min(roots):.9f}", f"{max(roots):.9f}"]
def ramps():
    """Exponent and seat duration that are over both lifts as long as is said: two equations, two unknowns."""
    for full, one, over_one, other, over_other in [
        (9.5, 0.15, 284, 1.27, 230),
        (9.0, 0.15, 284, 1.27, 230),
        (11.4, 0.1524, 292, 1.27, 236),
        (9.0, 0.0, 244, 1.27, 202),
        (8.0, 0.3, 250, 4.0, 130),
    ]:

        def off(unknown):
            exponent, seat = unknown

            def lift_at(duration):
                x = (1 - duration / seat) / 2
                return full * (4 * max(x, 0.0) * (1 - x)) ** exponent

            return [lift_at(over_one) - one, lift_at(over_other) - other]

        start = [2.0, over_one if one == 0 else over_one * 1.08]
        if one == 0:
            exponent = brentq(lambda n: off([n, over_one])[1], 1.0, 8.0, xtol=1e-14)
            seat = float(over_one)
        else:
            exponent, seat = fsolve(off, start, xtol=1e-13)
        assert max(abs(left) for left in off([exponent, seat])) < 1e-9
        yield [full, one, over_one, other, over_other, f"{exponent:.9f}", f"{seat:.7f}"]


def write(name, header, rows):
    with open(HERE / name, "w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(header)
        writer.writerows(rows)


write("piston.csv", ["stroke_mm", "rod_mm", "pin_offset_mm", "tdc_deg", "down_deg", "phase_deg", "drop_mm"], piston())
write("lift.csv", ["opens_deg", "closes_deg", "lift_mm", "quoted_at_mm", "seat_deg", "phase_deg", "value_mm"], lift())
write("measured_points.csv", ["lobe", "phase_deg", "lift_mm"], measured_points())
write("measured.csv", ["lobe", "phase_deg", "lift_mm", "slope_mm_per_deg", "bend_mm_per_deg2"], measured())
write("measured_passes.csv", ["lobe", "lift_mm", "up_deg", "down_deg"], measured_passes())
write(
    "ramps.csv",
    ["lift_mm", "one_mm", "over_one_deg", "other_mm", "over_other_deg", "exponent", "seat_deg"],
    ramps(),
)
