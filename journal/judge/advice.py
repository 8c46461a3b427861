"""The one or two statements that would settle a part's place, from features already named.

References are those of what stays first, never of a host that is going unless there are no others.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations, islice

from journal.judge.gain import WORTH, Gains, Hold, in_words
from journal.judge.going import going_hosts
from journal.judge.positions import Solver
from journal.judge.record import Recorder, Sized, mark_of
from journal.measure import pins
from journal.measure.poses import Doubt, doubt
from journal.model.book import Book
from journal.model.entities import Feature
from journal.model.features import feature

MOST_SUBJECTS, MOST_REFERENCES, MOST_PAIRED = 3, 6, 12
MOST_WEIGHED = 6  # statements whose gain is worked out


@dataclass(frozen=True)
class Adviser:
    """Finds the next statements for parts that are not fully recorded."""

    recorder: Recorder
    solver: Solver
    _gained: dict[str, str] = field(default_factory=dict)
    _weighed: dict[str, tuple[pins.Row, ...]] = field(default_factory=dict)

    @property
    def book(self) -> Book:
        return self.recorder.book

    @cached_property
    def gains(self) -> Gains:
        return Gains(self.recorder, self.solver)

    def gain(self, part: str) -> str:
        """What the one statement of `next` gains, `from ± 11 mm to ± 1 mm`; "" where that cannot be told."""
        return self._gained.get(part, "")

    def next(self, part: str) -> tuple[str, ...]:
        """The one or two statements to write next, as they would be written; () where nothing is missing."""
        sized = self.recorder.sized(part)
        if sized.grounds:
            return ()
        if sized.held:
            return self._firmer(sized)
        if sized.located == "route":
            return ("route: from its first end, over what it passes, to its other end",)
        if sized.one_of_many and sized.now.held:
            return ("pitch: the distance from one to the next",)
        return self._settling(sized) or (() if sized.pinned else self._in_words(sized))

    def _settling(self, sized: Sized) -> tuple[str, ...]:
        """One statement that holds what is left, else two."""
        found = list(self._candidates(sized))
        singles = [row for row in found if self._holds(sized, row)]
        if singles:
            return (self._best(sized, singles).id,)
        for a, b in combinations(found[:MOST_PAIRED], 2):
            if self._holds(sized, a, b):
                return (a.id, b.id)
        return ()

    def _holds(self, sized: Sized, *more: pins.Row) -> bool:
        """Whether more statements hold what is free; of a part held in two places, whether they leave it one."""
        rows = [*sized.sure, *more]
        ways = pins.Ways(rows, sized.face, sized.ties)
        if not ways.hold().held:
            return False
        left = doubt(ways, sized.sizes) if sized.pinned else Doubt()
        return (left.turned if "way round" in sized.hints else left.level) != "is"

    def _best(self, sized: Sized, rows: Sequence[pins.Row]) -> pins.Row:
        """Of statements that hold as much the one that leaves the smallest largest ellipse, the first of equals."""
        part = sized.part.id
        weighed = rows[:MOST_WEIGHED]
        holds = zip(self.gains.holds(part, weighed), weighed, strict=True)
        after, best = min(holds, key=lambda pair: math.inf if pair[0].largest is None else round(pair[0].largest, 1))
        self._gained[part] = in_words(self.gains.hold(part), after)
        return best

    def _firmer(self, sized: Sized) -> tuple[str, ...]:
        """For a part that is recorded, and weakly held: the one statement that helps most, if it helps much."""
        rows = self._firming(sized)
        if not rows:
            return ()
        before = self.gains.hold(sized.part.id)
        holds = zip(rows, self.gains.holds(sized.part.id, rows), strict=True)
        left, after, row = min(((_left(before, after), after, row) for row, after in holds), key=lambda each: each[0])
        if left > WORTH:
            return ()
        self._gained[sized.part.id] = in_words(before, after)
        return (row.id,)

    def _firming(self, sized: Sized) -> tuple[pins.Row, ...]:
        """The statements to weigh for a part that is recorded; () where it is not weakly held."""
        part = sized.part.id
        if part not in self._weighed:
            asked = not sized.face.round and bool(sized.rows) and self.gains.hold(part).weak
            found = self._candidates(sized, again=True) if asked else ()
            self._weighed[part] = tuple(islice(found, MOST_WEIGHED))
        return self._weighed[part]

    def weigh_ahead(self, parts: Iterable[str]) -> None:
        """Make ready for `next` of many parts."""
        held = (sized for part in parts if (sized := self.recorder.sized(part)).held and not sized.grounds)
        self.gains.weigh_ahead((sized.part.id, rows) for sized in held if (rows := self._firming(sized)))

    def _candidates(self, sized: Sized, again: bool = False) -> Iterator[pins.Row]:
        """Statements between named features, the likeliest first; none that is there already, unless `again`."""
        have = set() if again else {(row.subject.key, row.reference.key) for row in sized.rows}
        references = self._references(sized)
        points, lines = self._subjects(sized)
        spellings = self._spellings(sized, references)
        for subject in points:
            for reference in references:
                row = _statement(subject, "to", reference, spellings[reference.key])
                if (row.subject.key, row.reference.key) not in have:
                    yield row
        for subject in lines:
            for reference in references:
                if not reference.point:
                    yield _statement(subject, "square to", reference, spellings[reference.key])

    def _spellings(self, sized: Sized, references: Iterable[pins.Mark]) -> dict[str, str]:
        """How each reference is written: `of HOST` where the part has a feature of that name, or another has it."""
        own = {row.subject.name for row in sized.rows} | {f.words for f in self._own_features(sized.part.id)}
        host = sized.part.host or "the machine"
        return {
            mark.key: self._of_owner(mark) if mark.name in own or mark.owner != host else mark.name
            for mark in references
        }

    def _of_owner(self, mark: pins.Mark) -> str:
        return f"{mark.name} of {self.book.title(None if mark.owner == 'the machine' else mark.owner)}"

    def _subjects(self, sized: Sized) -> tuple[list[pins.Mark], list[pins.Mark]]:
        """The part's own points and lines, those read already first."""
        named = {row.subject.key: row.subject for row in sized.rows}
        for own in self._own_features(sized.part.id):
            mark = mark_of(own, "")
            named.setdefault(mark.key, mark)
        marks = [mark for mark in named.values() if not mark.whole]
        points = [mark for mark in marks if mark.point][:MOST_SUBJECTS]
        return points, [mark for mark in marks if not mark.point][:MOST_SUBJECTS]

    def _own_features(self, id: str) -> list[Feature]:
        """Features the part is known to have and still has."""
        sides, part = self.book.settings.sides, self.book.parts[id]
        found = [
            (feature(text, id, sides), said.when)
            for said in part.every("features")
            for text in said.items or (said.text,)
        ]
        for reading in self.book.readings_of(id):
            found += [
                (f, reading.when) for f in (reading.subject, reading.reference) if f and f.owner == id and f.words
            ]
        uncut = self.recorder.living.uncut
        return list({f.words: f for f, when in found if uncut(part, f.words, when).lives}.values())

    def _references(self, sized: Sized) -> list[pins.Mark]:
        """Features to measure from: those used already, then ends, then the rest; the face itself left out."""
        hosts = sized.part.hosts or (None,)
        marks = {row.reference.key: row.reference for row in sized.rows}
        for host in sorted(hosts, key=lambda h: h in self.going):
            for mark in self._named_on[host]:
                marks.setdefault(mark.key, mark)
        staying = [m for m in marks.values() if m.owner not in self.going] or list(marks.values())
        usable = [m for m in staying if m.point or not set(m.name.split()) <= sized.face.words]
        return sorted(usable, key=lambda m: (not m.end, m.point))[:MOST_REFERENCES]

    @cached_property
    def going(self) -> frozenset[str]:
        """Hosts that are about to go."""
        return frozenset(going_hosts(self.book))

    @cached_property
    def _named_on(self) -> _NamedOn:
        return _NamedOn(self.recorder)

    def _in_words(self, sized: Sized) -> tuple[str, ...]:
        """What to measure where no features are named yet."""
        host = self.book.title(sized.part.host)
        if sized.face.round:
            wanted = {"along": f"hole to end of {host}", "turn": "an angle to a mark that stays"}
            return tuple(text for word, text in wanted.items() if any(word in free for free in sized.now.free))
        if sized.now.rank == 0:
            return (
                f"one hole or corner of it to an edge and to an end of {host}",
                "a second hole to the same edge, or how it stands `square to` it",
            )
        if any("turn" in words for words in sized.now.free):
            return (f"a second hole or corner to an edge of {host}",)
        if any("nearer or further" in words for words in sized.now.free) and len(sized.now.free) == 1:
            return (f"how far a hole or edge of it stands off the face of {host}",)
        return (f"one reading along that direction, to an end or a corner of {host}",)


def _left(before: Hold, after: Hold) -> float:
    """What is left of what was weak, 0 to 1: of the turn where that is weak, else of the largest ellipse."""
    if before.turn.why_weak:
        if after.turn.why_weak:
            return 1.0
        return (after.turn.best or 0.0) / (before.turn.best or 90.0)
    if before.largest is None or after.largest is None:
        return 1.0
    return after.largest / before.largest


@dataclass
class _NamedOn:
    """Living features of each host that some note has named."""

    recorder: Recorder

    def __post_init__(self) -> None:
        self._found: dict[str | None, list[pins.Mark]] = {}

    def __getitem__(self, host: str | None) -> list[pins.Mark]:
        if host not in self._found:
            # Each feature once: a host of a thousand parts has an edge that each of them is measured from.
            found = dict[str, pins.Mark]()
            for mark in self._search(host):
                found.setdefault(mark.key, mark)
            self._found[host] = list(found.values())
        return self._found[host]

    def _search(self, host: str | None) -> Iterator[pins.Mark]:
        book = self.recorder.book
        now = book.lives.self_at(host, book.now)
        said = [s for s in book.parts[host].every("features")] if host else []
        for s in said:
            then = book.lives.self_at(host, s.when)
            for text in s.items or (s.text,):
                own = feature(text, host, book.settings.sides)
                if then == now or self.recorder.living.feature(host, own.words, s.when, then).lives:
                    yield mark_of(own, host or "the machine")
        for reading in book.readings_from(host):
            f = reading.reference
            if f is None or not f.words or reading.which:
                continue
            if self.recorder.living.feature(host, f.words, reading.when, reading.reference_self).lives:
                yield mark_of(f, host or "the machine")


def _statement(subject: pins.Mark, relation: str, reference: pins.Mark, spelling: str) -> pins.Row:
    return pins.Row(f"{subject.name} {relation} {spelling}", subject, relation, reference)
