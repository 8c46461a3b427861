"""Drawings kept between runs: the same as drawn anew, whatever happened to what is kept."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from journal.ground import ahead
from journal.ground.ahead import make_ahead
from journal.ground.kept_work import UNUSED, KeptWork, code_of
from journal.pages import kept_drawings, plate
from journal.pages.kept_drawings import KeptDrawings, Sitter
from tests.plates import REAR, flange, lid

SITTERS = (
    Sitter(flange(), "position-1", "told", "mm"),
    Sitter(flange(REAR), "position-1", "told", "in"),
    Sitter(flange(other_spot=True), "position-2", "told “so”, 3″", "mm"),
    Sitter(lid(), "position-1", "told", "mm"),
)


@pytest.mark.parametrize("sitter", SITTERS)
def test_what_is_kept_is_what_is_drawn(sitter: Sitter, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    drawn = KeptDrawings(tmp_path).of(sitter)
    assert drawn == sitter.draw()
    assert drawn
    monkeypatch.setattr(kept_drawings, "drawings", lambda *_: pytest.fail("drawn again"))
    assert KeptDrawings(tmp_path).of(sitter) == drawn


def test_every_difference_is_drawn_anew(tmp_path: Path) -> None:
    kept = KeptDrawings(tmp_path)
    for sitter in SITTERS:
        kept.of(sitter)
    assert len(list((tmp_path / "drawings").iterdir())) == len(SITTERS)


@pytest.mark.parametrize("damage", [b"", b"[", b"[{}]", b"[1]", b"\xff", b'{"a": 1}'])
def test_what_is_damaged_is_drawn_again(tmp_path: Path, damage: bytes) -> None:
    KeptDrawings(tmp_path).of(SITTERS[0])
    (file,) = (tmp_path / "drawings").iterdir()
    whole = file.read_bytes()
    file.write_bytes(damage)
    assert KeptDrawings(tmp_path).of(SITTERS[0]) == SITTERS[0].draw()
    assert file.read_bytes() == whole


def test_many_are_drawn_ahead_by_other_processes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ahead, "WORTH", 1)
    monkeypatch.setattr(ahead, "cores", lambda: 2)
    make_ahead(map(KeptDrawings(tmp_path).missing, SITTERS))
    monkeypatch.setattr(kept_drawings, "drawings", lambda *_: pytest.fail("drawn again"))
    kept = KeptDrawings(tmp_path)
    assert all(kept.of(sitter) for sitter in SITTERS)
    assert not any(kept.missing(sitter) for sitter in SITTERS)


def test_without_a_cache_nothing_is_kept() -> None:
    assert KeptDrawings(None).of(SITTERS[0]) == SITTERS[0].draw()


def test_what_no_site_asks_for_is_taken_away_in_time(tmp_path: Path) -> None:
    first = KeptWork(tmp_path, code_of(plate))
    old, new, used = (first.file(key, "txt", key.encode) for key in ("old", "new", "used"))
    assert isinstance(old, Path)
    assert isinstance(new, Path)
    assert isinstance(used, Path)
    long_ago = time.time() - UNUSED - 60
    for path in (old, used):
        os.utime(path, (long_ago, long_ago))
    second = KeptWork(tmp_path, code_of(plate))
    second.path("used", "txt")
    second.forget()
    assert (old.exists(), new.exists(), used.exists()) == (False, True, True)
