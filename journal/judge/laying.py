"""How the features of a face lie: its two axes, which way each line runs, and about where everything is.

Along a known direction readings add up, so starting places are found by walking from feature to feature; straight
distances place what is left. A line whose direction or side no word gives is taken as seems likeliest, unless the
readings fit clearly better the other way, and is named as assumed.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict, deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from journal.judge.face import Face, Node, Tape
from journal.model.entities import Axis

CAP = 25.0  # a misfit of five standard uncertainties and more counts no further
CLEARLY = 9.0  # so much better must the readings fit before a line is taken as lying the less likely way
MEETS = 1.05  # circles that miss each other by so much do not meet (a start only: the sum may still refuse)
MOST_TRIED = 8  # lines that are tried the other way

Plane = tuple[Axis | None, Axis | None]
Place = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Link:
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
        _known_normal(face, node, lines, found)
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


def _known_normal(face: Face, node: Node, lines: Sequence[Node], found: Lay) -> None:
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


def links(face: Face, found: Lay) -> tuple[list[Link], list[Tape]]:
    """Readings along the axes, and straight distances between points; heights are in neither."""
    along: list[Link] = []
    straight: list[Tape] = []
    for tape in face.tapes:
        a, b = face.nodes[tape.a], face.nodes[tape.b]
        if tape.axis is None and a.point and b.point:
            if tape.value > 0:
                straight.append(tape)
            continue
        at = _axis(tape, a, b, found)
        if at is not None and not _askew(a, at, found) and not _askew(b, at, found):
            along.append(Link(tape, at, _sign(tape, a, b, found)))
    return along, straight


def _axis(tape: Tape, a: Node, b: Node, found: Lay) -> int | None:
    if tape.axis is not None:
        if tape.axis in found.plane:
            return found.plane.index(tape.axis)
        return None
    return found.normals[b.key] if not b.point else found.normals[a.key]


def _askew(node: Node, along: int, found: Lay) -> bool:
    """Whether a line runs along the direction it is measured in: then the reading says nothing of it."""
    return not node.point and found.normals[node.key] != along


def _sign(tape: Tape, a: Node, b: Node, found: Lay) -> int:
    if tape.sign:
        return tape.sign
    if not b.point and (a.point or b.key not in found.open_sides or a.key in found.open_sides):
        return found.sides[b.key]
    return -found.sides[a.key]


def _try_others(face: Face, found: Lay) -> None:
    """Turn over what no word settles where the readings then fit clearly better."""
    best, before = _cost(face, found) if found.open_normals or found.open_sides else 0.0, math.inf
    while best >= CLEARLY and best < before:
        before = best
        for key in found.open_sides[:MOST_TRIED]:
            best = _turned_over(face, found, found.sides, key, -found.sides[key], best)
        for key in found.open_normals[:MOST_TRIED]:
            best = _turned_over(face, found, found.normals, key, 1 - found.normals[key], best)


def _turned_over(face: Face, found: Lay, table: dict[str, int], key: str, other: int, best: float) -> float:
    """The lower of the costs, with the line left as it was unless the other way is clearly better."""
    kept, table[key] = table[key], other
    now = _cost(face, found)
    if now < best - CLEARLY:
        return now
    table[key] = kept
    return best


def _cost(face: Face, found: Lay) -> float:
    """How badly the readings along the axes fit, each counted to five uncertainties at most."""
    along, _ = links(face, found)
    chain = Chain(face, along)
    total = 0.0
    for link in along:
        a, b = chain.at[link.along].get(link.tape.a), chain.at[link.along].get(link.tape.b)
        if a is not None and b is not None:
            total += min(CAP, ((a - b - link.value) / link.tape.sigma) ** 2)
    return total


class Chain:
    """Places along each axis, added up from feature to feature.

    at     for each axis: name -> mm from the first of what it hangs together with
    group  for each axis: name -> the first of what it hangs together with
    """

    def __init__(self, face: Face, along: Sequence[Link]) -> None:
        self.at: tuple[dict[str, float], dict[str, float]] = ({}, {})
        self.group: tuple[dict[str, str], dict[str, str]] = ({}, {})
        self.beside: tuple[defaultdict[str, list[tuple[str, float]]], ...] = (defaultdict(list), defaultdict(list))
        for link in along:
            self.beside[link.along][link.tape.a].append((link.tape.b, -link.value))
            self.beside[link.along][link.tape.b].append((link.tape.a, link.value))
        order = sorted(face.nodes.values(), key=lambda node: (node.owner != face.host, node.point))
        for axis in (0, 1):
            for node in order:
                if node.key in self.beside[axis] and node.key not in self.at[axis]:
                    self._walk(axis, node.key, 0.0)

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


@dataclass
class Placed:
    """Where everything is, about.

    chain   what hangs together along each axis
    places  name -> (u, v), None where nothing says; the rest hangs on `fixed`
    fixed   name -> numbers that were chosen, None where the readings say
    choices points of which a straight distance leaves two places: name -> the other one
    """

    chain: Chain
    places: dict[str, list[float | None]]
    fixed: dict[str, list[float | None]]
    choices: dict[str, Place] = field(default_factory=dict)
    straight: list[Tape] = field(default_factory=list)

    def whole(self, name: str) -> Place | None:
        """Both numbers of a place, where both are known."""
        u, v = self.places[name]
        return None if u is None or v is None else (u, v)


def placed(face: Face, found: Lay, along: Sequence[Link], straight: Sequence[Tape]) -> Placed:
    """Starting places for everything that the readings hold against the first edge, and what they start from."""
    chain = Chain(face, along)
    mains = [chain.main(axis) for axis in (0, 1)]
    result = Placed(chain, {key: [None, None] for key in face.nodes}, {})
    for axis in (0, 1):
        for name, first in chain.group[axis].items():
            if first == mains[axis]:
                result.places[name][axis] = chain.at[axis][name]
    _gauge(face, found, along, straight, result, mains)
    _by_distances(face, chain, straight, result)
    return result


def _gauge(
    face: Face,
    found: Lay,
    along: Sequence[Link],
    straight: Sequence[Tape],
    result: Placed,
    mains: Sequence[str | None],
) -> None:
    """Where the sum starts: the first lines are the axes; without lines the first two points."""
    for axis in (0, 1):
        first = mains[axis] or next(
            (t.b for t in straight if not mains[1 - axis] or _known(result, t.b, 1 - axis)), None
        )
        first = first or next((t.b for t in straight), None)
        if first is not None:
            result.places[first][axis] = 0.0
            result.fixed.setdefault(first, [None, None])[axis] = 0.0
    if not along and straight:
        tape = straight[0]
        result.places[tape.a] = [tape.value, 0.0]
        result.fixed.setdefault(tape.a, [None, None])[1] = 0.0
        result.straight.append(tape)


def _known(result: Placed, name: str, axis: int) -> bool:
    return result.places[name][axis] is not None


def _by_distances(face: Face, chain: Chain, straight: Sequence[Tape], result: Placed) -> None:
    """Place points by straight distances, one after another, each as soon as enough is placed round it."""
    beside: defaultdict[str, list[tuple[str, Tape]]] = defaultdict(list)
    for tape in straight:
        beside[tape.a].append((tape.b, tape))
        beside[tape.b].append((tape.a, tape))
    again = True
    while again:
        again = False
        for name in beside:
            at = result.places[name]
            if None not in at:
                continue
            ties = [(result.whole(other), tape) for other, tape in beside[name]]
            known = [(spot, tape.value, tape) for spot, tape in ties if spot is not None]
            spots = list(_crossings(at, [(spot, value) for spot, value, _ in known]))
            if not spots:
                continue
            _settle_on(chain, result, name, _ranked(spots, [(s, v) for s, v, _ in known]))
            again = True
    for tape in straight:
        ends = result.whole(tape.a), result.whole(tape.b)
        if None not in ends and tape not in result.straight:
            result.straight.append(tape)


def _ranked(spots: Sequence[Place], known: Sequence[tuple[Place, float]]) -> list[Place]:
    """The spots, the one that fits all distances best first; of equal ones the further up and to the right."""

    def miss(spot: Place) -> float:
        return sum(abs(math.dist(spot, centre) - value) for centre, value in known)

    return sorted(spots, key=lambda spot: (round(miss(spot), 6), -spot[1], -spot[0]))


def _settle_on(chain: Chain, result: Placed, name: str, spots: Sequence[Place]) -> None:
    if len(spots) > 1:
        result.choices[name] = spots[1]
    for axis in (0, 1):
        if result.places[name][axis] is None:
            _spread(chain, result, axis, name, spots[0][axis])


def _spread(chain: Chain, result: Placed, axis: int, name: str, here: float) -> None:
    """A point that is placed along an axis takes along all that hangs together with it there."""
    result.places[name][axis] = here
    group = chain.group[axis].get(name)
    if group is None:
        return
    shift = here - chain.at[axis][name]
    for other, first in chain.group[axis].items():
        if first == group and result.places[other][axis] is None:
            result.places[other][axis] = chain.at[axis][other] + shift


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
