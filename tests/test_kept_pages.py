"""Pages kept between runs: the site is the one made without them, and only what shows a change is made again."""

from __future__ import annotations

import io
import marshal
import os
import pickle
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from jinja2 import bccache

from journal.ground import kept_work
from journal.ground.atomic import WriteFault
from journal.make import lay_out, make_site, tell_build
from journal.pages import render
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
    cache = build / ".journal-cache"
    there = contents(cache)
    made.clear()
    monkeypatch.setattr(kept_work, "of_this_machine", lambda: b"another")
    assert pages(build) == before
    assert sorted(made) == sorted(before)
    assert {path.parent.name for path in there} >= {"templates", "notes", "public"}
    for folder in ("templates", "notes"):
        names = {path for path in contents(cache) if path.parent.name == folder}
        assert names - there.keys(), folder
        assert len(names) == 2 * len(names & there.keys()), "no name of another machine is one of ours"


def contents(cache: Path) -> dict[Path, bytes]:
    return {path: path.read_bytes() for path in cache.rglob("*") if path.is_file()}


def test_the_key_is_nowhere_in_the_cache(tmp_path: Path) -> None:
    build = write_build(tmp_path, BUILD)
    make_site(build, tmp_path / "site", "public", TODAY, None)
    key = kept_work.of_this_machine()
    for path, data in contents(build / ".journal-cache").items():
        assert key.hex()[:16] not in path.name + data.hex()


def evil(template: bytes) -> bytes:
    """A compiled template with code of somebody else in it."""
    code = compile("raise SystemExit('it ran')", "base.html", "exec")
    at = template.index(bccache.bc_magic)
    head = io.BytesIO(template[at + len(bccache.bc_magic) :])
    checksum = pickle.load(head)
    return template[:at] + bccache.bc_magic + pickle.dumps(checksum, 2) + marshal.dumps(code)


def test_what_somebody_put_into_a_cache_of_ours_is_not_taken(tmp_path: Path, made: list[str]) -> None:
    """They have seen the whole cache, and put their own under its names, or what is ours under another name."""
    build = write_build(tmp_path, BUILD)
    before = pages(build)
    for path, data in contents(build / ".journal-cache").items():
        if path.suffix == ".kept":
            path.write_bytes(data.replace(b"bracket", b"BRACKET"))
        if path.suffix == ".cache":
            path.write_bytes(evil(data))
    made.clear()
    assert pages(build) == before
    assert sorted(made) == sorted(path for path in before if b"bracket" in before[path])
    one, other = list(kept(build))[:2]
    one.write_bytes(other.read_bytes())
    assert pages(build) == before


def test_code_in_the_cache_would_run_if_it_were_taken(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The test above is worth something: signed with the key, the same bytes do run."""
    build = write_build(tmp_path, BUILD)
    pages(build)
    for path, data in contents(build / ".journal-cache" / "templates").items():
        path.write_bytes(kept_work.signed(path.name, evil(kept_work.unsigned(path.name, data))))
    write_build(tmp_path, {"2026-05-03 clip/notes.md": NOTE.format(part="clip", size=350)})
    with pytest.raises(SystemExit, match="it ran"):
        pages(build)


@pytest.mark.parametrize("place", ["{cache}", "{cache}/notes", "{cache}/photos", "{cache}/pages/public"])
def test_a_cache_that_leads_elsewhere_is_refused_and_nothing_there_is_taken_away(tmp_path: Path, place: str) -> None:
    build, home = write_build(tmp_path / "build", BUILD), tmp_path / "home"
    (home / "photos").mkdir(parents=True)
    letters = [home / "letter.txt", home / "photos" / "letter.txt"]
    for letter in letters:
        letter.write_text("dear")
        os.utime(letter, (0, 0))
    link = Path(place.format(cache=build / ".journal-cache"))
    link.parent.mkdir(parents=True, exist_ok=True)
    link.symlink_to(home)
    for run in (lambda: lay_out(build, "public", TODAY, None), lambda: tell_build(build, TODAY)):
        with pytest.raises(WriteFault, match="is a link"):
            run()
    assert all(letter.read_text() == "dear" for letter in letters)


def test_a_template_for_paper_that_is_a_link_is_made_again(tmp_path: Path) -> None:
    build = tmp_path / "example"
    shutil.copytree(EXAMPLE, build)
    site = lay_out(build, "public", None, None).site
    name, file = next((name, file) for name, file in site.items() if name.endswith(".pdf") and isinstance(file, Path))
    whole = file.read_bytes()
    (tmp_path / "secret").write_text("a secret letter")
    file.unlink()
    file.symlink_to(tmp_path / "secret")
    again = lay_out(build, "public", None, None).site[name]
    assert isinstance(again, Path)
    assert not again.is_symlink()
    assert again.read_bytes() == whole
