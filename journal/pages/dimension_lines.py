"""Dimension lines after ISO 129-1, stacked beside a face or drawn along a slanting distance.

Extension lines pass the dimension line by about eight line widths, values stand above the line and are read from
below or from the right; where a line is too short for its arrowheads they stand outside, and where it is shorter
still oblique strokes stand for them. A line that leads off the drawing is broken with a zigzag and says where it leads.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import product
from math import atan2, cos, degrees, hypot, pi, radians, sin

from journal.pages.lettering import HIGH, Patch, Spot, Way, along, crossed, width_of
from journal.pages.pen import HEAD, Pen, head, oblique, readable, zigzag
from journal.pages.plate import Dimension, Place, Plate, Span, span_of

THIN = 0.75  # px, the dimension lines
PASSES = 8 * THIN  # by which an extension line passes the dimension line (ISO 129-1)
CLEAR = 2.0  # px between a feature and its extension line
FIRST, STEP = 20.0, 19.0  # px from the face to the first dimension line, and from line to line
LIFT = HIGH / 2 + 1.5  # px from a dimension line to the middle of its value
LINES = 7  # dimension lines on one side
TIGHT, TINY = 3 * HEAD, 6.0  # px: shorter lines have their heads outside, or strokes
MOST = 24  # dimensions on one drawing


@dataclass
class DimensionLines:
    """Puts the dimensions of a plate on a drawing; `missed` are those there was no room for, in words, `over` those
    beyond what one drawing can hold; `unseen` ones are too short for its scale. `met` are ids of what those drawn join.

    least  px: shorter ones are not drawn and not missed
    """

    plate: Plate
    pen: Pen
    least: float
    missed: list[str] = field(default_factory=list)
    over: list[str] = field(default_factory=list)
    unseen: int = 0
    met: set[str] = field(default_factory=set)

    def draw(self) -> None:
        """All that are wanted."""
        wanted = self._wanted()
        slants = [self._way(span) for _, span in wanted if _slants(span)]
        for dimension, span in wanted:
            drawn = self._slanting(dimension, span, slants) if _slants(span) else self._stacked(dimension, span)
            if drawn:
                self.met.update((dimension.start, dimension.end))
            else:
                self.missed.append(_told(dimension))

    def _wanted(self) -> list[tuple[Dimension, Span]]:
        """What is to be drawn: those of the part (all of a face), the shortest nearest to the face."""
        found = [(d, span_of(self.plate, d)) for d in self.plate.dimensions if d.own or not self.plate.about_part]
        here = [(d, span) for d, span in found if span and self._begins_here(span)]
        spans = [(d, span) for d, span in here if span.length * self.pen.scale >= self.least]
        self.unseen = len(here) - len(spans)
        spans.sort(key=lambda pair: (not pair[0].own, pair[1].length))
        self.over = [_told(d) for d, _ in spans[MOST:]]
        return spans[:MOST]

    def _way(self, span: Span) -> Way:
        return *self.pen.at(span.start), *self.pen.at(span.end)

    def _begins_here(self, span: Span) -> bool:
        return self.pen.box.holds(span.start) or self.pen.box.holds(span.end)

    def _stacked(self, dimension: Dimension, span: Span) -> bool:
        """A dimension along u or v, on the first free line beside the face."""
        level = abs(span.direction[0]) > 0.5
        if not self.pen.box.holds(span.start):
            span = Span(span.end, span.start, (-span.direction[0], -span.direction[1]))
            dimension = _turned(dimension)
        start, end = self.pen.at(span.start), self.pen.at(span.end)
        far = not self.pen.box.holds(span.end)
        labels = self._far_labels(dimension) if far else [dimension.label]
        if far:
            end = self._border(end)
        middle = (start[1] + end[1]) / 2 if level else (start[0] + end[0]) / 2
        size = self.pen.face.bottom if level else self.pen.face.right
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
        x = min(max(place[0], self.pen.face.left - 14), self.pen.face.right + 14)
        return x, min(max(place[1], self.pen.face.top - 14), self.pen.face.bottom + 14)

    def _on_level(
        self, dimension: Dimension, label: str, ends: tuple[Place, Place], across: float, level: bool, far: bool
    ) -> bool:
        """Try one dimension line; `across` is its y (level) or x."""
        a, b = (end[0] if level else end[1] for end in ends)
        low, high = min(a, b), max(a, b)
        beyond = HEAD + 8 if high - low < TIGHT and not far else 0.0
        wide = width_of(label)
        out = [way for end in ends[: 1 if far else 2] if (way := _out(end, across, level))]
        if far and not level:
            spots = list(_off_the_end(across, b, 0.0, 1.0 if b > a else -1.0, wide))
        else:
            middles = _label_places(low, high, wide, beyond)
            spots = [Spot(at, across - LIFT) if level else Spot(across - LIFT, at, -90.0) for at in middles]
        for spot in spots:
            middle = spot.x if level else spot.y
            outside = not low <= middle <= high and not (far and not level)
            reach = (middle - wide / 2, middle + wide / 2) if outside else (a, a)
            first, last = min(low - beyond, *reach), max(high + beyond, *reach)
            line = _patch(first, across - 1.5, last, across + 1.5, level)
            if self.pen.room.free((*spot.patches(wide), line), out):
                self.pen.room.take(spot.patches(wide))
                self.pen.room.rule([line])
                self._write(dimension, label, spot)
                self._dimension_line(a, b, reach, across, level, far)
                for way in out:
                    self.pen.line("thin", *way)
                return True
        return False

    def _write(self, dimension: Dimension, label: str, spot: Spot) -> None:
        kind = "value own" if dimension.own else "value"
        self.pen.write(kind, label, spot, dimension.url)

    def _dimension_line(
        self, a: float, b: float, reach: tuple[float, float], across: float, level: bool, far: bool
    ) -> None:
        """The line with what ends it: arrowheads inside or outside, strokes where it is tiny, a break where far."""
        length, forward = abs(b - a), 0.0 if b > a else pi
        turn = 0.0 if level else pi / 2
        tips = [(a, across) if level else (across, a), (b, across) if level else (across, b)]
        first, last = min(a, b, *reach), max(a, b, *reach)
        if far:
            self.pen.heads.append(head(tips[0], forward + pi + turn))
            self.pen.stroke("thin", zigzag(tips[1], level))
        elif length >= TIGHT:
            self.pen.heads += [head(tips[0], forward + pi + turn), head(tips[1], forward + turn)]
        elif length >= TINY:
            self.pen.heads += [head(tips[0], forward + turn), head(tips[1], forward + pi + turn)]
            first, last = min(first, min(a, b) - HEAD - 6), max(last, max(a, b) + HEAD + 6)
        else:
            self.pen.stroke("stroke", "".join(oblique(tip) for tip in tips))
            first, last = min(first, min(a, b) - 6), max(last, max(a, b) + 6)
        path = f"M{first:.1f} {across:.1f}H{last:.1f}" if level else f"M{across:.1f} {first:.1f}V{last:.1f}"
        self.pen.stroke("thin", path)

    def _slanting(self, dimension: Dimension, span: Span, slants: list[Way]) -> bool:
        """A straight distance: its line runs beside the two places it joins, its value where no other will cross."""
        if not (self.pen.box.holds(span.start) and self.pen.box.holds(span.end)):
            return self._slanting_off(dimension, span)
        start, end = self.pen.at(span.start), self.pen.at(span.end)
        ahead = atan2(end[1] - start[1], end[0] - start[0])
        square, turn = (-sin(ahead), cos(ahead)), readable(degrees(ahead))
        length, wide = hypot(end[0] - start[0], end[1] - start[1]), width_of(dimension.label)
        up = (cos(radians(turn - 90)), sin(radians(turn - 90)))
        shares, others = _shares(length, wide), [way for way in slants if way != self._way(span)]
        for off in (0.0, 18.0, -18.0, 36.0, -36.0, 54.0, -54.0):
            a, b = ((p[0] + square[0] * off, p[1] + square[1] * off) for p in (start, end))
            line, out = (*a, *b), _out_beside(a, b, start, end, off)
            if self.pen.room.crosses_words(line):
                continue
            middles = [(a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share) for share in shares]
            spots = [Spot(x + up[0] * LIFT, y + up[1] * LIFT, turn) for x, y in middles]
            for spot in sorted(spots, key=lambda spot: sum(crossed(way, spot.patches(wide)) for way in others)):
                if self.pen.room.free(spot.patches(wide), [line, *out]):
                    self.pen.room.take(spot.patches(wide))
                    self._write(dimension, dimension.label, spot)
                    self._slanting_line(line)
                    for way in out:
                        self.pen.line("thin", *way)
                    self.pen.heads += [head(a, ahead + pi), head(b, ahead)]
                    return True
        return False

    def _slanting_off(self, dimension: Dimension, span: Span) -> bool:
        """A straight distance to something far off: from its near end a little past the face, and broken there."""
        if not self.pen.box.holds(span.start):
            dimension, span = _turned(dimension), Span(span.end, span.start, span.direction)
        start, end = self.pen.at(span.start), self.pen.at(span.end)
        run = end[0] - start[0], end[1] - start[1]
        limits = [
            ((high if step > 0 else low) - at) / step
            for at, step, low, high in (
                (start[0], run[0], self.pen.face.left - 8, self.pen.face.right + 8),
                (start[1], run[1], self.pen.face.top - 8, self.pen.face.bottom + 8),
            )
            if step
        ]
        tip = start[0] + run[0] * min(limits), start[1] + run[1] * min(limits)
        ahead, way = atan2(run[1], run[0]), (*start, *tip)
        if self.pen.room.crosses_words(way):
            return False
        for label in self._far_labels(dimension):
            wide = width_of(label)
            for spot in _off_the_end(*tip, cos(ahead), sin(ahead), wide):
                if self.pen.room.free(spot.patches(wide), [way]):
                    self.pen.room.take(spot.patches(wide))
                    self._write(dimension, label, spot)
                    self._slanting_line(way)
                    self.pen.heads += [head(start, ahead + pi), head(tip, ahead)]
                    return True
        return False

    def _slanting_line(self, way: Way) -> None:
        """The dimension line itself, which no words stand on."""
        x1, y1, x2, y2 = way
        self.pen.stroke("thin", f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}")
        self.pen.room.rule(along(way))


def _out(place: Place, across: float, level: bool) -> Way | None:
    """An extension line: from the feature to a little past the dimension line; None where that is no way off."""
    x, y = place
    off = across - (y if level else x)
    if abs(off) <= CLEAR:
        return None
    sense = 1 if off > 0 else -1
    near, past = sense * CLEAR, off + sense * PASSES
    return (x, y + near, x, y + past) if level else (x + near, y, x + past, y)


def _out_beside(a: Place, b: Place, start: Place, end: Place, off: float) -> list[Way]:
    """The extension lines of a dimension line that runs beside what it joins: from there to a little past it."""
    past = 1 + PASSES / abs(off) if off else 0.0
    return [
        (x, y, x + (tip[0] - x) * past, y + (tip[1] - y) * past) for (x, y), tip in ((start, a), (end, b)) if off
    ]


def _shares(length: float, wide: float) -> list[float]:
    """Where on a slanting line its value may stand: in its middle, else to either side of it, as far as its end."""
    end = (wide / 2 + 2 * CLEAR) / length
    shares = [0.5, *(share for share in (0.3, (wide / 2 + HEAD) / length, end) if end <= share < 0.4)]
    return [at for share in shares for at in dict.fromkeys((share, 1 - share)) if wide <= length]


def _slants(span: Span) -> bool:
    return all(abs(part) >= 1e-3 for part in span.direction)


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
