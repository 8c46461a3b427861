"""The pocket file: everything inside, its policy true to its script and style, its size bounded, written with care."""

from __future__ import annotations

import re
from base64 import b64decode, b64encode
from hashlib import sha256
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from journal.build import read, tell
from journal.cli import main
from journal.make import _facts, _findings, _pictures, pocket_path
from journal.pages.pictures import cached_files
from journal.pages.pocket import MARK, Pocket, _as_script, inside, make_pocket
from journal.pages.theme import chain
from tests.builds import TODAY, write_build
from tests.site_fixture import EXAMPLE, Page
from tests.test_pages_site import HOSTILE

NOTE = """```removed hinge upper, left
from: door post
held by: 2 spot welds
way round: knuckle to the front
stored: tin 4
photos: IMG_1, IMG_2
hole to lower edge: 5/8 in by rule
```

```removed hinge lower, left
from: door post
photos: IMG_2, IMG_3
hole to lower edge: 20 mm by rule
```
"""


def pocket_of(build: Path, most: int = 25_000_000) -> Pocket:
    raw = read(build, TODAY)
    pictures, faults = _pictures(raw, renditions=True, progress=None)
    told = tell(raw, _facts(pictures), _findings(faults), TODAY)
    files = cached_files(build, pictures.values())
    themes = chain(raw.settings.theme, build)
    return make_pocket(told.book, told.judgement, themes=themes, pictures=files, most=most)


def noisy(build: Path, *names: str) -> Path:
    """Pictures with something in them, each of its own."""
    from PIL import Image

    for number, name in enumerate(names):
        Image.effect_noise((500, 400), 50 + number).save(build / "2026-03-07 door" / f"{name}.jpg", quality=95)
    return build


@pytest.fixture(scope="module")
def build(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = write_build(tmp_path_factory.mktemp("build"), {"2026-03-07 door/note.md": NOTE})
    return noisy(folder, "IMG_1", "IMG_2", "IMG_3", "IMG_4")


@pytest.fixture(scope="module", params=["door", "example", "hostile", "empty"])
def text(request: pytest.FixtureRequest, build: Path, tmp_path_factory: pytest.TempPathFactory) -> str:
    which: str = request.param
    if which in ("hostile", "empty"):
        files = HOSTILE if which == "hostile" else {"build.toml": HOSTILE["build.toml"]}
        return pocket_of(write_build(tmp_path_factory.mktemp(which), files)).data.decode()
    return pocket_of(build if which == "door" else EXAMPLE).data.decode()


def test_nothing_in_it_leads_or_asks_outside(text: str) -> None:
    page = Page(text)
    assert page.faults == []
    assert len(page.ids) == len(set(page.ids))
    for element in page.elements:
        for name in ("src", "href", "srcset", "action", "data", "poster"):
            target = element.attrs.get(name)
            if target is None:
                continue
            if target.startswith("#"):
                assert target[1:] in page.ids, target
            else:
                assert target.startswith("data:"), target
        assert not [name for name in element.attrs if name.startswith("on") or name == "style"]


def test_its_policy_names_its_own_script_and_style_and_nothing_else(text: str) -> None:
    page = Page(text)
    policy = next(e.attrs["content"] for e in page.all("meta") if "http-equiv" in e.attrs)
    (style,) = page.all("style")
    (script,) = page.all("script")
    named = {e.tag: b64encode(sha256(e.text.encode()).digest()).decode() for e in (style, script)}
    assert policy == (
        f"default-src 'none'; script-src 'sha256-{named['script']}'; style-src 'sha256-{named['style']}'; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )
    assert text.index("http-equiv") < text.index("<style") < text.index("<script")


def test_every_part_and_reading_is_there_in_both_units(build: Path) -> None:
    made = pocket_of(build)
    page = Page(made.data.decode())
    articles = {e.attrs["id"]: " ".join(e.text.split()) for e in page.all("article")}
    assert list(articles) == ["part-door-post", "part-hinge-lower-left", "part-hinge-upper-left"]
    upper = articles["part-hinge-upper-left"]
    for words in ("on door post", "5/8 in", "16 mm", "by rule", "knuckle to the front", "2 spot welds", "tin 4",
                  "partly recorded", "Still free:"):  # fmt: skip
        assert words in upper, words
    assert (made.parts, made.readings) == (3, 2)
    contents = next(e for e in page.all("nav") if e.attrs.get("id") == "contents")
    assert all(name in contents.text for name in ("door post", "hinge lower, left", "hinge upper, left"))
    assert page.ids.index("contents") < page.ids.index("going-back") < page.ids.index("part-door-post")


def test_a_picture_of_two_parts_stands_once(build: Path) -> None:
    """IMG_4 shows no part: it is not wanted with one in the hand."""
    made = pocket_of(build)
    page = Page(made.data.decode())
    pictures = page.all("img")
    assert (made.pictures, made.of, len(pictures)) == (3, 3, 3)
    assert all(b64decode(e.attrs["src"].partition(",")[2]).startswith(b"\xff\xd8\xff") for e in pictures)
    again = [e.attrs["href"] for e in page.all("a") if e.text == "IMG_2"]
    assert len(again) == 1
    assert again[0][1:] in page.ids


def test_a_file_that_would_be_too_large_has_fewer_pictures_and_says_so(build: Path) -> None:
    whole = pocket_of(build)
    assert "no room" not in whole.told
    sizes = []
    for most in (len(whole.data), len(whole.data) - 1, len(whole.data) // 2):
        made = pocket_of(build, most)
        sizes.append(made.pictures)
        assert len(made.data) <= most
    assert sizes[0] == 3
    assert sizes[1] == 2
    assert sizes[2] < 2
    fewer = pocket_of(build, len(whole.data) - 1)
    assert "2 small pictures of 3, there is no room for more" in fewer.told
    assert "1 picture of it had no room in this file." in fewer.data.decode()


def test_every_part_has_a_picture_before_any_has_two(build: Path) -> None:
    whole = pocket_of(build)
    articles = [e for e in Page(pocket_of(build, len(whole.data) - 1).data.decode()).elements if e.tag == "figure"]
    assert [e.above.count("article") for e in articles] == [1, 1]
    text = pocket_of(build, len(whole.data) - 1).data.decode()
    per_part = [article.count("<figure") for article in text.split("<article")[1:]]
    assert per_part == [0, 1, 1]


def test_the_same_build_gives_the_same_bytes(build: Path) -> None:
    assert pocket_of(build) == pocket_of(build)


@pytest.mark.parametrize(
    ("target", "place"),
    [
        ("parts/sill-left/index.html", "#part-sill-left"),
        ("parts/sill-left/index.html#m-12", "#m-12"),
        ("parts/index.html", ""),
        ("days/2026-03-07/index.html#photo-1", ""),
    ],
)
def test_targets_of_the_site_lead_to_places_in_the_file(target: str, place: str) -> None:
    assert inside(target) == place


@pytest.mark.parametrize("script", ['"</script>"', "'<!--'", "`</SCRIPT x`", "'<script'", "'a\r\nb'"])
def test_no_script_of_a_theme_can_end_early(script: str) -> None:
    safe = _as_script(script)
    assert not re.search(r"</script|<!--|<script|\r", safe, flags=re.IGNORECASE)
    assert len(safe) >= len(script) - 1


def test_it_lies_beside_the_site_under_a_name_that_says_what_it_is() -> None:
    assert pocket_path(Path("a/site")) == pocket_path(Path("a/site-shop")) == Path("a/site-shop-pocket.html")
    assert pocket_path(Path("out")) == Path("out-shop-pocket.html")


def run(build: Path, *words: object) -> Result:
    return CliRunner().invoke(main, ["make", str(build), "--pocket", "--as-of", "2026-04-01", *map(str, words)])


@pytest.fixture
def own(tmp_path: Path) -> Path:
    return write_build(tmp_path / "own", {"2026-03-07 door/note.md": NOTE})


def test_make_writes_it_once_and_tells_its_size(own: Path) -> None:
    file = own / "site-shop-pocket.html"
    result = run(own)
    assert result.exit_code == 0
    assert re.search(r"pocket file .*site-shop-pocket\.html, 0\.\d MB: 3 parts, 2 measurements", result.output)
    written, time = file.read_bytes(), file.stat().st_mtime_ns
    assert written.startswith(MARK.encode())
    assert "tin 4" in written.decode(), "the shop edition, whatever the site is"
    again = run(own)
    assert "nothing changed" in again.output
    assert "0.1 MB, as it stands" in again.output
    assert file.stat().st_mtime_ns == time
    assert [path.name for path in own.iterdir() if path.name.startswith(".journal-")] == [".journal-cache"]


def test_make_writes_it_anew_when_it_was_touched_or_removed(own: Path) -> None:
    file = own / "site-shop-pocket.html"
    run(own)
    written = file.read_bytes()
    file.write_bytes(written + b"<!-- more -->")
    run(own)
    assert file.read_bytes() == written
    file.unlink()
    run(own)
    assert file.read_bytes() == written


def test_a_file_that_is_not_ours_is_left_alone(own: Path) -> None:
    file = own / "site-shop-pocket.html"
    file.write_text("<!doctype html>my own page")
    result = run(own)
    assert result.exit_code == 1
    assert "is no pocket file made here" in result.output
    assert file.read_text() == "<!doctype html>my own page"
    assert not (own / "site").exists(), "nothing was written"
    file.unlink()
    file.mkdir()
    assert run(own).exit_code == 1


def test_it_is_never_written_into_a_day(own: Path) -> None:
    day = own / "2026-03-07 door"
    before = sorted(path.name for path in day.iterdir())
    result = run(own, "-o", day / "site")
    assert result.exit_code == 1
    assert "belongs to the days" in result.output
    assert sorted(path.name for path in day.iterdir()) == before
