"""About where everything on a face is: readings along its axes added up, then points at crossings of distances.

A point that straight distances leave two places is put at one of them only when all else is placed, and the other is
kept beside it; nothing is placed from it, unless the two are one figure seen from its two sides.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from journal.judge.chain import Chain, Link, in_order
from journal.judge.face import Face, Tape
from journal.judge.laying import Lay, Place

MEETS = 1.05  # circles that miss each other by so much do not meet (a start only: the sum may still refuse)
PLAINLY = 8.0  # standard uncertainties by which a place must fit a further distance better than the other
MANY = 4  # distances of a point, from where on one that is wrong is outvoted
MOST_TRIED = 8  # of them, by twos
ROUGH = 4.0  # mm that places may be out before the sum
OUTSIDE = 5.0  # mm that a point may lie beyond an edge that all lies on one side of
FROM_BEHIND = "seen from one of two sides: no reading says which, so it may have to be turned over"


@dataclass
class Placed:
    """Where everything is, about.

    chain    what hangs together along each axis
    places   name -> [u, v], None where nothing says; the rest hangs on `fixed`
    fixed    name -> numbers that were chosen, None where the readings say
    choices  points of which straight distances leave two places: name -> the other one
    straight distances between two points that are placed
    mirrored the figure may be seen from either side
    """

    chain: Chain
    places: dict[str, list[float | None]]
    fixed: dict[str, list[float | None]]
    choices: dict[str, Place] = field(default_factory=dict)
    straight: list[Tape] = field(default_factory=list)
    mirrored: bool = False

    def whole(self, name: str) -> Place | None:
        """Both numbers of a place, where both are known."""
        u, v = self.places[name]
        return None if u is None or v is None else (u, v)


def placed(face: Face, found: Lay, along: Sequence[Link], straight: Sequence[Tape]) -> Placed:
    """Starting places for everything that the readings hold against the first edge, and what they start from."""
    return _Placer(face, found, along, straight).place()


class _Placer:
    def __init__(self, face: Face, found: Lay, along: Sequence[Link], straight: Sequence[Tape]) -> None:
        self.face, self.lay, self.along, self.straight = face, found, along, straight
        self.chain = Chain(in_order(face), along)
        self.result = Placed(self.chain, {key: [None, None] for key in face.nodes}, {})
        used = {link.along for link in along}
        # An axis along which nothing was read can be drawn either way: the first point beside it is put where we like.
        self.free_side = next((axis for axis in (1, 0) if axis not in used), None) if straight else None
        self.beside: defaultdict[str, list[tuple[str, Tape]]] = defaultdict(list)
        for tape in straight:
            self.beside[tape.a].append((tape.b, tape))
            self.beside[tape.b].append((tape.a, tape))

    def place(self) -> Placed:
        result, chain = self.result, self.chain
        mains = [chain.main(axis) for axis in (0, 1)]
        for axis in (0, 1):
            for name, first in chain.group[axis].items():
                if first == mains[axis]:
                    result.places[name][axis] = chain.at[axis][name]
        self._gauge(mains)
        while self._place_one():
            pass
        self._put_undecided()
        ends = [(tape, result.whole(tape.a), result.whole(tape.b)) for tape in self.straight]
        result.straight = [tape for tape, a, b in ends if a is not None and b is not None]
        return result

    def _gauge(self, mains: Sequence[str | None]) -> None:
        """Where the sum starts: the first lines are the axes; without lines the first two points."""
        result = self.result
        for axis in (0, 1):
            beside = [t.b for t in self.straight if result.places[t.b][1 - axis] is not None]
            first = mains[axis] or next(iter([*beside, *(t.b for t in self.straight)]), None)
            if first is not None:
                result.places[first][axis] = 0.0
                result.fixed.setdefault(first, [None, None])[axis] = 0.0
        if not self.along and self.straight:
            tape = self.straight[0]
            result.places[tape.a] = [tape.value, 0.0]
            result.fixed.setdefault(tape.a, [None, None])[1] = 0.0

    # --- points by distances

    def _place_one(self) -> bool:
        """Put one more point where it can only be; False when there is none left."""
        for name in self.beside:
            spots = self._spots(name)
            if spots and (len(spots) == 1 or self._mirrors(spots)):
                self._put(name, spots[0])
                return True
        return False

    def _put_undecided(self) -> None:
        """Put what can be in two places at one of them, each told; nothing further is placed from these."""
        open_spots = {name: spots for name in self.beside if (spots := self._spots(name))}
        for name, spots in open_spots.items():
            if self.result.whole(name) is None:
                before = {key: list(at) for key, at in self.result.places.items()}
                self._put(name, spots[0])
                shift = spots[1][0] - spots[0][0], spots[1][1] - spots[0][1]
                for key, at in self.result.places.items():
                    here = self.result.whole(key)
                    if at != before[key] and here is not None:
                        self.result.choices[key] = (here[0] + shift[0], here[1] + shift[1])

    def _spots(self, name: str) -> list[Place]:
        """Where a point can be by the distances to what is placed, the likeliest first: none, one or two places."""
        at = self.result.places[name]
        if None not in at:
            return []
        ties = [(self.result.whole(other), tape) for other, tape in self.beside[name]]
        known = [(spot, tape.value, tape.sigma) for spot, tape in ties if spot is not None]
        many = len(known) >= MANY
        spots = _most_agreed(at, known) if many else [*_crossings(at, [(spot, value) for spot, value, _ in known])]
        spots = [spot for spot in spots if self._inside(spot)] or spots
        if len(spots) < 2:
            return spots
        misses = [sum(abs(math.dist(spot, centre) - value) / sigma for centre, value, sigma in known) for spot in spots]
        if abs(misses[0] - misses[1]) > PLAINLY:
            return [spots[misses.index(min(misses))]]
        return sorted(spots, key=lambda spot: (-spot[1], -spot[0]))

    def _inside(self, spot: Place) -> bool:
        """Whether a place lies where all else does, of every edge of the host whose name says so."""
        for key, along in self.lay.normals.items():
            edge = self.result.places[key][along]
            named = self.face.nodes[key].owner == self.face.host and key not in self.lay.open_sides
            if named and edge is not None and (spot[along] - edge) * self.lay.sides[key] < -OUTSIDE:
                return False
        return True

    def _mirrors(self, spots: Sequence[Place]) -> bool:
        """Whether two places are one figure seen from its two sides; asked once, for the first point off the line."""
        axis = self.free_side
        if axis is None:
            return False
        levels = [at[axis] for at in self.result.places.values() if None not in at]
        level = sum(spot[axis] for spot in spots) / 2
        if any(abs((at or 0.0) - level) > 1e-6 for at in levels):
            return False
        self.free_side, self.result.mirrored = None, True
        return True

    def _put(self, name: str, spot: Place) -> None:
        for axis in (0, 1):
            if self.result.places[name][axis] is None:
                self._spread(axis, name, spot[axis])

    def _spread(self, axis: int, name: str, here: float) -> None:
        """A point that is placed along an axis takes along all that hangs together with it there."""
        places, chain = self.result.places, self.chain
        places[name][axis] = here
        group = chain.group[axis].get(name)
        if group is None:
            return
        shift = here - chain.at[axis][name]
        for other, first in chain.group[axis].items():
            if first == group and places[other][axis] is None:
                places[other][axis] = chain.at[axis][other] + shift


def _most_agreed(at: Sequence[float | None], known: Sequence[tuple[Place, float, float]]) -> list[Place]:
    """Of the places that two distances, or one and a coordinate, give, the one that most other distances agree with,
    and the other one of the same two. Where many distances were read, one that is wrong must not say where it is."""
    found: list[tuple[float, list[Place]]] = []
    for number, one in enumerate(known[:MOST_TRIED]):
        for other in known[number + 1 : MOST_TRIED] or [one]:
            spots = [*_crossings(at, [(centre, value) for centre, value, _ in (one, other)])]
            counts = [sum(_agrees(spot, tie) for tie in known) for spot in spots]
            if spots:
                found.append((max(counts), [spot for _, spot in sorted(zip(counts, spots, strict=True), reverse=True)]))
    return max(found, key=lambda each: each[0])[1] if found else []


def _agrees(spot: Place, tie: tuple[Place, float, float]) -> float:
    """How much a distance speaks for a place, 0 to 1."""
    centre, value, sigma = tie
    return 1 / (1 + ((math.dist(spot, centre) - value) / max(sigma, ROUGH)) ** 2)


def _crossings(at: Sequence[float | None], known: Sequence[tuple[Place, float]]) -> Iterator[Place]:
    """Where a point can be: on a circle at the coordinate it has, or where two circles cross."""
    u, v = at
    if u is not None or v is not None:
        for centre, radius in known:
            across = (u - centre[0]) if u is not None else (v or 0.0) - centre[1]
            if abs(across) > MEETS * radius:
                continue
            half = math.sqrt(max(radius**2 - across**2, (0.05 * radius) ** 2))
            for sign in (1, -1):
                yield (u, centre[1] + sign * half) if u is not None else (centre[0] + sign * half, v or 0.0)
            return
        return
    for number, (one, r) in enumerate(known):
        for other, s in known[number + 1 :]:
            apart = math.dist(one, other)
            if apart < 1e-9 or not abs(r - s) / MEETS < apart < MEETS * (r + s):
                continue
            along = (r**2 - s**2 + apart**2) / (2 * apart)
            half = math.sqrt(max(r**2 - along**2, (0.05 * r) ** 2))
            x, y = (other[0] - one[0]) / apart, (other[1] - one[1]) / apart
            for sign in (1, -1):
                yield (one[0] + along * x - sign * half * y, one[1] + along * y + sign * half * x)
            return
