"""Themes: the chain of folders, faults that name their file and line, colours that can be read."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from journal.ground.packaged import packaged_themes
from journal.pages.theme import Theme, ThemeFault, chain, ticks
from tests.builds import write_build
from tests.site_fixture import site_of, text_of

CSS = (packaged_themes() / "bench" / "files" / "bench.css").read_text()

# What stands on what: 4.5:1 for text, 3:1 for marks (WCAG 2.2, 1.4.3 and 1.4.11).
TEXT = [(text, ground) for text in ("ink", "soft", "blue", "good", "warn", "bad") for ground in ("ground", "sunk")]
TEXT += [(text, "marked") for text in ("ink", "soft", "blue")]  # what was looked for, in what was found
MARKS = [(mark, "ground") for mark in ("edge", "blue", "good", "warn", "bad", "ink")]
SIGNALS = [("#000000", "#ff8000"), ("#000000", "#ffd100"), ("#ffffff", "#c00018")]
OVER_PICTURES = [("#1a4f8f", "#faf8f3")]


def palette(dark: bool) -> dict[str, str]:
    """The colours of `:root`; by night those of the dark block go first."""
    blocks = re.findall(r":root \{(.*?)\}", CSS, flags=re.DOTALL)
    found = dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", blocks[0]))
    return found | dict(re.findall(r"--(\w+): (#[0-9a-f]{6});", blocks[1])) if dark else found


def luminance(colour: str) -> float:
    """WCAG 2.2, relative luminance."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_sum_agrees_with_known_values() -> None:
    """On white: #777777 4.478 just fails, #767676 4.542 just passes, #ff0000 3.998."""
    assert contrast("#777777", "#ffffff") == pytest.approx(4.478, abs=5e-4)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.542, abs=5e-4)
    assert contrast("#ff0000", "#ffffff") == pytest.approx(3.998, abs=5e-4)


@pytest.mark.parametrize("dark", [False, True], ids=["day", "night"])
@pytest.mark.parametrize(("text", "ground"), TEXT)
def test_text_can_be_read(text: str, ground: str, dark: bool) -> None:
    colours = palette(dark)
    assert contrast(colours[text], colours[ground]) >= 4.5


@pytest.mark.parametrize("dark", [False, True], ids=["day", "night"])
@pytest.mark.parametrize(("mark", "ground"), MARKS)
def test_marks_can_be_seen(mark: str, ground: str, dark: bool) -> None:
    colours = palette(dark)
    assert contrast(colours[mark], colours[ground]) >= 3


@pytest.mark.parametrize(("text", "ground"), [*SIGNALS, *OVER_PICTURES])
def test_signal_words_and_figures_over_pictures_can_be_read(text: str, ground: str) -> None:
    assert text in CSS
    assert ground in CSS
    assert contrast(text, ground) >= 4.5


def test_the_paper_and_the_ink_are_ours() -> None:
    day, night = palette(False), palette(True)
    assert [day[c] for c in ("ground", "ink", "hair", "blue")] == ["#faf8f3", "#1b2026", "#cfc8ba", "#1a4f8f"]
    assert [night[c] for c in ("ground", "ink", "hair", "blue")] == ["#14181c", "#e9e6df", "#37404a", "#8fbcf5"]


def test_no_colour_stands_outside_the_palette() -> None:
    """Every colour of the sheet is of the palette or of those checked above, or print's black and white."""
    known = {*palette(False).values(), *palette(True).values(), *(c for pair in SIGNALS + OVER_PICTURES for c in pair)}
    print_only = {"#333333", "#999999", "#555555"}
    focus = {"#ffd24d"}
    assert set(re.findall(r"#[0-9a-f]{6}\b", CSS)) <= known | print_only | focus


def own_theme(build: Path, **files: str) -> None:
    folder = build / "themes" / "mine"
    for name, text in {"theme_toml": 'over = "bench"\n', **files}.items():
        path = folder / re.sub(r"_(toml|html|css)$", r".\1", name.replace("__", "/"))
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)


@pytest.fixture
def build(tmp_path: Path) -> Path:
    return write_build(tmp_path, {"build.toml": 'title = "Platform truck No. 9"\ntheme = "mine"\n'})


def test_a_theme_changes_one_template_and_keeps_the_rest(build: Path) -> None:
    own_theme(build, templates__days_html='{% extends "base.html" %}{% block main %}<p>Mine.</p>{% endblock %}')
    site = site_of(build)
    assert "<p>Mine.</p>" in text_of(site, "days/index.html")
    assert 'class="empty"' in text_of(site, "parts/index.html")
    assert "theme/bench.css" in site


def test_a_file_of_the_theme_goes_before_the_same_of_bench(build: Path) -> None:
    own_theme(build, files__bench_css="body { color: red }")
    assert text_of(site_of(build), "theme/bench.css") == "body { color: red }"


@pytest.mark.parametrize(
    ("template", "line"),
    [
        ('{% extends "base.html" %}\n{% block main %}\n{{ day.nothing }}\n{% endblock %}', 3),
        ('{% extends "base.html" %}\n{% block main %}{% if %}{% endblock %}', 2),
        ('{% extends "base.html" %}\n\n\n{% block main %}{{ 1 // 0 }}{% endblock %}', 4),
        ('{% extends "no-such.html" %}', 1),
    ],
    ids=["a name nobody gave", "a tag that cannot be read", "a fault in a sum", "no such template"],
)
def test_a_fault_names_file_and_line(build: Path, template: str, line: int) -> None:
    own_theme(build, templates__days_html=template)
    with pytest.raises(ThemeFault) as told:
        site_of(build)
    assert told.value.file.endswith("themes/mine/templates/days.html")
    assert told.value.line == line
    assert str(told.value).startswith(told.value.file)


def test_a_theme_that_is_not_there_is_told() -> None:
    with pytest.raises(ThemeFault, match='no theme "nowhere"'):
        chain("nowhere")


def test_a_theme_may_not_lead_out_of_its_folder(tmp_path: Path) -> None:
    (tmp_path / "themes").mkdir()
    (tmp_path / "secret").mkdir()
    (tmp_path / "secret" / "theme.toml").write_text("")
    with pytest.raises(ThemeFault):
        chain("../secret", tmp_path)


def test_themes_in_a_ring_end(tmp_path: Path) -> None:
    for name, over in (("a", "b"), ("b", "a")):
        (tmp_path / "themes" / name).mkdir(parents=True)
        (tmp_path / "themes" / name / "theme.toml").write_text(f'over = "{over}"\n')
    assert [folder.name for folder in chain("a", tmp_path)] == ["a", "b", "bench"]


def test_compiled_templates_are_kept(tmp_path: Path) -> None:
    theme = Theme(chain("bench"), tmp_path)
    theme.environment.get_template("base.html")
    assert list((tmp_path / "templates").iterdir())


def test_ticks_become_code_and_the_rest_is_escaped() -> None:
    assert ticks("write `<b>` & go") == "write <code>&lt;b&gt;</code> &amp; go"


def test_a_cache_that_goes_while_a_site_is_made_costs_time_only(tmp_path: Path) -> None:
    theme = Theme(chain("bench"), tmp_path / "cache")
    theme.environment.get_template("base.html")
    shutil.rmtree(tmp_path / "cache")
    assert theme.environment.get_template("parts.html")
    assert not (tmp_path / "cache").exists()
