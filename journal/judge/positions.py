"""From readings to places on each face of a host: points, edges, how well each is held, and what does not fit."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from functools import cached_property, partial
from hashlib import sha256

from journal.ground.ahead import make_ahead
from journal.ground.kept_work import KeptWork, Piece
from journal.ground.records import record
from journal.judge.face import Diameters, Face, Node, Tape, diameters, faces, key_of
from journal.judge.kept_positions import read, written
from journal.judge.laying import Link, lay, links
from journal.judge.placing import FROM_BEHIND, placed
from journal.judge.record import Recorder, Tells
from journal.judge.residuals import Heard, residuals, suspected
from journal.judge.verdicts import Edge, FacePosition, OtherSpot, Residual, Spot
from journal.measure.adjustment import BAARDA, Adjustment
from journal.measure.observations import Directed, Distance, Fixed, NetworkFault, Observation
from journal.measure.pins import TURNS
from journal.measure.poses import Tie, others

MOST_POINTS = 1000
LEAST_ROWS = 2  # usable readings of one part that make a face worth solving
CONFIDENT = 0.95
MOST_LEFT_OUT = 5
LEFT_OUT = "it does not fit the others, and is left out until it is measured again"


@record
class PartAside:
    """What matters of a part besides its readings on a face.

    doubted   its readings hold it, and may hold it in a second place as well
    turns, parallel   readings of its turn, and whether they leave it to be turned by half
    """

    doubted: bool
    turns: bool
    parallel: bool
    tells: Tells


@record
class Aside:
    """Everything a position is worked out from besides its face.

    `_Solved` sees nothing else, so that a position that was kept under these and its face is the one it would find.

    titles     owner -> how it is called       diameters  of the holes on the face: (mm, standard uncertainty)
    part_of    reading that takes no part -> its part
    """

    titles: Mapping[str | None, str]
    diameters: Diameters
    part_of: Mapping[str, str | None]
    parts: Mapping[str, PartAside]


def _aside(recorder: Recorder, face: Face, known: Diameters) -> Aside:
    book = recorder.book
    owners = dict.fromkeys(node.owner for node in face.nodes.values())
    parts = dict.fromkeys((*face.parts, *(owner for owner in owners if owner is not None)))
    holes = ((node.owner, node.words) for node in face.nodes.values())
    return Aside(
        {owner: book.title(owner) for owner in owners},
        {hole: known[hole] for hole in holes if hole in known},
        {id: book.readings[id].part for id in face.rejected},
        {part: _part_aside(recorder, part) for part in parts},
    )


def _part_aside(recorder: Recorder, part: str) -> PartAside:
    sized = recorder.sized(part)
    relations = {row.relation for row in sized.rows}
    return PartAside(
        sized.pinned and sized.doubt.level != "no",
        not relations.isdisjoint(TURNS),
        not relations.isdisjoint(("square to", "parallel to")),
        sized.tells,
    )


@dataclass(frozen=True)
class Solver:
    """Solves every face once, when it is first asked for; what was solved in an earlier run is taken from `kept`."""

    recorder: Recorder
    kept: KeptWork = field(default_factory=lambda: KeptWork(None, ()))
    _keys: dict[int, tuple[Face, Aside, str]] = field(default_factory=dict)

    @cached_property
    def positions(self) -> tuple[FacePosition, ...]:
        """One a face that something was read on."""
        solved = self.solve(faces(self.recorder))
        return tuple(position for position in solved if position.parts or _worth_showing(position))

    @cached_property
    def diameters(self) -> Diameters:
        """Of holes that were read: (mm, standard uncertainty)."""
        return dict(diameters(self.recorder.book))

    @cached_property
    def _by_part(self) -> Mapping[str, FacePosition]:
        found: dict[str, FacePosition] = {}
        for position in self.positions:
            for part in position.parts:
                known = found.get(part)
                if known is None or position.host_self > known.host_self:
                    found[part] = position
        return found

    def of(self, part: str) -> FacePosition | None:
        """The face a part sits on, of its newest host."""
        return self._by_part.get(part)

    def solve_ahead(self, every: Iterable[Face]) -> None:
        """Those that no earlier run has solved, on all cores where they are many."""
        if self.kept.folder:
            make_ahead(map(self._missing, every))

    def _missing(self, face: Face) -> Piece | None:
        aside, key = self._with_key(face)
        return self.kept.missing(key, partial(_solved, face, aside))

    def as_read(self, face: Face) -> FacePosition:
        """As `solve`, with every reading left in."""
        aside, key = self._with_key(face)
        return self.kept.result(key, lambda: _Solved(face, aside).position(), written, read)

    def _with_key(self, face: Face) -> tuple[Aside, str]:
        """What else it is worked out from, and the sum of both; most faces are asked for twice."""
        known = self._keys.get(id(face))
        if known is None:
            aside = _aside(self.recorder, face, self.diameters)
            known = self._keys[id(face)] = face, aside, _key(face, aside)
        return known[1:]

    def solve(self, every: Sequence[Face]) -> list[FacePosition]:
        """The position of everything on each of the faces.

        A reading that is most likely a slip of the tape is left out, so that it pulls at nothing, and the rest is
        solved anew: what is said of it is what was found with it in. That goes in rounds, each for all faces at once.
        """
        self.solve_ahead(every)
        found = [_LeftOut(face, self.as_read(face)) for face in every]
        while again := [one for one in found if one.position.suspect and len(one.out) < MOST_LEFT_OUT]:
            for one in again:
                one.leave_out()
            self.solve_ahead(one.face for one in again)
            for one in again:
                one.position = self.as_read(one.face)
        return [one.told() for one in found]


@dataclass
class _LeftOut:
    """A face, less the readings that are most likely slips of the tape, and its position then."""

    face: Face
    position: FacePosition
    out: dict[str, Residual] = field(default_factory=dict)

    def leave_out(self) -> None:
        """Take out the reading that is suspect in the position."""
        suspect = self.position.suspect
        assert suspect, "only asked where there is one"
        self.out[suspect] = self.position.residuals[suspect]
        self.face = replace(self.face, tapes=[tape for tape in self.face.tapes if tape.id not in self.out])

    def told(self) -> FacePosition:
        """The position, with what is said of those left out."""
        if not self.out:
            return self.position
        return replace(
            self.position,
            suspect=next(iter(self.out)),
            suspects=tuple(self.out),
            fits=False,
            residuals={**self.position.residuals, **self.out},
            rejected={**self.position.rejected, **dict.fromkeys(self.out, LEFT_OUT)},
        )


def _key(face: Face, aside: Aside) -> str:
    """The sum of a face and its aside; `names` only gathered what is on it, and a set has no order."""
    told = [getattr(face, one.name) for one in fields(face) if one.name not in ("names", "axes")]
    whole = repr((told, sorted(face.axes.items()), aside))
    return sha256(whole.encode("utf-8", "surrogatepass")).hexdigest()


def _solved(face: Face, aside: Aside) -> bytes:
    return written(_Solved(face, aside).position())


@dataclass
class _Solved:
    """One face on its way to a position."""

    face: Face
    aside: Aside
    answers: list[Adjustment] = field(default_factory=list)
    heard: dict[int, Heard] = field(default_factory=dict)
    lost: set[str] = field(default_factory=set)

    def position(self) -> FacePosition:
        face = self.face
        points = sum(node.point for node in face.nodes.values())
        if points > MOST_POINTS:
            return self._listed((None, None), too_large=True)
        self.lay = lay(face)
        self.along, self.straight = links(face, self.lay)
        self.placed = placed(face, self.lay, self.along, self.straight)
        if not self._worth_solving():
            return self._listed(self._axes())
        self._solve()
        return self._told()

    def _worth_solving(self) -> bool:
        """Whether there is a part with enough readings, or a host with sizes of its own."""
        counts: dict[str, int] = {}
        for tape in (*(link.tape for link in self.along), *self.placed.straight):
            counts[tape.part] = counts.get(tape.part, 0) + 1
        return any(count >= LEAST_ROWS for count in counts.values())

    def _listed(self, axes: tuple[object, object], too_large: bool = False) -> FacePosition:
        face = self.face
        missing = {} if too_large else {part: self._missing(part) for part in face.parts}
        return FacePosition(
            face.host,
            face.host_self,
            face.words,
            axes,  # type: ignore[arg-type]
            tuple(face.parts),
            rejected=dict(face.rejected),
            unsolved={part: what for part, what in missing.items() if what},
            too_large=too_large,
        )

    def _axes(self) -> tuple[object, object]:
        """The axes whose direction some reading tells; the others may be seen from behind, so they stay nameless."""
        told = {link.along for link in self.along if link.tape.sign or self._named_side(link)}
        return tuple(axis if number in told else None for number, axis in enumerate(self.lay.plane))  # type: ignore[return-value]

    def _named_side(self, link: Link) -> bool:
        return any(
            not self.face.nodes[key].point and key not in self.lay.open_sides for key in (link.tape.a, link.tape.b)
        )

    # --- the sum

    def _solve(self) -> None:
        from journal.measure.settle import groups, settle  # numpy, only where something is solved

        observations = [*self._observations()]
        fixed, start = self._fixed(), self._start()
        for group in groups(observations, fixed):
            try:
                self.answers.append(settle(group, fixed, start))
            except NetworkFault as fault:
                self.lost.update(fault.names)

    def _observations(self) -> Iterator[Observation]:
        """Every reading that takes part. Edges stand in the sum as points of which one number is known."""
        for link in self.along:
            axis = "y" if link.along else "x"
            yield self._hear(
                Directed(link.tape.b, link.tape.a, axis, link.value, link.tape.sigma), link.tape, link.sign
            )
        for tape in self.placed.straight:
            yield self._hear(Distance(tape.a, tape.b, tape.value, tape.sigma), tape, 1)

    def _hear(self, item: Observation, tape: Tape, sign: int) -> Observation:
        self.heard[id(item)] = Heard(tape, sign)
        return item

    def _fixed(self) -> Fixed:
        """What is not to be found: where the sum starts, what an edge does not say, what nothing was read of."""
        chosen = self.placed.fixed
        fixed: dict[str, list[float | None]] = {}
        for key, node in self.face.nodes.items():
            numbers: list[float | None] = list(chosen.get(key, (None, None)))
            for axis in (0, 1):
                silent = not node.point and self.lay.normals[key] != axis
                if silent or self._adrift(key, axis):
                    numbers[axis] = 0.0
            fixed[key] = numbers
        return fixed

    def _adrift(self, key: str, axis: int) -> bool:
        """Whether a place along an axis hangs on nothing: the first of a group that does not reach the first edge."""
        if self.placed.places[key][axis] is not None:
            return False
        return self.placed.chain.group[axis].get(key, key) == key

    def _start(self) -> dict[str, tuple[float, float]]:
        chain = self.placed.chain
        return {
            key: tuple(chain.at[axis].get(key, 0.0) if at is None else at for axis, at in enumerate(place))  # type: ignore[misc]
            for key, place in self.placed.places.items()
        }

    # --- what came out

    def _told(self) -> FacePosition:
        face = self.face
        spots, edges = tuple(self._spots()), tuple(self._edges())
        told: dict[str, Residual] = dict(pair for answer in self.answers for pair in residuals(answer, self.heard))
        missing = {part: self._missing(part) for part in (face.host, *face.parts)}
        return FacePosition(
            face.host,
            face.host_self,
            face.words,
            self._axes(),  # type: ignore[arg-type]
            tuple(face.parts),
            spots,
            edges,
            tuple(self._alternatives(spots)),
            self._assumptions(spots, edges),
            told,
            sum(answer.chi2 for answer in self.answers),
            sum(answer.redundancy for answer in self.answers),
            all(answer.fits() for answer in self.answers),
            suspected(self.answers, self.heard),
            dict(face.rejected),
            {part: what for part, what in missing.items() if what},
        )

    @cached_property
    def _answer_of(self) -> dict[str, Adjustment]:
        return {name: answer for answer in self.answers for name, _ in answer.unknowns}

    def _place(self, key: str) -> tuple[float, float] | None:
        """Where a point or edge is, once solved; None where nothing ties it to the first edge."""
        if key in self.lost:
            return None
        answer = self._answer_of.get(key)
        if answer is None:
            return self.placed.whole(key)
        u, v = answer.points[key]
        return u, v

    def _spots(self) -> Iterator[Spot]:
        for key, node in self._hosts_first():
            place = self._place(key)
            if not node.point or place is None or self.placed.whole(key) is None:
                continue
            answer = self._answer_of.get(key)
            ellipse = answer.ellipse(key, CONFIDENT) if answer else (0.0, 0.0, 0.0)
            diameter = self.aside.diameters.get((node.owner, node.words))
            yield Spot(node.owner, node.words, *place, self._sigma(key), ellipse, diameter[0] if diameter else None)

    def _sigma(self, key: str) -> tuple[float, float]:
        answer = self._answer_of.get(key)
        if answer is None:
            return 0.0, 0.0
        (uu, _), (_, vv) = answer.block(key, prior=True)
        return math.sqrt(max(uu, 0.0)), math.sqrt(max(vv, 0.0))

    def _edges(self) -> Iterator[Edge]:
        for key, node in self._hosts_first():
            if node.point or key in self.lost:
                continue
            along = self.lay.normals[key]
            if self.placed.places[key][along] is None:
                continue
            answer = self._answer_of.get(key)
            offset = answer.points[key][along] if answer else (self.placed.places[key][along] or 0.0)
            yield Edge(
                node.owner,
                node.words,
                "v" if along else "u",
                float(offset),
                self._sigma(key)[along],
                0.0 if along else math.pi / 2,
                self.lay.assumed.get(key, ""),
            )

    def _hosts_first(self) -> list[tuple[str, Node]]:
        return sorted(self.face.nodes.items(), key=lambda item: item[1].owner != self.face.host)

    def _assumptions(self, spots: tuple[Spot, ...], edges: tuple[Edge, ...]) -> tuple[str, ...]:
        """One sentence for each thing taken for granted."""
        titles = self.aside.titles
        said = [f"{edge.words} of {titles[edge.owner]}: {edge.assumed}" for edge in edges if edge.assumed]
        if any(not edge.assumed for edge in edges):
            said.insert(0, "edges are taken as straight, and square or parallel to one another as their names say")
        flat = all(math.isclose(spot.v, 0.0, abs_tol=1e-6) for spot in spots)
        behind = [FROM_BEHIND] if self.placed.mirrored or (None in self._axes() and not flat) else []
        return (*said, *self.face.assumed, *behind)

    # --- what is missing

    def _missing(self, part: str | None) -> str:
        """What it would take to place the points of a part that are not placed, "" where all are."""
        keys = [key for key, node in self.face.nodes.items() if node.owner == part and node.point]
        loose = [key for key in keys if self._place(key) is None or self.placed.whole(key) is None]
        rims = [why for id, why in self.face.rejected.items() if self._reads(id, part) and "diameter" in why]
        if rims:
            return rims[0]
        return "; ".join(self._wanted(key) for key in loose[:3])

    def _reads(self, id: str, part: str | None) -> bool:
        return self.aside.part_of[id] == part

    def _wanted(self, key: str) -> str:
        name = self.face.nodes[key].words or "the part"
        gaps = [axis for axis in (0, 1) if self.placed.places[key][axis] is None]
        if not gaps:
            return f"the readings of {name} hardly hold it"
        if len(gaps) == 1 and self.placed.chain.group[gaps[0]].get(key):
            first = self.face.nodes[self.placed.chain.group[gaps[0]][key]]
            main = self.placed.chain.main(gaps[0])
            if main and first.key != key:
                return f"{name} wants a reading from the {first.words} to the {self.face.nodes[main].words}"
        lines = [self._line_across(axis) for axis in gaps]
        return f"{name} wants a reading to {' and one to '.join(lines)}"

    def _line_across(self, axis: int) -> str:
        """An edge that a reading along an axis can be taken from."""
        keys = [key for key, normal in self.lay.normals.items() if normal == axis]
        best = next((key for key in keys if self.placed.places[key][axis] is not None), None)
        if best:
            return f"the {self.face.nodes[best].words}"
        return "an end or another point" if axis == 0 else "an edge"

    # --- other places

    def _alternatives(self, spots: tuple[Spot, ...]) -> Iterator[OtherSpot]:
        at = {(spot.owner, spot.words): (spot.u, spot.v) for spot in spots}
        for part in self.face.parts:
            if self.aside.parts[part].doubted:
                yield from self._other_spots(part, spots, at)
        for spot in spots:
            other = self.placed.choices.get(key_of(spot.owner, spot.words))
            if other and spot.owner is not None:
                apart = math.dist(other, (spot.u, spot.v))
                told = self.aside.parts[spot.owner].tells.apart(0.0, apart)
                yield OtherSpot(spot.owner, (_mirrored(spot, other),), 0.0, apart, told)

    def _other_spots(
        self, part: str, spots: tuple[Spot, ...], at: Mapping[tuple[str | None, str], tuple[float, float]]
    ) -> Iterator[OtherSpot]:
        """Other places of one part among all else, if all that its readings name is placed."""
        about = self.aside.parts[part]
        ties = [*self._ties(part, at)]
        tapes = [tape for tape in self._outer(part)]
        if not ties or len(ties) < len(tapes):
            return
        if len({tie.point for tie in ties}) < 2 and not about.turns:
            return
        mine = [spot for spot in spots if spot.owner == part]
        for pose in others(ties, about.parallel, BAARDA**2):
            turned = math.degrees(math.remainder(pose.turn, math.tau))
            moved = tuple(_moved(spot, pose.moved((spot.u, spot.v)), pose.turn) for spot in mine)
            apart = max(math.dist((a.u, a.v), (b.u, b.v)) for a, b in zip(mine, moved, strict=True))
            yield OtherSpot(part, moved, turned, apart, about.tells.apart(turned, apart))

    def _outer(self, part: str) -> Iterator[Link | Tape]:
        """Readings that tie a part to anything else."""
        nodes = self.face.nodes
        every: tuple[Link | Tape, ...] = (*self.along, *self.straight)
        for item in every:
            tape = item.tape if isinstance(item, Link) else item
            if (nodes[tape.a].owner == part) != (nodes[tape.b].owner == part):
                yield item

    def _ties(self, part: str, at: Mapping[tuple[str | None, str], tuple[float, float]]) -> Iterator[Tie]:
        for item in self._outer(part):
            tape = item.tape if isinstance(item, Link) else item
            own, other = self.face.nodes[tape.a], self.face.nodes[tape.b]
            if own.owner != part:
                own, other = other, own
            point, target = at.get((own.owner, own.words)), at.get((other.owner, other.words))
            if point is None:
                continue
            if isinstance(item, Link):
                yield Tie(point, (0.0, 0.0), (0.0, 1.0) if item.along else (1.0, 0.0), tape.sigma)
            elif target is not None:
                yield Tie(point, target, None, tape.sigma)


def _worth_showing(position: FacePosition) -> bool:
    """Whether a thing that was only measured by itself has more to show than a size."""
    return position.too_large or len(position.spots) + len(position.edges) > 2


def _moved(spot: Spot, place: tuple[float, float], turn: float) -> Spot:
    long, short, angle = spot.ellipse95
    return Spot(spot.owner, spot.words, *place, spot.sigma, (long, short, (angle + turn) % math.pi), spot.diameter)


def _mirrored(spot: Spot, place: tuple[float, float]) -> Spot:
    """A point at the other crossing: its ellipse is the mirror image of the first one's."""
    long, short, angle = spot.ellipse95
    mirror = math.atan2(place[1] - spot.v, place[0] - spot.u) + math.pi / 2
    ellipse = (long, short, (2 * mirror - angle) % math.pi)
    return replace(spot, u=place[0], v=place[1], ellipse95=ellipse)
