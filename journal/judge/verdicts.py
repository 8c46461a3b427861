"""What the judges say, as data: how well each part is recorded, what each reading is worth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from journal.ground.finding import Finding
from journal.model.entities import State

RecordWord = Literal["position recorded", "partly recorded", "seen, not measured", "not recorded"]
LocatedBy = Literal["measurement", "adjustment", "fit", "own holes", "route"]


@dataclass(frozen=True, slots=True)
class Standing:
    """What a reading is worth today.

    counts   it takes a row: it helps to hold the part
    lives    what it refers to is still there; a reading that does not is shown struck through
    carried  "" on the present self; "agrees" or "not compared": read on a former self, carried over to this one
    why      one sentence where it does not count ("measured from the sill that was scrapped on 28 March 2026")
    """

    counts: bool
    lives: bool
    carried: str = ""
    why: str = ""


@dataclass(frozen=True, slots=True)
class Record:
    """How well it is recorded where a part sat.

    word        in the words shown; None would be a part that is on: it has a record all the same (what would be
                known if it came off now), pages show it only where `asked`
    asked       the part is off (or scrapped and to be remade): its record is wanted
    located_by  what will hold its place
    grounds     sentences: what the record rests on ("own holes in the frame rail")
    free        sentences: what is still free ("can slide along the flange edge")
    next        the one or two statements that would settle it, as they would be written
    rank, full  motions held by readings that count, and how many there are to hold
    rank_ever   the same with gone references counted as if they were still there
    """

    part: str
    state: State
    word: RecordWord
    asked: bool
    located_by: LocatedBy
    grounds: tuple[str, ...] = ()
    free: tuple[str, ...] = ()
    next: tuple[str, ...] = ()
    rank: int = 0
    full: int = 3
    rank_ever: int = 0


@dataclass(frozen=True, slots=True)
class Judgement:
    """All verdicts on a book, keyed by id, and every finding in order of file and line."""

    records: Mapping[str, Record]
    standings: Mapping[str, Standing]
    findings: tuple[Finding, ...]
