"""Several parts of one name: how many there are, and whether what was recorded speaks of all of them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from journal.ground.names import fold
from journal.model.entities import Part, Reading
from journal.model.features import tokens

# Where `count` says nothing: a line `4 off` or `qty: 4`, a name `4 cleats` or `cleats x4`.
OFF = re.compile(r"(?:qty\.?|quantity|how many) ?[:=]? ?(\d{1,6})(?: off)?|(\d{1,6}) ?(?:off|pcs|pieces)\.?")
NUMBERED = re.compile(r"(\d{1,6}) (?:(?:off|x) .+|[^\W\d]{3,}.*[^sui]s)|.+s x ?(\d{1,6})|.+ (\d{1,6}) off")
ONE_OF_THEM = re.compile(
    r"\b(?:first|second|third|last|end|middle|1st|2nd|3rd|left|right|front|rear) one\b|\bone of (?:them|the \w+s)\b"
)
EVERY_ONE = re.compile(r"\b(?:all(?! a?round)|each|every|others|alike)\b")


def how_many(part: Part, readings: Iterable[Reading]) -> int:
    """How many there are of a part, by its count, a line such as `4 off`, or its name."""
    said = part.latest("count")
    number = re.search(r"\d+", said.text) if said else None
    if number:
        return int(number[0][:6])
    lines = [*(each.text for each in part.every("note")), *(r.text for r in readings if not r.relation)]
    found = [*(OFF.fullmatch(fold(line)) for line in lines), NUMBERED.fullmatch(fold(part.name))]
    return next((int(match[match.lastindex or 1]) for match in found if match), 1)


def tells_apart(part: Part, reading: Reading) -> bool:
    """Whether it says how far the several of a part are from one another: holes, teeth and threads have a pitch too."""
    known = reading.value is not None and reading.value.computable and not reading.doubted
    own = {word for name in ("row", part.name, *part.also_called) for word in _singular(tokens(name))}
    of = set(_singular(reading.subject.words.split())) if reading.subject else set()
    return reading.dimension == "pitch" and known and of <= own


def of_one(text: str) -> bool:
    """Whether words speak of one of several only: `scribed round the first one`."""
    words = fold(text)
    return ONE_OF_THEM.search(words) is not None and EVERY_ONE.search(words) is None


def _singular(words: Sequence[str]) -> list[str]:
    return [word.removesuffix("s") for word in words]
