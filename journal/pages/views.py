"""All that a template may see: plain values, everything decided, private things already gone.

`url` is always a target from the site's root (see `address`); a template turns it into a link with `href(url)`.
Lists are tuples, words are ready to be shown, None and "" mean "not known" and are shown as nothing.

Views are tuples themselves, made and summed (`kept_pages`) by the ten thousand: what two kinds of them could stand for
has to be a field of its own. Readings, which stand on several pages, are records that are summed once; those that say
their `count`, which a tuple has as well, are records too.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Literal, NamedTuple

from journal.ground.records import record

Tone = Literal["good", "warn", "bad", "plain"]


class Link(NamedTuple):
    """Words that lead somewhere."""

    text: str
    url: str


class Mark(NamedTuple):
    """A state: the word first, then a shape, then a tone (a colour of the theme)."""

    word: str
    shape: str
    tone: Tone


class Figure(NamedTuple):
    """A value: as written, large; converted, small ("" where there is nothing to convert)."""

    written: str
    converted: str = ""


class Overlay(NamedTuple):
    """A dimension line over a picture, in pixels of the upright picture.

    line, ticks   (x1, y1, x2, y2): the dimension line; the extension lines at its ends
    heads         the arrowheads, as lists of points for an SVG polygon
    text, x, y, turn   its words, where their middle stands, and their angle in degrees
    figure        the reading's value where the line is one ("" else: then `text` is the words alone)
    url           of the reading, "" where it is none
    """

    line: tuple[float, float, float, float]
    ticks: tuple[tuple[float, float, float, float], ...]
    heads: tuple[str, ...]
    text: str
    x: float
    y: float
    turn: float
    figure: str = ""
    url: str = ""


class Photo(NamedTuple):
    """A picture.

    key      day folder and name       name    file name
    url      on its day's page         alt     what it shows, in words
    src      target of the middle size, "" where the picture could not be read
    sizes    (target, width in pixels), smallest first
    large    target of the largest size
    width, height  as seen upright; 0 where it could not be read
    stroke, letter  line width and letter height for `overlays`, in pixels of the upright picture
    """

    key: str
    name: str
    url: str
    anchor: str
    alt: str
    caption: str
    day: date
    src: str
    sizes: tuple[tuple[str, int], ...]
    large: str
    width: int
    height: int
    parts: tuple[Link, ...]
    overlays: tuple[Overlay, ...] = ()
    stroke: float = 0
    letter: float = 0


@record
class Reading:
    """A measurement with all it belongs to.

    anchor    id of its row         what     "hole edge to web"
    figure    None for a contact    from_    how the reference was taken: "the web of sill, left"
    counts    it helps to hold the part       lives  False: shown struck through, with `why`
    remarks   as written with it: wanted value, in doubt, from memory, a remark, the other way to read it
    today     what has become of it since: "carried over from the old one"; `why` where it no longer counts
    in_part   itself on its part's page
    note      the line of the note that says it; place_in_source its file and line (shop edition, else "")
    sort      the number in its base unit, to put a column in order by
    """

    id: str
    anchor: str
    what: str
    figure: Figure | None
    part: Link
    host: Link | None
    place: Link | None
    day: Link
    date: date
    note: Link
    photos: tuple[Link, ...]
    method: str
    from_: str
    counts: bool
    lives: bool
    why: str
    remarks: tuple[str, ...]
    today: str
    own: bool
    in_part: Link
    sort: float | None = None
    place_in_source: str = ""


class ReadingGroup(NamedTuple):
    """Readings under one heading of a part's page."""

    title: str
    about: str
    rows: tuple[Reading, ...]


class FindingView(NamedTuple):
    """Something the tool has to tell, in plain words.

    url   the place it is about: the line of the note, else the part, "" where neither is shown
    source  "file:line" (shop edition, else "")
    """

    severity: str
    word: str
    message: str
    help: str
    url: str
    source: str
    part: Link | None
    notes: tuple[FindingNote, ...] = ()


class FindingNote(NamedTuple):
    """A line below a finding, and the place it speaks of."""

    message: str
    url: str = ""
    source: str = ""


class Caution(NamedTuple):
    """A signal word as ANSI Z535.6 defines them, one line, the text below the readings, where it comes from."""

    id: str
    signal: Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]
    line: str
    text: str
    source: str
    first: bool = False


class PartRow(NamedTuple):
    """A part in a list. `record` is None while the part is on."""

    id: str
    link: Link
    name: str
    side: str
    state: Mark
    record: Mark | None
    host: Link | None
    place: Link | None
    free: tuple[str, ...]
    next: tuple[str, ...]
    readings: int
    removed_on: date | None


class Event(NamedTuple):
    """One line of a part's history."""

    date: date
    text: str
    url: str


class Fact(NamedTuple):
    """A label with its words: `held by`, `2 spot welds`; `links` stand for the words where they name parts."""

    label: str
    text: str
    links: tuple[Link, ...] = ()
    url: str = ""


class PartPage(NamedTuple):
    """A part's page, in the order it is read in the shop.

    hosts      all that it is fixed to
    goes_with  what it is on, where that is going and its place is lost with it
    unrecorded where it is going itself, the parts on it of which that is so
    standing   one sentence on how well it is recorded
    free, next what can still move; the statements that would settle it, as they would be written
    facts      way round, held by, where stored (shop edition)
    groups     its readings          from_here  readings of other parts that start from it
    first      what must be on first
    to_check   how many of the findings say more than how well it is recorded
    """

    row: PartRow
    hosts: tuple[Link, ...]
    goes_with: Link | None
    unrecorded: tuple[Link, ...]
    standing: str
    free: tuple[str, ...]
    next: tuple[str, ...]
    facts: tuple[Fact, ...]
    more_facts: tuple[Fact, ...]
    groups: tuple[ReadingGroup, ...]
    from_here: tuple[Reading, ...]
    photos: tuple[Photo, ...]
    first: tuple[PartRow, ...]
    carries: tuple[PartRow, ...]
    history: tuple[Event, ...]
    findings: tuple[FindingView, ...]
    to_check: int
    cautions: tuple[Caution, ...]
    safety: Caution | None


class SlipLine(NamedTuple):
    """A line of a slip as a label with its words, or a sentence (label ""); `links` are the things it names.

    findings  what there is to tell about this line (shop edition)
    """

    anchor: str
    label: str
    text: str
    links: tuple[Link, ...] = ()
    findings: tuple[FindingView, ...] = ()


class Slip(NamedTuple):
    """What a slip says, for the page of its day. `anchor` is its first line's; `verb` is "Taken off", "Measured" ...

    lines     keys and sentences in the order written
    readings  its statements; each row's anchor is the reading's, `line_anchors` gives that of its line
    findings  what there is to tell about the slip; reading_findings about each of its readings (shop edition)
    private   kept out of the public edition; the text of a `private` slip stands in the story, its `lines` are empty
    """

    anchor: str
    kind: str
    verb: str
    subject: str
    parts: tuple[Link, ...]
    lines: tuple[SlipLine, ...]
    readings: tuple[Reading, ...]
    line_anchors: tuple[str, ...]
    private: bool = False
    findings: tuple[FindingView, ...] = ()
    reading_findings: tuple[tuple[FindingView, ...], ...] = ()


class DayRow(NamedTuple):
    """A day in a list, with its first picture."""

    link: Link
    date: date
    title: str
    photo: Photo | None
    photos: int
    readings: int
    changed: tuple[Link, ...]
    summary: str


class Change(NamedTuple):
    """What a day did to parts: `Off`, `Back on`, `Position recorded` ..."""

    label: str
    parts: tuple[Link, ...]


class DayPage(NamedTuple):
    """A day but for its stories; `changes` is what became of parts since the day before."""

    row: DayRow
    before: Link | None
    after: Link | None
    gallery: tuple[Photo, ...]
    cautions: tuple[Caution, ...]
    findings: tuple[FindingView, ...]
    changes: tuple[Change, ...] = ()


class PlaceRow(NamedTuple):
    """A place in the tree with what lies below it."""

    link: Link
    name: str
    note: str
    parts: int
    open: int
    children: tuple[PlaceRow, ...]


class PlacePage(NamedTuple):
    """A place: all parts here and in the places within, the readings and pictures of those that sit just here."""

    row: PlaceRow
    trail: tuple[Link, ...]
    parts: tuple[PartRow, ...]
    readings: tuple[Reading, ...]
    photos: tuple[Photo, ...]


class JobRow(NamedTuple):
    """Work to do. `state` is ready, waiting or done; `waits_for` says for what, in words.

    late           it waits for an order that should be here
    chain          the longest chain of steps that ends in it, itself last; () where it waits for none
    before         how many steps come before it in all
    said_cautions  what its slips say of dangers
    unrecorded     parts whose place is lost with what it cuts
    """

    anchor: str
    name: str
    state: Mark
    place: Link | None
    parts: tuple[Link, ...]
    cuts: tuple[Link, ...]
    waits_for: tuple[Link, ...]
    needs: tuple[Link, ...]
    notes: tuple[str, ...]
    url: str
    done: date | None
    cautions: tuple[Caution, ...] = ()
    late: bool = False
    chain: tuple[Link, ...] = ()
    before: int = 0
    said_cautions: tuple[str, ...] = ()
    unrecorded: tuple[Link, ...] = ()


class OrderRow(NamedTuple):
    """Something bought. `bought_from` and `price` are "" in the public edition."""

    anchor: str
    name: str
    state: Mark
    parts: tuple[Link, ...]
    words: str
    due: str
    bought_from: str
    price: str
    notes: tuple[str, ...]
    url: str
    arrived: date | None


class Jobs(NamedTuple):
    """The page of jobs and orders."""

    ready: tuple[JobRow, ...]
    waiting: tuple[JobRow, ...]
    done: tuple[JobRow, ...]
    orders: tuple[OrderRow, ...]


class Warned(NamedTuple):
    """The warning to give before the saw: a host that is going, and what on it is not fully recorded."""

    finding: FindingView
    host: Link | None
    parts: tuple[PartRow, ...]


@record
class ToRecord:
    """What is still to record: before the cut, then what could not be read, then the parts that are off."""

    going: tuple[Warned, ...]
    lost: tuple[FindingView, ...]
    unread: tuple[FindingView, ...]
    parts: tuple[tuple[PartRow, FindingView | None], ...]
    others: tuple[FindingView, ...]
    remarks: tuple[FindingView, ...]

    @property
    def count(self) -> int:
        return len(self.going) + len(self.lost) + len(self.unread) + len(self.parts)


class Curve(NamedTuple):
    """A line of the picture of progress: its name, its points for an SVG polyline, its last figure, its stroke."""

    name: str
    style: str
    points: str
    last: int
    x: float
    y: float


class Progress(NamedTuple):
    """Parts off, back and recorded over time; `rows` say the same in figures (date, off, back, recorded)."""

    width: int
    height: int
    curves: tuple[Curve, ...]
    days: tuple[tuple[float, str], ...]
    levels: tuple[tuple[float, int], ...]
    summary: str
    rows: tuple[tuple[date, int, int, int], ...]
    left: float = 0
    right: float = 0
    base: float = 0


class Count(NamedTuple):
    """How many parts are in a state."""

    mark: Mark
    number: int


class OpenPlace(NamedTuple):
    """A place with the parts of it that are off, and how many of those are not fully recorded.

    off_width, open_width  the same as stretches of a bar, the longest bar of all being 100
    """

    link: Link
    off: int
    open: int
    off_width: float
    open_width: float


class Overview(NamedTuple):
    """The first page: what to record before the next cut, where things stand, what is next, the newest days."""

    to_record: ToRecord
    progress: Progress | None
    states: tuple[Count, ...]
    records: tuple[Count, ...]
    ready: tuple[JobRow, ...]
    waiting: tuple[JobRow, ...]
    late: tuple[OrderRow, ...]
    newest: tuple[DayRow, ...]
    back: tuple[Count, ...]
    open_places: tuple[OpenPlace, ...]
    totals: Mapping[str, int]


class Card(NamedTuple):
    """How a page presents itself elsewhere: whole addresses, `picture` "" where it has none (Open Graph protocol)."""

    url: str
    kind: Literal["article", "website"]
    title: str
    about: str
    picture: str
    alt: str


class Site(NamedTuple):
    """What every page knows: the build's title, who writes it, the day it is told for, the edition, the contents."""

    title: str
    about: str
    author: str
    language: str
    today: date
    edition: Literal["public", "shop"]
    pages: tuple[tuple[str, Link], ...]
    feeds: tuple[tuple[str, Link], ...] = ()
    sides: tuple[str, str] = ("left", "right")
