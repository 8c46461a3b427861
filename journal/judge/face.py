"""What was read on one face of a host: who takes part, and every reading as a number between two named features.

Parts share a face by their `face:`, or, where it is not said, by the two directions that their statements use.
Nothing is solved here, and nothing is guessed that is not told as an assumption.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import lru_cache
from typing import Literal, NamedTuple

from journal.judge.compared import agree, u
from journal.judge.record import Recorder, Sized, tells_side
from journal.judge.refits import UNSETTLED, unsettled
from journal.measure.methods import METHODS
from journal.measure.pins import ALIGNMENTS, DISTANCES, TURNS, Mark, Row
from journal.model.book import Book
from journal.model.entities import Axis, Feature, Part, Reading
from journal.model.features import DIRECTIONS, LABEL, is_end, relation_axis

Sign = Literal[-1, 0, 1]

# Where things lie against a line that is named so: what is measured to a rear end lies ahead of it.
LIES: Mapping[str, Sign] = {
    **dict.fromkeys(("front", "fore", "forward", "top", "upper"), -1),
    **dict.fromkeys(("rear", "aft", "back", "bottom", "lower"), 1),
}
ALONG: Mapping[str, Sign] = {"ahead of": 1, "behind": -1, "above": 1, "below": -1}
OUTER = frozenset({"outer", "outboard", "outside"})
CONTACTS = ALIGNMENTS | {"touching"}
# Standard uncertainty and half-width, mm, of a reading to come: a tape read to the millimetre within a metre.
SOME_LENGTH = 100.0
TO_COME = (math.hypot(0.5, 0.5) / math.sqrt(3), 1.0)
OVERTAKEN = "it was read again later, and differently"
CONTRADICTS = "it and another reading contradict one another, and nothing tells which is right"
EITHER_SIDE = (
    "nothing says on which side of one the other lies; `above`, `below`, `ahead of` or `behind` in place of `to` would"
)
FAR_OUT = "it is far from what other readings say, and nothing else places what it is of"
NO_DIAMETER = "the diameter of the {} is not known, and it was read at its rim"


class Node(NamedTuple):
    """A point, or a straight line, of a host or a part.

    axis  the direction its name gives a line's normal      lies  on which side of it along that axis all else lies
    end   an end: square to the lines of the same thing that are none
    """

    key: str
    owner: str | None
    words: str
    point: bool
    axis: Axis | None = None
    lies: Sign = 0
    end: bool = False


class Tape(NamedTuple):
    """One reading as a number: from b to a it is `value` mm.

    axis   the machine's axis it runs along, None where only the lines say, or where it is a straight distance
    sign   +1 where a lies beyond b along the axis, -1 before it, 0 where no word says
    added  mm that were added for a rim; value and sigma hold it already
    """

    id: str
    part: str
    a: str
    b: str
    axis: Axis | None
    sign: Sign
    value: float
    sigma: float
    width: float
    added: float = 0.0


@dataclass
class Face:
    """One face of one self of a host, with all that was read on it."""

    host: str | None
    host_self: int
    words: str = ""
    normal: Axis | None = None
    axes: Counter[Axis] = field(default_factory=Counter)
    parts: list[str] = field(default_factory=list)
    nodes: dict[str, Node] = field(default_factory=dict)
    tapes: list[Tape] = field(default_factory=list)
    ties: list[tuple[str, str, bool]] = field(default_factory=list)
    rejected: dict[str, str] = field(default_factory=dict)
    assumed: dict[str, None] = field(default_factory=dict)
    names: frozenset[str] = frozenset()

    def takes(self, axes: Counter[Axis]) -> bool:
        """Whether readings along these axes can lie in this face."""
        if self.normal:
            return self.normal not in axes
        return len(set(self.axes) | set(axes)) <= 2


def key_of(owner: str | None, words: str) -> str:
    """The name of a feature in the sum."""
    return f"{owner or '-'}/{words}"


def faces(recorder: Recorder) -> list[Face]:
    """Every face that something was read on, in the order its parts were first named; then parts by themselves."""
    return _Gatherer(recorder).gather()


Diameters = Mapping[tuple[str | None, str], tuple[float, float]]


def face_of(recorder: Recorder, part: str, known: Diameters) -> Face | None:
    """What was read of one part alone on its host's face; None on a tube, and for a hose or cable."""
    return _Gatherer(recorder, known).alone(recorder.sized(part))


def with_more(recorder: Recorder, face: Face, part: str, more: Sequence[tuple[Row, float | None]]) -> Face:
    """The face of one part with readings to come, each with about what it will say, if that is known."""
    grown = replace(face, nodes=dict(face.nodes), tapes=list(face.tapes))
    gatherer = _Gatherer(recorder, {})
    for row, about in more:
        gatherer.add_row(grown, part, row, about)
    return grown


class _Gatherer:
    """Walks the parts once."""

    def __init__(self, recorder: Recorder, known: Diameters | None = None) -> None:
        self.recorder, self.book = recorder, recorder.book
        self.sides = self.book.settings.sides
        self.diameters = dict(diameters(self.book)) if known is None else known
        self.found: dict[str | None, list[Face]] = {}

    def gather(self) -> list[Face]:
        sized = [self.recorder.sized(id) for id in self.book.parts]
        on_faces = [each for each in sized if each.rows and not each.face.round and each.located != "route"]
        for each in sorted(on_faces, key=lambda each: not each.part.latest("face")):
            self._add_part(each)
        for host, of_host in self.found.items():
            for face in of_host:
                self._add_own(face, host)
        for id in self.book.parts:
            if id not in self.found and len(list(self._own(id))) > 2:
                face = Face(id, self._self(id))
                self._add_own(face, id)
                self.found[id] = [face]
        found = [face for of_host in self.found.values() for face in of_host]
        for face in found:
            _leave_out_apart(face, self.book)
        return [face for face in found if face.tapes]

    def alone(self, sized: Sized) -> Face | None:
        """The face of one part."""
        if sized.face.round or sized.located == "route":
            return None
        self._add_part(sized)
        face = self.found[sized.part.host][0]
        self._add_own(face, sized.part.host)
        _leave_out_apart(face, self.book)
        return face

    def add_row(self, face: Face, part: str, row: Row, about: float | None) -> None:
        """A reading to come; of a turn, or a distance that is not known about, nothing can be said beforehand."""
        one, other = (self._node_of(mark, part, face) for mark in (row.subject, row.reference))
        if row.relation in TURNS or one.key == other.key or (one.point and other.point and about is None):
            return
        axis, sign = self._direction(row.relation, part, one, other, face)
        face.nodes.setdefault(one.key, one)
        face.nodes.setdefault(other.key, other)
        value = SOME_LENGTH if about is None else about
        face.tapes.append(Tape("", part, one.key, other.key, axis, sign, value, *TO_COME))

    def _node_of(self, mark: Mark, part: str, face: Face) -> Node:
        owner = {"": part, "the machine": None}.get(mark.owner, mark.owner)
        lies = 0 if mark.point else _lies(mark.name, self._side(owner, part, face), self.sides)
        return Node(key_of(owner, mark.name), owner, mark.name, mark.point, mark.axis, lies, mark.end)

    def _self(self, host: str | None) -> int:
        return self.book.lives.self_at(host, self.book.now)

    def _add_part(self, sized: Sized) -> None:
        axes: Counter[Axis] = Counter(row.direction for row in sized.rows if row.direction)
        if sized.face.normal:
            del axes[sized.face.normal]
        face = self._face(sized, axes)
        face.parts.append(sized.part.id)
        face.axes += axes
        face.ties += [tie for tie in _renamed(sized) if tie not in face.ties]
        readings = self.book.readings
        newest = _since_refit(self.book, sized.part)
        rows = [readings[row.id] for row in sized.rows if row.id in newest]
        overtaken, unsure = _overtaken(rows), {pair.after.id for pair in unsettled(self.book, sized.part)}
        for reading in rows:
            if reading.id in unsure:
                face.rejected[reading.id] = UNSETTLED
            elif reading.id in overtaken:
                face.rejected[reading.id] = OVERTAKEN
            else:
                self._add(face, reading)
        for reading in self._own(sized.part.id):
            self._add(face, reading)

    def _face(self, sized: Sized, axes: Counter[Axis]) -> Face:
        """The face a part sits on: that of its words, else the first that its directions can lie in."""
        said = sized.part.latest("face")
        host = sized.part.host
        of_host = self.found.setdefault(host, [])
        for face in of_host:
            alike = face.names == sized.face.words if said else face.takes(axes)
            if alike:
                return face
        made = Face(host, self._self(host), said.text if said else "", sized.face.normal, names=sized.face.words)
        of_host.append(made)
        return made

    def _add_own(self, face: Face, host: str | None) -> None:
        if host is None:
            return
        for reading in self._own(host):
            if not (face.normal and relation_axis(reading.relation, self.sides) == face.normal):
                self._add(face, reading)

    def _own(self, id: str) -> Iterator[Reading]:
        """Sizes between two features of the present self that can be computed with."""
        now = self._self(id)
        for reading in self.book.readings_of(id):
            plain = reading.relation and reading.relation not in TURNS and not reading.doubted
            both = reading.subject and reading.reference and reading.subject.words and reading.reference.words
            standing = self.recorder.standings.get(reading.id)
            if plain and both and reading.own and reading.self == now and (standing is None or standing.lives):
                yield reading

    # --- one reading

    def _add(self, face: Face, reading: Reading) -> None:
        a, b = reading.subject, reading.reference
        if reading.relation in TURNS or a is None or b is None:
            return
        one, other = self._node(a, reading.part, face), self._node(b, reading.part, face)
        if one.key == other.key or self._is_face(other, face) or self._is_face(one, face):
            return
        measured = self._measured(reading, one, other)
        if isinstance(measured, str):
            face.rejected[reading.id] = measured
            return
        value, sigma, width, added = measured
        axis, sign = self._direction(reading.relation, reading.part, one, other, face)
        face.nodes.setdefault(one.key, one)
        face.nodes.setdefault(other.key, other)
        face.tapes.append(Tape(reading.id, reading.part, one.key, other.key, axis, sign, value, sigma, width, added))

    def _is_face(self, node: Node, face: Face) -> bool:
        return bool(face.names and node.words) and not node.point and face.names.issuperset(node.words.split())

    def _node(self, feature: Feature, part: str, face: Face) -> Node:
        point = feature.point or not feature.words
        end = not point and is_end(feature.words)
        lies = 0 if point else _lies(feature.words, self._side(feature.owner, part, face), self.sides)
        return Node(key_of(feature.owner, feature.words), feature.owner, feature.words, point, feature.axis, lies, end)

    def _side(self, *owners: str | Face | None) -> str:
        """The side of the machine of the first that has one."""
        for owner in owners:
            owner = owner.host if isinstance(owner, Face) else owner
            if owner is not None and self.book.parts[owner].side:
                return self.book.parts[owner].side
        return ""

    def _direction(self, relation: str, part: str, one: Node, other: Node, face: Face) -> tuple[Axis | None, Sign]:
        axis = relation_axis(relation, self.sides)
        if axis:
            return axis, self._relation_sign(relation, self._side(part, one.owner, other.owner, face), face)
        axis = other.axis or one.axis
        if axis == "y" and (sides := self._on_each_side(one, other)):
            return axis, sides
        if other.axis and tells_side(other.owner, one.owner, face.host):
            return axis, other.lies
        if axis == one.axis and other.point and tells_side(one.owner, other.owner, face.host):
            return axis, -one.lies if one.axis else 0
        return axis, 0

    def _on_each_side(self, one: Node, other: Node) -> Sign:
        """+1 where one is of a part on the first side of the machine and the other of one on the second, -1 the other
        way round, 0 where they are not."""
        mine, theirs = self._side(one.owner), self._side(other.owner)
        return 0 if {mine, theirs} != set(self.sides) else 1 if mine == self.sides[0] else -1

    def _relation_sign(self, relation: str, side: str, face: Face) -> Sign:
        if relation in ALONG:
            return ALONG[relation]
        if relation in ("inboard of", "outboard of"):
            if not side:
                face.assumed["outboard is drawn as on the " + self.sides[0]] = None
            outward: Sign = -1 if side == self.sides[1] else 1
            return outward if relation == "outboard of" else -outward
        return 1 if relation == f"{self.sides[0]} of" else -1

    def _measured(self, reading: Reading, one: Node, other: Node) -> tuple[float, float, float, float] | str:
        """(value between centres, its sigma, its half-width, what was added for rims) in mm; or why there is none."""
        if reading.contact:
            if reading.relation not in CONTACTS or (one.point and other.point):
                return "a touch that says how far neither way"
            half = float(METHODS[reading.method].length(Fraction(0))) if reading.method in METHODS else 1.0
            return 0.0, half / math.sqrt(3), half, 0.0
        value = reading.value
        if value is None or not value.computable or value.quantity != "length" or value.number is None:
            return "not a length that can be computed with"
        if reading.relation not in DISTANCES and not relation_axis(reading.relation, self.sides):
            return "no distance"
        added, variance = 0.0, u(reading) ** 2
        for feature in (reading.subject, reading.reference):
            if feature is None or not feature.rim:
                continue
            known = self.diameters.get((feature.owner, feature.words))
            if known is None:
                return NO_DIAMETER.format(feature.words)
            added += (known[0] if feature.rim == "near" else -known[0]) / 2
            variance += (known[1] / 2) ** 2
        sigma = math.sqrt(variance)
        return float(value.number) + added, sigma, sigma * math.sqrt(3), added


@lru_cache(maxsize=1 << 16)
def _lies(words: str, side: str, sides: tuple[str, ...]) -> Sign:
    """Where all else lies against a line of that name, along the axis of its direction word."""
    named = [word for word in words.split() if not LABEL.fullmatch(word)]
    for word in (named[-1:] + named[-2:-1]) if len(named) > 1 else named:
        if word in sides:
            return -1 if word == sides[0] else 1
        if DIRECTIONS.get(word) == "y":
            inward: Sign = 1 if side == sides[1] else -1
            return inward if word in OUTER else -inward
        if word in LIES:
            return LIES[word]
    return 0


def _leave_out_apart(face: Face, book: Book) -> None:
    """Leave out sizes that nothing ties to a part's place: they say nothing about this face."""
    if not face.parts:
        return
    head: dict[str, str] = {}

    def top(key: str) -> str:
        while head.setdefault(key, key) != key:
            key = head[key]
        return key

    for tape in face.tapes:
        head[top(tape.a)] = top(tape.b)
    kept = {top(tape.a) for tape in face.tapes if not tape.id or not book.readings[tape.id].own}
    face.tapes = [tape for tape in face.tapes if top(tape.a) in kept]
    used = {key for tape in face.tapes for key in (tape.a, tape.b)}
    face.nodes = {key: node for key, node in face.nodes.items() if key in used}


def _renamed(sized: Sized) -> Iterator[tuple[str, str, bool]]:
    """Ties between host lines, in the names used here."""
    for a, b, parallel in sized.ties:
        yield a.replace("the machine/", "-/", 1), b.replace("the machine/", "-/", 1), parallel


def diameters(book: Book) -> Iterator[tuple[tuple[str | None, str], tuple[float, float]]]:
    """Diameters of holes that were read: (owner, feature) -> (mm, standard uncertainty); the last one counts."""
    for reading in book.readings.values():
        value, hole = reading.value, reading.subject
        if reading.dimension != "diameter" or hole is None or not hole.words or reading.in_doubt:
            continue
        present = reading.self == book.lives.self_at(reading.part, book.now)
        if present and value and value.computable and value.quantity == "length" and value.number is not None:
            yield (reading.part, hole.words), (float(value.number), u(reading))


def _since_refit(book: Book, part: Part) -> frozenset[str]:
    """Readings less those that were taken again since the part was last put back: these say where it sits now."""
    event = next((e for e in reversed(part.events) if e.kind in ("refitted", "replaced")), None)
    readings = book.readings_of(part.id)
    again = {same_thing(r) for r in readings if event and r.when >= event.when}
    return frozenset(r.id for r in readings if not event or r.when >= event.when or same_thing(r) not in again)


def _overtaken(readings: Sequence[Reading]) -> frozenset[str]:
    """Readings that a later one of the same thing contradicts: a place between the two is one that nobody measured."""
    last: dict[object, Reading] = {}
    for reading in sorted(readings, key=lambda reading: (reading.when, reading.span.line)):
        last[same_thing(reading), reading.remark] = reading
    newest = ((reading, last[same_thing(reading), reading.remark]) for reading in readings)
    return frozenset(old.id for old, new in newest if old is not new and agree(old, new) is False)


def same_thing(reading: Reading) -> tuple[object, ...]:
    """What a reading is of, whoever took it and when."""
    a, b = reading.subject, reading.reference
    return a and (a.words, a.rim), reading.relation, b and (b.owner, b.words, b.rim)
