"""Writing a site whole or not at all.

The new site is laid out in a folder beside the old one and the two change places in one step, so that whoever
looks, and whenever the run is killed, finds the old site or the new one, complete. On Linux that step is one
exchange of names (renameat2); elsewhere it is two renames, and a run killed between them is put right by
`heal`, which the next `write_site` calls first. Files that did not change are linked across: they keep their
bytes and times. Nothing is flushed to the disk on purpose: after a power cut the site is simply made again.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
import re
import shutil
import stat
from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from contextlib import suppress
from pathlib import Path

from journal.ground.atomic import WriteFault, in_plain_words, locked, write_whole
from journal.ground.records import record
from journal.ground.swap import alone, beside, heal, remove, swap

__all__ = [
    "CACHE",
    "SiteRefused",
    "WriteFault",
    "Written",
    "check_cache",
    "fill_tree",
    "forget_trees",
    "heal",
    "in_plain_words",
    "locked",
    "real",
    "standing",
    "write_site",
    "write_whole",
]

FORMAT = 1
LARGE_MARKER = 50_000  # bytes: some 700 files
CACHE = ".journal-cache"
# What desktops leave behind in any folder they show; nobody misses it.
LITTER = frozenset({".DS_Store", "Thumbs.db", "desktop.ini", ".directory"})

# Names between slashes, none of them empty, "." or ".."; no backslash, no drive letter.
PLAIN = re.compile(r"(?![^/]*:)(?:(?!\.\.?(?:/|\Z))[^/\\\0]+(?:/(?!\Z)|\Z))+")

Content = bytes | Path


class SiteRefused(WriteFault):
    """The output folder is not ours to replace."""


@record
class Written:
    """What a write did: names that are new or differ, how many files are as before, names that went.

    digest  what `standing` says of the site while nobody touches it
    """

    changed: tuple[str, ...]
    unchanged: int
    removed: tuple[str, ...]
    digest: str


@record
class _Wanted:
    """A file as it shall be: its content, its entry in the marker, and its stat if it is a file of the cache."""

    content: Content
    fingerprint: str
    info: os.stat_result | None


@record
class _Step:
    """How the old site follows the new one: files that go, files that come, names that are no part of a site."""

    gone: Set[str]
    new: Set[str]
    besides: Sequence[str]


@record
class _Old:
    """The site that stands: its files by name, what its marker says of them, the time of the marker."""

    files: Mapping[str, os.stat_result]
    hashes: Mapping[str, str]
    marker: bytes
    written_ns: int


def write_site(
    out: Path,
    files: Mapping[str, Content],
    *,
    mark: str,
    keep: Sequence[str] = (),
    edition: str = "public",
    build: Path | None = None,
    spare: Path | None = None,
) -> Written:
    """Make `out` hold exactly `files`, the marker, and what `keep` names; all of it or nothing.

    files    name with "/" -> the bytes, or a file of the cache to be linked (copied where links do not reach)
    mark     name of the marker file; it lists what was written, so that foreign files are noticed
    keep     names directly in `out` that are carried over untouched (".git", "CNAME")
    edition  written into the marker
    build    the build folder; `out` may be a folder of its own inside it, never the build or one of its days
    spare    folder of the cache for the tree of a large site that the next one is laid out in (see below)

    Raises SiteRefused if `out` is not ours, WriteFault if it cannot be written.
    """
    out = real(out)
    _check_place(out, build)
    _check_names(files, mark, keep)
    with in_plain_words(out), alone(out):
        heal(out)
        old = _standing(out, mark, keep)
        new = {name: _wanted(files[name]) for name in sorted(files)}
        same = {name for name, wanted in new.items() if _same(wanted, old, out, name)}
        marker = _marker(new, edition)
        removed = tuple(sorted(name for name in old.files if name not in files))
        changed = tuple(name for name in new if name not in same)
        if changed or removed or marker != old.marker:
            large = len(marker) >= LARGE_MARKER and os.name == "posix"  # elsewhere folders do not tell files' numbers
            tree = spare / _name_of(out) if spare and large else None
            try:
                _begin(out, old.files, same, tree)
                _stage(out, {name: files[name] for name in changed}, marker, mark, keep)
            except BaseException:
                remove(beside(out, "new"))  # on any fault only this folder goes
                raise
            left = swap(out)
            own = {name for name in files if isinstance(files[name], bytes)}
            step = _Step(old.files.keys() - (same & own), own.difference(same), (*keep, mark))
            _put_away(left, out, step, tree)
        return Written(changed, len(same), removed, _digest(marker))


def check_cache(build: Path) -> None:
    """Refuse a build that is gone, and a cache that is none or leads elsewhere: what nobody asks for is taken away in
    it, and a build may be anybody's."""
    if not build.is_dir():
        raise WriteFault(f'The build "{build}" is not there any more.', "Put it back where it was.")
    cache = build / CACHE
    links = [cache] if cache.is_symlink() else []
    for folder in (cache, cache / "pages"):
        with suppress(OSError), os.scandir(folder) as entries:
            links += [Path(entry.path) for entry in entries if entry.is_symlink()]
    if links:
        raise WriteFault(f'"{links[0]}" is a link; it is left alone, and nothing was read.', "Take the link away.")
    if os.path.lexists(cache) and not cache.is_dir():
        message = f'"{cache}" is no folder, and the cache of the build belongs there; nothing was read.'
        raise WriteFault(message, "Move it away; whatever a cache holds is made again.")


def standing(out: Path, *, mark: str, keep: Sequence[str] = ()) -> str | None:
    """A digest of the site at `out` if it stands as `write_site` left it, else None. Stats all, reads one.

    A caller that remembers the digest with what it was made from can tell that nothing is to be done.
    """
    try:
        old = _standing(real(out), mark, keep)
    except (WriteFault, OSError):
        return None
    whole = old.marker and old.hashes.keys() == old.files.keys()
    if not whole or any(not _untouched(old, name) for name in old.files):
        return None
    return _digest(old.marker)


# -- what may be written where -------------------------------------------------------------------------------


def real(path: Path) -> Path:
    """Where `path` really lies: an output folder that is a link is replaced where it points to."""
    try:
        return path.resolve()
    except (OSError, RuntimeError):
        raise SiteRefused(f'"{path}" is a link that leads back to itself.', "Name a folder.") from None


def _check_place(out: Path, build: Path | None) -> None:
    """Refuse an output folder whose replacing would take something else with it."""
    if out == Path(out.anchor):
        raise SiteRefused(f'"{out}" is the top of the disk; a site cannot take its place.', "Name a folder.")
    if build is None:
        return
    build = real(build)
    if out == build or out in build.parents:
        raise SiteRefused(
            f'"{out}" holds the build itself; a site cannot take its place.',
            'Name a folder in it: "-o site".',
        )
    if build in out.parents:
        pieces = out.relative_to(build).parts
        if pieces[0] == CACHE or any(piece[0].isdigit() for piece in pieces):
            raise SiteRefused(
                f'"{out}" belongs to the days or the cache of the build; nothing is written there.',
                'Name a folder beside the days: "-o site".',
            )


def _check_names(files: Mapping[str, Content], mark: str, keep: Sequence[str]) -> None:
    """Every name stays inside the output folder, and none is claimed twice."""
    for name in keep:
        if not _is_plain(name) or "/" in name:
            raise WriteFault(f'"{name}" in `keep` is not the name of one file or folder.', 'Write ".git".')
    tops = {name.split("/", 1)[0] for name in files}
    for name in files:
        if not _is_plain(name):
            raise WriteFault(f'"{name}" would lie outside the output folder; nothing was written.')
    for name in sorted(tops.intersection(keep)) + [mark] * (mark in tops or mark in keep):
        raise WriteFault(
            f'"{name}" is part of the site and cannot be kept as well.', "Take it out of `keep`."
        )


def _is_plain(name: str) -> bool:
    """Whether a name leads down and only down, on every system."""
    return PLAIN.fullmatch(name) is not None


# -- the site that stands and the one that is wanted ---------------------------------------------------------


def _standing(out: Path, mark: str, keep: Sequence[str]) -> _Old:
    """What is in `out` now; refuses a folder that holds files of somebody else."""
    if not os.path.lexists(out):
        return _Old({}, {}, b"", 0)
    if not out.is_dir():
        raise SiteRefused(f'"{out}" is a file, not a folder.', "Name another folder.")
    found = {name: entry.stat(follow_symlinks=False) for name, entry in _walk(out, keep)}
    marker, hashes, written_ns = _read_marker(out, found.pop(mark, None), mark)
    foreign = sorted(name for name in found if name not in hashes and name.rsplit("/", 1)[-1] not in LITTER)
    if foreign and not marker:
        raise SiteRefused(
            f'"{out}" holds files that are no site made here, "{foreign[0]}" for one; it is left alone.',
            "Name an empty folder or a new one.",
        )
    if foreign:
        more = f" and {len(foreign) - 1} more" if len(foreign) > 1 else ""
        raise SiteRefused(
            f'"{out}" holds "{foreign[0]}"{more}, which is not part of the site and would be lost.',
            "Move it away, or name it under `keep` in build.toml.",
        )
    return _Old({name: info for name, info in found.items() if name in hashes}, hashes, marker, written_ns)


def _walk(top: Path, keep: Sequence[str] = ()) -> Iterator[tuple[str, os.DirEntry[str]]]:
    """Every file below `top`, links not followed, what `keep` names left out."""
    folders = [""]
    while folders:
        prefix = folders.pop()
        with os.scandir(f"{top}/{prefix}") as entries:
            for entry in entries:
                name = prefix + entry.name
                if name in keep:
                    continue
                if entry.is_dir(follow_symlinks=False):
                    folders.append(name + "/")
                else:
                    yield name, entry


def _read_marker(out: Path, info: os.stat_result | None, mark: str) -> tuple[bytes, dict[str, str], int]:
    """The marker's bytes, its table and its time; nothing where there is none or it is no marker of ours."""
    if info is None or not stat.S_ISREG(info.st_mode):
        return b"", {}, 0
    data = (out / mark).read_bytes()
    try:
        table = json.loads(data)
        hashes = {str(name): str(value) for name, value in table["files"].items()}
    except (ValueError, KeyError, TypeError, AttributeError):
        return b"", {}, 0
    return data, hashes, info.st_mtime_ns


def _wanted(content: Content) -> _Wanted:
    """Fingerprints are a length and a hash; the length alone for a file of the cache, whose name tells the rest."""
    if isinstance(content, Path):
        info = os.stat(content)
        return _Wanted(content, str(info.st_size), info)
    return _Wanted(content, f"{len(content)} {hashlib.sha256(content).hexdigest()[:32]}", None)


def _marker(files: Mapping[str, _Wanted], edition: str) -> bytes:
    """The marker of a site: the same files give the same bytes.

    Times stay out of it for that reason; a file counts as untouched while it is no younger than the marker.
    """
    hashes = {name: wanted.fingerprint for name, wanted in files.items()}
    table = {"journal": FORMAT, "edition": edition, "files": hashes}
    return (json.dumps(table, ensure_ascii=False, separators=(",\n", ": ")) + "\n").encode()


def _digest(marker: bytes) -> str:
    return hashlib.sha256(marker).hexdigest()


def _untouched(old: _Old, name: str) -> bool:
    """Whether a file is as the marker says, by length and time alone."""
    info = old.files[name]
    length = old.hashes[name].split(" ")[0]
    return stat.S_ISREG(info.st_mode) and str(info.st_size) == length and info.st_mtime_ns <= old.written_ns


def _same(wanted: _Wanted, old: _Old, out: Path, name: str) -> bool:
    """Whether the file that stands has the content wanted; read only where length and time do not say."""
    info = old.files.get(name)
    if info is None or not stat.S_ISREG(info.st_mode):
        return False
    if wanted.info:
        return _same_file(wanted.info, info) or _same_bytes(wanted, info, out / name)
    if old.hashes[name] == wanted.fingerprint and _untouched(old, name):
        return True
    return _same_bytes(wanted, info, out / name)


def _same_file(source: os.stat_result, there: os.stat_result) -> bool:
    """One file under two names, or a copy that took length and time along."""
    if (source.st_ino, source.st_dev) == (there.st_ino, there.st_dev):
        return True
    return (source.st_size, source.st_mtime_ns) == (there.st_size, there.st_mtime_ns)


def _same_bytes(wanted: _Wanted, info: os.stat_result, there: Path) -> bool:
    if str(info.st_size) != wanted.fingerprint.split(" ")[0]:
        return False
    content = wanted.content
    return there.read_bytes() == (content.read_bytes() if isinstance(content, Path) else content)


# -- staging and swapping ------------------------------------------------------------------------------------
#
# To make and remove the folders of a large site takes long. So the old site, once it is exchanged, is brought up to
# date as well, by links to the files of the new one, and put away in the cache: the same site again, of which nobody
# sees anything. The next site is laid out in that. Pictures are left out of it: where the cache is copied by something
# that knows no links, they would be there once more.


def _begin(out: Path, old: Mapping[str, os.stat_result], same: set[str], tree: Path | None) -> None:
    """Begin the new site beside the old one: with all files that stay as they are."""
    new = beside(out, "new")
    there = _taken(tree, new, old) if tree else set()
    _take_out(new, there - same)
    missing = same - there
    new.mkdir(exist_ok=True)
    _make_folders(new, missing)
    for name in missing:  # names have "/" on every system
        _link(f"{out}/{name}", f"{new}/{name}")


def _taken(tree: Path, new: Path, old: Mapping[str, os.stat_result]) -> set[str]:
    """What is in the tree, which is then the beginning of the new site; nothing where it could not be put there, or
    where one thing in it is not the very file of the site that stands."""
    with suppress(OSError):  # none there, on another disk, or no folder
        os.rename(tree, new)
        top = os.lstat(new)
        if stat.S_ISDIR(top.st_mode) and {top.st_dev} >= {info.st_dev for info in old.values()}:
            there = {name: entry.inode() for name, entry in _walk(new)}
            if all(name in old and old[name].st_ino == number for name, number in there.items()):
                return set(there)
    remove(new)
    with suppress(OSError):
        remove(tree)
    return set()


def _take_out(top: Path, names: Iterable[str]) -> None:
    """Take files out of a tree, and the folders that are then empty."""
    for name in names:
        os.unlink(f"{top}/{name}")
    for folder in sorted({name.rpartition("/")[0] for name in names}, reverse=True):
        while folder:
            try:
                os.rmdir(f"{top}/{folder}")
            except OSError:  # something is in it
                break
            folder = folder.rpartition("/")[0]


def _stage(out: Path, files: Mapping[str, Content], marker: bytes, mark: str, keep: Sequence[str]) -> None:
    """Complete the new site beside the old one."""
    new = beside(out, "new")
    _make_folders(new, files)
    for name, content in files.items():
        if isinstance(content, Path):
            _link(content, f"{new}/{name}")
        else:
            _put(f"{new}/{name}", content)
    for name in keep:
        if os.path.lexists(out / name):
            _carry(out / name, new / name)
    _put(f"{new}/{mark}", marker)
    if out.is_dir():
        shutil.copymode(out, new)


def _put(path: str, data: bytes) -> None:
    """Write a new file: never into one that is there, which the old site may have as well."""
    with open(path, "xb") as file:
        file.write(data)


def _make_folders(top: Path, names: Iterable[str]) -> None:
    for folder in sorted({name.rpartition("/")[0] for name in names}):
        os.makedirs(f"{top}/{folder}", exist_ok=True)


def _put_away(left: Path, out: Path, step: _Step, tree: Path | None) -> None:
    """The old site goes, or follows the new one into the cache. The new one is written: no fault counts any more, and
    what cannot be removed goes with the next run."""
    with suppress(OSError):
        if tree and not left.is_symlink():
            left.mkdir(exist_ok=True)  # there was no old site
            for name in step.besides:
                remove(left / name)
            _take_out(left, step.gone)
            _make_folders(left, step.new)
            for name in step.new:
                os.link(f"{out}/{name}", f"{left}/{name}")
            tree.parent.mkdir(parents=True, exist_ok=True)
            remove(tree)
            os.rename(left, tree)
    with suppress(OSError):
        remove(left)


def fill_tree(spare: Path, out: Path, mark: str) -> None:
    """Put the pictures of the site that stands into its tree, to be used by the `write_site` that comes next; it sees
    what is there, so this may fail or be broken off. For a copy of the process that has nothing else to do."""
    out = real(out)
    tree = spare / _name_of(out)
    if tree.is_symlink() or not tree.is_dir():
        return
    _, hashes, _ = _read_marker(out, os.lstat(out / mark), mark)
    pictures = [name for name, fingerprint in hashes.items() if " " not in fingerprint and _is_plain(name)]
    _make_folders(tree, pictures)
    for name in pictures:
        os.link(f"{out}/{name}", f"{tree}/{name}", follow_symlinks=False)


def forget_trees(spare: Path, outs: Iterable[Path]) -> None:
    """Keep the trees of these sites alone."""
    named = {_name_of(real(out)) for out in outs}
    with suppress(OSError):
        for tree in spare.iterdir():
            if tree.name not in named:
                remove(tree)


def _name_of(out: Path) -> str:
    return hashlib.sha256(os.fsencode(out)).hexdigest()[:16]


def _link(source: str | os.PathLike[str], target: str | os.PathLike[str]) -> None:
    """A second name for a file; a copy with its times where the disk cannot do that."""
    try:
        os.link(source, target, follow_symlinks=False)
    except OSError as fault:
        if fault.errno not in _NO_LINKS:
            raise
        shutil.copy2(source, target, follow_symlinks=False)


_NO_LINKS = frozenset({errno.EXDEV, errno.EPERM, errno.ENOTSUP, errno.ENOSYS, errno.EMLINK, errno.EACCES})


def _carry(source: Path, target: Path) -> None:
    """A kept file or folder appears in the new site too, so that neither site is ever without it."""
    if source.is_symlink() or not source.is_dir():
        _link(source, target)
    else:
        shutil.copytree(source, target, symlinks=True, copy_function=_link)
