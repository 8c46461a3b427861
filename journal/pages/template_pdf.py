"""A full-size template on paper: tiled over A4 or Letter, with overlap, join marks and two check bars on each sheet.

One bar lies across the sheet and one stands upright, so that a printer that stretches one way only is found too.
The same template gives the same bytes.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from io import BytesIO
from math import ceil
from typing import TYPE_CHECKING

from journal.ground.records import record
from journal.pages import words
from journal.pages.full_size import Hole, Template
from journal.pages.plate import Box, Place
from journal.read.tag_sheet import PAPERS

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas  # type: ignore[import-untyped]  # has no types

OVERLAP = 10.0  # mm, as all lengths here
MOST_SHEETS = 24
BORDER = 8.0  # what printers leave white (common practice, no published source)
COLUMN, STRIP = 12.0, 34.0  # left of the drawing for the upright bar, below it for the title
BAR, INCH_BAR = 100.0, 4 * 25.4
MEASURE = "Measure both bars before you use this sheet; if they are not 100 mm and 4 in, print again at 100 %."
POINT = 72 / 25.4  # PDF's points to the mm
SIZE = 9.0  # pt, the letters on the template
BEYOND = 300.0  # of the template, that its letters may reach
LINES = 4  # of 8 pt, that the title has room for


@record
class Tile:
    """A sheet: its name (row letter, column number), and what it shows of the plane."""

    name: str
    row: int
    column: int
    shows: Box


@record
class Tiling:
    """How a template lies on sheets of paper, `width` x `height`."""

    width: float
    height: float
    rows: int
    columns: int
    tiles: tuple[Tile, ...]

    @property
    def corner(self) -> Place:
        """Lower left corner of the drawing on each sheet."""
        return BORDER + COLUMN, BORDER + STRIP


def tiling(box: Box, paper: str) -> Tiling:
    """The fewest sheets, upright or across, that hold a box in the middle of them."""
    wide, high = (float(side) for side in PAPERS[paper])
    return min((_tiling(box, wide, high), _tiling(box, high, wide)), key=lambda made: made.rows * made.columns)


def _tiling(box: Box, width: float, height: float) -> Tiling:
    window = width - 2 * BORDER - COLUMN, height - 2 * BORDER - STRIP
    step = window[0] - OVERLAP, window[1] - OVERLAP
    columns = max(1, ceil((box.width - OVERLAP) / step[0] - 1e-9))
    rows = max(1, ceil((box.height - OVERLAP) / step[1] - 1e-9))
    left = (box.left + box.right - columns * step[0] - OVERLAP) / 2
    top = (box.low + box.high + rows * step[1] + OVERLAP) / 2
    if rows * columns > MOST_SHEETS:
        return Tiling(width, height, rows, columns, ())
    tiles = tuple(
        Tile(f"{chr(65 + row)}{column + 1}", row, column, _window(left, top, row, column, step, window))
        for row in range(rows)
        for column in range(columns)
    )
    return Tiling(width, height, rows, columns, tiles)


def _window(left: float, top: float, row: int, column: int, step: Place, size: Place) -> Box:
    x, y = left + column * step[0], top - row * step[1]
    return Box(x, y - size[1], x + size[0], y)


def pdf(template: Template, paper: str, about: str = "") -> bytes | None:
    """The template at 1:1; None where it would take more than 24 sheets. `about`: the build's title."""
    laid = tiling(template.box, paper)
    if not laid.tiles:
        return None
    from reportlab import rl_config  # type: ignore[import-untyped]  # has no types
    from reportlab.pdfgen.canvas import Canvas  # half a second, and only where a template is made

    target = BytesIO()
    canvas = Canvas(target, pagesize=(laid.width * POINT, laid.height * POINT), invariant=1, pageCompression=1)
    canvas.setTitle(_plain(f"{template.title}, full-size template"))
    canvas.setSubject(_plain(about))
    canvas.setViewerPreference("PrintScaling", "None")
    plan, margin = _Plan(canvas, template), _Margin(canvas, template, laid)
    plan.define()
    margin.define()
    for tile in laid.tiles:
        _Sheet(canvas, plan, margin, tile).draw()
        canvas.showPage()
    kept, rl_config.useA85 = rl_config.useA85, 0  # bytes as they are: shorter, and sooner written
    try:
        canvas.save()
    finally:
        rl_config.useA85 = kept
    return target.getvalue()


@dataclass
class _Pen:
    canvas: Canvas

    def _line(self, a: Place, b: Place, width: float) -> None:
        """A line on the sheet; places in mm from its lower left corner, width in mm."""
        self.canvas.setLineWidth(width * POINT)
        self.canvas.line(a[0] * POINT, a[1] * POINT, b[0] * POINT, b[1] * POINT)

    def _text(self, x: float, y: float, text: str, size: float = SIZE, bold: bool = False) -> None:
        self.canvas.setFont("Helvetica-Bold" if bold else "Helvetica", size)
        self.canvas.drawString(x * POINT, y * POINT, _plain(text))


@dataclass
class _Plan(_Pen):
    """All of the drawing, told once and shown in every sheet's window (a form XObject, ISO 32000-1, 8.10)."""

    template: Template
    name = "plan"

    def define(self) -> None:
        canvas, template, far = self.canvas, self.template, BEYOND * POINT
        high = self._at((template.box.right, template.box.high))
        canvas.beginForm(self.name, -far, -far, high[0] + far, high[1] + far)
        for edge in template.edges:
            canvas.setLineWidth((0.7 if edge.own else 0.5) * POINT)
            canvas.line(*self._at(edge.a), *self._at(edge.b))
        for hole in template.holes:
            self._hole(hole)
        for arrow in template.arrows:
            self._arrow(arrow.tail, arrow.tip)
        for label in template.labels:
            self._label(label.text, label.middle, label.turn)
        canvas.endForm()

    def _at(self, place: Place) -> Place:
        """A place of the plane, in points from the lower left corner of the template."""
        return (place[0] - self.template.box.left) * POINT, (place[1] - self.template.box.low) * POINT

    def _hole(self, hole: Hole) -> None:
        canvas, (x, y) = self.canvas, self._at(hole.centre)
        canvas.setDash([3, 2] if hole.other else [])
        canvas.setLineWidth(0.18 * POINT)
        arm = hole.arm * POINT
        canvas.line(x - arm, y, x + arm, y)
        canvas.line(x, y - arm, x, y + arm)
        if hole.diameter:
            canvas.setLineWidth(0.35 * POINT)
            canvas.circle(x, y, hole.diameter / 2 * POINT)
        canvas.setDash([])

    def _arrow(self, tail: Place, tip: Place) -> None:
        (x1, y1), (x2, y2) = self._at(tail), self._at(tip)
        length = max(((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5, 1e-9)
        along = (x2 - x1) / length, (y2 - y1) / length
        self.canvas.setLineWidth(0.25 * POINT)
        self.canvas.line(x1, y1, x2, y2)
        head = self.canvas.beginPath()
        head.moveTo(x2, y2)
        for side in (1, -1):
            head.lineTo(x2 - 9 * along[0] - side * 2 * along[1], y2 - 9 * along[1] + side * 2 * along[0])
        head.close()
        self.canvas.drawPath(head, stroke=0, fill=1)

    def _label(self, text: str, middle: Place, turn: float) -> None:
        canvas, (x, y) = self.canvas, self._at(middle)
        canvas.saveState()
        canvas.translate(x, y)
        canvas.rotate(turn)
        canvas.setFont("Helvetica", SIZE)
        canvas.drawCentredString(0, -0.35 * SIZE, _plain(text))
        canvas.restoreState()


@dataclass
class _Margin(_Pen):
    """What stands round the window on every sheet alike, told once: bars, words, the map of all sheets."""

    template: Template
    laid: Tiling
    name = "margin"

    def define(self) -> None:
        self.canvas.beginForm(self.name)
        self._bars()
        self._words()
        for tile in self.laid.tiles if len(self.laid.tiles) > 1 else ():
            self.cell(tile, 1)
        self.canvas.endForm()

    def _bars(self) -> None:
        left, low = BORDER + COLUMN, BORDER + 4
        self._line((left, low), (left + BAR, low), 0.3)
        for end in (left, left + BAR):
            self._line((end, low - 2), (end, low + 2), 0.2)
        self._text(left + BAR + 2, low - 1.1, "100 mm", 8, bold=True)
        side, foot = BORDER + 5, BORDER + STRIP
        self._line((side, foot), (side, foot + INCH_BAR), 0.3)
        for end in (foot, foot + INCH_BAR):
            self._line((side - 2, end), (side + 2, end), 0.2)
        self.canvas.saveState()
        self.canvas.translate((side + 4.2) * POINT, (foot + INCH_BAR / 2) * POINT)
        self.canvas.rotate(90)
        self.canvas.setFont("Helvetica-Bold", 8)
        self.canvas.drawCentredString(0, 0, "4 in")
        self.canvas.restoreState()

    def _words(self) -> None:
        left, top = BORDER + COLUMN, BORDER + STRIP
        day = f"Readings up to {words.say_date(self.template.read_to)}. " if self.template.read_to else ""
        lines = _wrapped(f"Full size, 1:1. {' '.join(self.template.about)} {day}", self.wide, 8)
        for n, line in enumerate(lines[:LINES]):
            self._text(left, top - 9.2 - n * 3.5, line, 8)
        self._text(left, top - 24.5, _fitted(MEASURE, self.wide, 9), 9, bold=True)

    @property
    def wide(self) -> float:
        return self.laid.width - 2 * BORDER - COLUMN

    def title(self, tile: Tile) -> None:
        number = self.laid.tiles.index(tile) + 1
        sheet = f"Sheet {tile.name}, {number} of {len(self.laid.tiles)}"
        text = _fitted(f"{self.template.title}: {sheet}", self.wide, 11)
        self._text(BORDER + COLUMN, BORDER + STRIP - 5, text, 11, bold=True)

    def cell(self, tile: Tile, grey: float) -> None:
        """A sheet on the map of all, so light."""
        left, low = self.laid.width - BORDER - self.laid.columns * 5, BORDER + 1
        x, y = left + tile.column * 5, low + (self.laid.rows - 1 - tile.row) * 2.4
        self.canvas.setFillGray(grey)
        self.canvas.setLineWidth(0.15 * POINT)
        self.canvas.rect(x * POINT, y * POINT, 5 * POINT, 2.4 * POINT, stroke=1, fill=1)
        self.canvas.setFillGray(0)
        self._text(x + 0.8, y + 0.6, tile.name, 5)


@dataclass
class _Sheet(_Pen):
    plan: _Plan
    margin: _Margin
    tile: Tile

    def draw(self) -> None:
        self._window()
        self._joins()
        self.canvas.doForm(self.margin.name)
        self.margin.title(self.tile)
        if len(self.laid.tiles) > 1:
            self.margin.cell(self.tile, 0.75)

    @property
    def laid(self) -> Tiling:
        return self.margin.laid

    def _window(self) -> None:
        """What this sheet shows of the drawing, and its frame."""
        canvas, shows, box = self.canvas, self.tile.shows, self.plan.template.box
        x, y = self.laid.corner
        frame = (x * POINT, y * POINT, shows.width * POINT, shows.height * POINT)
        canvas.saveState()
        path = canvas.beginPath()
        path.rect(*frame)
        canvas.clipPath(path, stroke=0, fill=0)
        canvas.translate((x + box.left - shows.left) * POINT, (y + box.low - shows.low) * POINT)
        canvas.doForm(self.plan.name)
        canvas.restoreState()
        canvas.setLineWidth(0.15 * POINT)
        canvas.rect(*frame)

    # --- joining the sheets

    def _joins(self) -> None:
        """Where the next sheet lies over this one: a dashed line in the middle of the overlap, crosses, both names."""
        for name, upright, at, crosses in self._seams():
            self.canvas.setDash([1, 2])
            x, y = self.laid.corner
            far = (x + self.tile.shows.width, y + self.tile.shows.height)
            self._line((at, y) if upright else (x, at), (at, far[1]) if upright else (far[0], at), 0.15)
            self.canvas.setDash([])
            for along in crosses:
                cross = (at, along) if upright else (along, at)
                self._line((cross[0] - 4, cross[1]), (cross[0] + 4, cross[1]), 0.25)
                self._line((cross[0], cross[1] - 4), (cross[0], cross[1] + 4), 0.25)
                self._text(cross[0] + 1, cross[1] + 1.2, f"{self.tile.name}-{name}", 6)

    def _seams(self) -> Iterator[tuple[str, bool, float, tuple[float, float]]]:
        """(neighbour, whether it lies beside, where the seam is, where its crosses are), in mm on the sheet."""
        x, y = self.laid.corner
        shows = self.tile.shows
        half = OVERLAP / 2
        for tile in self.laid.tiles:
            beside, below = tile.column - self.tile.column, tile.row - self.tile.row
            if abs(beside) + abs(below) != 1:
                continue
            if beside:
                at = x + (shows.width - half if beside > 0 else half)
                yield tile.name, True, at, (y + shows.height * 0.25, y + shows.height * 0.75)
            else:
                at = y + (half if below > 0 else shows.height - half)
                yield tile.name, False, at, (x + shows.width * 0.25, x + shows.width * 0.75)


def _plain(text: str) -> str:
    """In the letters that every PDF reader brings along (WinAnsi); others are written near enough, or as `?`."""
    text = text.translate({0x2032: "'", 0x2033: '"', 0x2212: "-", 0x2300: "dia ", 0x00A0: " "})
    return "".join(_letter(letter) for letter in text)


@cache
def _letter(letter: str) -> str:
    try:
        letter.encode("cp1252")
    except UnicodeEncodeError:
        near = unicodedata.normalize("NFKD", letter).encode("ascii", "ignore").decode()
        return near or ("" if unicodedata.combining(letter) else "?")
    return letter if letter.isprintable() else " "


@lru_cache(4096)
def _wide(text: str, size: float) -> float:
    from reportlab.pdfbase.pdfmetrics import stringWidth  # type: ignore[import-untyped]  # has no types

    return float(stringWidth(_plain(text), "Helvetica-Bold", size)) / POINT


def _fitted(text: str, wide: float, size: float) -> str:
    """The text, cut with dots where it is too long for the sheet."""
    while len(text) > 4 and _wide(text, size) > wide:
        text = text[:-4].rstrip() + "..."
    return text


def _wrapped(text: str, wide: float, size: float) -> list[str]:
    """The text in lines broken between words."""
    lines: list[list[str]] = [[]]
    gap, taken = _wide(" ", size), 0.0
    for word in text.split():
        needed = _wide(word, size)
        if lines[-1] and taken + gap + needed > wide:
            lines.append([])
        taken = needed if not lines[-1] else taken + gap + needed
        lines[-1].append(word)
    return [" ".join(line) for line in lines]
