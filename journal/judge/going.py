"""Which parts are about to go: announced with `going:`, or named by a job that cuts them.

Where such a job is done and no slip ever said what went, the part still counts as going: it may be gone already.
"""

from __future__ import annotations

from journal.ground.source import Span
from journal.model.book import Book
from journal.model.entities import Job, Part
from journal.notes.kinds import says_yes

GONE = ("cut", "scrapped", "replaced")


def going_hosts(book: Book) -> dict[str, Span]:
    """Ids of parts that are about to go, with the place that says so. One that lies on the bench may still go."""
    found: dict[str, Span] = {}
    for part in book.parts.values():
        said = part.latest("going")
        if said and book.lives.announced(part.id, book.now):
            found[part.id] = said.span
    for job in book.jobs.values():
        for id in job.cuts:
            if not _gone_since(book.parts[id], job) and book.state(id) != "scrapped":
                found.setdefault(id, job.span)
    return found


def never_back(book: Book, part: Part) -> bool:
    """Whether it was scrapped and nothing takes its place."""
    said = part.latest("not coming back")
    return book.state(part.id) == "scrapped" and said is not None and says_yes(said.text)


def done_without_a_word(book: Book, part: str) -> Job | None:
    """The job that cut a part, by what it says, where no slip tells what went."""
    jobs = (job for job in book.jobs.values() if job.done and part in job.cuts)
    return next((job for job in jobs if not _gone_since(book.parts[part], job)), None)


def _gone_since(part: Part, job: Job) -> bool:
    """Whether something of a part went since the job was written down; of a job that is done, ever."""
    return any(event.kind in GONE and (job.done or event.when.order > job.when.order) for event in part.events)
