"""The commands as a person runs them: what they print, how they end, what they leave alone."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from journal.cli import main

EXAMPLE = Path(__file__).parent.parent / "example_build"
DAY = "2026-03-21 left sill"
NOTE = """# Left sill

```removed bracket, left
from: sill, left
held by: 2 spot welds
hole to flange edge: 18 mm by rule
```
"""


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture
def build(tmp_path: Path) -> Path:
    folder = tmp_path / "truck"
    (folder / DAY).mkdir(parents=True)
    (folder / "build.toml").write_text('title = "Truck"\n', encoding="utf-8")
    (folder / DAY / "note.md").write_text(NOTE, encoding="utf-8")
    return folder


def test_check_points_at_the_line(build: Path) -> None:
    result = run("check", build, "--as-of", "2026-04-01")
    assert result.exit_code == 0, result.output
    assert f"{DAY}/note.md:3:1: warning: bracket, left is off and partly recorded" in result.output
    assert "    ```removed bracket, left\n    ^^^" in result.output
    assert "[partly-recorded]" in result.output


def test_check_as_json_keeps_the_contract(build: Path) -> None:
    (build / DAY / "note.md").write_text(NOTE + "\n```removed clip\nlength: 600\n```\n", encoding="utf-8")
    result = run("check", build, "--json", "--as-of", "2026-04-01")
    assert result.exit_code == 1  # a number without a unit is a problem
    findings = json.loads(result.output)["findings"]
    keys = {"severity", "word", "message", "file", "line", "column", "end", "help", "notes", "data"}
    assert all(set(finding) == keys for finding in findings)
    assert all(set(finding["data"]) == {"part", "host", "measurement"} for finding in findings)
    no_unit = next(finding for finding in findings if finding["word"] == "no-unit")
    assert (no_unit["file"], no_unit["line"], no_unit["column"], no_unit["end"]) == (f"{DAY}/note.md", 10, 9, 12)
    partly = next(finding for finding in findings if finding["word"] == "partly-recorded")
    assert partly["data"] == {"part": "bracket-left", "host": "sill-left", "measurement": None}


def test_make_find_where(build: Path) -> None:
    made = run("make", build, "--as-of", "2026-04-01")
    assert made.exit_code == 0, made.output
    assert (build / "site" / "index.html").is_file()
    found = run("find", build, "18 mm", "--as-of", "2026-04-01")
    assert "bracket, left" in found.output
    assert "note.md:6" in found.output
    where = run("where", build, "bracket", "--as-of", "2026-04-01")
    assert "partly recorded" in where.output
    assert "can slide along the flange edge" in where.output
    assert "hole to flange edge: 18 mm by rule" in where.output


def test_a_second_make_changes_nothing(build: Path) -> None:
    run("make", build, "--as-of", "2026-04-01")
    before = {path: path.stat().st_mtime_ns for path in (build / "site").rglob("*")}
    again = run("make", build, "--as-of", "2026-04-01")
    assert "nothing changed" in again.output
    assert {path: path.stat().st_mtime_ns for path in (build / "site").rglob("*")} == before


def test_nothing_changes_beside_a_file_that_is_kept(build: Path) -> None:
    (build / "build.toml").write_text('title = "Truck"\nkeep = ["CNAME"]\n', encoding="utf-8")
    run("make", build, "--as-of", "2026-04-01")
    (build / "site" / "CNAME").write_text("truck.example\n", encoding="utf-8")
    assert "nothing changed" in run("make", build, "--as-of", "2026-04-01").output
    assert (build / "site" / "CNAME").is_file()
    (build / "site" / "other").write_text("x", encoding="utf-8")
    assert "nothing changed" not in run("make", build, "--as-of", "2026-04-01").output


@pytest.mark.parametrize("words", [("check",), ("make",), ("find", "clip"), ("where", "clip")], ids=" ".join)
def test_a_cache_that_leads_elsewhere_is_told(build: Path, tmp_path: Path, words: tuple[str, ...]) -> None:
    (build / ".journal-cache").symlink_to(tmp_path)
    result = run(words[0], build, *words[1:])
    assert result.exit_code == 1
    assert '.journal-cache" is a link' in result.output
    assert "Traceback" not in result.output


def test_a_note_changed_is_made_again(build: Path) -> None:
    run("make", build, "--as-of", "2026-04-01")
    (build / DAY / "note.md").write_text(NOTE.replace("18 mm", "19 mm"), encoding="utf-8")
    run("make", build, "--as-of", "2026-04-01")
    assert "19 mm" in (build / "site" / "parts" / "bracket-left" / "index.html").read_text(encoding="utf-8")


def test_a_site_somebody_touched_is_made_again(build: Path) -> None:
    run("make", build, "--as-of", "2026-04-01")
    page = build / "site" / "index.html"
    page.unlink()
    assert run("make", build, "--as-of", "2026-04-01").exit_code == 0
    assert page.is_file()


def test_make_refuses_a_folder_it_did_not_make(build: Path, tmp_path: Path) -> None:
    other = tmp_path / "letters"
    other.mkdir()
    (other / "letter.txt").write_text("dear", encoding="utf-8")
    result = run("make", build, "-o", other)
    assert result.exit_code == 1
    assert "Traceback" not in result.output
    assert (other / "letter.txt").read_text(encoding="utf-8") == "dear"
    assert [path.name for path in other.iterdir()] == ["letter.txt"]


def test_start_then_check_and_nothing_is_overwritten(tmp_path: Path) -> None:
    folder = tmp_path / "new build"
    assert run("start", folder, "--title", 'My "truck"').exit_code == 0
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    again = run("start", folder)
    assert again.exit_code == 1
    assert "is a build already" in again.output
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before
    checked = run("check", folder)
    assert checked.exit_code == 0, checked.output
    assert "problem" not in checked.output.replace("0 problems", "")


def test_explain_lists_and_explains() -> None:
    listed = run("explain")
    assert listed.exit_code == 0
    assert "partly-recorded" in listed.output
    one = run("explain", "partly-recorded")
    assert one.exit_code == 0
    assert "partly-recorded (warning)" in one.output
    wrong = run("explain", "partly-recordd")
    assert wrong.exit_code == 2
    assert "the nearest is partly-recorded" in wrong.output


@pytest.mark.parametrize(
    "words",
    [("check",), ("check", "no such folder"), ("make", EXAMPLE, "--as-of", "yesterday"), ("what",)],
)
def test_wrong_usage_ends_with_two(words: tuple[str, ...]) -> None:
    assert run(*words).exit_code == 2


def test_a_part_that_is_not_there_is_told_with_the_nearest_name(build: Path) -> None:
    result = run("where", build, "brackt")
    assert result.exit_code == 1
    assert 'the nearest name is "bracket"' in result.output


def test_help_names_every_command() -> None:
    result = run("--help")
    for command in main.commands:
        assert f"\n  {command} " in result.output


def test_nothing_of_the_build_is_ever_changed(build: Path) -> None:
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in (build / DAY).iterdir()}
    for words in (("check", build), ("make", build), ("make", build, "--edition", "shop"), ("find", build, "x")):
        run(*words)
    assert {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in (build / DAY).iterdir()} == before


def test_gather_copies_and_says_where(build: Path, tmp_path: Path) -> None:
    phone = tmp_path / "phone"
    phone.mkdir()
    photo = next((EXAMPLE / "2026-03-07 arrival").glob("IMG_0412*"))
    (phone / photo.name).write_bytes(photo.read_bytes())
    tried = run("gather", phone, "--into", build, "--dry-run")
    assert "would copy" in tried.output
    assert not list(build.glob("2026-03-07*"))
    done = run("gather", phone, "--into", build)
    assert done.exit_code == 0, done.output
    assert "1 copied" in done.output
    assert (build / "2026-03-07" / photo.name).read_bytes() == photo.read_bytes()
    again = run("gather", phone, "--into", build)
    assert "0 copied, 1 there already" in again.output
    assert (phone / photo.name).exists()
