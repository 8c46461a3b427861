"""Hosts that are going or have changed, and what became of each part that was on them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import Literal

from journal.ground.records import record
from journal.ground.source import Span
from journal.judge.going import GONE, going_hosts
from journal.judge.living import days_in_words
from journal.judge.verdicts import Record
from journal.model.book import Book
from journal.model.entities import Event, Moment, Part

Fate = Literal["recorded", "not recorded", "moved over", "not moved over", "still on it", "gone for good"]

# In words, in the order they are told in.
FATES: Mapping[Fate, str] = {
    "not recorded": "not recorded",
    "not moved over": "recorded, not moved over",
    "recorded": "recorded",
    "moved over": "moved over",
    "still on it": "still on it",
    "gone for good": "gone for good",
}


@record
class Carried:
    """A part that was on a host.

    fate   before the cut: "recorded" or "not recorded"; after it: what has become of the part
    days   since the host changed, for a part that waits; else 0
    """

    part: str
    fate: Fate
    record: Record
    days: int = 0


@record
class Changed:
    """A host that is going, or the last thing that changed it, with every part that was on it."""

    host: str
    what: Literal["going", "cut", "scrapped", "replaced"]
    span: Span
    on: date | None
    parts: tuple[Carried, ...]

    def count(self, *fates: Fate) -> int:
        return sum(carried.fate in fates for carried in self.parts)

    @property
    def waiting(self) -> tuple[Carried, ...]:
        """Those that are still to move over, or to record."""
        return tuple(c for c in self.parts if c.fate in ("not moved over", "not recorded"))


def changed_hosts(book: Book, records: Mapping[str, Record]) -> tuple[Changed, ...]:
    """Every such host that carried something: those still going first, then the newest change first."""
    going = [_going(book, records, host, span) for host, span in going_hosts(book).items()]
    told = {one.host for one in going}
    gone = [_gone(book, records, part, event) for part in book.parts.values() for event in _last_change(part)]
    gone.sort(key=lambda one: one.on or date.min, reverse=True)
    return tuple(one for one in (*going, *(g for g in gone if g.host not in told)) if one.parts)


def _last_change(part: Part) -> Iterator[Event]:
    """The event that changed a host last."""
    return iter([event for event in part.events if event.kind in GONE][-1:])


def _going(book: Book, records: Mapping[str, Record], host: str, span: Span) -> Changed:
    parts = [
        Carried(id, "recorded" if records[id].outlives_host else "not recorded", records[id])
        for id in book.children(host)
        if not _never_back(book, records, id)
    ]
    return Changed(host, "going", span, None, tuple(parts))


def _gone(book: Book, records: Mapping[str, Record], host: Part, event: Event) -> Changed:
    days = (book.today - event.when.day).days
    parts = [_carried(book, records, part, event, days) for part in _were_on(book, host, event)]
    return Changed(host.id, event.kind, event.span, event.when.day, tuple(parts))  # type: ignore[arg-type]  # of GONE


def _were_on(book: Book, host: Part, event: Event) -> Iterator[Part]:
    """Parts that sat on a host before it changed, wherever they are now."""
    for part in book.parts.values():
        if part.id != host.id and part.named < event.when and host.id in hosts_then(part, event.when):
            yield part


def hosts_then(part: Part, when: Moment) -> tuple[str, ...]:
    """What it was fixed to before a moment, by the last word before it, else by the first after it."""
    last = next((e for e in reversed(part.events) if e.when < when and e.kind in ("removed", "refitted")), None)
    if last and last.host is None:
        return ()
    said = [one for one in part.every("from", "on") if one.parts and one.kind != "measured"]
    word = next((one for one in reversed(said) if one.when < when), said[0] if said else None)
    return tuple(host for one in said if word and one.when == word.when for host in one.parts) or part.hosts


def _carried(book: Book, records: Mapping[str, Record], part: Part, event: Event, days: int) -> Carried:
    record = records[part.id]
    if _never_back(book, records, part.id):
        return Carried(part.id, "gone for good", record)
    if record.asked:
        recorded = record.word == "position recorded"
        return Carried(part.id, "not moved over" if recorded else "not recorded", record, days)
    since = any(e.when > event.when and e.kind in ("refitted", "replaced") for e in part.events)
    return Carried(part.id, "moved over" if since else "still on it", record)


def _never_back(book: Book, records: Mapping[str, Record], part: str) -> bool:
    return book.state(part) == "scrapped" and not records[part].asked


# --- told in the terminal


def changed_lines(book: Book, changed: Iterable[Changed]) -> Iterator[str]:
    """Each host that is going or has changed while parts of it still wait, with every part that was on it."""
    for one in changed:
        if one.waiting:
            on = f" on {one.on.day} {one.on:%B %Y}" if one.on else ""
            yield f"{book.title(one.host)}, {'about to go' if one.what == 'going' else one.what}{on}:"
            for fate, words in FATES.items():
                parts = [carried for carried in one.parts if carried.fate == fate]
                if parts:
                    days = f" ({days_in_words(parts[0].days)})" if parts[0].days else ""
                    yield f"  {words}{days}: {'; '.join(book.title(carried.part) for carried in parts)}"
