"""Two folders change names in one step, so that there is always a complete one of the name that counts.

On Linux that step is one exchange (renameat2); elsewhere, and on disks that have none, it is two renames, and a
run killed between them is put right by `heal`.
"""

from __future__ import annotations

import errno
import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from journal.ground.atomic import WriteFault, locked

RENAME_EXCHANGE = 2  # linux/fs.h
AT_FDCWD = -100  # fcntl.h


def heal(out: Path) -> None:
    """Put right what a killed run left: an old site set aside comes back, half-made folders go."""
    new, aside = beside(out, "new"), beside(out, "old")
    if os.path.lexists(aside) and not os.path.lexists(out):
        os.rename(aside, out)
    for leftover in (new, aside):
        remove(leftover)


def swap(out: Path) -> Path:
    """The new site takes the old one's name; gives where the old one is then, if there was one."""
    new, aside = beside(out, "new"), beside(out, "old")
    if not os.path.lexists(out):
        os.rename(new, out)
    elif not _exchange(new, out):
        os.rename(out, aside)
        try:
            os.rename(new, out)
        except OSError:
            os.rename(aside, out)
            raise
        return aside
    return new


def _exchange(one: Path, other: Path) -> bool:
    """Let two names change places in one step; False where the system or the disk has no such step."""
    if not sys.platform.startswith("linux"):
        return False
    import ctypes  # late: a run that changes nothing does not need it

    rename = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if rename is None:
        return False
    if rename(AT_FDCWD, os.fsencode(one), AT_FDCWD, os.fsencode(other), RENAME_EXCHANGE) == 0:
        return True
    code = ctypes.get_errno()
    if code in (errno.ENOSYS, errno.EINVAL, errno.ENOTSUP):
        return False
    raise OSError(code, os.strerror(code), str(other))


def beside(out: Path, what: str) -> Path:
    return out.with_name(f".{out.name}.journal-{what}")


def remove(path: Path) -> None:
    """Remove a folder of ours; a link of that name goes, never what it points to."""
    if path.is_symlink() or path.is_file():
        path.unlink()
    elif path.is_dir():
        shutil.rmtree(path)


@contextmanager
def alone(out: Path) -> Iterator[None]:
    """Hold the lock beside `out`; a second run is told so. The system drops the lock of a killed run."""
    lock = beside(out, "lock")
    out.parent.mkdir(parents=True, exist_ok=True)
    with locked(lock, wait=False) as mine:
        if not mine:
            raise WriteFault(f'Another run is writing "{out}" at this moment.', "Wait until it is done.")
        try:
            yield
        finally:
            with suppress(OSError):
                lock.unlink()
