"""The pipeline: a build folder in, a book and its verdicts out, as a list of named stages."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

from journal.ground.ahead import make_ahead
from journal.ground.files import CACHE
from journal.ground.finding import Finding
from journal.ground.records import record
from journal.ground.source import Span
from journal.judge.checks import judge
from journal.judge.verdicts import Judgement
from journal.model.book import Book
from journal.model.entities import Picture
from journal.model.resolve import resolve
from journal.notes.kept_notes import KeptNotes
from journal.notes.parse import NoteSettings
from journal.notes.records import Note
from journal.read.folders import DayFolder, read_folders
from journal.read.settings import Settings, read_settings


@record
class Raw:
    """A build as read from the disk, before anything is resolved; of days that come `later` only what lies in them."""

    build: Path
    settings: Settings
    folders: Sequence[DayFolder]
    notes: Mapping[str, Note]
    sources: Mapping[str, Sequence[str]]
    findings: Sequence[Finding]
    later: Sequence[DayFolder] = ()

    @property
    def photo_files(self) -> list[str]:
        return [file for folder in self.folders for file in folder.photos]


@record
class Told:
    """A build worked out for one day: the book, the verdicts, and the lines that findings point into."""

    book: Book
    judgement: Judgement
    sources: Mapping[str, Sequence[str]]


def read(build: Path, as_of: date | None = None) -> Raw:
    """Settings, folders and notes. Days after `as_of` (or after build.toml's `finished`) are not read."""
    settings, findings = read_settings(build)
    folders, found = read_folders(build)
    findings += found
    until = as_of or settings.finished or date.max
    later = [folder for folder in folders if folder.date > until]
    folders = folders[: len(folders) - len(later)]
    notes: dict[str, Note] = {}
    sources: dict[str, Sequence[str]] = {}
    written: dict[str, bytes] = {}
    for file in (file for folder in folders for file in folder.notes):
        try:
            written[file] = (build / file).read_bytes()
        except OSError as fault:
            findings.append(Finding("not-understood", f"this note cannot be opened: {fault.strerror}", Span(file)))
    kept = KeptNotes(build / CACHE, NoteSettings(settings.sides, settings.bare, settings.decimal))
    make_ahead(kept.missing(file, data) for file, data in written.items())
    for file, data in written.items():
        notes[file], sources[file], found_in_note = kept.of(file, data)
        findings += found_in_note
    kept.work.forget()
    return Raw(build, settings, folders, notes, sources, findings, later)


def tell(
    raw: Raw,
    pictures: Mapping[str, Picture],
    found: Sequence[Finding] = (),
    as_of: date | None = None,
    cache: Path | None = None,
) -> Told:
    """The book and every verdict. `found` are findings about pictures; `cache` is where solved positions are kept."""
    entities, findings = resolve(raw.settings, raw.folders, raw.notes, pictures, raw.later)
    asked, clock = as_of or raw.settings.finished, date.today()
    today = asked or max([clock, *(folder.date for folder in raw.folders)])
    book = Book(raw.settings, entities, today, None if asked else clock)
    return Told(book, judge(book, [*raw.findings, *found, *findings], cache), raw.sources)
