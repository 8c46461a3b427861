"""All pictures of a build: their facts, and three sizes of each to publish.

A picture that did not change is not even opened; one that was moved or renamed is hashed, not decoded. What
is kept lies in BUILD/.journal-cache and is bounded to what the build uses.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, nullcontext, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from journal.ground.files import CACHE, in_plain_words, locked
from journal.pages.picture_store import FOLDER, Kept, Seen, Store
from journal.pages.renditions import Drawn, cost, is_too_large
from journal.read.photos import PhotoFacts, PhotoFault, check_file, dated_by_name

if TYPE_CHECKING:
    from journal.pages.workers import Crew

HEADER_MEMORY = 40_000_000
HEADER_SECONDS = 60.0
# Time a picture may take before it is given up: HEIC, the slowest, takes 0.2 s a megapixel on a quiet machine.
DRAW_SECONDS = 60.0
DRAW_SECONDS_A_PIXEL = 0.5e-6

UNREADABLE = "unreadable-photo"
HELP = "Copy it off the phone or card again, or take it out of the day."
HELP_MISSING = "Put the picture there, or take its name out of the note."

Progress = Callable[[str, int, int], None]
"""Called with what is being done, how many pictures are done, and how many there are to do."""

Request = tuple[str, tuple[Any, ...], int, float]


class Rendition(NamedTuple):
    """A published picture: its path in the site, "photos/0123abcd-800.jpg", and its size in pixels."""

    path: str
    width: int
    height: int

    @property
    def long(self) -> int:
        return max(self.width, self.height)


class Picture(NamedTuple):
    """A picture of the build.

    file      relative to the build, with "/"
    taken     local time, "2026-03-21T14:05:17"; "2026-03-21" where only a file name's date is known; or None
    subsecond, offset   see PhotoFacts
    width, height       as seen upright; 0 where it cannot be read
    format    "JPEG", "HEIF", ...; "" where it cannot be read
    partial   damaged part of the way, shown as far as it goes
    sizes     smallest first; empty where it cannot be read, or none were asked for
    """

    file: str
    taken: str | None
    subsecond: str
    offset: str | None
    width: int
    height: int
    format: str
    partial: bool
    sizes: tuple[Rendition, ...]

    @property
    def readable(self) -> bool:
        return self.width > 0

    @property
    def order(self) -> tuple[bool, str, str, str]:
        """The key that puts a day's pictures in order: by time, those without one last, then by name."""
        return self.taken is None, self.taken or "", self.subsecond, _name(self.file)


class PictureFault(NamedTuple):
    """What is wrong with a picture: its file, a word of the table of findings, a sentence, what to do."""

    file: str
    word: str
    message: str
    help: str


def prepare(
    build: Path,
    files: Sequence[str],
    *,
    renditions: bool,
    progress: Progress | None = None,
    workers: int | None = None,
) -> tuple[dict[str, Picture], list[PictureFault]]:
    """Every picture of `files` (relative to `build`, with "/"), and what is wrong with some of them.

    files       all pictures of the build: when drawing, what the cache holds of others is dropped
    renditions  draw what is not drawn yet; otherwise headers are read, and files that end oddly are tried
    workers     processes at work; one a core if not said

    Pictures that cannot be read are in the result as well, without size. Raises WriteFault if drawing cannot
    write to the cache; a mere check does without it.
    """
    with _cache_held(build / CACHE) if renditions else nullcontext():
        with _Run(build, renditions, progress, workers) as run:
            run.look(files)
            run.draw(files)
        if renditions:
            run.store.prune(files)
        if run.store.changed:
            with nullcontext() if renditions else suppress(OSError):
                run.store.save()
    return run.result(files)


def cached_files(build: Path, pictures: Iterable[Picture]) -> dict[str, Path]:
    """Path in the site -> file of the cache, for every rendition of `pictures`."""
    cache = build / CACHE
    return {size.path: Path(f"{cache}/{size.path}") for picture in pictures for size in picture.sizes}


@contextmanager
def _cache_held(cache: Path) -> Iterator[None]:
    """The cache exists and is ours alone: a second run waits, and then finds everything drawn."""
    with in_plain_words(cache):
        cache.mkdir(exist_ok=True)  # not the build, which may have gone
        (cache / FOLDER).mkdir(exist_ok=True)
        with locked(cache / "lock", wait=True):
            yield


class _Run:
    """One go over the pictures: look at all, draw what is new, put the results together.

    stats   size and time of the files that can be opened
    faults  word and sentence by file, or by content for what drawing found: those that may not last
    """

    def __init__(self, build: Path, renditions: bool, progress: Progress | None, workers: int | None) -> None:
        self.build = build
        self.store = Store.load(build / CACHE)
        self.renditions = renditions
        self.progress = progress
        self.workers = workers
        self.stats: dict[str, tuple[int, int]] = {}
        self.faults: dict[str, tuple[str, str]] = {}
        self._crew: Crew | None = None

    def __enter__(self) -> _Run:
        return self

    def __exit__(self, *_: object) -> None:
        if self._crew:
            self._crew.stop()

    def look(self, files: Sequence[str]) -> None:
        """Read the header of every picture that is new or changed since it was last seen."""
        requests: list[Request] = []
        for file in files:
            if self._stat(file) and not self._is_known(file):
                request = ("facts", str(self.build / file), self.renditions)
                requests.append((file, request, HEADER_MEMORY, HEADER_SECONDS))
        for file, answer in self._ask("looking at pictures", requests):
            self._note_facts(file, answer)

    def _stat(self, file: str) -> bool:
        try:
            info = check_file(f"{self.build}/{file}")
        except PhotoFault as fault:
            self.faults[file] = (fault.word, fault.message)
            return False
        self.stats[file] = (info.st_size, info.st_mtime_ns)
        return True

    def _is_known(self, file: str) -> bool:
        row = self.store.seen.get(file)
        if row is None or (row.size, row.mtime_ns) != self.stats[file]:
            return False
        return bool(row.fault or row.content or not self.renditions)

    def _note_facts(self, file: str, answer: dict[str, Any]) -> None:
        if "facts" in answer:
            self.store.see(file, Seen(*self.stats[file], answer["content"], PhotoFacts(**answer["facts"])))
        elif answer.get("lasting"):
            self.store.see(file, Seen(*self.stats[file], "", None, answer["fault"][1]))
        else:
            self.faults[file] = tuple(answer["fault"])

    def draw(self, files: Sequence[str]) -> None:
        """Draw every content that is not drawn; in a mere check, try those that may be cut short."""
        requests: dict[str, Request] = {}
        for file in files:
            row = self._row(file)
            if row and row.facts and row.content not in requests and self._is_undrawn(row.facts, row.content):
                requests[row.content] = self._drawing(file, row.content, row.facts)
        for content, answer in self._ask("drawing pictures", list(requests.values())):
            self._note_drawn(content, answer)

    def _row(self, file: str) -> Seen | None:
        """What is known of a file that is there and gave no fault in this run."""
        return self.store.seen.get(file) if file in self.stats and file not in self.faults else None

    def _is_undrawn(self, facts: PhotoFacts, content: str) -> bool:
        kept = self.store.kept.get(content)
        if kept and (kept.fault or not self.renditions or (kept.drawn and kept.drawn.sizes)):
            return False
        return bool(content) and not is_too_large(facts)

    def _drawing(self, file: str, content: str, facts: PhotoFacts) -> Request:
        into = str(self.store.cache / FOLDER) if self.renditions else None
        seconds = DRAW_SECONDS + DRAW_SECONDS_A_PIXEL * facts.width * facts.height
        return content, ("draw", str(self.build / file), into, content), cost(facts), seconds

    def _note_drawn(self, content: str, answer: dict[str, Any]) -> None:
        if "drawn" in answer:
            drawn = answer["drawn"]
            self.store.keep(content, Kept(Drawn(**{**drawn, "sizes": tuple(map(tuple, drawn["sizes"]))})))
        elif answer.get("lasting"):
            self.store.keep(content, Kept(None, answer["fault"][1]))
        else:
            self.faults[content] = tuple(answer["fault"])

    def _ask(self, what: str, requests: list[Request]) -> Iterator[tuple[str, dict[str, Any]]]:
        """Let worker processes do it; where there is nothing to do, nothing is started or imported."""
        if not requests:
            return
        from journal.pages.workers import Crew, Job

        self._crew = self._crew or Crew(self.workers)
        for done, (job, answer) in enumerate(self._crew.run([Job(*request) for request in requests]), 1):
            if "unwritable" in answer:
                raise OSError(answer["errno"], answer["unwritable"])
            yield job.key, answer
            if self.progress:
                self.progress(what, done, len(requests))

    def result(self, files: Sequence[str]) -> tuple[dict[str, Picture], list[PictureFault]]:
        pictures: dict[str, Picture] = {}
        faults: list[PictureFault] = []
        for file in files:
            row = self._row(file)
            drawn = self._drawn(row.content) if row else None
            wrong = self._wrong(file, row)
            pictures[file] = _picture(file, row, drawn, not wrong)
            if wrong or (drawn and drawn.partial):
                faults.append(_fault(file, *(wrong or (UNREADABLE, PARTIAL))))
        return pictures, faults

    def _drawn(self, content: str) -> Drawn | None:
        kept = self.store.kept.get(content)
        return kept.drawn if kept else None

    def _wrong(self, file: str, row: Seen | None) -> tuple[str, str] | None:
        """Why a picture cannot be shown, as word and sentence; None if it can."""
        if file in self.faults or row is None:
            return self.faults.get(file, (UNREADABLE, "it cannot be read"))
        kept = self.store.kept.get(row.content)
        if row.facts and not kept and is_too_large(row.facts):
            return UNREADABLE, _too_large(row.facts)
        message = row.fault or (kept.fault if kept else "")
        return (UNREADABLE, message) if message else self.faults.get(row.content)


PARTIAL = "it is damaged part of the way; it is shown as far as it can be read"


def _too_large(facts: PhotoFacts) -> str:
    return f"it is too large to be drawn, {facts.width} x {facts.height} pixels"


def _fault(file: str, word: str, message: str) -> PictureFault:
    help = HELP_MISSING if word == "missing-photo" else HELP
    return PictureFault(file, word, f'the picture "{_name(file)}": {message}', help)


def _picture(file: str, row: Seen | None, drawn: Drawn | None, readable: bool) -> Picture:
    """A picture from what is known of it; one that cannot be shown keeps its time."""
    facts = dated_by_name((row and row.facts) or NOTHING_KNOWN, _name(file))
    shown = drawn if readable and drawn else None
    width, height = (shown.width, shown.height) if shown else (facts.width, facts.height)
    sizes = shown.sizes if shown else ()
    return Picture(
        file,
        facts.taken,
        facts.subsecond,
        facts.offset,
        width if readable else 0,
        height if readable else 0,
        facts.format if readable else "",
        bool(shown and shown.partial),
        tuple(Rendition(f"{FOLDER}/{row.content}-{max(w, h)}.jpg", w, h) for w, h, _ in sizes) if row else (),
    )


NOTHING_KNOWN = PhotoFacts(None, "", None, 0, 0, "", "", False, False)


def _name(file: str) -> str:
    return file.rsplit("/", 1)[-1]
