"""What holds each part: count, size, kind and where, out of `held by`; torque and thread out of its readings.

    held by: 4 bolts M10 x 30 at the lower edge      4 · M10 x 30 · bolts · the lower edge
    held by: 2 spot welds, one of them broken        2 · spot welds (one of them broken)
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Literal

from journal.ground.names import fold
from journal.ground.records import record
from journal.judge.compared import amount, u
from journal.measure.compare import against_want
from journal.model.book import Book
from journal.model.entities import Event, Part, Reading, Said

NUMBER_WORDS = {
    word: number
    for number, word in enumerate("one two three four five six seven eight nine ten eleven twelve".split(), 1)
}
COUNT = re.compile(
    rf"(?:about\s+)?(?P<count>\d{{1,4}}|{'|'.join(NUMBER_WORDS)}|an?)(?:\s*[x×]|\s+off)?\s+(?!mm\b|in\b)", re.I
)
# Threads and sizes as the trade writes them: M8 x 25, 1/4-20 UNC, 5/16 in x 1 in, 2 BA, No. 8, 6 mm.
SIZE = re.compile(
    r"\bM\d+(?:\.\d+)?(?:\s*[x×]\s*\d+(?:\.\d+)?)*(?:\s*mm)?"
    r"|\b(?:\d+\s+)?\d+/\d+(?:-\d+)?\s*(?:in\b|inch\b|\"|BSF|BSW|UNF|UNC|AF\b)?"
    r"(?:\s*[x×]\s*(?:\d+\s+)?\d+(?:/\d+)?\s*(?:in\b|inch\b|\")?)?\s*(?:BSF|BSW|UNF|UNC)?"
    r"|\b\d+\s*BA\b|\b(?:No\.?|number)\s*\d+(?:-\d+)?(?:\s*(?:UNF|UNC))?(?:\s*[x×]\s*[\d/]+\s*in\b)?"
    r"|\b\d+(?:\.\d+)?\s*mm(?:\s*[x×]\s*\d+(?:\.\d+)?\s*mm)?\b",
    re.I,
)
WANTED = ("torque", "thread")
Verdict = Literal["", "as wanted", "too low", "too high"]


@record
class Fixing:
    """One `held by`.

    count   how many, None where it is not said          size   as written, "" where none is
    kind    what they are: "countersunk screws"           where  what stands behind `at`
    remark  what stands behind a comma
    """

    said: Said
    count: int | None
    size: str
    kind: str
    where: str
    remark: str


@record
class Found:
    """A torque or a thread that was read: against what was wanted, and by how much it misses."""

    reading: Reading
    verdict: Verdict
    misses_by: str = ""


@record
class PartFixings:
    """What holds a part: as it was found, as it is now that it is back (() while it is off), what was read of it."""

    part: str
    was: tuple[Fixing, ...]
    now: tuple[Fixing, ...]
    found: tuple[Found, ...]

    @property
    def counts_differ(self) -> tuple[int, int] | None:
        """How many there were and are, where both are known and differ."""
        was, now = _total(self.was), _total(self.now)
        return (was, now) if was is not None and now is not None and was != now else None


def fixings_of(book: Book, part: Part) -> PartFixings:
    """What is known of one part."""
    back = next((e for e in reversed(part.events) if e.kind in ("removed", "refitted", "scrapped")), None)
    refitted = back if back and back.kind == "refitted" else None
    said = part.every("held by")
    return PartFixings(
        part.id,
        tuple(_last_slip(s for s in said if s.kind != "refitted")),
        tuple(_of_slip(said, refitted)) if refitted else (),
        tuple(_found(book, part)),
    )


def read_fixing(said: Said) -> Fixing:
    """One `held by` taken apart; what does not fit stays in `kind`, so that nothing is lost."""
    match = COUNT.match(said.text)
    if match is None:
        return Fixing(said, None, "", said.text, "", "")
    text, _, remark = said.text[match.end() :].partition(",")
    rest, _, where = text.partition(" at ")
    size = SIZE.search(rest)
    kind = f"{rest[: size.start()]} {rest[size.end() :]}" if size else rest
    count, written = _number(match["count"]), size[0].strip() if size else ""
    return Fixing(said, count, written, " ".join(kind.split()), where.strip(), remark.strip())


def _number(word: str) -> int:
    folded = fold(word)
    return int(word) if word.isdigit() else NUMBER_WORDS.get(folded, 1)


def _last_slip(said: Iterable[Said]) -> Iterator[Fixing]:
    """All of the last slip that says how it is held."""
    every = list(said)
    return (read_fixing(s) for s in every if s.when == every[-1].when)


def _of_slip(said: Iterable[Said], event: Event) -> Iterator[Fixing]:
    return (read_fixing(s) for s in said if s.when >= event.when)


def _total(fixings: Iterable[Fixing]) -> int | None:
    counts = [fixing.count for fixing in fixings]
    known = [count for count in counts if count is not None]
    return sum(known) if counts and len(known) == len(counts) else None


def _found(book: Book, part: Part) -> Iterator[Found]:
    """The newest reading of each torque and thread, against the newest want of the same."""
    newest: dict[str, list[Reading]] = {}
    for reading in book.readings_of(part.id):
        left = fold(reading.text.split(":")[0])
        if reading.dimension in WANTED or any(word in left.split() for word in WANTED):
            newest.setdefault(left, []).append(reading)
    return (_against_want(readings) for readings in newest.values())


def _against_want(readings: list[Reading]) -> Found:
    reading = readings[-1]
    want = next((r.want for r in reversed(readings) if r.want is not None), None)
    if want is None or reading.value is None or not reading.value.computable or want.number is None or reading.doubted:
        return Found(reading, "")
    miss = against_want(reading.value, u(reading), want)
    if miss is None:
        return Found(reading, "as wanted")
    return Found(reading, "too high" if miss.too_big else "too low", amount(miss.least, reading))
