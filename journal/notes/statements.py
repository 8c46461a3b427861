"""Statements: `[subject] RELATION reference: value by method, want value, from memory, in doubt`.

    hole ahead of rear end: 1580 mm ± 2 by tape
    upright square to web by square
    foot length: 42 mm (bent, measured along)

Each reader gives one of three answers: a statement, a finding (meant as one, but wrong), or None (no such).
"""

from __future__ import annotations

import re
from dataclasses import replace

from journal.ground.finding import Finding
from journal.ground.records import record
from journal.measure.numerals import STARTS_NUMBER, ValueFault
from journal.measure.value import Value, read_start
from journal.notes.contacts import contact_with_value, read_contact
from journal.notes.forgotten import colon_forgotten
from journal.notes.left import any_words, place, quantity_of, read_left
from journal.notes.lines import Line
from journal.notes.marks import take_marks, without_brackets
from journal.notes.records import Split, Statement
from journal.notes.words import HEDGES, LONGEST_NAME, Word, words_of

LONGEST_LEFT = 200
LONGEST_VALUE = 600
LONGEST_KEPT = 80
_ANOTHER = re.compile(r"[;,](?!\s*want)[^:;,]*[^\W\d_]\s*:\s*[^:;,\s]*\d")


@record
class ValueSettings:
    """What a statement takes from build.toml: side words, the unit of bare numbers, the decimal mark."""

    sides: tuple[str, str]
    bare: str | None
    decimal: str


def read_statement(
    line: Line, colon: int, settings: ValueSettings, *, known_only: bool = False
) -> Statement | Finding | None:
    """The statement that a line is, with a colon (its offset) or, for a contact, without one (-1).

    known_only  leave out dimensions in any words (`turns out: 3`)
    """
    if colon < 0:
        return read_contact(line, settings.sides) or colon_forgotten(line, settings.sides, settings.decimal)
    if not STARTS_NUMBER.search(line.plain, colon + 1):
        return read_contact(line, settings.sides)
    left = without_brackets(line.plain[:colon])[0] if colon <= LONGEST_LEFT else ""
    splits = tuple(place(line, shape) for shape in read_left(left, settings.sides))
    if splits and (len(line.text) - colon > LONGEST_VALUE or _ANOTHER.search(line.plain, colon + 1)):
        return _not_one(line)
    if not splits:
        words = words_of(left, 0, colon)
        if not words:
            return None
        wrong = contact_with_value(line, words, settings.sides)
        return wrong or (None if known_only else _kept(line, words, colon, settings))
    return _valued(line, splits, colon, settings)


def _valued(line: Line, splits: tuple[Split, ...], colon: int, settings: ValueSettings) -> Statement | Finding | None:
    start = colon + 1
    marks = take_marks(line.plain, start)
    quantity = quantity_of(splits[0])
    try:
        value, used = _read(marks.text, start, len(marks.text), quantity, settings)
        want = None
        if marks.want:
            want, used_want = _read(line.plain, *marks.want, value.quantity or quantity, settings)
            want = _to_the_letter(line, want, marks.want[0], used_want)
    except ValueFault as fault:
        return None if _is_talk(line, colon) else _fault(line, fault)
    end = start + len(marks.text[start:used].rstrip(" ,;"))
    marked_inside = marks.text[start:end] != line.plain[start:end]
    value = _to_the_letter(line, value, start, len(line.text) if marked_inside else end)
    remark = "; ".join(filter(None, (" ".join(marks.text[used:].split()).strip(" ,;./="), marks.remark)))
    begin = start + len(line.text[start:]) - len(line.text[start:].lstrip())
    return Statement(
        text=line.text,
        splits=splits,
        value=value,
        written=value.written,
        span=line.span(),
        value_span=line.span(begin, begin + len(value.written)),
        method=marks.method,
        want=want,
        from_memory=marks.from_memory,
        in_doubt=marks.in_doubt,
        remark=remark,
    )


def _read(text: str, start: int, end: int, quantity: str, settings: ValueSettings) -> tuple[Value, int]:
    """The value at a stretch of `text` and the offset where it ends; a fault tells its offsets in `text`."""
    lead = len(text[start:end]) - len(text[start:end].lstrip())
    try:
        value, used = read_start(
            text[start + lead : end].rstrip(),
            bare=settings.bare if quantity == "length" else None,
            decimal=settings.decimal,
            quantity=quantity,
        )
    except ValueFault as fault:
        fault.offset += start + lead
        fault.end += start + lead
        raise
    return value, start + lead + used


def _to_the_letter(line: Line, value: Value, start: int, end: int) -> Value:
    written = line.text[start:end].strip()
    return value if value.written == written else replace(value, written=written)


def _is_talk(line: Line, colon: int) -> bool:
    """A line such as `Note to self: buy 3 bolts`: words that no reading has, and no number after the colon."""
    words = words_of(line.plain, 0, colon)
    return any(word.fold in HEDGES for word in words) and line.plain[colon + 1 :].lstrip()[:1].isalpha()


def _fault(line: Line, fault: ValueFault) -> Finding:
    return Finding(fault.word, fault.message, line.span(fault.offset, fault.end), help=fault.help)


def _kept(line: Line, words: list[Word], colon: int, settings: ValueSettings) -> Statement | Finding | None:
    """A dimension in any words, unless the line is too long for one: then it is a sentence."""
    value = line.plain[colon + 1 :].strip()
    is_prose = len(value) > LONGEST_KEPT and " " in value[:LONGEST_KEPT]
    if len(words) > LONGEST_NAME or is_prose or value.startswith("//"):
        return None
    return _valued(line, (any_words(line, words),), colon, settings)


def _not_one(line: Line) -> Finding:
    """A line that begins as a reading, and holds two of them or far too much."""
    what = "holds more than one reading" if len(line.text) < LONGEST_VALUE else "is too long for a reading"
    message = f'"{line.text[:40]}{"..." if len(line.text) > 40 else ""}" {what}'
    return Finding("not-understood", message, line.span(), help="write one reading a line, and a remark in brackets")
