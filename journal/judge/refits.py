"""Parts that are back: the readings taken after refitting against those before, with their combined uncertainty."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from journal.ground.records import record
from journal.judge.changes import hosts_then
from journal.judge.compared import compared
from journal.judge.record import last_moved
from journal.measure.compare import Comparison
from journal.model.book import Book
from journal.model.entities import BEFORE_ALL, Event, Part, Reading
from journal.notes.kinds import says_yes

UNSETTLED = "it was read otherwise before the part was back and after, and nothing says which is where it belongs"
Word = Literal["within", "off", "not measured", "moved on purpose"]


@record
class Pair:
    """The same thing read before and after."""

    before: Reading
    after: Reading
    comparison: Comparison


@record
class Refit:
    """A part that is back.

    word   "within" what was recorded: every reading that can be compared agrees; "off": one does not, or it is back on
           another thing; "not measured": none can be compared; "moved on purpose": nothing to compare
    event  that put it back
    was_on what it came off, where that is there still and the part is on something else now
    """

    part: str
    word: Word
    pairs: tuple[Pair, ...]
    event: Event
    was_on: str | None = None


def refits(book: Book) -> tuple[Refit, ...]:
    """Every part that was refitted and is on, in the order the parts were first named."""
    return tuple(refit for part in book.parts.values() for refit in _of(book, part))


def _of(book: Book, part: Part) -> Iterator[Refit]:
    """The one of a part, if it is back on."""
    event = next((e for e in reversed(part.events) if e.kind in ("removed", "refitted", "replaced", "scrapped")), None)
    if event is None or event.kind != "refitted":
        return
    if _on_purpose(part, event):
        yield Refit(part.id, "moved on purpose", (), event)
        return
    pairs, was_on = tuple(_pairs(book, part, event)), _was_on(book, part, event)
    word: Word = "not measured"
    if pairs or was_on:
        word = "off" if was_on or not all(pair.comparison.agree for pair in pairs) else "within"
    yield Refit(part.id, word, pairs, event, was_on)


def _on_purpose(part: Part, refit: Event) -> bool:
    return any(said.key == "moved" and said.when == refit.when and says_yes(said.text) for said in part.said)


def _was_on(book: Book, part: Part, refit: Event) -> str | None:
    """What it came off, where the refit names nothing of that and it is there still."""
    now = [host for said in part.every("on") if said.when == refit.when for host in said.parts]
    before = hosts_then(part, refit.when)
    stays = [host for host in before if book.state(host) not in ("scrapped", "cut")]
    return stays[0] if now and stays and set(now).isdisjoint(before) else None


def unsettled(book: Book, part: Part) -> Iterator[Pair]:
    """Of a part that was back in another place and is off again: nothing says which of the two is where it belongs."""
    refit = next((e for e in reversed(part.events) if e.kind in ("refitted", "replaced")), None)
    if refit and refit.kind == "refitted" and book.lives.is_off(part.id, book.now) and not _on_purpose(part, refit):
        yield from (pair for pair in _pairs(book, part, refit) if not pair.comparison.agree)


def _pairs(book: Book, part: Part, event: Event) -> Iterator[Pair]:
    """The newest reading of each thing since the refit beside the newest before it.

    What was read before the part was last put elsewhere on purpose, or may have been, says nothing of where it belongs.
    """
    before: dict[object, Reading] = {}
    after: dict[object, Reading] = {}
    moved = last_moved(part) or BEFORE_ALL
    for reading in book.readings_of(part.id):
        if reading.when >= moved and not reading.own and reading.relation and not reading.doubted:
            (before if reading.when < event.when else after)[_same_thing(reading)] = reading
    for thing, new in after.items():
        old = before.get(thing)
        comparison = compared(old, new) if old else None
        if old and comparison:
            yield Pair(old, new, comparison)


def _same_thing(reading: Reading) -> tuple[object, ...]:
    """What was read, on whichever self of the host."""
    a, b = reading.subject, reading.reference
    return (a and (a.words, a.rim), reading.relation, b and (b.owner, b.words, b.rim), reading.remark)
