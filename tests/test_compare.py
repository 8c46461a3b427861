"""Methods and what they add, intervals, two readings held against each other, and against what is wanted."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest

from journal.measure.compare import Comparison, Miss, against_want, compare
from journal.measure.methods import METHODS, find_method, method_half, uncertainty
from journal.measure.value import KEPT, read_value

SPELT = [
    ("tape", "tape", "by tape", "a tape measure", "by a tape-measure", "Tape Measure", "steel tape", "my tape"),
    ("rule", "rule", "by rule", "ruler", "steel rule", "engineer’s rule"),
    ("calliper", "calliper", "caliper", "callipers", "calipers", "vernier", "with verniers", "digital caliper"),
    ("gauge", "gauge", "feeler gauge", "feelers", "gage", "by feeler gauge", "micrometer"),
    ("square", "square", "by square", "try square", "set-square", "combination square"),
    ("protractor", "protractor", "angle finder", "with a protractor"),
    ("template", "template", "tracing", "pattern"),
    ("eye", "eye", "by eye", "guess", "a guess", "estimate"),
    ("memory", "memory", "from memory"),
]


@pytest.mark.parametrize(("method", "typed"), [(row[0], typed) for row in SPELT for typed in row[1:]])
def test_methods_as_typed(method: str, typed: str) -> None:
    assert find_method(typed) == method


@pytest.mark.parametrize("typed", ["", "by", "hand", "tapes and rules", "rule of thumb", "x" * 10_000, "on the bench"])
def test_what_is_no_method(typed: str) -> None:
    assert find_method(typed) is None


def test_every_method_says_where_its_figure_comes_from() -> None:
    assert all(method.source for method in METHODS.values())
    assert METHODS["tape"].source.startswith("OIML R 35")


# Half-widths in mm that methods add (common practice, no published source, but for the tape).
@pytest.mark.parametrize(
    ("method", "half"),
    [("gauge", "0.02"), ("calliper", "0.05"), ("rule", "0.5"), ("square", "0.5"), ("template", "2"), ("eye", "5"),
     ("memory", "10"), (None, "1"), ("unheard of", "1")],
)  # fmt: skip
def test_what_a_method_adds_to_a_length(method: str | None, half: str) -> None:
    assert method_half(read_value("312 mm"), method) == Fraction(half)


@pytest.mark.parametrize(
    ("method", "half"),
    [("protractor", "0.5"), ("square", "0.5"), ("eye", "5"), ("memory", "10"), (None, "1"), ("rule", "1")],
)
def test_what_a_method_adds_to_an_angle(method: str | None, half: str) -> None:
    assert method_half(read_value("45°"), method) == Fraction(half)


def test_doubt_makes_it_at_least_eyes_and_memory_at_least_memorys() -> None:
    sharp, loose = read_value("312 mm"), read_value("about 312 mm")
    assert method_half(loose, "calliper") == 5
    assert method_half(sharp, "calliper", in_doubt=True) == 5
    assert method_half(sharp, "calliper", from_memory=True) == 10
    assert method_half(loose, "memory", in_doubt=True) == 10
    assert method_half(read_value("about 45°"), "square") == 5


def test_other_quantities_get_nothing_from_the_method() -> None:
    assert method_half(read_value("25 N·m"), "eye") == 0
    assert method_half(read_value("about 25 N·m"), None) == 1
    assert method_half(read_value("25 N·m"), None, from_memory=True) == Fraction(1, 2)
    assert method_half(read_value("60 x 40 mm"), "tape") == 0
    assert uncertainty(read_value("60 x 40 mm"), "tape") == 0


def test_standard_uncertainty_joins_two_rectangular_shares() -> None:
    # 5/8 in by rule: a = 1/16 in, m = 0.5 mm
    assert uncertainty(read_value("5/8 in"), "rule") == pytest.approx(math.sqrt((1.5875**2 + 0.5**2) / 3))
    assert uncertainty(read_value("45 to 51 mm"), "gauge") == pytest.approx(math.sqrt((9 + 0.0004) / 3))


# --- two readings


def test_the_difference_against_twice_the_joint_uncertainty() -> None:
    a, b = read_value("1580 mm"), read_value("1583 mm")
    assert compare(a, 1.0, b, 1.0) == Comparison(Fraction(3), pytest.approx(2 * math.sqrt(2)), False)
    assert compare(a, 1.2, b, 1.0) == Comparison(Fraction(3), pytest.approx(2 * math.sqrt(2.44)), True)
    assert compare(b, 1.0, a, 1.0) == Comparison(Fraction(-3), pytest.approx(2 * math.sqrt(2)), False)
    assert compare(a, 1.0, b, 1.0, k=3) == Comparison(Fraction(3), pytest.approx(3 * math.sqrt(2)), True)


def test_units_do_not_matter() -> None:
    said = compare(read_value("5/8 in"), 0.0, read_value("15.875 mm"), 0.0)
    assert said == Comparison(Fraction(0), 0.0, True)


@pytest.mark.parametrize("other", ["45°", "at least 5 mm", "60 x 40 mm", "lower flange"])
def test_what_cannot_be_compared(other: str) -> None:
    assert compare(read_value("5 mm"), 1, read_value(other), 1) is None
    assert compare(read_value(other), 1, read_value("5 mm"), 1) is None


# --- against what is wanted: found, doubt, wanted, and by how much it misses


@pytest.mark.parametrize(
    ("found", "u", "want", "miss"),
    [
        ("8 mm", 0.5, "4 to 6 mm", Miss(True, Fraction(2))),
        ("8 mm", 1.0, "4 to 6 mm", None),  # 8 - 2 x 1 just reaches 6
        ("2 mm", 0.5, "4 to 6 mm", Miss(False, Fraction(2))),
        ("5 mm", 0.0, "4 to 6 mm", None),
        ("2 mm", 0.0, "at least 4 mm", Miss(False, Fraction(2))),
        ("9 mm", 0.0, "at least 4 mm", None),
        ("9 mm", 0.0, "at most 4 mm", Miss(True, Fraction(5))),
        ("2 mm", 0.0, "4 mm ± 1", Miss(False, Fraction(1))),
        ("20 N·m", 0.0, "25 N·m ± 2", Miss(False, Fraction(3))),
        ("at least 2 mm", 0.0, "4 mm", None),
        ("2 mm", 0.0, "45°", None),
        ("2 mm", 0.0, "a close fit", None),
        ("60 x 40 mm", 0.0, "4 mm", None),
    ],
)
def test_against_want(found: str, u: float, want: str, miss: Miss | None) -> None:
    assert against_want(read_value(found), u, read_value(want)) == miss


def test_where_the_metal_comes_off() -> None:
    assert Miss(True, Fraction(1)).take_off()  # a part that is too long
    assert not Miss(True, Fraction(1)).take_off(gap=True)  # a gap that is too wide
    assert Miss(False, Fraction(1)).take_off(gap=True)  # a gap that is too narrow
    assert not Miss(False, Fraction(1)).take_off()


def test_a_kept_want_misses_nothing() -> None:
    assert against_want(read_value("5 mm"), 0.1, read_value("4 mm", quantity=KEPT)) is None
