"""Circles and lines on which a reading leaves a point, and where they cross."""

from __future__ import annotations

import math
from collections.abc import Sequence

from journal.ground.records import record

Place = tuple[float, ...]

MISFIT_CAP = 50.0  # a reading is bad or it is not: one slip must not outvote the others


@record
class Circle:
    """All places at a distance from a centre; a sphere in space."""

    centre: Place
    radius: float

    def miss(self, place: Place) -> float:
        return math.dist(self.centre, place) - self.radius


@record
class Line:
    """All places with normal·p = offset; a plane in space. `ahead`: only those beyond a point, one way."""

    normal: Place
    offset: float
    ahead: tuple[Place, Place] | None = None

    def miss(self, place: Place) -> float:
        if self.ahead is not None:
            start, along = self.ahead
            if sum(d * (p - s) for d, p, s in zip(along, place, start, strict=True)) < 0:
                return math.dist(start, place)
        if len(place) == 2:
            return self.normal[0] * place[0] + self.normal[1] * place[1] - self.offset
        return sum(n * p for n, p in zip(self.normal, place, strict=True)) - self.offset


@record
class Locus:
    """What one reading leaves open: one of several circles or lines, and how well it is known."""

    options: tuple[Circle | Line, ...]
    sigma: float

    def cost(self, place: Place) -> float:
        """Squared misfit over sigma, capped."""
        miss = self.options[0].miss(place) if len(self.options) == 1 else self.pull(place)[0]
        return min(MISFIT_CAP, (miss / self.sigma) ** 2)

    def pull(self, place: Place) -> tuple[float, Place]:
        """How far outside the nearest option a place lies, and the unit direction outwards."""
        miss, option = self.options[0].miss(place), self.options[0]
        for other in self.options[1:]:
            if abs(further := other.miss(place)) < abs(miss):
                miss, option = further, other
        if isinstance(option, Line):
            return miss, option.normal
        apart = (miss + option.radius) or 1.0
        return miss, tuple((p - c) / apart for p, c in zip(place, option.centre, strict=True))


def settle(place: Place, loci: Sequence[Locus]) -> Place:
    """A place in the plane moved to where the readings near it agree best; one far off counts little."""
    for _ in range(6):
        xx = xy = yy = right_x = right_y = 0.0
        for locus in loci:
            miss, (x, y) = locus.pull(place)
            weight = 1 / (locus.sigma**2 + miss**2 / MISFIT_CAP)
            xx, xy, yy = xx + weight * x * x, xy + weight * x * y, yy + weight * y * y
            right_x, right_y = right_x - weight * miss * x, right_y - weight * miss * y
        across = xx * yy - xy * xy
        if across <= 1e-6 * (xx + yy) ** 2:
            return place
        step_x, step_y = (yy * right_x - xy * right_y) / across, (xx * right_y - xy * right_x) / across
        place = (place[0] + step_x, place[1] + step_y)
        if step_x**2 + step_y**2 < 1e-4 / (xx + yy):
            return place
    return place


def crossings(options: Sequence[Circle | Line]) -> list[Place]:
    """Where two curves cross, or come nearest to crossing."""
    match options:
        case [Circle() as one, Circle() as other]:
            return _two_circles(one, other)
        case [Line() as line, Circle() as circle] | [Circle() as circle, Line() as line]:
            return _line_circle(line, circle)
        case [Line() as one, Line() as other]:
            return _two_lines(one, other)
    return []


def _two_circles(one: Circle, other: Circle) -> list[Place]:
    """On the line where both powers are equal; for two that miss each other, in the middle of the gap."""
    (x, y), (u, v) = one.centre, other.centre
    apart = math.dist(one.centre, other.centre)
    if not apart:
        return []
    normal = ((u - x) / apart, (v - y) / apart)
    along = (apart**2 + one.radius**2 - other.radius**2) / (2 * apart)
    if abs(along) > one.radius:
        along = _between(apart, one.radius, other.radius)
    return _line_circle(Line(normal, normal[0] * x + normal[1] * y + along), one)


def _between(apart: float, one: float, other: float) -> float:
    """How far along from the first centre two circles that do not meet come nearest."""
    if apart > one + other:
        return (one + apart - other) / 2
    return (one + apart + other) / 2 if one > other else -(one + other - apart) / 2


def _line_circle(line: Line, circle: Circle) -> list[Place]:
    (nx, ny), (x, y) = line.normal, circle.centre
    off = line.offset - nx * x - ny * y
    half = math.sqrt(max(circle.radius**2 - off**2, 0.0)) or 1e-3 * circle.radius
    foot = (x + off * nx, y + off * ny)
    return [(foot[0] - sign * half * ny, foot[1] + sign * half * nx) for sign in (1, -1)]


def _two_lines(one: Line, other: Line) -> list[Place]:
    (a, b), (c, d) = one.normal, other.normal
    across = a * d - b * c
    if abs(across) < 1e-9:
        return []
    return [((one.offset * d - other.offset * b) / across, (other.offset * a - one.offset * c) / across)]


def space_crossings(options: Sequence[Circle | Line]) -> list[Place]:
    """Where three spheres meet, on both sides of the plane of their centres."""
    spheres = [option for option in options if isinstance(option, Circle)]
    if len(spheres) < 3:
        return []
    first, second, third = spheres
    ex, apart = _unit(_minus(second.centre, first.centre))
    to_third = _minus(third.centre, first.centre)
    along = _dot(ex, to_third)
    ey, aside = _unit(tuple(t - along * e for t, e in zip(to_third, ex, strict=True)))
    if apart == 0 or aside < 1e-9 * apart:
        return []
    ez = (ex[1] * ey[2] - ex[2] * ey[1], ex[2] * ey[0] - ex[0] * ey[2], ex[0] * ey[1] - ex[1] * ey[0])
    x = (first.radius**2 - second.radius**2 + apart**2) / (2 * apart)
    y = (first.radius**2 - third.radius**2 + along**2 + aside**2 - 2 * along * x) / (2 * aside)
    z = math.sqrt(max(first.radius**2 - x * x - y * y, 0.0)) or 1e-3 * first.radius
    return [
        tuple(c + x * i + y * j + sign * z * k for c, i, j, k in zip(first.centre, ex, ey, ez, strict=True))
        for sign in (1, -1)
    ]


def _minus(one: Place, other: Place) -> Place:
    return tuple(a - b for a, b in zip(one, other, strict=True))


def _dot(one: Place, other: Place) -> float:
    return sum(a * b for a, b in zip(one, other, strict=True))


def _unit(vector: Place) -> tuple[Place, float]:
    length = math.hypot(*vector)
    return (tuple(part / length for part in vector) if length else vector), length
