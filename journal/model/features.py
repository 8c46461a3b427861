"""Feature words: which hole, edge or end is meant, point or line, which way it lies."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Literal

from journal.ground.names import fold
from journal.model.entities import Axis, Feature

POINT_WORDS = frozenset(
    [
        "hole",
        "slot",
        "bolt",
        "stud",
        "screw",
        "rivet",
        "pin",
        "weld",
        "nut",
        "corner",
        "centre",
        "tip",
        "mark",
        "notch",
        "dowel",
    ]
)
DIRECTIONS: Mapping[str, Axis] = {
    **dict.fromkeys(("front", "rear", "fore", "aft", "forward", "back"), "x"),
    **dict.fromkeys(("inner", "outer", "inboard", "outboard", "inside", "outside"), "y"),
    **dict.fromkeys(("top", "bottom", "upper", "lower"), "z"),
}
RELATION_AXES: Mapping[str, Axis] = {
    "ahead of": "x",
    "behind": "x",
    "inboard of": "y",
    "outboard of": "y",
    "above": "z",
    "below": "z",
}
POSITIONS = frozenset({*DIRECTIONS, "left", "right", "middle", "near", "far", "first", "second", "third", "last"})
ARTICLES = frozenset({"the", "a", "an", "its"})
Rim = Literal["", "near", "far"]
LABEL = re.compile(r"\d+|[a-z]|no\.?|number|#\d+")
CENTRES = re.compile(r"\b(?:cent(?:er|re)|ctr)\b")
OF_CENTRE = frozenset({"centre", "centreline", "c/l", "cl"})


def tokens(text: str) -> list[str]:
    """Folded words of a feature's name without articles; one spelling of centre.

    The letter of `hole A`, and of `hole A edge`, is a label and stays; `a hole` has an article.
    """
    words = CENTRES.sub("centre", fold(text)).replace(",", " ").split()
    return [word for at, word in enumerate(words) if word not in ARTICLES or _is_label(words, at, text)]


CAPITAL = re.compile(r"(?<!\S)[A-Z](?![^\s,])")


def _is_label(words: Sequence[str], at: int, text: str) -> bool:
    if words[at] != "a" or at + 1 == len(words):
        return words[at] == "a"
    return at > 0 and words[at - 1] != "of" and "A" in CAPITAL.findall(text)


def _as_written(words: Sequence[str], text: str) -> str:
    """Folded words for a page: single capital letters are labels and keep their case."""
    labels = {letter.lower(): letter for letter in CAPITAL.findall(text)}
    return " ".join(labels.get(word, word) for word in words)


def last_word(words: Sequence[str]) -> str:
    """The word that says what it is, numbers and letter labels aside: `hole` in `hole 2`."""
    for word in reversed(words):
        if not LABEL.fullmatch(word):
            return _singular(word)
    return words[-1] if words else ""


@lru_cache(maxsize=1 << 16)
def is_end(words: str) -> bool:
    """Whether a line of that name is an end: `rear end`."""
    return last_word(words.split()) == "end"


def _singular(word: str) -> str:
    return word[:-1] if word.endswith("s") and word[:-1] in POINT_WORDS else word


@lru_cache(maxsize=1 << 16)
def feature(text: str, owner: str | None, sides: tuple[str, ...]) -> Feature:
    """The feature that words name: `edge of hole` is the hole read at its rim, `lower edge` a line with normal z."""
    written = tokens(text)
    words, rim = _rim(_turned_round(written))
    if len(words) > 1 and words[-1] in OF_CENTRE and last_word(words[:-1]) in POINT_WORDS:
        words = words[:-1]  # the hole's centre is the hole
    key = " ".join(words)
    point = last_word(words) in POINT_WORDS
    return Feature(owner, key, _as_written(written, text), point, rim, None if point else line_axis(words, sides))


def _turned_round(words: list[str]) -> list[str]:
    """`edge of hole` as `hole edge`: A of B, where B is no part, is one feature B A."""
    if "of" in words[1:-1]:
        at = words.index("of", 1)
        return [*words[at + 1 :], *words[:at]]
    return words


def _rim(words: list[str]) -> tuple[list[str], Rim]:
    """The hole a rim belongs to, and which rim: the nearest to the reference unless `far` is written."""
    if not words or words[-1] not in ("edge", "rim"):
        return words, ""
    rest = words[:-1]
    far = "far" in rest
    rest = [word for word in rest if word not in ("far", "near")]
    if rest and last_word(rest) == "hole":
        return rest, "far" if far else "near"
    if words[-1] == "rim" and not rest:
        return ["hole"], "far" if far else "near"
    return words, ""


def line_axis(words: Sequence[str], sides: tuple[str, ...]) -> Axis | None:
    """The direction a line's own name gives its normal.

    A direction word speaks for a line only directly before its last word (`lower edge`), or as its last word
    (`top`); in `lower flange edge` it names the flange.
    """
    named = [word for word in words if not LABEL.fullmatch(word)]
    for word in (named[-1:] + named[-2:-1]) if len(named) > 1 else named:
        if word in sides:
            return "y"
        if word in DIRECTIONS:
            return DIRECTIONS[word]
    return None


def relation_axis(relation: str, sides: tuple[str, ...]) -> Axis | None:
    """The axis a direction relation measures along; None for one without a direction of its own."""
    if relation in RELATION_AXES:
        return RELATION_AXES[relation]
    return "y" if relation.removesuffix(" of") in sides and relation.endswith(" of") else None


def face_axis(text: str, sides: tuple[str, ...]) -> Axis | None:
    """The axis square to a face by its name: z for `lower flange`; None where its words name none or several."""
    axes = {"y" if word in sides else DIRECTIONS.get(word) for word in tokens(text)} - {None}
    return axes.pop() if len(axes) == 1 else None


def alike_but_for_place(a: str, b: str) -> bool:
    """Whether two features differ only by a number, a letter or a position word: `hole 1` and `hole 2`."""
    stem_a, stem_b = _stem(a), _stem(b)
    return a != b and stem_a == stem_b and bool(stem_a)


@lru_cache(maxsize=1 << 16)
def _stem(words: str) -> tuple[str, ...]:
    return tuple(word for word in words.split() if not LABEL.fullmatch(word) and word not in POSITIONS)
