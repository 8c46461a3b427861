"""All that a template may see of where a part sits on a face."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from journal.pages.position_drawing import Drawing
from journal.pages.views import Figure, Link


class Away(NamedTuple):
    """How far a point is from an edge or another point: `1580.0 mm`, `± 1.1 mm`, `ahead of the rear end`."""

    figure: Figure
    give: str
    where: str


class Seat(NamedTuple):
    """Where one point sits. `about`: its diameter, which spot."""

    name: str
    away: tuple[Away, ...]
    about: str = ""


class Trust(NamedTuple):
    """What the others say of one reading.

    off      how far it is from what all together say ("0.3 mm too long"), "" for one that nothing checks
    notices  the smallest mistake in it that would be noticed, or that nothing else checks it
    suspect  it is most likely a slip of the tape
    """

    reading: Link
    figure: Figure | None
    off: str
    notices: str
    suspect: bool = False


class TemplateLinks(NamedTuple):
    """The full-size template: addresses, "" where there is none; `instead` says why not, `care` what to mind."""

    pdf: str
    dxf: str
    sheets: int
    paper: str
    instead: tuple[str, ...] = ()
    care: tuple[str, ...] = ()


class PositionView(NamedTuple):
    """A part on a face of its host, or the face.

    title      "Where it sits on sill, left, lower flange"
    missing    what cannot be placed, and what it would take
    doubts     sentences: two spots, readings that do not agree, assumptions
    """

    id: str
    title: str
    drawings: Sequence[Drawing]
    seats: tuple[Seat, ...]
    trust: tuple[Trust, ...]
    missing: tuple[str, ...]
    doubts: tuple[str, ...]
    assumptions: tuple[str, ...]
    templates: TemplateLinks | None
