"""Networks with printed answers, to the printed digits.

Where a book is named "in Krumm", inputs and outputs are those that F. Krumm, Geodetic Network Adjustment Examples,
University of Stuttgart, Rev. 3.5 (20 January 2020) transcribes from it. "Computed" marks figures that are not printed
there: they were worked out once, apart from this project, from the printed inputs.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from journal.measure.network import (
    Adjustment,
    Distance,
    Observation,
    adjust,
    chi_square_limit,
    suspect,
)
from journal.measure.observations import Fixed
from journal.measure.settle import settle

CM = 0.01
Solve = Callable[[list[Observation], Fixed, dict[str, tuple[float, ...]]], Adjustment]
# From places that are about known, as a face of a host has them, and with a search for other solutions.
BOTH = pytest.mark.parametrize("solve", [settle, adjust])


def tapes(readings: str, sigma: float) -> list[Observation]:
    """`A-P 100.01; B-P 5` as distances."""
    found: list[Observation] = []
    for reading in readings.split(";"):
        ends, value = reading.split()
        a, b = ends.split("-")
        found.append(Distance(a, b, float(value), sigma))
    return found


def close(expected: object, digits: int) -> object:
    """Equal when rounded to the printed digits, half a unit of the last one and a hair."""
    return pytest.approx(expected, abs=0.501 * 10**-digits, rel=0)


@BOTH
def test_benning_8_2(solve: Solve) -> None:
    """W. Benning, Statistik in Geodäsie, 2011, p. 256; in Krumm 3.1.1, pp. 48-50."""
    found = solve(
        tapes("1-3 1000.02; 1-4 1414.20; 2-3 1414.24; 2-4 999.98; 3-4 1000.00", 0.01),
        {"1": (0, 1000), "2": (1000, 1000)},
        {"3": (0, 0), "4": (1000, 0)},
    )
    assert found.points["3"] == close((-0.0096, -0.0226), 4)
    assert found.points["4"] == close((999.9930, 0.0174), 4)
    assert found.s0 is not None
    assert found.s0 * 10 == close(6.882, 3)  # mm, sigma is 10 mm
    assert [spread / CM for spread in found.sigma["3"]] == close([0.901, 0.637], 3)
    assert [spread / CM for spread in found.sigma["4"]] == close([0.901, 0.637], 3)
    assert [v / CM for v in found.residuals] == close([0.260, -0.368, -0.368, 0.260, 0.260], 3)
    assert found.redundancy == 1
    assert found.redundancies == close((0.143, 0.286, 0.286, 0.143, 0.143), 3)  # computed
    assert [abs(said or 0) for said in found.normalised] == close([0.688] * 5, 3)  # computed; one spare: all equal
    for name, azimuth in (("3", 116.57), ("4", 63.44)):  # computed, from +y clockwise
        long, short, turn = found.ellipse(name, prior=False)
        assert (long * 1000, short * 1000) == close((9.73, 5.20), 2)
        assert (90 - math.degrees(turn)) % 180 == close(azimuth, 2)


FIX = {"1": (170.71, 270.71), "2": (100.0, 100.0), "3": (241.42, 100.0)}


@BOTH
def test_strang_borre_fix(solve: Solve) -> None:
    """G. Strang and K. Borre, Linear Algebra, Geodesy, and GPS, 1997, Ex. 10.1 p. 345; in Krumm."""
    found = solve(tapes("1-P 100.01; 2-P 100.02; 3-P 100.03", 0.01), FIX, {"P": (170.71, 170.71)})
    assert found.points["P"] == close((170.7029, 170.7234), 4)
    assert [(at - 170.71) / CM for at in found.points["P"]] == close([-0.707, 1.336], 3)
    assert [spread / CM for spread in found.sigma["P"]] == close([3.303, 2.335], 3)
    assert found.s0 == close(3.3029, 4)  # computed, as all below
    assert found.residuals == close((-0.0234, -0.0165, -0.0165), 4)
    assert found.chi2 == close(10.909, 3)
    assert found.chi2 > chi_square_limit(1, 0.999)
    assert not found.fits()
    assert all(abs(said or 0) > 3.29 for said in found.normalised)
    assert suspect(found) is None  # one spare reading: something is wrong, and nobody can say which


def test_strang_borre_free() -> None:
    """The same book, Ex. 12.4 p. 411: a free network, inner constraints over all four points; in Krumm."""
    found = adjust(
        tapes("1-P 100.01; 2-P 100.02; 3-P 100.03; 1-2 184.785; 2-3 141.44; 1-3 184.805", 0.01),
        {},
        {**FIX, "P": (170.71, 170.71)},
    )
    printed = {
        "P": ((170.7123, 170.7185), (1.079, 0.682)),
        "1": ((170.7032, 270.7213), (0.810, 0.551)),
        "2": ((99.9912, 99.9971), (0.641, 0.705)),
        "3": ((241.4333, 99.9830), (0.640, 0.705)),
    }
    for name, (place, spread) in printed.items():
        assert found.points[name] == close(place, 4)
        assert [one / CM for one in found.sigma[name]] == close(list(spread), 3)
    assert found.redundancy == 1
    assert found.s0 == close(1.17636, 5)  # computed
    assert found.residuals[0] == close(-0.0072, 4)  # computed


@BOTH
def test_ghilani_14_5(solve: Solve) -> None:
    """C. Ghilani, Adjustment Computations, 5th ed. 2010, Ex. 14.5 and 19.3, pp. 251 and 404 (feet); in Krumm."""
    found = solve(
        tapes("Badger-W 5870.302; Badger-C 7297.588; W-C 3616.434; W-Bucky 5742.878; C-Bucky 5123.760", 1.0),
        {"Badger": (2410000.000, 390000.000), "Bucky": (2411820.000, 386881.222)},
        {"W": (2415776.819, 391043.461), "C": (2416892.670, 387603.450)},
    )
    assert found.points["W"] == close((2415776.9044, 391043.2945), 4)
    assert found.points["C"] == close((2416892.6955, 387603.2551), 4)
    assert [100 * spread for spread in found.sigma["W"]] == close([14.879, 22.061], 3)
    assert [100 * spread for spread in found.sigma["C"]] == close([10.378, 27.054], 3)
    assert found.s0 == close(0.136, 3)  # from memory of the book; computed 0.135905
    assert found.s0 == close(0.135905, 6)
    assert [*sum(found.block("W", prior=True), ())] == close([1.198574, -1.160249, -1.160249, 2.634937], 6)
    assert [*sum(found.block("C", prior=True), ())] == close([0.583150, 0.460480, 0.460480, 3.962823], 6)
    assert [*sum(found.block("W", "C", prior=True), ())] == close([-0.099772, -1.402250, 0.193956, 2.725964], 6)
    assert found.residuals == close((0.0547, -0.0790, 0.0368, -0.0616, 0.0639), 4)  # computed
    for name, long, short, azimuth in (("W", 0.2462, 0.1010, 150.88), ("C", 0.2726, 0.0981, 7.62)):  # computed
        major, minor, turn = found.ellipse(name, prior=False)
        assert (major, minor) == close((long, short), 4)
        assert (90 - math.degrees(turn)) % 180 == close(azimuth, 2)


def test_ghilani_14_2() -> None:
    """The same book, Ex. 14.2 (feet): inputs as in its course files, outputs computed."""
    found = adjust(
        tapes("A-U 6049.00; B-U 4736.83; C-U 5446.49", 1.0),
        {"A": (865.40, 4527.15), "B": (2432.55, 2047.25), "C": (2865.22, 27.15)},
    )
    assert found.points["U"] == close((6861.3168, 3727.8186), 4)
    assert found.residuals == close((-0.0374, 0.0768, -0.0474), 4)
    assert found.s0 == close(0.09766, 5)
    assert found.sigma["U"] == close((0.07753, 0.15425), 5)
    assert [*sum(found.block("U", prior=True), ())] == close([0.630189, -0.728354, -0.728354, 2.494689], 6)
    major, minor, turn = found.ellipse("U", prior=False)
    assert (major, minor) == close((0.1618, 0.0602), 4)
    assert (90 - math.degrees(turn)) % 180 == close(161.00, 2)


@BOTH
def test_benning_8_8(solve: Solve) -> None:
    """Benning p. 285 ff; in Krumm. Four of the five tapes run nearly one way: the fifth is hardly checked."""
    found = solve(
        tapes("6-1 1000.00; 6-2 1000.00; 6-3 1005.00; 6-4 1005.00; 6-5 1000.00", 0.02),
        {"1": (3000, 2000), "2": (1000, 2000), "3": (3000, 2100), "4": (1000, 2100), "5": (2000, 1000)},
        {"6": (2000, 2000)},
    )
    assert found.points["6"] == close((2000.0000, 1999.9976), 4)
    assert [spread / CM for spread in found.sigma["6"]] == close([0.504, 0.996], 3)
    assert found.s0 is not None
    assert found.s0 * 20 == close(10.056, 3)  # mm, sigma is 20 mm
    assert found.redundancy == 3
    assert found.redundancies[4] == close(0.019, 3)  # computed
    assert found.detectable[4] is not None
    assert found.detectable[4] == pytest.approx(math.sqrt(17.075 / found.redundancies[4]) * 0.02)


def test_wolf_in_space() -> None:
    """H. Wolf, Ausgleichungsrechnung II, 1979, p. 87; in Krumm."""
    found = adjust(
        tapes("1-P 499.99; 2-P 500.00; 3-P 500.01; 4-P 500.02", 0.01),
        {"1": (1200, 900, 900), "2": (900, 600, 900), "3": (600, 900, 900), "4": (900, 1200, 900)},
        {"P": (900, 900, 1300)},
    )
    assert found.points["P"] == close((900.0167, 899.9833, 1300.0062), 4)
    assert [spread / CM for spread in found.sigma["P"]] == close([1.179, 1.179, 0.625], 3)
    assert found.s0 == close(1.00, 2)
    below = found.alternatives[0].points["P"]  # the stations lie in one plane
    assert below == pytest.approx((900.0167, 899.9833, 1800 - 1300.0062), abs=1e-3)


STATIONS = {
    "51": (-8.62, 27.42, 10.29), "37": (-4.95, 27.30, 10.04), "31": (-4.85, 20.69, 10.51), "102": (0.52, 22.59, 9.77),
    "331": (-6.12, 25.48, 10.92), "35": (0.45, 27.39, 10.75), "103": (0.61, 17.19, 9.71), "101": (-7.88, 22.45, 10.16),
}  # fmt: skip
RANGES = "51-MS 8.20; 37-MS 3.85; 31-MS 4.35; 102-MS 3.51; 331-MS 3.98; 35-MS 4.37; 103-MS 8.17; 101-MS 5.73"


def test_blankenbach_willert_two_blunders() -> None:
    """J. Blankenbach and H. Willert, AVN 8-9/2009, pp. 320-327, where 51 and 103 are marked as blunders; in Krumm."""
    readings = tapes(RANGES, 0.05)
    begin = {"MS": (-2.59, 24.22, 9.62)}
    found = adjust(readings, STATIONS, begin)
    assert found.points["MS"] == close((-2.3042, 24.3101, 9.5248), 4)
    across = [spread / CM for spread in found.sigma["MS"]]
    assert across[:2] == close([29.914, 33.222], 3)
    assert across[2] == pytest.approx(119.427, abs=1e-3)  # 119.42647 where the steps have died away altogether
    # Taken out one at a time (computed): 51 at -25.09, 103 at -6.35, then all is well.
    for station, said in (("51", -25.09), ("103", -6.35)):
        worst = suspect(found)
        assert worst is not None
        reading = readings.pop(worst)
        assert isinstance(reading, Distance)
        assert (reading.a, found.normalised[worst]) == (station, close(said, 2))
        found = adjust(readings, STATIONS, begin)
    assert suspect(found) is None
    assert found.fits()
    assert max(abs(said or 0) for said in found.normalised) == close(1.03, 2)
    assert found.points["MS"] == close((-2.5077, 24.3202, 9.7753), 4)
    assert (found.redundancy, found.chi2) == (3, close(1.127, 3))
    assert found.s0 is not None
    assert found.s0 * 0.05 == close(0.03065, 5)


@pytest.mark.parametrize(
    ("lean", "near", "far", "digits"),
    [(1.0, 17, 48, 0), (1.0, 17.45, 48.02, 2), (20.0, 342.02, 344.93, 2), (45.0, 707.11, 708.52, 2)],
)
def test_weak_fix(lean: float, near: float, far: float, digits: int) -> None:
    """J. Green, Maritime Archaeology, 2nd ed., p. 101: two tapes of 1000 that run 1° off the base ("about 17" off it,
    "48" when both read 1001). The other rows are computed."""
    base = 2000 * math.cos(math.radians(lean))
    for length, off in ((1000.0, near), (1001.0, far)):
        found = adjust(tapes(f"A-P {length}; B-P {length}", 1.0), {"A": (0, 0), "B": (base, 0)}, {"P": (base / 2, 1)})
        assert found.points["P"][1] == close(off, digits)


CHI_SQUARE = {  # standard tables (from memory), computed again by another library
    0.05: (3.841, 5.991, 7.815, 9.488, 11.070, 18.307, 23.685, 31.410, 43.773),
    0.01: (6.635, 9.210, 11.345, 13.277, 15.086, 23.209, 29.141, 37.566, 50.892),
    0.001: (10.828, 13.816, 16.266, 18.467, 20.515, 29.588, 36.123, 45.315, 59.703),
    0.025: (5.024, 7.378, 9.348, 11.143, 12.833, 20.483, 26.119, 34.170, 46.979),
    0.975: (0.001, 0.051, 0.216, 0.484, 0.831, 3.247, 5.629, 9.591, 16.791),
}


@pytest.mark.parametrize("level", CHI_SQUARE)
def test_chi_square_table(level: float) -> None:
    found = [chi_square_limit(freedom, 1 - level) for freedom in (1, 2, 3, 4, 5, 10, 14, 20, 30)]
    assert found == close(list(CHI_SQUARE[level]), 3)
