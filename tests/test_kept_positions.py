"""Positions kept between runs: a judgement with them is the judgement without, whatever was judged before."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from journal.build import read as read_build
from journal.build import tell
from journal.judge import positions
from journal.judge.kept_positions import read, written
from journal.judge.verdicts import Judgement
from tests.builds import write_build

HERE = Path(__file__).parent
EXAMPLE = HERE.parent / "example_build"
DAYS = (date(2026, 3, 22), date(2026, 4, 11), date(2026, 5, 9))


def judged(build: Path, cache: Path | None, as_of: date = DAYS[-1]) -> Judgement:
    return tell(read_build(build, as_of), {}, as_of=as_of, cache=cache).judgement


def test_every_position_is_read_back_as_it_was() -> None:
    found = [position for day in DAYS for position in judged(EXAMPLE, None, day).positions]
    assert len(found) > 10
    assert any(position.alternatives for position in found)
    assert any(position.suspects for position in found)
    found.append(replace(found[0], unsolved={None: "the host", "clip": "a reading"}, suspect=None, axes=(None, "z")))
    for position in found:
        assert read(written([position, position])) == [position, position]


def test_a_second_run_solves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = judged(EXAMPLE, tmp_path)
    monkeypatch.setattr(positions, "SolvedFace", lambda *_: pytest.fail("solved again"))
    assert judged(EXAMPLE, tmp_path) == first


@pytest.mark.parametrize("damage", [b"", b"{", b"[]", b"{}", b"null", b"\xff"])
def test_what_is_damaged_is_solved_again(tmp_path: Path, damage: bytes) -> None:
    first = judged(EXAMPLE, tmp_path)
    for file in (tmp_path / "positions").iterdir():
        file.write_bytes(damage)
    assert judged(EXAMPLE, tmp_path) == first
    assert not [file for file in (tmp_path / "positions").iterdir() if file.read_bytes() == damage]


def variants() -> Iterator[tuple[str, str]]:
    """The example with one line less, or one number other, of every note."""
    for note in sorted(EXAMPLE.glob("20*/*.md")):
        lines = note.read_text(encoding="utf-8").splitlines(keepends=True)
        for number, line in enumerate(lines):
            if re.match(r"[a-z][^:`#]*: ", line) and number % 3 == 0:
                where = note.relative_to(EXAMPLE).as_posix()
                more = re.sub(r"\d+", lambda found: str(int(found[0]) + 1), line)
                yield where, "".join([*lines[:number], *lines[number + 1 :]])
                yield where, "".join([*lines[:number], more, *lines[number + 1 :]])


@pytest.mark.slow
def test_every_small_change_of_the_example_is_seen(tmp_path: Path) -> None:
    """One cache for all of them: what an earlier state left there is never taken for another."""
    files = {
        path.relative_to(EXAMPLE).as_posix(): path.read_text(encoding="utf-8")
        for path in (*sorted(EXAMPLE.glob("20*/*.md")), EXAMPLE / "build.toml")
    }
    tried = 0
    for number, (where, text) in enumerate(variants()):
        build = tmp_path / str(number)
        for name, content in {**files, where: text}.items():
            (build / name).parent.mkdir(parents=True, exist_ok=True)
            (build / name).write_text(content, encoding="utf-8")
        assert judged(build, tmp_path / "cache") == judged(build, None), (where, number)
        tried += 1
    assert tried > 50


LINES = (
    "hole to flange edge: 16 mm", "hole to flange edge: 18 mm", "hole to rear end: 400 mm by tape",
    "hole to rear end: 401 mm by rule", "slot to flange edge: 30 mm", "slot to rear end: 455 mm",
    "slot to hole: 57 mm", "hole to jig hole: 120 mm", "slot to jig hole: 80 mm", "foot square to web",
    "way round: foot down", "way round: foot up", "hole diameter: 10 mm", "hole edge to web: 9 mm", "held by: 2 bolts",
)  # fmt: skip
slips = st.builds(
    lambda part, lines: "\n".join([f"```removed {part}", "from: sill", *lines, "```\n"]),
    st.sampled_from(("bracket", "clip", "stay")),
    st.lists(st.sampled_from(LINES), min_size=3, max_size=9, unique=True),
)


@settings(max_examples=120, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(written_slips=st.lists(slips, min_size=1, max_size=4))
def test_random_faces_are_never_taken_for_one_another(
    written_slips: list[str], tmp_path_factory: pytest.TempPathFactory
) -> None:
    cache = Path(tmp_path_factory.getbasetemp()) / "shared cache of all examples"
    build = tmp_path_factory.mktemp("build")
    host = "```part sill\nfrom: frame\njig hole to rear end: 500 mm\njig hole to flange edge: 40 mm\n```\n"
    notes = {f"2026-03-0{n}/note.md": slip for n, slip in enumerate((host, *written_slips), 1)}
    write_build(build, notes)
    assert judged(build, cache) == judged(build, None)
