"""A book without what is private, made in two steps.

First all goes that was said in private: what is left is a whole book, and can be judged like one. Then the keys go
that are never public. `hidden` says what is private.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TypeVar
from urllib.parse import unquote

from markdown_it.token import Token

from journal.model.book import Book
from journal.model.entities import (
    Day,
    DayNote,
    Event,
    Job,
    Order,
    Part,
    Photo,
    Place,
    PlacedSlip,
    Reading,
    Said,
)
from journal.model.lifecycle import starts_anew
from journal.model.places import place_key, spelt
from journal.notes.kinds import KEYS_OF
from journal.pages.hidden import Hidden
from journal.read.settings import Private, split_place

Whole = TypeVar("Whole")
Tree = Mapping[tuple[str, ...], tuple[str, ...]]

NEVER_PUBLIC = frozenset(key.name for keys in KEYS_OF.values() for key in keys.values() if key.private) | {
    "bought from",
    "template",  # it tells where the pattern hangs
    "private",
    "settled",
}


def told_in_public(book: Book, hidden: Hidden) -> Book:
    """The book as if nothing had been said in private. What is `settled` stays, as it shows nothing of itself."""
    if hidden.nothing:
        return book
    whole = book.entities
    tree = {place_key(path): path for path in whole.places}
    parts = {p.id: _part(p, tree, hidden) for p in whole.parts.values() if p.id not in hidden.parts}
    told = replace(book, entities=replace(whole, parts=parts))
    entities = replace(
        told.entities,
        readings=dict(_readings(book, told, hidden)),
        photos={p.key: _photo(p, hidden) for p in whole.photos.values() if p.key not in hidden.photos},
        places=_places(told, tree, hidden),
        days=tuple(_day(day, hidden) for day in whole.days if not day.private),
        jobs={j.id: _job(j, hidden) for j in whole.jobs.values() if j.id not in hidden.jobs},
        orders={o.id: _order(o, hidden) for o in whole.orders.values() if o.id not in hidden.orders},
        treatments=tuple(t for t in whole.treatments if not hidden.treatment(t)),
    )
    today = max([book.clock, *(day.date for day in entities.days)]) if book.clock else book.today
    return replace(told, entities=entities, today=today)


def is_whole(told: Book, book: Book) -> bool:
    """Whether nothing that a verdict could rest on was private."""
    judged = ("parts", "readings", "photos", "jobs", "orders", "treatments")
    return told.today == book.today and all(getattr(told, name) == getattr(book, name) for name in judged)


def published(told: Book) -> Book:
    """The book without the keys that are never public."""
    entities = replace(
        told.entities,
        parts={id: _with(part, said=_shown(part.said)) for id, part in told.parts.items()},
        orders={id: _with(order, bought_from="", price="") for id, order in told.orders.items()},
        days=tuple(replace(day, notes=tuple(_shown_note(note, told) for note in day.notes)) for day in told.days),
    )
    return replace(told, entities=entities, settings=replace(told.settings, private=Private()))


def _shown(said: tuple[Said, ...]) -> tuple[Said, ...]:
    return tuple(one for one in said if one.key not in NEVER_PUBLIC)


def _shown_note(note: DayNote, told: Book) -> DayNote:
    """The note with no word of a slip as it was written, and no key that is never public. A block that was meant to be
    a slip and could not be read may say anything, so it goes."""
    read = (token for token in note.note.tokens if "unread" not in token.meta)
    tokens = tuple(t.copy(content="") if "slip" in t.meta else t for t in read)
    placed = tuple(_shown_slip(one, told) for one in note.slips)
    return DayNote(replace(note.note, tokens=tokens, slips=tuple(one.slip for one in placed)), placed)


def _shown_slip(placed: PlacedSlip, told: Book) -> PlacedSlip:
    lines = {told.readings[r].span.line for r in placed.readings}
    slip = replace(
        placed.slip,
        body="",
        entries=tuple(entry for entry in placed.slip.entries if entry.key not in NEVER_PUBLIC),
        sentences=tuple(said for said in placed.slip.sentences if said.key not in NEVER_PUBLIC),
        statements=tuple(s for s in placed.slip.statements if s.span.line not in lines),
    )
    return replace(placed, slip=slip, names=())


def _with(whole: Whole, **shown: object) -> Whole:
    """It with other values; itself where they are those it has, as most of a book is public."""
    if all(getattr(whole, name) == value for name, value in shown.items()):
        return whole
    return replace(whole, **shown)  # type: ignore[type-var]  # they are records, all of them


def _without(ids: tuple[str, ...], gone: frozenset[str]) -> tuple[str, ...]:
    return tuple(i for i in ids if i not in gone) if gone else ids


# --- parts and readings


def _part(part: Part, tree: Tree, hidden: Hidden) -> Part:
    """The part by what was said of it in public."""
    told = [said for said in part.said if not _is_secret(said, hidden)]
    shown = (key for key in _without(part.photos, hidden.photos) if (key, part.id) not in hidden.secret_views)
    places = (spelt(tree, split_place(said.text)) for said in reversed(told) if said.key == "place")
    named, first = hidden.first_told(part)
    hosts = _hosts(part, told, hidden)
    return _with(
        part,
        hosts=hosts,
        place=next(filter(None, places), ()),
        said=tuple(_said(said, hidden) for said in part.said if said.key == "settled" or not _is_secret(said, hidden)),
        events=tuple(_events(part, hosts, hidden)),
        photos=tuple(shown),
        also_called=tuple(item for said in told if said.key == "also called" for item in said.items),
        first=first,
        named=named,
        since=named.day,
    )


def _is_secret(one: Said | Event, hidden: Hidden) -> bool:
    return hidden.said(one.when, one.private)


def _hosts(part: Part, told: Sequence[Said], hidden: Hidden) -> tuple[str, ...]:
    """By the last word in public; where only private slips say a host, none is told."""
    if len(told) < len(part.said) and any(said.key in ("from", "on") for said in part.said):
        last = next((said.parts for said in reversed(told) if said.key in ("from", "on") and said.parts), ())
        return _without(last, hidden.parts)
    return _without(part.hosts, hidden.parts)


def _events(part: Part, hosts: tuple[str, ...], hidden: Hidden) -> Iterator[Event]:
    """Those of public slips, its selves counted afresh."""
    number, secret = 1, hidden.parts | hidden.secret_hosts(part)
    told: list[Event] = []
    for event in part.events:
        if not _is_secret(event, hidden):
            number += starts_anew(event.kind, told)
            told.append(event)
            host = next(iter(hosts), None) if event.host in secret else event.host
            yield _with(event, host=host, self=number)


def _said(said: Said, hidden: Hidden) -> Said:
    return _with(said, parts=_without(said.parts, hidden.parts))


def _readings(book: Book, told: Book, hidden: Hidden) -> Iterator[tuple[str, Reading]]:
    """Each on the selves, and at the place, that are public."""
    fates = ("replaced", "scrapped", "refitted")
    renewed = any(e.kind in fates and _is_secret(e, hidden) for p in book.parts.values() for e in p.events)
    moved = {part: place for part in told.parts if (place := told.place_of(part)) != book.place_of(part)}
    for id, reading in book.readings.items():
        if id not in hidden.readings:
            shown = _with(reading, photos=_without(reading.photos, hidden.photos)) if hidden.photos else reading
            shown = _on_selves(shown, told) if renewed else shown
            if reading.part in moved and reading.place == book.place_of(reading.part):
                shown = _with(shown, place=moved[reading.part])
            yield id, shown


def _on_selves(reading: Reading, told: Book) -> Reading:
    lives, owner = told.lives, reading.reference.owner if reading.reference else reading.part
    return _with(
        reading,
        self=lives.self_at(reading.part, reading.when),
        host_self=lives.self_at(reading.host, reading.when),
        reference_self=lives.self_at(owner, reading.when),
    )


# --- pictures, places and days


def _photo(photo: Photo, hidden: Hidden) -> Photo:
    if not (hidden.secret_views or hidden.readings):
        return photo
    return _with(
        photo,
        shows=tuple(p for p in photo.shows if (photo.key, p) not in hidden.secret_views),
        in_place=tuple(p for p in photo.in_place if (photo.key, p) not in hidden.secret_views),
        lines=tuple(line for line in photo.lines if line.reading not in hidden.readings),
    )


def _places(told: Book, tree: Tree, hidden: Hidden) -> dict[tuple[str, ...], Place]:
    """Those that something public names, with the parts that are there by public word."""
    held: dict[tuple[str, ...], list[str]] = {}
    for part in told.parts:
        held.setdefault(told.place_of(part), []).append(part)
    named = {path[:n] for path in (*held, *_named(told, tree, hidden)) for n in range(1, len(path) + 1)}
    kept = {path: place for path, place in told.places.items() if path in named and not hidden.place(path)}
    ids = {place.id for place in kept.values()}
    return {
        path: _with(p, parts=tuple(held.get(path, ())), children=tuple(child for child in p.children if child in ids))
        for path, p in kept.items()
    }


def _named(book: Book, tree: Tree, hidden: Hidden) -> Iterator[tuple[str, ...]]:
    """Places of build.toml, and those that public slips name."""
    yield from (spelt(tree, path) for path, _ in book.settings.places)
    for placed in (slip for day in book.days for note in day.notes for slip in note.slips):
        if not hidden.slip(placed):
            yield from (spelt(tree, split_place(entry.value)) for entry in placed.slip.all("place"))


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
            tokens.append(token.copy(meta={**token.meta, "slip": number[slip]}))
    placed = tuple(_placed(note.slips[n], hidden) for n in kept)
    raw = replace(note.note, tokens=tuple(tokens), slips=tuple(p.slip for p in placed))
    return DayNote(raw, placed)


def _without_pictures(token: Token, on: date, hidden: Hidden) -> Token:
    """A line of Markdown without its private pictures and the words that describe them."""
    children = token.children or []
    kept = [c for c in children if c.type != "image" or not hidden.picture(unquote(str(c.attrs.get("src", ""))), on)]
    return token if len(kept) == len(children) else token.copy(children=kept, content="")


def _placed(placed: PlacedSlip, hidden: Hidden) -> PlacedSlip:
    lines = {hidden.book.readings[r].span.line for r in placed.readings if r in hidden.readings}
    statements = tuple(said for said in placed.slip.statements if said.span.line not in lines)
    return replace(
        placed,
        slip=_with(placed.slip, statements=statements),
        readings=_without(placed.readings, hidden.readings),
        photos=_without(placed.photos, hidden.photos),
    )


# --- work


def _job(job: Job, hidden: Hidden) -> Job:
    return _with(
        job,
        needs_parts=_without(job.needs_parts, hidden.parts),
        needs_orders=_without(job.needs_orders, hidden.orders),
        needs_jobs=_without(job.needs_jobs, hidden.jobs),
        before=_without(job.before, hidden.jobs),
        cuts=_without(job.cuts, hidden.parts),
        parts=_without(job.parts, hidden.parts),
        place=() if hidden.place(job.place) else job.place,
    )


def _order(order: Order, hidden: Hidden) -> Order:
    return _with(
        order,
        for_parts=_without(order.for_parts, hidden.parts),
        for_jobs=_without(order.for_jobs, hidden.jobs),
    )
