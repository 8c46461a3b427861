"""The words of a statement: relations, contacts, dimensions, and where they stand in a line.

    hole edge ahead of rear end      relation "ahead of"
    upright square to web            contact "square to"
    foot length                      dimension "length"
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

from journal.ground.records import record

# Canonical relation: the phrases understood as it. The build's own side words join these in `phrases_of`.
RELATIONS: dict[str, tuple[str, ...]] = {
    "to": ("to", "from", "away from"),
    "ahead of": ("ahead of", "forward of", "forward from", "forwards of", "in front of", "front of"),
    "behind": ("behind", "back from", "rearward of", "aft of"),
    "left of": ("left of", "to the left of"),
    "right of": ("right of", "to the right of"),
    "above": ("above", "over", "up from", "on top of"),
    "below": ("below", "under", "down from", "beneath", "underneath"),
    "inboard of": ("inboard of", "in from", "inwards of", "inboard from"),
    "outboard of": ("outboard of", "out from", "outwards of", "outboard from"),
    "at angle to": ("at angle to", "at an angle to", "angle to", "angle from"),
    "gap to": ("gap to", "gap from", "clearance to", "clearance from", "clear of"),
}

CONTACTS: dict[str, tuple[str, ...]] = {
    "flush with": ("flush with", "flush to"),
    "level with": ("level with", "level to"),
    "in line with": ("in line with", "inline with", "lined up with", "aligned with"),
    "touching": ("touching", "touches", "in contact with"),
    "square to": ("square to", "square with", "at right angles to", "perpendicular to"),
    "parallel to": ("parallel to", "parallel with"),
    "centred on": ("centred on", "centered on"),
}

# Canonical dimension: its quantity (a key of measure.units.BASE), "" where it is kept and searched only.
DIMENSIONS: dict[str, str] = {
    "diameter": "length",
    "length": "length",
    "width": "length",
    "height": "length",
    "depth": "length",
    "thickness": "length",
    "angle": "angle",
    "torque": "torque",
    "mass": "mass",
    "pressure": "pressure",
    "voltage": "voltage",
    "current": "current",
    "resistance": "resistance",
    "volume": "volume",
    "temperature": "temperature",
    "gap": "length",
    "pitch": "length",
    "play": "length",
    "thread": "",
}

DIMENSION_SPELLINGS: dict[str, tuple[str, ...]] = {
    "diameter": ("diameter", "dia", "diam", "ø", "⌀"),
    "thickness": ("thickness", "thick"),
    "length": ("length", "long"),
    "width": ("width", "wide"),
    "height": ("height", "high"),
    "depth": ("depth", "deep"),
    "mass": ("mass", "weight"),
    "temperature": ("temperature", "temp"),
    "gap": ("gap", "clearance"),
}

# A dimension that stands round two things is a relation between them: `gap between door and pillar`.
BETWEEN: dict[str, str] = {"gap": "gap to", "clearance": "gap to", "angle": "at angle to", "distance": "to"}

# `height of foot above sill` is `foot above sill`; other dimensions so written are sizes of the part.
ALONG: frozenset[str] = frozenset({"height", "distance", "offset", "depth"})

# Words that make a line with a contact in it a tale or a wish rather than a reading.
HEDGES: frozenset[str] = frozenset((
    "not", "never", "nearly", "almost", "roughly", "no", "isn't", "wasn't", "aren't", "weren't",
    "doesn't", "didn't", "don't", "can't", "couldn't", "won't", "should", "must", "want", "wants",
    "wanted", "needs", "need", "maybe", "perhaps", "might", "may", "could", "would", "will", "looks",
    "looked", "seems", "seemed", "if", "until", "till", "before", "once", "unless", "probably",
    "supposed", "try", "tried", "hardly", "barely", "better", "check", "ask", "make", "was", "were",
    "longer", "no-longer", "guess", "think", "thought", "suspect", "used", "anywhere", "about", "approx",
    "approximately", "more", "less", "sort", "kind", "note", "remember", "reminder", "todo", "i", "we", "nowhere",
))
FILLERS: frozenset[str] = frozenset(
    "is are sits sit lies lie stands stand dead exactly fully perfectly directly properly evenly".split()
)

# Beside a contact: words that no feature's name has. Those before one turn it round or put it off (`out of square to`,
# `far from parallel to`, `anything but square to`, `web to be parallel to`, `set it square to`), those behind it take
# it back (`when new`, `within 3 mm`). What came upon a part is none of its features (`crack parallel to`).
NO_SUBJECT: frozenset[str] = frozenset(
    "out off past from to but be been being so with without anything put keep get bring".split()
)
NO_REFERENCE: frozenset[str] = frozenset("within when except than but".split())
BLEMISHES: frozenset[str] = frozenset("crack cracks rust rot mud dirt dust paint grease scratch scratches dent".split())
# They stand for a thing that the line does not name: there is nothing to measure from.
PRONOUNS: frozenset[str] = frozenset("it this that these those they them other others same itself".split())
ANOTHER = re.compile(r"(?:(?:the |this |that )?(?:new|old|other|left|right|same)|this|that) ones?", re.IGNORECASE)
# Nothing of the machine: how high a part is above these says nothing of where on its host it sat, which moves.
GROUND = re.compile(r"(?:(?:workshop|garage|shop|concrete) )?(?:floor|ground|bench)(?: level)?|horizontal|vertical")

ARTICLES: frozenset[str] = frozenset(("the", "an"))
SPELLINGS: dict[str, str] = {
    "center": "centre", "centers": "centres", "centerline": "centreline",
    "caliper": "calliper", "calipers": "callipers",
}


LONGEST_NAME = 8
"""Words of a subject, a reference or a dimension; a side with more is prose."""


class Word(NamedTuple):  # made some ten times a line, and a tuple is made in half the time
    """A word of a left side: folded for comparing, and where it stands."""

    fold: str
    start: int
    end: int


@record
class Found:
    """A phrase found among words: `words[at:at + size]` mean `meaning`."""

    at: int
    size: int
    meaning: str
    contact: bool


@record
class Phrases:
    """The relation and contact phrases of a build, by their first word, longest first."""

    by_first: dict[str, tuple[tuple[tuple[str, ...], str, bool], ...]]

    def find(self, words: list[Word]) -> list[Found]:
        """Every phrase in `words` but those that lie inside a longer one."""
        found: list[Found] = []
        reach = 0
        for at, word in enumerate(words):
            for phrase, meaning, contact in self.by_first.get(word.fold, ()):
                size = len(phrase)
                if at + size <= reach:
                    break
                if size == 1 or tuple(other.fold for other in words[at : at + size]) == phrase:
                    found.append(Found(at, size, meaning, contact))
                    reach = at + size
                    break
        return found


@lru_cache(maxsize=32)
def phrases_of(sides: tuple[str, str]) -> Phrases:
    """The phrases where `sides` are the build's side words: `port of` beside `left of`."""
    table: dict[str, list[tuple[tuple[str, ...], str, bool]]] = {}
    own = {f"{side.casefold()} of": (f"{side} of", f"to {side} of", f"to the {side} of") for side in sides}
    for contact, rows in ((False, {**RELATIONS, **own}), (True, CONTACTS)):
        for meaning, phrases in rows.items():
            for phrase in phrases:
                words = tuple(phrase.casefold().split())
                table.setdefault(words[0], []).append((words, meaning, contact))
    longest_first = {word: tuple(sorted(rows, key=lambda row: -len(row[0]))) for word, rows in table.items()}
    return Phrases(longest_first)


_DIMENSION_OF: dict[str, str] = {
    spelling: name for name in DIMENSIONS for spelling in DIMENSION_SPELLINGS.get(name, (name,))
}
_WORD = re.compile(r"\S+")


def words_of(plain: str, start: int, end: int) -> list[Word]:
    """The words between two offsets, folded, punctuation at their ends gone."""
    found = []
    for match in _WORD.finditer(plain, start, end):
        fold = match.group().casefold().strip(",.;!?\"()")
        if fold:
            found.append(Word(fold, match.start(), match.end()))
    return found


def dimension_of(word: str) -> str:
    """The canonical dimension a folded word means, or ""."""
    return _DIMENSION_OF.get(word, "")


def feature_words(plain: str, words: list[Word]) -> str:
    """The words of one side of a statement as a feature's name: articles gone, one spelling of centre."""
    kept = []
    for index, word in enumerate(words):
        text = plain[word.start : word.end]
        if word.fold in ARTICLES or (text == "a" and index + 1 < len(words)):
            continue
        kept.append(SPELLINGS.get(text.casefold(), text))
    return " ".join(kept).strip(" ,;.:")
