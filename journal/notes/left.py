"""The left side of a statement: which words are the relation or the dimension, and what stands beside them.

    hole edge ahead of rear end     foot length     gap between door and pillar     depth of slot
"""

from __future__ import annotations

from dataclasses import field
from functools import lru_cache

from journal.ground.records import record
from journal.measure.value import KEPT
from journal.notes.lines import Line
from journal.notes.records import Split
from journal.notes.words import (
    ALONG,
    BETWEEN,
    DIMENSIONS,
    PRONOUNS,
    Found,
    Word,
    dimension_of,
    feature_words,
    phrases_of,
    words_of,
)


@record
class Shape:
    """A `Split` before it has its place in a file: offsets in the text stand for its spans."""

    subject: str
    relation: str
    reference: str
    dimension: str
    subject_at: tuple[int, int] = field(compare=False)
    reference_at: tuple[int, int] = field(compare=False)


@lru_cache(maxsize=1 << 12)  # notes say `hole to flange edge` again and again: saves a seventh of reading a line
def read_left(text: str, sides: tuple[str, str]) -> tuple[Shape, ...]:
    """The ways to read a left side with a known relation or dimension, the likeliest first; () if none."""
    words = _without_noise(words_of(text, 0, len(text)))
    found = phrases_of(sides).find(words)
    relations = [phrase for phrase in found if not phrase.contact and phrase.at + phrase.size < len(words)]
    between = _between(text, words)
    if not relations and not between:
        return () if found and any(phrase.contact for phrase in found) else _dimensions(text, words)
    sizes = _sizes(text, words, relations)
    if sizes and sizes[1]:
        return (sizes[0],)
    ordered = sorted(relations, key=lambda phrase: (-phrase.size, -phrase.at))
    readings = [_relation(text, words, phrase) for phrase in ordered]
    return tuple(dict.fromkeys([*between, *((sizes[0],) if sizes else ()), *readings]))


def _without_noise(words: list[Word]) -> list[Word]:
    """`distance from A to B`, `from A to B`, `height of A above B` without their first words."""
    folds = [word.fold for word in words]
    if len(folds) > 3 and folds[0] == "distance" and folds[1] in ("of", "from", "between"):
        joint = any(fold in ("to", "and", "above", "below", "of") for fold in folds[3:])
        return words[2:] if joint and folds[1] != "between" else words
    if len(folds) > 3 and folds[0] == "from" and "to" in folds[2:]:
        return words[1:]
    upright = len(folds) > 3 and bool({"above", "below", "over"} & set(folds[3:]))
    if upright and folds[0] in ALONG and folds[1] == "of":
        return words[2:]
    return words


def _between(text: str, words: list[Word]) -> list[Shape]:
    """`gap between A and B`, `gap A to B`, `A to B gap at the top`: one relation between two things."""
    if len(words) < 4:
        return []
    if words[0].fold in BETWEEN:
        meaning, inner = BETWEEN[words[0].fold], words[1:]
        if inner[0].fold in ("to", "and", "at", "in", "on"):
            return []
        if inner[0].fold in ("of", "from", "between"):
            inner = inner[1:]
    elif (at := _closing_dimension(words)) > 2:
        meaning, inner = BETWEEN[words[at].fold], words[:at] + words[at + 1 :]
    else:
        return []
    joints = [i for i, word in enumerate(inner) if word.fold in ("to", "and") and 0 < i < len(inner) - 1]
    return [_shape(text, inner[: joints[-1]], meaning, inner[joints[-1] + 1 :])] if joints else []


def _closing_dimension(words: list[Word]) -> int:
    """Where a dimension ends a left side, or all of it but `at the top`; -1 where none does."""
    return next(
        (
            at
            for at in range(len(words) - 1, 0, -1)
            if words[at].fold in BETWEEN
            and (at + 1 == len(words) or words[at + 1].fold in ("at", "on", "in"))
        ),
        -1,
    )


def _sizes(text: str, words: list[Word], relations: list[Found]) -> tuple[Shape, bool] | None:
    """The reading as a size of the part, and whether it is the only one: `foot length to bend`.

    A subject that ends in a dimension word is no feature; one that begins with it may be (`depth stop`).
    """
    rest: list[Word]
    for phrase in relations:
        if phrase.at == 1 and words[0].fold == "gap" and phrase.meaning not in ("to", "gap to"):
            rest = [word for word in words[1 + phrase.size :] if word.fold not in PRONOUNS]
            return _shape(text, rest, "", [], "gap"), True  # `gap under it` is a size: nothing is measured from `it`
        if phrase.at and (name := dimension_of(words[phrase.at - 1].fold)) and name not in ("gap", "angle"):
            rest = [*words[: phrase.at - 1], *words[phrase.at + (phrase.at == 1) * phrase.size :]]
            return _shape(text, rest, "", [], name), True
    name = dimension_of(words[0].fold) if words else ""
    if name and name not in ("gap", "angle") and len(words) > 1:
        of = words[1].fold == "of"
        return _shape(text, words[1 + of :], "", [], name), of
    return None


def _dimensions(text: str, words: list[Word]) -> tuple[Shape, ...]:
    """`dimension [of subject]` or `subject dimension`, the dimension being a known one."""
    if not words:
        return ()
    if name := dimension_of(words[-1].fold):
        return (_shape(text, words[:-1], "", [], name),)
    if name := dimension_of(words[0].fold):
        skip = 2 if words[1].fold in ("of", "at", "on", "in", "across", "over", "from", "to") else 1
        return (_shape(text, words[skip:], "", [], name),)
    return ()


def any_words(line: Line, words: list[Word]) -> Split:
    """A dimension in any words: `rake of post` has a subject, `turns out` has none."""
    at = next((i for i, word in enumerate(words) if word.fold == "of" and 0 < i < len(words) - 1), len(words))
    return make_split(line, words[at + 1 :], "", [], feature_words(line.plain, words[:at]))


def make_split(line: Line, subject: list[Word], relation: str, reference: list[Word], dimension: str = "") -> Split:
    return place(line, _shape(line.plain, subject, relation, reference, dimension))


def place(line: Line, shape: Shape) -> Split:
    """A shape as it stands in a line."""
    return Split(
        shape.subject,
        shape.relation,
        shape.reference,
        shape.dimension,
        line.span(*shape.subject_at),
        line.span(*shape.reference_at),
    )


def quantity_of(split: Split | Shape) -> str:
    """The quantity that belongs to a left side: a key of `units.BASE`, or KEPT."""
    if split.relation:
        return "angle" if split.relation == "at angle to" else "length"
    return DIMENSIONS.get(split.dimension, "") or KEPT


def _relation(text: str, words: list[Word], phrase: Found) -> Shape:
    return _shape(text, words[: phrase.at], phrase.meaning, words[phrase.at + phrase.size :])


def _shape(text: str, subject: list[Word], relation: str, reference: list[Word], dimension: str = "") -> Shape:
    return Shape(
        feature_words(text, subject),
        relation,
        feature_words(text, reference),
        dimension,
        _stretch(subject),
        _stretch(reference),
    )


def _stretch(words: list[Word]) -> tuple[int, int]:
    return (words[0].start, words[-1].end) if words else (0, 0)
