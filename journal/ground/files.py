"""Writing a site whole or not at all.

The new site is laid out in a folder beside the old one and the two change places in one step, so that whoever
looks, and whenever the run is killed, finds the old site or the new one, complete. On Linux that step is one
exchange of names (renameat2); elsewhere it is two renames, and a run killed between them is put right by
`heal`, which the next `write_site` calls first. Files that did not change are linked across: they keep their
bytes and times. Nothing is flushed to the disk on purpose: after a power cut the site is simply made again.
"""

from __future__ import annotations

import ctypes
import errno
import hashlib
import json
import os
import shutil
import stat
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

try:
    import fcntl
except ImportError:  # pragma: no cover - Windows has no flock; two runs at once are then not told apart
    fcntl = None  # type: ignore[assignment]

FORMAT = 1
CACHE = ".journal-cache"
# What desktops leave behind in any folder they show; nobody misses it.
LITTER = frozenset({".DS_Store", "Thumbs.db", "desktop.ini", ".directory"})
RENAME_EXCHANGE = 2  # linux/fs.h
AT_FDCWD = -100  # fcntl.h

Content = bytes | Path


class WriteFault(Exception):
    """Something could not be written; what stood before still stands.

    message  what is wrong, in plain words
    help     what to do about it; "" where there is nothing to add
    """

    def __init__(self, message: str, help: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.help = help


class SiteRefused(WriteFault):
    """The output folder is not ours to replace."""


@dataclass(frozen=True, slots=True)
class Written:
    """What a write did: names that are new or differ, how many files are as before, names that went."""

    changed: tuple[str, ...]
    unchanged: int
    removed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
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
) -> Written:
    """Make `out` hold exactly `files`, the marker, and what `keep` names; all of it or nothing.

    files    name with "/" -> the bytes, or a file of the cache to be linked (copied where links do not reach)
    mark     name of the marker file; it lists what was written, so that foreign files are noticed
    keep     names directly in `out` that are carried over untouched (".git", "CNAME")
    edition  written into the marker
    build    the build folder; `out` may be a folder of its own inside it, never the build or one of its days

    Raises SiteRefused if `out` is not ours, WriteFault if it cannot be written.
    """
    out = _real(out)
    _check_place(out, build)
    _check_names(files, mark, keep)
    with in_plain_words(out), _alone(out):
        heal(out)
        old = _standing(out, mark, keep)
        hashes = {name: _fingerprint(files[name]) for name in sorted(files)}
        same = {name for name, content in files.items() if _same(content, hashes[name], old, out, name)}
        marker = _marker(hashes, edition)
        removed = tuple(sorted(name for name in old.files if name not in files))
        changed = tuple(sorted(name for name in files if name not in same))
        if changed or removed or marker != old.marker:
            _stage(out, files, same, marker, mark, keep)
            _swap(out)
        return Written(changed, len(same), removed)


def standing(out: Path, *, mark: str, keep: Sequence[str] = ()) -> str | None:
    """A digest of the site at `out` if it stands as `write_site` left it, else None. Stats all, reads one.

    A caller that remembers the digest with what it was made from can tell that nothing is to be done.
    """
    out = _real(out)
    try:
        old = _standing(out, mark, keep)
    except (WriteFault, OSError):
        return None
    whole = old.marker and old.hashes.keys() == old.files.keys()
    if not whole or any(not _untouched(old, name) for name in old.files):
        return None
    return hashlib.sha256(old.marker).hexdigest()


def heal(out: Path) -> None:
    """Put right what a killed run left: an old site set aside comes back, half-made folders go."""
    new, aside = _beside(out, "new"), _beside(out, "old")
    if os.path.lexists(aside) and not os.path.lexists(out):
        os.rename(aside, out)
    for leftover in (new, aside):
        _remove(leftover)


def write_whole(path: Path, data: bytes) -> None:
    """Replace one file in one step: whoever looks, whenever, sees the old bytes or the new."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".journal-", suffix=".part")
    try:
        with open(handle, "wb") as file:
            file.write(data)
        os.chmod(name, 0o666 & ~_umask())
        os.replace(name, path)
    except BaseException:
        with suppress(OSError):
            os.unlink(name)
        raise


# -- what may be written where -------------------------------------------------------------------------------


def _real(path: Path) -> Path:
    """Where `path` really lies: an output folder that is a link is replaced where it points to."""
    try:
        return path.resolve()
    except (OSError, RuntimeError):
        raise SiteRefused(f'"{path}" is a link that leads nowhere.', "Name a folder.") from None


def _check_place(out: Path, build: Path | None) -> None:
    """Refuse an output folder whose replacing would take something else with it."""
    if out == Path(out.anchor):
        raise SiteRefused(f'"{out}" is the top of the disk; a site cannot take its place.', "Name a folder.")
    if build is None:
        return
    build = _real(build)
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
    pieces = name.split("/")
    return not any(piece in ("", ".", "..") or "\\" in piece or "\0" in piece for piece in pieces) and (
        ":" not in pieces[0]
    )


# -- the site that stands ------------------------------------------------------------------------------------


def _standing(out: Path, mark: str, keep: Sequence[str]) -> _Old:
    """What is in `out` now; refuses a folder that holds files of somebody else."""
    if not os.path.lexists(out):
        return _Old({}, {}, b"", 0)
    if not out.is_dir():
        raise SiteRefused(f'"{out}" is a file, not a folder.', "Name another folder.")
    found = dict(_scan(out, keep))
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


def _scan(top: Path, keep: Sequence[str]) -> Iterator[tuple[str, os.stat_result]]:
    """Every file below `top` with its stat, links not followed, what `keep` names left out."""
    folders = [""]
    while folders:
        prefix = folders.pop()
        with os.scandir(os.path.join(top, prefix)) as entries:
            for entry in entries:
                name = prefix + entry.name
                if name in keep:
                    continue
                if entry.is_dir(follow_symlinks=False):
                    folders.append(name + "/")
                else:
                    yield name, entry.stat(follow_symlinks=False)


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


def _marker(hashes: Mapping[str, str], edition: str) -> bytes:
    """The marker of a site: the same files give the same bytes.

    Times stay out of it for that reason; a file counts as untouched while it is no younger than the marker.
    """
    table = {"journal": FORMAT, "edition": edition, "files": hashes}
    return (json.dumps(table, ensure_ascii=False, indent=0) + "\n").encode()


def _fingerprint(content: Content) -> str:
    """Length and hash of bytes; the length alone of a file of the cache, whose name tells its content."""
    if isinstance(content, Path):
        return str(content.stat().st_size)
    return f"{len(content)} {hashlib.sha256(content).hexdigest()[:32]}"


def _untouched(old: _Old, name: str) -> bool:
    """Whether a file is as the marker says, by length and time alone."""
    info = old.files[name]
    length = old.hashes[name].split(" ")[0]
    return stat.S_ISREG(info.st_mode) and str(info.st_size) == length and info.st_mtime_ns <= old.written_ns


def _same(content: Content, fingerprint: str, old: _Old, out: Path, name: str) -> bool:
    """Whether the file that stands has the content wanted; read only where length and time do not say."""
    info = old.files.get(name)
    if info is None or not stat.S_ISREG(info.st_mode):
        return False
    if isinstance(content, Path):
        return _same_file(content, info, out / name)
    if info.st_size != len(content):
        return False
    if _untouched(old, name) and old.hashes[name] == fingerprint:
        return True
    return (out / name).read_bytes() == content


def _same_file(source: Path, info: os.stat_result, there: Path) -> bool:
    wanted = source.stat()
    if (wanted.st_ino, wanted.st_dev) == (info.st_ino, info.st_dev):
        return True
    if wanted.st_size != info.st_size:
        return False
    return wanted.st_mtime_ns == info.st_mtime_ns or source.read_bytes() == there.read_bytes()


# -- staging and swapping ------------------------------------------------------------------------------------


def _stage(
    out: Path, files: Mapping[str, Content], same: set[str], marker: bytes, mark: str, keep: Sequence[str]
) -> None:
    """Lay the whole new site out beside the old one; on any fault only this folder goes."""
    new = _beside(out, "new")
    new.mkdir()
    try:
        for folder in sorted({name.rpartition("/")[0] for name in files}):
            (new / folder).mkdir(parents=True, exist_ok=True)
        for name, content in files.items():
            target = os.path.join(new, name)
            if name in same:
                _link(os.path.join(out, name), target)
            elif isinstance(content, Path):
                _link(content, target)
            else:
                Path(target).write_bytes(content)
        for name in keep:
            if os.path.lexists(out / name):
                _carry(out / name, new / name)
        (new / mark).write_bytes(marker)
        if out.is_dir():
            shutil.copymode(out, new)
    except BaseException:
        _remove(new)
        raise


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


def _swap(out: Path) -> None:
    """The new site takes the old one's name, and the old one goes."""
    new, aside = _beside(out, "new"), _beside(out, "old")
    if not os.path.lexists(out):
        os.rename(new, out)
    elif not _exchange(new, out):
        os.rename(out, aside)
        try:
            os.rename(new, out)
        except OSError:
            os.rename(aside, out)
            raise
    for old in (new, aside):
        with suppress(OSError):  # the site is written; what is left over goes with the next run
            _remove(old)


def _exchange(one: Path, other: Path) -> bool:
    """Let two names change places in one step; False where the system or the disk has no such step."""
    if not sys.platform.startswith("linux"):
        return False
    rename = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if rename is None:
        return False
    if rename(AT_FDCWD, os.fsencode(one), AT_FDCWD, os.fsencode(other), RENAME_EXCHANGE) == 0:
        return True
    code = ctypes.get_errno()
    if code in (errno.ENOSYS, errno.EINVAL, errno.ENOTSUP):
        return False
    raise OSError(code, os.strerror(code), str(other))


def _beside(out: Path, what: str) -> Path:
    return out.with_name(f".{out.name}.journal-{what}")


def _remove(path: Path) -> None:
    """Remove a folder of ours; a link of that name goes, never what it points to."""
    if path.is_symlink() or path.is_file():
        path.unlink()
    elif path.is_dir():
        shutil.rmtree(path)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


# -- one run at a time, faults in plain words ----------------------------------------------------------------


@contextmanager
def _alone(out: Path) -> Iterator[None]:
    """Hold the lock beside `out`; a second run is told so. The system drops the lock of a killed run."""
    lock = _beside(out, "lock")
    out.parent.mkdir(parents=True, exist_ok=True)
    with locked(lock, wait=False) as mine:
        if not mine:
            raise WriteFault(f'Another run is writing "{out}" at this moment.', "Wait until it is done.")
        try:
            yield
        finally:
            with suppress(OSError):
                lock.unlink()


@contextmanager
def locked(lock: Path, *, wait: bool) -> Iterator[bool]:
    """Hold a lock file; gives False at once if somebody else does and we are not to wait."""
    while True:
        handle = os.open(lock, os.O_RDWR | os.O_CREAT | getattr(os, "O_CLOEXEC", 0), 0o666)
        try:
            if not _take(handle, wait):
                yield False
                return
            if _is_current(handle, lock):
                yield True
                return
        finally:
            os.close(handle)


def _take(handle: int, wait: bool) -> bool:
    if fcntl is None:
        return True
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
    except BlockingIOError:
        return False
    except OSError:  # a disk without locks: better no lock than no site
        return True
    return True


def _is_current(handle: int, lock: Path) -> bool:
    """Whether the file locked is still the one of that name: its last holder may have removed it."""
    try:
        return os.path.samestat(os.fstat(handle), os.stat(lock))
    except FileNotFoundError:
        return False


_REASONS = {
    errno.ENOSPC: ("The disk is full", "Make room and run it again."),
    errno.EDQUOT: ("Your share of the disk is used up", "Make room and run it again."),
    errno.EACCES: ("This folder may not be written to", "Change its permissions or name another folder."),
    errno.EPERM: ("This folder may not be written to", "Change its permissions or name another folder."),
    errno.EROFS: ("This disk is read-only", "Name a folder on another disk."),
    errno.EBUSY: ("This folder is a disk of its own or in use", "Name a folder inside it."),
    errno.ENAMETOOLONG: ("A name is too long for this disk", "Shorten the name."),
}


@contextmanager
def in_plain_words(target: Path) -> Iterator[None]:
    """Say in plain words what the system refused while something was written at `target`."""
    try:
        yield
    except OSError as fault:
        reason, help = _REASONS.get(
            fault.errno or 0, (fault.strerror or "The system refused", "Run it again.")
        )
        where = fault.filename if isinstance(fault.filename, str) else str(target)
        raise WriteFault(f'{reason}: "{where}". "{target}" was not changed.', help) from fault
