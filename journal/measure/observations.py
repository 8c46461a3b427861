"""Readings as the least squares see them: numbers between named points and edges; and what may be wrong.

Lengths are in any one unit (millimetres in this tool), angles in radians, anticlockwise from +x towards +y.
An edge is an endless straight line, two numbers: the angle of its direction, and its offset c. With the
direction (cos a, sin a) its left-hand normal is n = (-sin a, cos a), and the line is all p with n·p = c. A point
lies on the left of the edge where n·p - c is positive.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from journal.ground.records import record

Axis = str | tuple[float, ...]
Direction = str | tuple[str, str] | tuple[float, float]
Fixed = Mapping[str, Sequence[float | None]]
FaultKind = Literal["bad-input", "too-few", "identical", "cannot-meet", "not-held", "not-found"]

AXES: dict[str, tuple[float, ...]] = {"x": (1.0, 0.0, 0.0), "y": (0.0, 1.0, 0.0), "z": (0.0, 0.0, 1.0)}


class NetworkFault(ValueError):
    """Why there is no answer, in a plain sentence.

    kind    "bad-input", "too-few" (readings), "identical" (points), "cannot-meet" (readings),
            "not-held" (enough readings, which do not hold it where they put it), "not-found" (the search
            through many sides and turns came to no end that fits)
    names   the points and edges it is about; without them the rest may be solvable
    """

    def __init__(self, kind: FaultKind, message: str, names: Iterable[str] = ()) -> None:
        super().__init__(message)
        self.kind = kind
        self.names = tuple(names)


@record
class Distance:
    """Straight distance between two points, in the plane or in space."""

    a: str
    b: str
    value: float
    sigma: float


@record
class Offset:
    """Square distance from a point to an edge, never negative.

    side   +1 the point lies on the left of the edge's direction, -1 on its right, None: both are tried
    """

    point: str
    edge: str
    value: float
    sigma: float
    side: int | None = None


@record
class Directed:
    """How far b lies beyond a along an axis: value = axis·(b - a), negative where b lies behind a.

    axis   "x", "y", "z" or a direction as numbers (made a unit vector)
    """

    a: str
    b: str
    axis: Axis
    value: float
    sigma: float

    def unit(self, dimension: int) -> tuple[float, ...]:
        """The axis as a unit vector."""
        numbers = AXES[self.axis][:dimension] if isinstance(self.axis, str) else self.axis
        length = math.hypot(*numbers)
        return tuple(number / length for number in numbers)


@record
class Angle:
    """The turn from the reference's direction to the subject's, in radians, anticlockwise.

    subject, reference   an edge's name, a pair of point names (the direction from the first to the second),
                         "x", "y", or a direction as two numbers
    sense   "turn": the directions have a front, compared over the whole turn;
            "line": they have none, compared over half a turn (square to is pi/2, parallel to is 0);
            "either": as "line", and the reading does not say which way round it was taken
    """

    subject: Direction
    reference: Direction
    value: float
    sigma: float
    sense: Literal["turn", "line", "either"] = "turn"


Observation = Distance | Offset | Directed | Angle


def direction_names(direction: Direction) -> tuple[str, ...]:
    """The points or the edge a direction hangs on; none for an axis."""
    if isinstance(direction, str):
        return () if direction in AXES else (direction,)
    return tuple(part for part in direction if isinstance(part, str))


def axis_angle(direction: Direction) -> float:
    """The angle of a direction that names nothing."""
    x, y = AXES[direction][:2] if isinstance(direction, str) else direction
    return math.atan2(float(y), float(x))


def names_of(observation: Observation) -> tuple[str, ...]:
    """Every point and edge a reading touches."""
    match observation:
        case Distance(a, b) | Directed(a, b):
            return (a, b)
        case Offset(point, edge):
            return (point, edge)
        case Angle(subject, reference):
            return direction_names(subject) + direction_names(reference)


def edges_of(observations: Iterable[Observation]) -> frozenset[str]:
    """The names that stand for edges; all others are points."""
    names: set[str] = set()
    for item in observations:
        if isinstance(item, Offset):
            names.add(item.edge)
        elif isinstance(item, Angle):
            names |= {part[0] for part in map(direction_names, (item.subject, item.reference)) if len(part) == 1}
    return frozenset(names)


def _points_of(observation: Observation) -> tuple[str, ...]:
    if isinstance(observation, Offset):
        return (observation.point,)
    return tuple(name for name in names_of(observation) if name not in edges_of([observation]))


def describe(observation: Observation) -> str:
    """A reading in words, for a fault's sentence."""
    match observation:
        case Distance(a, b, value):
            return f"'{a}' to '{b}' {value:g}"
        case Offset(point, edge, value):
            return f"'{point}' to edge '{edge}' {value:g}"
        case Directed(a, b, axis, value):
            return f"'{a}' to '{b}' along {axis} {value:g}"
        case Angle(_, _, value):
            named = " and ".join(f"'{name}'" for name in names_of(observation))
            return f"angle of {named} {math.degrees(value):g}°"


def dimension_of(fixed: Fixed, start: Fixed, edges: frozenset[str]) -> int:
    """2 or 3, by the coordinates given."""
    lengths = {len(place) for given in (fixed, start) for name, place in given.items() if name not in edges}
    if len(lengths) > 1 or not lengths <= {2, 3}:
        raise NetworkFault("bad-input", "Places must be all of two numbers (x, y) or all of three (x, y, z).")
    return max(lengths, default=2)


def check(observations: Sequence[Observation], fixed: Fixed, dimension: int) -> None:
    """Raise NetworkFault for what no calculation should start from."""
    edges = edges_of(observations)
    for item in observations:
        _check_reading(item)
        if mixed := edges.intersection(_points_of(item)):
            raise NetworkFault("bad-input", f"'{min(mixed)}' is used as a point and as an edge.", mixed)
        if dimension == 3 and not isinstance(item, Distance | Directed):
            raise NetworkFault("bad-input", f"{describe(item)}: in space only distances between points are used.")
        if isinstance(item, Directed):
            _check_axis(item, dimension)
    for name in edges.intersection(fixed):
        if len(fixed[name]) != 2 or fixed[name][0] is None:
            raise NetworkFault("bad-input", f"Edge '{name}' is fixed by its angle, or by angle and offset.", [name])
    _check_identical(observations, fixed, edges)


def _check_reading(item: Observation) -> None:
    if not (math.isfinite(item.value) and math.isfinite(item.sigma) and item.sigma > 0):
        raise NetworkFault("bad-input", f"{describe(item)}: value and sigma must be numbers, sigma above 0.")
    if isinstance(item, Distance) and item.value <= 0:
        raise NetworkFault("bad-input", f"{describe(item)}: a distance must be above 0.", names_of(item))
    if isinstance(item, Offset) and (item.value < 0 or item.side not in (1, -1, None)):
        raise NetworkFault("bad-input", f"{describe(item)}: a distance is 0 or more, its side +1, -1 or None.")
    if isinstance(item, Distance | Directed) and item.a == item.b:
        raise NetworkFault("identical", f"{describe(item)}: a point is measured to itself.", [item.a])
    if isinstance(item, Angle):
        _check_angle(item)


def _check_angle(item: Angle) -> None:
    if item.sense not in ("turn", "line", "either"):
        raise NetworkFault("bad-input", f"{describe(item)}: its sense is 'turn', 'line' or 'either'.")
    for direction in (item.subject, item.reference):
        if isinstance(direction, str):
            continue
        if len(direction) != 2 or direction[0] == direction[1] == 0 or len(direction_names(direction)) == 1:
            raise NetworkFault("bad-input", f"{describe(item)}: a direction is an edge, two points or an axis.")
        if len(direction_names(direction)) == 2 and direction[0] == direction[1]:
            raise NetworkFault("identical", f"{describe(item)}: a line wants two points.", [str(direction[0])])
    if item.subject == item.reference:
        raise NetworkFault("identical", f"{describe(item)}: an edge is measured against itself.", names_of(item))


def _check_axis(item: Directed, dimension: int) -> None:
    known = item.axis in ("x", "y", "z")[:dimension] if isinstance(item.axis, str) else len(item.axis) == dimension
    if not known or (not isinstance(item.axis, str) and not math.hypot(*item.axis) > 0):
        raise NetworkFault("bad-input", f"{describe(item)}: no such axis.", names_of(item))


def _check_identical(observations: Sequence[Observation], fixed: Fixed, edges: frozenset[str]) -> None:
    used = {name for item in observations for name in names_of(item)} - edges
    seen: dict[tuple[float | None, ...], str] = {}
    for name in fixed:
        if name not in used or None in fixed[name]:
            continue
        other = seen.setdefault(tuple(fixed[name]), name)
        if other != name:
            raise NetworkFault("identical", f"'{other}' and '{name}' are at the same place.", [other, name])
