"""What somebody typed into the search field: words, and values with a unit.

The browser reads a query with `files/query.js` of the theme, line for line the same as this module; what
both need to know (the signs of a phone's keyboard, the units, one pattern for a value) stands here once and
is sent to the page by `grammar`. One table of cases, tests/cases/search.md, runs through both.

    hinge left     two words: both must be there, each at the start of a word, accents and capitals aside
    16 mm          a value: every measurement whose interval overlaps it, whatever its unit
    20 to 25 mm    a range, its own interval; also 20-25 mm, 20..25 mm, 16 mm ± 1, about 16 mm
    3' 4 1/2"      feet and inches
    16             no unit: the written text, as a word
    c123-7         a code stays in one piece; 123-7 and 7 find it too

Everything here is a float: the browser has nothing else and the two must agree to the last bit. Nothing is
computed from these values, they are only held against the intervals of the measurements.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from functools import cache
from typing import Final

from journal.ground.records import record
from journal.measure.numerals import VULGAR
from journal.measure.units import UNITS, Unit, any_of, by_symbol, find_unit, plain_signs

EPS: Final = 1e-6  # base units; less than any measurement can mean, more than a float can lose
MOST_HALF_MM: Final = 5.0  # half of the last decimal place of a length is never taken as more
# Half-widths of inches by the smallest fraction written, in inches (common practice, no published source).
INCH_HALVES: Final = {1: 1 / 8, 2: 1 / 16, 4: 1 / 16, 8: 1 / 16, 16: 1 / 32, 32: 1 / 64, 64: 1 / 128}
MOST_CHARACTERS: Final = 300  # of a query; what is longer is cut

# Letters that do not come apart into a plain letter and an accent.
LETTERS: Final = {
    "ß": "ss", "ø": "o", "æ": "ae", "œ": "oe", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i",
}  # fmt: skip

FRACTIONS: Final = {sign: f"{top}/{bottom}" for sign, (top, bottom) in VULGAR.items()}

# The patterns below mean the same in Python and in JavaScript.
_DIGITS = "[0-9]{1,12}"
_FRACTIONS = f"{_DIGITS}[ -]{_DIGITS}/{_DIGITS}|{_DIGITS}/{_DIGITS}"
_NUMBER = f"(?:{_FRACTIONS}|{_DIGITS}(?:[.,]{_DIGITS})?|[.]{_DIGITS})"
_ENDS = r"(?![A-Za-z\u00c0-\u024f\u0370-\u03ff²³/^])"


def _spelt(*units: Unit) -> str:
    spellings = [word for unit in units for word in (unit.symbol, *unit.spellings, *unit.exact)]
    return f"(?:{any_of(spellings)}){_ENDS}"


_UNIT = _spelt(*UNITS)
_FEET, _INCHES = _spelt(by_symbol("ft")), _spelt(by_symbol("in"))
VALUE: Final = (
    r"(?:(about |~ ?))?(?:"
    rf"({_NUMBER}) ?({_FEET})[ -]*({_NUMBER}) ?({_INCHES})"
    rf"|({_NUMBER}) ?({_UNIT})? ?(to|\.\.|-|±|\+/-|\+-) ?({_NUMBER}) ?({_UNIT})?"
    rf"|({_NUMBER}) ?({_UNIT}))"
)
_L, _D = r"[^\W\d_]", r"\d"
_WORD: Final = re.compile(rf"(?=[^\W_])(?:{_L}|{_D}(?:[,/:](?={_D}))?|[-_.+](?={_D}))+")
_FRACTION: Final = re.compile(rf"([0-9]?) ?([{''.join(VULGAR)}])")
_SIMPLE: Final = re.compile("[!-_a-~]+(?: [!-_a-~]+)*")  # nothing in it that folding changes but capitals
_TIMES: Final = re.compile(r"([0-9]) ?x ?(?=[0-9])")


# A date as pages write it, `14 March 2026`.
MONTHS: Final = "jan feb mar apr may jun jul aug sep oct nov dec".split()
DATE: Final = rf"\b([0-9]{{1,2}}) ({'|'.join(MONTHS)})[a-z]* ([0-9]{{4}})\b"


@record
class Range:
    """A value with a unit: an interval in the base unit of its quantity, and its middle."""

    quantity: str
    low: float
    high: float
    middle: float


@record
class Query:
    """All of it must be found: every word (folded, as typed) and every range."""

    words: tuple[str, ...] = ()
    ranges: tuple[Range, ...] = ()


def plain(text: str) -> str:
    """`text` with the keyboard's signs, `1½` as `1 1/2`, and single spaces."""
    text = _FRACTION.sub(lambda match: f"{match[1]} {FRACTIONS[match[2]]}", plain_signs(text))
    return re.sub(" +", " ", text).strip(" ")


def fold(text: str) -> str:
    """`text` for comparing: plain signs, no accents, small letters, `60x40` as `60 x 40`."""
    if not _SIMPLE.fullmatch(text):
        text = plain(text)
    if not text.isascii():
        text = unicodedata.normalize("NFKD", text).lower()
        text = "".join(LETTERS.get(c, c) for c in text if unicodedata.category(c)[0] != "M")
    return _TIMES.sub(r"\1 x ", text.lower())


def words_of(folded: str) -> Iterator[str]:
    """The words of a folded text, codes in one piece."""
    return (match[0] for match in _WORD.finditer(folded))


def read_query(typed: str) -> Query:
    """What was typed, as words and ranges; anything can be read, nothing is an error."""
    text = re.sub(DATE, _iso, plain(typed[:MOST_CHARACTERS]), flags=re.IGNORECASE)
    words: list[str] = []
    ranges: list[Range] = []
    start = at = 0
    while at < len(text):
        value = _value().match(text, at)
        found = _range(value.groups()) if value else None
        if value and found:
            words.extend(words_of(fold(text[start:at])))
            ranges.append(found)
            start = at = value.end()
        else:
            at = _next_place(text, at)
    words.extend(words_of(fold(text[start:])))
    return Query(tuple(dict.fromkeys(words)), tuple(ranges))


def _iso(date: re.Match[str]) -> str:
    return f"{date[3]}-{MONTHS.index(date[2].lower()) + 1:02}-{int(date[1]):02}"


@cache
def _value() -> re.Pattern[str]:
    """The only long pattern: a make writes it down and does not need it itself."""
    return re.compile(VALUE, re.IGNORECASE)


def _next_place(text: str, at: int) -> int:
    """Past the word that stands here, or past one sign: a value begins at neither's middle."""
    word = _WORD.match(text, at)
    return word.end() if word else at + 1


def _range(groups: tuple[str | None, ...]) -> Range | None:
    """The range of a match of VALUE; None where it has no unit or two of different quantities."""
    about, feet, foot, inches, inch, a, unit_a, sign, b, unit_b, one, unit = groups
    wider = 2 if about else 1
    if feet and foot and inches and inch:
        return _feet_and_inches(feet, inches, wider)
    if one and unit:
        return _single(one, find_unit(unit), wider)
    first, second = find_unit(unit_a or unit_b or ""), find_unit(unit_b or unit_a or "")
    if not (a and b and sign and first and second) or first.quantity != second.quantity:
        return None
    if sign == "-" and not unit_a and a.isdigit() and "/" in b and " " not in b:
        return _single(f"{a} {b}", second, wider)  # 1-5/8 in
    if sign in ("to", "TO", "To", "..", "-"):
        return _between(_based(a, first), _based(b, second), first.quantity)
    middle, half = _based(a, first), _number(b) * float(second.factor)
    return Range(first.quantity, middle - half, middle + half, middle)


def _between(a: float, b: float, quantity: str) -> Range:
    return Range(quantity, min(a, b), max(a, b), (a + b) / 2)


def _feet_and_inches(feet: str, inches: str, wider: int) -> Range:
    foot, inch = by_symbol("ft"), by_symbol("in")
    middle, half = _based(feet, foot) + _based(inches, inch), _half(inches, inch) * wider
    return Range("length", middle - half, middle + half, middle)


def _single(number: str, unit: Unit | None, wider: int) -> Range | None:
    if not unit:
        return None
    middle, half = _based(number, unit), _half(number, unit) * wider
    return Range(unit.quantity, middle - half, middle + half, middle)


def _number(text: str) -> float:
    """`1 5/8`, `1-5/8`, `5/8`, `31.2`, `31,2`."""
    whole, _, rest = text.replace("-", " ").rpartition(" ")
    top, slash, bottom = rest.partition("/")
    part = float(top.replace(",", "."))
    if slash:
        part = part / float(bottom) if float(bottom) else 0.0
    return float(whole or "0") + part


def _based(text: str, unit: Unit) -> float:
    return _number(text) * float(unit.factor) + float(unit.offset)


def _half(text: str, unit: Unit) -> float:
    """Half-width in the base unit of a number as written: what the writing supports."""
    factor = float(unit.factor)
    bottom = int(text.partition("/")[2] or "1")
    decimals = len(text.replace(",", ".").partition(".")[2])
    if unit.symbol == "in" and not decimals and bottom in INCH_HALVES:
        return INCH_HALVES[bottom] * factor
    half = factor / (2 * bottom) if bottom > 1 else factor / (2 * 10**decimals)
    return min(half, MOST_HALF_MM) if unit.quantity == "length" else half


def grammar() -> dict[str, object]:
    """What the browser needs to read a query as this module does, as plain JSON values."""
    units: dict[str, list[object]] = {}
    for unit in UNITS:
        for spelling in (unit.symbol, *unit.spellings):
            if spelling not in unit.exact:
                units[_key(spelling).lower()] = _row(unit)
    every_sign = "".join(map(chr, range(0x10000)))  # the signs are replaced one for one
    return {
        "value": VALUE,
        "date": DATE,
        "months": MONTHS,
        "units": units,
        "exact": {_key(spelling): _row(unit) for unit in UNITS for spelling in unit.exact},
        "signs": {a: b for a, b in zip(every_sign, plain_signs(every_sign), strict=True) if a != b},
        "letters": LETTERS,
        "fractions": FRACTIONS,
        "inches": {str(bottom): half for bottom, half in INCH_HALVES.items()},
        "mostHalf": MOST_HALF_MM,
        "mostCharacters": MOST_CHARACTERS,
        "eps": EPS,
    }


def _row(unit: Unit) -> list[object]:
    return [unit.symbol, unit.quantity, float(unit.factor), float(unit.offset)]


def _key(spelling: str) -> str:
    """A spelling without its joiners: `N m`, `N·m` and `N-m` are one."""
    return re.sub(r"[ .·*-]", "", spelling)
