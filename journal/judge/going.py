"""Which parts are about to go: announced with `going:`, or named by an open job that cuts them."""

from __future__ import annotations

from journal.ground.source import Span
from journal.model.book import Book
from journal.model.entities import Part

GONE = ("cut", "scrapped", "replaced")


def going_hosts(book: Book) -> dict[str, Span]:
    """Ids of parts that are about to go, with the place that says so. One that lies on the bench may still go."""
    found: dict[str, Span] = {}
    for part in book.parts.values():
        said = part.latest("going")
        if said and book.lives.announced(part.id, book.now):
            found[part.id] = said.span
    for job in book.jobs.values():
        if job.done is None:
            for id in job.cuts:
                if not _gone_since(book.parts[id], job.when.order) and book.state(id) != "scrapped":
                    found.setdefault(id, job.span)
    return found


def _gone_since(part: Part, order: int) -> bool:
    return any(event.kind in GONE and event.when.order > order for event in part.events)
