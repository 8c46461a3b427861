"""What is drawn of a face: points, edges and dimensions in one plane, in mm, and the geometry all drawings share.

+u is drawn to the right, +v up. A plate knows nothing of the book: `face_plates` makes it, the drawing for the page
and the full-size templates are made from it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Literal

from journal.ground.records import record

Place = tuple[float, float]
Along = Literal["u", "v", "square", "straight"]
Rim = Literal["", "near", "far"]

NEAR = 120.0  # mm round a part within which an edge or hole it was measured from is drawn to scale beside it
MARGIN = 12.0  # mm of face shown beyond the outermost thing
SAME = 1e-6  # mm: closer than any reading


@record
class Point:
    """A hole, slot or corner.

    own       of the part (or of the face) the drawing is about        owner   the words for whose it is
    diameter  in mm, None where it is not known
    ellipse   holds the true place 95 times in 100: half axes in mm, angle of the long one from +u towards +v
    """

    id: str
    name: str
    owner: str
    u: float
    v: float
    own: bool = False
    diameter: float | None = None
    ellipse: tuple[float, float, float] | None = None

    @property
    def at(self) -> Place:
        return self.u, self.v

    @property
    def reach(self) -> float:
        """How far it stretches from its centre."""
        return max((self.diameter or 0) / 2, self.ellipse[0] if self.ellipse else 0)


@record
class Line:
    """A straight edge without ends: all places p with normal·p = offset, normal (-sin angle, cos angle)."""

    id: str
    name: str
    owner: str
    angle: float
    offset: float
    own: bool = False

    @property
    def normal(self) -> Place:
        return -math.sin(self.angle), math.cos(self.angle)

    def foot(self, place: Place) -> Place:
        """The nearest place on it."""
        n = self.normal
        short = self.offset - n[0] * place[0] - n[1] * place[1]
        return place[0] + n[0] * short, place[1] + n[1] * short

    @property
    def upright(self) -> bool:
        """Whether it runs along v."""
        return abs(math.cos(self.angle)) < SAME

    @property
    def level(self) -> bool:
        """Whether it runs along u."""
        return abs(math.sin(self.angle)) < SAME


@record
class Dimension:
    """A reading to draw: from a point or edge to another, its value as written, its address on the site.

    along       "u", "v"; "square": to the edge; "straight": from point to point
    rim, to_rim of the hole, where the reading was taken at its edge
    what        its left side ("hole to rear end")
    """

    start: str
    end: str
    along: Along
    label: str
    what: str = ""
    url: str = ""
    own: bool = False
    rim: Rim = ""
    to_rim: Rim = ""


@dataclass(frozen=True)
class Plate:
    """A face, or a part on it, ready to be drawn.

    host          the words for whose face it is; edges of anything else are drawn as short pieces
    right, up     what lies that way ("to the front"), "" where it is not written
    seen          from which side it is seen ("from above"), "" where that is not known
    alternatives  other spots where the points of a part fit as well
    doubts        sentences for whoever drills by it: other spots, another way round
    about_part    it is about a part on the face, else about the face
    read_to       day of the newest reading it is made from
    """

    title: str
    host: str = ""
    points: tuple[Point, ...] = ()
    edges: tuple[Line, ...] = ()
    dimensions: tuple[Dimension, ...] = ()
    alternatives: tuple[tuple[Point, ...], ...] = ()
    right: str = ""
    up: str = ""
    seen: str = ""
    assumptions: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    about_part: bool = False
    read_to: date | None = None

    def point(self, id: str) -> Point | None:
        return self._points.get(id)

    def edge(self, id: str) -> Line | None:
        return self._edges.get(id)

    @cached_property
    def key(self) -> str:
        """All of it as text: what is made from equal plates is equal."""
        return repr(self)

    @cached_property
    def _points(self) -> dict[str, Point]:
        return {point.id: point for point in self.points}

    @cached_property
    def _edges(self) -> dict[str, Line]:
        return {edge.id: edge for edge in self.edges}

    @cached_property
    def bounds(self) -> Box | None:
        """The box round everything on it."""
        return whole(self)

    @cached_property
    def spots(self) -> tuple[Point, ...]:
        """All points, those of other spots too."""
        return (*self.points, *(point for spot in self.alternatives for point in spot))


@record
class Box:
    """An upright rectangle in the plane, mm."""

    left: float
    low: float
    right: float
    high: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.high - self.low

    def holds(self, place: Place) -> bool:
        return (
            self.left - SAME <= place[0] <= self.right + SAME and self.low - SAME <= place[1] <= self.high + SAME
        )

    def grown(self, by: float) -> Box:
        return Box(self.left - by, self.low - by, self.right + by, self.high + by)

    def with_place(self, place: Place) -> Box:
        u, v = place
        return Box(min(self.left, u), min(self.low, v), max(self.right, u), max(self.high, v))

    def gap(self, place: Place) -> float:
        """How far a place lies outside; 0 inside."""
        across = max(self.left - place[0], 0.0, place[0] - self.right)
        return math.hypot(across, max(self.low - place[1], 0.0, place[1] - self.high))


@record
class Span:
    """Where a dimension runs: its two ends in the plane, and the unit direction it is taken along."""

    start: Place
    end: Place
    direction: Place

    @property
    def length(self) -> float:
        """mm along its direction."""
        du, dv = self.end[0] - self.start[0], self.end[1] - self.start[1]
        return abs(du * self.direction[0] + dv * self.direction[1])


def span_of(plate: Plate, dimension: Dimension) -> Span | None:
    """Where a dimension runs on the plate; None where one of its ends is not on it, or it has no length."""
    start, end = (_thing(plate, id) for id in (dimension.start, dimension.end))
    if start is None or end is None:
        return None
    ends = _ends(start, end, dimension.along)
    if ends is None:
        return None
    direction = _direction(*ends, dimension.along)
    if direction is None:
        return None
    a = _at_rim(start, ends[0], dimension.rim, direction, 1)
    b = _at_rim(end, ends[1], dimension.to_rim, direction, -1)
    span = Span(a, b, direction)
    return span if span.length > SAME else None


def _thing(plate: Plate, id: str) -> Point | Line | None:
    return plate.point(id) or plate.edge(id)


def _ends(start: Point | Line, end: Point | Line, along: Along) -> tuple[Place, Place] | None:
    """The two places a dimension joins; an edge is met square to it, or along the dimension's own direction."""
    if isinstance(start, Line) and isinstance(end, Line):
        middle = start.foot((0.0, 0.0))
        return middle, end.foot(middle)
    if isinstance(start, Line):
        turned = _ends(end, start, along)
        return (turned[1], turned[0]) if turned else None
    if isinstance(end, Point):
        return start.at, end.at
    if along in ("u", "v"):
        met = _met(end, start.at, along)
        return (start.at, met) if met else None
    return start.at, end.foot(start.at)


def _met(edge: Line, place: Place, along: Along) -> Place | None:
    """Where an edge is met from a place along an axis."""
    n = edge.normal
    share = n[0] if along == "u" else n[1]
    if abs(share) < SAME:
        return None
    step = (edge.offset - n[0] * place[0] - n[1] * place[1]) / share
    return (place[0] + step, place[1]) if along == "u" else (place[0], place[1] + step)


def _direction(a: Place, b: Place, along: Along) -> Place | None:
    du, dv = b[0] - a[0], b[1] - a[1]
    if along == "u":
        return (math.copysign(1.0, du), 0.0)
    if along == "v":
        return (0.0, math.copysign(1.0, dv))
    length = math.hypot(du, dv)
    return (du / length, dv / length) if length > SAME else None


def _at_rim(thing: Point | Line, place: Place, rim: Rim, direction: Place, sense: int) -> Place:
    """The place at the hole's rim that faces the other end (near), or looks away from it (far)."""
    if not rim or isinstance(thing, Line) or not thing.diameter:
        return place
    by = thing.diameter / 2 * sense * (1 if rim == "near" else -1)
    return place[0] + direction[0] * by, place[1] + direction[1] * by


# --- what part of the plane is shown


def whole(plate: Plate) -> Box | None:
    """The box round everything: points with what they stretch to, level and upright edges."""
    box = _round(plate.spots)
    if box is None:
        corners = [_cross(a, b) for n, a in enumerate(plate.edges) for b in plate.edges[:n]]
        met = [corner for corner in corners if corner]
        if not met:
            return None
        box = Box(*met[0], *met[0])
    for edge in plate.edges:
        box = box.with_place(edge.foot(((box.left + box.right) / 2, (box.low + box.high) / 2)))
    return box


def _round(points: Iterable[Point]) -> Box | None:
    box: Box | None = None
    for point in points:
        for corner in ((point.u - point.reach, point.v - point.reach), (point.u + point.reach, point.v + point.reach)):
            box = box.with_place(corner) if box else Box(*corner, *corner)
    return box


def _cross(a: Line, b: Line) -> Place | None:
    (p, q), (r, s) = a.normal, b.normal
    det = p * s - q * r
    if abs(det) < 1e-3:
        return None
    return (a.offset * s - b.offset * q) / det, (p * b.offset - r * a.offset) / det


def around(plate: Plate) -> Box | None:
    """The box round what the drawing is about, with what it was measured from as far as that is near."""
    own = [point for point in plate.spots if point.own]
    box = _round(own)
    if box is None:
        return None
    core = box
    for dimension in plate.dimensions:
        span = span_of(plate, dimension) if dimension.own else None
        for place in (span.start, span.end) if span else ():
            if core.gap(place) <= NEAR:
                box = box.with_place(place)
    for point in plate.points:
        if not point.own and box.holds(point.at):
            box = box.with_place((point.u - point.reach, point.v - point.reach))
            box = box.with_place((point.u + point.reach, point.v + point.reach))
    return box


def cut_to(edge: Line, box: Box) -> tuple[Place, Place] | None:
    """The piece of an edge inside a box; None where it passes it by, and where the box holds nothing."""
    if box.right < box.left or box.high < box.low:
        return None
    along = math.cos(edge.angle), math.sin(edge.angle)
    middle = edge.foot(((box.left + box.right) / 2, (box.low + box.high) / 2))
    first, last = -math.inf, math.inf
    for at, step, low, high in (
        (middle[0], along[0], box.left, box.right),
        (middle[1], along[1], box.low, box.high),
    ):
        if abs(step) < 1e-12:
            if not low - SAME <= at <= high + SAME:
                return None
            continue
        a, b = sorted(((low - at) / step, (high - at) / step))
        first, last = max(first, a), min(last, b)
    if last - first < SAME:
        return None
    return tuple((middle[0] + along[0] * t, middle[1] + along[1] * t) for t in (first, last))  # type: ignore[return-value]


def outline(plate: Plate, box: Box) -> Box:
    """The box in which edges are drawn: it ends at a level or upright edge where nothing lies beyond it."""
    sides = [box.left, box.low, box.right, box.high]
    tight = plate.bounds or box
    limits = (tight.left, tight.low, tight.right, tight.high)
    for n, (axis, limit) in enumerate(zip("uvuv", limits, strict=True)):
        for edge in plate.edges:
            lies = edge.upright if axis == "u" else edge.level
            if lies and edge.owner == plate.host and abs(edge.foot((0.0, 0.0))[n % 2] - limit) < SAME:
                sides[n] = max(sides[n], limit) if n < 2 else min(sides[n], limit)
    return Box(*sides)


def pieces(plate: Plate, box: Box) -> list[tuple[Line, Place, Place]]:
    """What is drawn of the edges, with both ends: the face's own up to its outline, a part's a short piece beside the
    part's points. Those that pass by are not among them."""
    whole, found = outline(plate, box), []
    for edge in plate.edges:
        bounds = whole
        if edge.owner != plate.host:
            near = _round(point for point in plate.points if point.owner == edge.owner)
            bounds = _common(bounds, near.grown(2 * MARGIN)) if near else bounds
        ends = cut_to(edge, bounds)
        if ends:
            found.append((edge, *ends))
    return found


def _common(a: Box, b: Box) -> Box:
    """What two boxes share; its sides are the wrong way round where that is nothing."""
    return Box(max(a.left, b.left), max(a.low, b.low), min(a.right, b.right), min(a.high, b.high))


def shown_points(points: Sequence[Point], box: Box) -> list[Point]:
    return [point for point in points if box.holds(point.at)]
