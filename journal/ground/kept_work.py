"""What is slow to make and rarely changes, kept in the build's cache under a digest of all it was made from.

Another input or another program gives another digest, so nothing kept is ever out of date; what no site asked for in
a while is taken away. Only bytes are kept, never objects that run code when they are read.

A build may come from somebody else, cache and all, and they may have seen an earlier cache of it. So names are made
with a key that only this machine has, and what is read back is signed with it, under its name: what was made elsewhere,
or for another name, is never read, published or run. The key itself is never kept.
"""

from __future__ import annotations

import hmac
import os
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, fields, is_dataclass
from errno import ENOENT
from functools import cache
from hashlib import sha256
from operator import attrgetter
from pathlib import Path
from stat import S_ISREG
from types import ModuleType
from typing import Any, TypeVar

from journal.ground.atomic import LEFT, is_part, take_away, write_whole
from journal.ground.records import record

Made = TypeVar("Made")
Written = Callable[[Made], bytes]
Read = Callable[[bytes], Made]
Values = Callable[[Any], tuple[Any, ...]]
RESULT = "kept"  # how the files of results end; they are signed, all others are published as they are
MACHINE = "/etc/machine-id"  # on Linux: a number of its own, that whoever keeps it secret may sign with (machine-id(5))
SUM = sha256().digest_size
UNUSED = 30 * 24 * 3600.0  # seconds: the other edition may want it


@record
class Piece:
    """A file of the cache that is not there yet, and what makes its bytes; another process can be given both."""

    path: Path
    make: Callable[[], bytes]

    def do(self) -> None:
        with suppress(OSError):  # whoever wants it makes it then, and says what is in the way
            _keep(self.path, self.make())


@dataclass
class KeptWork:
    """A folder of the cache; without one nothing is kept.

    program  files, or folders of them, whose code makes what is kept here
    unused   seconds that a thing nobody asks for is kept; 0 where one site alone asks for what is in this folder
    used     names of what was asked for
    """

    folder: Path | None
    program: Sequence[Path]
    unused: float = UNUSED
    used: set[str] = field(default_factory=set)
    _digest: str = ""

    def path(self, key: str, ending: str) -> Path | None:
        """Where what is made from `key` (everything that matters, as text) is kept, there or not."""
        if self.folder is None:
            return None
        self._digest = self._digest or _digest_of(self.program)
        name = f"{keyed(f'{self._digest}|{key}')}.{ending}"
        self.used.add(name)
        return self.folder / name

    def missing(self, key: str, make: Callable[[], bytes], ending: str = RESULT) -> Piece | None:
        """What is to be done for a thing that is not kept yet; None where it is, and where nothing is kept."""
        path = self.path(key, ending)
        return None if path is None or _is_there(path) else Piece(path, make)

    def file(self, key: str, ending: str, make: Callable[[], bytes]) -> bytes | Path:
        """The file that holds it, made now if it is not there; the bytes where nothing can be kept."""
        path = self.path(key, ending)
        if path is None:
            return make()
        if not _is_there(path):
            made = make()
            try:
                _keep(path, made)
            except OSError:
                return made
        return path

    def result(self, key: str, make: Callable[[], Made], written: Written[Made], read: Read[Made]) -> Made:
        """What is made from `key`: read back, else made and kept.

        Whatever is damaged is made again, and what cannot be kept is made again the next time.
        """
        path = self.path(key, RESULT)
        if path is None:
            return make()
        with suppress(OSError, ValueError, TypeError, KeyError):
            return read(unsigned(path.name, read_kept(path)))
        made = make()
        with suppress(OSError):
            _keep(path, written(made))
        return made

    def forget(self, used: Iterable[str] = ()) -> None:
        """Take away what nobody has asked for in a while; `used` are names that were asked for elsewhere."""
        if self.folder is None:
            return
        asked_for = self.used.union(used)

        def kept(name: str) -> float | None:
            if name in asked_for:
                return None
            return min(LEFT, self.unused) if is_part(name) else self.unused

        take_away(self.folder, kept)


def _keep(path: Path, made: bytes) -> None:
    """Put it there in one step. OSError where that cannot be done."""
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, signed(path.name, made) if path.suffix == f".{RESULT}" else made)


def _is_there(path: Path) -> bool:
    """Whether a file of that name is kept; a link is none of ours, and what it leads to would be published."""
    try:
        return S_ISREG(os.lstat(path).st_mode)
    except OSError:
        return False


def read_kept(path: Path) -> bytes:
    """What a file of the cache holds. OSError where it is none: to open a pipe would wait for ever."""
    if not _is_there(path):
        raise FileNotFoundError(ENOENT, "nothing is kept there", str(path))
    return path.read_bytes()


def by_name(record: Any) -> dict[str, object]:
    """A record with slots as JSON is to have it, which asks again for those within."""
    return {name: getattr(record, name) for name in record.__slots__}


@cache
def values_of(record: type) -> Values | None:
    """What takes the values of the fields of such a record, in their order; None where it has no fields."""
    if not is_dataclass(record):
        return None
    names = [one.name for one in fields(record)]
    if len(names) > 1:
        return attrgetter(*names)
    return lambda made: tuple(getattr(made, name) for name in names)


def signed(name: str, data: bytes) -> bytes:
    """The data under a sum that only this machine can make, which takes in the name it is kept under."""
    return _sum(name, data) + data


def unsigned(name: str, kept: bytes) -> bytes:
    """The data; ValueError where it is damaged, was kept under another name, or was not signed on this machine."""
    data = kept[SUM:]
    if not hmac.compare_digest(_sum(name, data), kept[:SUM]):
        raise ValueError("not as it was kept")
    return data


def keyed(key: str) -> str:
    """A name for what is made from `key`, which nobody can make elsewhere."""
    return hmac.digest(of_this_machine(), key.encode("utf-8", "surrogatepass"), "sha256").hex()[:32]


def _sum(name: str, data: bytes) -> bytes:
    found = hmac.new(of_this_machine(), f"{name}\n".encode(), "sha256")
    found.update(data)
    return found.digest()


@cache
def of_this_machine() -> bytes:
    """The key: the number of this machine, and when this program and Python were put on its disk, to the nanosecond.

    Nothing that is kept or published may tell it: it is used by `keyed` and `_sum` alone. It lasts as long as this
    program is not put anew, so nothing has to be kept outside the build.
    """
    told: list[str] = []
    with suppress(OSError):
        told.append(Path(MACHINE).read_text("ascii", "replace"))
    for file in (__file__, os.__file__):
        with suppress(OSError):
            told.append(str(os.stat(file).st_ctime_ns))
    return sha256("|".join(told).encode()).digest()


def code_of(*modules: ModuleType) -> tuple[Path, ...]:
    return tuple(Path(module.__file__ or "") for module in modules)


def _digest_of(program: Sequence[Path]) -> str:
    digest = sha256()
    for path in program:
        for file in sorted(path.glob("*.py")) if path.is_dir() else (path,):
            digest.update(f"{file}|".encode("utf-8", "surrogateescape") + file.read_bytes())
    return digest.hexdigest()
