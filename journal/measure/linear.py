"""The readings as one system of equations in one row of numbers.

Imports numpy, so it is itself imported only when something is solved. All places here are about a centre near
the work, so that large map coordinates cost no digits.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from journal.measure.observations import (
    Angle,
    Directed,
    Direction,
    Distance,
    Fixed,
    Observation,
    Offset,
    axis_angle,
    direction_names,
    edges_of,
    names_of,
)

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Places = Mapping[str, Sequence[float]]


@dataclass(frozen=True, eq=False)
class Rows:
    """The readings of one kind: their rows, the state's columns they use, what was read."""

    rows: Index
    first: Index
    second: Index
    value: Array
    extra: Array


@dataclass(frozen=True, eq=False)
class System:
    """Readings between places kept in one state vector.

    slots    name -> where its numbers sit in the state
    state    the fixed numbers, nan where unknown
    size     a length typical of the work
    """

    observations: tuple[Observation, ...]
    dimension: int
    slots: Mapping[str, slice]
    edges: frozenset[str]
    state: Array
    size: float

    @cached_property
    def free(self) -> Index:
        """Columns of the unknown numbers."""
        return np.flatnonzero(np.isnan(self.state))

    @cached_property
    def sigma(self) -> Array:
        return np.array([item.sigma for item in self.observations])

    @cached_property
    def scale(self) -> Array:
        """A typical length for each column: an angle at `size` moves things as far as a shift of `size`."""
        scale = np.ones(len(self.state))
        for name in self.edges.intersection(self.slots):
            scale[self.slots[name].start] = 1 / self.size
        return scale

    @cached_property
    def row_scale(self) -> Array:
        """What makes a row of an angle comparable to one of a length."""
        return np.array([self.size if isinstance(item, Angle) else 1.0 for item in self.observations])

    @cached_property
    def distances(self) -> Rows:
        found = [(row, item) for row, item in enumerate(self.observations) if isinstance(item, Distance)]
        return self._rows([(row, item.a, item.b, item.value, ()) for row, item in found], 0)

    @cached_property
    def offsets(self) -> Rows:
        found = [(row, item) for row, item in enumerate(self.observations) if isinstance(item, Offset)]
        return self._rows([(row, item.point, item.edge, item.value, (item.side or 0,)) for row, item in found], 1)

    @cached_property
    def directed(self) -> Rows:
        found = [(row, item) for row, item in enumerate(self.observations) if isinstance(item, Directed)]
        entries = [(row, item.a, item.b, item.value, item.unit(self.dimension)) for row, item in found]
        return self._rows(entries, self.dimension)

    @cached_property
    def angles(self) -> list[tuple[int, Angle]]:
        return [(row, item) for row, item in enumerate(self.observations) if isinstance(item, Angle)]

    def _rows(self, entries: Sequence[tuple[int, str, str, float, tuple[float, ...]]], width: int) -> Rows:
        columns = np.arange(self.dimension)
        starts = np.array([(self.slots[a].start, self.slots[b].start) for _, a, b, _, _ in entries], dtype=np.intp)
        starts = starts.reshape(-1, 2)
        return Rows(
            np.array([entry[0] for entry in entries], dtype=np.intp),
            starts[:, :1] + columns,
            starts[:, 1:] + columns,
            np.array([entry[3] for entry in entries], dtype=float),
            np.array([entry[4] for entry in entries], dtype=float).reshape(len(entries), width),
        )

    def misfit(self, state: Array) -> Array:
        """Computed minus observed, in observation order."""
        return self.linearise(state, slopes=False)[0]

    def linearise(self, state: Array, slopes: bool = True) -> tuple[Array, Array]:
        """Computed minus observed, and its derivatives after every number of the state."""
        misfit = np.empty(len(self.observations))
        jacobian = np.zeros((len(self.observations), len(self.state) if slopes else 0))
        self._fill_distances(state, misfit, jacobian)
        self._fill_offsets(state, misfit, jacobian)
        self._fill_directed(state, misfit, jacobian)
        for row, item in self.angles:
            misfit[row] = self._angle(item, state, jacobian[row])
        return misfit, jacobian

    def _fill_distances(self, state: Array, misfit: Array, jacobian: Array) -> None:
        kind = self.distances
        apart = state[kind.second] - state[kind.first]
        length = np.maximum(np.sqrt((apart**2).sum(axis=1)), 1e-15 * self.size)
        misfit[kind.rows] = length - kind.value
        if jacobian.shape[1]:
            unit = apart / length[:, None]
            jacobian[kind.rows[:, None], kind.second] = unit
            jacobian[kind.rows[:, None], kind.first] = -unit

    def _fill_offsets(self, state: Array, misfit: Array, jacobian: Array) -> None:
        kind = self.offsets
        if not len(kind.rows):
            return
        point, (angle, offset) = state[kind.first], state[kind.second].T
        direction = np.stack([np.cos(angle), np.sin(angle)], axis=1)
        normal = np.stack([-direction[:, 1], direction[:, 0]], axis=1)
        height = (normal * point).sum(axis=1) - offset
        side = np.where(kind.extra[:, 0] == 0, np.where(height < 0, -1.0, 1.0), kind.extra[:, 0])
        misfit[kind.rows] = side * height - kind.value
        if jacobian.shape[1]:
            jacobian[kind.rows[:, None], kind.first] = side[:, None] * normal
            jacobian[kind.rows, kind.second[:, 0]] = -side * (direction * point).sum(axis=1)
            jacobian[kind.rows, kind.second[:, 1]] = -side

    def _fill_directed(self, state: Array, misfit: Array, jacobian: Array) -> None:
        kind = self.directed
        misfit[kind.rows] = (kind.extra * (state[kind.second] - state[kind.first])).sum(axis=1) - kind.value
        if jacobian.shape[1]:
            jacobian[kind.rows[:, None], kind.second] = kind.extra
            jacobian[kind.rows[:, None], kind.first] = -kind.extra

    def _angle(self, item: Angle, state: Array, row: Array) -> float:
        turn = self._direction(item.subject, state, row, 1.0) - self._direction(item.reference, state, row, -1.0)
        whole = math.tau if item.sense == "turn" else math.pi
        miss = math.remainder(turn - item.value, whole)
        if item.sense == "either":
            other = math.remainder(turn + item.value, whole)
            if abs(other) < abs(miss):
                row *= -1.0
                return -other
        return miss

    def _direction(self, direction: Direction, state: Array, row: Array, sign: float) -> float:
        names = direction_names(direction)
        if not names:
            return axis_angle(direction)
        if len(names) == 1:
            if row.size:
                row[self.slots[names[0]].start] += sign
            return float(state[self.slots[names[0]].start])
        first, second = (self.slots[name] for name in names)
        x, y = state[second] - state[first]
        if row.size:
            across = sign * np.array([-y, x]) / max(x * x + y * y, (1e-15 * self.size) ** 2)
            row[second] += across
            row[first] -= across
        return math.atan2(y, x)

    def bend(self, state: Array, pull: Array) -> Array:
        """How the slopes of the readings turn as the state moves, weighted by `pull` and added up: what Gauss-Newton
        leaves out of the second derivatives. Of distances and offsets; that of an angle is small beside them."""
        total = np.zeros((len(state), len(state)))
        kind = self.distances
        apart = state[kind.second] - state[kind.first]
        length = np.maximum(np.sqrt((apart**2).sum(axis=1)), 1e-15 * self.size)[:, None, None]
        across = np.eye(self.dimension) - apart[:, :, None] * apart[:, None, :] / length**2
        block = pull[kind.rows][:, None, None] * across / length
        for rows, columns, sign in ((0, 0, 1), (1, 1, 1), (0, 1, -1), (1, 0, -1)):
            ends = (kind.first, kind.second)
            np.add.at(total, (ends[rows][:, :, None], ends[columns][:, None, :]), sign * block)
        for row, item in enumerate(self.observations):
            if isinstance(item, Offset):
                self._bend_offset(item, state, pull[row], total)
        return total

    def _bend_offset(self, item: Offset, state: Array, pull: float, total: Array) -> None:
        point, edge = self.slots[item.point], self.slots[item.edge]
        angle, offset = state[edge]
        direction = np.array([math.cos(angle), math.sin(angle)])
        level = float(state[point] @ np.array([-direction[1], direction[0]]))
        side = item.side or (-1 if level < offset else 1)
        total[edge.start, edge.start] -= pull * side * level
        total[edge.start, point] -= pull * side * direction
        total[point, edge.start] -= pull * side * direction

    def rigid(self, state: Array) -> Array:
        """One column for each motion of the whole that no reading can see: shifts, and turns if nothing
        is held to an axis."""
        moves = [self._shift(state, axis) for axis in range(self.dimension)]
        if not self.oriented:
            planes = [(0, 1)] if self.dimension == 2 else [(0, 1), (1, 2), (2, 0)]
            moves += [self._turn(state, *plane) for plane in planes]
        return np.stack(moves, axis=1)

    @property
    def motions(self) -> int:
        """How many motions of the whole no reading can see."""
        turns = 0 if self.oriented else self.dimension * (self.dimension - 1) // 2
        return self.dimension + turns

    @cached_property
    def oriented(self) -> bool:
        """Whether a reading is held to an axis."""
        return any(
            isinstance(item, Directed)
            or (isinstance(item, Angle) and not (direction_names(item.subject) and direction_names(item.reference)))
            for item in self.observations
        )

    def _shift(self, state: Array, axis: int) -> Array:
        move = np.zeros(len(state))
        for name, slot in self.slots.items():
            if name in self.edges:
                move[slot.start + 1] = (-math.sin(state[slot.start]), math.cos(state[slot.start]))[axis]
            else:
                move[slot.start + axis] = 1.0
        return move

    def _turn(self, state: Array, axis: int, towards: int) -> Array:
        move = np.zeros(len(state))
        for name, slot in self.slots.items():
            if name in self.edges:
                move[slot.start] = 1.0
            else:
                move[slot.start + axis] = -state[slot.start + towards]
                move[slot.start + towards] = state[slot.start + axis]
        return move


def build(observations: Sequence[Observation], fixed: Fixed, dimension: int, size: float) -> System:
    """The system of some readings; every name they use gets its slot."""
    edges = edges_of(observations)
    slots: dict[str, slice] = {}
    numbers: list[float] = []
    for name in dict.fromkeys(name for item in observations for name in names_of(item)):
        width = 2 if name in edges else dimension
        slots[name] = slice(len(numbers), len(numbers) + width)
        given = fixed.get(name, (None,) * width)
        numbers += [math.nan if number is None else float(number) for number in given]
    return System(tuple(observations), dimension, slots, edges, np.array(numbers), size)


def place(system: System, places: Places) -> Array:
    """A state with the unknown numbers taken from `places`."""
    state = system.state.copy()
    for name, slot in system.slots.items():
        unknown = np.isnan(state[slot])
        if unknown.any():
            state[slot] = np.where(unknown, np.asarray(places[name], dtype=float), state[slot])
    return state


def read_out(system: System, state: Array) -> dict[str, tuple[float, ...]]:
    """The places of a state."""
    return {name: tuple(map(float, state[slot])) for name, slot in system.slots.items()}
