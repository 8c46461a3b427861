"""Statements: `[subject] RELATION reference: value by method, want value, from memory, in doubt`.

    hole ahead of rear end: 1580 mm ± 2 by tape
    upright square to web by square
    foot length: 42 mm (bent, measured along)

Each reader gives one of three answers: a statement, a finding (meant as one, but wrong), or None (no statement).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from journal.ground.finding import Finding
from journal.ground.source import Span
from journal.measure.methods import find_method
from journal.measure.numerals import STARTS_NUMBER, ValueFault
from journal.measure.value import KEPT, Value, read_start, read_value
from journal.notes.lines import Line
from journal.notes.records import Split, Statement
from journal.notes.words import (
    ALONG,
    ARTICLES,
    BETWEEN,
    CONTACTS,
    DIMENSIONS,
    FILLERS,
    HEDGES,
    Found,
    Phrases,
    Word,
    dimension_of,
    feature_words,
    phrases_of,
    words_of,
)

LONGEST_LEFT = 200
LONGEST_VALUE = 600
LONGEST_CONTACT = 160
LONGEST_KEPT = 80
LONGEST_NAME = 8  # words


@dataclass(frozen=True, slots=True)
class ValueSettings:
    """What reading a statement takes from the build: the side words, the unit of bare numbers, the decimal mark."""

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
        return _contact(line, settings) or _colon_forgotten(line, settings)
    if not STARTS_NUMBER.search(line.plain, colon + 1):
        return _contact(line, settings)
    if colon > LONGEST_LEFT or len(line.text) - colon > LONGEST_VALUE:
        return _too_long(line)
    words = words_of(line.plain, 0, colon)
    if not words:
        return None
    splits = read_left(line, words, phrases_of(settings.sides))
    if not splits:
        wrong = _contact_with_value(line, words, settings)
        return wrong or (None if known_only else _kept(line, words, colon, settings))
    return _valued(line, splits, colon, settings)


# ---- the left side


def read_left(line: Line, words: list[Word], phrases: Phrases) -> tuple[Split, ...]:
    """The ways to read a left side that has a known relation or dimension, the likeliest first; () if none."""
    words = _without_noise(words)
    found = phrases.find(words)
    relations = [phrase for phrase in found if not phrase.contact and phrase.at + phrase.size < len(words)]
    between = _between(line, words)
    if not relations and not between:
        return () if found and any(phrase.contact for phrase in found) else _dimensions(line, words)
    sizes = _sizes(line, words, relations)
    if sizes and sizes[1]:
        return (sizes[0],)
    ordered = sorted(relations, key=lambda phrase: (-phrase.size, -phrase.at))
    readings = [_relation(line, words, phrase) for phrase in ordered]
    return tuple(dict.fromkeys([*between, *((sizes[0],) if sizes else ()), *readings]))


def _without_noise(words: list[Word]) -> list[Word]:
    """`distance from A to B`, `from A to B`, `height of A above B` without their first words."""
    folds = [word.fold for word in words]
    if len(folds) > 3 and folds[0] == "distance" and folds[1] in ("of", "from", "between"):
        joint = any(fold in ("to", "and", "above", "below", "of") for fold in folds[3:])
        return words[2:] if joint and folds[1] != "between" else words
    if len(folds) > 3 and folds[0] == "from" and "to" in folds[2:]:
        return words[1:]
    if len(folds) > 3 and folds[0] in ALONG and folds[1] == "of" and {"above", "below", "over"} & set(folds[3:]):
        return words[2:]
    return words


def _between(line: Line, words: list[Word]) -> list[Split]:
    """`gap between A and B`, `gap A to B`, `A to B gap`: one relation between two things."""
    if len(words) < 4:
        return []
    if words[0].fold in BETWEEN:
        meaning, inner = BETWEEN[words[0].fold], words[1:]
        if inner[0].fold in ("to", "and", "at", "in", "on"):
            return []
        if inner[0].fold in ("of", "from", "between"):
            inner = inner[1:]
    elif words[-1].fold in BETWEEN:
        meaning, inner = BETWEEN[words[-1].fold], words[:-1]
    else:
        return []
    joints = [i for i, word in enumerate(inner) if word.fold in ("to", "and") and 0 < i < len(inner) - 1]
    return [_split(line, inner[: joints[-1]], meaning, inner[joints[-1] + 1 :])] if joints else []


def _sizes(line: Line, words: list[Word], relations: list[Found]) -> tuple[Split, bool] | None:
    """The reading as a size of the part, and whether it is the only one: `foot length to bend`, `pitch A to B`.

    A subject that ends in a dimension word is no feature; one that begins with it may be (`depth stop to edge`).
    """
    for phrase in relations:
        if phrase.at and (name := dimension_of(words[phrase.at - 1].fold)) and name not in ("gap", "angle"):
            rest = [*words[: phrase.at - 1], *words[phrase.at + (phrase.at == 1) * phrase.size :]]
            return _split(line, rest, "", [], name), True
    name = dimension_of(words[0].fold) if words else ""
    if name and name not in ("gap", "angle") and len(words) > 1:
        of = words[1].fold == "of"
        return _split(line, words[1 + of :], "", [], name), of
    return None


def _dimensions(line: Line, words: list[Word]) -> tuple[Split, ...]:
    """`dimension [of subject]` or `subject dimension`, the dimension being a known one."""
    if name := dimension_of(words[-1].fold):
        return (_split(line, words[:-1], "", [], name),)
    if name := dimension_of(words[0].fold):
        skip = 2 if words[1].fold in ("of", "at", "on", "in", "across", "over", "from", "to") else 1
        return (_split(line, words[skip:], "", [], name),)
    return ()


def _any_words(line: Line, words: list[Word]) -> Split:
    """A dimension in any words: `rake of post` has a subject, `turns out` has none."""
    at = next((i for i, word in enumerate(words) if word.fold == "of" and 0 < i < len(words) - 1), len(words))
    return _split(line, words[at + 1 :], "", [], feature_words(line.plain, words[:at]))


def _relation(line: Line, words: list[Word], phrase: Found) -> Split:
    return _split(line, words[: phrase.at], phrase.meaning, words[phrase.at + phrase.size :])


def _split(line: Line, subject: list[Word], relation: str, reference: list[Word], dimension: str = "") -> Split:
    plain = line.plain
    return Split(
        feature_words(plain, subject),
        relation,
        feature_words(plain, reference),
        dimension,
        _span_of(line, subject),
        _span_of(line, reference),
    )


def _span_of(line: Line, words: list[Word]) -> Span:
    return line.span(words[0].start, words[-1].end) if words else line.span(0, 0)


# ---- the value and what stands behind it

_BRACKETS = re.compile(r"\([^()]*\)")
_MARKS = re.compile(
    r",?\s*\b(?:(?P<memory>from memory)|(?P<doubt>in doubt)|(?P<want>wanted|want)|(?P<by>by)(?=\s+[^\W\d_]))\b"
    r"(?:\s*:)?",
    re.IGNORECASE,
)
_WANT_ENDS = re.compile(r",(?!\d)|;")
_METHOD_WORDS = 4


@dataclass(slots=True)
class _Marks:
    """The marks taken off a text, and the text with blanks where they stood."""

    text: str
    method: str | None = None
    want: tuple[int, int] | None = None
    from_memory: bool = False
    in_doubt: bool = False
    remark: str = ""

    def blank(self, start: int, end: int) -> None:
        self.text = self.text[:start] + " " * (end - start) + self.text[end:]


def _take_marks(plain: str, start: int) -> _Marks:
    """Brackets, `by METHOD`, `want VALUE`, `from memory` and `in doubt` behind `start`."""
    marks = _Marks(plain)
    brackets = list(_BRACKETS.finditer(plain, start))
    marks.remark = "; ".join(found.group()[1:-1].strip() for found in brackets)
    for found in brackets:
        marks.blank(found.start(), found.end())
    hits = list(_MARKS.finditer(marks.text, start))
    for hit, following in zip(hits, [*hits[1:], None], strict=False):
        limit = following.start() if following else len(plain)
        if hit["by"]:
            _take_method(marks, hit, limit)
        elif hit["want"]:
            _take_want(marks, hit, limit)
        else:
            marks.from_memory |= bool(hit["memory"])
            marks.in_doubt |= bool(hit["doubt"])
            marks.blank(hit.start(), hit.end())
    return marks


def _take_method(marks: _Marks, hit: re.Match[str], limit: int) -> None:
    words = words_of(marks.text, hit.end(), limit)[:_METHOD_WORDS]
    for size in range(len(words), 0, -1):
        method = find_method(marks.text[words[0].start : words[size - 1].end].strip(" ,;."))
        if method:
            marks.method = marks.method or method
            marks.blank(hit.start(), words[size - 1].end)
            return


def _take_want(marks: _Marks, hit: re.Match[str], limit: int) -> None:
    stop = _WANT_ENDS.search(marks.text, hit.end(), limit)
    end = stop.start() if stop else limit
    if STARTS_NUMBER.search(marks.text, hit.end(), end):
        marks.want = marks.want or (hit.end(), end)
        marks.blank(hit.start(), end)


def _valued(line: Line, splits: tuple[Split, ...], colon: int, settings: ValueSettings) -> Statement | Finding:
    start = colon + 1
    marks = _take_marks(line.plain, start)
    quantity = _quantity(splits[0])
    try:
        value, used = _read(marks.text, start, len(marks.text), quantity, settings)
        want = None
        if marks.want:
            want, used_want = _read(line.plain, *marks.want, value.quantity or quantity, settings)
            want = _to_the_letter(line, want, marks.want[0], used_want)
    except ValueFault as fault:
        return _fault(line, fault)
    value = _to_the_letter(line, value, start, start + len(marks.text[start:used].rstrip(" ,;")))
    remark = "; ".join(filter(None, (" ".join(marks.text[used:].split()).strip(" ,;."), marks.remark)))
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


def _quantity(split: Split) -> str:
    if split.relation:
        return "angle" if split.relation == "at angle to" else "length"
    return DIMENSIONS.get(split.dimension, "") or KEPT


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
    return replace(value, written=line.text[start:end].strip())


def _fault(line: Line, fault: ValueFault) -> Finding:
    return Finding(fault.word, fault.message, line.span(fault.offset, fault.end), help=fault.help)


def _kept(line: Line, words: list[Word], colon: int, settings: ValueSettings) -> Statement | Finding | None:
    """A dimension in any words, unless the line is too long for one: then it is a sentence."""
    value = line.plain[colon + 1 :].strip()
    if len(words) > LONGEST_NAME or len(value) > LONGEST_KEPT or value.startswith("//"):
        return None
    return _valued(line, (_any_words(line, words),), colon, settings)


def _too_long(line: Line) -> Finding | None:
    """A line that is far too long for a reading; one of plain prose is a sentence."""
    if line.plain.count(" ") > len(line.plain) // 20:
        return None
    message = f"“{line.text[:30]}...” is {len(line.text)} characters long, too long for a reading"
    return Finding("not-understood", message, line.span(), help="write one reading a line")


# ---- contacts, and readings without their colon

_YES = re.compile(r"\s*(?:yes|ok|true)?\s*[.!]?\s*$", re.IGNORECASE)
_SIDE_PIECE = re.compile(r"[,;]")


def _contact(line: Line, settings: ValueSettings) -> Statement | None:
    """`[subject] CONTACT reference [by method]`; None where the line is a tale, a wish or something else."""
    if len(line.text) > LONGEST_CONTACT or "?" in line.plain:
        return None
    phrases = phrases_of(settings.sides)
    if not any(phrase.contact for phrase in phrases.find(words_of(line.plain, 0, len(line.plain)))):
        return None
    marks = _take_marks(line.plain, 0)
    words = words_of(marks.text, 0, _end_of_contact(marks.text))
    found = [phrase for phrase in phrases.find(words) if phrase.contact and phrase.at + phrase.size < len(words)]
    if not found or any(word.fold in HEDGES or word.fold.endswith("n't") for word in words):
        return None
    ordered = sorted(found, key=lambda phrase: (-phrase.size, -phrase.at))
    readings = [_contact_reading(line, words, phrase, settings.sides) for phrase in ordered]
    splits = tuple(split for split, _ in filter(None, readings))
    if not splits:
        return None
    rest = next(filter(None, readings))[1]
    remark = "; ".join(filter(None, (rest, marks.remark)))
    return Statement(
        text=line.text,
        splits=splits,
        value=None,
        written="",
        span=line.span(),
        value_span=line.span(len(line.text)),
        method=marks.method,
        from_memory=marks.from_memory,
        in_doubt=marks.in_doubt,
        remark=remark,
    )


def _end_of_contact(text: str) -> int:
    """Where a contact ends: before `: yes`, else at the end of the text."""
    colon = text.rfind(":")
    return colon if colon > 0 and _YES.match(text, colon + 1) else len(text)


def _contact_reading(
    line: Line, words: list[Word], phrase: Found, sides: tuple[str, str]
) -> tuple[Split, str] | None:
    """One reading of a contact and the words after it that are a remark."""
    subject, reference = words[: phrase.at], words[phrase.at + phrase.size :]
    while subject and subject[-1].fold in FILLERS:
        subject = subject[:-1]
    if subject and subject[0].fold == "it" and len(subject) == 1:
        subject = []
    if any(":" in line.plain[word.start : word.end] for word in (*subject[:-1], *reference)):
        return None
    reference, rest = _up_to_comma(line, reference, sides)
    if len(subject) > LONGEST_NAME or not 0 < len(reference) <= LONGEST_NAME:
        return None
    remark = line.plain[rest[0].start : rest[-1].end].strip(" ,;.") if rest else ""
    return _split(line, subject, phrase.meaning, reference), remark


def _up_to_comma(line: Line, words: list[Word], sides: tuple[str, str]) -> tuple[list[Word], list[Word]]:
    """The words up to a comma that no side follows, and the rest: `lower flange of sill, left` is one name."""
    lower = {side.casefold() for side in sides}
    for index, word in enumerate(words):
        if line.plain[word.end - 1] not in ",;":
            continue
        if index + 1 < len(words) and words[index + 1].fold in lower:
            continue
        return words[: index + 1], words[index + 1 :]
    return words, []


def _contact_with_value(line: Line, words: list[Word], settings: ValueSettings) -> Finding | None:
    found = [phrase for phrase in phrases_of(settings.sides).find(words) if phrase.contact]
    if not found:
        return None
    phrase = found[-1]
    left = feature_words(line.plain, words[: phrase.at])
    right = feature_words(line.plain, words[phrase.at + phrase.size :])
    angle = phrase.meaning in ("square to", "parallel to")
    instead = f"{left} {'at angle to' if angle else 'to'} {right}".strip()
    return Finding(
        "not-understood",
        f"“{phrase.meaning}” takes no value",
        line.span(words[phrase.at].start, words[phrase.at + phrase.size - 1].end),
        help=f"write `{left} {phrase.meaning} {right}` alone, or the value as `{instead}: ...`",
    )


_READING_END = re.compile(
    r"(?P<left>[^\d:.,;!?]*[^\d:.,;!?\s](?: \d)?)\s+(?P<value>(?:about |~ ?)?\d[^:!?]{0,40})$"
)


def _colon_forgotten(line: Line, settings: ValueSettings) -> Finding | None:
    """`hole to edge 12 mm`: a reading in all but its colon."""
    if len(line.plain) > LONGEST_CONTACT:
        return None
    match = _READING_END.match(line.plain)
    words = words_of(line.plain, 0, match.end("left")) if match else []
    if not match or len(words) > LONGEST_NAME or any(word.fold in HEDGES for word in words):
        return None
    splits = read_left(line, words, phrases_of(settings.sides))
    if not splits or not (splits[0].dimension or (splits[0].subject and splits[0].reference)):
        return None
    if splits[0].dimension and len(words) > 2:
        return None
    try:
        value = read_value(match["value"], decimal=settings.decimal, quantity=_quantity(splits[0]))
    except ValueFault:
        return None
    if not value.quantity or value.written != match["value"].strip():
        return None
    left = line.text[: match.end("left")].strip()
    return Finding(
        "not-understood",
        f"“{line.text}” looks like a reading without its colon",
        line.span(),
        help=f"write `{left}: {match['value'].strip()}`",
    )
