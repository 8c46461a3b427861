"""What the templates of work may see: the order of going back, bag tags, fixings, treatments."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

from journal.ground.records import record
from journal.pages.views import Caution, Fact, FindingView, Link, Mark, PartRow, Photo, Reading


class WaitView(NamedTuple):
    """What a step waits for, and why, in words."""

    link: Link
    why: str


class StepView(NamedTuple):
    """A part that goes back or a job that is done.

    mark     free now, or waits
    key      what its tick is kept under: it changes when the part comes off anew
    anchor   on the page Going back
    facts    way round, fixings, marks, shims, where stored (shop edition)
    waits    steps before it   orders  not here yet   in_the_way  parts that are on and must come off again first
    slip     what to write once it is done
    unrecorded  parts whose place is lost with what the job cuts
    """

    key: str
    anchor: str
    kind: str
    mark: Mark
    link: Link
    row: PartRow | None
    photo: Photo | None
    facts: tuple[Fact, ...]
    waits: tuple[WaitView, ...]
    orders: tuple[Link, ...]
    in_the_way: tuple[Link, ...]
    cautions: tuple[Caution, ...]
    said_cautions: tuple[str, ...]
    slip: str
    unrecorded: tuple[Link, ...] = ()

    @property
    def is_ready(self) -> bool:
        return self.mark.tone == "good"


class CarriedView(NamedTuple):
    """A part that was on a host that is going or has changed."""

    row: PartRow
    fate: str
    days: int


class ChangedView(NamedTuple):
    """A host that is going or has changed: what happened, and what became of each part that was on it."""

    host: PartRow
    words: str
    url: str
    parts: tuple[CarriedView, ...]
    summary: str


class RefitView(NamedTuple):
    """A part that is back: how its readings compare, each pair in words."""

    row: PartRow
    mark: Mark
    pairs: tuple[tuple[Reading, Reading, str], ...]


@record
class GoingBack:
    """The page: stages of what can be done at the same time; what was told of the order; what is back already."""

    store: str
    stages: tuple[tuple[StepView, ...], ...]
    rings: tuple[FindingView, ...]
    changed: tuple[ChangedView, ...]
    refits: tuple[RefitView, ...]
    told: str

    @property
    def count(self) -> int:
        return sum(len(stage) for stage in self.stages)

    @property
    def ready(self) -> int:
        return sum(step.is_ready for stage in self.stages for step in stage)


class HandSheet(NamedTuple):
    """The first side of a part's page on paper.

    readings  those that hold it first; more: there are others on the second side
    """

    readings: tuple[Reading, ...]
    more: bool
    facts: tuple[Fact, ...]
    photo: Photo | None


class ToGetView(NamedTuple):
    """Something that is to be bought or made, and that nothing is ordered for."""

    row: PartRow
    why: str


class Tag(NamedTuple):
    """A label for a bag or a tin.

    lines   (label, words), cut to what the label holds
    code    what search finds the part by
    path    the QR code as an SVG path, "" where there is no public page; size: its modules with the quiet zone
    """

    part: Link
    name: str
    side: str
    lines: tuple[tuple[str, str], ...]
    code: str
    path: str = ""
    size: int = 0


class TagDay(NamedTuple):
    """The tags of the parts that came off on one day; None where the day is not known."""

    date: date | None
    tags: tuple[Tag, ...]


@record
class TagSheet:
    """The print sheet: its tags, newest day first, and how it is cut; `small` tags have the code beside the name."""

    days: tuple[TagDay, ...]
    marks: bool
    small: bool
    says: str
    site: str

    @property
    def count(self) -> int:
        return sum(len(day.tags) for day in self.days)


@record
class FixingRow:
    """One `held by` as columns; `count` is "" where it was not said."""

    count: str
    size: str
    kind: str
    where: str
    url: str
    when: date


class FixingsView(NamedTuple):
    """What holds a part: as found, as it is now, torque and thread with what was wanted."""

    row: PartRow
    was: tuple[FixingRow, ...]
    now: tuple[FixingRow, ...]
    found: tuple[tuple[Reading, Mark | None, str], ...]
    counts: str = ""

    @property
    def rows(self) -> int:
        """Lines of a table that all of it takes."""
        return len(self.was) + len(self.now) + len(self.found) + bool(self.counts)


class TreatmentRow(NamedTuple):
    """A treatment: of which part or place, what, with what, what is next and since when that is due."""

    link: Link | None
    date: date
    surface: str
    product: str
    coats: str
    next: str
    due: Mark | None
    days_due: int
    url: str
