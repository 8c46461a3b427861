"""Notes as they were read, kept between runs: a note that is the same is not parsed again.

Kept is what the parser made of a file, under the file's bytes, the settings it reads by and its code. Of what lies
there only records are made, so nothing of it can run.
"""

from __future__ import annotations

import io
import pickle
from collections.abc import Callable
from dataclasses import is_dataclass
from fractions import Fraction
from functools import cache, partial
from hashlib import sha256
from importlib import import_module
from importlib.metadata import version
from pathlib import Path
from typing import Any

from journal.ground.decoding import decode
from journal.ground.finding import Finding
from journal.ground.kept_work import KeptWork, Piece, values_of
from journal.notes.parse import NoteSettings, parse_note
from journal.notes.records import Note

FOLDER = "notes"  # of the cache
TOP = Path(__file__).parents[1]
PROGRAM = (TOP / "notes", TOP / "measure", TOP / "ground")  # all that has a say in them
KNOWN = ("markdown_it.token.Token", "fractions.Fraction")  # besides the records of this program

Reduced = tuple[Callable[..., object], tuple[Any, ...]]  # as pickle wants it
ReadNote = tuple[Note, tuple[str, ...], tuple[Finding, ...]]  # with its lines and what was wrong with it


class KeptNotes:
    """The notes of a build; without a cache each is parsed."""

    def __init__(self, cache: Path | None, settings: NoteSettings) -> None:
        self.work = KeptWork(cache / FOLDER if cache else None, PROGRAM)
        self._settings = settings
        self._read_by = f"{settings!r}|markdown-it-py {version('markdown-it-py')}" if cache else ""

    def missing(self, file: str, data: bytes) -> Piece | None:
        """What is to be done for a note; None where it is kept already."""
        return self.work.missing(self._key(file, data), partial(_parsed, file, data, self._settings))

    def of(self, file: str, data: bytes) -> ReadNote:
        return self.work.result(self._key(file, data), partial(_parse, file, data, self._settings), written, read)

    def _key(self, file: str, data: bytes) -> str:
        return f"{self._read_by}|{file}|{sha256(data).hexdigest()}"


def _parse(file: str, data: bytes, settings: NoteSettings) -> ReadNote:
    source, found = decode(file, data)
    note, more = parse_note(source, settings)
    return note, source.lines, (*found, *more)


def _parsed(file: str, data: bytes, settings: NoteSettings) -> bytes:
    return written(_parse(file, data, settings))


def written(note: ReadNote) -> bytes:
    """A note as it is kept."""
    text = io.BytesIO()
    pickler = pickle.Pickler(text, 5)
    pickler.dispatch_table = REDUCERS
    pickler.dump(note)
    return text.getvalue()


class _Reducers(dict[type, Callable[[Any], Reduced]]):
    """How pickle is to write records: as what they are made from, which is quicker than by way of their slots."""

    def __missing__(self, record: type) -> Callable[[Any], Reduced]:
        values = values_of(record)
        if values is None:
            raise KeyError(record)
        self[record] = found = lambda made: (record, values(made))
        return found


REDUCERS = _Reducers({Fraction: lambda exact: (Fraction, exact.as_integer_ratio())})


def read(data: bytes) -> ReadNote:
    """A note from what is kept of it; ValueError where it is damaged."""
    try:
        note: ReadNote = _Records(io.BytesIO(data)).load()
    except (pickle.UnpicklingError, EOFError, AttributeError, ImportError, IndexError) as fault:
        raise ValueError(str(fault)) from fault
    return note


class _Records(pickle.Unpickler):
    """Makes records, and nothing else."""

    def find_class(self, module: str, name: str) -> type:
        return _record(module, name)


@cache
def _record(module: str, name: str) -> type:
    if module.startswith("journal.") or f"{module}.{name}" in KNOWN:
        found: object = getattr(import_module(module), name)
        if isinstance(found, type) and (is_dataclass(found) or found is Fraction):
            return found
    raise pickle.UnpicklingError(f"{module}.{name} is no record")
