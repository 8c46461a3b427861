"""How the features of a face lie: its two axes, which way each line runs, and on which side of it all else lies.

A line whose direction or side no word gives is taken as seems likeliest, and is named as assumed; `turning_over` tries
it the other way.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from journal.judge.chain import Link
from journal.judge.face import Face, Node, Tape
from journal.judge.record import tells_side
from journal.model.entities import Axis

ALONG, ACROSS = "taken as running along the face", "taken as running across the face"
ONE_SIDE = "all else taken as lying on one side of it"
EITHER = "all else taken as lying on one side of it, though the readings fit as well with it on the other"
BESIDE = " | "  # between a part's line and what may lie on either side of it

Plane = tuple[Axis | None, Axis | None]
Place = tuple[float, float]


class Course(NamedTuple):
    """A reading along an axis, for any way that its lines may come to lie.

    axis   0 or 1, or the line whose normal it was read along
    lines  those of its ends whose normal must be that axis, or the reading says nothing of them; "" for none
    sign   +1 or -1, of the side of line `of`; where that is "", of the reading itself
    told, either   as in `Link`
    """

    tape: Tape
    axis: int | str
    lines: tuple[str, str]
    sign: int
    of: str
    told: bool
    either: bool


@dataclass
class Lay:
    """Which way the lines of a face lie.

    normals  line -> 0 where its normal is u, 1 where it is v
    sides    line -> +1 or -1: on which side of it all else lies; of a part's line also for things of others, each
    assumed  line -> what was taken for granted
    courses  what every reading along an axis says
    nobody_knows  readings between a part's line and what may lie on either side of it, where no other reading tells
    """

    plane: Plane
    normals: dict[str, int]
    sides: dict[str, int]
    assumed: dict[str, str] = field(default_factory=dict)
    open_normals: list[str] = field(default_factory=list)
    open_sides: list[str] = field(default_factory=list)
    courses: list[Course] = field(default_factory=list)
    nobody_knows: set[str] = field(default_factory=set)


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


def likeliest(face: Face) -> Lay:
    """The likeliest way everything lies, by names alone."""
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
    found.courses = list(_courses(face, found))
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
    found.assumed[node.key] = ACROSS if node.end else ALONG
    found.open_normals.append(node.key)


def _side(node: Node, found: Lay) -> None:
    """On which side of a line all else lies: as its name says, else beyond the first and before the others."""
    if node.lies and node.axis in found.plane:
        found.sides[node.key] = node.lies
        return
    along = found.normals[node.key]
    earlier = [side for key, side in found.sides.items() if found.normals[key] == along]
    found.sides[node.key] = -earlier[0] if earlier else 1
    found.assumed[node.key] = "; ".join(filter(None, (found.assumed.get(node.key, ""), ONE_SIDE)))
    found.open_sides.append(node.key)


def is_straight(tape: Tape, face: Face) -> bool:
    """Whether it was read between two points, along no direction."""
    return tape.axis is None and face.nodes[tape.a].point and face.nodes[tape.b].point


def _courses(face: Face, found: Lay) -> Iterator[Course]:
    for tape in face.tapes:
        if is_straight(tape, face) or (tape.axis and tape.axis not in found.plane):
            continue
        a, b = face.nodes[tape.a], face.nodes[tape.b]
        axis = found.plane.index(tape.axis) if tape.axis else a.key if b.point else b.key
        lines = ("" if a.point or a.key == axis else a.key, "" if b.point or b.key == axis else b.key)
        sign, of = _sign(tape, a, b, face, found)
        either = BESIDE in of
        yield Course(tape, axis, lines, sign, of, not either and of not in found.open_sides, either)


def _sign(tape: Tape, a: Node, b: Node, face: Face, found: Lay) -> tuple[int, str]:
    """The sign of a reading, and on whose side it hangs: a line's, or a line's and what was measured from it."""
    if tape.sign:
        return tape.sign, ""
    ends = [(1, b, a), (-1, a, b)]
    lines = [(sign, line, other) for sign, line, other in ends if not line.point]
    telling = [(sign, line) for sign, line, other in lines if tells_side(line.owner, other.owner, face.host)]
    if telling:
        sign, line = min(telling, key=lambda end: (end[1].owner != face.host, end[1].key in found.open_sides))
        return sign, line.key
    sign, line, other = lines[0]
    return sign, _beside(line, other, found)


def _beside(line: Node, other: Node, found: Lay) -> str:
    """The key of the side of a part's line on which something of another lies; nothing tells which."""
    key = f"{line.key}{BESIDE}{other.key}"
    if key not in found.sides:
        found.sides[key] = found.sides[line.key]
    return key


def as_they_lie(courses: Sequence[Course], found: Lay) -> list[Link]:
    """What each reading says, as its lines lie now; without those that say nothing then."""
    normals, sides, along = found.normals, found.sides, []
    for tape, axis, (one, other), sign, of, told, either in courses:
        at = normals[axis] if isinstance(axis, str) else axis
        if (not one or normals[one] == at) and (not other or normals[other] == at):
            along.append(Link(tape, at, sign * sides[of] if of else sign, of, told, either))
    return along
