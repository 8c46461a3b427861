"""Findings about hosts: one is about to go, or has gone from under a part."""

from __future__ import annotations

from collections.abc import Iterator

from journal.ground.finding import Finding, Note
from journal.ground.names import fold
from journal.ground.source import Span
from journal.judge.desk import Desk
from journal.judge.living import day
from journal.model.book import Book
from journal.model.entities import Event, Part


def lost_with_host(desk: Desk) -> Iterator[Finding]:
    """Parts never said to be off, whose host is gone, or has lost the features they sat on."""
    book = desk.book
    for part in book.parts.values():
        if part.host is None or book.lives.is_off(part.id, book.now):
            continue
        event = _gone_from_under(desk, part)
        if event:
            host = book.parts[part.host]
            verb = {"replaced": "replaced", "scrapped": "scrapped", "cut": "cut"}[event.kind]
            yield Finding(
                "lost-with-host",
                f"{part.title} was never taken off, and {host.title} was {verb} on {day(event)}",
                part.first,
                (Note(f"{host.title} was {verb} here", event.span),),
                "write a `removed` slip for it on the day it came off, or `scrapped`, or `refitted` if it is on the "
                "new one",
                part.id,
                host.id,
            )


def _gone_from_under(desk: Desk, part: Part) -> Event | None:
    """The event that took the host, or the piece of it, from under a part that is still said to be on."""
    book = desk.book
    assert part.host is not None
    host = book.parts[part.host]
    sat = book.lives.settled(part.id, book.now)
    if desk.recorder.lost_host(part.id):
        return next((e for e in host.events if e.kind in ("replaced", "scrapped") and e.when > sat), None)
    for event in host.events:
        if event.kind == "cut" and event.when > sat and event.self == book.lives.self_at(host.id, book.now):
            if not event.away or any(_sat_on(part, item, desk) for item in event.away):
                return event
    return None


def _sat_on(part: Part, item: str, desk: Desk) -> bool:
    """Whether a piece cut away is what the part sat on: its face, its place, or own holes it hangs in."""
    word = fold(item)
    face, place = part.latest("face"), part.place
    if word == "own holes":
        return desk.record(part.id).located_by in ("own holes", "fit")
    return bool((face and fold(face.text) == word) or (place and fold(place[-1]) == word))


def host_going(desk: Desk) -> Iterator[Finding]:
    """The warning to give before the saw: parts on a host that is going, without a full record."""
    book = desk.book
    for host, why in going_hosts(desk).items():
        parts = unrecorded_on(desk, host)
        if not parts:
            continue
        notes = []
        for id in parts:
            record = desk.record(id)
            left = f"{record.word}; {' and '.join(record.free)}" if record.free else record.word
            if record.word == "position recorded":
                left = f"held by {record.grounds[0]}, which may go with it"
            advice = f": measure {' and '.join(record.next)}" if record.next else ""
            notes.append(Note(f"{book.title(id)}: {left}{advice}", book.parts[id].first))
        count = f"{len(parts)} parts on it have" if len(parts) > 1 else "1 part on it has"
        yield Finding(
            "host-going",
            f"{book.title(host)} is about to go, and {count} no full record",
            why,
            tuple(notes),
            "measure them now, while the old one can still be measured",
            host,
            host,
        )


def going_hosts(desk: Desk) -> dict[str, Span]:
    """Hosts that are announced to go or that an open job cuts, with the place that says so."""
    book, found = desk.book, {}
    for part in book.parts.values():
        said = part.latest("going")
        if said and book.state(part.id) == "going":
            found[part.id] = said.span
    for job in book.jobs.values():
        if job.done is None:
            for id in job.cuts:
                gone = any(
                    e.kind in ("cut", "scrapped", "replaced") and e.when > job.when for e in book.parts[id].events
                )
                if not gone and book.state(id) != "scrapped":
                    found.setdefault(id, job.span)
    return found


def unrecorded_on(desk: Desk, host: str) -> list[str]:
    """Parts of a host whose place is lost with it: no full record, or one that rests on its own holes only."""
    return [
        id
        for id in desk.book.children(host)
        if not _never_back(desk.book, id) and (desk.record(id).word != "position recorded" or _only_on_seat(desk, id))
    ]


def _never_back(book: Book, part: str) -> bool:
    said = book.parts[part].latest("not coming back")
    return book.state(part) == "scrapped" and said is not None


def _only_on_seat(desk: Desk, part: str) -> bool:
    """Whether own holes or a fit are all that holds it: they go with the panel."""
    sized = desk.recorder.sized(part)
    seat = [ground for ground in sized.grounds if not ground.startswith(("own holes in", "its fit in"))]
    return not sized.held and not seat
