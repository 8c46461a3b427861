"""Themes in use: paper over bench, a theme of the build over either, and faults told in words by `journal make`."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from journal.cli import main
from journal.ground.packaged import packaged_themes
from journal.pages.theme import chain
from tests.builds import write_build
from tests.site_fixture import pages_of, site_of, text_of
from tests.test_pages_theme import MARKS, TEXT, contrast

PAPER = packaged_themes() / "paper"
DAY = "2026-03-21 left sill/note.md"
NOTE = "# Guides off\n\nWords.\n\n```removed guide bracket, left\nfrom: sill, left\nheld by: 2 spot welds\n```\n"


def build_with(folder: Path, theme: str, **files: str) -> Path:
    """A build that wears a theme; `files` are those of its own theme `mine`, `templates__day` and so on."""
    own = {
        f"themes/mine/{name.replace('__', '/')}{'.css' if name.startswith('files') else '.html'}": text
        for name, text in files.items()
    }
    toml = f'title = "Platform truck No. 9"\ntheme = "{theme}"\n'
    return write_build(folder, {"build.toml": toml, DAY: NOTE, **own})


def made(build: Path, *words: str) -> Result:
    return CliRunner().invoke(main, ["make", str(build), "-o", str(build / "site"), "--as-of", "2026-04-01", *words])


def palette(sheet: str, dark: bool) -> dict[str, str]:
    blocks = re.findall(r":root \{(.*?)\}", sheet, flags=re.DOTALL)
    found = dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", blocks[0]))
    return found | dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", blocks[1])) if dark else found


# --- paper


def test_paper_holds_only_what_it_changes() -> None:
    own = {path.name for path in (PAPER / "templates").iterdir()}
    there = {path.name for path in (packaged_themes() / "bench" / "templates").iterdir()}
    assert own == {"base.html", "day.html", "days.html"}
    assert own < there
    assert [folder.name for folder in chain("paper")] == ["paper", "bench"]


def test_every_page_of_paper_lies_over_bench(tmp_path: Path) -> None:
    site = site_of(build_with(tmp_path, "paper"))
    pages = pages_of(site)
    assert len(pages) > 15
    for path, text in pages.items():
        sheets = re.findall(r'<link rel="stylesheet" href="[./]*([^"]+)"', text)
        assert sheets[:2] == ["theme/bench.css", "theme/paper.css"], path
    assert 'class="chapters"' in pages["days/index.html"]
    assert 'class="dateline"' in pages["days/2026-03-21/index.html"]
    assert "Taken off" in pages["days/2026-03-21/index.html"], "the story is told by bench"
    assert {"theme/bench.css", "theme/paper.css", "theme/search.js"} <= site.keys()


@pytest.mark.parametrize("dark", [False, True], ids=["day", "night"])
def test_paper_can_be_read(dark: bool) -> None:
    """4.5:1 for text, 3:1 for marks (WCAG 2.2, 1.4.3 and 1.4.11), and no colour beside the palette."""
    sheet = (PAPER / "files" / "paper.css").read_text()
    colours = palette(sheet, dark)
    bench = palette((packaged_themes() / "bench" / "files" / "bench.css").read_text(), dark)
    assert colours.keys() == bench.keys(), "paper sets every colour that bench has"
    assert [pair for pair in TEXT if contrast(colours[pair[0]], colours[pair[1]]) < 4.5] == []
    assert [pair for pair in MARKS if contrast(colours[pair[0]], colours[pair[1]]) < 3] == []
    assert not re.findall(r"#[0-9a-f]{3,8}\b", re.sub(r":root \{.*?\}", "", sheet, flags=re.DOTALL))


# --- a theme of the build


def test_a_theme_of_the_build_may_stand_on_paper(tmp_path: Path) -> None:
    build = build_with(
        tmp_path, "mine",
        templates__base='{% extends "paper/base.html" %}{% block styles %}{{ super() }}'
                        '<link rel="stylesheet" href="{{ href("theme/mine.css") }}">{% endblock %}',
        files__mine="body { letter-spacing: 0.01em }",
    )  # fmt: skip
    write_build(build, {"build.toml": (build / "build.toml").read_text(), "themes/mine/theme.toml": 'over = "paper"\n'})
    site = site_of(build)
    sheets = re.findall(r'<link rel="stylesheet" href="([^"]+)"', text_of(site, "index.html"))
    assert sheets == ["theme/bench.css", "theme/paper.css", "theme/mine.css"]
    assert 'class="chapters"' in text_of(site, "days/index.html")


def test_a_theme_of_the_name_of_one_that_comes_with_us_adds_to_it(tmp_path: Path) -> None:
    base = '{% extends "bench/base.html" %}{% block above %}<p>Ours.</p>{% endblock %}'
    files = {"themes/bench/theme.toml": "", "themes/bench/templates/base.html": base, DAY: NOTE}
    site = site_of(write_build(tmp_path, files))
    assert "<p>Ours.</p>" in text_of(site, "index.html")
    assert 'class="dimension"' in text_of(site, "index.html")


# --- faults


@pytest.mark.parametrize(
    ("template", "line", "says"),
    [
        ('{% extends "base.html" %}\n{% block main %}\n{{ part.nothing }}\n{% endblock %}', 3, "'part' is undefined"),
        ('{% extends "base.html" %}\n{% block main %}\n\n{% endfor %}', 4, "Encountered unknown tag 'endfor'"),
        ('{% extends "base.html" %}\n{% block main %}{{ days[0].title + 1 }}{% endblock %}', 2, "TypeError"),
        ('{% extends "nowhere/base.html" %}', 1, "nowhere/base.html"),
        ('{# #}\n{% extends "days.html" %}', 2, "leads back to itself"),
    ],
    ids=["unknown name", "unknown tag", "wrong sum", "no such template", "a ring"],
)
def test_a_fault_of_a_template_is_told_with_file_and_line(
    tmp_path: Path, template: str, line: int, says: str
) -> None:
    build = build_with(tmp_path, "bench")
    assert made(build).exit_code == 0
    before = (build / "site" / "index.html").read_bytes()
    build_with(tmp_path, "mine", templates__days=template)
    (build / "themes" / "mine" / "theme.toml").write_text("")
    result = made(build)
    assert result.exit_code == 1
    assert isinstance(result.exception, SystemExit), "no traceback"
    assert f"themes/mine/templates/days.html:{line}: " in result.output
    assert says in result.output
    assert "Traceback" not in result.output
    assert (build / "site" / "index.html").read_bytes() == before, "the old site stands"


@pytest.mark.parametrize(
    "words",
    [
        "{{ ''.__class__.__mro__ }}",
        "{{ href.__globals__ }}",
        "{{ href.__call__.__self__ }}",
        "{{ ''|attr('__class__') }}",
        "{{ '{0.__class__}'.format(site) }}",
        "{{ (site.today|attr('strftime')).__self__.__class__ }}",
        "{% for day in days %}{{ day.link.__reduce__() }}{% endfor %}",
    ],
)
def test_a_template_of_a_build_sees_nothing_behind_what_it_is_given(tmp_path: Path, words: str) -> None:
    """The usual ways out of a template into the program (CWE-1336): a build may be somebody else's."""
    page = '{% extends "bench/base.html" %}{% block main %}' + words + "{% endblock %}"
    build = build_with(tmp_path, "mine", templates__days=page)
    (build / "themes" / "mine" / "theme.toml").write_text("")
    result = made(build)
    assert result.exit_code == 1
    assert isinstance(result.exception, SystemExit), "no traceback"
    assert "themes/mine/templates/days.html:1: " in result.output
    assert "unsafe" in result.output


def test_a_theme_nobody_knows_is_told_with_those_there_are(tmp_path: Path) -> None:
    result = made(build_with(tmp_path, "benhc"))
    assert result.exit_code == 1
    assert 'build.toml: there is no theme "benhc"' in result.output
    assert "There are: bench, paper." in result.output
    assert "Traceback" not in result.output


def test_a_theme_that_stands_on_nothing_names_its_own_file(tmp_path: Path) -> None:
    build = build_with(tmp_path, "mine")
    write_build(build, {"build.toml": 'title = "T"\ntheme = "mine"\n', "themes/mine/theme.toml": 'over = "gone"\n'})
    result = made(build)
    assert result.exit_code == 1
    assert 'mine/theme.toml: there is no theme "gone"' in result.output


@pytest.mark.parametrize(
    "toml",
    [
        "over = \n", 'over = "a"\nover = "b"\n', "over = [", "over = " + "[" * 3000 + "]" * 3000, "over = 3",
        "over = " + "1" * 5000, "over = 0x" + "f" * 5000,
    ],
    ids=["nothing", "twice", "open", "deep", "a number", "a long one", "a long one in hex"],
)  # fmt: skip
def test_a_theme_toml_that_cannot_be_read_is_told(tmp_path: Path, toml: str) -> None:
    build = build_with(tmp_path, "mine")
    write_build(build, {"build.toml": 'title = "T"\ntheme = "mine"\n', "themes/mine/theme.toml": toml})
    result = made(build)
    assert result.exit_code == 1
    assert "theme.toml cannot be read" in result.output
    assert "Traceback" not in result.output


@pytest.mark.parametrize(
    "place", ["files/h.txt", "files", "files/deep/h.txt", "templates/h.html", "templates", "theme.toml", "", ".."]
)
def test_a_link_in_a_theme_of_a_build_is_told_and_not_followed(tmp_path: Path, place: str) -> None:
    """What it leads to would be published: a file of the theme, a template, or a folder of them."""
    own = {"themes/mine/theme.toml": 'over = "bench"\n', "themes/mine/files/mine.css": "a {}"}
    build = write_build(tmp_path / "build", {"build.toml": 'title = "T"\ntheme = "mine"\n', DAY: NOTE, **own})
    link = Path(os.path.normpath(build / "themes" / "mine" / place))
    elsewhere = tmp_path / "elsewhere"
    if link.exists():
        link.rename(elsewhere)
    else:
        elsewhere.write_text("a secret letter")
        link.parent.mkdir(parents=True, exist_ok=True)
    link.symlink_to(elsewhere)
    result = made(build)
    assert result.exit_code == 1
    assert f"{link}: this is a link" in result.output
    assert not (build / "site").exists()


@pytest.mark.parametrize("name", ["../mine", "/etc", "a/b", ".hidden", "\\u0000"])
def test_a_name_that_would_lead_elsewhere_is_no_theme(tmp_path: Path, name: str) -> None:
    """build.toml may not hold one: it is told, and the site wears bench."""
    build = build_with(tmp_path, name)
    told = CliRunner().invoke(main, ["check", str(build)]).output
    assert re.search(r"build\.toml:2:\d+: \w+: .*theme", told), told
    assert made(build).exit_code == 0
    assert (build / "site" / "theme" / "bench.css").is_file()
