"""One face from its readings to a position: points, edges, how well each is held, and what does not fit."""

from __future__ import annotations

import math
from collections import defaultdict, deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from journal.ground.records import record
from journal.judge.blunders import (
    MATTERS,
    Apart,
    Item,
    Slopes,
    Weights,
    axes_of,
    far_out,
    is_far,
    misfit,
    tape_of,
    unmet,
)
from journal.judge.chain import Link
from journal.judge.face import CONTRADICTS, EITHER_SIDE, FAR_OUT, Diameters, Face, Node, Tape, key_of
from journal.judge.placing import FROM_BEHIND, placed
from journal.judge.record import Tells
from journal.judge.residuals import Heard, residuals, suspected
from journal.judge.turning_over import lay, links
from journal.judge.verdicts import Edge, FacePosition, OtherSpot, Residual, Spot
from journal.measure.adjustment import BAARDA, Adjustment
from journal.measure.observations import Directed, Distance, Fixed, NetworkFault, Observation, names_of
from journal.measure.poses import Tie, others

MOST_POINTS = 1000
LEAST_ROWS = 2  # usable readings of one part that make a face worth solving
CONFIDENT = 0.95


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

    `SolvedFace` sees nothing else, so that a position that was kept under these and its face is the one it would find.

    diameters  of the holes on the face: (mm, standard uncertainty)
    part_of    reading that takes no part -> its part
    """

    diameters: Diameters
    part_of: Mapping[str, str | None]
    parts: Mapping[str, PartAside]


@dataclass
class SolvedFace:
    """One face on its way to a position.

    every     all readings that say something of it      items  those of them that take part in the sum
    across    those that fit only on the other side of their line than all else
    lost      what nothing holds                         doubtful  what readings that contradict one another are of
    slips, contradicting   readings that were out by far, as far as they are not back in the sum
    """

    face: Face
    aside: Aside
    answers: list[Adjustment] = field(default_factory=list)
    every: list[Item] = field(default_factory=list)
    items: list[Item] = field(default_factory=list)
    heard: dict[int, Heard] = field(default_factory=dict)
    answer_of: dict[str, Adjustment] = field(default_factory=dict)
    lost: set[str] = field(default_factory=set)
    doubtful: set[str] = field(default_factory=set)
    across: list[str] = field(default_factory=list)
    slips: dict[str, Residual] = field(default_factory=dict)
    contradicting: list[tuple[str, ...]] = field(default_factory=list)

    def position(self) -> FacePosition:
        face = self.face
        points = sum(node.point for node in face.nodes.values())
        if points > MOST_POINTS:
            return self._listed((None, None), too_large=True)
        self.lay = lay(face)
        self.along, straight = links(face, self.lay)
        self.placed = placed(face, self.lay, self.along, straight)
        self.every = [*self.along, *self.placed.straight]
        self._set_apart(tape for tape in straight if tape not in self.placed.straight)
        if not self._worth_solving():
            return self._listed(self._axes())
        self._set_across()
        aside = far_out(self.every, self.placed.places.__getitem__)
        self.items = [item for item in self.every if item not in aside]
        self._solve(self._added_up())
        if aside:
            self._hold_against(aside)
        return self._told()

    def _worth_solving(self) -> bool:
        """Whether there is a part with enough readings, or a host with sizes of its own."""
        counts: dict[str, int] = {}
        for tape in map(tape_of, self.every):
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
            rejected=dict(face.rejected) if too_large else self._rejected(),
            unsolved={part: what for part, what in missing.items() if what},
            too_large=too_large,
        )

    def _axes(self) -> tuple[object, object]:
        """The axes whose direction some reading tells; the others may be seen from behind, so they stay nameless."""
        told = {link.along for link in self.along if link.told}
        return tuple(axis if number in told else None for number, axis in enumerate(self.lay.plane))  # type: ignore[return-value]

    # --- the sum

    def _solve(self, start: Mapping[str, Sequence[float]]) -> None:
        """Settle all that takes part, from about where it is."""
        from journal.measure.settle import groups, settle  # numpy, only where something is solved

        self.answers, self.heard, self.lost, fixed = [], {}, set(self.doubtful), self._fixed()
        waiting = deque(groups([*self._observations()], fixed))
        while waiting:
            group = waiting.popleft()
            try:
                self.answers.append(settle(group, fixed, start))
            except NetworkFault as fault:  # what it names hangs on nothing: all else may hold without it
                self.lost.update(name for name in fault.names if None in fixed[name])
                rest = [item for item in group if self.lost.isdisjoint(names_of(item))]
                waiting += groups(rest, fixed)
        self.answer_of = {name: answer for answer in self.answers for name, _ in answer.unknowns}

    def _observations(self) -> Iterator[Observation]:
        """Every reading that takes part. Edges stand in the sum as points of which one number is known."""
        for item in self.items:
            tape = tape_of(item)
            if not self.lost.isdisjoint((tape.a, tape.b)):
                continue
            if isinstance(item, Link):
                axis = "y" if item.along else "x"
                yield self._hear(Directed(tape.b, tape.a, axis, item.value, tape.sigma), tape, item.sign)
            else:
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

    def _added_up(self) -> dict[str, tuple[float, ...]]:
        """About where everything is."""
        chain = self.placed.chain
        return {
            key: tuple(chain.at[axis].get(key, 0.0) if at is None else at for axis, at in enumerate(place))
            for key, place in self.placed.places.items()
        }

    # --- what was out by far

    def _set_across(self) -> None:
        """All is taken as lying on one side of a line whose name tells none; what a reading fits only for on the other
        side lies there: a seam may run between two holes."""
        place = self.placed.places.__getitem__
        for at, item in enumerate(self.every):
            if isinstance(item, Link) and item.of in self.lay.open_sides and is_far(item, place):
                other = item._replace(sign=-item.sign)
                if not is_far(other, place):
                    self.every[at] = other
                    self.across.append(item.tape.id)

    def _set_apart(self, loose: Iterable[Tape]) -> None:
        """Distances that no place can have: what they were to place is nowhere."""
        for tapes in unmet(loose, self.placed.places.__getitem__):
            self.contradicting.append(tuple(tape.id for tape in tapes))
            ends = {key for tape in tapes for key in (tape.a, tape.b)}
            self.doubtful.update(key for key in ends if self.placed.whole(key) is None)

    def _found(self, key: str) -> Sequence[float | None]:
        """Where something is after the sum."""
        if key in self.lost:
            return None, None
        answer = self.answer_of.get(key)
        return answer.points[key] if answer else self.placed.places[key]

    def _hold_against(self, aside: Sequence[Item]) -> None:
        """What was set aside against all else: it is a slip, or it fits after all; or what it is held against rests on
        readings that nothing checks, and nothing is known of what these are of."""
        back: list[Item] = []
        slopes = [Slopes(answer) for answer in self.answers]
        for item in aside:
            tape, off = tape_of(item), misfit(item, self._found)
            if off is None:
                self.contradicting.append((tape.id,))
                continue
            ends = self._ends(item)
            apart = Apart(tape, off, math.sqrt(max(sum(each.variance(ends) for each in slopes), 0.0)))
            against = [(each, number) for each in slopes for number in each.resting(ends, off)]
            if apart.fits:
                back.append(item)
            elif against:
                tapes = [tape, *(self.heard[id(each.answer.observations[number])].tape for each, number in against)]
                self.contradicting.append(tuple(each.id for each in tapes))
                self.doubtful.update(
                    key for key in {key for each in tapes for key in (each.a, each.b)} for axis in (0, 1)
                    if any(each.moved({(key, axis): 1.0})[number] > MATTERS for each, number in against)
                )  # fmt: skip
            else:
                self.slips[tape.id] = apart.residual
        if back or self.doubtful:
            self.items += back
            self._solve(self._added_up() | {key: answer.points[key] for key, answer in self.answer_of.items()})

    def _ends(self, item: Item) -> Weights:
        """How a reading changes with what it was read between: (name, axis) -> by how much."""
        tape, found = tape_of(item), self._found
        steps = {axis: found(tape.a)[axis] - found(tape.b)[axis] for axis in axes_of(item)}  # type: ignore[operator]
        length = math.hypot(*steps.values()) or 1.0
        units = {axis: 1.0 if isinstance(item, Link) else step / length for axis, step in steps.items()}
        return {(key, axis): sign * unit for axis, unit in units.items() for key, sign in ((tape.a, 1), (tape.b, -1))}

    # --- what came out

    def _told(self) -> FacePosition:
        face = self.face
        spots, edges = tuple(self._spots()), tuple(self._edges())
        told: dict[str, Residual] = dict(pair for answer in self.answers for pair in residuals(answer, self.heard))
        told |= self.slips
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
            self._rejected(),
            {part: what for part, what in missing.items() if what},
            suspects=tuple(self.slips),
            contradicting=tuple(self.contradicting),
            across=tuple(self.across),
        )

    def _rejected(self) -> dict[str, str]:
        """Readings that take no part, with why."""
        open_sides = dict.fromkeys(sorted(id for id in self.lay.nobody_knows if id), EITHER_SIDE)
        contradicting = {id: CONTRADICTS if len(ids) > 1 else FAR_OUT for ids in self.contradicting for id in ids}
        return self.face.rejected | open_sides | contradicting

    def _place(self, key: str) -> tuple[float, float] | None:
        """Where a point or edge is, once solved; None where nothing ties it to the first edge."""
        if key in self.lost:
            return None
        answer = self.answer_of.get(key)
        if answer is None:
            return self.placed.whole(key)
        u, v = answer.points[key]
        return u, v

    def _spots(self) -> Iterator[Spot]:
        for key, node in self._hosts_first():
            place = self._place(key)
            if not node.point or place is None or self.placed.whole(key) is None:
                continue
            answer = self.answer_of.get(key)
            ellipse = answer.ellipse(key, CONFIDENT) if answer else (0.0, 0.0, 0.0)
            diameter = self.aside.diameters.get((node.owner, node.words))
            yield Spot(node.owner, node.words, *place, self._sigma(key), ellipse, diameter[0] if diameter else None)

    def _sigma(self, key: str) -> tuple[float, float]:
        answer = self.answer_of.get(key)
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
            answer = self.answer_of.get(key)
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
        """One sentence for each thing taken for granted, besides what is assumed of single edges."""
        said = ["edges are taken as straight, and square or parallel to one another as their names say"]
        flat = all(math.isclose(spot.v, 0.0, abs_tol=1e-6) for spot in spots)
        behind = [FROM_BEHIND] if self.placed.mirrored or (None in self._axes() and not flat) else []
        return (*(said if any(not edge.assumed for edge in edges) else ()), *self.face.assumed, *behind)

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
        if key in self.doubtful:
            return f"the readings of {name} contradict one another"
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
        if not ties or len(ties) < len(self._outer[part]):
            return
        if len({tie.point for tie in ties}) < 2 and not about.turns:
            return
        mine = [spot for spot in spots if spot.owner == part]
        for pose in others(ties, about.parallel, BAARDA**2):
            turned = math.degrees(math.remainder(pose.turn, math.tau))
            moved = tuple(_moved(spot, pose.moved((spot.u, spot.v)), pose.turn) for spot in mine)
            apart = max(math.dist((a.u, a.v), (b.u, b.v)) for a, b in zip(mine, moved, strict=True))
            yield OtherSpot(part, moved, turned, apart, about.tells.apart(turned, apart))

    @cached_property
    def _outer(self) -> Mapping[str | None, Sequence[Item]]:
        """Readings that tie each thing to anything else."""
        found: defaultdict[str | None, list[Item]] = defaultdict(list)
        for item in self.every:
            tape = tape_of(item)
            owners = [self.face.nodes[key].owner for key in (tape.a, tape.b)]
            if owners[0] != owners[1]:
                for owner in owners:
                    found[owner].append(item)
        return found

    def _ties(self, part: str, at: Mapping[tuple[str | None, str], tuple[float, float]]) -> Iterator[Tie]:
        for item in self._outer[part]:
            tape = tape_of(item)
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


def _moved(spot: Spot, place: tuple[float, float], turn: float) -> Spot:
    long, short, angle = spot.ellipse95
    return Spot(spot.owner, spot.words, *place, spot.sigma, (long, short, (angle + turn) % math.pi), spot.diameter)


def _mirrored(spot: Spot, place: tuple[float, float]) -> Spot:
    """A point at the other crossing: its ellipse is the mirror image of the first one's."""
    long, short, angle = spot.ellipse95
    mirror = math.atan2(place[1] - spot.v, place[0] - spot.u) + math.pi / 2
    ellipse = (long, short, (2 * mirror - angle) % math.pi)
    return replace(spot, u=place[0], v=place[1], ellipse95=ellipse)
