"""How a measurement was taken, and what that adds to its doubt."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache
from typing import Final

from journal.ground.records import record
from journal.measure.value import Value

Half = Callable[[Fraction], Fraction]


@record
class Method:
    """One way of measuring.

    spellings  as people write it after `by` or `with`
    length     half-width in mm that it adds to a length of so many mm
    angle      half-width in degrees that it adds to an angle
    source     where the figures come from
    """

    spellings: tuple[str, ...]
    length: Half
    angle: Fraction
    source: str


PRACTICE: Final = "common practice, no published source"


def _always(half: str) -> Half:
    said = Fraction(half)
    return lambda size: said


def _tape(size: Fraction) -> Fraction:
    """0.3 mm and 0.2 mm for each metre begun: accuracy class II."""
    return Fraction(3 + 2 * math.ceil(abs(size) / 1000), 10)


def _method(spellings: str, length: Half, angle: str = "1", source: str = PRACTICE) -> Method:
    return Method(tuple(spellings.split(", ")), length, Fraction(angle), source)


# Angles are read with the last three; any other tool says no more about one than none (1 degree).
METHODS: Final[dict[str, Method]] = {
    "gauge": _method(
        "gauge, feeler gauge, feelers, feeler, gauge block, gauge blocks, slip gauge, slip gauges, drill shank, "
        "micrometer, mic, plug gauge, gage, feeler gage",
        _always("0.02"),
    ),
    "calliper": _method(
        "calliper, callipers, caliper, calipers, vernier, verniers, vernier calliper, vernier callipers, "
        "vernier caliper, vernier calipers, digital calliper, digital callipers, digital caliper, digital calipers, "
        "dial calliper, dial caliper, depth gauge",
        _always("0.05"),
    ),
    "rule": _method("rule, ruler, steel rule, steel ruler, engineer's rule, straight rule", _always("0.5")),
    "square": _method(
        "square, try square, set square, combination square, engineer's square, tri square",
        _always("0.5"),
        "0.5",
    ),
    "tape": _method(
        "tape, tape measure, measuring tape, steel tape, tape rule, pocket tape, folding rule",
        _tape,
        source="OIML R 35-1:2007, class II",
    ),
    "protractor": _method(
        "protractor, bevel protractor, angle gauge, angle finder, digital level, digital protractor, inclinometer",
        _always("1"),
        "0.5",
    ),
    "template": _method("template, card template, pattern, tracing, rubbing, paper pattern", _always("2"), "2"),
    "eye": _method(
        "eye, guess, guessing, guesswork, estimate, estimation, eyeball, eyeballing, sight, thumb, paces",
        _always("5"),
        "5",
    ),
    "memory": _method("memory, recollection", _always("10"), "10"),
}
ROOT_3: Final = math.sqrt(3)
_NONE: Final = _method("none", _always("1"))
_SPELT: Final = {spelling: name for name, method in METHODS.items() for spelling in method.spellings}
_LEAD: Final = re.compile(r"^(?:by|with|using|from|on)? *(?:(?:a|an|the|my|his|her|our) +)?")


@lru_cache(maxsize=1024)  # there are some ten of them, and most readings name one
def find_method(text: str) -> str | None:
    """The canonical method that the whole of `text` names, or None: `by a tape measure` is "tape"."""
    if len(text) > 60:
        return None
    words = re.sub(r"[\s\-]+", " ", text.replace("’", "'")).strip(" .").lower()
    return _SPELT.get(words) or _SPELT.get(_LEAD.sub("", words, count=1))


def method_half(value: Value, method: str | None, from_memory: bool = False, in_doubt: bool = False) -> Fraction:
    """Half-width m that the method adds, in the value's base unit.

    `about` and `in doubt` make it at least eye's, `from memory` at least memory's. For other quantities than length
    and angle the method adds nothing, and those three as much again as the writing itself.
    """
    loosened = [*["eye"] * (value.about or in_doubt), *["memory"] * from_memory]
    if value.number is None:
        return Fraction(0)
    if value.quantity not in ("length", "angle"):
        return value.half or Fraction(0) if loosened else Fraction(0)
    named = METHODS.get(method or "", _NONE)
    if not loosened:
        return _half(named, value.quantity, value.number)
    return max(_half(said, value.quantity, value.number) for said in (named, *map(METHODS.__getitem__, loosened)))


def _half(method: Method, quantity: str, number: Fraction) -> Fraction:
    return method.length(number) if quantity == "length" else method.angle


def uncertainty(value: Value, method: str | None, from_memory: bool = False, in_doubt: bool = False) -> float:
    """Standard uncertainty u = sqrt((a² + m²)/3) in the base unit: two rectangular shares (JCGM 100:2008, 4.3.7).

    0 for a value that is only kept.
    """
    return math.hypot(value.half or 0, method_half(value, method, from_memory, in_doubt)) / ROOT_3
