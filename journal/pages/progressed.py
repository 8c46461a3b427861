"""How the work went on: parts off, recorded and back over time, what a day changed, where the open ones are."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

from journal.model.entities import Part, Reading
from journal.pages import address, drawings, words
from journal.pages.viewer import Viewer
from journal.pages.views import Change, Link, OpenPlace, PartRow, Progress

RECORDED = "Position recorded"
# What an event did to a part, in the order a day's page tells it.
DID = {"removed": "Off", "refitted": "Back on", "replaced": "Replaced", "cut": "Cut", "scrapped": "Gone for good"}
RESTS_ON = ("held by", "located by", "marks", "template", "route", "connects")
MOST_PLACES = 12  # beyond it the places at the top of the tree stand for those within
NOWHERE = "no place written"


def progress(viewer: Viewer) -> Progress | None:
    """Parts off, back and recorded, day by day.

    A part counts as recorded from the day by which everything was first written that its record rests on today:
    never too early, nor only on the day on which it was measured again.
    """
    days = sorted({day.date for day in viewer.book.days if day.date <= viewer.book.today})
    changes: dict[date, list[tuple[str, str]]] = {}
    for part in viewer.book.parts.values():
        for event in part.events:
            if event.kind in ("removed", "refitted", "replaced", "scrapped") and event.when.day <= viewer.book.today:
                changes.setdefault(event.when.day, []).append((part.id, event.kind))
    recorded = {p.id: on for p in viewer.book.parts.values() if (on := _recorded_on(viewer, p))}
    return drawings.progress(list(_tallies(days, changes, recorded)))


def _tallies(
    days: Sequence[date], changes: Mapping[date, list[tuple[str, str]]], recorded: Mapping[str, date]
) -> Iterator[drawings.Tally]:
    now: dict[str, str] = {}
    known: set[str] = set()
    here: set[str] = set()  # off or back, not gone
    by_day: dict[date, list[str]] = {}
    for part, on in recorded.items():
        by_day.setdefault(on, []).append(part)
    told = sorted(by_day, reverse=True)
    for day in days:
        for part, kind in changes.get(day, ()):
            now[part] = {"removed": "off", "scrapped": "gone"}.get(kind, "back")
            (here.discard if kind == "scrapped" else here.add)(part)
        while told and told[-1] <= day:
            known.update(by_day[told.pop()])
        counts = Counter(now.values())
        yield drawings.Tally(day, counts["off"], counts["back"], len(known & here))


def _recorded_on(viewer: Viewer, part: Part) -> date | None:
    """The day its record became full; None without one.

    What is measured or said again, as on the new host or once it is back, was known since the first time.
    """
    record = viewer.judgement.records.get(part.id)
    if record is None or record.word != "position recorded":
        return None
    readings = viewer.book.readings_of(part.id)
    first: dict[object, date] = {}
    for reading in readings:
        what = _measured(reading)
        first[what] = min(first.get(what, reading.when.day), reading.when.day)
    counting = [first[_measured(reading)] for reading in readings if viewer.standing(reading.id).counts]
    said: dict[str, date] = {}
    for one in part.every(*RESTS_ON):
        said[one.key] = min(said.get(one.key, one.when.day), one.when.day)
    return max(counting or said.values() or [part.since])


def _measured(reading: Reading) -> object:
    """What a reading is of, whenever it was taken."""
    ends = (reading.subject, reading.reference)
    return reading.relation, *((end.owner, end.words) if end else None for end in ends)


def changes_by_day(viewer: Viewer) -> dict[date, tuple[Change, ...]]:
    """What became of parts on each day: taken off, put back, replaced, gone, their record made full."""
    found: dict[date, dict[str, list[str]]] = {}
    for part in viewer.book.parts.values():
        for day, did in _changes(viewer, part):
            found.setdefault(day, {}).setdefault(did, []).append(part.id)
    order = (*DID.values(), RECORDED)
    return {
        day: tuple(Change(did, viewer.parts(told[did])) for did in order if did in told) for day, told in found.items()
    }


def _changes(viewer: Viewer, part: Part) -> Iterator[tuple[date, str]]:
    """A part that never came off has its record told by nobody."""
    yield from ((event.when.day, DID[event.kind]) for event in part.events if event.kind in DID)
    recorded = _recorded_on(viewer, part)
    if recorded and any(event.kind == "removed" for event in part.events):
        yield recorded, RECORDED


def open_places(viewer: Viewer, rows: Iterable[PartRow]) -> tuple[OpenPlace, ...]:
    """Where the parts are that are off, and how many of them have no full record; the most open place first."""
    off = [row for row in rows if row.record]
    paths = {row.id: viewer.book.place_of(row.id) for row in off}
    depth = None if len(set(paths.values())) <= MOST_PLACES else 1
    by_place: dict[tuple[str, ...], list[PartRow]] = {}
    for row in off:
        by_place.setdefault(paths[row.id][:depth], []).append(row)
    most = max(map(len, by_place.values()), default=1)
    made = [_open_place(viewer, path, inside, most) for path, inside in by_place.items()]
    return tuple(sorted(made, key=lambda one: (-one.open, -one.off, one.link.text)))


def _open_place(viewer: Viewer, path: tuple[str, ...], rows: Sequence[PartRow], most: int) -> OpenPlace:
    open_ = sum(row.record is not None and row.record.word != "position recorded" for row in rows)
    named = Link(words.path(path), "") if path else Link(NOWHERE, address.PARTS)
    widths = (round(100 * number / most, 1) for number in (len(rows), open_))
    return OpenPlace(viewer.place(path) or named, len(rows), open_, *widths)
