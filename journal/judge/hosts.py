"""Findings about hosts: one is about to go, or has gone from under a part."""

from __future__ import annotations

from collections.abc import Iterator

from journal.ground.finding import Finding, Note
from journal.judge.desk import Desk
from journal.judge.going import done_without_a_word, going_hosts, never_back
from journal.judge.living import day
from journal.model.book import Book


def lost_with_host(desk: Desk) -> Iterator[Finding]:
    """Parts never said to be off, whose host is gone, or has lost the features they sat on."""
    book = desk.book
    for part in book.parts.values():
        event = desk.recorder.lost_with(part.id)
        if event:
            host = next(book.parts[host] for host in part.hosts if event in book.parts[host].events)
            yield Finding(
                "lost-with-host",
                f"{part.title} was never taken off, and {host.title} was {event.kind} on {day(event)}",
                part.first,
                (Note(f"{host.title} was {event.kind} here", event.span),),
                "write a `removed` slip for it on the day it came off, or `scrapped`, or `refitted` if it is on the "
                "new one",
                part.id,
                host.id,
            )


def host_going(desk: Desk) -> Iterator[Finding]:
    """The warning to give before the saw: parts on a host that is going, without a full record."""
    book = desk.book
    for host, why in going_hosts(book).items():
        parts = unrecorded_on(desk, host)
        if not parts:
            continue
        notes = []
        for id in parts:
            record = desk.record(id)
            left = f"{record.word}; {' and '.join(record.free)}" if record.free else record.word
            if record.word == "position recorded":
                seat = record.grounds[0]
                left = f"held by {seat}, which may go with it: trace a template, or measure it to what stays"
            advice = f": measure {' and '.join(record.next)}" if record.next else ""
            notes.append(Note(f"{book.title(id)}: {left}{advice}", book.parts[id].first))
        count = f"{len(parts)} parts on it have" if len(parts) > 1 else "1 part on it has"
        job = done_without_a_word(book, host)
        goes = f'may have been cut: "{job.name}" is done and no slip says what went' if job else "is about to go"
        yield Finding(
            "host-going",
            f"{book.title(host)} {goes}, and {count} no full record",
            why,
            tuple(notes),
            "measure them now, while the old one can still be measured",
            host,
            host,
        )


def unrecorded_on(desk: Desk, host: str) -> list[str]:
    """Parts of a host whose place is lost with it: no full record, or one that rests on its own holes only."""
    book = desk.book
    return [
        id for id in book.children(host) if not never_back(book, book.parts[id]) and not desk.record(id).outlives_host
    ]


def host_rings(desk: Desk) -> Iterator[Finding]:
    """Parts that are fixed to one another in a ring, told once at the line that was written last."""
    parts = desk.book.parts
    told: set[str] = set()
    for start in parts:
        walk: list[str] = []
        at: str | None = start
        while at is not None and at not in walk and at not in told:
            walk.append(at)
            at = parts[at].host
        told.update(walk)
        if at in walk:
            yield _ring(desk.book, walk[walk.index(at) :])


def _ring(book: Book, ring: list[str]) -> Finding:
    said = [said for id in ring for said in book.parts[id].every("from", "on")]
    last = max(said, key=lambda said: said.when)
    names = [f'"{book.title(id)}"' for id in (*ring, ring[0])]
    return Finding(
        "not-understood",
        f"parts are fixed to one another in a ring: {' to '.join(names)}",
        last.span,
        help="write in `from:` of one of them what the others hang on, such as the frame",
        part=ring[0],
    )
