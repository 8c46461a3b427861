"""What the public edition leaves out, worked out from the whole book. Where it is not clear whether something would
give a private thing away, it is left out."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from urllib.parse import unquote

from markdown_it.token import Token

from journal.ground.names import fold, words_of
from journal.ground.source import Span
from journal.model.album import without_ending
from journal.model.book import Book
from journal.model.entities import Day, Job, Moment, Order, Part, Photo, PlacedSlip, Reading, Treatment
from journal.model.naming import plain_name
from journal.model.places import Path, place_key
from journal.model.private import with_side
from journal.notes.naming import POSITION_WORDS
from journal.notes.records import Name
from journal.notes.slips import markdown
from journal.pages.erasing import Eraser, eraser
from journal.pages.words import say_date, short_date, spellings
from journal.read.settings import Private

WORD = re.compile(r"[^\s`'\"()<>\[\]|,;]+")
LEADS_UP = re.compile(r"^(?:\.{0,2}/)+")


@dataclass(frozen=True)
class Hidden:
    """What the public edition leaves out, worked out once from the whole book."""

    book: Book

    @cached_property
    def nothing(self) -> bool:
        """Whether nothing at all is private, neither in a slip nor by build.toml."""
        private = self.book.settings.private
        return private == Private() and not any(_says_private(slip) for slip in self._slips)

    @cached_property
    def _slips(self) -> tuple[PlacedSlip, ...]:
        return tuple(slip for day in self.book.days for note in day.notes for slip in note.slips)

    @cached_property
    def days(self) -> frozenset[date]:
        return frozenset(day.date for day in self.book.days if day.private)

    @cached_property
    def places(self) -> frozenset[Path]:
        """Their keys, with those of the places in them."""
        return frozenset(place_key(path) for path, place in self.book.places.items() if place.private)

    def place(self, path: Path) -> bool:
        """Whether it is, or may be: a last piece by itself can mean several, of which one is private."""
        key = place_key(path)
        return key in self.places or (path not in self.book.places and any(key == p[-1:] for p in self.places))

    def said(self, when: Moment, private: bool) -> bool:
        """Whether what was said then, in a slip that is private or not, is left out."""
        return private or when.day in self.days

    # --- parts

    @cached_property
    def parts(self) -> frozenset[str]:
        """Private ones, and those that no public words name."""
        return self._private_parts | (self.book.parts.keys() - self._named.keys())

    @cached_property
    def _private_parts(self) -> frozenset[str]:
        parts = self.book.parts.values()
        return frozenset(part.id for part in parts if part.private or self.place(self.book.place_of(part.id)))

    def _is_private(self, placed: PlacedSlip, parts: frozenset[str]) -> bool:
        """Whether a slip is, or is about nothing but private things, where these parts are."""
        slip = placed.slip
        if self.said(placed.when, _says_private(placed)) or parts.intersection(placed.parts):
            return True
        if slip.kind in ("job", "done"):
            return self._is_about_private(self._jobs_by_name[fold(slip.about)], parts)
        if slip.kind in ("ordered", "arrived"):
            return self._is_for_private(self._orders_by_name[fold(slip.about)], parts)
        treatments = self._treatments.get(placed.when, ())
        return bool(treatments) and all(self._hides(treatment, parts) for treatment in treatments)

    @cached_property
    def _named(self) -> Mapping[str, tuple[Moment, Span]]:
        """Where a public slip first names a part, by its own name or one that is said in public to be its own."""
        found: dict[str, tuple[Moment, Span]] = {}
        for placed in self._slips:
            if not self._is_private(placed, self._private_parts):
                for part, span in self._named_in(placed):
                    found.setdefault(part, (placed.when, span))
        return found

    def first_told(self, part: Part) -> tuple[Moment, Span]:
        """When and where a part is first named in public; where the whole book has it, if that is nowhere."""
        first = (part.named, part.first)
        return self._named.get(part.id, first) if self.in_notes(part.first) else first

    def _named_in(self, placed: PlacedSlip) -> Iterator[tuple[str, Span]]:
        for name, parts in placed.names:
            yield from ((part, name.span) for part in parts if not self._is_secret_name(name, part))
        for reading in (self.book.readings[id] for id in placed.readings):
            yield from ((part, reading.span) for part in self._referred_to(reading))

    def _is_secret_name(self, name: Name, part: str) -> bool:
        """Whether only private slips say that this is another name of the part."""
        secret, told = self._other_names.get(part, (frozenset(), frozenset()))
        return bool(secret) and plain_name(name.words) in secret - told

    @cached_property
    def _other_names(self) -> dict[str, tuple[frozenset[str], frozenset[str]]]:
        """What else parts are called, in private and in public."""
        found = {}
        for part in self.book.parts.values():
            if called := part.every("also called"):
                names: dict[bool, set[str]] = {True: set(), False: set()}
                for said in called:
                    private = self.said(said.when, said.private)
                    names[private].update(plain_name(item.split(",")[0]) for item in said.items)
                found[part.id] = frozenset(names[True]), frozenset(names[False])
        return found

    def _referred_to(self, reading: Reading) -> Iterator[str]:
        """The part a reading refers to, where its name is written beside the features: `rear end of panel`."""
        owner = reading.reference.owner if reading.reference else None
        if owner:
            written = Counter(words_of(reading.text))
            for feature in filter(None, (reading.subject, reading.reference)):
                written -= Counter(words_of(feature.words))
            _, told = self._other_names.get(owner, (frozenset(), frozenset()))
            names = [self.book.parts[owner].name, *told]
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

    # --- work

    @cached_property
    def jobs(self) -> frozenset[str]:
        """Private ones, and those that are about nothing but private parts and places."""
        jobs = self.book.jobs.values()
        return frozenset(
            job.id for job in jobs if self.said(job.when, job.private) or self._is_about_private(job, self.parts)
        )

    @cached_property
    def orders(self) -> frozenset[str]:
        """Private ones, and those for nothing but private parts and jobs."""
        orders = self.book.orders.values()
        return frozenset(o.id for o in orders if self.said(o.when, o.private) or self._is_for_private(o, self.parts))

    def _is_about_private(self, job: Job, parts: frozenset[str]) -> bool:
        about = [part in parts for part in (*job.parts, *job.cuts)]
        about += [self.place(job.place)] if job.place else []
        return bool(about) and all(about)

    def _is_for_private(self, order: Order, parts: frozenset[str]) -> bool:
        jobs = (self.book.jobs[job] for job in order.for_jobs)
        meant = [part in parts for part in order.for_parts]
        meant += [self.said(job.when, job.private) or self._is_about_private(job, parts) for job in jobs]
        return bool(meant) and all(meant)

    @cached_property
    def _jobs_by_name(self) -> dict[str, Job]:
        return {fold(job.name): job for job in self.book.jobs.values()}

    @cached_property
    def _orders_by_name(self) -> dict[str, Order]:
        return {fold(order.name): order for order in self.book.orders.values()}

    @cached_property
    def _treatments(self) -> dict[Moment, list[Treatment]]:
        """Treatments by the moment of their slip."""
        found: dict[Moment, list[Treatment]] = {}
        for treatment in self.book.treatments:
            found.setdefault(treatment.when, []).append(treatment)
        return found

    def treatment(self, treatment: Treatment) -> bool:
        """Whether it is left out."""
        return self._hides(treatment, self.parts)

    def _hides(self, treatment: Treatment, parts: frozenset[str]) -> bool:
        said = self.said(treatment.when, treatment.private)
        return said or treatment.part in parts or self.place(treatment.place)

    # --- pictures

    @cached_property
    def photos(self) -> frozenset[str]:
        """Private ones, those of private days, those that show a private part, and those that only private words
        name."""
        return frozenset(photo.key for photo in self.book.photos.values() if self._hides_photo(photo))

    def _hides_photo(self, photo: Photo) -> bool:
        known = photo.private or photo.day in self.days or bool(self.parts.intersection(photo.shows))
        return known or without_ending(photo.key) in self._named_in_private

    @cached_property
    def _named_in_private(self) -> frozenset[str]:
        """Pictures, less their endings, that private slips name, and no public words do."""
        secret, told = set[str](), set[str]()
        for placed in self._slips:
            if self._is_private(placed, self.parts):
                secret.update(placed.photos, self._pictured(markdown().parse(placed.slip.body), placed.when.day))
            else:
                told.update(placed.photos)
        for day in self.book.days if secret else ():
            if not day.private:
                told.update(key for note in day.notes for key in self._pictured(note.note.tokens, day.date))
        return frozenset(map(without_ending, secret)) - frozenset(map(without_ending, told))

    def _pictured(self, tokens: Iterable[Token], on: date) -> Iterator[str]:
        """The pictures that Markdown of a day shows, leads to, or names with their endings."""
        for token in tokens:
            if token.type == "inline":
                addresses = [str(c.attrs.get("src") or c.attrs.get("href") or "") for c in token.children or ()]
                names = [*map(unquote, addresses), *(word for word in WORD.findall(token.content) if "." in word)]
                for name in map(_file_name, names):
                    known = self._keys_by_name.get((on, name)) or self._keys_by_name.get((None, name))
                    if known:
                        yield known

    @cached_property
    def _keys_by_name(self) -> dict[tuple[date | None, str], str]:
        """Pictures by each name they have in a note of their day, and by their folder and name in any."""
        names: dict[tuple[date | None, str], str] = {(None, key.casefold()): key for key in self.book.photos}
        for key, photo in self.book.photos.items():
            for name in spellings(key):
                names.setdefault((photo.day, name), key)
        return names

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
                    if _says_private(p)
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
        return _file_name(name) in self._picture_names.get(on, ())

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
        for placed in self._slips:
            views = {(photo, part) for photo in placed.photos for part in placed.parts}
            (secret if self.slip(placed) else told).update(views)
        slips = {p.key for p in self.book.photos.values() if p.caption or p.lines or p.off_the_machine}
        return frozenset(view for view in secret - told if view[0] not in slips)

    # --- words

    def eraser(self, told: Book) -> Eraser | None:
        """A function that takes private names out of any text of the public book; None where there is none to take."""
        if self.nothing:
            return None
        anywhere = [name.strip() for name in self.book.settings.private.names if name.strip()]
        whole = [*self._part_names(), *self._place_names()]
        whole += [self.book.photos[key].name.rpartition(".")[0] or key for key in self.photos]
        whole += [text for day in self.book.days if day.private for text in self._day_names(day)]
        whole += [self.book.jobs[job].name for job in self.jobs]
        whole += [self.book.orders[order].name for order in self.orders]
        return eraser(anywhere, whole, _things(told))

    def _part_names(self) -> Iterator[str]:
        """Names of private parts with their sides; without one where no public part is called so."""
        public = {fold(part.name) for part in self.book.parts.values() if part.id not in self.parts}
        for part in (self.book.parts[id] for id in self.parts):
            yield from with_side(part.name, part.side)
            yield from part.also_called
            if fold(part.name) not in public:
                yield part.name

    def _place_names(self) -> Iterator[str]:
        """Paths of private places; their last pieces too where no public thing is called so, nor a side."""
        public = {fold(part.name) for part in self.book.parts.values() if part.id not in self.parts}
        public |= {place_key(path)[-1] for path in self.book.places if not self.place(path)}
        public |= {*POSITION_WORDS, *map(fold, self.book.settings.sides)}
        for path in (path for path in self.book.places if self.place(path)):
            yield " / ".join(path)
            if fold(path[-1]) not in public:
                yield path[-1]

    def _day_names(self, day: Day) -> Iterator[str]:
        """A day as people write it; without its year where no other year of the build has that day."""
        yield from (day.date.isoformat(), say_date(day.date), *day.folders)
        if all((day.date.month, day.date.day) != (d.date.month, d.date.day) for d in self.book.days if not d.private):
            number, month, _ = say_date(day.date).split()
            yield from (f"{number} {month}", f"{month} {number}", short_date(day.date))


def _things(book: Book) -> Iterator[str]:
    """What is told apart in a book by nothing but its name."""
    yield from (part.name for part in book.parts.values())
    yield from (job.name for job in book.jobs.values())
    yield from (order.name for order in book.orders.values())
    yield from (photo.name for photo in book.photos.values())
    yield from (piece for path in book.places for piece in path)
    for reading in book.readings.values():
        yield from (feature.name for feature in (reading.subject, reading.reference) if feature)
        yield reading.dimension


def _says_private(placed: PlacedSlip) -> bool:
    return placed.slip.private or placed.slip.kind == "private"


def _file_name(written: str) -> str:
    """The name of a picture as somebody wrote it, less what leads up to the folder of its day."""
    return LEADS_UP.sub("", written.strip()).rstrip(".:!?").casefold()
