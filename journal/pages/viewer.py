"""The small views that every page is put together from: links, figures, readings, pictures, rows, findings."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from journal.ground.finding import Finding, Note
from journal.ground.names import fold
from journal.ground.source import Span
from journal.judge.changes import Changed, changed_hosts
from journal.judge.face import CONTRADICTS, FAR_OUT, OVERTAKEN
from journal.judge.fixings import PartFixings, fixings_of
from journal.judge.plan import Plan, plan_of
from journal.judge.refits import Refit, refits
from journal.judge.treatments import Coat, coats
from journal.judge.verdicts import FacePosition, Judgement, Record, Standing
from journal.measure.value import Value, both
from journal.model.book import Book
from journal.model.entities import Job, Part, PhotoLine, Place, PlacedSlip
from journal.model.entities import Photo as PhotoEntity
from journal.model.entities import Reading as ReadingEntity
from journal.notes.kinds import KEYS_OF
from journal.pages import address, drawings, words
from journal.pages.edition import Edition
from journal.pages.face_readings import FaceReadings
from journal.pages.views import (
    Figure,
    FindingNote,
    FindingView,
    Link,
    Mark,
    Overlay,
    PartRow,
    Photo,
    Reading,
)

MIDDLE = 800  # the size an `img` names first; `srcset` holds the others
UNSHOWN = frozenset({"private", "line"})  # keys that a page has another place for
NAMES = frozenset(key.name for keys in KEYS_OF.values() for key in keys.values() if key.shape == "names")
LEFT_OUT = frozenset({OVERTAKEN, CONTRADICTS, FAR_OUT})  # why a reading pulls at nothing, told beside it


@dataclass(frozen=True)
class NoteLines:
    """Where the lines of a note stand on its day's page: its number there, and the lines that have an anchor."""

    day: date
    number: int
    lines: tuple[int, ...]
    ends: Mapping[int, int]


@dataclass(frozen=True)
class Viewer:
    """Book and verdicts, already those of the edition, as views."""

    book: Book
    judgement: Judgement
    edition: Edition

    @property
    def shop(self) -> bool:
        return self.edition == "shop"

    @cached_property
    def plan(self) -> Plan:
        """What to do next, of the book of this edition."""
        return plan_of(self.book, self.judgement.records)

    @cached_property
    def changed(self) -> dict[str, Changed]:
        """Hosts that are going or have changed, by id."""
        return {changed.host: changed for changed in changed_hosts(self.book, self.judgement.records)}

    @cached_property
    def fixings(self) -> Mapping[str, PartFixings]:
        """What holds each part, by id."""
        return {part.id: fixings_of(self.book, part) for part in self.book.parts.values()}

    @cached_property
    def treated(self) -> dict[str | None, list[Coat]]:
        """Treatments by part, oldest first."""
        found: dict[str | None, list[Coat]] = {}
        for coat in coats(self.book):
            found.setdefault(coat.treatment.part, []).append(coat)
        return found

    @cached_property
    def _best_pictures(self) -> dict[str, PhotoEntity]:
        best: dict[str, PhotoEntity] = {}
        for photo in self.book.photos.values():
            for part in photo.shows if photo.sizes else ():
                best[part] = max(best.get(part, photo), photo, key=lambda p: _shows_well(p, part))
        return best

    def best_picture(self, part_id: str) -> str | None:
        """The picture that shows best where a part goes: in place, else any; the newest of them."""
        found = self._best_pictures.get(part_id)
        return found.key if found else None

    @cached_property
    def job_cautions(self) -> dict[str, tuple[str, ...]]:
        """What the slips of each job say under `caution`."""
        said: dict[str, dict[str, None]] = {}
        for placed in (placed for day in self.book.days for note in day.notes for placed in note.slips):
            if placed.slip.kind in ("job", "done"):
                texts = (entry.value for entry in placed.slip.all("caution"))
                said.setdefault(fold(placed.slip.about), {}).update(dict.fromkeys(texts))
        return {job.id: tuple(said.get(fold(job.name), ())) for job in self.book.jobs.values()}

    # --- links

    def part(self, part_id: str) -> Link:
        return Link(self.book.parts[part_id].title, address.part(part_id))

    def known(self, part_id: str | None) -> Link | None:
        """The part's link, where the book of this edition has it."""
        return self.part(part_id) if part_id in self.book.parts and part_id else None

    def parts(self, part_ids: Iterable[str]) -> tuple[Link, ...]:
        return tuple(self.part(part_id) for part_id in dict.fromkeys(part_ids) if part_id in self.book.parts)

    def place(self, path: tuple[str, ...]) -> Link | None:
        place = self.book.places.get(path)
        return Link(words.path(path), address.place(place.id)) if place else None

    def place_by_id(self, place_id: str) -> Place | None:
        return self._places_by_id.get(place_id)

    @cached_property
    def _places_by_id(self) -> dict[str, Place]:
        return {place.id: place for place in self.book.places.values()}

    def inside(self, path: tuple[str, ...]) -> tuple[str, ...]:
        """Parts at a place and in the places within; those whose host alone says where they are included."""
        return tuple(self._parts_at.get(path, ()))

    @cached_property
    def _parts_at(self) -> dict[tuple[str, ...], list[str]]:
        found: dict[tuple[str, ...], list[str]] = {}
        for part in self.book.parts:
            path = self.book.place_of(part)
            for depth in range(1, len(path) + 1):
                found.setdefault(path[:depth], []).append(part)
        return found

    def day(self, on: date) -> Link:
        return Link(words.say_date(on), address.day(on))

    @cached_property
    def _days(self) -> frozenset[date]:
        return frozenset(day.date for day in self.book.days)

    # --- places in the notes

    @cached_property
    def _notes(self) -> dict[str, NoteLines]:
        return {
            note.note.file: NoteLines(day.date, number, tuple(self._anchored(note.slips)), _ends(note.slips))
            for day in self.book.days
            for number, note in enumerate(day.notes, 1)
        }

    def _anchored(self, slips: Iterable[PlacedSlip]) -> list[int]:
        lines: set[int] = set()
        for placed in slips:
            lines.add(placed.slip.span.line)
            lines.update(entry.span.line for entry in placed.slip.entries if entry.key not in UNSHOWN)
            lines.update(sentence.span.line for sentence in placed.slip.sentences)
            lines.update(statement.span.line for statement in placed.slip.statements)
            lines.update(self.book.readings[r].span.line for r in placed.readings)
        return sorted(lines)

    def anchor(self, span: Span) -> str:
        """The anchor of a line of a note on its day's page."""
        return self._line_anchor(self._notes[span.file], span.line)

    def _line_anchor(self, note: NoteLines, line: int) -> str:
        """By the line in the notes for who writes them; in public by its place among those that are shown."""
        return address.line_anchor(note.number, line if self.shop else bisect_right(note.lines, line))

    def note_url(self, span: Span) -> str:
        """The place on a day's page that shows a place in the notes; the nearest line above it in its slip, else
        the page; "" where no page shows the file."""
        note = self._notes.get(span.file)
        if note is None:
            return ""
        page = address.day(note.day)
        at = bisect_right(note.lines, span.line) - 1
        if at < 0 or note.ends.get(note.lines[at], 0) < span.line:
            return page
        return f"{page}#{self._line_anchor(note, note.lines[at])}"

    def source(self, span: Span) -> str:
        """`file:line` for whoever writes the notes; "" in the public edition."""
        if not self.shop:
            return ""
        return f"{span.file}:{span.line}" if span.line else span.file

    # --- figures and readings

    def figure(self, value: Value | None, written: str) -> Figure | None:
        """The value as written with its conversion; None for a contact."""
        if value is None:
            return Figure(written) if written else None
        shown, converted = both(value, "in" if self.book.settings.units == "in" else "mm")
        return Figure(shown, converted)

    def standing(self, reading_id: str) -> Standing:
        return self.judgement.standings[reading_id]

    def reading(self, reading_id: str) -> Reading:
        if reading_id not in self._readings:
            self._readings[reading_id] = self._reading(self.book.readings[reading_id])
        return self._readings[reading_id]

    @cached_property
    def _readings(self) -> dict[str, Reading]:
        return {}

    def _reading(self, entity: ReadingEntity) -> Reading:
        standing, what = self.standing(entity.id), self.what(entity)
        return Reading(
            id=entity.id,
            anchor=address.reading_anchor(entity.id),
            what=what,
            figure=self.figure(entity.value, entity.written),
            part=self.part(entity.part),
            host=self.known(entity.host),
            place=self.place(self.place_of(entity)),
            day=self.day(entity.when.day),
            date=entity.when.day,
            note=Link(f"note of {words.short_date(entity.when.day)}", self.note_url(entity.span)),
            photos=tuple(self.photo_link(key) for key in self.seen(entity.photos)),
            method=entity.method or "",
            from_=entity.taken_as,
            counts=standing.counts,
            lives=standing.lives,
            why=words.sentence(standing.why),
            remarks=tuple(self._remarks(entity)),
            today=words.capital(standing.today),
            own=entity.own or entity.reference is None,
            in_part=Link(what, address.reading(entity.part, entity.id)),
            sort=_number(entity.value),
            place_in_source=self.source(entity.span),
        )

    def readings_on(self, position: FacePosition) -> FaceReadings:
        """The readings that took part in the sum of a face, as far as the edition has them."""
        known = self._on_faces.get(id(position))
        if known is None:
            found = [self.book.readings[id] for id in position.residuals if id in self.book.readings]
            found.sort(key=lambda reading: (reading.when, reading.span.line, reading.id))
            known = self._on_faces[id(position)] = FaceReadings(position, found)
        return known

    @cached_property
    def _on_faces(self) -> dict[int, FaceReadings]:
        return {}

    def place_of(self, entity: ReadingEntity) -> tuple[str, ...]:
        """The place of a reading: its own, else its part's or host's."""
        return entity.place or self.book.place_of(entity.part)

    def what(self, entity: ReadingEntity) -> str:
        """The left side of a reading as it is said: `hole edge to web`, `foot length`, `hole to hole of OTHER PART`."""
        subject = entity.subject.name if entity.subject else ""
        if not entity.relation:
            return f"{subject} {entity.dimension}".strip() or entity.text
        reference = entity.reference
        if reference is None:
            return f"{subject} {entity.relation} {entity.taken_as}".strip()
        other = reference.owner in self.book.parts and reference.owner not in (entity.part, entity.host)
        whose = f" of {self.book.title(reference.owner)}" if other and reference.name else ""
        name = reference.name or self.book.title(reference.owner)
        return f"{subject} {entity.relation} {name}{whose}".strip()

    def _remarks(self, entity: ReadingEntity) -> Iterable[str]:
        if entity.want:
            wanted = self.figure(entity.want, entity.want.written)
            yield f"Wanted: {wanted.written if wanted else entity.want.written}"
        if entity.which:
            either = f"Can be read in two ways; the other one: {entity.which}"
            yield either if entity.own else f"Holds nothing: {entity.which}"
        if entity.in_doubt:
            yield "In doubt"
        if entity.from_memory:
            yield "From memory"
        if entity.remark:
            yield words.capital(entity.remark)
        if entity.id in self._misfits:
            yield self._misfits[entity.id]

    @cached_property
    def unrecorded(self) -> dict[str, tuple[str, ...]]:
        """Of each host that is going the parts whose place is lost with it, as its warning names them; "" for what is
        no part of this edition."""
        by_title = {self.book.title(part): part for part in self.book.parts}
        return {
            finding.host: tuple(by_title.get(note.message.partition(":")[0], "") for note in finding.notes)
            for finding in self.judgement.findings
            if finding.word == "host-going" and finding.host
        }

    def lost_by(self, job: Job) -> tuple[Link, ...]:
        """Parts whose place is lost with what a job cuts."""
        return self.parts(part for host in job.cuts for part in self.unrecorded.get(host, ()))

    @cached_property
    def _misfits(self) -> dict[str, str]:
        """What is to be said of readings that were left out because of what the others of their face say."""
        found: dict[str, str] = {}
        for position in self.judgement.positions:
            found |= dict.fromkeys(position.across, "Fits only on the other side of that line than all else")
            found |= dict.fromkeys(position.suspects, "Does not fit the other readings")
            left_out = {id: why for id, why in position.rejected.items() if why in LEFT_OUT}
            found |= {id: words.capital(why) for id, why in left_out.items()}
        return found

    # --- pictures

    @cached_property
    def _photo_numbers(self) -> dict[str, int]:
        return {key: number for day in self.book.days for number, key in enumerate(day.photos, 1)}

    def seen(self, keys: Iterable[str]) -> list[str]:
        """Those of the pictures that the book has, each once."""
        return [key for key in dict.fromkeys(keys) if key in self._photo_numbers]

    def photo_url(self, key: str) -> str:
        """A picture on its day's page."""
        return f"{address.day(self.book.photos[key].day)}#{address.photo_anchor(self._photo_numbers[key])}"

    def pictures_of(self, part_id: str) -> list[str]:
        """Keys of the pictures of a part: in place first, then on the bench, each in order of time."""
        return self._pictures_by_part.get(part_id, [])

    @cached_property
    def _pictures_by_part(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        order = sorted(self.book.photos.values(), key=lambda p: (p.off_the_machine, p.day, p.order, p.key))
        for photo in order:
            for part in photo.shows:
                found.setdefault(part, []).append(photo.key)
        return found

    def photo_link(self, key: str) -> Link:
        """A picture by its name without the ending, as people say it."""
        name = self.book.photos[key].name
        return Link(name.rpartition(".")[0] or name, self.photo_url(key))

    def photo(self, key: str) -> Photo:
        if key not in self._photos:
            self._photos[key] = self._photo(self.book.photos[key])
        return self._photos[key]

    def photos(self, keys: Iterable[str]) -> tuple[Photo, ...]:
        return tuple(self.photo(key) for key in self.seen(keys))

    @cached_property
    def _photos(self) -> dict[str, Photo]:
        return {}

    def _photo(self, entity: PhotoEntity) -> Photo:
        sizes = tuple((size.path, size.width) for size in entity.sizes)
        middle = next((size for size in entity.sizes if max(size.width, size.height) >= MIDDLE), None)
        shown = middle or (entity.sizes[-1] if entity.sizes else None)
        return Photo(
            key=entity.key,
            name=entity.name,
            url=self.photo_url(entity.key),
            anchor=address.photo_anchor(self._photo_numbers[entity.key]),
            alt=self._alt(entity),
            caption=entity.caption,
            day=entity.day,
            src=shown.path if shown else "",
            sizes=sizes,
            large=sizes[-1][0] if sizes else "",
            width=entity.width,
            height=entity.height,
            parts=self.parts(entity.shows),
            overlays=self._overlays(entity) if sizes else (),
            stroke=drawings.stroke(entity.width, entity.height),
            letter=drawings.letter(entity.width, entity.height),
        )

    def _alt(self, entity: PhotoEntity) -> str:
        shown = words.listed(link.text for link in self.parts(entity.shows))
        told = [entity.caption or (f"Picture of {shown}" if shown else f"Picture {entity.name}")]
        told += [f"{overlay.text}: {overlay.figure}" for overlay in self._figures(entity)]
        return "; ".join(told)

    def _figures(self, entity: PhotoEntity) -> list[Overlay]:
        lines = [self._overlay(line, entity) for line in entity.lines] if entity.sizes else []
        return [line for line in lines if line.figure]

    def _overlays(self, entity: PhotoEntity) -> tuple[Overlay, ...]:
        drawn = [self._overlay(line, entity) for line in entity.lines]
        return drawings.spread(drawn, entity.width, entity.height)

    def _overlay(self, line: PhotoLine, entity: PhotoEntity) -> Overlay:
        reading = self.book.readings.get(line.reading) if line.reading else None
        if reading is None:
            return drawings.overlay(line, entity.width, entity.height)
        figure = self.figure(reading.value, reading.written)
        url = address.reading(reading.part, reading.id)
        return drawings.overlay(line, entity.width, entity.height, figure.written if figure else "", url)

    # --- parts

    def behind(self, part_id: str) -> list[str]:
        """The parts that sit behind one: they came off after it and go back before it."""
        return self._behind.get(part_id, [])

    @cached_property
    def _behind(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for part in self.book.parts.values():
            for front in dict.fromkeys(other for said in part.every("behind") for other in said.parts):
                found.setdefault(front, []).append(part.id)
        return found

    def record(self, part_id: str) -> Record | None:
        """The verdict on a part where its record is wanted, else None."""
        record = self.judgement.records.get(part_id)
        return record if record and record.asked else None

    def row(self, part_id: str) -> PartRow:
        if part_id not in self._rows:
            self._rows[part_id] = self._row(part_id)
        return self._rows[part_id]

    @cached_property
    def _rows(self) -> dict[str, PartRow]:
        return {}

    def _row(self, part_id: str) -> PartRow:
        part, record = self.book.parts[part_id], self.record(part_id)
        return PartRow(
            id=part_id,
            link=self.part(part_id),
            name=part.name,
            side=part.side,
            state=self._state(part),
            record=words.RECORDS[record.word] if record else None,
            host=self.known(part.host),
            place=self.place(self.book.place_of(part_id)),
            free=record.free if record else (),
            next=record.next if record else (),
            readings=len(self.book.readings_of(part_id)),
            removed_on=self.removed_on(part_id),
        )

    def _state(self, part: Part) -> Mark:
        refit = self.refits.get(part.id)
        elsewhere = refit is not None and refit.word == "off" and self.book.state(part.id) == "back on"
        return words.BACK_ELSEWHERE if elsewhere else words.STATES[self.book.state(part.id)]

    @cached_property
    def refits(self) -> dict[str, Refit]:
        """Every part that was put back and is on."""
        return {refit.part: refit for refit in refits(self.book)}

    def lost(self, part_id: str) -> bool:
        """Whether its host is gone and nobody ever said that it came off."""
        asked = part_id in self.judgement.records and self.judgement.records[part_id].asked
        return asked and self.book.state(part_id) != "scrapped" and not self.book.lives.is_off(part_id, self.book.now)

    def removed_on(self, part_id: str) -> date | None:
        """The day it came off, if it is off."""
        if self.record(part_id) is None:
            return None
        event = self.book.lives.came_off(part_id, self.book.now)
        return event.when.day if event else None

    # --- findings

    def finding(self, finding: Finding) -> FindingView:
        part = self.known(finding.part)
        return FindingView(
            severity=finding.severity,
            word=finding.word,
            message=words.sentence(finding.message),
            help=words.sentence(finding.help) if self.shop else "",  # what to write is for whoever writes
            url=self.note_url(finding.span) or (part.url if part else ""),
            source=self.source(finding.span),
            part=part,
            notes=tuple(self._note(note) for note in finding.notes),
        )

    def _note(self, note: Note) -> FindingNote:
        if note.span is None:
            return FindingNote(words.sentence(note.message))
        return FindingNote(words.sentence(note.message), self.note_url(note.span), self.source(note.span))

    @cached_property
    def _findings_by_part(self) -> dict[str, list[Finding]]:
        found: dict[str, list[Finding]] = {}
        for finding in self.judgement.findings:
            for part_id in dict.fromkeys((finding.part, finding.host)):
                if part_id:
                    found.setdefault(part_id, []).append(finding)
        return found

    def findings_by_line(self, file: str) -> Mapping[int, tuple[FindingView, ...]]:
        """Those about a note by its line (0: the whole of it), remarks aside; none in the public edition."""
        return self._told_by_line.get(file, {})

    @cached_property
    def _told_by_line(self) -> dict[str, dict[int, tuple[FindingView, ...]]]:
        told: dict[str, dict[int, tuple[FindingView, ...]]] = {}
        for finding in self.judgement.findings if self.shop else ():
            if finding.severity != "remark":
                lines = told.setdefault(finding.span.file, {})
                lines[finding.span.line] = (*lines.get(finding.span.line, ()), self.finding(finding))
        return told

    def findings_of(self, part_id: str) -> tuple[FindingView, ...]:
        """Those about a part, or about it as the host of others."""
        return tuple(self.finding(finding) for finding in self._findings_by_part.get(part_id, ()))


def _shows_well(photo: PhotoEntity, part: str) -> tuple[bool, bool, int, date, str]:
    """Pictures of few things show each of them better."""
    return part in photo.in_place, not photo.off_the_machine, -len(photo.shows), photo.day, photo.key


def _ends(slips: Iterable[PlacedSlip]) -> dict[int, int]:
    """Every line of a slip to the line its slip ends on."""
    return {
        line: placed.slip.end_line
        for placed in slips
        for line in range(placed.slip.span.line, max(placed.slip.end_line, placed.slip.span.line) + 1)
    }


def _number(value: Value | None) -> float | None:
    return round(float(value.number), 6) if value and value.number is not None else None
