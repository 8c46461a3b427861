"""What a full-size template shows, in mm, +v up: edges, holes with centre crosses, names, arrows to what is far off.

The paper (`template_pdf`) and the drawing file (`template_dxf`) are both made from it, so that they agree. A part's
template shows the region round it; what it was measured from further off is written as a distance with an arrow.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date

from journal.ground.records import record
from journal.pages import words
from journal.pages.lettering import HIGH, Disc, Patch, Spot, close_by, width_of
from journal.pages.plate import MARGIN, NEAR, Box, Line, Place, Plate, Point, around, pieces, shown_points, span_of
from journal.pages.room import Room

PX = 96 / 25.4  # lettering works in px: 12 px are 9 pt
LEAST = (175.0, 155.0)  # mm
ARM = 5.0  # mm that a centre cross passes its hole
ARROW = 14.0  # mm
NO_SIDE = "Which side is seen is not written in the notes: hold the sheet against the part first."


@record
class Edge:
    a: Place
    b: Place
    own: bool


@record
class Hole:
    """A point with its centre cross; `diameter` in mm, None where it is not known; `other`: of the second spot."""

    centre: Place
    diameter: float | None
    other: bool = False

    @property
    def arm(self) -> float:
        return (self.diameter or 0) / 2 + ARM


@record
class Arrow:
    tail: Place
    tip: Place


@record
class Label:
    """A text of 9 pt with its middle at a place; `turn` in degrees, anticlockwise."""

    text: str
    middle: Place
    turn: float = 0.0


@record
class Template:
    """A template in mm. `box` is what is to be on paper; `about` are the lines of its title."""

    title: str
    about: tuple[str, ...]
    box: Box
    edges: tuple[Edge, ...]
    holes: tuple[Hole, ...]
    arrows: tuple[Arrow, ...]
    labels: tuple[Label, ...]
    read_to: date | None = None


def box_of(plate: Plate) -> Box | None:
    """What the template of a part on its face, or of a face, shows; None where there is no point or corner to show."""
    box = _region(plate) if plate.about_part else plate.bounds
    return _room(box.grown(MARGIN)) if box and plate.points else None


def template_of(plate: Plate, first: str = "mm") -> Template | None:
    """The full-size template; None where `box_of` is."""
    box = box_of(plate)
    if box is None:
        return None
    made = _Making(plate, box, first)
    made.draw()
    return Template(
        title=plate.title,
        about=tuple(_about(plate, made.unnamed)),
        box=made.box,
        edges=tuple(made.edges),
        holes=tuple(made.holes),
        arrows=tuple(made.arrows),
        labels=tuple(made.labels),
        read_to=plate.read_to,
    )


def _room(box: Box) -> Box:
    """At least what one sheet holds: an edge that is longer on the template is easier to lay it by."""
    wide, high = (max(least - size, 0.0) / 2 for least, size in zip(LEAST, (box.width, box.height), strict=True))
    return Box(box.left - wide, box.low - high, box.right + wide, box.high + high)


def _region(plate: Plate) -> Box | None:
    """The part with what it was measured from nearby, and the nearest of the face's edges."""
    box = around(plate)
    if box is None:
        return None
    middle = (box.left + box.right) / 2, (box.low + box.high) / 2
    core = box
    for edge in plate.edges:
        if edge.owner == plate.host and core.gap(edge.foot(middle)) <= NEAR:
            box = box.with_place(edge.foot(middle))
    return box


def _about(plate: Plate, unnamed: Sequence[str]) -> list[str]:
    """The lines of the title, what must not be missed first."""
    ways = [f"{way} is {where}" for way, where in (("right", plate.right), ("up", plate.up)) if where]
    reach = max((point.ellipse[0] for point in plate.points if point.own and point.ellipse), default=0.0)
    lines = [
        *plate.doubts,
        f"Seen {plate.seen}." if plate.seen else NO_SIDE,
        f"{words.capital(', '.join(ways))}." if ways else "",
        f"95 times in 100 the true places lie within {_up(reach)} mm of these." if reach else "",
        f"On {plate.host}." if plate.about_part and plate.host else "",
        f"No room for the names of {words.listed(unnamed)}." if unnamed else "",
    ]
    return [line for line in lines if line]


def _up(reach: float) -> str:
    return f"{math.ceil(reach * 10) / 10:.1f}"


@dataclass
class _Making:
    plate: Plate
    box: Box
    first: str
    edges: list[Edge] = field(default_factory=list)
    holes: list[Hole] = field(default_factory=list)
    arrows: list[Arrow] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    unnamed: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.face = Patch(0, 0, self.box.width * PX, self.box.height * PX)
        self.room = Room(self.face.right + 4, self.face.bottom + 4, self.face)  # an edge may lie on the border

    def draw(self) -> None:
        for point in shown_points(self.plate.points, self.box):
            self._hole(point, other=False)
        for spot in self.plate.alternatives:
            for point in shown_points(spot, self.box):
                self._hole(point, other=True)
        for piece in pieces(self.plate, self.box):
            self._edge(*piece)
        for far in self._far_points() if self.plate.about_part else ():
            self._far(*far)
        for number, group in enumerate((self.plate.points, *self.plate.alternatives)):
            for point in shown_points(group, self.box):
                self._name(point, number)

    def _at(self, place: Place) -> Place:
        return (place[0] - self.box.left) * PX, (self.box.high - place[1]) * PX

    def _hole(self, point: Point, *, other: bool) -> None:
        hole = Hole(point.at, point.diameter, other)
        self.holes.append(hole)
        x, y = self._at(point.at)
        half, arm = (point.diameter or 4) / 2 * PX, hole.arm * PX
        self.room.rule([Patch(x - half, y - half, x + half, y + half)])
        self.room.cross([Patch(x - arm, y - 1, x + arm, y + 1), Patch(x - 1, y - arm, x + 1, y + arm)])

    def _edge(self, edge: Line, start: Place, end: Place) -> None:
        self.edges.append(Edge(start, end, edge.own))
        (x1, y1), (x2, y2) = self._at(start), self._at(end)
        if edge.level or edge.upright:
            self.room.cross([Patch(min(x1, x2) - 1, min(y1, y2) - 1, max(x1, x2) + 1, max(y1, y2) + 1)])
        length = math.hypot(x2 - x1, y2 - y1)
        turn = math.degrees(math.atan2(y2 - y1, x2 - x1))
        turn = turn - 180 if turn > 89.9 else turn + 180 if turn <= -90.1 else turn
        up = math.cos(math.radians(turn - 90)), math.sin(math.radians(turn - 90))
        shares = [share for share in (0.5, 0.25, 0.75, 0.12, 0.88) if length]
        places = [(x1 + (x2 - x1) * share, y1 + (y2 - y1) * share) for share in shares]
        lifts = (HIGH / 2 + 2, -HIGH / 2 - 2)
        spots = [Spot(x + up[0] * lift, y + up[1] * lift, turn) for x, y in places for lift in lifts]
        self._write(edge.name or edge.owner, spots)

    def _name(self, point: Point, number: int) -> None:
        name = point.name if point.own or point.owner in ("", self.plate.host) else f"{point.owner}: {point.name}"
        if self.plate.alternatives and point.own:
            name += f", spot {number + 1}"
        size = f"dia {_length(point.diameter, self.first)}" if point.diameter else "diameter not known"
        x, y = self._at(point.at)
        text = f"{name}, {size}"
        about = x, y, (point.diameter or 4) / 2 * PX
        self._write(text, close_by(*about, width_of(text)), [about])

    def _write(self, text: str, spots: Iterable[Spot], discs: Sequence[Disc] = ()) -> None:
        spot = self.room.place(text, spots, discs)
        if spot is None:
            self.unnamed.append(text)
        else:
            middle = self.box.left + spot.x / PX, self.box.high - spot.y / PX
            self.labels.append(Label(text, middle, -spot.turn))

    # --- what is far off

    def _far_points(self) -> list[tuple[Point, Place, str, float]]:
        """(own point, unit direction, name, distance from its centre) for each thing measured from, outside the box."""
        found: dict[tuple[str, str], tuple[Point, Place, str, float]] = {}
        for dimension in self.plate.dimensions:
            span = span_of(self.plate, dimension) if dimension.own else None
            ends = (dimension.start, dimension.end)
            for here, there in (ends, ends[::-1]) if span else ():
                point = self.plate.point(here)
                if point and point.own and self.box.holds(point.at):
                    far = self._way(point, there)
                    if far:
                        found.setdefault((here, there), far)
        return list(found.values())

    def _way(self, point: Point, there: str) -> tuple[Point, Place, str, float] | None:
        thing = self.plate.point(there) or self.plate.edge(there)
        if thing is None or thing.own:
            return None
        target = thing.foot(point.at) if isinstance(thing, Line) else thing.at
        if self.box.holds(target):
            return None
        away = target[0] - point.u, target[1] - point.v
        length = math.hypot(*away)
        whose = "" if thing.owner in ("", self.plate.host) else f" of {thing.owner}"
        return point, (away[0] / length, away[1] / length), f"{thing.name}{whose}", length

    def _far(self, point: Point, way: Place, name: str, length: float) -> None:
        """An arrow at the edge of the template that points there, and how far it is."""
        tip = _leaves(self.box, point.at, way)
        tail = tip[0] - way[0] * ARROW, tip[1] - way[1] * ARROW
        self.arrows.append(Arrow(tail, tip))
        text = f"{_length(length, self.first)} from the middle of {point.name} to {name}"
        (x, y), wide = self._at(((tip[0] + tail[0]) / 2, (tip[1] + tail[1]) / 2)), width_of(text)
        left, right = wide / 2 + 2, self.face.right - wide / 2 - 2
        lifts = [sign * (HIGH / 2 + 3 + n * HIGH) for n in range(12) for sign in (-1, 1)]
        self._write(text, [Spot(max(min(x, right), left), y + lift) for lift in lifts])


def _leaves(box: Box, place: Place, way: Place) -> Place:
    """Where one who goes that way leaves the box, a hair inside."""
    steps = [
        ((high if step > 0 else low) - at) / step
        for at, step, low, high in ((place[0], way[0], box.left, box.right), (place[1], way[1], box.low, box.high))
        if abs(step) > 1e-9
    ]
    run = max(min(steps) - 1.0, 0.0)
    return place[0] + way[0] * run, place[1] + way[1] * run


def _length(mm: float, first: str) -> str:
    return f"{mm / 25.4:.3f} in ({mm:.1f} mm)" if first == "in" else f"{mm:.1f} mm"
