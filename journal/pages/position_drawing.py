"""A plate as a line drawing for the page: to one scale both ways, dimensioned after ISO 129-1.

The drawing is made for a sheet 328 px wide, what a phone of 360 px leaves, and is shown and printed at that size or
a little larger; 96 px are an inch, so the scale (a ratio of ISO 5455) is true on paper. Extension lines pass the
dimension line by about eight line widths, values stand above the line and are read from below or from the right;
where a line is too short for its arrowheads they stand outside, and where it is shorter still oblique strokes
stand for them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import product
from math import atan2, cos, degrees, hypot, pi, radians, sin

from journal.pages.lettering import HIGH, Patch, Room, Spot, beside, width_of
from journal.pages.plate import (
    Box,
    Dimension,
    Place,
    Plate,
    Point,
    Span,
    around,
    piece,
    shown_points,
    span_of,
)

WIDE, TALL = 328.0, 470.0
PX = 96 / 25.4  # px to the millimetre of paper
RATIOS = ((2, 1), (1, 1), (1, 2), (1, 5), (1, 10), (1, 20), (1, 50), (1, 100), (1, 200), (1, 500))  # ISO 5455
THIN = 0.75  # px, the dimension lines
PASSES = 8 * THIN  # by which an extension line passes the dimension line (ISO 129-1)
CLEAR = 2.0  # px between a feature and its extension line
HEAD, HALF_ANGLE = 8.0, radians(11)
STROKE = 4.0  # half an oblique stroke
FIRST, STEP = 20.0, 19.0  # px from the face to the first dimension line, and from line to line
EDGE = 12.0  # px of face shown beyond the outermost thing
TIGHT, TINY = 3 * HEAD, 6.0  # px: shorter lines have their heads outside, or strokes
NEAREST = 3.0  # px: a shorter dimension cannot be told from a point
SEEN = 3.5  # px: an ellipse with a shorter half axis cannot be told from its point
DOT = 2.5
MOST = 24  # dimensions on one drawing
LINES = 7  # dimension lines on one side
ROOM = 60.0  # px at least beside and below the face for its dimensions


@dataclass(frozen=True, slots=True)
class Stroke:
    """Lines of one kind, as an SVG path."""

    kind: str
    path: str


@dataclass(frozen=True, slots=True)
class Round:
    """A circle, dot or ellipse; `turn` in degrees, clockwise as SVG counts."""

    kind: str
    x: float
    y: float
    rx: float
    ry: float
    turn: float = 0.0


@dataclass(frozen=True, slots=True)
class Words:
    """A text with its middle at x, y. `patches`: the boxes kept free for it."""

    kind: str
    text: str
    x: float
    y: float
    turn: float = 0.0
    url: str = ""
    anchor: str = "middle"
    patches: tuple[Patch, ...] = ()


@dataclass(frozen=True, slots=True)
class Look:
    """detail: what is about the part, larger; brief: the whole, where a detail tells the rest."""

    detail: bool = False
    brief: bool = False


@dataclass(frozen=True, slots=True)
class Drawing:
    """A finished drawing.

    left, top, width, height  its view box        ratio    "1:5"
    told      what it shows, in words             left_out readings and names there was no room for
    """

    id: str
    title: str
    told: str
    left: float
    top: float
    width: float
    height: float
    ratio: str
    strokes: tuple[Stroke, ...]
    rounds: tuple[Round, ...]
    heads: tuple[str, ...]
    words: tuple[Words, ...]
    left_out: tuple[str, ...] = ()


def drawings(plate: Plate, id: str, told: str, first: str = "mm") -> tuple[Drawing, ...]:
    """The face as a whole, and what is about the part larger where the whole shows it too small.

    told   the coordinates in words       first  the unit of the scale bar
    """
    box = plate.bounds
    if box is None or (plate.about_part and not any(point.own for point in plate.points)):
        return ()
    overview = _drawn(plate, box, Look())
    near = around(plate) if plate.about_part else None
    detail = _drawn(plate, near, Look(detail=True)) if near else None
    if detail is None or detail.ratio == overview.ratio or detail.scale < overview.scale:
        return (overview.finished(id, told, first, overview.missed),)
    overview = _drawn(plate, box, Look(brief=True))
    missed = [text for text in detail.missed if text in overview.missed]
    return overview.finished(id, told, first, []), detail.finished(f"{id}-near", told, first, missed)


def _drawn(plate: Plate, box: Box, look: Look) -> _Pen:
    """At the largest ratio at which everything stays on the sheet; else at the one that leaves least out."""
    best: _Pen | None = None
    for paper, real in RATIOS:
        scale = PX * paper / real
        if box.width * scale + 2 * EDGE > WIDE - ROOM or box.height * scale + 2 * EDGE > TALL - 2 * ROOM:
            continue
        pen = _Pen(plate, box.grown(EDGE / scale), scale, f"{paper}:{real}", look)
        pen.draw()
        if best is None or len(pen.missed) < len(best.missed):
            best = pen
        if not best.missed or scale < 0.3 * best.scale:
            break
    if best is None:
        raise ValueError(f"a face of {max(box.width, box.height):.0f} mm is drawn at none of the ratios")
    return best


@dataclass
class _Pen:
    """One drawing in the making."""

    plate: Plate
    box: Box
    scale: float
    ratio: str
    look: Look
    strokes: list[Stroke] = field(default_factory=list)
    rounds: list[Round] = field(default_factory=list)
    heads: list[str] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)
    missed: list[str] = field(default_factory=list)
    unnamed: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.face = Patch(0, 0, self.box.width * self.scale, self.box.height * self.scale)
        self.room = Room(WIDE, TALL, self.face)

    def at(self, place: Place) -> Place:
        """A place of the plane on the paper."""
        return (place[0] - self.box.left) * self.scale, (self.box.high - place[1]) * self.scale

    def draw(self) -> None:
        """Everything, in order of rank; what finds no room is remembered in `missed` and `unnamed`."""
        self._edges()
        self._points()
        self._dimensions()
        self._names()

    # --- the face

    def _edges(self) -> None:
        for edge in self.plate.edges:
            ends = piece(self.plate, edge, self.box)
            if ends:
                self._line("edge own" if edge.own else "edge", *self.at(ends[0]), *self.at(ends[1]))

    def _line(self, kind: str, x1: float, y1: float, x2: float, y2: float) -> None:
        self.strokes.append(Stroke(kind, f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}"))
        if x1 == x2 or y1 == y2:
            self.room.cross([Patch(min(x1, x2) - 1, min(y1, y2) - 1, max(x1, x2) + 1, max(y1, y2) + 1)])

    def _points(self) -> None:
        for point in shown_points(self.plate.points, self.box):
            self._point(point, "own" if point.own else "light")
        for spot in self.plate.alternatives:
            for point in shown_points(spot, self.box):
                self._point(point, "own other")

    def _point(self, point: Point, kind: str) -> None:
        x, y = self.at(point.at)
        half = (point.diameter or 0) / 2 * self.scale
        if half > DOT:
            self.rounds.append(Round(f"hole {kind}", x, y, half, half))
            self._cross(kind, x, y, half + 4)
        else:
            self.rounds.append(Round(f"dot {kind}", x, y, DOT, DOT))
            if point.own and not self.look.brief:
                self._cross(kind, x, y, 7)
        reach = max(half, DOT) + 1
        self.room.take([Patch(x - reach, y - reach, x + reach, y + reach)])
        if point.ellipse and point.ellipse[0] * self.scale >= SEEN and "light" not in kind:
            long, short, turn = point.ellipse
            self.rounds.append(Round("ellipse", x, y, long * self.scale, short * self.scale, -degrees(turn)))

    def _cross(self, kind: str, x: float, y: float, arm: float) -> None:
        path = f"M{x - arm:.1f} {y:.1f}H{x + arm:.1f}M{x:.1f} {y - arm:.1f}V{y + arm:.1f}"
        self.strokes.append(Stroke(f"centre {kind}", path))

    # --- dimensions

    def _dimensions(self) -> None:
        for dimension, span in self._wanted():
            drawn = self._stacked(dimension, span) if 0 in _signs(span.direction) else self._slanting(dimension, span)
            if not drawn:
                self.missed.append(_told(dimension))

    def _wanted(self) -> list[tuple[Dimension, Span]]:
        """What is to be drawn: those of the part (all of a face), the shortest nearest to the face."""
        found = [(d, span_of(self.plate, d)) for d in self.plate.dimensions if d.own or not self.plate.about_part]
        spans = [(d, span) for d, span in found if span and self._worth(span)]
        spans.sort(key=lambda pair: (not pair[0].own, pair[1].length))
        self.missed += [_told(d) for d, _ in spans[MOST:]]
        return spans[:MOST]

    def _worth(self, span: Span) -> bool:
        """Whether a dimension can be seen at this scale; a close-up shows only those that begin in it."""
        inside = self.box.holds(span.start) or self.box.holds(span.end)
        least = TIGHT if self.look.brief else NEAREST
        return inside and (self.look.detail or span.length * self.scale >= least)

    def _stacked(self, dimension: Dimension, span: Span) -> bool:
        """A dimension along u or v, on the first free line beside the face."""
        level = abs(span.direction[0]) > 0.5
        if not self.box.holds(span.start):
            span = Span(span.end, span.start, (-span.direction[0], -span.direction[1]))
            dimension = _turned(dimension)
        start, end = self.at(span.start), self.at(span.end)
        far = not self.box.holds(span.end)
        labels = self._far_labels(dimension) if far else [dimension.label]
        if far:
            end = self._border(end)
        middle = (start[1] + end[1]) / 2 if level else (start[0] + end[0]) / 2
        size = self.face.bottom if level else self.face.right
        sides = (-1, 1) if middle < size / 2 - 1 else (1, -1)
        for label, number, side in product(labels, range(LINES), sides):
            across = (size if side > 0 else 0) + side * (FIRST + number * STEP)
            if self._on_level(dimension, label, (start, end), across, level, far):
                return True
        return False

    def _far_labels(self, dimension: Dimension) -> list[str]:
        """The value, and what it leads to off the drawing: by whose it is, else by its name alone."""
        thing = self.plate.point(dimension.end) or self.plate.edge(dimension.end)
        if thing is None:
            return []
        names = [thing.owner, thing.name] if thing.owner not in ("", self.plate.host) else [thing.name]
        return [f"{dimension.label} to {name}" for name in names if name]

    def _border(self, place: Place) -> Place:
        """Where a dimension to something far off is broken: a little outside the face."""
        x = min(max(place[0], self.face.left - 14), self.face.right + 14)
        return x, min(max(place[1], self.face.top - 14), self.face.bottom + 14)

    def _on_level(
        self, dimension: Dimension, label: str, ends: tuple[Place, Place], across: float, level: bool, far: bool
    ) -> bool:
        """Try one dimension line; `across` is its y (level) or x."""
        a, b = (end[0] if level else end[1] for end in ends)
        low, high = min(a, b), max(a, b)
        beyond = HEAD + 8 if high - low < TIGHT and not far else 0.0
        line = _patch(low - beyond, across - 1.5, high + beyond, across + 1.5, level)
        wide = width_of(label)
        lift = HIGH / 2 + 1.5
        if far and not level:
            spots = list(_off_the_end(across, b, 0.0, 1.0 if b > a else -1.0, wide))
        else:
            middles = _label_places(low, high, wide, beyond)
            spots = [Spot(at, across - lift) if level else Spot(across - lift, at, -90.0) for at in middles]
        for spot in spots:
            patches = (*spot.patches(wide), line)
            if self.room.free(patches, tidy=False):
                self.room.take(patches)
                self._write(dimension, label, spot, wide)
                middle = spot.x if level else spot.y
                outside = not low <= middle <= high and not (far and not level)
                reach = (middle - wide / 2, middle + wide / 2) if outside else (a, a)
                self._dimension_line(a, b, reach, across, level, far)
                for end in ends[: 1 if far else 2]:
                    self._extension(end, across, level)
                return True
        return False

    def _write(self, dimension: Dimension, label: str, spot: Spot, wide: float) -> None:
        kind = "value own" if dimension.own else "value"
        self.words.append(Words(kind, label, spot.x, spot.y, spot.turn, dimension.url, patches=spot.patches(wide)))

    def _dimension_line(
        self, a: float, b: float, reach: tuple[float, float], across: float, level: bool, far: bool
    ) -> None:
        """The line with what ends it: arrowheads inside or outside, strokes where it is tiny, a break where far."""
        length, forward = abs(b - a), 0.0 if b > a else pi
        turn = 0.0 if level else pi / 2
        tips = [(a, across) if level else (across, a), (b, across) if level else (across, b)]
        first, last = min(a, b, *reach), max(a, b, *reach)
        if far:
            self.heads.append(_head(tips[0], forward + pi + turn))
            self.strokes.append(Stroke("thin", _break(tips[1], level)))
        elif length >= TIGHT:
            self.heads += [_head(tips[0], forward + pi + turn), _head(tips[1], forward + turn)]
        elif length >= TINY:
            self.heads += [_head(tips[0], forward + turn), _head(tips[1], forward + pi + turn)]
            first, last = min(first, min(a, b) - HEAD - 6), max(last, max(a, b) + HEAD + 6)
        else:
            self.strokes.append(Stroke("stroke", "".join(_oblique(tip) for tip in tips)))
            first, last = min(first, min(a, b) - 6), max(last, max(a, b) + 6)
        path = f"M{first:.1f} {across:.1f}H{last:.1f}" if level else f"M{across:.1f} {first:.1f}V{last:.1f}"
        self.strokes.append(Stroke("thin", path))

    def _extension(self, place: Place, across: float, level: bool) -> None:
        """From the feature to a little past the dimension line."""
        x, y = place
        off = across - (y if level else x)
        sense = 1 if off > 0 else -1
        if abs(off) <= CLEAR:
            return
        near, past = sense * CLEAR, off + sense * PASSES
        self._line("thin", *((x, y + near, x, y + past) if level else (x + near, y, x + past, y)))

    def _slanting(self, dimension: Dimension, span: Span) -> bool:
        """A straight distance: its line runs beside the two places it joins."""
        if not (self.box.holds(span.start) and self.box.holds(span.end)):
            return self._slanting_off(dimension, span)
        start, end = self.at(span.start), self.at(span.end)
        along = atan2(end[1] - start[1], end[0] - start[0])
        square, turn = (-sin(along), cos(along)), _readable(degrees(along))
        length, wide = hypot(end[0] - start[0], end[1] - start[1]), width_of(dimension.label)
        up = (cos(radians(turn - 90)), sin(radians(turn - 90)))
        for off in (0.0, 18.0, -18.0, 36.0, -36.0, 54.0, -54.0):
            a, b = ((p[0] + square[0] * off, p[1] + square[1] * off) for p in (start, end))
            for share in (0.5, 0.3, 0.7) if length > wide * 1.6 else (0.5,):
                middle = a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share
                lift = HIGH / 2 + 1.5
                spot = Spot(middle[0] + up[0] * lift, middle[1] + up[1] * lift, turn)
                if length >= wide and self.room.free(spot.patches(wide), tidy=False):
                    self.room.take(spot.patches(wide))
                    self._write(dimension, dimension.label, spot, wide)
                    self._slanting_line(start, end, a, b, along, off)
                    return True
        return False

    def _slanting_off(self, dimension: Dimension, span: Span) -> bool:
        """A straight distance to something far off: from its near end a little past the face, and broken there."""
        if not self.box.holds(span.start):
            dimension, span = _turned(dimension), Span(span.end, span.start, span.direction)
        start, end = self.at(span.start), self.at(span.end)
        run = end[0] - start[0], end[1] - start[1]
        limits = [
            ((high if step > 0 else low) - at) / step
            for at, step, low, high in (
                (start[0], run[0], self.face.left - 8, self.face.right + 8),
                (start[1], run[1], self.face.top - 8, self.face.bottom + 8),
            )
            if step
        ]
        tip = start[0] + run[0] * min(limits), start[1] + run[1] * min(limits)
        along = atan2(run[1], run[0])
        for label in self._far_labels(dimension):
            wide = width_of(label)
            for spot in _off_the_end(*tip, cos(along), sin(along), wide):
                if self.room.free(spot.patches(wide), tidy=False):
                    self.room.take(spot.patches(wide))
                    self._write(dimension, label, spot, wide)
                    self.strokes.append(Stroke("thin", f"M{start[0]:.1f} {start[1]:.1f}L{tip[0]:.1f} {tip[1]:.1f}"))
                    self.heads += [_head(start, along + pi), _head(tip, along)]
                    return True
        return False

    def _slanting_line(self, start: Place, end: Place, a: Place, b: Place, along: float, off: float) -> None:
        for place, tip in ((start, a), (end, b)) if off else ():
            past = 1 + PASSES / abs(off)
            to = place[0] + (tip[0] - place[0]) * past, place[1] + (tip[1] - place[1]) * past
            self.strokes.append(Stroke("thin", f"M{place[0]:.1f} {place[1]:.1f}L{to[0]:.1f} {to[1]:.1f}"))
        self.strokes.append(Stroke("thin", f"M{a[0]:.1f} {a[1]:.1f}L{b[0]:.1f} {b[1]:.1f}"))
        self.heads += [_head(a, along + pi), _head(b, along)]

    # --- names

    def _names(self) -> None:
        points = list(self._point_names())
        own = [name for name in points if "own" in name[1]]
        for text, kind, spots in (*own, *self._edge_names(), *points[len(own) :]):
            spot = self.room.place(text, spots)
            if spot is None:
                self.unnamed.append(text)
                continue
            self.words.append(Words(kind, text, spot.x, spot.y, spot.turn, patches=spot.patches(width_of(text))))
            if spot.leader:
                x1, y1, x2, y2 = spot.leader
                self.strokes.append(Stroke("leader", f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}"))

    def _point_names(self) -> Iterator[tuple[str, str, Iterator[Spot]]]:
        """Those of the part first; of a neighbour on the whole face only whose it is, once."""
        told: set[str] = set()
        groups = [(number, point) for number, group in enumerate((self.plate.points, *self.plate.alternatives))
                  for point in shown_points(group, self.box)]  # fmt: skip
        for number, point in sorted(groups, key=lambda pair: not pair[1].own):
            text = self._point_name(point)
            if self.plate.alternatives and point.own:
                text += f", spot {number + 1}"
            if text in told:
                continue
            told.add(text)
            x, y = self.at(point.at)
            reach = max((point.diameter or 0) / 2 * self.scale, DOT)
            yield text, "name own" if point.own else "name", beside(x, y, reach, width_of(text))

    def _point_name(self, point: Point) -> str:
        if point.own:
            return point.owner if self.look.brief else point.name
        if point.owner in ("", self.plate.host):
            return point.name
        return f"{point.owner}: {point.name}" if self.look.detail else point.owner

    def _edge_names(self) -> Iterator[tuple[str, str, Iterator[Spot]]]:
        for edge in self.plate.edges:
            ends = piece(self.plate, edge, self.box)
            if ends and (edge.owner == self.plate.host or (edge.own and not self.look.brief)):
                text = edge.name or edge.owner
                kind = "name own" if edge.own else "name"
                yield text, kind, _along(self.at(ends[0]), self.at(ends[1]), width_of(text))

    # --- the sheet

    def finished(self, id: str, told: str, first: str, missed: list[str]) -> Drawing:
        """The drawing with its scale bar and the two directions below it."""
        title = self.plate.title + (", close to" if self.look.detail else "")
        extent = self.room.extent
        left = extent.left - (WIDE - (extent.right - extent.left)) / 2
        base = extent.bottom + 26
        self._scale_bar(left + 8, base, first)
        bottom = self._directions(left + 8, base + 20)
        return Drawing(
            id, title, told, round(left, 1), round(extent.top - 6, 1), WIDE, round(bottom - extent.top + 12, 1),
            self.ratio, tuple(self.strokes), tuple(self.rounds), tuple(self.heads), tuple(self.words),
            tuple(dict.fromkeys((*missed, *self.unnamed))),
        )  # fmt: skip

    def _scale_bar(self, x: float, y: float, first: str) -> None:
        """A round length of at most a third of the sheet, in the unit that the build shows first."""
        unit = 25.4 if first == "in" else 1.0
        sizes = [m * 10.0**p for p in range(-1, 5) for m in (1, 2, 5)]
        size = max((s for s in sizes if s * unit * self.scale <= WIDE / 3), default=sizes[0])
        long = size * unit * self.scale
        path = f"M{x:.1f} {y - 5:.1f}V{y + 5:.1f}M{x:.1f} {y:.1f}H{x + long:.1f}M{x + long:.1f} {y - 5:.1f}V{y + 5:.1f}"
        self.strokes.append(Stroke("bar", path))
        text = f"{size:g} {first}, scale {self.ratio}"
        self.words.append(Words("scale", text, x + long + 8, y, anchor="start"))

    def _directions(self, x: float, y: float) -> float:
        """An arrow each for what lies to the right and what lies up; returns where they end."""
        if self.plate.right:
            self.strokes.append(Stroke("thin", f"M{x:.1f} {y:.1f}H{x + 20:.1f}"))
            self.heads.append(_head((x + 22, y), 0.0))
            self.words.append(Words("scale", self.plate.right, x + 28, y, anchor="start"))
        if self.plate.up:
            right = x + 28 + width_of(self.plate.right) + 12 if self.plate.right else x
            self.strokes.append(Stroke("thin", f"M{right + 4:.1f} {y + 8:.1f}V{y - 6:.1f}"))
            self.heads.append(_head((right + 4, y - 8), -pi / 2))
            self.words.append(Words("scale", self.plate.up, right + 14, y, anchor="start"))
        return y + 8 if self.plate.right or self.plate.up else y - 14


def _signs(direction: Place) -> tuple[int, int]:
    return tuple(0 if abs(part) < 1e-3 else 1 for part in direction)  # type: ignore[return-value]


def _told(dimension: Dimension) -> str:
    return f"{dimension.what} {dimension.label}".strip()


def _turned(dimension: Dimension) -> Dimension:
    return Dimension(
        dimension.end, dimension.start, dimension.along, dimension.label, dimension.what, dimension.url,
        dimension.own, dimension.to_rim, dimension.rim,
    )  # fmt: skip


def _patch(a: float, b: float, c: float, d: float, level: bool) -> Patch:
    return Patch(a, b, c, d) if level else Patch(b, a, d, c)


def _label_places(low: float, high: float, wide: float, beyond: float) -> Iterator[float]:
    """Middles of a value on its line: between the heads where it fits, else beyond either end."""
    if high - low >= wide + (0 if beyond else 2):
        yield (low + high) / 2
    yield high + beyond + 4 + wide / 2
    yield low - beyond - 4 - wide / 2


def _off_the_end(x: float, y: float, dx: float, dy: float, wide: float) -> Iterator[Spot]:
    """Level words beyond the end of a line that leads off the drawing."""
    for further in (0.0, HIGH, 2 * HIGH):
        for shift in (0.0, wide / 2 - 8, 8 - wide / 2):
            if abs(dy) > abs(dx):
                yield Spot(x + shift, y + (10 + HIGH / 2 + further) * (1 if dy > 0 else -1))
        for sense in (1, -1):
            if abs(dx) >= abs(dy):
                yield Spot(x + (6 + wide / 2) * (1 if dx > 0 else -1), y + sense * further)


def _along(start: Place, end: Place, wide: float) -> Iterator[Spot]:
    """Spots for the name of an edge: on either side of it where it is long enough, else beside it with a leader."""
    length = hypot(end[0] - start[0], end[1] - start[1])
    turn = _readable(degrees(atan2(end[1] - start[1], end[0] - start[0])))
    up = cos(radians(turn - 90)), sin(radians(turn - 90))
    edge = (wide / 2 + 4) / length if length else 1.0
    if edge <= 0.5:
        for share in (edge, 1 - edge, 0.5, 0.25, 0.75):
            if not edge <= share <= 1 - edge:
                continue
            x, y = start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share
            for lift in (HIGH / 2 + 2, -HIGH / 2 - 2):
                yield Spot(x + up[0] * lift, y + up[1] * lift, turn)
    for share in (0.0, 1.0, 0.5, 0.15, 0.85, 0.3, 0.7):
        x, y = start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share
        yield from beside(x, y, 1.0, wide)


def _readable(turn: float) -> float:
    """The angle at which words along a line read from below or from the right."""
    turn = (turn + 180) % 360 - 180
    if turn > 89.9:
        return turn - 180
    return turn + 180 if turn < -90.1 else turn


def _head(tip: Place, points: float) -> str:
    """A filled arrowhead with its tip there, pointing that way (radians, clockwise)."""
    long = HEAD / cos(HALF_ANGLE)
    sides = (points + pi + HALF_ANGLE, points + pi - HALF_ANGLE)
    ends = [(tip[0] + cos(side) * long, tip[1] + sin(side) * long) for side in sides]
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in (tip, *ends))


def _oblique(tip: Place) -> str:
    return f"M{tip[0] - STROKE:.1f} {tip[1] + STROKE:.1f}L{tip[0] + STROKE:.1f} {tip[1] - STROKE:.1f}"


def _break(tip: Place, level: bool) -> str:
    """The zigzag of a line that is broken off (ISO 128-2)."""
    x, y = tip
    if level:
        return f"M{x - 4:.1f} {y:.1f}l2 -5l4 10l2 -5"
    return f"M{x:.1f} {y - 4:.1f}l-5 2l10 4l-5 2"

