"""What the public edition leaves out, worked out from the whole book. Where it is not clear whether something would
give a private thing away, it is left out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from journal.ground.names import fold, words_of
from journal.ground.source import Span
from journal.model.book import Book
from journal.model.entities import Day, Moment, Part, PlacedSlip, Reading
from journal.model.places import place_key
from journal.notes.records import Name
from journal.pages.erasing import Eraser, eraser
from journal.pages.words import say_date, spellings
from journal.read.settings import split_place


@dataclass(frozen=True)
class Hidden:
    """What the public edition leaves out, worked out once from the whole book."""

    book: Book

    @cached_property
    def days(self) -> frozenset[date]:
        return frozenset(day.date for day in self.book.days if day.private)

    @cached_property
    def places(self) -> tuple[tuple[str, ...], ...]:
        return tuple(path for place in self.book.settings.private.places if (path := split_place(place)))

    def place(self, path: tuple[str, ...]) -> bool:
        key = place_key(path)
        return any(key[: len(private)] == place_key(private) for private in self.places)

    def said(self, when: Moment, private: bool) -> bool:
        """Whether what was said then, in a slip that is private or not, is left out."""
        return private or when.day in self.days

    @cached_property
    def parts(self) -> frozenset[str]:
        """Private ones, and those whose own name stands in no public words."""
        return self._private_parts | (self.book.parts.keys() - self._named.keys())

    @cached_property
    def _private_parts(self) -> frozenset[str]:
        parts = self.book.parts.values()
        return frozenset(part.id for part in parts if part.private or self.place(self.book.place_of(part.id)))

    @cached_property
    def _public_slips(self) -> tuple[PlacedSlip, ...]:
        """Those that are not private, nor about a private part."""
        slips = (slip for day in self.book.days for note in day.notes for slip in note.slips)
        return tuple(slip for slip in slips if not self._is_private(slip, self._private_parts))

    def _is_private(self, placed: PlacedSlip, parts: frozenset[str]) -> bool:
        said = self.said(placed.when, placed.slip.private or placed.slip.kind == "private")
        return said or bool(parts.intersection(placed.parts))

    @cached_property
    def _named(self) -> Mapping[str, tuple[Moment, Span]]:
        """Where a public slip first writes a part's own name, or one that is said in public to be its own."""
        found: dict[str, tuple[Moment, Span]] = {}
        for placed in self._public_slips:
            for part, span in self._named_in(placed):
                found.setdefault(part, (placed.when, span))
        return found

    def first_told(self, part: Part) -> tuple[Moment, Span]:
        """When and where a part is first named in public; where the whole book has it, if that is nowhere."""
        first = (part.named, part.first)
        return self._named.get(part.id, first) if self.in_notes(part.first) else first

    def _named_in(self, placed: PlacedSlip) -> Iterator[tuple[str, Span]]:
        slip = placed.slip
        about = slip.name.sides if slip.name else ()
        names = (name for entry in slip.entries for name in entry.names)
        for name in (*((slip.name,) if slip.name else ()), *names):
            yield from ((part, name.span) for part in self._called(name, about))
        for reading in (self.book.readings[id] for id in placed.readings):
            yield from ((part, reading.span) for part in self._referred_to(reading))

    def _called(self, name: Name, about: tuple[str, ...]) -> Iterator[str]:
        """Parts of a name; without a side, that of the part it is said about counts, or the only one there is."""
        known = (*self.book.named(name.words), *self.book.named(self._other_names.get(fold(name.words), "")))
        for part in known:
            sides = name.sides or ("", *about)
            if part.side in sides or (not name.sides and len(self.book.named(part.name)) == 1):
                yield part.id

    @cached_property
    def _other_names(self) -> dict[str, str]:
        """Other names of parts to their own, where a public slip says both."""
        slips = (placed.slip for placed in self._public_slips)
        return {
            fold(other.split(",")[0]): slip.name.words
            for slip in slips
            if slip.name
            for entry in slip.all("also called")
            for other in entry.items
        }

    def _referred_to(self, reading: Reading) -> Iterator[str]:
        """The part a reading refers to, where its name is written beside the features: `rear end of panel`."""
        owner = reading.reference.owner if reading.reference else None
        if owner:
            written = Counter(words_of(reading.text))
            for feature in filter(None, (reading.subject, reading.reference)):
                written -= Counter(words_of(feature.words))
            name = self.book.parts[owner].name
            names = [name, *(other for other, own in self._other_names.items() if fold(own) == fold(name))]
            if any(Counter(words_of(each)) <= written for each in names):
                yield owner

    def secret_hosts(self, part: Part) -> frozenset[str]:
        """Hosts that only private slips give a part."""
        return self._secret_hosts.get(part.id, frozenset())

    @cached_property
    def _secret_hosts(self) -> dict[str, frozenset[str]]:
        found = {}
        for part in self.book.parts.values():
            hosts = part.every("from", "on")
            secret = {host for said in hosts if self.said(said.when, said.private) for host in said.parts}
            if secret:
                told = {host for said in hosts if not self.said(said.when, said.private) for host in said.parts}
                found[part.id] = frozenset(secret - told)
        return found

    @cached_property
    def photos(self) -> frozenset[str]:
        """Private ones, those of private days, and those that show a private part."""
        return frozenset(
            photo.key
            for photo in self.book.photos.values()
            if photo.private or photo.day in self.days or self.parts.intersection(photo.shows)
        )

    @cached_property
    def readings(self) -> frozenset[str]:
        return frozenset(reading.id for reading in self.book.readings.values() if self._hides_reading(reading))

    def _hides_reading(self, reading: Reading) -> bool:
        ends = {f.owner for f in (reading.subject, reading.reference) if f} | {reading.part, reading.host}
        secret = self.parts | self._secret_hosts.get(reading.part, frozenset())
        return self.said(reading.when, reading.private) or bool(ends & secret) or self.place(reading.place)

    @cached_property
    def _lines(self) -> dict[str, list[range]]:
        """The lines of private slips and private days, by file."""
        found: dict[str, list[range]] = {}
        for day in self.book.days:
            for note in day.notes:
                whole = [range(10**9)] if day.private else []
                found[note.note.file] = whole + [
                    range(p.slip.span.line, max(p.slip.end_line, p.slip.span.line) + 1)
                    for p in note.slips
                    if p.slip.private or p.slip.kind == "private"
                ]
        return found

    def in_notes(self, span: Span) -> bool:
        """Whether a place in the notes lies in something private."""
        return any(span.line in lines for lines in self._lines.get(span.file, ()))

    def slip(self, placed: PlacedSlip) -> bool:
        """Whether the whole slip is left out."""
        about = placed.photos if placed.slip.kind == "photo" else ()
        return not self.photos.isdisjoint(about) or self._is_private(placed, self.parts)

    def picture(self, name: str, on: date) -> bool:
        """Whether a picture, as a note of that day names it, is left out."""
        return name.strip().removeprefix("./").casefold() in self._picture_names.get(on, ())

    @cached_property
    def _picture_names(self) -> dict[date, set[str]]:
        names: dict[date, set[str]] = {day.date: set(self.photos_by_folder) for day in self.book.days}
        for key in self.photos:
            names.setdefault(self.book.photos[key].day, set()).update(spellings(key))
        return names

    @cached_property
    def photos_by_folder(self) -> frozenset[str]:
        return frozenset(key.casefold() for key in self.photos)

    @cached_property
    def secret_views(self) -> frozenset[tuple[str, str]]:
        """(picture, part) where only private slips say that the one shows the other."""
        secret, told = set[tuple[str, str]](), set[tuple[str, str]]()
        for placed in (slip for day in self.book.days for note in day.notes for slip in note.slips):
            views = {(photo, part) for photo in placed.photos for part in placed.parts}
            (secret if self.slip(placed) else told).update(views)
        slips = {p.key for p in self.book.photos.values() if p.caption or p.lines or p.off_the_machine}
        return frozenset(view for view in secret - told if view[0] not in slips)

    def eraser(self) -> Eraser | None:
        """A function that takes private names out of any text; None where there is no name to take out."""
        private = self.book.settings.private
        anywhere = [name.strip() for name in private.names if name.strip()]
        whole = [self.book.parts[part].title for part in self.parts]
        whole += [name for part in self.parts for name in self.book.parts[part].also_called]
        whole += [self.book.photos[key].name.rpartition(".")[0] or key for key in self.photos]
        whole += [text for day in self.book.days if day.private for text in _day_names(day)]
        whole += [" / ".join(path) for path in self.places]
        whole += [job.name for job in self.book.jobs.values() if self.said(job.when, job.private)]
        whole += [order.name for order in self.book.orders.values() if self.said(order.when, order.private)]
        return eraser(anywhere, whole)


def _day_names(day: Day) -> Iterable[str]:
    return (day.date.isoformat(), say_date(day.date), *day.folders)
