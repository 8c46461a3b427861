"""What a build is made of, once all notes are read: parts, readings, places, photos, days, jobs, orders.

`resolve` makes these, nothing changes them afterwards. Ids are URL-safe slugs and never change with the order of
the notes. Dates are `datetime.date`. A part on "the machine" has host None.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from datetime import date
from typing import Literal, NamedTuple

from journal.ground.records import record
from journal.ground.source import Span
from journal.measure.value import Value
from journal.notes.records import Name, Note, Slip

State = Literal[
    "on",
    "going",
    "off",
    "off with its host",
    "back on",
    "back on with its host off",
    "cut",
    "replaced",
    "scrapped",
]
Axis = Literal["x", "y", "z"]


class Moment(NamedTuple):
    """When something was said: the day, then the place of its slip among all slips of the build."""

    day: date
    order: int


BEFORE_ALL = Moment(date.min, 0)


@record
class Said:
    """One thing a slip said about a part: `held by: 2 spot welds`.

    key, text  the canonical key and the words to the letter
    items      the pieces, where the key holds a list
    parts      ids of the parts it names, where it names parts (a name that is no part is left out)
    kind       kind of the slip that said it
    """

    key: str
    text: str
    when: Moment
    kind: str
    span: Span = field(compare=False)
    items: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    private: bool = False


@record
class Event:
    """Something that happened to a part: the slip's kind, when, and where that is written.

    host  id of the part it was taken off or fitted to, None for the machine (removed, refitted)
    self  number of the part's self after it (1 the first; `replaced` starts the next)
    away  for `cut`: feature words gone with the piece; () means all
    """

    kind: Literal["removed", "refitted", "replaced", "cut", "scrapped", "treated", "measured"]
    when: Moment
    span: Span = field(compare=False)
    host: str | None = None
    self: int = 1
    away: tuple[str, ...] = ()
    private: bool = False


@record
class Feature:
    """A hole, edge, face or end of one self of a part.

    owner  part id; None: the machine
    words  folded name, the key; "" is the part as a whole
    name   as written here, without articles
    point  a point (hole, slot, bolt, corner ...) rather than a line
    rim    "" the feature itself; "near" or "far": read at that rim of a hole, the row is that of the centre
    axis   direction its name gives the line (the normal of `rear end` is x), None where none is written
    """

    owner: str | None
    words: str
    name: str
    point: bool
    rim: Literal["", "near", "far"] = ""
    axis: Axis | None = None


@record
class Reading:
    """A statement, resolved: what was measured, on which selves, from what to what.

    id              survives edits in other slips
    part, self      the part the slip is about, and which of its selves
    host, host_self the part the reading refers to (None: the machine) and its self
    subject         feature of the part; None for a dimension of the part as a whole
    relation        canonical; "" for a dimension
    reference       feature it is measured from; None for a dimension
    reference_self  self of the reference's owner when it was read
    dimension       canonical or any words; "" for a relation
    own             subject and reference are both the part's: a size of the part
    which           the other spelling where it cannot be told whose feature it is (then `own`); what to do where
                    it is measured from nothing of the host, or of several at once; else ""
    taken_as        how the reference was taken, in words ("the flange edge of sill, left")
    value           None for a contact
    written         the value to the letter ("" for a contact); text: the whole line
    photos          keys of the pictures the slip names
    """

    id: str
    part: str
    self: int
    host: str | None
    host_self: int
    when: Moment
    subject: Feature | None
    relation: str
    reference: Feature | None
    reference_self: int
    dimension: str
    own: bool
    value: Value | None
    written: str
    text: str
    span: Span = field(compare=False)
    place: tuple[str, ...] = ()
    method: str | None = None
    want: Value | None = None
    from_memory: bool = False
    in_doubt: bool = False
    remark: str = ""
    which: str = ""
    taken_as: str = ""
    photos: tuple[str, ...] = ()
    private: bool = False

    @property
    def doubted(self) -> bool:
        """Whether it is shown only: somebody doubted it, or nothing says whose feature it was read to."""
        return self.in_doubt or bool(self.which)

    @property
    def contact(self) -> bool:
        """Whether it says how two things touch or lie, rather than how far apart they are."""
        return bool(self.relation) and self.value is None


@record
class Part:
    """A thing that comes off or goes on.

    id      slug of name and side        title   "guide bracket front, left"
    name    without the side             side    "" or one of build.toml's pair
    hosts   ids of what it is fixed to by the last word on it; () is the machine; the first is the host
    place   path, () where never said (then the host's is used)
    said    everything said about it, in order of time
    events  what happened to it, in order of time
    first   first place that names it    since, named  the day, and the moment, of that
    """

    id: str
    name: str
    side: str
    title: str
    hosts: tuple[str, ...]
    place: tuple[str, ...]
    said: tuple[Said, ...]
    events: tuple[Event, ...]
    first: Span = field(compare=False)
    since: date = date.min
    photos: tuple[str, ...] = ()
    also_called: tuple[str, ...] = ()
    private: bool = False
    named: Moment = BEFORE_ALL

    @property
    def host(self) -> str | None:
        return self.hosts[0] if self.hosts else None

    def every(self, *keys: str) -> tuple[Said, ...]:
        """All that was said under these keys, oldest first."""
        return tuple(said for said in self.said if said.key in keys)

    def latest(self, *keys: str) -> Said | None:
        """The last word under these keys."""
        return next((said for said in reversed(self.said) if said.key in keys), None)


@record
class PhotoLine:
    """A dimension line over a picture: end points as fractions of the upright picture, its words, a reading's id."""

    start: tuple[float, float]
    end: tuple[float, float]
    text: str
    reading: str | None
    span: Span = field(compare=False)


@record
class Rendition:
    """One published size of a picture: path from the site's root, pixels."""

    path: str
    width: int
    height: int


@record
class Picture:
    """What is known of a picture file: local time or None, size as seen upright, published sizes, time to sort by."""

    taken: str | None = None
    width: int = 0
    height: int = 0
    sizes: tuple[Rendition, ...] = ()
    order: str = ""


@record
class Photo:
    """A picture of a day.

    key      "DAY FOLDER/NAME", as in photos.json
    shows    ids of the parts in it        in_place  those of them it shows where they sat
    taken    local ISO time or None        width, height as seen upright, 0 where it could not be read
    sizes    published renditions, smallest first; () where it could not be read
    order    what pictures of one day are put in order by, finer than `taken`
    """

    key: str
    name: str
    day: date
    caption: str = ""
    taken: str | None = None
    width: int = 0
    height: int = 0
    sizes: tuple[Rendition, ...] = ()
    shows: tuple[str, ...] = ()
    in_place: tuple[str, ...] = ()
    off_the_machine: bool = False
    lines: tuple[PhotoLine, ...] = ()
    private: bool = False
    order: str = ""


@record
class PlacedSlip:
    """A slip with what it resolved to, for the page of its day.

    parts     ids it is about (two for `, both`)
    readings  ids of its readings, in the order of its statements (one a part for `, both`)
    photos    keys of the pictures it names; of a `photo` slip the one it is about
    names     every name in it with the ids of the parts it means
    """

    slip: Slip
    when: Moment
    parts: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()
    photos: tuple[str, ...] = ()
    names: tuple[tuple[Name, tuple[str, ...]], ...] = ()


@record
class DayNote:
    """A note of a day with its slips placed; `slips[n]` belongs to the token with meta["slip"] == n."""

    note: Note
    slips: tuple[PlacedSlip, ...]


@record
class Day:
    """One date: its folders, notes and photos (photos in order of time, then name).

    title   words of the folder's name, or of the first heading, "" where there are none
    """

    date: date
    title: str
    folders: tuple[str, ...]
    notes: tuple[DayNote, ...]
    photos: tuple[str, ...]
    private: bool = False


@record
class Place:
    """Where on the machine: a path such as ("underside", "left sill")."""

    id: str
    path: tuple[str, ...]
    note: str = ""
    parts: tuple[str, ...] = ()
    children: tuple[str, ...] = ()
    private: bool = False


@record
class Job:
    """Work to do. `needs` and `cuts` hold part ids; names that are orders or jobs are in the other two."""

    id: str
    name: str
    when: Moment
    span: Span = field(compare=False)
    needs_parts: tuple[str, ...] = ()
    needs_orders: tuple[str, ...] = ()
    needs_jobs: tuple[str, ...] = ()
    before: tuple[str, ...] = ()
    cuts: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    place: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    done: date | None = None
    private: bool = False


@record
class Order:
    """Something bought; `due` as written, `due_date` where it is a date; price and place are never published."""

    id: str
    name: str
    when: Moment
    span: Span = field(compare=False)
    for_parts: tuple[str, ...] = ()
    for_jobs: tuple[str, ...] = ()
    for_words: str = ""
    bought_from: str = ""
    price: str = ""
    due: str = ""
    due_date: date | None = None
    notes: tuple[str, ...] = ()
    arrived: date | None = None
    private: bool = False


@record
class Treatment:
    """A part or place cleaned, primed, painted, oiled."""

    part: str | None
    when: Moment
    span: Span = field(compare=False)
    place: tuple[str, ...] = ()
    surface: str = ""
    product: str = ""
    coats: str = ""
    next: str = ""
    next_date: date | None = None
    private: bool = False


@record
class Entities:
    """All of it, keyed by id (photos by key, places by path)."""

    parts: Mapping[str, Part]
    readings: Mapping[str, Reading]
    photos: Mapping[str, Photo]
    places: Mapping[tuple[str, ...], Place]
    days: tuple[Day, ...]
    jobs: Mapping[str, Job]
    orders: Mapping[str, Order]
    treatments: tuple[Treatment, ...]
