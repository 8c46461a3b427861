"""Text that holds several numbers, or a size that is only kept: `60 x 40 x 3 mm`, `M8 x 40`, `18 gauge`."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Final

from journal.measure.grammar import Amount, Cursor, Written, amount_at
from journal.measure.numerals import STARTS_NUMBER, ValueFault
from journal.measure.units import KEPT_WORDS, any_of

_THREAD: Final = re.compile(r"\b(?:(?i:UNC|UNF|UNEF|UNS|BSW|BSF|BSPP?|BSPT|NPTF?|TPI)|UN|NF|NC|BA)\b")
_KEPT_UNIT: Final = re.compile(rf" *-?(?:{any_of(KEPT_WORDS)})(?![^\W\d_])", re.IGNORECASE)
_TIMES: Final = re.compile(rf" *(?:x|by|/) *(?:{STARTS_NUMBER.pattern})", re.IGNORECASE)
_AGAIN: Final = re.compile(rf" *[/=] *(?={STARTS_NUMBER.pattern})")
_BRACKETS: Final = re.compile(r"\([^()]*\)?")
_DIGITS: Final = re.compile(r"[0-9]+|.", re.DOTALL)
# Numbers with only this between them share the unit of the last: `60 x 40 x 3 mm`.
_IN_A_ROW: Final = re.compile(r" *(?:x|by|,|;|and|or|to|/|-|&|\.\.)? *", re.IGNORECASE)
# A number straight after one of these is a label, not another reading: `312 mm above hole 2`.
_LABEL: Final = re.compile(
    r"\b(?:hole|slot|bolt|stud|screw|rivet|pin|weld|nut|corner|cent(?:re|er)|tip|mark|notch|dowel|photo|picture|img"
    r"|tin|bag|box|no|number|day|step|row|side|page|note|item|rib|frame|bay|post|clip|bracket|hinge)s? ?[.#_]? ?$",
    re.IGNORECASE,
)
_ORDINAL: Final = re.compile(r"(?:st|nd|rd|th)\b", re.IGNORECASE)
_LOOK_BACK: Final = 16
MOST_NUMBERS: Final = 100


def is_thread(plain: str) -> bool:
    """Whether a thread series is named: `1/4-20 UNF`, `2 BA`."""
    return bool(_THREAD.search(plain))


def has_kept_unit(plain: str, at: int) -> bool:
    """Whether what follows the number that ends here is a unit that is only kept: `18 gauge`."""
    return bool(_KEPT_UNIT.match(plain, at))


def all_amounts(plain: str, decimal: str) -> list[Amount]:
    """Every number with its unit; one without takes that of the next in its row.

    Numbers that cannot be read are left out; more than MOST_NUMBERS are a ValueFault.
    """
    found: list[Amount] = []
    at = tried = 0
    while match := STARTS_NUMBER.search(plain, at):
        tried += 1
        if tried > MOST_NUMBERS:
            message = f"one value with more than {MOST_NUMBERS} numbers is not read"
            raise ValueFault("not-understood", message, "write one reading a line", 0, len(plain))
        cursor = Cursor(plain, decimal, match.start())
        try:
            amount = amount_at(cursor, signed=False)
        except ValueFault:
            amount = None
        if amount:
            found.append(amount)
        at = cursor.at if amount else _after(plain, match.start())
    return _share_units(plain, found)


def holds_more(plain: str, written: Written, decimal: str) -> bool:
    """Whether the text after a value holds another reading, rather than a remark that happens to hold a number."""
    if _TIMES.match(plain, written.end):
        return True
    rest = _BRACKETS.sub(lambda match: " " * len(match[0]), plain[written.end :])
    unit = written.first.unit or (written.second.unit if written.second else None)
    return any(
        not (unit and other.unit and other.unit.quantity != unit.quantity)
        and not glued(rest, other.start)
        and not _ORDINAL.match(rest, other.numeral.end)
        and not _LABEL.search(rest[max(0, other.start - _LOOK_BACK) : other.start])
        for other in all_amounts(rest, decimal)
    )


def said_again(plain: str, written: Written, decimal: str) -> Amount | None:
    """The same reading in a unit of the other system, where that is all that follows: `5/8 in / 16 mm`."""
    first, joint = written.first.unit, _AGAIN.match(plain, written.end)
    if not joint or not first or written.second or written.plus:
        return None
    other = amount_at(Cursor(plain, decimal, joint.end()), signed=False)
    if not other or not other.unit or other.unit.quantity != first.quantity:
        return None
    if {first.system, other.unit.system} != {"mm", "in"}:
        return None
    return None if holds_more(plain, replace(written, end=other.end), decimal) else other


def glued(plain: str, at: int) -> bool:
    """Whether a letter touches the number from the left: the 8 of `M8`, not the 40 of `60x40`."""
    return at > 0 and plain[at - 1].isalpha() and plain[at - 1] not in "xX"


def _after(plain: str, at: int) -> int:
    match = _DIGITS.match(plain, at)
    return match.end() if match else at + 1


def _share_units(plain: str, amounts: list[Amount]) -> list[Amount]:
    shared = amounts[-1:]
    for amount in reversed(amounts[:-1]):
        between = plain[amount.end : shared[-1].start]
        row = amount.unit is None and len(between) <= _LOOK_BACK and _IN_A_ROW.fullmatch(between)
        takes = row and not glued(plain, amount.start)
        shared.append(replace(amount, unit=shared[-1].unit) if takes else amount)
    return shared[::-1]
