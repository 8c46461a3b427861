"""Which way the lines of a face lie where no word says: tried the other way, and turned where the readings then fit
clearly better."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Sequence
from functools import partial
from itertools import combinations

from journal.judge.chain import TOGETHER, Chain, Known, Link, in_order
from journal.judge.face import Face, Tape
from journal.judge.laying import ACROSS, ALONG, EITHER, ONE_SIDE, Course, Lay, as_they_lie, is_straight, likeliest

CAP = 50.0  # what a reading that does not fit counts at most; half of that where it is out by seven times its sigma
CLEARLY = 9.0  # so much better must the readings fit before a line is taken as lying the less likely way
MOST_TRIED = 8  # lines of one thing that are tried the other way
ROUGH = 1.0  # mm that places may be out before the sum, where there are many
ENOUGH = 2  # readings that agree where something lies, each of which would allow two places


def lay(face: Face) -> Lay:
    """How everything lies: as is likeliest, but for what no word settles where the readings fit clearly better turned.

    Where that is much, first the lines of the host are turned, by all readings; then those of each part, by its own.
    """
    found, order = likeliest(face), in_order(face)
    if len(found.open_sides) + len(found.open_normals) <= MOST_TRIED:
        _turn(found, found.open_sides, found.open_normals, partial(_cost, found.courses, found, order))
    else:
        _turn_by_owner(face, found, order)
    if any(course.either for course in found.courses):
        _turn_either(found, order)
    _say_what_is_open(face, found, order)
    return found


def links(face: Face, found: Lay) -> tuple[list[Link], list[Tape]]:
    """Readings along the axes, and straight distances between points; heights are in neither."""
    straight = [tape for tape in face.tapes if is_straight(tape, face) and tape.value > 0]
    along = [link for link in as_they_lie(found.courses, found) if link.tape.id not in found.nobody_knows]
    return along, straight


def _turn_by_owner(face: Face, found: Lay, order: Sequence[str]) -> None:
    of: defaultdict[str | None, tuple[list[str], list[str]]] = defaultdict(lambda: ([], []))
    for number, keys in enumerate((found.open_sides, found.open_normals)):
        for key in keys:
            of[face.nodes[key].owner][number].append(key)
    _turn(found, *of.pop(face.host, ([], [])), partial(_cost, found.courses, found, order, ROUGH))
    chain = Chain(order, as_they_lie(found.courses, found))
    known = chain.places_of(key for key, node in face.nodes.items() if node.owner == face.host)
    readings: defaultdict[str | None, list[Course]] = defaultdict(list)
    for course in found.courses:
        for owner in {face.nodes[course.tape.a].owner, face.nodes[course.tape.b].owner}:
            readings[owner].append(course)
    for part, (sides, normals) in of.items():
        _turn(found, sides, normals, partial(_cost, readings[part], found, order, ROUGH, known))


def _turn(found: Lay, sides: Sequence[str], normals: Sequence[str], cost: Callable[[], float]) -> None:
    """One by one, then sides by twos, and all that lie along an axis: two lines that are taken for one another fit
    only when both are turned."""
    sides, normals = sides[:MOST_TRIED], normals[:MOST_TRIED]
    best, before = cost(), math.inf
    while best >= CLEARLY and best < before:
        before = best
        for key in sides:
            best = _turned_over(found.sides, {key: -found.sides[key]}, best, cost)
        for key in normals:
            was, best = best, _turned_over(found.normals, {key: 1 - found.normals[key]}, best, cost)
            if best < was:
                found.assumed[key] = _the_other_way(found.assumed[key])
        if best == before:
            for keys in (*combinations(sides, 2), *_along_each(sides, found)):
                best = _turned_over(found.sides, {key: -found.sides[key] for key in keys}, best, cost)


def _the_other_way(assumed: str) -> str:
    now, before = (ALONG, ACROSS) if ACROSS in assumed else (ACROSS, ALONG)
    return assumed.replace(before, now)


def _say_what_is_open(face: Face, found: Lay, order: Sequence[str]) -> None:
    """Of lines of the host along an axis that has a direction: which may as well lie the other way."""
    told = {link.along for link in as_they_lie(found.courses, found) if link.told}
    lines = [key for key in found.open_sides if face.nodes[key].owner == face.host and found.normals[key] in told]
    lines = lines[:MOST_TRIED]
    if not lines:
        return
    cost, open_keys = partial(_cost, found.courses, found, order), set[str]()
    best = cost()
    for keys in (*((key,) for key in lines), *_along_each(lines, found)):
        if keys and _turned(found.sides, {key: -found.sides[key] for key in keys}, cost) < best + CLEARLY:
            open_keys.update(keys)
    found.assumed.update((key, found.assumed[key].replace(ONE_SIDE, EITHER)) for key in open_keys)


def _along_each(sides: Sequence[str], found: Lay) -> list[tuple[str, ...]]:
    """The lines that each of the two axes is the normal of."""
    return [tuple(key for key in sides if found.normals[key] == axis) for axis in (0, 1)]


def _turned_over(table: dict[str, int], other: dict[str, int], best: float, cost: Callable[[], float]) -> float:
    """The lower of the costs, with the lines left as they were unless the other way is clearly better."""
    now = _turned(table, other, cost)
    if now >= best - CLEARLY:
        return best
    table.update(other)
    return now


def _turned(table: dict[str, int], other: dict[str, int], cost: Callable[[], float]) -> float:
    """What the lines would cost the other way."""
    kept = {key: table[key] for key in other}
    table.update(other)
    now = cost()
    table.update(kept)
    return now


def _cost(
    courses: Sequence[Course], found: Lay, order: Sequence[str], rough: float = 0.0, known: Known = ({}, {})
) -> float:
    """How badly the readings along the axes fit; one that says nothing because its line runs the other way counts as
    much as one that is far out.

    rough  mm that places may be out before the sum      known  places that others say
    """
    along = as_they_lie(courses, found)
    chain = Chain(order, along, known)
    total = CAP * (len(courses) - len(along))
    for link in along:
        at, tape = chain.at[link.along], link.tape
        total += _counts(link.misfit(at[tape.a] - at[tape.b]) / math.hypot(tape.sigma, rough))
    return total


def _counts(normalised: float) -> float:
    """What a misfit counts: its square, but the further out the less more of it matters."""
    squared = normalised**2
    return squared / (1 + squared / CAP)


def _turn_either(found: Lay, order: Sequence[str]) -> None:
    """Of what may lie on either side of a part's line: where it lies by all other readings. Where these do not say, and
    no second one of the kind agrees, nobody knows."""
    along = as_they_lie(found.courses, found)
    firm, whole = Chain(order, [link for link in along if not link.either]), Chain(order, along)
    mains = [firm.main(axis) for axis in (0, 1)]
    counts: defaultdict[str, list[float]] = defaultdict(lambda: [0.0, 0.0])
    agreeing: defaultdict[tuple[int, str], set[str]] = defaultdict(set)
    hangs: dict[str, tuple[int, str]] = {}  # reading -> what hangs on it, and along which axis
    for link in along:
        if not link.either:
            continue
        tape, axis = link.tape, link.along
        ends = [firm.group[axis].get(key, key) for key in (tape.a, tape.b)]
        at = (firm if ends[0] == ends[1] else whole).at[axis]
        apart, sigma = at[tape.a] - at[tape.b], math.hypot(tape.sigma, ROUGH)
        counts[link.of][0] += _counts((apart - link.value) / sigma)
        counts[link.of][1] += _counts((apart + link.value) / sigma)
        if ends[0] != ends[1]:
            hangs[tape.id] = axis, ends[ends[0] == mains[axis]]
            if mains[axis] in ends and abs(link.misfit(apart)) <= TOGETHER:
                agreeing[hangs[tape.id]].add(link.of)
    for key, (as_is, turned) in counts.items():
        if turned < as_is - CLEARLY:
            found.sides[key] = -found.sides[key]
    found.nobody_knows = {id for id, what in hangs.items() if len(agreeing[what]) < ENOUGH}
