"""`check` and `make` from end to end: the disk, the pictures, the verdicts, the site, in that order.

A make that would change nothing is recognised from sizes and times alone, before anything heavy is imported.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from datetime import date
from functools import partial
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from journal import __version__
from journal.ground.atomic import WriteFault, in_plain_words, sweep
from journal.ground.files import (
    CACHE,
    check_cache,
    fill_tree,
    forget_trees,
    real,
    standing,
    write_site,
    write_whole,
)
from journal.ground.heap import all_that_is_made_stays, what_is_there_stays
from journal.ground.kept_work import read_kept, signed, unsigned
from journal.ground.packaged import packaged_themes
from journal.ground.records import record
from journal.ground.shares import meanwhile

if TYPE_CHECKING:
    from journal.build import Raw, Told
    from journal.ground.finding import Finding
    from journal.model import entities
    from journal.pages.pictures import Picture, PictureFault

MARK = ".made-by-build-journal"
MEMORY = "made.json"
SPARE = "spare"
NOT_PUBLIC = "What build.toml says is private cannot be {}, so no public edition is made, and nothing was changed."
PUT_RIGHT = "Put it right, as `journal check` tells, or make the shop edition."
Progress = Callable[[str, int, int], None]


@record
class Made:
    """What a make did: a sentence, what was told on the way (None where nothing had changed), the pocket file."""

    summary: str
    told: Told | None
    pocket: str = ""


@record
class LaidOut:
    """A site in memory, path to bytes or to a file of the cache, and all it was made from."""

    raw: Raw
    told: Told
    pictures: Mapping[str, Picture]
    site: Mapping[str, bytes | Path]


def tell_build(build: Path, as_of: date | None = None) -> Told:
    """The build read and judged; of pictures only the headers are read. WriteFault for a cache that leads elsewhere."""
    check_cache(build)
    with all_that_is_made_stays():
        from journal.build import read, tell

        raw = read(build, as_of)
        pictures, faults = _pictures(raw, renditions=False, progress=None)
        return tell(raw, _facts(pictures), _findings(faults), as_of, build / CACHE)


def make_site(
    build: Path, out: Path, edition: str, as_of: date | None, progress: Progress | None, pocket: Path | None = None
) -> Made:
    """Make the site at `out`, and the pocket file where one is named.

    Raises WriteFault where either cannot be written, and leaves what stood there.
    """
    check_cache(build)
    memory = _Memory(build, out, edition)
    inputs = _inputs(build, as_of)
    if memory.holds(inputs) and (pocket is None or memory.holds_pocket(inputs, pocket)):
        return Made("nothing changed, the site stands as it is", None, _size(pocket) if pocket else "")
    if pocket:
        _check_pocket(pocket)

    spare = build / CACHE / SPARE
    with meanwhile(partial(fill_tree, spare, out, MARK)):
        laid = lay_out(build, edition, as_of, progress)
    raw, told, pictures, site = laid.raw, laid.told, laid.pictures, laid.site
    keep = raw.settings.keep
    written = write_site(out, site, mark=MARK, keep=keep, edition=edition, build=build, spare=spare)
    memory.keep(inputs, written.digest, keep)
    forget_trees(spare, memory.sites())
    new, gone = len(written.changed), len(written.removed)
    said = _write_pocket(pocket, raw, told, pictures) if pocket else ""
    if pocket:
        memory.keep_pocket(inputs, pocket)
    return Made(f"{len(site)} files, {new} new or changed, {gone} removed ({edition} edition)", told, said)


def lay_out(build: Path, edition: str, as_of: date | None, progress: Progress | None) -> LaidOut:
    """The whole site of a build in memory; only the cache is written. WriteFault for a theme that cannot be used."""
    check_cache(build)
    with all_that_is_made_stays():
        from journal.build import read, tell
        from journal.pages.pictures import cached_files
        from journal.pages.render import render_site
        from journal.pages.theme import chain

        raw = read(build, as_of)
        if edition != "shop" and not raw.settings.private.known:
            raise WriteFault(NOT_PUBLIC.format("read"), PUT_RIGHT)
        themes = chain(raw.settings.theme, build)
        pictures, faults = _pictures(raw, renditions=True, progress=progress)
        told = tell(raw, _facts(pictures), _findings(faults), as_of, build / CACHE)
        if edition != "shop" and any(finding.word == "unknown-private" for finding in told.judgement.findings):
            raise WriteFault(NOT_PUBLIC.format("found in the build"), PUT_RIGHT)
    with what_is_there_stays():
        site = render_site(
            told.book,
            told.judgement,
            edition="shop" if edition == "shop" else "public",
            themes=themes,
            cache=build / CACHE,
            pictures=cached_files(build, pictures.values()),
        )
    return LaidOut(raw, told, pictures, site)


# --- the pocket file


def pocket_path(out: Path) -> Path:
    """Where the pocket file of a site goes: beside it, under a name that says it is the shop edition."""
    return out.with_name(out.name.removesuffix("-shop") + "-shop-pocket.html")


def _check_pocket(file: Path) -> None:
    """Refuse to write over a file that is no pocket file of ours."""
    from journal.pages.pocket import MARK

    if not os.path.lexists(file):
        return
    ours = False
    if file.is_file():  # to open a pipe would wait for ever
        with suppress(OSError), open(file, "rb") as there:
            ours = there.read(len(MARK)) == MARK.encode()
    if not ours:
        raise WriteFault(
            f'"{file}" is no pocket file made here; it is left alone, and nothing was written.', "Move it away."
        )


def _write_pocket(file: Path, raw: Raw, told: Told, pictures: Mapping[str, Picture]) -> str:
    """The whole shop edition in one file, in one step; what was written, in words."""
    from journal.pages.pictures import cached_files
    from journal.pages.pocket import make_pocket
    from journal.pages.theme import chain

    build = raw.build
    made = make_pocket(
        told.book,
        told.judgement,
        themes=chain(raw.settings.theme, build),
        cache=build / CACHE,
        pictures=cached_files(build, pictures.values()),
    )
    with in_plain_words(file):
        write_whole(file, made.data)
    return made.told


def _size(file: Path) -> str:
    return f"{file.stat().st_size / 1_000_000:.1f} MB, as it stands"


def _pictures(
    raw: Raw, *, renditions: bool, progress: Progress | None
) -> tuple[dict[str, Picture], list[PictureFault]]:
    from journal.pages.pictures import prepare

    return prepare(raw.build, raw.photo_files, renditions=renditions, progress=progress)


def _facts(pictures: Mapping[str, Picture]) -> dict[str, entities.Picture]:
    """Pictures as the model knows them."""
    from journal.model import entities

    return {
        file: entities.Picture(
            found.taken,
            found.width,
            found.height,
            tuple(entities.Rendition(size.path, size.width, size.height) for size in found.sizes),
            f"{found.taken or '9999'}.{found.subsecond}",
        )
        for file, found in pictures.items()
    }


def _findings(faults: list[PictureFault]) -> list[Finding]:
    from journal.ground.finding import Finding
    from journal.ground.source import Span

    return [Finding(fault.word, fault.message, Span(fault.file), help=fault.help) for fault in faults]


def _inputs(build: Path, as_of: date | None) -> str:
    """A digest of all that a site is made from, by size and time: notes, photos, settings, themes, this program."""
    digest = sha256(f"{__version__}|{as_of or date.today()}".encode())
    for folder in (Path(__file__).parent, packaged_themes(), build):
        for path, size, time in _stats(folder, folder == build):
            digest.update(f"{path}|{size}|{time}\n".encode("utf-8", "surrogateescape"))
    return digest.hexdigest()


def _stats(folder: Path, is_build: bool) -> Iterator[tuple[str, int, int]]:
    """Path, size and time of every file below, in order; of a build only what it reads."""
    with suppress(OSError), os.scandir(folder) as entries:
        for entry in sorted(entries, key=lambda entry: entry.name):
            if entry.name in ("__pycache__", CACHE) or (is_build and not is_read(entry.name)):
                continue
            if entry.is_dir(follow_symlinks=False):
                yield from _stats(Path(entry.path), False)
            else:
                with suppress(OSError):
                    stat = entry.stat()
                    yield entry.path, stat.st_size, stat.st_mtime_ns


def is_read(name: str) -> bool:
    """Whether something directly in a build is read by a make: a day, the settings, its themes."""
    return name[:1].isdigit() or name in ("build.toml", "themes")


class _Memory:
    """What the last make at this place was made from, and how it left the site."""

    def __init__(self, build: Path, out: Path, edition: str) -> None:
        self.file = build / CACHE / MEMORY
        self.key = f"{edition}|{real(out)}"
        self.out = out

    def holds(self, inputs: str) -> bool:
        """Whether the same inputs made the site that stands there, and nobody touched it since."""
        row = self._read().get(self.key)
        if not isinstance(row, list) or len(row) != 3 or row[0] != inputs:
            return False
        _, written, keep = row
        return bool(written == standing(self.out, mark=MARK, keep=keep))

    def keep(self, inputs: str, written: str, keep: Sequence[str]) -> None:
        """Remember what was written, beside files that were let stand; a failure costs time at the next make only."""
        self._keep(self.key, [inputs, written, [*keep]])

    def sites(self) -> list[Path]:
        """Where sites were made that stand there still."""
        outs = (Path(key.partition("|")[2]) for key in self._read() if not key.startswith("pocket|"))
        return [out for out in outs if (out / MARK).is_file()]

    def holds_pocket(self, inputs: str, file: Path) -> bool:
        """Whether the same inputs made the pocket file that stands there, and nobody touched it since."""
        kept = self._read().get(f"pocket|{real(file)}")
        return bool(kept) and kept == [inputs, _stamp(file)]

    def keep_pocket(self, inputs: str, file: Path) -> None:
        self._keep(f"pocket|{real(file)}", [inputs, _stamp(file)])

    def _keep(self, key: str, row: Sequence[object]) -> None:
        with suppress(OSError):
            write_whole(self.file, signed(MEMORY, json.dumps(self._read() | {key: row}).encode()))
        sweep(self.file.parent)

    def _read(self) -> dict[str, object]:
        try:
            kept = json.loads(unsigned(MEMORY, read_kept(self.file)))
        except (OSError, ValueError):
            return {}
        return kept if isinstance(kept, dict) else {}


def _stamp(file: Path) -> str | None:
    """Length and time of a file; None where there is none."""
    try:
        stat = file.stat()
    except OSError:
        return None
    return f"{stat.st_size} {stat.st_mtime_ns}"
