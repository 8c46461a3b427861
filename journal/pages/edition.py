"""The two editions. The public one is a smaller book: what is private is taken out once, before anything is made.

Pages, data files, feeds and the search index are all made from the book that `reduced` gives back, so nothing
private can reach them. `hidden` says what goes, `erasing` takes names out of what stays.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import Any, Literal, TypeVar
from urllib.parse import unquote

from markdown_it.token import Token

from journal.ground.finding import Finding
from journal.judge.positions import Solver
from journal.judge.record import Recorder
from journal.judge.verdicts import FacePosition, Judgement, Record
from journal.model.book import Book
from journal.model.entities import (
    Day,
    DayNote,
    Entities,
    Job,
    Order,
    Part,
    Photo,
    Place,
    PlacedSlip,
    Said,
    State,
    Treatment,
)
from journal.notes.kinds import KEYS_OF
from journal.pages.erasing import scrubbed
from journal.pages.hidden import Hidden
from journal.read.settings import Private, split_place

Edition = Literal["public", "shop"]
Whole = TypeVar("Whole")

NEVER_PUBLIC = frozenset(key.name for keys in KEYS_OF.values() for key in keys.values() if key.private) | {
    "bought from",
    "template",  # it tells where the pattern hangs
    "private",
    "settled",
}
OFF: frozenset[State] = frozenset({"off", "off with its host", "scrapped", "cut", "back on with its host off"})

# What a follower is told; everything else is for whoever writes the notes, and quotes them.
TOLD_IN_PUBLIC = frozenset(
    {
        "no-position", "seen-not-measured", "partly-recorded", "reference-gone", "not-moved-over", "no-route",
        "lost-with-host", "host-going", "disagree", "new-one-differs", "out-of-want", "sides-differ", "weak-turn",
        "two-spots", "suspect-measurement",
    }
)  # fmt: skip


def reduced(book: Book, judgement: Judgement, edition: Edition) -> tuple[Book, Judgement]:
    """The book and the verdicts as the edition may show them; the shop's are whole."""
    if edition == "shop":
        return book, judgement
    hidden = Hidden(book)
    entities = _entities(book.entities, hidden)
    smaller = replace(book, entities=entities, settings=replace(book.settings, private=Private()))
    verdicts = _judgement(judgement, smaller, hidden)
    erase = hidden.eraser()
    if erase is None:
        return smaller, verdicts
    clean = replace(smaller, entities=scrubbed(entities, erase), settings=scrubbed(smaller.settings, erase))
    return clean, scrubbed(verdicts, erase)


# --- the smaller book ----------------------------------------------------------------------------------------


def _entities(entities: Entities, hidden: Hidden) -> Entities:
    kept_parts = {p.id: _part(p, hidden) for p in entities.parts.values() if p.id not in hidden.parts}
    return Entities(
        parts=kept_parts,
        readings={
            r.id: _with(r, photos=_without(r.photos, hidden.photos))
            for r in entities.readings.values()
            if r.id not in hidden.readings
        },
        photos={p.key: _photo(p, hidden) for p in entities.photos.values() if p.key not in hidden.photos},
        places=_places(entities.places, kept_parts, hidden),
        days=tuple(_day(day, hidden) for day in entities.days if not day.private),
        jobs={j.id: _job(j, hidden) for j in entities.jobs.values() if not hidden.said(j.when, j.private)},
        orders={o.id: _order(o, hidden) for o in entities.orders.values() if not hidden.said(o.when, o.private)},
        treatments=tuple(t for t in entities.treatments if not _hides_treatment(t, hidden)),
    )


def _with(whole: Whole, **shown: object) -> Whole:
    """It with other values; itself where they are the very ones it has, as most of a book is public."""
    if all(getattr(whole, name) is value for name, value in shown.items()):
        return whole
    return replace(whole, **shown)  # type: ignore[type-var]  # they are records, all of them


def _without(ids: tuple[str, ...], gone: frozenset[str]) -> tuple[str, ...]:
    return tuple(i for i in ids if i not in gone) if gone else ids


def _part(part: Part, hidden: Hidden) -> Part:
    """The part by what was said of it in public."""
    told = [said for said in part.said if not hidden.said(said.when, said.private)]
    events = (e for e in part.events if not hidden.said(e.when, e.private))
    shown = (key for key in _without(part.photos, hidden.photos) if (key, part.id) not in hidden.secret_views)
    return replace(
        part,
        hosts=_hosts(part, told, hidden),
        place=next((split_place(said.text) for said in reversed(told) if said.key == "place"), ()),
        said=tuple(_said(said, hidden) for said in told if said.key not in NEVER_PUBLIC),
        events=tuple(_with(e, host=None if e.host in hidden.parts else e.host) for e in events),
        photos=tuple(shown),
        also_called=tuple(item for said in told if said.key == "also called" for item in said.items),
    )


def _hosts(part: Part, told: Sequence[Said], hidden: Hidden) -> tuple[str, ...]:
    """By the last word in public; where only private slips say a host, none is told."""
    if len(told) < len(part.said) and any(said.key in ("from", "on") for said in part.said):
        last = next((said.parts for said in reversed(told) if said.key in ("from", "on") and said.parts), ())
        return _without(last, hidden.parts)
    return _without(part.hosts, hidden.parts)


def _said(said: Said, hidden: Hidden) -> Said:
    return _with(said, parts=_without(said.parts, hidden.parts))


def _photo(photo: Photo, hidden: Hidden) -> Photo:
    if not (hidden.secret_views or hidden.readings):
        return photo
    return replace(
        photo,
        shows=tuple(p for p in photo.shows if (photo.key, p) not in hidden.secret_views),
        in_place=tuple(p for p in photo.in_place if (photo.key, p) not in hidden.secret_views),
        lines=tuple(line for line in photo.lines if line.reading not in hidden.readings),
    )


def _places(
    places: Mapping[tuple[str, ...], Place], parts: Mapping[str, Part], hidden: Hidden
) -> dict[tuple[str, ...], Place]:
    """Those that are not private and still hold something."""
    used = {part.place[:n] for part in parts.values() for n in range(1, len(part.place) + 1)}
    kept = {
        path: place
        for path, place in places.items()
        if not hidden.place(path) and (path in used or place.note or not place.parts)
    }
    ids = frozenset(place.id for place in kept.values())
    gone = frozenset(child for place in kept.values() for child in place.children) - ids
    return {
        path: replace(p, parts=_without(p.parts, hidden.parts), children=_without(p.children, gone))
        for path, p in kept.items()
    }


def _day(day: Day, hidden: Hidden) -> Day:
    notes = tuple(_note(note, day.date, hidden) for note in day.notes)
    return replace(day, notes=notes, photos=_without(day.photos, hidden.photos))


def _note(note: DayNote, on: date, hidden: Hidden) -> DayNote:
    """The note without its private slips and pictures: their blocks go, the other slips are numbered afresh."""
    kept = [n for n, placed in enumerate(note.slips) if not hidden.slip(placed)]
    number = {old: new for new, old in enumerate(kept)}
    tokens = []
    for token in note.note.tokens:
        slip = token.meta.get("slip")
        if slip is None:
            tokens.append(_without_pictures(token, on, hidden))
        elif slip in number:
            tokens.append(token.copy(meta={**token.meta, "slip": number[slip]}, content=""))
    placed = tuple(_placed(note.slips[n], hidden) for n in kept)
    raw = replace(note.note, tokens=tuple(tokens), slips=tuple(p.slip for p in placed))
    return DayNote(raw, placed)


def _without_pictures(token: Token, on: date, hidden: Hidden) -> Token:
    """A line of Markdown without its private pictures and the words that describe them."""
    children = token.children or []
    kept = [c for c in children if c.type != "image" or not hidden.picture(unquote(str(c.attrs.get("src", ""))), on)]
    return token if len(kept) == len(children) else token.copy(children=kept, content="")


def _placed(placed: PlacedSlip, hidden: Hidden) -> PlacedSlip:
    lines = {hidden.book.readings[r].span.line for r in placed.readings}
    slip = replace(
        placed.slip,
        body="",
        entries=tuple(entry for entry in placed.slip.entries if entry.key not in NEVER_PUBLIC),
        statements=tuple(s for s in placed.slip.statements if s.span.line not in lines),
    )
    return replace(
        placed,
        slip=slip,
        readings=_without(placed.readings, hidden.readings),
        photos=_without(placed.photos, hidden.photos),
    )


def _job(job: Job, hidden: Hidden) -> Job:
    return replace(
        job,
        needs_parts=_without(job.needs_parts, hidden.parts),
        needs_orders=_without(job.needs_orders, _private_ids(hidden.book.orders, hidden)),
        needs_jobs=_without(job.needs_jobs, _private_ids(hidden.book.jobs, hidden)),
        before=_without(job.before, _private_ids(hidden.book.jobs, hidden)),
        cuts=_without(job.cuts, hidden.parts),
        parts=_without(job.parts, hidden.parts),
        place=() if hidden.place(job.place) else job.place,
    )


def _private_ids(things: Mapping[str, Any], hidden: Hidden) -> frozenset[str]:
    return frozenset(key for key, thing in things.items() if hidden.said(thing.when, thing.private))


def _order(order: Order, hidden: Hidden) -> Order:
    return replace(
        order,
        bought_from="",
        price="",
        for_parts=_without(order.for_parts, hidden.parts),
        for_jobs=_without(order.for_jobs, _private_ids(hidden.book.jobs, hidden)),
    )


def _hides_treatment(treatment: Treatment, hidden: Hidden) -> bool:
    return (
        hidden.said(treatment.when, treatment.private)
        or treatment.part in hidden.parts
        or hidden.place(treatment.place)
    )


# --- the verdicts on it --------------------------------------------------------------------------------------


def _judgement(judgement: Judgement, smaller: Book, hidden: Hidden) -> Judgement:
    return replace(
        judgement,
        records={p: _record(r, smaller, hidden) for p, r in judgement.records.items() if p not in hidden.parts},
        standings={r: s for r, s in judgement.standings.items() if r not in hidden.readings},
        findings=tuple(f for f in (_finding(f, hidden) for f in judgement.findings) if f),
        positions=_positions(judgement.positions, smaller, hidden),
    )


def _positions(positions: tuple[FacePosition, ...], smaller: Book, hidden: Hidden) -> tuple[FacePosition, ...]:
    """The same, unless something private takes part: then they are worked out again from what is public alone."""
    if not any(_rests_on_private(position, hidden) for position in positions):
        return positions
    return Solver(Recorder(smaller)).positions


def _rests_on_private(position: FacePosition, hidden: Hidden) -> bool:
    """Whether a private part or reading takes part in a face: what was worked out from it could give it away."""
    parts = {position.host, *position.parts, *(spot.owner for spot in position.spots)}
    readings = {*position.residuals, *position.rejected}
    return bool(parts & hidden.parts or readings & hidden.readings)


def _record(record: Record, smaller: Book, hidden: Hidden) -> Record:
    """The verdict in the words of the public book; its sentences go where they could rest on something private."""
    state = smaller.state(record.part)
    asked = record.asked and state in OFF
    whole = hidden.book.parts[record.part]
    private = any(hidden.said(said.when, said.private) for said in whole.said) or any(
        reading.id in hidden.readings for reading in hidden.book.readings_of(record.part)
    )
    if private:
        return replace(record, state=state, asked=asked, grounds=(), free=(), next=())
    return replace(record, state=state, asked=asked)


def _finding(finding: Finding, hidden: Hidden) -> Finding | None:
    """The finding as a follower may read it; None where it is about something private or about the notes."""
    about_private = {finding.part, finding.host} & hidden.parts or finding.measurement in hidden.readings
    if finding.word not in TOLD_IN_PUBLIC or about_private or hidden.in_notes(finding.span):
        return None
    notes = tuple(n for n in finding.notes if n.span is None or not hidden.in_notes(n.span))
    return replace(finding, notes=notes)
