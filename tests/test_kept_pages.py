"""Pages kept between runs: the site is the one made without them, and only what shows a change is made again."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from journal.ground import kept_work
from journal.make import lay_out
from journal.pages import render, theme
from tests.builds import TITLE, write_build
from tests.site_fixture import EXAMPLE

SILL = """```removed: sill, left
held by: spot welds
where: left side
```
"""
NOTE = """```removed: {part}
from: sill, left
held by: 2 bolts, M8
hole to rear end: {size} mm
```

A word about the {part}.
"""
BUILD = {
    "build.toml": TITLE,
    "2026-05-01 sill/notes.md": SILL,
    "2026-05-02 bracket/notes.md": NOTE.format(part="bracket", size=120),
    "2026-05-03 clip/notes.md": NOTE.format(part="clip", size=340),
}
TODAY = date(2026, 5, 9)


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The pages that are made while a test runs."""
    found: list[str] = []
    page = render._page

    def watched(*given: object) -> bytes:
        found.append(given[2].path)  # type: ignore[attr-defined]
        return page(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(render, "_page", watched)
    return found


def pages(build: Path, edition: str = "public") -> dict[str, bytes]:
    site = lay_out(build, edition, TODAY, None).site
    return {path: content for path, content in site.items() if path.endswith(".html") and isinstance(content, bytes)}


def kept(build: Path) -> Iterator[Path]:
    return (build / ".journal-cache" / "pages").rglob("*.kept")


def test_a_note_that_changes_one_reading_costs_the_pages_that_show_it(tmp_path: Path, made: list[str]) -> None:
    build = write_build(tmp_path, BUILD)
    before = pages(build)
    assert sorted(made) == sorted(before), "all are made the first time"
    made.clear()
    assert pages(build) == before
    assert not made
    write_build(tmp_path, {"2026-05-03 clip/notes.md": NOTE.format(part="clip", size=350)})
    after = pages(build)
    assert set(made) == {path for path in after if after[path] != before[path]}
    assert "parts/clip/index.html" in made
    assert "parts/bracket/index.html" not in made
    assert len(list(kept(build))) == len(after), "what the site no longer shows is not kept"


def test_what_is_only_told_in_the_story_counts(tmp_path: Path, made: list[str]) -> None:
    build = write_build(tmp_path, BUILD)
    pages(build)
    made.clear()
    write_build(tmp_path, {"2026-05-03 clip/notes.md": NOTE.format(part="clip", size=340) + "\nIt was **tight**.\n"})
    assert b"<strong>tight</strong>" in pages(build)["days/2026-05-03/index.html"]
    assert made == ["days/2026-05-03/index.html"]


def test_the_kept_site_is_the_site(tmp_path: Path) -> None:
    """Of the example: a build without a cache, a first and a second one with it."""
    build = tmp_path / "example"
    shutil.copytree(EXAMPLE, build)
    for edition in ("public", "shop"):
        first, second = pages(build, edition), pages(build, edition)
        shutil.rmtree(build / ".journal-cache" / "pages")
        assert first == second == pages(build, edition)


@pytest.mark.parametrize("damage", [b"", b"short", None])
def test_a_kept_page_that_is_damaged_is_made_again(tmp_path: Path, made: list[str], damage: bytes | None) -> None:
    build = write_build(tmp_path, BUILD)
    before = pages(build)
    made.clear()
    hurt = max(kept(build), key=lambda path: path.stat().st_size)
    whole = hurt.read_bytes()
    hurt.write_bytes(whole.replace(b"340", b"430") if damage is None else damage)
    assert hurt.read_bytes() != whole
    assert pages(build) == before
    assert len(made) == 1
    assert hurt.read_bytes() == whole


def test_editions_and_themes_have_pages_of_their_own(tmp_path: Path, made: list[str]) -> None:
    build = write_build(tmp_path, BUILD)
    public = pages(build)
    assert pages(build, "shop").keys() == public.keys()
    made.clear()
    pages(build)
    assert not made, "the shop's pages do not displace those of the public edition"
    text = '{% extends "bench/base.html" %}{% block footer %}MINE{% endblock %}'
    own = {"build.toml": TITLE + 'theme = "own"\n', "themes/own/theme.toml": 'over = "bench"\n'}
    write_build(tmp_path, own | {"themes/own/templates/elsewhere.html": text})
    assert pages(build) == public
    made.clear()
    (build / "themes/own/templates/elsewhere.html").rename(build / "themes/own/templates/base.html")
    pages(build)
    assert len(made) == len(public), "the same words under another name make every page anew"


COUNT = """
import sys
from datetime import date
from pathlib import Path
from journal.ground import kept_work
from journal.make import lay_out
from journal.pages import render, theme
page, made = render._page, []
render._page = lambda *given: made.append(1) or page(*given)
lay_out(Path(sys.argv[1]), "public", date(2026, 5, 9), None)
print(len(made))
"""


def test_another_process_knows_the_pages_again(tmp_path: Path) -> None:
    build = write_build(tmp_path, BUILD)

    def count(seed: str) -> int:
        command = [sys.executable, "-c", COUNT, str(build)]
        run = subprocess.run(command, capture_output=True, text=True, check=True, env={"PYTHONHASHSEED": seed})
        return int(re.sub(r"\D", "", run.stdout))

    assert count("1") > 10
    assert count("2") == 0


def test_what_came_with_a_build_from_another_machine_is_not_taken(
    tmp_path: Path, made: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    build = write_build(tmp_path, BUILD)
    before = pages(build)
    there = set((build / ".journal-cache").rglob("*"))
    made.clear()
    monkeypatch.setattr(kept_work, "of_this_machine", lambda: "another")
    monkeypatch.setattr(theme, "of_this_machine", lambda: "another")
    assert pages(build) == before
    assert sorted(made) == sorted(before)
    compiled = [path for path in (build / ".journal-cache" / "templates").iterdir() if path not in there]
    assert compiled, "compiled templates are code"
    assert all(path.name.startswith("another-") for path in compiled)
