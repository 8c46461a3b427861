"""What is known of the pictures of a build, kept between runs: one manifest, and one file for each rendition.

Facts are kept by path, and hold while size and time are the same. What was drawn is kept by content, so that
it outlives a move or a new name. Whatever is damaged is left out on loading, and so made again.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from stat import S_ISREG
from typing import Any, NamedTuple

from journal.ground.files import write_whole
from journal.ground.kept_work import read_kept
from journal.pages.renditions import FIXED_TIME, RECIPE, Drawn
from journal.read.photos import PhotoFacts

FOLDER = "photos"
MANIFEST = "pictures.json"
FORMAT = 2
SAVE_EVERY = 5.0  # seconds; a killed run loses no more work than this


class Seen(NamedTuple):
    """What is known of a path while its size and time are the same.

    content  key of what is in the file, "" while it was not hashed
    facts    None where the header could not be read; `fault` then says why
    """

    size: int
    mtime_ns: int
    content: str
    facts: PhotoFacts | None
    fault: str = ""


class Kept(NamedTuple):
    """What is known of a content: what was drawn, or why it could not be."""

    drawn: Drawn | None
    fault: str = ""


class Store:
    """The cache of pictures in memory: `seen` by path, `kept` by content."""

    def __init__(
        self, cache: Path, seen: dict[str, Seen], kept: dict[str, Kept], there: Mapping[str, int]
    ) -> None:
        self.cache = cache
        self._there = there
        self.seen = seen
        self.kept = kept
        self.changed = False
        self._saved = time.monotonic()

    @classmethod
    def load(cls, cache: Path) -> Store:
        there = _lengths(cache / FOLDER)
        try:
            table = json.loads(read_kept(cache / MANIFEST))
            if [table["format"], table["recipe"]] != [FORMAT, RECIPE.decode()]:
                return cls(cache, {}, {}, there)
            rows, content_rows = dict(table["seen"]), dict(table["kept"])
        except (OSError, ValueError, KeyError, TypeError, RecursionError):
            return cls(cache, {}, {}, there)
        seen = {path: row for path, raw in rows.items() if (row := _seen(raw))}
        kept = {
            content: work
            for content, raw in content_rows.items()
            if (work := _kept(raw)) and _all_there(content, work, there)
        }
        return cls(cache, seen, kept, there)

    def see(self, path: str, row: Seen) -> None:
        self.seen[path] = row
        self.changed = True

    def keep(self, content: str, row: Kept) -> None:
        """Remember what was drawn; now and then the manifest is saved, so that a killed run loses little."""
        self.kept[content] = row
        self.changed = True
        if time.monotonic() - self._saved > SAVE_EVERY:
            with suppress(OSError):
                self.save()

    def save(self) -> None:
        """Write the manifest, in one step. Raises OSError."""
        table = {
            "format": FORMAT,
            "recipe": RECIPE.decode(),
            "seen": {
                path: [row.size, row.mtime_ns, row.content, row.facts, row.fault]
                for path, row in self.seen.items()
            },
            "kept": {
                content: [row.drawn, row.fault] for content, row in self.kept.items()
            },
        }
        self.cache.mkdir(exist_ok=True)
        write_whole(self.cache / MANIFEST, json.dumps(table, separators=(",", ":")).encode())
        self.changed = False
        self._saved = time.monotonic()

    def prune(self, paths: Iterable[str]) -> None:
        """Forget what none of `paths` uses, and remove its files."""
        wanted = set(paths)
        for path in self.seen.keys() - wanted:
            del self.seen[path]
            self.changed = True
        used = {row.content for row in self.seen.values()}
        for content in self.kept.keys() - used:
            del self.kept[content]
            self.changed = True
        needed = {
            name for content, row in self.kept.items() for name, _ in rendition_files(content, row.drawn)
        }
        for name in self._there.keys() - needed:  # what this run drew is needed, so the list need not be new
            with suppress(OSError):
                os.unlink(self.cache / FOLDER / name)


def rendition_files(content: str, drawn: Drawn | None) -> list[tuple[str, int]]:
    """The names and lengths in bytes of the files drawn for a content."""
    if drawn is None:
        return []
    return [(f"{content}-{max(width, height)}.jpg", length) for width, height, length in drawn.sizes]


def _lengths(folder: Path) -> dict[str, int]:
    """Length of each file of the folder by name; -1 for a link, and for one that was written to after it was drawn."""
    try:
        with os.scandir(folder) as entries:
            return {
                entry.name: info.st_size if S_ISREG(info.st_mode) and info.st_mtime_ns == FIXED_TIME * 10**9 else -1
                for entry in entries
                if (info := entry.stat(follow_symlinks=False))
            }
    except OSError:
        return {}


def _all_there(content: str, row: Kept, there: dict[str, int]) -> bool:
    return all(there.get(name) == length for name, length in rendition_files(content, row.drawn))


def _seen(raw: Any) -> Seen | None:
    """A row of the manifest, None if it is not as it was written."""
    try:
        size, mtime_ns, content, facts, fault = raw
        row = Seen(int(size), int(mtime_ns), str(content), PhotoFacts(*facts) if facts else None, str(fault))
    except (TypeError, ValueError):
        return None
    return row if row.facts or row.fault else None


def _kept(raw: Any) -> Kept | None:
    try:
        drawn, fault = raw
        if drawn:
            width, height, partial, sizes = drawn
            lines = tuple((int(w), int(h), int(length)) for w, h, length in sizes)
            return Kept(Drawn(int(width), int(height), bool(partial), lines), "")
        return Kept(None, str(fault)) if fault else None
    except (TypeError, ValueError):
        return None
