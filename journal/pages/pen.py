"""The pen: what a drawing is made of, and the scale it is made to. Lengths in px, y downwards."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import cos, pi, radians, sin

from journal.ground.records import record
from journal.pages.lettering import Patch, Spot, along, round_way, width_of
from journal.pages.plate import Box, Place
from journal.pages.room import Room

WIDE, TALL = 328.0, 470.0
HEAD, HALF_ANGLE = 8.0, radians(11)
STROKE = 4.0  # half an oblique stroke


@record
class Stroke:
    """Lines of one kind, as an SVG path."""

    kind: str
    path: str


@record
class Round:
    """A circle, dot or ellipse; `turn` in degrees, clockwise as SVG counts."""

    kind: str
    x: float
    y: float
    rx: float
    ry: float
    turn: float = 0.0


@record
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


@dataclass
class Pen:
    """One drawing in the making: a box of the plane at a scale in px to the mm."""

    box: Box
    scale: float
    strokes: list[Stroke] = field(default_factory=list)
    rounds: list[Round] = field(default_factory=list)
    heads: list[str] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.face = Patch(0, 0, self.box.width * self.scale, self.box.height * self.scale)
        self.room = Room(WIDE, TALL, self.face)

    def at(self, place: Place) -> Place:
        """A place of the plane on the paper."""
        return (place[0] - self.box.left) * self.scale, (self.box.high - place[1]) * self.scale

    def stroke(self, kind: str, path: str) -> None:
        self.strokes.append(Stroke(kind, path))

    def line(self, kind: str, x1: float, y1: float, x2: float, y2: float) -> None:
        """A thin line that words keep off where they can."""
        self.stroke(kind, f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}")
        way = x1, y1, x2, y2
        self.room.cross([round_way(way)] if x1 == x2 or y1 == y2 else along(way))

    def write(self, kind: str, text: str, spot: Spot, url: str = "") -> None:
        """Words where there is room for them."""
        patches = spot.patches(width_of(text))
        self.words.append(Words(kind, text, spot.x, spot.y, spot.turn, url, patches=patches))


def readable(turn: float) -> float:
    """The angle at which words along a line read from below or from the right."""
    turn = (turn + 180) % 360 - 180
    if turn > 89.9:
        return turn - 180
    return turn + 180 if turn < -90.1 else turn


def head(tip: Place, points: float) -> str:
    """A filled arrowhead with its tip there, pointing that way (radians, clockwise)."""
    long = HEAD / cos(HALF_ANGLE)
    sides = (points + pi + HALF_ANGLE, points + pi - HALF_ANGLE)
    ends = [(tip[0] + cos(side) * long, tip[1] + sin(side) * long) for side in sides]
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in (tip, *ends))


def oblique(tip: Place) -> str:
    return f"M{tip[0] - STROKE:.1f} {tip[1] + STROKE:.1f}L{tip[0] + STROKE:.1f} {tip[1] - STROKE:.1f}"


def zigzag(tip: Place, level: bool) -> str:
    """The zigzag of a line that is broken off (ISO 128-2)."""
    x, y = tip
    if level:
        return f"M{x - 4:.1f} {y:.1f}l2 -5l4 10l2 -5"
    return f"M{x:.1f} {y - 4:.1f}l-5 2l10 4l-5 2"
