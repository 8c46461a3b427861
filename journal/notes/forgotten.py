"""A reading in all but its colon: `hole to edge 12 mm`, `top hole is 22 mm up from the bottom edge`.

It is told rather than read, and the help is the line to write. A tale or a wish that holds a length is left alone.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final, NamedTuple

from journal.ground.finding import Finding
from journal.measure.numerals import ValueFault
from journal.measure.value import read_start
from journal.notes.contacts import LONGEST_CONTACT, up_to_comma
from journal.notes.left import quantity_of, read_left
from journal.notes.lines import Line
from journal.notes.marks import take_marks
from journal.notes.words import ARTICLES, FILLERS, HEDGES, LONGEST_NAME, Word, phrases_of, words_of

# Last words of what is measured to on a part. A line has many more names; these make a sentence look like a reading.
FEATURES: Final = frozenset(
    "hole slot bolt stud screw rivet pin weld nut corner centre center tip mark notch dowel "
    "edge end face flange web lip seam rib rim line centreline centerline shoulder bend fold kink crease foot upright "
    "arm lug tab tongue clip joint groove step bead swage side top bottom front rear back head base".split()
)
# Fixings have a length of their own: `M8 bolt 40 mm to the front hole`, `two bolts 60 mm from the top`.
_FIXINGS: Final = frozenset("bolt stud screw rivet pin nut dowel clip".split())
_SEVERAL: Final = frozenset("each every both either any all".split())
# What stands between a feature and its value, and means no more than a colon.
_IS: Final = FILLERS | {"was", "were", "sat", "lay", "stood", "at", "measures", "comes", "=", "-", "–", "it", "it's"}
# First words that tell of work on a feature; those in -ed do too, but for what a hole or an edge can be.
_WORK: Final = frozenset(
    "drill cut found find made make put set fit move moving drilling cutting filing file grind ground opening "
    "bring brought took take bent got get kept run ran shift weld welding measure measuring with from to".split()
)
_MADE: Final = frozenset("threaded tapped elongated slotted folded flanged rounded countersunk raised flared".split())
_LABEL: Final = re.compile(r"\d+|[a-z]|no\.?|#\d+")
_NUMBER_BEGINS: Final = re.compile(r"(?:^|(?<=\s))(?=(?:about |approx\.? |~ ?)?\d)")
_LAST_BEGINS: Final = re.compile(r"\s(?=(?:about |~ ?)?\d)")
_MOST_NUMBERS: Final = 6
_LONGEST_LENGTH: Final = 8  # words of a value with its unit and tolerance: `3 ft 4 1/2 in`, `22 mm ± 1`
_LONGEST_PHRASE: Final = 4
_LONGEST_SIDE: Final = _LONGEST_LENGTH + _LONGEST_PHRASE + 2 * LONGEST_NAME


def colon_forgotten(line: Line, sides: tuple[str, str], decimal: str) -> Finding | None:
    """The finding that a line without a colon is a reading, or None where it is a sentence."""
    if len(line.plain) > LONGEST_CONTACT or any(mark in line.plain for mark in ":!?"):
        return None
    ends = [found.start() for found in _LAST_BEGINS.finditer(line.plain)][:_MOST_NUMBERS]
    at = next((end for end in ends if _ends_in_value(line, end, sides, decimal)), None)
    if at is not None:
        return _told(line, f"write `{line.text[:at].strip(' =-–')}: {line.text[at:].strip()}`")
    inside = next(_values_inside(line, sides, decimal), None)
    return _told(line, _spelt(line, inside)) if inside else None


def _told(line: Line, help: str) -> Finding:
    return Finding("not-understood", f'"{line.text}" looks like a reading without its colon', line.span(), help=help)


def _ends_in_value(line: Line, at: int, sides: tuple[str, str], decimal: str) -> bool:
    """Whether the words before an offset are the left side of a reading, and all behind it is its value."""
    words = words_of(line.plain, 0, at)
    if not 0 < len(words) <= LONGEST_NAME or any(word.fold in HEDGES for word in words):
        return False
    shape = next(iter(read_left(line.plain[:at], sides)), None)
    if shape is None or (shape.dimension and len(words) > 2):
        return False
    if not shape.dimension and not (shape.subject and shape.reference):
        return False
    return _is_value(take_marks(line.plain, at).text[at:], decimal, quantity_of(shape))


def _is_value(text: str, decimal: str, quantity: str = "length") -> bool:
    """Whether the whole of a text is a value with its unit."""
    try:
        value, used = read_start(text.strip(), decimal=decimal, quantity=quantity)
    except ValueFault:
        return False
    return bool(value.quantity) and used == len(text.strip())


class _Inside(NamedTuple):
    """A reading whose value stands before its relation: offsets of its value, words of its sides."""

    value: tuple[int, int]
    subject: list[Word]
    relation: tuple[int, int] | None
    reference: list[Word]


def _values_inside(line: Line, sides: tuple[str, str], decimal: str) -> Iterator[_Inside]:
    """`top hole is 22 mm up from the bottom edge`, `22 mm from top hole to bottom edge`."""
    text = take_marks(line.plain, 0).text
    words = words_of(text, 0, len(text))
    for start in [found.start() for found in _NUMBER_BEGINS.finditer(text)][:_MOST_NUMBERS]:
        before = [word for word in words if word.start < start]
        after = words[len(before) : len(before) + _LONGEST_SIDE]
        subject = _without_is(before)
        if subject and not _is_subject(subject, sides):
            continue
        is_bare = len(subject) == len(before)
        for at in range(1, min(len(after), _LONGEST_LENGTH + 1)):
            found = _relation(line, subject, after[at:], is_bare, sides)
            if not found or not all(_is_feature(side, sides) for side in (found[0], found[2])):
                continue
            end = start + len(text[start : after[at].start].rstrip())
            if _is_value(text[start:end], decimal):
                yield _Inside((start, end), *found)


def _without_is(words: list[Word]) -> list[Word]:
    while words and words[-1].fold in _IS:
        words = words[:-1]
    return words


_Sides = tuple[list[Word], tuple[int, int] | None, list[Word]]


def _relation(
    line: Line, subject: list[Word], after: list[Word], is_bare: bool, sides: tuple[str, str]
) -> _Sides | None:
    """Subject, relation and reference, `after` beginning with the relation; without a subject `from A to B`.

    is_bare  no `is` or `=` stands between the subject and the value
    """
    if subject:
        found = next(iter(phrases_of(sides).find(after[:_LONGEST_PHRASE])), None)
        if not found or found.contact or found.at or (is_bare and _is_size(subject[-1].fold, after[0].fold)):
            return None
        relation = after[0].start, after[found.size - 1].end
        return subject, relation, _up_to_next(line, after[found.size :], sides)
    if after[0].fold not in ("from", "between"):
        return None
    after = _up_to_next(line, after, sides)
    joint = next((at for at, word in enumerate(after) if at > 1 and word.fold in ("to", "and")), len(after))
    return after[1:joint], None, after[joint + 1 :]


def _is_size(last: str, relation: str) -> bool:
    """Whether a length straight after a fixing may be its own."""
    return (last in _FIXINGS and relation == "to") or (last.endswith("s") and last[:-1] in _FIXINGS)


def _up_to_next(line: Line, words: list[Word], sides: tuple[str, str]) -> list[Word]:
    """The words up to a comma or to the next reading: `and 40 mm from the rear end`."""
    words, _ = up_to_comma(line, words, sides)
    joints = (at for at, word in enumerate(words[:-1]) if word.fold == "and" and words[at + 1].fold[:1].isdigit())
    return words[: next(joints, len(words))]


def _is_subject(words: list[Word], sides: tuple[str, str]) -> bool:
    """Whether words name a feature, and no work on one: `moved hole`, `measured edge`."""
    first, *others = [word.fold for word in words if word.fold not in ARTICLES] or [""]
    tale = first in _WORK or (first.endswith("ed") and first not in _MADE)
    return not (tale and others) and _is_feature(words, sides)


def _is_feature(words: list[Word], sides: tuple[str, str]) -> bool:
    """Whether words name one thing to measure to: no tale, no relation; an article begins it or follows `of`."""
    folds = [word.fold for word in words]
    if not 0 < len(folds) <= LONGEST_NAME or (HEDGES | _SEVERAL) & set(folds) or phrases_of(sides).find(words):
        return False
    articles = [at for at, fold in enumerate(folds) if at and fold in ARTICLES | {"a"} and at + 1 < len(folds)]
    if any(folds[at - 1] != "of" for at in articles):
        return False
    bare = [fold for fold in folds if not _LABEL.fullmatch(fold) and fold not in sides]
    heads = bare[: bare.index("of")] if "of" in bare else bare
    return any(part and (part[-1] in FEATURES or part[-1].removesuffix("s") in FEATURES) for part in (bare, heads))


def _spelt(line: Line, one: _Inside) -> str:
    """What to write: the reading with its value last, and what stood behind it."""
    end = one.reference[-1].start + len(line.text[one.reference[-1].start : one.reference[-1].end].rstrip(" ,;."))
    subject = line.text[one.subject[0].start : one.subject[-1].end].strip(" ,;")
    relation = line.text[slice(*one.relation)] if one.relation else "to"
    reference = line.text[one.reference[0].start : end]
    rest = line.text[end:].rstrip(" .")
    reading = f"{subject} {relation} {reference}: {line.text[slice(*one.value)]}"
    if any(letter.isdigit() for letter in rest):
        return f"write one reading a line, as `{reading}`"
    return f"write `{reading}{rest}`"
