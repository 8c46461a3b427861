"""Notes kept between runs: what is read back is what the parser made, and what is not ours is never read."""

from __future__ import annotations

import io
import pickle
import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest

from journal.build import read
from journal.make import CACHE
from journal.notes import kept_notes
from journal.notes.kept_notes import KeptNotes
from journal.notes.parse import NoteSettings
from tests.notes_cases import FOLDER, read_cases
from tests.site_fixture import EXAMPLE

USUAL = NoteSettings()
CASES = [(path.stem, case) for path in sorted(FOLDER.glob("*.md")) for case in read_cases(path)]
NOTE = """```removed: bracket
from: sill, left
hole to rear end: 1 1/2 in by rule, about
nonsense without an end
```

A word, *and* ![one](a.jpg).
"""


def whole(note: object) -> str:
    """With all its places in the file, which take no part when notes are compared."""
    return repr(note)


@pytest.mark.parametrize(("name", "case"), CASES, ids=lambda value: value if isinstance(value, str) else "")
def test_what_is_read_back_is_what_was_parsed(name: str, case: object) -> None:
    parsed = kept_notes._parse("a/note.md", case.text.encode(), case.settings)  # type: ignore[attr-defined]
    assert whole(kept_notes.read(kept_notes.written(parsed))) == whole(parsed)


def test_a_note_that_is_the_same_is_not_parsed_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = KeptNotes(tmp_path, USUAL).of("a/note.md", NOTE.encode())
    monkeypatch.setattr(kept_notes, "parse_note", lambda *_: pytest.fail("parsed again"))
    assert whole(KeptNotes(tmp_path, USUAL).of("a/note.md", NOTE.encode())) == whole(first)


@pytest.mark.parametrize(
    ("file", "data", "settings"),
    [
        ("b/note.md", NOTE, USUAL),
        ("a/note.md", NOTE + " ", USUAL),
        ("a/note.md", NOTE, NoteSettings(sides=("port", "starboard"))),
        ("a/note.md", NOTE, NoteSettings(bare="in")),
        ("a/note.md", NOTE, NoteSettings(decimal=",")),
    ],
)
def test_another_file_text_or_setting_is_another_note(
    tmp_path: Path, file: str, data: str, settings: NoteSettings
) -> None:
    KeptNotes(tmp_path, USUAL).of("a/note.md", NOTE.encode())
    assert KeptNotes(tmp_path, settings).missing(file, data.encode())
    assert not KeptNotes(tmp_path, USUAL).missing("a/note.md", NOTE.encode())


def test_what_is_damaged_is_parsed_again(tmp_path: Path) -> None:
    first = KeptNotes(tmp_path, USUAL).of("a/note.md", NOTE.encode())
    (kept,) = (tmp_path / "notes").iterdir()
    good = kept.read_bytes()
    for bad in (b"", good[:40], good[:-1], good[:60] + bytes([good[60] ^ 1]) + good[61:], b"x" * len(good)):
        kept.write_bytes(bad)
        assert whole(KeptNotes(tmp_path, USUAL).of("a/note.md", NOTE.encode())) == whole(first)
        assert kept.read_bytes() == good, "and kept anew"


@dataclass(frozen=True, slots=True)
class None_:
    """No field."""


@dataclass(frozen=True, slots=True)
class One:
    only: tuple[int, ...]


@pytest.mark.parametrize("record", [None_(), One((1, 2)), One(())])
def test_a_record_of_one_field_or_none_is_written_like_the_others(record: object) -> None:
    text = io.BytesIO()
    pickler = pickle.Pickler(text, 5)
    pickler.dispatch_table = kept_notes.REDUCERS
    pickler.dump(record)
    assert pickle.loads(text.getvalue()) == record


class Runs:
    def __reduce__(self) -> tuple[object, tuple[str]]:
        return pytest.fail, ("it ran",)


def test_nothing_but_records_is_made_of_what_is_kept() -> None:
    for thing in (Runs(), Path("a"), print, kept_notes.KeptNotes):
        with pytest.raises(ValueError, match="no record"):
            kept_notes.read(pickle.dumps(thing))


def test_a_build_read_with_the_cache_is_the_build_read_without(tmp_path: Path) -> None:
    build = tmp_path / "build"
    shutil.copytree(EXAMPLE, build, ignore=shutil.ignore_patterns(CACHE, "site*"))
    first = read(build)
    assert list((build / CACHE / "notes").iterdir())
    again = read(build)
    assert whole(again.notes) == whole(first.notes)
    assert whole(again.findings) == whole(first.findings)
    assert again.sources == first.sources
