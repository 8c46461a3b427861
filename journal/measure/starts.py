"""Where to start looking: places built up from what is known, one point or edge after another.

Each reading to something already placed leaves a point on a circle or a line; where two cross it may be. All
crossings are kept side by side, the ones that fit the further readings best, so that every spot the readings
allow is tried. What cannot be built up so is put at evenly or pseudo-randomly spread trial places.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import combinations, product

from journal.ground.records import record
from journal.measure.loci import MISFIT_CAP, Circle, Line, Locus, Place, crossings, settle, space_crossings
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

Placing = Mapping[str, Place]

WORSE_BY = 1.2 * MISFIT_CAP  # more than one bad reading behind the best: not followed up
CHOICES = 8  # trial places kept for one point or edge


@record
class Trial:
    """Everything placed so far and how badly the readings among it fit."""

    places: Placing
    cost: float


class Builder:
    """Builds places up from known ones, for the readings of one network.

    fixed   numbers that are given, None where unknown
    size    a length typical of the work
    """

    def __init__(self, observations: Sequence[Observation], fixed: Fixed, dimension: int, size: float) -> None:
        self.fixed, self.dimension, self.size = fixed, dimension, size
        self.edges = edges_of(observations)
        self.readings: dict[str, list[Observation]] = {}
        for item in observations:
            for name in dict.fromkeys(names_of(item)):
                self.readings.setdefault(name, []).append(item)

    def order(self, known: Iterable[str]) -> list[str]:
        """The names not known, each as soon as most readings tie it to what is placed before."""
        placed, left, result = set(known), [name for name in self.readings if name not in known], []
        ties = {
            name: self._given(name) + sum(self._usable(item, name, placed) for item in self.readings[name])
            for name in left
        }
        while ties:
            name = max(ties, key=ties.__getitem__)
            del ties[name]
            result.append(name)
            placed.add(name)
            for item in self.readings[name]:
                missing = [other for other in set(names_of(item)) if other not in placed]
                if len(missing) == 1:
                    ties[missing[0]] += 1
        return result

    def _given(self, name: str) -> int:
        return sum(number is not None for number in self.fixed.get(name, ()))

    @staticmethod
    def _usable(item: Observation, name: str, placed: set[str] | Placing) -> bool:
        return all(other in placed for other in names_of(item) if other != name)

    def grow(self, trials: Sequence[Trial], order: Sequence[str], width: int, limit: float = math.inf) -> list[Trial]:
        """Place the names in order, keeping the `width` best trials, none worse than `limit`."""
        for name in order:
            grown = [
                Trial({**trial.places, name: spot}, trial.cost + cost)
                for trial in trials
                for spot, cost in self.spots(name, trial.places)
            ]
            grown.sort(key=lambda trial: trial.cost)
            trials = [trial for trial in grown[:width] if trial.cost <= min(limit, grown[0].cost + WORSE_BY)]
        return list(trials)

    def turns(self, found: Placing, order: Sequence[str], known: Placing, width: int) -> Iterator[Placing]:
        """Other ways through: at each name in turn a choice not taken in `found`, and what hangs on it anew."""
        before, steps = dict(known), []
        for name in order:
            spots = self.spots(name, before)
            own = min(spots, key=lambda spot: self._apart(name, spot[0], found[name]))
            steps.append((name, own[1], [spot for spot in spots if spot is not own]))
            before[name] = found[name]
        prices = {name: price for name, price, _ in steps}
        for at, (name, price, others) in enumerate(steps):
            passed = {**known, **{earlier: found[earlier] for earlier in order[:at]}}
            for spot, cost in others:
                if cost < price + MISFIT_CAP:
                    fork = Trial({**passed, name: spot}, cost - price)
                    yield from self._follow(fork, name, order[at + 1 :], found, prices, width)

    def _follow(
        self,
        fork: Trial,
        turned: str,
        order: Sequence[str],
        found: Placing,
        prices: Mapping[str, float],
        width: int,
    ) -> Iterator[Placing]:
        """The rest of `found`, placed anew only where it hangs on something that moved; cost counts from there."""
        trials = [(fork, frozenset([turned]))]
        for name in order:
            beside = {other for item in self.readings[name] for other in names_of(item)}
            grown = []
            for trial, moved in trials:
                spots = self.spots(name, trial.places) if beside & moved else [(found[name], prices[name])]
                for spot, cost in spots:
                    same = self._apart(name, spot, found[name]) < 1e-3 * self.size
                    placed = Trial({**trial.places, name: spot}, trial.cost + cost - prices[name])
                    grown.append((placed, moved if same else moved | {name}))
            grown.sort(key=lambda pair: pair[0].cost)
            trials = [pair for pair in grown[:width] if pair[0].cost < MISFIT_CAP]
        return iter([trial.places for trial, _ in trials])

    def _apart(self, name: str, one: Place, other: Place) -> float:
        if name not in self.edges:
            return math.dist(one, other)
        turn = abs(math.remainder(one[0] - other[0], math.tau))
        return turn * self.size + abs(one[1] - other[1])

    def spots(self, name: str, places: Placing) -> list[tuple[Place, float]]:
        """Trial places of one name beside what is placed, best first, each with its cost."""
        usable = [item for item in self.readings[name] if self._usable(item, name, places)]
        same = 1e-6 * self.size
        if name in self.edges:
            found, cost = self._edge_spots(name, usable, places)
        else:
            loci = [locus for item in usable if (locus := self._locus(name, item, places))]
            loci += self._given_loci(name)
            found, cost = self._point_spots(name, loci), _total(loci)
            same = max(same, 0.3 * min((locus.sigma for locus in loci), default=0.0)) if len(loci) > 2 else same
        ranked = sorted(((spot, cost(spot)) for spot in found), key=_price)
        kept: list[tuple[Place, float]] = []
        for spot, price in ranked:
            if all(self._apart(name, spot, other) > same for other, _ in kept):
                kept.append((spot, price))
        return kept[:CHOICES]

    # points

    def _given_loci(self, name: str) -> list[Locus]:
        given = self.fixed.get(name, ())
        normals = [tuple(float(axis == other) for other in range(self.dimension)) for axis in range(self.dimension)]
        return [
            Locus((Line(normals[axis], number),), 1e-9 * self.size)
            for axis, number in enumerate(given)
            if number is not None
        ]

    def _locus(self, name: str, item: Observation, places: Placing) -> Locus | None:
        match item:
            case Distance(a, b, value, sigma):
                return Locus((Circle(places[b if a == name else a], value),), sigma)
            case Directed(a, b, _, value, sigma):
                axis = item.unit(self.dimension)
                known, sign = (places[a], 1) if b == name else (places[b], -1)
                along = sum(n * p for n, p in zip(axis, known, strict=True))
                return Locus((Line(axis, along + sign * value),), sigma)
            case Offset(_, edge, value, sigma, side):
                angle, offset = places[edge]
                normal = (-math.sin(angle), math.cos(angle))
                sides = (1, -1) if side is None else (side,)
                return Locus(tuple(Line(normal, offset + one * value) for one in sides), sigma)
            case Angle():
                return self._sight(name, item, places)

    def _sight(self, name: str, item: Angle, places: Placing) -> Locus | None:
        """The line on which an angle leaves a point, where only one of its two directions hangs on it."""
        in_subject = name in direction_names(item.subject)
        if in_subject and name in direction_names(item.reference):
            return None
        pair = direction_names(item.subject if in_subject else item.reference)
        other = _heading(item.reference if in_subject else item.subject, places)
        pivot = places[pair[1] if pair[0] == name else pair[0]]
        forward = 1.0 if pair[1] == name else -1.0
        lines = []
        for turn in _turns(item):
            heading = other + (turn if in_subject else -turn)
            along = (forward * math.cos(heading), forward * math.sin(heading))
            normal = (-along[1], along[0])
            lines.append(Line(normal, normal[0] * pivot[0] + normal[1] * pivot[1], (pivot, along)))
        return Locus(tuple(lines), item.sigma * self.size)

    def _point_spots(self, name: str, loci: Sequence[Locus]) -> list[Place]:
        found = self._crossed(loci)
        if found and self.dimension == 2 and len(loci) > 2:
            return [settle(spot, loci) for spot in self._apart_enough(sorted(found, key=_total(loci)), loci)]
        if found:
            return found
        if loci and self.dimension == 2:
            return [spot for option in loci[0].options for spot in self._spread(option)]
        return self._scattered(name)

    @staticmethod
    def _apart_enough(ranked: Sequence[Place], loci: Sequence[Locus]) -> list[Place]:
        """The best few of many crossings; those of the same spot lie within some sigmas of each other."""
        reach = 6 * min(locus.sigma for locus in loci)
        kept: list[Place] = []
        for spot in ranked:
            if len(kept) < CHOICES and all(math.dist(spot, other) > reach for other in kept):
                kept.append(spot)
        return kept

    def _crossed(self, loci: Sequence[Locus]) -> list[Place]:
        """Where the best known loci cross, a few pairs (in space: threes) of them."""
        crossing = crossings if self.dimension == 2 else space_crossings
        best = sorted(loci, key=lambda locus: locus.sigma)[:6]
        found: list[Place] = []
        fruitful = 0
        for chosen in combinations(best, self.dimension):
            spots = [spot for options in product(*(locus.options for locus in chosen)) for spot in crossing(options)]
            fruitful += bool(spots)
            found += spots
            if fruitful == 3:
                break
        return found

    def _spread(self, option: Circle | Line) -> list[Place]:
        if isinstance(option, Circle):
            x, y = option.centre
            turns = [0.3 + math.tau * step / CHOICES for step in range(CHOICES)]
            return [(x + option.radius * math.cos(turn), y + option.radius * math.sin(turn)) for turn in turns]
        nx, ny = option.normal
        steps = [self.size * share for share in (-0.9, -0.4, -0.1, 0.2, 0.5, 1.0)]
        return [(option.offset * nx - step * ny, option.offset * ny + step * nx) for step in steps]

    def _scattered(self, name: str) -> list[Place]:
        chance = random.Random(name)
        return [tuple(chance.uniform(-self.size, self.size) for _ in range(self.dimension)) for _ in range(CHOICES)]

    # edges

    def _edge_spots(
        self, name: str, usable: Sequence[Observation], places: Placing
    ) -> tuple[list[Place], Callable[[Place], float]]:
        angles = [item for item in usable if isinstance(item, Angle)]
        offsets = [(places[item.point], item) for item in usable if isinstance(item, Offset)]
        given = self.fixed.get(name, (None, None))[0]
        headings = [given] if given is not None else self._headings(name, angles[:1], places)
        if not headings:
            headings = list(self._tangents(offsets)) or [math.tau * step / CHOICES for step in range(CHOICES)]
        found = [(heading, offset) for heading in headings for offset in self._edge_offsets(heading, offsets)]

        def cost(spot: Place) -> float:
            return sum(_edge_cost(spot, place, item) for place, item in offsets) + sum(
                _angle_cost(spot[0], name, item, places) for item in angles
            )

        return list(found), cost

    @staticmethod
    def _headings(name: str, angles: Sequence[Angle], places: Placing) -> list[float]:
        headings: list[float] = []
        for item in angles:
            if item.subject == name:
                headings += [_heading(item.reference, places) + turn for turn in _turns(item)]
            else:
                headings += [_heading(item.subject, places) - turn for turn in _turns(item)]
        return headings

    @staticmethod
    def _tangents(offsets: Sequence[tuple[Place, Offset]]) -> Iterator[float]:
        """Headings of the lines that lie at the two widest set points' distances."""
        pairs = list(combinations(offsets[:6], 2))
        if not pairs:
            return
        (p, first), (q, second) = max(pairs, key=lambda pair: math.dist(pair[0][0], pair[1][0]))
        apart = math.dist(p, q)
        if not apart:
            return
        across = math.atan2(p[1] - q[1], p[0] - q[0])
        for one, other in product(_sides(first), _sides(second)):
            open_angle = math.acos(max(-1.0, min(1.0, (one * first.value - other * second.value) / apart)))
            for normal in (across + open_angle, across - open_angle):
                yield normal - math.pi / 2

    def _edge_offsets(self, heading: float, offsets: Sequence[tuple[Place, Offset]]) -> list[float]:
        if not offsets:
            return [self.size * share for share in (-0.7, -0.2, 0.3, 0.8)]
        normal = (-math.sin(heading), math.cos(heading))
        return [
            normal[0] * place[0] + normal[1] * place[1] - side * item.value
            for place, item in offsets[:2]
            for side in _sides(item)
        ]


def _price(spot: tuple[Place, float]) -> float:
    return spot[1]


def _total(loci: Sequence[Locus]) -> Callable[[Place], float]:
    return lambda spot: sum(locus.cost(spot) for locus in loci)


def _sides(item: Offset) -> tuple[int, ...]:
    return (1, -1) if item.side is None else (item.side,)


def _edge_cost(spot: Place, place: Place, item: Offset) -> float:
    height = -math.sin(spot[0]) * place[0] + math.cos(spot[0]) * place[1] - spot[1]
    miss = min((side * height - item.value for side in _sides(item)), key=abs)
    return min(MISFIT_CAP, (miss / item.sigma) ** 2)


def _angle_cost(heading: float, name: str, item: Angle, places: Placing) -> float:
    subject = heading if item.subject == name else _heading(item.subject, places)
    reference = heading if item.reference == name else _heading(item.reference, places)
    miss = min(abs(math.remainder(subject - reference - turn, math.tau)) for turn in _turns(item))
    return min(MISFIT_CAP, (miss / item.sigma) ** 2)


def _heading(direction: Direction, places: Placing) -> float:
    names = direction_names(direction)
    if not names:
        return axis_angle(direction)
    if len(names) == 1:
        return places[names[0]][0]
    (x, y), (u, v) = places[names[0]], places[names[1]]
    return math.atan2(v - y, u - x)


def _turns(item: Angle) -> list[float]:
    """Every turn over the whole circle that an angle allows."""
    if item.sense == "turn":
        return [item.value]
    values = [item.value] if item.sense == "line" else [item.value, -item.value]
    return [turn for value in values for turn in (value, value + math.pi)]
