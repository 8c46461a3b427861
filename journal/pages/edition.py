"""The two editions. The public one is a smaller book: what is private is taken out once, before anything is made.

Pages, data files, feeds and the search index are all made from the book that `reduced` gives back, so nothing
private can reach them. Where it is not clear whether something would give a private thing away it is left out.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields, is_dataclass, replace
from datetime import date
from functools import cached_property
from typing import Any, Literal, TypeVar
from urllib.parse import quote

from journal.ground.finding import Finding
from journal.ground.source import Span
from journal.judge.verdicts import Judgement, Record
from journal.model.book import Book
from journal.model.entities import (
    Day,
    DayNote,
    Entities,
    Job,
    Moment,
    Order,
    Part,
    Photo,
    Place,
    PlacedSlip,
    Reading,
    Said,
    State,
    Treatment,
)
from journal.notes.kinds import KEYS_OF
from journal.pages.words import say_date, spellings
from journal.read.settings import Private

Edition = Literal["public", "shop"]
T = TypeVar("T")

NEVER_PUBLIC = frozenset(key.name for keys in KEYS_OF.values() for key in keys.values() if key.private) | {
    "bought from",
    "template",  # it tells where the pattern hangs
    "private",
}
OFF: frozenset[State] = frozenset({"off", "off with its host", "scrapped", "cut", "back on with its host off"})

# What a follower is told; everything else is for whoever writes the notes, and quotes them.
TOLD_IN_PUBLIC = frozenset(
    {
        "no-position", "seen-not-measured", "partly-recorded", "reference-gone", "not-moved-over", "no-route",
        "lost-with-host", "host-going", "disagree", "new-one-differs", "out-of-want", "sides-differ", "weak-turn",
        "two-spots", "suspect-measurement",
    }
)  # fmt: skip


def reduced(book: Book, judgement: Judgement, edition: Edition) -> tuple[Book, Judgement]:
    """The book and the verdicts as the edition may show them; the shop's are whole."""
    if edition == "shop":
        return book, judgement
    hidden = Hidden(book)
    entities = _entities(book.entities, hidden)
    smaller = replace(book, entities=entities, settings=replace(book.settings, private=Private()))
    verdicts = _judgement(judgement, smaller, hidden)
    erase = hidden.eraser()
    if erase is None:
        return smaller, verdicts
    clean = replace(smaller, entities=scrubbed(entities, erase), settings=scrubbed(smaller.settings, erase))
    return clean, scrubbed(verdicts, erase)


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
        told = [(said.when, said.private) for said in part.said] + [(e.when, e.private) for e in part.events]
        told += [(r.when, r.private) for r in self.book.readings_of(part.id)]
        told += [(r.when, r.private) for r in self.book.readings_from(part.id)]
        told += [(s.when, s.private) for p in self.book.children(part.id) for s in self.book.parts[p].said]
        return any(not self.said(when, private) for when, private in told)

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
        return self.said(reading.when, reading.private) or bool(ends & self.parts) or self.place(reading.place)

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
        about_photo = placed.slip.kind == "photo" and placed.slip.about.strip().casefold() in self._photo_names
        return about_photo or bool(self.parts.intersection(placed.parts))

    @cached_property
    def _photo_names(self) -> frozenset[str]:
        return frozenset(name for key in self.photos for name in spellings(key))

    def eraser(self) -> Callable[[str], str] | None:
        """A function that takes private names out of any text; None where there is no name to take out."""
        private = self.book.settings.private
        anywhere = [name.strip() for name in private.names if name.strip()]
        whole = [self.book.parts[part].title for part in self.parts]
        whole += [name for part in self.parts for name in self.book.parts[part].also_called]
        whole += [self.book.photos[key].name.rpartition(".")[0] or key for key in self.photos]
        whole += [text for day in self.book.days if day.private for text in _day_names(day)]
        whole += [" / ".join(path) for path in self.places]
        return _eraser(anywhere, whole)


def _day_names(day: Day) -> Iterable[str]:
    return (day.date.isoformat(), say_date(day.date), *day.folders)


def _eraser(anywhere: Iterable[str], whole: Iterable[str]) -> Callable[[str], str] | None:
    """Names found `anywhere` go even inside longer words; `whole` ones where they stand as words of their own."""
    patterns = [_spelt(name) for name in anywhere] + [rf"(?<!\w){_spelt(name)}(?!\w)" for name in whole if name]
    if not patterns:
        return None
    private = re.compile("|".join(sorted(set(patterns), key=lambda p: (-len(p), p))), re.I)

    def erase(text: str) -> str:
        gone = "left-out" if re.fullmatch(r"[a-z0-9/._#-]+", text) else "[left out]"
        return private.sub(gone, text)

    return erase


def _spelt(name: str) -> str:
    """The ways a name may stand in a text: with any spaces, as a slug, or as a web address spells it."""
    words = r"[\s\-_]+".join(re.escape(word) for word in name.split())
    slug = "-".join(re.escape(word) for word in re.findall(r"\w+", name.casefold()))
    return "(?:" + "|".join(dict.fromkeys((words, slug or words, re.escape(quote(name))))) + ")"


# --- the smaller book ----------------------------------------------------------------------------------------


def _entities(entities: Entities, hidden: Hidden) -> Entities:
    kept_parts = {p.id: _part(p, hidden) for p in entities.parts.values() if p.id not in hidden.parts}
    return Entities(
        parts=kept_parts,
        readings={
            r.id: replace(r, photos=_without(r.photos, hidden.photos))
            for r in entities.readings.values()
            if r.id not in hidden.readings
        },
        photos={p.key: _photo(p, hidden) for p in entities.photos.values() if p.key not in hidden.photos},
        places=_places(entities.places, kept_parts, hidden),
        days=tuple(_day(day, hidden) for day in entities.days if not day.private),
        jobs={j.id: _job(j, hidden) for j in entities.jobs.values() if not hidden.said(j.when, j.private)},
        orders={o.id: _order(o, hidden) for o in entities.orders.values() if not hidden.said(o.when, o.private)},
        treatments=tuple(t for t in entities.treatments if not _hides_treatment(t, hidden)),
    )


def _without(ids: tuple[str, ...], gone: frozenset[str]) -> tuple[str, ...]:
    return tuple(i for i in ids if i not in gone)


def _part(part: Part, hidden: Hidden) -> Part:
    events = (e for e in part.events if not hidden.said(e.when, e.private))
    return replace(
        part,
        hosts=_without(part.hosts, hidden.parts),
        said=tuple(_said(said, hidden) for said in part.said if _is_public(said, hidden)),
        events=tuple(replace(e, host=None if e.host in hidden.parts else e.host) for e in events),
        photos=_without(part.photos, hidden.photos),
    )


def _is_public(said: Said, hidden: Hidden) -> bool:
    return said.key not in NEVER_PUBLIC and not hidden.said(said.when, said.private)


def _said(said: Said, hidden: Hidden) -> Said:
    return replace(said, parts=_without(said.parts, hidden.parts))


def _photo(photo: Photo, hidden: Hidden) -> Photo:
    return replace(photo, lines=tuple(line for line in photo.lines if line.reading not in hidden.readings))


def _places(
    places: Mapping[tuple[str, ...], Place], parts: Mapping[str, Part], hidden: Hidden
) -> dict[tuple[str, ...], Place]:
    """Those that are not private and still hold something."""
    used = {part.place[:n] for part in parts.values() for n in range(1, len(part.place) + 1)}
    kept = {
        path: place
        for path, place in places.items()
        if not hidden.place(path) and (path in used or place.note or not place.parts)
    }
    ids = frozenset(place.id for place in kept.values())
    gone = frozenset(child for place in kept.values() for child in place.children) - ids
    return {
        path: replace(p, parts=_without(p.parts, hidden.parts), children=_without(p.children, gone))
        for path, p in kept.items()
    }


def _day(day: Day, hidden: Hidden) -> Day:
    notes = tuple(_note(note, hidden) for note in day.notes)
    return replace(day, notes=notes, photos=_without(day.photos, hidden.photos))


def _note(note: DayNote, hidden: Hidden) -> DayNote:
    """The note without its private slips: their blocks go, the others are numbered afresh."""
    kept = [n for n, placed in enumerate(note.slips) if not hidden.slip(placed)]
    number = {old: new for new, old in enumerate(kept)}
    tokens = []
    for token in note.note.tokens:
        slip = token.meta.get("slip")
        if slip is None:
            tokens.append(token)
        elif slip in number:
            tokens.append(token.copy(meta={**token.meta, "slip": number[slip]}, content=""))
    placed = tuple(_placed(note.slips[n], hidden) for n in kept)
    raw = replace(note.note, tokens=tuple(tokens), slips=tuple(p.slip for p in placed))
    return DayNote(raw, placed)


def _placed(placed: PlacedSlip, hidden: Hidden) -> PlacedSlip:
    lines = {hidden.book.readings[r].span.line for r in placed.readings}
    slip = replace(
        placed.slip,
        body="",
        entries=tuple(entry for entry in placed.slip.entries if entry.key not in NEVER_PUBLIC),
        statements=tuple(s for s in placed.slip.statements if s.span.line not in lines),
    )
    return replace(
        placed,
        slip=slip,
        readings=_without(placed.readings, hidden.readings),
        photos=_without(placed.photos, hidden.photos),
    )


def _job(job: Job, hidden: Hidden) -> Job:
    return replace(
        job,
        needs_parts=_without(job.needs_parts, hidden.parts),
        needs_orders=_without(job.needs_orders, _private_ids(hidden.book.orders, hidden)),
        needs_jobs=_without(job.needs_jobs, _private_ids(hidden.book.jobs, hidden)),
        before=_without(job.before, _private_ids(hidden.book.jobs, hidden)),
        cuts=_without(job.cuts, hidden.parts),
        parts=_without(job.parts, hidden.parts),
        place=() if hidden.place(job.place) else job.place,
    )


def _private_ids(things: Mapping[str, Any], hidden: Hidden) -> frozenset[str]:
    return frozenset(key for key, thing in things.items() if hidden.said(thing.when, thing.private))


def _order(order: Order, hidden: Hidden) -> Order:
    return replace(order, bought_from="", price="", for_parts=_without(order.for_parts, hidden.parts))


def _hides_treatment(treatment: Treatment, hidden: Hidden) -> bool:
    return (
        hidden.said(treatment.when, treatment.private)
        or treatment.part in hidden.parts
        or hidden.place(treatment.place)
    )


# --- the verdicts on it --------------------------------------------------------------------------------------


def _judgement(judgement: Judgement, smaller: Book, hidden: Hidden) -> Judgement:
    return replace(
        judgement,
        records={p: _record(r, smaller, hidden) for p, r in judgement.records.items() if p not in hidden.parts},
        standings={r: s for r, s in judgement.standings.items() if r not in hidden.readings},
        findings=tuple(f for f in (_finding(f, hidden) for f in judgement.findings) if f),
    )


def _record(record: Record, smaller: Book, hidden: Hidden) -> Record:
    """The verdict in the words of the public book; its sentences go where they could rest on something private."""
    state = smaller.state(record.part)
    asked = record.asked and state in OFF
    whole = hidden.book.parts[record.part]
    private = any(hidden.said(said.when, said.private) for said in whole.said) or any(
        reading.id in hidden.readings for reading in hidden.book.readings_of(record.part)
    )
    if private:
        return replace(record, state=state, asked=asked, grounds=(), free=(), next=())
    return replace(record, state=state, asked=asked)


def _finding(finding: Finding, hidden: Hidden) -> Finding | None:
    """The finding as a follower may read it; None where it is about something private or about the notes."""
    about_private = {finding.part, finding.host} & hidden.parts or finding.measurement in hidden.readings
    if finding.word not in TOLD_IN_PUBLIC or about_private or hidden.in_notes(finding.span):
        return None
    notes = tuple(n for n in finding.notes if n.span is None or not hidden.in_notes(n.span))
    return replace(finding, notes=notes)


# --- names ---------------------------------------------------------------------------------------------------

# Words of our own tables, never the writer's: a private name that happens to spell one must not break them.
OURS = frozenset({"kind", "key", "relation", "state", "word", "severity", "quantity", "unit", "shown", "located_by",
                  "carried", "type", "tag", "rim", "axis", "bound", "units", "language", "decimal", "sides", "theme",
                  "slip_kind", "method"})  # fmt: skip


def scrubbed(value: T, erase: Callable[[str], str]) -> T:
    """The same records with every text, key and id put through `erase`."""
    return _scrub(value, erase)  # type: ignore[no-any-return]  # a walk over anything gives back the same shape


def _scrub(value: Any, erase: Callable[[str], str]) -> Any:
    if isinstance(value, str):
        return erase(value)
    if isinstance(value, tuple):
        return tuple(_scrub(item, erase) for item in value)
    if isinstance(value, list):
        return [_scrub(item, erase) for item in value]
    if isinstance(value, Mapping):
        return {_scrub(key, erase): _scrub(item, erase) for key, item in value.items()}
    if is_dataclass(value) and not isinstance(value, type):
        return _scrub_record(value, erase)
    return value


def _scrub_record(record: Any, erase: Callable[[str], str]) -> Any:
    if getattr(record, "type", None) == "inline":
        record = _flattened(record, erase)
    changed = {}
    for field in fields(record):
        before = getattr(record, field.name)
        if field.init and field.name not in OURS:
            after = _scrub(before, erase)
            if after is not before and after != before:
                changed[field.name] = after
    return replace(record, **changed) if changed else record


def _flattened(inline: Any, erase: Callable[[str], str]) -> Any:
    """A line of Markdown as plain text where a private name runs across its emphasis or its line ends."""
    children = inline.children or []
    plain = "".join("\n" if c.type in ("softbreak", "hardbreak") else c.content for c in children)
    if erase(plain) == plain or not children or "".join(erase(c.content) for c in children) == erase(plain):
        return inline
    text = next((c for c in children if c.type == "text"), None)
    return inline if text is None else inline.copy(children=[text.copy(content=erase(plain), level=0)])
