"""Drawings made from the data: dimension lines over a picture, the picture of progress.

Dimension lines after ISO 129-1: filled arrowheads at both ends, extension lines that pass the dimension line by
about eight times its width, the value above the line and parallel to it, read from below or from the right. Where
the line is too short for its arrowheads they stand outside and point inwards.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import chain
from math import atan2, cos, degrees, hypot, pi, radians, sin

from journal.ground.records import record
from journal.model.entities import PhotoLine
from journal.pages.lettering import SIZE, Patch, Spot, width_of
from journal.pages.room import Taken
from journal.pages.views import Curve, Overlay, Progress
from journal.pages.words import count, say_date, short_date

STROKE_SHARE = 320  # the picture's longer side over the line's width: 1 px where a phone shows it
LETTER_SHARE = 26  # ... over the height of the letters: 14 px there
HEAD_LENGTH = 9  # in line widths
HEAD_HALF_ANGLE = radians(10)
PASSES = 8  # line widths by which an extension line passes the dimension line (ISO 129-1)
MIDDLE = 0.36  # of a letter's height from the foot of the words to their middle
MOST_SPREAD = 40  # lines on one picture whose words are kept apart
BEYOND = 1.2  # letters between the end of a line and words beyond it: an arrowhead that stands outside, and air

Point = tuple[float, float]


def stroke(width: int, height: int) -> float:
    """Line width for a picture of this size, in its own pixels."""
    return round(max(width, height) / STROKE_SHARE, 1)


def letter(width: int, height: int) -> float:
    """Height of the letters for a picture of this size, in its own pixels."""
    return round(max(width, height) / LETTER_SHARE, 1)


def overlay(line: PhotoLine, width: int, height: int, figure: str = "", url: str = "") -> Overlay:
    """The dimension line of a picture of `width` x `height` pixels; points outside are moved to its edge."""
    start, end = (_inside(point, width, height) for point in (line.start, line.end))
    thick = stroke(width, height)
    along = atan2(end[1] - start[1], end[0] - start[0])
    length = hypot(end[0] - start[0], end[1] - start[1])
    tight = length < 3 * HEAD_LENGTH * thick
    turn = _readable(degrees(along))
    middle = _above(start, end, turn, thick * 3 + letter(width, height) * 0.2)
    return Overlay(
        line=_rounded(*start, *end),
        ticks=tuple(_tick(point, along, thick * PASSES) for point in (start, end)),
        heads=(_head(start, along, thick, outside=tight), _head(end, along, thick, outside=not tight)),
        text=line.text,
        x=round(middle[0], 1),
        y=round(middle[1], 1),
        turn=round(turn, 1),
        figure=figure,
        url=url,
    )


def spread(drawn: Sequence[Overlay], width: int, height: int) -> tuple[Overlay, ...]:
    """The same lines, each with its words off the words of the others: above it or below it, where they cross no
    other line if that can be, else beyond an end. Words that fit nowhere stay above their line, and so do all where
    there are very many.
    """
    if not 1 < len(drawn) <= MOST_SPREAD:
        return tuple(drawn)
    unit = letter(width, height) / SIZE  # of the picture's pixels, so that letters are as high as in a drawing
    whole = Patch(0, 0, width / unit, height / unit)
    words = Taken()  # of those before
    placed: list[Overlay] = []
    for one in drawn:
        wide = width_of(one.figure or one.text)
        lines = Taken()
        for patch in chain.from_iterable(_along(other, unit) for other in drawn if other is not one):
            lines.add(patch)
        spots = [Spot(x / unit, y / unit, one.turn) for x, y in _places(one, wide * unit, letter(width, height))]
        free = [spot for spot in spots if _fits(spot.patches(wide), words, whole)]
        clear = [spot for spot in free if spot in spots[:2] and _fits(spot.patches(wide), lines, whole)]
        spot = next(iter((*clear, *free, spots[0])))
        for patch in spot.patches(wide):
            words.add(patch)
        placed.append(_moved(one, spot, spots[0], unit))
    return tuple(placed)


def _places(one: Overlay, wide: float, high: float) -> Iterator[Point]:
    """Middles of its words: where they stand, as far below the line, beyond its far end and its near one."""
    up = cos(radians(one.turn - 90)), sin(radians(one.turn - 90))
    x1, y1, x2, y2 = one.line
    above = one.x + up[0] * high * MIDDLE, one.y + up[1] * high * MIDDLE
    middle = (x1 + x2) / 2, (y1 + y2) / 2
    yield above
    yield 2 * middle[0] - above[0], 2 * middle[1] - above[1]
    along = atan2(y2 - y1, x2 - x1)
    past = wide / 2 + BEYOND * high
    yield x2 + cos(along) * past, y2 + sin(along) * past
    yield x1 - cos(along) * past, y1 - sin(along) * past


def _along(one: Overlay, unit: float) -> Iterator[Patch]:
    """Small boxes along a line."""
    x1, y1, x2, y2 = (value / unit for value in one.line)
    steps = max(1, round(hypot(x2 - x1, y2 - y1) / 4))
    for n in range(steps + 1):
        x, y = x1 + (x2 - x1) * n / steps, y1 + (y2 - y1) * n / steps
        yield Patch(x - 2, y - 2, x + 2, y + 2)


def _fits(patches: Sequence[Patch], taken: Taken, whole: Patch) -> bool:
    return all(patch.joined(whole) == whole and not taken.meets(patch) for patch in patches)


def _moved(one: Overlay, spot: Spot, first: Spot, unit: float) -> Overlay:
    x, y = one.x + (spot.x - first.x) * unit, one.y + (spot.y - first.y) * unit
    return one._replace(x=round(x, 1), y=round(y, 1))


def _inside(point: Point, width: int, height: int) -> Point:
    return min(max(point[0], 0.0), 1.0) * width, min(max(point[1], 0.0), 1.0) * height


def _rounded(*values: float) -> tuple[float, float, float, float]:
    a, b, c, d = (round(value, 1) for value in values)
    return a, b, c, d


def _readable(turn: float) -> float:
    """The angle at which words along the line read from below or from the right."""
    turn = (turn + 180) % 360 - 180
    if turn > 89.9:
        return turn - 180
    return turn + 180 if turn < -90.1 else turn


def _above(start: Point, end: Point, turn: float, distance: float) -> Point:
    up = radians(turn - 90)
    return (start[0] + end[0]) / 2 + cos(up) * distance, (start[1] + end[1]) / 2 + sin(up) * distance


def _tick(point: Point, along: float, reach: float) -> tuple[float, float, float, float]:
    dx, dy = -sin(along) * reach, cos(along) * reach
    return _rounded(point[0] - dx, point[1] - dy, point[0] + dx, point[1] + dy)


def _head(tip: Point, along: float, thick: float, *, outside: bool) -> str:
    """A filled arrowhead with its tip on `tip`; its body lies back along the line, or ahead of it."""
    back = along + pi if outside else along
    long = HEAD_LENGTH * thick / cos(HEAD_HALF_ANGLE)
    sides = (back + HEAD_HALF_ANGLE, back - HEAD_HALF_ANGLE)
    ends = [(tip[0] + cos(side) * long, tip[1] + sin(side) * long) for side in sides]
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in (tip, *ends))


@record
class Tally:
    """How many parts are off, back on and recorded at the end of a day."""

    day: date
    off: int
    back: int
    recorded: int


WIDTH, HEIGHT = 400, 240
LEFT, RIGHT, TOP, BASE = 34, 300, 14, 200
AFTER = 12  # the lines go on a little past the last day, so that its step shows as one
APART = 19  # the least distance between two names at the right, in the drawing's units


def progress(tallies: Sequence[Tally]) -> Progress | None:
    """The steps of the three counts over time; None with fewer than two days or nothing off."""
    if len(tallies) < 2 or not any(t.off or t.back for t in tallies):
        return None
    first, last = tallies[0].day.toordinal(), tallies[-1].day.toordinal()
    most = max(1, *(max(t.off, t.back, t.recorded) for t in tallies))

    def across(on: date) -> float:
        return round(LEFT + (RIGHT - AFTER - LEFT) * (on.toordinal() - first) / (last - first), 1)

    def up(number: int) -> float:
        return round(BASE - (BASE - TOP) * number / most, 1)

    lasts = tallies[-1]
    named = (("off", "solid", [t.off for t in tallies]), ("recorded", "dashed", [t.recorded for t in tallies]),
             ("back or new", "chain", [t.back for t in tallies]))
    xs = [across(t.day) for t in tallies]
    places = _apart([up(counts[-1]) for _, _, counts in named])
    curves = tuple(
        Curve(name, style, _steps(xs, [up(n) for n in counts]), counts[-1], RIGHT + 8, y)
        for (name, style, counts), y in zip(named, places, strict=True)
    )
    return Progress(
        WIDTH, HEIGHT, curves,
        days=tuple((across(on), short_date(on)) for on in (tallies[0].day, tallies[-1].day)),
        levels=tuple((up(n), n) for n in _levels(most)),
        summary=_summary(lasts),
        rows=tuple((t.day, t.off, t.back, t.recorded) for t in tallies),
        left=LEFT, right=RIGHT, base=BASE,
    )


def _summary(last: Tally) -> str:
    """`On 2 May 2026: 24 parts off, 17 back or new. Of these 41, 35 have their position recorded`."""
    both = last.off + last.back
    have = "has its" if last.recorded == 1 else "have their"
    return (f"On {say_date(last.day)}: {count(last.off, 'part')} off, {last.back} back or new. "
            f"Of {'this one' if both == 1 else f'these {both:,}'}, {last.recorded} {have} position recorded")


def _steps(xs: Sequence[float], ys: Sequence[float]) -> str:
    """A count holds until the next day: level, then up or down."""
    points = [(xs[0], ys[0])]
    for x, y in zip(xs[1:], ys[1:], strict=True):
        points += [(x, points[-1][1]), (x, y)]
    points.append((RIGHT, ys[-1]))
    return " ".join(f"{x:g},{y:g}" for x, y in points)


def _levels(most: int) -> list[int]:
    """At most five round numbers from 0."""
    step = next(s * 10**power for power in range(9) for s in (1, 2, 5) if most / (s * 10**power) <= 4)
    return list(range(0, most + 1, step))


def _apart(heights: Sequence[float]) -> list[float]:
    """The same heights with at least APART between neighbours, none below the base line."""
    order = sorted(range(len(heights)), key=lambda n: -heights[n])
    placed: dict[int, float] = {}
    ceiling = float(BASE)
    for n in order:
        placed[n] = min(heights[n], ceiling)
        ceiling = placed[n] - APART
    return [round(placed[n], 1) for n in range(len(heights))]
