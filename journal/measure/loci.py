"""Circles and lines on which a reading leaves a point, and where they cross."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

Place = tuple[float, ...]

MISFIT_CAP = 50.0  # a reading is bad or it is not: one slip must not outvote the others


@dataclass(frozen=True, slots=True)
class Circle:
    """All places at a distance from a centre; a sphere in space."""

    centre: Place
    radius: float

    def miss(self, place: Place) -> float:
        return math.dist(self.centre, place) - self.radius


@dataclass(frozen=True, slots=True)
class Line:
    """All places with normal·p = offset; a plane in space. `ahead`: only those beyond a point, in a direction."""

    normal: Place
    offset: float
    ahead: tuple[Place, Place] | None = None

    def miss(self, place: Place) -> float:
        if self.ahead is not None:
            start, along = self.ahead
            if sum(d * (p - s) for d, p, s in zip(along, place, start, strict=True)) < 0:
                return math.dist(start, place)
        return sum(n * p for n, p in zip(self.normal, place, strict=True)) - self.offset


@dataclass(frozen=True, slots=True)
class Locus:
    """What one reading leaves open: one of several circles or lines, and how well it is known."""

    options: tuple[Circle | Line, ...]
    sigma: float

    def cost(self, place: Place) -> float:
        """Squared misfit over sigma, capped."""
        return min(MISFIT_CAP, *((option.miss(place) / self.sigma) ** 2 for option in self.options))


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
    """On the line where both powers are equal, which also runs through the gap of two that miss each other."""
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
