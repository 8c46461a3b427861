"""Single files written in one step, locks, and what the system refuses in plain words."""

from __future__ import annotations

import errno
import os
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

try:
    import fcntl
except ImportError:  # pragma: no cover - Windows has no flock; two runs at once are then not told apart
    fcntl = None  # type: ignore[assignment]


PART, PART_END = ".journal-", ".part"  # round the name of a file while it is written
LEFT = 60.0  # seconds after which nobody is at a part any more


class WriteFault(Exception):
    """Something could not be written; what stood before still stands.

    message  what is wrong, in plain words
    help     what to do about it; "" where there is nothing to add
    """

    def __init__(self, message: str, help: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.help = help


_REASONS = {
    errno.ENOSPC: ("The disk is full", "Make room and run it again."),
    errno.EDQUOT: ("Your share of the disk is used up", "Make room and run it again."),
    errno.EACCES: ("This folder may not be written to", "Change its permissions or name another folder."),
    errno.EPERM: ("This folder may not be written to", "Change its permissions or name another folder."),
    errno.EROFS: ("This disk is read-only", "Name a folder on another disk."),
    errno.EBUSY: ("This folder is a disk of its own or in use", "Name a folder inside it."),
    errno.ENAMETOOLONG: ("A name is too long for this disk", "Shorten the name."),
}


def refused(fault: OSError) -> tuple[str, str]:
    """What the system refused in plain words, and what to do about it."""
    return _REASONS.get(fault.errno or 0, (fault.strerror or "The system refused", "Run it again."))


@contextmanager
def in_plain_words(target: Path) -> Iterator[None]:
    """Say in plain words what the system refused while something was written at `target`."""
    try:
        yield
    except OSError as fault:
        reason, help = refused(fault)
        where = fault.filename if isinstance(fault.filename, str) else str(target)
        raise WriteFault(f'{reason}: "{where}". "{target}" was not changed.', help) from fault


def write_whole(path: Path, data: bytes) -> None:
    """Replace one file in one step: whoever looks, whenever, sees the old bytes or the new."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=PART, suffix=PART_END)
    try:
        with open(handle, "wb") as file:
            file.write(data)
        os.chmod(name, 0o666 & ~_umask())
        os.replace(name, path)
    except BaseException:
        with suppress(OSError):
            os.unlink(name)
        raise


def sweep(folder: Path) -> None:
    """Take away what was left there by writes that were killed: parts that nobody has touched for a while."""
    take_away(folder, lambda name: LEFT if is_part(name) else None)


def is_part(name: str) -> bool:
    """Whether a file of that name is one being written, or was when its writer was killed."""
    return name.startswith(PART) and name.endswith(PART_END)


def take_away(folder: Path, kept: Callable[[str], float | None]) -> None:
    """Remove files that nobody has touched for longer than `kept` says of their name, in seconds; None: for ever."""
    now = time.time()
    with suppress(OSError), os.scandir(folder) as entries:
        for entry in list(entries):
            age = kept(entry.name)
            if age is not None and now - entry.stat().st_mtime > age:
                os.unlink(entry.path)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


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
