"""One number as written: `312`, `12.28`, `5/8`, `1 5/8`, `1-5/8`, `⅝`, `1½`; and the fault a value can have."""

from __future__ import annotations

import re
import unicodedata
from fractions import Fraction
from functools import cache
from typing import Final

from journal.ground.records import record

MOST_DIGITS: Final = 12


class ValueFault(Exception):
    """A value that could not be read; the caller adds the place.

    word         "not-understood", "no-unit" or "ambiguous-value"
    message      what is wrong, in plain words
    help         what to write
    offset, end  the stretch of the text given that is at fault
    """

    def __init__(self, word: str, message: str, help: str, offset: int, end: int) -> None:
        super().__init__(message)
        self.word = word
        self.message = message
        self.help = help
        self.offset = offset
        self.end = end


@record
class Numeral:
    """One number without its unit.

    number      exactly
    grain       what the last written place is worth: 1, 1/10, 1/16
    top, bottom the fraction as written (5, 8), both 0 where there is none
    mixed       a whole number stands before the fraction
    start, end  where it stands
    """

    number: Fraction
    grain: Fraction
    top: int
    bottom: int
    mixed: bool
    start: int
    end: int


VULGAR: Final[dict[str, tuple[int, int]]] = {
    sign: (int(top), int(bottom))
    for sign in map(chr, (*range(0xBC, 0xBF), *range(0x2150, 0x215F)))
    for top, _, bottom in [unicodedata.normalize("NFKC", sign).partition("⁄")]
}  # the signs of Unicode whose compatibility form is a fraction: ¼ ½ ¾ ⅐ ... ⅞
_SIGNS: Final = "".join(VULGAR)
STARTS_NUMBER: Final = re.compile(rf"[0-9{_SIGNS}]|[.,][0-9]")
_FRACTION: Final = re.compile(
    rf"(?:(?P<whole>[0-9]+)(?: *(?=[{_SIGNS}])| +|-))?(?:(?P<top>[0-9]+)/(?P<bottom>[0-9]+)|(?P<sign>[{_SIGNS}]))"
)

_LAST_PLACE: Final = tuple(Fraction(1, 10**places) for places in range(MOST_DIGITS + 1))
_GOES_ON: Final = re.compile(r"(?:[.,][0-9]+){1,4}")


@cache
def _decimal_pattern(mark: str) -> re.Pattern[str]:
    point = re.escape(mark)
    return re.compile(rf"(?P<whole>[0-9]*)(?:{point}(?P<part>[0-9]+))?")


def numeral_at(text: str, at: int, decimal: str = ".") -> Numeral | None:
    """The number that starts at an offset of plain text, or None; ValueFault where it can be read two ways."""
    if not STARTS_NUMBER.match(text, at):
        return None
    return _fraction_at(text, at) or _decimal_at(text, at, decimal)


def _fraction_at(text: str, at: int) -> Numeral | None:
    match = _FRACTION.match(text, at)
    if not match:
        return None
    whole, end = match["whole"], match.end()
    _check_length(text, at, end, (whole or "", match["top"] or "", match["bottom"] or ""))
    top, bottom = VULGAR[match["sign"]] if match["sign"] else (int(match["top"]), int(match["bottom"]))
    if bottom == 0 or text[end : end + 1] == "/" or (whole and top >= bottom):
        shown = text[at:end]
        raise ValueFault(
            "not-understood", f'"{shown}" is not a number', "write a fraction as `5/8` or `1 5/8`", at, end
        )
    number = int(whole or 0) + Fraction(top, bottom)
    return Numeral(number, Fraction(1, bottom), top, bottom, bool(whole), at, end)


def _decimal_at(text: str, at: int, decimal: str) -> Numeral | None:
    match = _decimal_pattern(decimal).match(text, at)
    if not match or match.end() == at:
        return None
    whole, part, end = match["whole"], match["part"] or "", match.end()
    _check_length(text, at, end, (whole + part,))
    if rest := _GOES_ON.match(text, end):  # a thousands mark, or the other decimal mark
        end = rest.end()
        whole, part = _one_reading(text, at, end, decimal)
    number = int(whole + part)
    exact = Fraction(number, 10 ** len(part)) if part else Fraction(number)
    return Numeral(exact, _LAST_PLACE[len(part)], 0, 0, False, at, end)


def _check_length(text: str, start: int, end: int, runs: tuple[str, ...]) -> None:
    if max(map(len, runs)) > MOST_DIGITS:
        shown = text[start : min(end, start + 16)]
        raise ValueFault(
            "not-understood",
            f'"{shown}..." has more than {MOST_DIGITS} digits',
            "write a shorter number",
            start,
            end,
        )


def _one_reading(text: str, start: int, end: int, decimal: str) -> tuple[str, str]:
    """What stands before and behind the decimal mark of `1.580,5`, thousands marks left out; ValueFault where a stretch
    of digits and marks has no such mark in its last place or can be read another way, as `1.580` can."""
    whole, mark, part = text[start:end].rpartition(decimal)
    if not mark or _readings_at(text, start, end, decimal) != [(digits := re.sub("[.,]", "", whole)) + mark + part]:
        raise mark_fault(text, start, end, decimal)
    _check_length(text, start, end, (digits + part,))
    return digits, part


def mark_fault(text: str, start: int, end: int, decimal: str) -> ValueFault:
    """What a stretch of digits and marks can be read as, the build's decimal mark being another or there already."""
    shown = text[start:end]
    readings = _readings_at(text, start, end, decimal)
    if not readings:
        help = f'write digits without a thousands mark, and "{decimal}" before the decimals'
        return ValueFault("not-understood", f'"{_short(shown)}" is not one number', help, start, end)
    told = f'"{_short(shown)}" is {_short(readings[0])} where "{decimal}" stands before the decimals'
    if len(readings) > 1:
        told = f'"{_short(shown)}" can be read as {" or as ".join(map(_short, readings))}'
    help = " or ".join(f"`{_short(reading)}`" for reading in readings if " " not in reading)
    lines = ", or one reading a line" if " " in readings[-1] else ""
    return ValueFault("ambiguous-value", told, f"write {help}{lines}", start, end)


def _readings_at(text: str, start: int, end: int, decimal: str) -> list[str]:
    return [] if _GOES_ON.match(text, end) else _readings(text[start:end], decimal)


def _readings(shown: str, decimal: str) -> list[str]:
    """The numbers that can be meant, written with the build's decimal mark; where only one can, two in a row."""
    groups, marks = re.split("[.,]", shown), re.findall("[.,]", shown)
    found = []
    if len(set(marks)) == 1 and _in_thousands(groups):
        found.append("".join(groups))
    if len(marks) == 1 or (marks[-1] not in marks[:-1] and _in_thousands(groups[:-1])):
        found.append(f"{''.join(groups[:-1]) or '0'}{decimal}{groups[-1]}")
    two = marks[0] == "," and decimal == "." and marks.count(",") == 1 and groups[0].strip("0")
    return [*found, shown.replace(",", " and ")] if len(found) == 1 and two else found


def _in_thousands(groups: list[str]) -> bool:
    """Whether digits are grouped as a thousands mark groups them: `12`, `345`, `000`."""
    first, *others = groups
    return bool(others) and 0 < len(first) <= 3 and first[0] != "0" and all(len(group) == 3 for group in others)


def _short(text: str) -> str:
    return text if len(text) <= 24 else text[:21] + "..."
