"""Where a part sits, for its page: drawings, coordinates with how far to trust them, what checks each reading."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import ceil, hypot
from pathlib import Path
from typing import Literal

from journal.ground.kept_work import Piece
from journal.judge.laying import EITHER
from journal.judge.placing import FROM_BEHIND
from journal.judge.verdicts import Edge, FacePosition, Residual, Spot, steady
from journal.measure.value import plain
from journal.model.entities import Axis, Part
from journal.pages import address, words
from journal.pages.face_plate import elsewhere, face_plate, misfit
from journal.pages.face_readings import features_of
from journal.pages.full_size import box_of
from journal.pages.kept_drawings import Drawn, KeptDrawings, Sitter
from journal.pages.plate import Plate
from journal.pages.position_drawing import shows_something
from journal.pages.position_views import Away, PositionView, Seat, TemplateLinks, Trust
from journal.pages.template_dxf import can_write
from journal.pages.template_pdf import MOST_SHEETS, tiling
from journal.pages.viewer import Viewer
from journal.pages.views import Figure, Link

COVERAGE = 2  # the ± is that of 95 in 100 (JCGM 100, k = 2)
NO_CAD = "For a DXF, install the journal with its extra `[cad]` and make the site again."
SAYS: Mapping[Axis, tuple[str, str]] = {"x": ("ahead of", "behind"), "z": ("above", "below")}


@dataclass(frozen=True)
class OnFace:
    """A part on a face (`part` None: the face itself), with all that is made from it.

    number   which of the part's faces, or of its own, it is
    on_page  which of both together
    """

    viewer: Viewer
    position: FacePosition
    part: str | None
    number: int
    on_page: int

    @cached_property
    def title(self) -> str:
        book = self.viewer.book
        return f"{book.title(self.part)} on {self.on}" if self.part else self.on

    @property
    def on(self) -> str:
        host = self.viewer.book.title(self.position.host)
        return f"{host}, {self.position.face}" if self.position.face else host

    @cached_property
    def plate(self) -> Plate:
        return face_plate(self.viewer, self.position, self.part, self.title)

    @cached_property
    def sheets(self) -> int | None:
        """How many sheets its full-size template takes, 0 where that is too many; None where it has none."""
        box = box_of(self.plate)
        return None if box is None else len(tiling(box, self.viewer.book.settings.paper).tiles)

    @property
    def first(self) -> Literal["mm", "in"]:
        return "in" if self.viewer.book.settings.units == "in" else "mm"

    @property
    def id(self) -> str:
        return f"position-{self.on_page}"

    @cached_property
    def seats(self) -> tuple[Seat, ...]:
        return tuple(_seats(self))

    @cached_property
    def open_sides(self) -> tuple[str, ...]:
        return tuple(_open_sides(self))

    @cached_property
    def sitter(self) -> Sitter | None:
        """What its drawings are made from; None where there is nothing to draw."""
        if not shows_something(self.plate):
            return None
        told = " ".join(filter(None, (words.sentence(f"{seat.name}: {_said(seat)}") for seat in self.seats)))
        return Sitter(self.plate, self.id, told or self.plate.title, self.first)

    @property
    def name(self) -> str:
        """Of its template, below `templates/`, without an ending."""
        if self.part is None:
            return f"faces/{self.position.host or 'machine'}-{self.number}"
        return self.part if self.number == 1 else f"{self.part}/{self.number}"


class Faces:
    """Every part on its faces; what is made from one is made once."""

    def __init__(self, viewer: Viewer, cache: Path | None = None) -> None:
        self.viewer = viewer
        self.drawings = KeptDrawings(cache)
        self._sits: defaultdict[str, list[FacePosition]] = defaultdict(list)
        self._own: defaultdict[str | None, list[FacePosition]] = defaultdict(list)
        for position in viewer.judgement.positions:
            self._own[position.host].append(position)
            for part in dict.fromkeys(position.parts):
                self._sits[part].append(position)
        self._faces: dict[str, list[OnFace]] = {}

    def of(self, part: Part) -> list[OnFace]:
        """The faces a part sits on, that of the newest self first, then its own faces."""
        if part.id not in self._faces:
            sits = sorted(self._sits[part.id], key=lambda p: -p.host_self)
            own = self._own[part.id]
            numbered = [(p, part.id, n) for n, p in enumerate(sits, 1)]
            on_own: list[tuple[FacePosition, str | None, int]] = [(p, None, n) for n, p in enumerate(own, 1)]
            found = [*numbered, *on_own]
            self._faces[part.id] = [OnFace(self.viewer, *one, on_page) for on_page, one in enumerate(found, 1)]
        return self._faces[part.id]

    def every(self) -> Iterator[OnFace]:
        for part in sorted(self.viewer.book.parts.values(), key=lambda part: part.id):
            yield from self.of(part)

    def missing(self) -> Iterator[Piece | None]:
        """The drawings that are not kept yet, None for one that is."""
        return (self.drawings.missing(face.sitter) for face in self.every() if face.sitter)

    def on_page(self, part: Part) -> Mapping[str, object]:
        """The names that the template of a part's page gets."""
        told = [(face, self._view(face)) for face in self.of(part)]
        return {"positions": tuple(view for face, view in told if face.sitter or view.missing or _is_checked(view))}

    def _view(self, face: OnFace) -> PositionView:
        plate = face.plate
        return PositionView(
            id=face.id,
            title=f"Where it sits on {face.on}" if face.part else f"Its face: {face.on}",
            drawings=Drawn(face.sitter, self.drawings) if face.sitter else (),
            seats=face.seats if face.part else (),
            trust=tuple(_trust(face)),
            missing=tuple(_missing(face)),
            doubts=tuple(_doubts(face)),
            assumptions=tuple(words.sentence(text) for text in plate.assumptions) if plate.points else (),
            templates=_templates(face),
        )


def _is_checked(view: PositionView) -> bool:
    """Whether one of its readings is checked by others: without that, and without a place, there is nothing to tell."""
    return any(row.off for row in view.trust)


# --- coordinates


def _seats(face: OnFace) -> Iterator[Seat]:
    about = face.part if face.part is not None else face.position.host
    names = {point.id: point.name for point in face.plate.points}
    others = [other.spots for other in face.position.alternatives if other.part == face.part and elsewhere(other)]
    for number, spots in enumerate((face.position.of(about), *others), 1):
        for spot in spots:
            away = tuple(filter(None, (_away(face, spot, axis) for axis in (0, 1))))
            size = f"diameter {_figure(face, spot.diameter, 0.1).written}" if spot.diameter else ""
            which = f"spot {number}" if others else ""
            name = names.get(f"{spot.owner or ''}/{spot.words}", spot.words)
            if away:
                yield Seat(name, away, ", ".join(filter(None, (which, size))))


def _said(seat: Seat) -> str:
    about = f" ({seat.about})" if seat.about else ""
    return ", ".join(f"{a.figure.written} {a.give} {a.where}" for a in seat.away) + about


def _away(face: OnFace, spot: Spot, axis: int) -> Away | None:
    """How far a point is along an axis from the edge, else the host's point, it is best known from."""
    found = [*_from_edges(face, spot, axis), *(_from_points(face, spot, axis))]
    if not found:
        return None
    _, sigma, apart, thing = min(found, key=lambda one: (one[0], steady(one[1])))
    give = COVERAGE * sigma
    figure = _figure(face, abs(apart), give)
    return Away(figure, f"± {_give(face, give)}", f"{_side(face, axis, apart)} the {_name(face, thing)}")


Known = tuple[int, float, float, Edge | Spot]  # rank, standard deviation, how far beyond, what


def _from_edges(face: OnFace, spot: Spot, axis: int) -> Iterator[Known]:
    for edge in face.position.edges:
        if edge.normal == "uv"[axis] and edge.owner != spot.owner and _in_book(face, edge.owner):
            at = (spot.u, spot.v)[axis]
            direct = _direct(face, spot, edge)
            sigma = direct if direct is not None else hypot(spot.sigma[axis], edge.sigma)
            yield 0 if direct is not None else 1, sigma, at - edge.offset, edge


def _from_points(face: OnFace, spot: Spot, axis: int) -> Iterator[Known]:
    for other in face.position.spots:
        if other.owner != spot.owner and other.owner == face.position.host:
            sigma = hypot(spot.sigma[axis], other.sigma[axis])
            yield 2, sigma, (spot.u, spot.v)[axis] - (other.u, other.v)[axis], other


def _direct(face: OnFace, spot: Spot, edge: Edge) -> float | None:
    """The adjusted reading between the two knows best how far they are apart: its variance times what is unchecked."""
    ends = frozenset(((spot.owner, spot.words), (edge.owner, edge.words)))
    return face.viewer.readings_on(face.position).between.get(ends)


def _in_book(face: OnFace, owner: str | None) -> bool:
    return owner is None or owner in face.viewer.book.parts


def _name(face: OnFace, thing: Edge | Spot) -> str:
    id = f"{thing.owner or ''}/{thing.words}"
    known = face.plate.edge(id) or face.plate.point(id)
    name = known.name if known else thing.words
    whose = f" of {face.viewer.book.title(thing.owner)}" if thing.owner != face.position.host else ""
    return f"{name}{whose}"


def _side(face: OnFace, axis: int, apart: float) -> str:
    """The direction word: `ahead of`, `below`, `left of`; `from` where no axis is known."""
    machine = face.position.axes[axis]
    if machine is None:
        return "from"
    first, second = face.viewer.book.settings.sides
    pair = SAYS.get(machine, (f"{first} of", f"{second} of"))
    return pair[0] if apart >= 0 else pair[1]


# --- figures


def _figure(face: OnFace, mm: float, give: float) -> Figure:
    """A length with as many places as what it may be off allows, in the unit shown first and the other."""
    one, other = (("in", "mm") if face.first == "in" else ("mm", "in"))
    return Figure(_length(mm, one, give), _length(mm, other, give))


def _length(mm: float, unit: str, give: float) -> str:
    factor = 25.4 if unit == "in" else 1.0
    return f"{plain(Fraction(mm / factor), _places(give, unit))} {unit}"


def _give(face: OnFace, mm: float) -> str:
    """What it may be off, rounded up."""
    places = _places(mm, face.first)
    step = Fraction(10) ** -places
    in_unit = mm / (25.4 if face.first == "in" else 1.0)
    return f"{plain(ceil(in_unit / step - 1e-9) * step, places)} {face.first}"


def _places(give: float, unit: str) -> int:
    """Decimals worth showing of a length that may be off by `give` mm."""
    places = 0 if give >= 10 else 1 if give >= 0.1 else 2
    return places + 1 + (places > 0) if unit == "in" else places


# --- how far to trust it


def _trust(face: OnFace) -> Iterator[Trust]:
    """One row a reading that took part: those of the part, or those of the host itself."""
    about = face.part if face.part is not None else face.position.host
    for reading in face.viewer.readings_on(face.position).about(about):
        if reading.part == about or face.part is not None:
            residual = face.position.residuals[reading.id]
            link = Link(face.viewer.what(reading), address.reading(reading.part, reading.id))
            figure = face.viewer.reading(reading.id).figure
            suspect = reading.id in face.position.suspects
            yield Trust(link, figure, _off(face, residual), _notices(face, residual, suspect), suspect)


def _off(face: OnFace, residual: Residual) -> str:
    if residual.normalised is None:
        return ""
    size = _small(face, abs(residual.residual), residual.unit)
    if size.startswith("0 ") or not float(size.split()[0]):
        return "agrees with the others"
    if residual.unit == "°":
        return f"{size} off"
    return f"{size} too {'long' if residual.residual < 0 else 'short'}"


def _notices(face: OnFace, residual: Residual, suspect: bool) -> str:
    if residual.normalised is None or residual.notices is None:
        return "nothing else checks this"
    if suspect and residual.should_read:
        at, sigma = residual.should_read
        if residual.unit == "°":
            return f"most likely misread: the others say {at:.1f}° ± {COVERAGE * sigma:.1f}°"
        give = COVERAGE * sigma
        figure = _figure(face, at, give).written
        return f"most likely misread: the others say {figure} ± {_give(face, give)}"
    return f"a mistake of {_small(face, residual.notices, residual.unit)} would be noticed"


def _small(face: OnFace, size: float, unit: str) -> str:
    if unit == "°":
        return f"{size:.1f}°".replace("°", " °")
    return f"{size / 25.4:.2f} in" if face.first == "in" else f"{size:.1f} mm"


def _missing(face: OnFace) -> Iterator[str]:
    """What is not placed, and what it would take; readings that take no part, each reason once."""
    position, book = face.position, face.viewer.book
    about = face.part if face.part is not None else position.host
    if position.too_large:
        yield "This face has more than 1,000 points: its readings are listed, it is not worked out."
    reasons: dict[str, list[str]] = {}
    for id, reason in position.rejected.items():
        if id in book.readings and book.readings[id].part == about:
            reasons.setdefault(reason, []).append(face.viewer.what(book.readings[id]))
    for reason, whats in reasons.items():
        verb = "takes" if len(whats) == 1 else "take"
        yield words.sentence(f"{words.listed(whats)} {verb} no part: {reason}")
    missing = position.unsolved.get(face.part, "")
    if missing and missing not in reasons:
        yield words.sentence(f"no figures for it yet: {missing}")


def _doubts(face: OnFace) -> Iterator[str]:
    position = face.position
    yield from misfit(face.viewer, position, face.part if face.part is not None else position.host)
    yield from face.open_sides
    for other in position.alternatives:
        if other.part == face.part:
            turned = f"turned by {abs(other.turned):.0f}°" if abs(other.turned) >= 1 else ""
            apart = f"{_small(face, other.apart, 'mm')} apart" if elsewhere(other) else ""
            how = " and ".join(filter(None, (apart, turned)))
            told = f"what tells the two apart: {other.told_by}" if other.told_by else "nothing tells the two apart"
            yield f"It fits in two {'spots' if apart else 'ways'}, {how}; {told}."


# --- full-size templates


def _open_sides(face: OnFace) -> Iterator[str]:
    """The lines of the host that as well might lie on the other side of everything; for a part those it was measured
    from."""
    readings = face.viewer.readings_on(face.position)
    about = readings.every if face.part is None else readings.about(face.part)
    measured = {(feature.owner, feature.words) for reading in about for feature in features_of(reading)}
    names = [
        _name(face, edge)
        for edge in face.position.edges
        if EITHER in edge.assumed and (edge.owner, edge.words) in measured and _in_book(face, edge.owner)
    ]
    if names:
        yield f"On which side of the {words.listed(names)} all else lies is assumed: the readings fit either."


def _templates(face: OnFace) -> TemplateLinks | None:
    sheets = face.sheets
    if sheets is None:
        return None
    instead = []
    if not sheets:
        what = "face" if face.part is None else "part"
        instead.append(f"This {what} is too large for paper: it would take more than {MOST_SHEETS} sheets.")
    if not can_write():
        instead.append(NO_CAD)
    behind = [FROM_BEHIND] if FROM_BEHIND in face.plate.assumptions else []
    return TemplateLinks(
        pdf=address.template(face.name, "pdf") if sheets else "",
        dxf=address.template(face.name, "dxf") if can_write() else "",
        sheets=sheets,
        paper=face.viewer.book.settings.paper,
        instead=tuple(instead),
        care=(*map(words.sentence, behind), *face.open_sides),
    )
