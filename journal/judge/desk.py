"""What a check may look at: the book, and what the judges before it found."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from journal.ground.finding import Finding
from journal.ground.names import fold
from journal.ground.source import Span
from journal.judge.positions import Solver
from journal.judge.record import Recorder
from journal.judge.verdicts import Record
from journal.model.book import Book
from journal.model.entities import Part


@dataclass(frozen=True)
class Desk:
    """What a check may look at."""

    book: Book
    recorder: Recorder
    records: dict[str, Record]
    solver: Solver

    def record(self, part: str) -> Record:
        return self.records[part]

    def asked(self) -> Iterator[Part]:
        """Parts whose place is wanted, in the order they were first named."""
        return (part for part in self.book.parts.values() if self.records[part.id].asked)

    @cached_property
    def other_side(self) -> dict[str, str]:
        """For each part of a side the one of the same name on the other."""
        by_name: dict[str, list[Part]] = {}
        for part in self.book.parts.values():
            if part.side:
                by_name.setdefault(fold(part.name), []).append(part)
        pairs = [pair for pair in by_name.values() if len(pair) == 2]
        return {one.id: other.id for pair in pairs for one, other in (pair, reversed(pair))}


Check = Callable[[Desk], Iterable[Finding]]


def taken_off(book: Book, part: Part) -> Span:
    """The first line of the slip that took the part off, else of the slip that first names it."""
    event = book.lives.came_off(part.id, book.now)
    return event.span if event else part.first
