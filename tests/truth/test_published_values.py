"""Numbers published by others: units, fractions of an inch, rounding, uncertainty, tapes.

The source stands beside each. "Exact" is arithmetic on the definitions 1 in = 25.4 mm and 1 lb = 0.45359237 kg.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from journal.measure.methods import METHODS, uncertainty
from journal.measure.units import by_symbol
from journal.measure.value import both, places_for, plain, read_value

# Factors to the digits printed. NIST SP 811 (2008), appendix B.8, as tabled in the CRAN package NISTunits
# (lbf·ft, lbf·in, psi); the rest by the units program of GNU, version 2.22.
FACTORS = [
    ("1 lbf·ft", "1.355818", 6),
    ("1 lbf·ft", "1.3558179483314004", 16),
    ("1 lbf·in", "0.1129848", 7),
    ("1 psi", "6.894757", 6),
    ("1 kgf·m", "9.80665", 5),
    ("1 inHg", "3.386389", 6),
    ("1 US gal", "3.785411784", 9),
    ("1 UK gal", "4.54609", 5),
    ("1 lb", "0.45359237", 8),
    ("1 oz", "0.028349523125", 12),
]


@pytest.mark.parametrize(("text", "base", "places"), FACTORS)
def test_factors(text: str, base: str, places: int) -> None:
    number = read_value(text).number
    assert number is not None
    assert plain(number, places) == base


def test_bar_in_psi() -> None:
    """14.5037738: GNU units 2.22."""
    assert plain(by_symbol("psi").from_base(Fraction(100)), 7) == "14.5037738"


# NBS Circular 572 addendum (1960): 1 yd = 0.9144 m exactly; the two compounds are exact arithmetic.
@pytest.mark.parametrize(
    ("text", "millimetres"),
    [("1 yd", "914.4"), ("1 in", "25.4"), ("8 ft 4 1/4 in", "2546.35"), ("8'-4¼\"", "2546.35"),
     ("5 ft 6 27/32 in", "1697.83125")],
)  # fmt: skip
def test_lengths(text: str, millimetres: str) -> None:
    assert read_value(text).number == Fraction(millimetres)


# Fraction, decimal inches, mm: exact. Last column: usual chart of three decimals, halves to even
# (charts print 3/16 and 7/16 as 4.763 and 11.113, rounding halves up).
FRACTIONS = [
    ("1/64", "0.015625", "0.396875", "0.397"), ("1/32", "0.03125", "0.79375", "0.794"),
    ("3/64", "0.046875", "1.190625", "1.191"), ("1/16", "0.0625", "1.5875", "1.588"),
    ("5/64", "0.078125", "1.984375", "1.984"), ("7/64", "0.109375", "2.778125", "2.778"),
    ("1/8", "0.125", "3.175", "3.175"), ("5/32", "0.15625", "3.96875", "3.969"),
    ("11/64", "0.171875", "4.365625", "4.366"), ("3/16", "0.1875", "4.7625", "4.762"),
    ("1/4", "0.25", "6.35", "6.350"), ("5/16", "0.3125", "7.9375", "7.938"),
    ("3/8", "0.375", "9.525", "9.525"), ("7/16", "0.4375", "11.1125", "11.112"),
    ("1/2", "0.5", "12.7", "12.700"), ("63/64", "0.984375", "25.003125", "25.003"),
]  # fmt: skip


@pytest.mark.parametrize(("inches", "decimal", "exact", "chart"), FRACTIONS)
def test_fractions_of_an_inch(inches: str, decimal: str, exact: str, chart: str) -> None:
    for text in (f"{inches} in", f"{decimal} in"):
        number = read_value(text).number
        assert number == Fraction(exact)
        assert plain(number, 3) == chart


# A sheet lead maker's printed chart (lead_thickness_chart.pdf), which cuts some halves and rounds others: to 0.001 mm.
@pytest.mark.parametrize(
    ("inches", "millimetres"),
    [("1/64", 0.397), ("1/32", 0.794), ("3/64", 1.191), ("1/16", 1.587), ("5/64", 1.984), ("3/32", 2.381),
     ("5/32", 3.969), ("3/16", 4.763)],
)  # fmt: skip
def test_a_printed_chart(inches: str, millimetres: float) -> None:
    number = read_value(f"{inches} in").number
    assert number is not None
    assert float(number) == pytest.approx(millimetres, abs=0.001)


# Rounding half to even: field manual table "rules for rounding" after ASTM E29.
@pytest.mark.parametrize(
    ("number", "rounded"),
    [("45.71", "45.7"), ("45.76", "45.8"), ("45.75", "45.8"), ("45.45", "45.4"), ("45.45001", "45.5")],
)
def test_rounding(number: str, rounded: str) -> None:
    assert plain(Fraction(number), 1) == rounded


def test_a_conversion_keeps_the_precision_of_the_writing() -> None:
    """NIST LC 1137: 40.1 in is 101.9 cm, not 101.854; 36 in, known to half an inch, is 91 cm, not 91.44."""
    assert both(read_value("40.1 in"), "mm") == ("40.1 in", "1019 mm")
    half_an_inch = Fraction("12.7")
    places = places_for(half_an_inch, "cm")
    assert plain(by_symbol("cm").from_base(Fraction("914.4")), places) == "91"


# Accuracy class II, UK SI 2016/1153, schedule 1I (as 2014/32/EU, MI-008, and OIML R 35-1:2007, 4): 0.3 + 0.2 L mm,
# L in metres rounded up to the next whole one. Examples worked from the formula.
@pytest.mark.parametrize(
    ("metres", "limit"),
    [("0.3", "0.5"), ("1.2", "0.7"), ("2.0", "0.7"), ("2.5", "0.9"), ("3", "0.9"), ("5", "1.3"), ("7.2", "1.9")],
)
def test_tapes(metres: str, limit: str) -> None:
    assert METHODS["tape"].length(Fraction(metres) * 1000) == Fraction(limit)


# JCGM 100:2008, 4.3.7 (from memory): a rectangular distribution of half-width a has u = a / sqrt(3) = 0.57735 a.
def test_one_rectangular_share() -> None:
    assert uncertainty(read_value("25 N·m ± 1"), None) == pytest.approx(0.57735, abs=5e-6)


# JCGM 100:2008, F.2.2.1 (from memory): a resolution of 1 has u = 0.29.
def test_the_resolution_of_an_indicator() -> None:
    assert uncertainty(read_value("4 kg"), None) == pytest.approx(0.288675, abs=1e-6)


def test_a_class_two_tape_at_three_metres() -> None:
    """0.9 mm and a reading to 1 mm: u = 0.5944 mm (worked from the two rules above)."""
    assert uncertainty(read_value("3000 mm"), "tape") == pytest.approx(0.5944, abs=5e-5)
