"""One group of readings and unknowns that hang together, and the resting places found for it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from journal.measure import descent, linear
from journal.measure.adjustment import BAARDA, chi_square_limit
from journal.measure.descent import Rest
from journal.measure.linear import Array, System
from journal.measure.observations import Fixed
from journal.measure.report import shifted
from journal.measure.starts import Placing

Start = Mapping[str, Sequence[float]]

# Two spots fit as well when no test at 0.1 % would tell them apart: chi2 less than 3.29² above the best, more
# where even the best fits badly, by its s0².
AS_WELL = BAARDA**2


@dataclass(frozen=True, eq=False)
class Group:
    """Readings and unknowns that hang together, about a centre.

    start   places to begin at, where given
    free    nothing is fixed: `start` carries the whole
    """

    system: System
    fixed: Fixed
    start: Start
    free: bool

    def datum(self, state: Array) -> Array | None:
        """The motions of the whole, over the points of `start`, which a free network's steps must leave out."""
        if not self.free:
            return None
        carried = np.zeros(len(state), dtype=bool)
        for name, slot in self.system.slots.items():
            carried[slot] = name in self.start and name not in self.system.edges
        moves: Array = np.where(carried[:, None], self.system.rigid(state), 0.0)[self.system.free]
        return moves

    def laid(self, state: Array) -> Array:
        """A free network moved as a whole to lie best on its start points."""
        return _laid_on(self.system, state, self.start) if self.free else state


@dataclass
class Finds:
    """The resting places of one group, each once."""

    group: Group
    sound: list[Rest] = field(default_factory=list)
    unsound: list[Rest] = field(default_factory=list)

    def add(self, places: Placing | Start) -> None:
        """Go down from these places and keep where it ends."""
        system = self.group.system
        state = linear.place(system, places)
        datum = self.group.datum(state)
        rest = descent.descend(system, state, datum, self.as_well, [other.state for other in self.sound])
        if rest is None:
            return
        rest = Rest(self.group.laid(rest.state), rest.chi2, rest.settled)
        if any(self._same(rest, other) for other in self.sound):
            return
        held = rest.settled and descent.held(system, rest.state, self.group.datum(rest.state))
        (self.sound if held else self.unsound).append(rest)

    def _same(self, one: Rest, other: Rest) -> bool:
        marks = (_fingerprint(self.group, rest.state) for rest in (one, other))
        return bool(np.abs(np.subtract(*marks)).max(initial=0.0) < descent.SAME_SPOT * self.group.system.size)

    @property
    def lowest(self) -> float:
        return min((rest.chi2 for rest in self.sound), default=math.inf)

    @property
    def unsound_best(self) -> float:
        return min((rest.chi2 for rest in self.unsound), default=math.inf)

    @property
    def as_well(self) -> float:
        """The chi2 up to which a spot fits as well as the best."""
        return self.lowest + AS_WELL * max(1.0, self.lowest / max(1, self.spare))

    @property
    def spare(self) -> int:
        """Readings beyond the number needed."""
        system = self.group.system
        return len(system.observations) - len(system.free) + (system.motions if self.group.free else 0)

    @property
    def fit(self) -> bool:
        """Whether something found is as near the readings as their sigmas allow."""
        allowed = chi_square_limit(self.spare, 0.999) if self.spare > 0 else 1e-6
        return min(self.lowest, self.unsound_best) <= allowed

    def ranked(self) -> list[Rest]:
        """Those that fit as well as the best, best first; the one nearest to the given start, if any, leads."""
        best = sorted((rest for rest in self.sound if rest.chi2 <= self.as_well), key=lambda rest: rest.chi2)
        meant = min(best, key=self._from_start)
        return [meant, *(rest for rest in best if rest is not meant)]

    def _from_start(self, rest: Rest) -> float:
        system, start = self.group.system, self.group.start
        points = [name for name in system.slots if name in start and name not in system.edges]
        apart = sum(math.dist(rest.state[system.slots[name]], start[name]) ** 2 for name in points)
        turns = [rest.state[system.slots[name]][0] - start[name][0] for name in system.edges.intersection(start)]
        return apart + sum((system.size * math.sin(turn / 2)) ** 2 for turn in turns)


def _laid_on(system: System, state: Array, start: Start) -> Array:
    """The whole moved so that the squares of the distances to the start points add up to least."""
    names = [name for name in system.slots if name in start and name not in system.edges]
    here = np.array([state[system.slots[name]] for name in names])
    there = np.array([start[name] for name in names], dtype=float)
    turn = np.eye(system.dimension)
    if not system.oriented:
        left, _, right = np.linalg.svd((here - here.mean(axis=0)).T @ (there - there.mean(axis=0)))
        flip = np.ones(system.dimension)
        flip[-1] = np.sign(np.linalg.det(left @ right)) or 1.0
        turn = (left * flip @ right).T
    shift = there.mean(axis=0) - turn @ here.mean(axis=0)
    moved = state.copy()
    for name, slot in system.slots.items():
        if name in system.edges:
            angle = state[slot][0] + math.atan2(turn[1, 0], turn[0, 0])
            moved[slot] = shifted((angle, float(state[slot][1])), True, shift)
        else:
            moved[slot] = turn @ state[slot] + shift
    return moved


def _fingerprint(group: Group, state: Array) -> Array:
    """Lengths that are equal for equal spots: whichever way an edge is run along, and in a free
    network also wherever the whole lies and whether it is seen from behind."""
    system = group.system
    points = [state[slot] for name, slot in system.slots.items() if name not in system.edges]
    lines = [state[slot] for name, slot in system.slots.items() if name in system.edges]
    normals = np.array([(-math.sin(angle), math.cos(angle)) for angle, _ in lines]).reshape(-1, 2)
    offsets = np.array([offset for _, offset in lines])
    if group.free and not system.oriented:
        at = np.array(points)
        apart = np.sqrt(((at[:, None] - at[None]) ** 2).sum(axis=2))
        heights = np.abs(at @ normals.T - offsets) if lines else np.zeros(0)
        return np.concatenate([apart.ravel(), heights.ravel()])
    twice = np.array([(math.cos(2 * angle), math.sin(2 * angle)) for angle, _ in lines]).ravel() * system.size
    return np.concatenate([*points, twice, (normals * offsets[:, None]).ravel()])
