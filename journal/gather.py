"""Copy pictures off a phone, a card or a folder into the days of a build.

Nothing is ever moved, deleted or overwritten. A file goes into the day on which it was taken, local to where it was
taken; what is in the build already, under whatever name, is skipped; every copy is read back and compared before it
gets its name. So a run that was killed is simply started again.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, nullcontext, suppress
from dataclasses import dataclass, field
from pathlib import Path

from journal.ground.atomic import WriteFault, in_plain_words, locked, refused
from journal.ground.files import CACHE, check_cache
from journal.ground.records import record
from journal.pages.picture_worker import Answer
from journal.pages.workers import Crew, Job
from journal.read.folders import read_folders
from journal.read.moments import moment_in_name
from journal.read.movies import movie_moment
from journal.read.photos import PHOTO_SUFFIXES
from journal.read.settings import FILE as SETTINGS

MOVIES = frozenset({".mov", ".mp4", ".m4v", ".3gp", ".avi", ".mts", ".webm", ".mkv"})
SOUNDS = frozenset({".m4a", ".mp3", ".wav", ".aac", ".amr", ".ogg", ".opus", ".flac", ".caf"})
RAW = frozenset({".dng", ".cr2", ".cr3", ".nef", ".arw", ".orf", ".rw2", ".raf"})
UNPUBLISHED = MOVIES | SOUNDS | RAW

PART = ".journal-gather-"
BLOCK = 1 << 20
HEADER_MEMORY, HEADER_SECONDS = 40_000_000, 60.0

Progress = Callable[[str, int, int], None]
"""Called with what is being done, how many files are done, and how many there are."""


@record
class Copy:
    """One file, and its place in the build with "/"."""

    source: Path
    target: str

    @property
    def is_published(self) -> bool:
        return self.source.suffix.lower() in PHOTO_SUFFIXES


@dataclass(slots=True)
class Report:
    """What a run did, or on a dry run would do.

    copied       new in the build; movies, sounds and raw files are kept in the day but shown on no page
    present      in the build already, by content
    undated      no date in the file nor in its name: not copied, somebody has to say the day
    passed_over  files of other kinds: not copied
    faults       (file, what is wrong with it, with its day or with the disk): not copied
    """

    copied: list[Copy] = field(default_factory=list)
    present: list[Copy] = field(default_factory=list)
    undated: list[Path] = field(default_factory=list)
    passed_over: list[Path] = field(default_factory=list)
    faults: list[tuple[Path, str]] = field(default_factory=list)

    @property
    def unpublished(self) -> list[Copy]:
        return [copy for copy in self.copied if not copy.is_published]


def gather(sources: Sequence[Path], into: Path, dry_run: bool = False, progress: Progress | None = None) -> Report:
    """Copy the pictures, movies and sounds of `sources` (files or folders) into the days of the build `into`.

    Raises WriteFault, before anything is copied, where a source is not there or `into` is no build to write to. What
    stands in the way of one file costs that file; a second run goes on from there.
    """
    _check_build(into)
    report = Report()
    files = sorted(set(_media(sources, into, report)))
    with in_plain_words(into), nullcontext() if dry_run else _alone(into):
        days = _days(files, report, progress)
        build = _Build(into, dry_run)
        for done, file in enumerate(files, 1):
            if file in days:
                _take(file, days[file], build, report)
            if progress:
                progress("copying", done, len(files))
    return report


def _check_build(into: Path) -> None:
    """Refuse what is no build: the pictures would be strewn about a folder that is never read, as a day of a build."""
    if not into.is_dir():
        raise WriteFault(f'"{into}" is not there.', 'Make a build first: "journal start DIR".')
    if not (into / SETTINGS).exists():
        above = next((folder for folder in into.resolve().parents if (folder / SETTINGS).exists()), None)
        help = f'Name the build that it lies in, "{above}".' if above else 'Make a build first: "journal start DIR".'
        raise WriteFault(f'"{into}" is no build: no {SETTINGS} is in it. Nothing was copied.', help)
    check_cache(into)


@contextmanager
def _alone(into: Path) -> Iterator[None]:
    """Hold the lock of the build's gathering; a second run is told so."""
    (into / CACHE).mkdir(exist_ok=True)
    with locked(into / CACHE / "gather.lock", wait=False) as mine:
        if not mine:
            raise WriteFault("Another run is copying into this build at this moment.", "Wait until it is done.")
        yield


# -- what there is to copy -----------------------------------------------------------------------------------


def _media(sources: Sequence[Path], into: Path, report: Report) -> Iterator[Path]:
    """Every file of a kind that we copy; hidden files and the build itself are left out."""
    build = into.resolve()
    for source in sources:
        place = source.resolve()
        if place == build or build in place.parents:
            raise WriteFault(f'"{source}" is in the build already.', "Name the phone, card or folder to copy from.")
        if not source.exists():
            raise WriteFault(f'"{source}" is not there.', "Look whether the phone or card is connected.")
        yield from _sorted_out(_walk(source, build, report) if source.is_dir() else [source], report)


def _walk(top: Path, build: Path, report: Report) -> Iterator[Path]:
    def closed(fault: OSError) -> None:
        report.faults.append((Path(str(fault.filename)), "this folder may not be read"))

    for folder, inner, names in os.walk(top, onerror=closed):
        inner[:] = sorted(name for name in inner if not name.startswith(".") and Path(folder, name).resolve() != build)
        yield from (Path(folder, name) for name in sorted(names) if not name.startswith("."))


def _sorted_out(files: Sequence[Path] | Iterator[Path], report: Report) -> Iterator[Path]:
    for file in files:
        if file.suffix.lower() not in PHOTO_SUFFIXES | UNPUBLISHED:
            report.passed_over.append(file)
        elif not file.is_file():
            report.faults.append((file, "it is no ordinary file"))
        else:
            yield file


# -- the day of each -----------------------------------------------------------------------------------------


def _days(files: Sequence[Path], report: Report, progress: Progress | None) -> dict[Path, str]:
    """The day, as "2026-03-21", on which each file was taken; the others go into the report."""
    days = _photo_days([file for file in files if file.suffix.lower() not in MOVIES | SOUNDS], progress)
    by_stem = {file.with_suffix(""): day for file, day in days.items()}
    for file in files:
        day = days.get(file) or by_stem.get(file.with_suffix("")) or _day_told(file)
        if day:
            days[file] = day
        else:
            report.undated.append(file)
    return days


def _photo_days(files: Sequence[Path], progress: Progress | None) -> dict[Path, str]:
    """By their headers, read in worker processes: a damaged file may bring its decoder down."""
    days: dict[Path, str] = {}
    jobs = [Job(str(file), ("facts", str(file), False), HEADER_MEMORY, HEADER_SECONDS) for file in files]
    crew = Crew()
    try:
        for done, (job, answer) in enumerate(crew.run(jobs), 1):
            if taken := _taken(answer):
                days[Path(job.key)] = taken[:10]
            if progress:
                progress("looking at pictures", done, len(jobs))
    finally:
        crew.stop()
    return days


def _taken(answer: Answer) -> str | None:
    taken: str | None = answer["facts"]["taken"] if "facts" in answer else None
    return taken


def _day_told(file: Path) -> str | None:
    """By its name, or by a movie's header."""
    moment = moment_in_name(file.name)
    if not moment and file.suffix.lower() in MOVIES | SOUNDS:
        with suppress(OSError):
            moment = movie_moment(file)
    return moment.taken[:10] if moment else None


# -- copying -------------------------------------------------------------------------------------------------


class _Build:
    """The days of a build, and what is in them by length and content."""

    def __init__(self, root: Path, dry_run: bool) -> None:
        self.root = root
        self.dry_run = dry_run
        self.folders: dict[str, str] = {}
        self._by_length: dict[int, list[tuple[Path, str]]] = {}
        self._digests: dict[Path, bytes] = {}
        self.taken: set[str] = set()
        for folder in read_folders(root)[0]:
            self.folders.setdefault(folder.date.isoformat(), folder.path)
            self._look_into(folder.path)
        self._in_years = any("/" in path for path in self.folders.values())

    def _look_into(self, folder: str) -> None:
        for entry in sorted(os.scandir(self.root / folder), key=lambda entry: entry.name):
            if not entry.is_file(follow_symlinks=False):
                continue
            if entry.name.startswith(PART):
                if not self.dry_run:
                    os.unlink(entry.path)  # a run was killed over it
                continue
            self.add(Path(entry.path), f"{folder}/{entry.name}", entry.stat().st_size)

    def add(self, path: Path, target: str, length: int) -> None:
        self._by_length.setdefault(length, []).append((path, target))
        self.taken.add(target)

    def find(self, file: Path) -> str | None:
        """Where in the build this content is already. Raises OSError if the file cannot be read."""
        for path, target in self._by_length.get(file.stat().st_size, []):
            if self._digest(path) == self._digest(file):
                return target
        return None

    def _digest(self, path: Path) -> bytes:
        if path not in self._digests:
            self._digests[path] = _hash(path)
        return self._digests[path]

    def folder(self, day: str) -> str:
        """The folder of a day; a new one where there is none, beside the others."""
        return self.folders.setdefault(day, f"{day[:4]}/{day}" if self._in_years else day)

    def in_the_way(self, folder: str) -> str:
        """Why nothing can be copied into a day, or ""; what lies behind a link is never read, nor written to."""
        pieces = folder.split("/")
        for path in ("/".join(pieces[: end + 1]) for end in range(len(pieces))):
            place = self.root / path
            if place.is_symlink():
                return f'"{path}" in the build is a link, which is not read; put the folder itself in its place'
            if os.path.lexists(place) and not place.is_dir():
                return f'"{path}" in the build is no folder, so its day cannot be made; give it another name'
        return ""

    def free_name(self, folder: str, file: Path) -> str:
        """The file's own name, with a number after it if another picture has that name."""
        names = (f"{file.stem}{'' if number == 1 else f'-{number}'}{file.suffix}" for number in range(1, 100_000))
        return next(
            target
            for name in names
            if (target := f"{folder}/{name}") not in self.taken and not os.path.lexists(self.root / target)
        )


def _take(file: Path, day: str, build: _Build, report: Report) -> None:
    """Copy one file, unless it is there or cannot be read."""
    try:
        there = build.find(file)
    except OSError:
        report.faults.append((file, "it could not be read"))
        return
    if there:
        report.present.append(Copy(file, there))
        return
    folder = build.folder(day)
    target = build.free_name(folder, file)
    fault = build.in_the_way(folder) or ("" if build.dry_run else _copied(file, build.root / target))
    if fault:
        report.faults.append((file, fault))
        return
    build.add(file if build.dry_run else build.root / target, target, file.stat().st_size)
    report.copied.append(Copy(file, target))


def _copied(file: Path, target: Path) -> str:
    """Copy into a day, which is made where it is not there; "" or what was wrong with the file, the day or the disk."""
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        return _copy(file, target)
    except OSError as fault:
        reason, help = refused(fault)
        return f"{reason[:1].lower()}{reason[1:]}. {help}".rstrip(". ")


def _copy(file: Path, target: Path) -> str:
    """Copy, read back, compare, and only then give it its name; "" or what was wrong with the source.

    Raises OSError for what is wrong with the target.
    """
    handle, name = tempfile.mkstemp(prefix=PART, dir=target.parent)
    part = Path(name)
    try:
        with open(handle, "wb") as copy:
            wanted = _pour(file, copy.write)
            if wanted is None:
                return "it could not be read"
            copy.flush()
            os.fsync(copy.fileno())
            _forget_cached(copy.fileno())
        if _hash(part) != wanted:
            return "the copy came out different and was thrown away; the disk or the card may be failing"
        info = file.stat()
        os.utime(part, ns=(info.st_atime_ns, info.st_mtime_ns))
        os.chmod(part, 0o644)
        _name_without_replacing(part, target)
    finally:
        with suppress(FileNotFoundError):
            part.unlink()
    return ""


def _pour(file: Path, write: Callable[[bytes], object]) -> bytes | None:
    """Hand a file's bytes over and return their hash; None if the file cannot be read to its end."""
    digest = hashlib.sha256()
    try:
        source = open(file, "rb")  # noqa: SIM115  # reading may fail by itself, and that is told apart from writing
    except OSError:
        return None
    with source:
        while True:
            try:
                block = source.read(BLOCK)
            except OSError:
                return None
            if not block:
                return digest.digest()
            digest.update(block)
            write(block)


def _hash(path: Path) -> bytes:
    with open(path, "rb") as file:
        return hashlib.file_digest(file, "sha256").digest()


def _forget_cached(handle: int) -> None:
    """Let reading back come from the disk, not from memory, where the system can be asked for that."""
    if hasattr(os, "posix_fadvise"):
        with suppress(OSError):
            os.posix_fadvise(handle, 0, 0, os.POSIX_FADV_DONTNEED)


def _name_without_replacing(part: Path, target: Path) -> None:
    """Give a file its name in a step that fails if it is taken; disks without links have it claimed first."""
    try:
        os.link(part, target)
    except FileExistsError:
        raise
    except OSError:
        os.close(os.open(target, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o644))
        os.replace(part, target)


def told(report: Report, dry_run: bool) -> Iterator[str]:
    """The report in lines: what was copied where, and every file that was not, with why."""
    verb = "would copy" if dry_run else "copied"
    for copy in report.copied:
        yield f"{verb} {copy.source} -> {copy.target}" + ("" if copy.is_published else " (kept, not published)")
    for file in report.undated:
        yield f"no date in {file}: put it into a day yourself"
    for file, why in report.faults:
        yield f"not copied {file}: {why}"
    counts = [
        f"{len(report.copied)} {verb}",
        f"{len(report.present)} there already",
        f"{len(report.undated)} without a date",
        f"{len(report.passed_over)} of other kinds left",
        f"{len(report.faults)} that could not be copied",
    ]
    yield ", ".join(count for number, count in enumerate(counts) if number == 0 or not count.startswith("0 "))
