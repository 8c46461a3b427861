"""A plate as a line drawing for the page: to one scale both ways, dimensioned after ISO 129-1.

The drawing is made for a sheet 328 px wide, what a phone of 360 px leaves, and is shown and printed at that size or
a little larger; 96 px are an inch, so the scale (a ratio of ISO 5455) is true on paper.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from math import atan2, cos, degrees, dist, hypot, pi, radians, sin

from journal.ground.records import record
from journal.pages.dimension_lines import TIGHT, DimensionLines
from journal.pages.lettering import HIGH, SIZE, Disc, Patch, Spot, close_by, width_of
from journal.pages.pen import TALL, WIDE, Pen, Round, Stroke, Words, head, readable
from journal.pages.plate import Box, Place, Plate, Point, around, pieces, shown_points
from journal.pages.words import listed

PX = 96 / 25.4  # px to the millimetre of paper
RATIOS = (  # ISO 5455
    (2, 1), (1, 1), *((1, m * 10**p) for p in range(5) for m in (2, 5, 10)),
)  # fmt: skip
EDGE = 12.0  # px of face shown beyond the outermost thing
NEAREST = 3.0  # px: a shorter dimension cannot be told from a point
SEEN = 3.5  # px: an ellipse with a shorter half axis cannot be told from its point
DOT = 2.5
MERGED = SIZE / 2  # px: edges closer than half a letter look like the two sides of one bar
FEW = 5  # names there was no room for that are told one by one
ROOM = 60.0  # px at least beside and below the face for its dimensions
NAMED = (12, 40)  # neighbours that are named on the drawing of a part, and of a face


@record
class Look:
    """detail: what is about the part, larger; brief: the whole, where a detail tells the rest."""

    detail: bool = False
    brief: bool = False


@record
class Drawing:
    """A finished drawing.

    left, top, width, height  its view box        ratio    "1:5"
    caption   what is written below it
    told      what it shows, in words             left_out readings and names there was no room for
    """

    id: str
    title: str
    caption: str
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


def shows_something(plate: Plate) -> bool:
    """Whether there is anything to draw: a point, and one of the part where it is about a part."""
    return any(point.own or not plate.about_part for point in plate.points)


def drawings(plate: Plate, id: str, told: str, first: str = "mm") -> tuple[Drawing, ...]:
    """The face as a whole, and what is about the part larger where the whole shows it too small.

    told   the coordinates in words       first  the unit of the scale bar
    """
    box = plate.bounds
    if box is None or not shows_something(plate):
        return ()
    overview = _drawn(plate, box, Look())
    near = around(plate) if plate.about_part else None
    detail = _drawn(plate, near, Look(detail=True)) if near else None
    if overview is None:
        return ()
    if detail is None or detail.pen.scale <= overview.pen.scale:
        return (overview.finished(id, told, first, [*overview.lines.missed, *_beyond(overview.lines.over)]),)
    brief = _drawn(plate, box, Look(brief=True)) or overview
    missed = [text for text in detail.lines.missed if text in overview.lines.missed]
    return brief.finished(id, told, first, []), detail.finished(f"{id}-near", told, first, missed)


def _first_few(names: list[str]) -> list[str]:
    names = list(dict.fromkeys(names))
    few = names[:FEW] if len(names) > FEW + 1 else names
    return few if few == names else [*few, f"{len(names) - FEW} more names"]


def _beyond(over: list[str]) -> list[str]:
    return [f"{len(over)} more readings"] if over else []


def _drawn(plate: Plate, box: Box, look: Look) -> _Sheet | None:
    """At the largest ratio at which everything stays on the sheet; else at the one that leaves least out.

    None for a face that no ratio brings onto a sheet.
    """
    best: _Sheet | None = None
    for paper, real in RATIOS:
        scale = PX * paper / real
        if box.width * scale + 2 * EDGE > WIDE - ROOM or box.height * scale + 2 * EDGE > TALL - 2 * ROOM:
            continue
        if best and scale < 0.3 * best.pen.scale:
            break
        sheet = _Sheet(plate, look, f"{paper}:{real}", Pen(box.grown(EDGE / scale), scale))
        sheet.draw()
        if best is None or sheet.left_out < best.left_out:
            best = sheet
        if not best.lines.missed:
            break
    return best


@record
class _Name:
    """A name, a shorter one for want of room, the spots it may stand at when it is so wide, and round what else."""

    texts: tuple[str, ...]
    kind: str
    spots: Callable[[float], Iterator[Spot]]
    discs: tuple[Disc, ...]


NamedEdge = tuple[list[str], bool, tuple[Place, Place]]  # its names, whether it is the part's own, its ends in px


@dataclass
class _Sheet:
    """One drawing in the making; `unnamed` are the names there was no room for."""

    plate: Plate
    look: Look
    ratio: str
    pen: Pen
    unnamed: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        least = 0.0 if self.look.detail else TIGHT if self.look.brief else NEAREST
        self.lines = DimensionLines(self.plate, self.pen, least)
        self._pieces = pieces(self.plate, self.pen.box)

    @property
    def left_out(self) -> int:
        """How many dimensions it does not show."""
        return len(self.lines.missed) + self.lines.unseen

    def draw(self) -> None:
        """Everything but the names."""
        self._edges()
        self._points()
        self.lines.draw()

    # --- the face

    def _edges(self) -> None:
        for edge, start, end in self._pieces:
            (x1, y1), (x2, y2) = self.pen.at(start), self.pen.at(end)
            self.pen.stroke("edge own" if edge.own else "edge", f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}")
            if edge.level or edge.upright:
                self.pen.room.rule([Patch(min(x1, x2) - 1, min(y1, y2) - 1, max(x1, x2) + 1, max(y1, y2) + 1)])

    def _points(self) -> None:
        for point in shown_points(self.plate.points, self.pen.box):
            self._point(point, "own" if point.own else "light")
        for spot in self.plate.alternatives:
            for point in shown_points(spot, self.pen.box):
                self._point(point, "own other")

    def _point(self, point: Point, kind: str) -> None:
        x, y = self.pen.at(point.at)
        half = (point.diameter or 0) / 2 * self.pen.scale
        if half > DOT:
            self.pen.rounds.append(Round(f"hole {kind}", x, y, half, half))
            self._cross(kind, x, y, half + 4)
        else:
            self.pen.rounds.append(Round(f"dot {kind}", x, y, DOT, DOT))
            if point.own and not self.look.brief:
                self._cross(kind, x, y, 7)
        reach = max(half, DOT) + 1
        self.pen.room.rule([Patch(x - reach, y - reach, x + reach, y + reach)])
        if point.ellipse and point.ellipse[0] * self.pen.scale >= SEEN and "light" not in kind:
            long, short, turn = point.ellipse
            half_axes = long * self.pen.scale, short * self.pen.scale
            self.pen.rounds.append(Round("ellipse", x, y, *half_axes, -degrees(turn)))

    def _cross(self, kind: str, x: float, y: float, arm: float) -> None:
        path = f"M{x - arm:.1f} {y:.1f}H{x + arm:.1f}M{x:.1f} {y - arm:.1f}V{y + arm:.1f}"
        self.pen.stroke(f"centre {kind}", path)

    # --- dimensions


    def _names(self) -> None:
        """The part's own first, then the edges, then the neighbours; a name of several edges, a long one, last."""
        points, edges = list(self._point_names()), self._named_edges()
        own = [name for name in points if name.kind == "name own"]
        single, several = ([_edge_name(edge) for edge in edges if (len(edge[0]) > 1) == more] for more in (False, True))
        for name in (*own, *single, *points[len(own) :], *several):
            tries = ((text, self.pen.room.place(text, name.spots(width_of(text)), name.discs)) for text in name.texts)
            text, spot = next((placed for placed in tries if placed[1]), ("", None))
            if spot is None:
                self.unnamed.append(name.texts[0])
                continue
            self.pen.write(name.kind, text, spot)
            if spot.leader:
                x1, y1, x2, y2 = spot.leader
                self.pen.stroke("leader", f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}")

    def _point_names(self) -> Iterator[_Name]:
        """Those of the part first; of a neighbour on the whole face only whose it is, once."""
        told: set[str] = set()
        groups = [(number, point) for number, group in enumerate((self.plate.points, *self.plate.alternatives))
                  for point in shown_points(group, self.pen.box)]  # fmt: skip
        own = [point.at for point in self.plate.points if point.own]
        groups.sort(key=lambda pair: (not pair[1].own, min((dist(pair[1].at, at) for at in own), default=0)))
        for number, point in groups:
            text, which = self._point_name(point), f"spot {number + 1}"
            texts = (f"{text}, {which}", which) if self.plate.alternatives and point.own else (text,)
            if texts[0] in told:
                continue
            told.add(texts[0])
            if not point.own and len(told) > NAMED[not self.plate.about_part]:
                break
            about = *self.pen.at(point.at), max((point.diameter or 0) / 2 * self.pen.scale, DOT)
            yield _Name(texts, "name own" if point.own else "name", partial(close_by, *about), (about,))

    def _point_name(self, point: Point) -> str:
        if point.own:
            return point.owner if self.look.brief else point.name
        if point.owner in ("", self.plate.host):
            return point.name
        return f"{point.owner}: {point.name}" if self.look.detail else point.owner

    def _named_edges(self) -> list[NamedEdge]:
        """Those that a dimension leads to first; those that nearly lie in one line as one."""
        found: list[NamedEdge] = []
        for edge, start, end in sorted(self._pieces, key=lambda piece: piece[0].id not in self.lines.met):
            if edge.owner == self.plate.host or (edge.own and not self.look.brief):
                ends, name = (self.pen.at(start), self.pen.at(end)), edge.name or edge.owner
                close = next((names for names, own, other in found if own == edge.own and _is_one(other, ends)), None)
                if close is None:
                    found.append(([name], edge.own, ends))
                elif name not in close:
                    close.append(name)
        return found

    # --- the sheet

    def finished(self, id: str, told: str, first: str, missed: list[str]) -> Drawing:
        """The drawing with its names, and its scale bar and the two directions below it."""
        self._names()
        title = self.plate.title + (", close to" if self.look.detail else "")
        extent = self.pen.room.extent
        left = extent.left - (WIDE - (extent.right - extent.left)) / 2
        base = extent.bottom + 26
        self._scale_bar(left + 8, base, first)
        bottom = self._directions(left + 8, base + 20)
        return Drawing(
            id=id,
            title=title,
            caption=self._caption(),
            told=told,
            left=round(left, 1),
            top=round(extent.top - 6, 1),
            width=WIDE,
            height=round(bottom - extent.top + 12, 1),
            ratio=self.ratio,
            strokes=tuple(self.pen.strokes),
            rounds=tuple(self.pen.rounds),
            heads=tuple(self.pen.heads),
            words=tuple(self.pen.words),
            left_out=(*dict.fromkeys(missed), *_first_few(self.unnamed)),
        )

    def _caption(self) -> str:
        what = "Close to" if self.look.detail else "The face" if not self.plate.about_part else "On the face"
        return f"{what}, scale {self.ratio} on paper"

    def _scale_bar(self, x: float, y: float, first: str) -> None:
        """A round length of at most a third of the sheet, in the unit that the build shows first."""
        unit = 25.4 if first == "in" else 1.0
        sizes = [m * 10.0**p for p in range(-1, 5) for m in (1, 2, 5)]
        size = max((s for s in sizes if s * unit * self.pen.scale <= WIDE / 3), default=sizes[0])
        long = size * unit * self.pen.scale
        path = f"M{x:.1f} {y - 5:.1f}V{y + 5:.1f}M{x:.1f} {y:.1f}H{x + long:.1f}M{x + long:.1f} {y - 5:.1f}V{y + 5:.1f}"
        self.pen.stroke("bar", path)
        text = f"{size:g} {first}, scale {self.ratio}"
        self.pen.words.append(Words("scale", text, x + long + 8, y, anchor="start"))

    def _directions(self, x: float, y: float) -> float:
        """An arrow each for what lies to the right and what lies up; returns where they end."""
        if self.plate.right:
            self.pen.stroke("thin", f"M{x:.1f} {y:.1f}H{x + 20:.1f}")
            self.pen.heads.append(head((x + 22, y), 0.0))
            self.pen.words.append(Words("scale", self.plate.right, x + 28, y, anchor="start"))
        if self.plate.up:
            right = x + 28 + width_of(self.plate.right) + 12 if self.plate.right else x
            self.pen.stroke("thin", f"M{right + 4:.1f} {y + 8:.1f}V{y - 6:.1f}")
            self.pen.heads.append(head((right + 4, y - 8), -pi / 2))
            self.pen.words.append(Words("scale", self.plate.up, right + 14, y, anchor="start"))
        return y + 8 if self.plate.right or self.plate.up else y - 14


def _along(start: Place, end: Place, wide: float) -> Iterator[Spot]:
    """Spots for the name of an edge on either side of it, where it is long enough."""
    length = hypot(end[0] - start[0], end[1] - start[1])
    turn = readable(degrees(atan2(end[1] - start[1], end[0] - start[0])))
    up = cos(radians(turn - 90)), sin(radians(turn - 90))
    edge = (wide / 2 + 4) / length if length else 1.0
    for share in (edge, 1 - edge, 0.5, 0.25, 0.75):
        if not edge <= share <= 1 - edge:
            continue
        x, y = _share_of(start, end, share)
        for lift in (HIGH / 2 + 2, -HIGH / 2 - 2):
            yield Spot(x + up[0] * lift, y + up[1] * lift, turn)


def _beside_edge(start: Place, end: Place) -> tuple[Disc, ...]:
    """The places on an edge beside which its name may stand, with a leader, where it has no room along it."""
    return tuple((*_share_of(start, end, share), 1.0) for share in (0.0, 1.0, 0.5, 0.15, 0.85, 0.3, 0.7))


def _edge_name(edge: NamedEdge) -> _Name:
    names, own, ends = edge
    return _Name((listed(names),), "name own" if own else "name", partial(_along, *ends), _beside_edge(*ends))


def _is_one(one: tuple[Place, Place], other: tuple[Place, Place]) -> bool:
    """Whether two edges lie so close all along that a name beside one would seem that of both."""
    apart = (max(dist(one[0], end), dist(one[1], far)) for end, far in (other, other[::-1]))
    return min(apart) < MERGED


def _share_of(start: Place, end: Place, share: float) -> Place:
    return start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share
