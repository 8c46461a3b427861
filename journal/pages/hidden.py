"""What the public edition leaves out, worked out from the whole book. Where it is not clear whether something would
give a private thing away, it is left out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from journal.ground.source import Span
from journal.model.book import Book
from journal.model.entities import Day, Moment, Part, PlacedSlip, Reading
from journal.pages.erasing import Eraser, eraser
from journal.pages.words import say_date, spellings


@dataclass(frozen=True)
class Hidden:
    """What the public edition leaves out, worked out once from the whole book."""

    book: Book

    @cached_property
    def days(self) -> frozenset[date]:
        return frozenset(day.date for day in self.book.days if day.private)

    @cached_property
    def places(self) -> tuple[tuple[str, ...], ...]:
        pieces = (place.split("/") for place in self.book.settings.private.places)
        return tuple(tuple(piece.strip().casefold() for piece in path) for path in pieces)

    def place(self, path: tuple[str, ...]) -> bool:
        folded = tuple(piece.casefold() for piece in path)
        return any(folded[: len(private)] == private for private in self.places)

    def said(self, when: Moment, private: bool) -> bool:
        """Whether what was said then, in a slip that is private or not, is left out."""
        return private or when.day in self.days

    @cached_property
    def parts(self) -> frozenset[str]:
        return frozenset(part.id for part in self.book.parts.values() if self._hides(part))

    def _hides(self, part: Part) -> bool:
        if part.private or self.place(self.book.place_of(part.id)):
            return True
        return self.in_notes(part.first) and not self._named_in_public(part)

    def _named_in_public(self, part: Part) -> bool:
        return next(self._told_of(part), None) is not None

    def first_told(self, part: Part) -> tuple[Moment, Span]:
        """When and where a part is first named in public; where the whole book has it, if that is nowhere."""
        if not self.in_notes(part.first):
            return part.named, part.first
        return min(self._told_of(part), key=lambda told: told[0], default=(part.named, part.first))

    def _told_of(self, part: Part) -> Iterator[tuple[Moment, Span]]:
        """Whatever names a part in public."""
        book = self.book
        told = [(said.when, said.private, said.span) for said in part.said]
        told += [(event.when, event.private, event.span) for event in part.events]
        told += [(r.when, r.private, r.span) for r in (*book.readings_of(part.id), *book.readings_from(part.id))]
        told += [(s.when, s.private, s.span) for child in book.children(part.id) for s in book.parts[child].said]
        return ((when, span) for when, private, span in told if not self.said(when, private))

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
        if placed.slip.private or placed.slip.kind == "private" or placed.when.day in self.days:
            return True
        about_photo = placed.slip.kind == "photo" and self.picture(placed.slip.about, placed.when.day)
        return about_photo or bool(self.parts.intersection(placed.parts))

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
        return eraser(anywhere, whole)


def _day_names(day: Day) -> Iterable[str]:
    return (day.date.isoformat(), say_date(day.date), *day.folders)
