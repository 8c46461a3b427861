"""How the features of a face lie: its two axes, which way each line runs, and what adds up along them.

A line whose direction or side no word gives is taken as seems likeliest, unless the
readings fit clearly better the other way, and is named as assumed.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict, deque
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import NamedTuple

from journal.judge.face import Face, Node, Tape
from journal.model.entities import Axis

CAP = 25.0  # a misfit of five standard uncertainties and more counts no further
CLEARLY = 9.0  # so much better must the readings fit before a line is taken as lying the less likely way
MOST_TRIED = 8  # lines that are tried the other way

Plane = tuple[Axis | None, Axis | None]
Place = tuple[float, float]


class Link(NamedTuple):
    """A reading along one of the face's axes: place of a less place of b is `value` mm (signed)."""

    tape: Tape
    along: int
    sign: int

    @property
    def value(self) -> float:
        return self.sign * self.tape.value


@dataclass
class Lay:
    """Which way the lines of a face lie.

    normals  line -> 0 where its normal is u, 1 where it is v
    sides    line -> +1 or -1: on which side of it all else lies
    assumed  line -> what was taken for granted
    """

    plane: Plane
    normals: dict[str, int]
    sides: dict[str, int]
    assumed: dict[str, str] = field(default_factory=dict)
    open_normals: list[str] = field(default_factory=list)
    open_sides: list[str] = field(default_factory=list)


def plane_of(face: Face) -> Plane:
    """The two axes of the face: those its name leaves, else the two that its readings use most."""
    used: Counter[Axis] = Counter()
    for tape in face.tapes:
        axis = tape.axis or face.nodes[tape.b].axis or face.nodes[tape.a].axis
        if axis and axis != face.normal:
            used[axis] += 1
    ranked = sorted(used, key=lambda axis: (-used[axis], axis))[:2]
    if len(ranked) == 2:
        u, v = sorted(ranked)
        return u, v
    if face.normal:
        u, v = (axis for axis in ("x", "y", "z") if axis != face.normal)
        return u, v
    only = ranked[0] if ranked else None
    return (only, None) if only == "x" else (None, only)


def lay(face: Face) -> Lay:
    """The likeliest way everything lies."""
    plane = plane_of(face)
    found = Lay(plane, {}, {})
    lines = [node for node in face.nodes.values() if not node.point]
    for node in lines:
        _known_normal(node, lines, found)
    _tie(face, found)
    for node in lines:
        if node.key not in found.normals:
            _square_to(node, lines, found)
    for node in lines:
        if node.key not in found.normals:
            _take(node, found)
    _tie(face, found)
    for node in lines:
        _side(node, found)
    _try_others(face, found)
    return found


def _known_normal(node: Node, lines: Sequence[Node], found: Lay) -> None:
    words = set(node.words.split())
    fuller = {n.axis for n in lines if n.owner == node.owner and words < set(n.words.split())} - {None}
    axis = node.axis or (fuller.pop() if len(fuller) == 1 else None)
    if axis in found.plane and axis is not None:
        found.normals[node.key] = found.plane.index(axis)


def _tie(face: Face, found: Lay) -> None:
    """What the host's own slip says: `seam parallel to flange edge`."""
    for a, b, parallel in face.ties:
        for one, other in ((a, b), (b, a)):
            if one in found.normals and other in face.nodes and other not in found.normals:
                found.normals[other] = found.normals[one] if parallel else 1 - found.normals[one]


def _square_to(node: Node, lines: Sequence[Node], found: Lay) -> None:
    """Ends are square to the lines of the same thing that are none."""
    others = {
        found.normals[n.key] for n in lines if n.owner == node.owner and n.end != node.end and n.key in found.normals
    }
    if len(others) == 1:
        found.normals[node.key] = 1 - others.pop()
        found.assumed[node.key] = "taken as square to the ends" if not node.end else "taken as square to the edges"


def _take(node: Node, found: Lay) -> None:
    """A line of which nothing says how it runs."""
    blank = found.plane.index(None) if None in found.plane else 1
    blank = 1 if found.plane == (None, None) else blank
    found.normals[node.key] = 1 - blank if node.end else blank
    found.assumed[node.key] = f"taken as running {'across' if node.end else 'along'} the face"
    found.open_normals.append(node.key)


def _side(node: Node, found: Lay) -> None:
    """On which side of a line all else lies: as its name says, else beyond the first and before the others."""
    if node.lies and node.axis in found.plane:
        found.sides[node.key] = node.lies
        return
    along = found.normals[node.key]
    earlier = [side for key, side in found.sides.items() if found.normals[key] == along]
    found.sides[node.key] = -earlier[0] if earlier else 1
    said = "all else taken as lying on one side of it"
    found.assumed[node.key] = "; ".join(filter(None, (found.assumed.get(node.key, ""), said)))
    found.open_sides.append(node.key)


class Course(NamedTuple):
    """A reading along an axis, for any way that its lines may come to lie.

    axis   0 or 1, or the line whose normal it was read along
    lines  those of its ends whose normal must be that axis, or the reading says nothing of them; "" for none
    sign   +1 or -1, of the side of line `of`; where that is "", of the reading itself
    """

    tape: Tape
    axis: int | str
    lines: tuple[str, str]
    sign: int
    of: str


def links(face: Face, found: Lay) -> tuple[list[Link], list[Tape]]:
    """Readings along the axes, and straight distances between points; heights are in neither."""
    straight = [tape for tape in face.tapes if _is_straight(tape, face) and tape.value > 0]
    return _as_they_lie(list(_courses(face, found)), found), straight


def _is_straight(tape: Tape, face: Face) -> bool:
    return tape.axis is None and face.nodes[tape.a].point and face.nodes[tape.b].point


def _courses(face: Face, found: Lay) -> Iterator[Course]:
    """Needs to know which sides are open."""
    for tape in face.tapes:
        if _is_straight(tape, face) or (tape.axis and tape.axis not in found.plane):
            continue
        a, b = face.nodes[tape.a], face.nodes[tape.b]
        axis = found.plane.index(tape.axis) if tape.axis else a.key if b.point else b.key
        lines = ("" if a.point or a.key == axis else a.key, "" if b.point or b.key == axis else b.key)
        yield Course(tape, axis, lines, *_sign(tape, a, b, found))


def _sign(tape: Tape, a: Node, b: Node, found: Lay) -> tuple[int, str]:
    if tape.sign:
        return tape.sign, ""
    if not b.point and (a.point or b.key not in found.open_sides or a.key in found.open_sides):
        return 1, b.key
    return -1, a.key


def _as_they_lie(courses: Sequence[Course], found: Lay) -> list[Link]:
    normals, sides, along = found.normals, found.sides, []
    for tape, axis, (one, other), sign, of in courses:
        at = normals[axis] if isinstance(axis, str) else axis
        if (not one or normals[one] == at) and (not other or normals[other] == at):
            along.append(Link(tape, at, sign * sides[of] if of else sign))
    return along


def _try_others(face: Face, found: Lay) -> None:
    """Turn over what no word settles where the readings then fit clearly better."""
    if not (found.open_normals or found.open_sides):
        return
    cost = partial(_cost, list(_courses(face, found)), found, in_order(face))
    best, before = cost(), math.inf
    while best >= CLEARLY and best < before:
        before = best
        for key in found.open_sides[:MOST_TRIED]:
            best = _turned_over(found.sides, key, -found.sides[key], best, cost)
        for key in found.open_normals[:MOST_TRIED]:
            best = _turned_over(found.normals, key, 1 - found.normals[key], best, cost)


def _turned_over(table: dict[str, int], key: str, other: int, best: float, cost: Callable[[], float]) -> float:
    """The lower of the costs, with the line left as it was unless the other way is clearly better."""
    kept, table[key] = table[key], other
    now = cost()
    if now < best - CLEARLY:
        return now
    table[key] = kept
    return best


def _cost(courses: Sequence[Course], found: Lay, order: Sequence[str]) -> float:
    """How badly the readings along the axes fit, each counted to five uncertainties at most."""
    along = _as_they_lie(courses, found)
    chain = Chain(order, along)
    total = 0.0
    for tape, axis, sign in along:
        at = chain.at[axis]
        if tape.a in at and tape.b in at:
            total += min(CAP, ((at[tape.a] - at[tape.b] - sign * tape.value) / tape.sigma) ** 2)
    return total


def in_order(face: Face) -> list[str]:
    """Its features: those of the host first, lines before points."""
    nodes = sorted(face.nodes.values(), key=lambda node: (node.owner != face.host, node.point))
    return [node.key for node in nodes]


class Chain:
    """Places along each axis, added up from feature to feature.

    at     for each axis: name -> mm from the first of what it hangs together with
    group  for each axis: name -> the first of what it hangs together with
    """

    def __init__(self, order: Sequence[str], along: Sequence[Link]) -> None:
        """`order` is that of `in_order`."""
        self.at: tuple[dict[str, float], dict[str, float]] = ({}, {})
        self.group: tuple[dict[str, str], dict[str, str]] = ({}, {})
        self.beside: tuple[defaultdict[str, list[tuple[str, float]]], ...] = (defaultdict(list), defaultdict(list))
        for tape, axis, sign in along:
            beside, value = self.beside[axis], sign * tape.value
            beside[tape.a].append((tape.b, -value))
            beside[tape.b].append((tape.a, value))
        for axis in (0, 1):
            for key in order:
                if key in self.beside[axis] and key not in self.at[axis]:
                    self._walk(axis, key, 0.0)

    def _walk(self, axis: int, first: str, start: float) -> None:
        at, group = self.at[axis], self.group[axis]
        at[first], group[first] = start, first
        queue = deque([first])
        while queue:
            name = queue.popleft()
            for other, step in self.beside[axis][name]:
                if other not in at:
                    at[other], group[other] = at[name] + step, first
                    queue.append(other)

    def main(self, axis: int) -> str | None:
        """The first of the largest group along an axis."""
        sizes = Counter(self.group[axis].values())
        return max(sizes, key=lambda first: sizes[first], default=None)
