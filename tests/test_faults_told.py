"""What stands in the way is told as it is, costs no more than it must, and nothing waits for ever or is made anew."""

from __future__ import annotations

import os
import re
import shutil
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from journal import make as making
from journal.cli import main
from journal.gather import gather
from journal.ground.atomic import WriteFault
from journal.ground.finding import Finding
from journal.ground.packaged import packaged_themes
from journal.make import make_site, tell_build
from journal.measure.numerals import ValueFault
from journal.measure.value import read_value
from journal.model.album import Album
from journal.pages.theme import ThemeFault, ticks
from journal.preview import Preview, run
from journal.read.folders import read_folders
from tests.builds import TITLE, TODAY, finding_lines, tell_files, write_build
from tests.pictures_made import exif, save_jpeg, scene

NOTE = "2026-03-07 a/note.md"
CLAMP = "```removed clamp\nfrom: panel\nheld by: 2 bolts\n{}\n```\n"
pipes = pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")


def made(build: Path, out: Path, edition: str = "shop") -> Path:
    make_site(build, out, edition, TODAY, None)
    return out


def page(out: Path, name: str = "days/2026-03-07/index.html") -> str:
    return (out / name).read_text()


# --- gather


@pytest.fixture
def card(tmp_path: Path) -> Path:
    for day in (6, 7, 8):
        save_jpeg(tmp_path / f"card/P{day}.jpg", scene(64, 48, day), exif=exif(f"2026:03:{day:02} 10:00:00"))
    return tmp_path / "card"


def _a_file(day: Path) -> None:
    day.write_text("mine")


def _a_link(day: Path) -> None:
    (day.parent.parent / "elsewhere").mkdir()
    day.symlink_to(day.parent.parent / "elsewhere")


@pytest.mark.parametrize("dry_run", [True, False])
@pytest.mark.parametrize(("stands", "told"), [(_a_file, "is no folder"), (_a_link, "is a link")])
def test_a_day_in_the_way_costs_its_own_pictures(
    card: Path, tmp_path: Path, stands: Callable[[Path], None], told: str, dry_run: bool
) -> None:
    build = write_build(tmp_path / "build", {})
    stands(build / "2026-03-07")
    for _ in range(2):
        report = gather([card], build, dry_run)
        [(file, why)] = report.faults
        assert file == card / "P7.jpg"
        assert f'"2026-03-07" in the build {told}' in why
        copied = [*report.copied, *report.present]
        assert [copy.target for copy in copied] == ["2026-03-06/P6.jpg", "2026-03-08/P8.jpg"]
    assert not list(tmp_path.glob("elsewhere/*"))


def test_a_year_that_is_a_link_is_not_written_through(card: Path, tmp_path: Path) -> None:
    build = write_build(tmp_path / "build", {"2025/2025-12-31/note.md": "New year's eve.\n"})
    _a_link(build / "2026")
    report = gather([card], build)
    assert len(report.faults) == 3
    assert not list((tmp_path / "elsewhere").iterdir())


def test_a_day_that_is_a_link_is_told_and_a_folder_of_manuals_that_is_one_is_not(tmp_path: Path) -> None:
    build = write_build(tmp_path / "build", {})
    (tmp_path / "elsewhere").mkdir()
    for name in ("2026-03-07 sill", "manuals", "3 manuals"):
        (build / name).symlink_to(tmp_path / "elsewhere")
    [finding] = tell_build(build, TODAY).judgement.findings
    assert (finding.span.file, finding.word) == ("2026-03-07 sill", "not-understood")


def test_only_a_build_is_copied_into_and_nothing_is_left_elsewhere(card: Path, tmp_path: Path) -> None:
    build = write_build(tmp_path / "build", {NOTE: "Words.\n"})
    (tmp_path / "documents").mkdir()
    for into, help in (
        (tmp_path / "documents", "journal start"),
        (card, "journal start"),
        (build / "2026-03-07 a", str(build)),
    ):
        before = sorted(into.iterdir())
        with pytest.raises(WriteFault, match=re.escape("no build.toml is in it")) as caught:
            gather([card], into)
        assert help in caught.value.help
        assert sorted(into.iterdir()) == before
    assert len(gather([card], build).copied) == 3


# --- the cache


@pytest.mark.parametrize("stands", ["a file", "a link"])
def test_a_cache_that_is_none_is_told_by_all_that_write_to_it(card: Path, tmp_path: Path, stands: str) -> None:
    build = write_build(tmp_path / "build", {NOTE: "Words.\n"})
    (tmp_path / "elsewhere").mkdir()
    if stands == "a file":
        (build / ".journal-cache").write_text("mine")
    else:
        (build / ".journal-cache").symlink_to(tmp_path / "elsewhere")
    for use in (lambda: made(build, tmp_path / "out"), lambda: gather([card], build)):
        with pytest.raises(WriteFault) as caught:
            use()
        assert str(build / ".journal-cache") in caught.value.message
        assert "away" in caught.value.help
    assert not list((tmp_path / "elsewhere").iterdir())


@pipes
@pytest.mark.parametrize("name", ["pictures.json", "made.json", "templates"])
def test_a_pipe_in_the_cache_is_not_waited_for(tmp_path: Path, name: str) -> None:
    build = write_build(tmp_path / "build", {NOTE: "Words.\n", "2026-03-07 a/IMG_1.jpg": "a picture"})
    site = page(made(build, tmp_path / "out"))
    path = build / ".journal-cache" / name
    for one in list(path.iterdir()) if path.is_dir() else [path]:
        one.unlink()
        os.mkfifo(one)
    (build / NOTE).write_text("Others.\n")
    waits = threading.Thread(target=made, args=(build, tmp_path / "out"), daemon=True)
    waits.start()
    waits.join(60)
    assert not waits.is_alive()
    assert page(tmp_path / "out") == site.replace("Words.", "Others.")


@pipes
def test_a_pipe_where_the_pocket_file_goes_is_not_waited_for(tmp_path: Path) -> None:
    build = write_build(tmp_path / "build", {NOTE: "Words.\n"})
    os.mkfifo(tmp_path / "site-shop-pocket.html")
    with pytest.raises(WriteFault, match="no pocket file made here"):
        make_site(build, tmp_path / "site", "public", TODAY, None, tmp_path / "site-shop-pocket.html")


# --- where a site goes, what it is made with


@pytest.mark.parametrize("more", [[], ["--pocket"]])
@pytest.mark.parametrize("out", ["loop", "loop/site"])
def test_an_output_that_is_a_link_to_itself_is_told(tmp_path: Path, out: str, more: list[str]) -> None:
    build = write_build(tmp_path / "build", {NOTE: "Words.\n"})
    (tmp_path / "loop").symlink_to(tmp_path / "loop")
    told = CliRunner().invoke(main, ["make", str(build), "-o", str(tmp_path / out), *more])
    assert told.exit_code == 1
    assert isinstance(told.exception, SystemExit)
    assert "leads back to itself" in told.stderr


@pytest.mark.parametrize("name", ["overview.html", "macros.html"])
def test_a_template_that_is_not_utf8_is_told_with_its_line(tmp_path: Path, name: str) -> None:
    own = write_build(tmp_path / "build", {"build.toml": TITLE + 'theme = "own"\n', "themes/own/theme.toml": ""})
    template = own / "themes/own/templates" / name
    template.parent.mkdir()
    of_bench = (packaged_themes() / "bench/templates" / name).read_text()
    whole = "{# one #}\n{# größe #}" + of_bench
    template.write_text(whole, "utf-8")
    (template.parent / ".DS_Store").write_bytes(b"\xff")
    made(own, tmp_path / "out")
    template.write_text(whole, "latin-1")
    with pytest.raises(ThemeFault, match="not saved as UTF-8") as caught:
        made(own, tmp_path / "out")
    assert (caught.value.file, caught.value.line) == (str(template), 2)


def test_a_theme_of_the_program_that_changed_is_noticed_wherever_it_lies(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    build = write_build(tmp_path / "build", {NOTE: "Words.\n"})
    shutil.copytree(packaged_themes(), tmp_path / "themes")
    monkeypatch.setattr(making, "packaged_themes", lambda: tmp_path / "themes")
    before = making._inputs(build, TODAY)
    assert making._inputs(build, TODAY) == before
    (tmp_path / "themes/bench/files/bench.css").write_text("")
    assert making._inputs(build, TODAY) != before


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("write ``` on a line of its own", "write <code>```</code> on a line of its own"),
        ("write `4 mm` & go", "write <code>4 mm</code> &amp; go"),
        ("`a` or `b`", "<code>a</code> or <code>b</code>"),
        ("nothing <b>", "nothing &lt;b&gt;"),
    ],
)
def test_ticks_stand_round_what_is_to_be_written_and_three_are_a_fence(text: str, shown: str) -> None:
    assert ticks(text) == shown


@pytest.mark.parametrize("pieces", [20, 21, 300])
def test_a_place_too_deep_is_told_and_cut(tmp_path: Path, pieces: int) -> None:
    place = " / ".join(f"p{n}" for n in range(pieces))
    build = write_build(
        tmp_path / "build",
        {"build.toml": f'{TITLE}[places]\n"{place}" = "deep"\n', NOTE: CLAMP.format(f"place: {place}")},
    )
    told = tell_build(build, TODAY)
    deep = [f for f in told.judgement.findings if "too deep" in f.message]
    assert {(f.span.file, f.span.line) for f in deep} == ({("build.toml", 3), (NOTE, 4)} if pieces > 20 else set())
    assert len(told.book.parts["clamp"].place) == min(pieces, 20)
    made(build, tmp_path / "out")


# --- the preview


def until(true: Callable[[], bool]) -> bool:
    end = time.monotonic() + 20
    while not true() and time.monotonic() < end:
        time.sleep(0.05)
    return true()


def test_a_build_that_is_gone_is_told_and_not_made_anew_and_noticed_when_it_is_back(tmp_path: Path) -> None:
    build = write_build(tmp_path / "build", {NOTE: "First.\n"})
    preview, stop, said = Preview(build, "shop", TODAY), threading.Event(), list[str]()
    running = threading.Thread(target=run, args=(preview, 0, said.append, None, stop), daemon=True)
    running.start()

    def shows(words: bytes) -> bool:
        shown = preview.shown()
        return not shown.fault and words in bytes(shown.files.get("days/2026-03-07/index.html", b""))  # type: ignore[arg-type]

    try:
        assert until(lambda: shows(b"First."))
        time.sleep(1)  # until it is watched
        for words in ("Second.", "Third."):
            shutil.rmtree(build)
            assert until(lambda: "is not there any more. Put it back" in preview.shown().fault)
            assert not build.exists()
            write_build(build, {NOTE: f"{words}\n"})
            assert until(lambda words=words: shows(words.encode()))  # type: ignore[misc]
        (build / NOTE).write_text("Fourth.\n")
        assert until(lambda: shows(b"Fourth."))
    finally:
        stop.set()
        running.join(20)
    assert not any(".." in line for line in said)


def test_the_reason_of_a_make_that_failed_ends_with_one_full_stop(tmp_path: Path) -> None:
    build = write_build(tmp_path / "build", {"build.toml": TITLE + "[private]\nparts = 3\n", NOTE: "Words.\n"})
    fault = Preview(build, "public", TODAY).make().fault
    assert "nothing was changed. Put it right" in fault


# --- pictures


def of_word(findings: tuple[Finding, ...], word: str) -> list[str]:
    return [line for finding in findings if finding.word == word for line in finding_lines(finding)]


TWO = {"2026-03-07 a/IMG_0001.JPG": "a picture", "2026-03-07 a/IMG_0001.jpg": "a picture"}


@pytest.mark.parametrize(
    ("named", "meant"),
    [
        ("IMG_0001.jpg", "IMG_0001.jpg"),
        ("IMG_0001.JPG", "IMG_0001.JPG"),
        ("2026-03-07/IMG_0001.jpg", "IMG_0001.jpg"),
        ("IMG_0001", "IMG_0001.JPG"),
        ("img_0001.jpg", "IMG_0001.JPG"),
        ("IMG_0001.heic", "IMG_0001.JPG"),
    ],
)
def test_of_two_names_that_differ_in_capitals_the_very_one_is_meant(tmp_path: Path, named: str, meant: str) -> None:
    told = tell_files(tmp_path, TWO | {NOTE: CLAMP.format(f"photos: {named}")})
    assert told.book.parts["clamp"].photos == (f"2026-03-07 a/{meant}",)


@pytest.mark.parametrize("named", ["IMG_0001.jpg", "IMG_0001.JPG"])
def test_of_two_names_that_differ_in_capitals_both_are_private(tmp_path: Path, named: str) -> None:
    files = TWO | {"2026-03-07 a/IMG_0002.jpg": "a picture", NOTE: f"```photo {named}\nprivate: yes\n```\n"}
    told = tell_files(tmp_path, files)
    assert {photo.name for photo in told.book.photos.values() if photo.private} == {"IMG_0001.jpg", "IMG_0001.JPG"}


def of_two_days(story: str) -> dict[str, str]:
    return {
        NOTE: story,
        "2026-03-07 a/IMG_1.jpg": "a picture",
        "2026-03-08 b/IMG_5.jpg": "a picture",
        "2026-03-08 b/note.md": "Words.\n",
    }


@pytest.mark.parametrize(
    ("picture", "place"),
    [
        ("IMG_9999.jpg", ":1:1"),
        ("../2026-03-08%20b/IMG_9.jpg", ":1:1"),
        ("../IMG_1.jpg", ":1:1"),  # beside the days
        ("words\n![y](IMG_9999.PNG)", ":2:1"),
    ],
)
def test_a_picture_of_the_story_that_is_not_there_is_told(tmp_path: Path, picture: str, place: str) -> None:
    written = picture if "(" in picture else f"![x]({picture})"
    told = tell_files(tmp_path, of_two_days(written + "\n"))
    [line, *_] = of_word(told.judgement.findings, "missing-photo")
    assert line.startswith(f"{NOTE}{place} problem missing-photo | there is no picture ")
    assert page(made(tmp_path, tmp_path / "out")).count("There is no picture") == 1
    assert "There is no picture" not in page(made(tmp_path, tmp_path / "public", "public"))


@pytest.mark.parametrize(
    "picture",
    [
        "IMG_1.jpg", "./IMG_1.jpg", "img_1", "../2026-03-08%20b/IMG_5.jpg", "../2026-03-08/IMG_5.jpg",
        "2026-03-08/IMG_5", "https://example.org/x.jpg", "data:image/png;base64,AAAA.jpg", "//example.org/x.jpg",
        "/home/x.jpg", "drawing", "plan.pdf", "",
    ],
)  # fmt: skip
def test_other_pictures_of_the_story_are_not_missing(tmp_path: Path, picture: str) -> None:
    told = tell_files(tmp_path, of_two_days(f"![x]({picture})\n\n```text\n![x](no.jpg)\n```\n\nand `![x](no.jpg)`\n"))
    assert of_word(told.judgement.findings, "missing-photo") == []


def test_dots_in_the_name_of_a_day_lead_nowhere(tmp_path: Path) -> None:
    files = of_two_days("![x](../2026-03-08%20a./IMG_5.jpg)\n")
    told = tell_files(tmp_path, {name.replace("08 b", "08 a."): text for name, text in files.items()})
    assert of_word(told.judgement.findings, "missing-photo") == []
    assert Album(read_folders(tmp_path)[0], {}).find("2026-03-08 a./IMG_5", read_folders(tmp_path)[0][0])


def test_a_missing_picture_that_is_in_another_day_is_told_as_markdown_writes_it(tmp_path: Path) -> None:
    told = tell_files(tmp_path, of_two_days("![x](IMG_5.jpg)\n"))
    assert '    help: it is in another day: write "../2026-03-08%20b/IMG_5.jpg"' in of_word(
        told.judgement.findings, "missing-photo"
    )


@pytest.mark.parametrize("year", ["", "2026/"])
def test_a_picture_of_another_day_is_shown_in_a_story(tmp_path: Path, year: str) -> None:
    files = of_two_days("![the clamp](../2026-03-08%20b/IMG_5.jpg)\n\n![own](IMG_1.jpg)\n")
    build = write_build(tmp_path / "build", {f"{year}{name}": text for name, text in files.items()})
    assert of_word(tell_build(build, TODAY).judgement.findings, "missing-photo") == []
    shown = page(made(build, tmp_path / "out"))
    assert shown.count('alt="the clamp"') == 1
    assert shown.count('<figure class="photo') == 2
    assert shown.count('id="photo-1"') == 1
    assert 'id="photo-1"' in page(tmp_path / "out", "days/2026-03-08/index.html")


@pytest.mark.parametrize("picture", ["../2026-03-08%20b/IMG_5.jpg", "../2026-03-08/IMG_5.jpg", "2026-03-08/img_5"])
@pytest.mark.parametrize("year", ["", "2026/"])
def test_a_private_picture_of_another_day_is_not_published_nor_its_words(
    tmp_path: Path, picture: str, year: str
) -> None:
    files = of_two_days(f"![the safe behind it]({picture})\n")
    build = write_build(
        tmp_path / "build",
        {"build.toml": TITLE + '[private]\nphotos = ["IMG_5.jpg"]\n'} | {f"{year}{n}": t for n, t in files.items()},
    )
    assert "the safe behind it" in page(made(build, tmp_path / "shop"))
    assert "the safe behind it" not in page(made(build, tmp_path / "out", "public"))


def test_the_description_of_a_picture_stands_for_it_where_the_story_shows_it(tmp_path: Path) -> None:
    story = "![The rule on the flange](IMG_1.jpg)\n\n```photo IMG_1\ncaption: Front clamp\n```\n"
    build = write_build(tmp_path / "build", of_two_days(story))
    shown = page(made(build, tmp_path / "out"))
    assert 'alt="The rule on the flange"' in shown
    assert ">Front clamp</span>" in shown
    (build / NOTE).write_text(story.replace("The rule on the flange", "img_1"))
    assert 'alt="Front clamp"' in page(made(build, tmp_path / "out"))


def test_a_private_name_is_taken_out_of_a_description(tmp_path: Path) -> None:
    files = of_two_days("![Zebedee holds the rule](IMG_1.jpg)\n")
    build = write_build(tmp_path / "build", {"build.toml": TITLE + '[private]\nnames = ["Zebedee"]\n'} | files)
    shown = page(made(build, tmp_path / "out", "public"))
    assert "Zebedee" not in shown
    assert 'holds the rule"' in shown


def test_pictures_are_shown_where_a_private_name_stands_in_the_name_of_their_day(tmp_path: Path) -> None:
    files = {
        "build.toml": TITLE + '[private]\nnames = ["Zeb\'s barn"]\n',
        "2026-03-07 Zeb's barn/note.md": "![x](IMG_1.jpg)\n\n![y](../2026-03-08%20at%20Zeb's%20barn/IMG_5.jpg)\n",
        "2026-03-07 Zeb's barn/IMG_1.jpg": "a picture",
        "2026-03-08 at Zeb's barn/IMG_5.jpg": "a picture",
    }
    shown = page(made(write_build(tmp_path / "build", files), tmp_path / "out", "public"))
    assert "Zeb" not in shown
    assert [shown.count(f'alt="{alt}"') for alt in "xy"] == [1, 1]


# --- numbers, commands


@pytest.mark.parametrize(
    ("text", "decimal", "number"),
    [
        ("1.234,5 mm", ",", 1234.5),
        ("1.234.567,5 mm", ",", 1234567.5),
        ("1.234,567 mm", ",", 1234.567),
        ("1,234,567.5 mm", ".", 1234567.5),
        ("1,580 mm", ",", 1.58),
        ("1.580 mm", ".", 1.58),
    ],
)
def test_digits_and_marks_with_one_reading_are_a_number(text: str, decimal: str, number: float) -> None:
    assert float(read_value(text, decimal=decimal).number or 0) == number


@pytest.mark.parametrize(
    ("text", "decimal", "word"),
    [
        ("1.580 mm", ",", "ambiguous-value"),
        ("1,580 mm", ".", "ambiguous-value"),
        ("1,234.5 mm", ".", "ambiguous-value"),  # or two readings, 1 and 234.5
        ("1,234.5 mm", ",", "ambiguous-value"),
        ("1.234,5 mm", ".", "ambiguous-value"),
        ("1.580.000 mm", ",", "ambiguous-value"),
        ("12.34,5 mm", ",", "not-understood"),
        ("0.234,5 mm", ",", "not-understood"),
        ("1.234,5,6 mm", ",", "not-understood"),
        ("1.234.567.890,1234 mm", ",", "not-understood"),
    ],
)
def test_digits_and_marks_with_more_readings_or_none_are_asked_about(text: str, decimal: str, word: str) -> None:
    with pytest.raises(ValueFault) as caught:
        read_value(text, decimal=decimal)
    assert caught.value.word == word


@pytest.mark.skipif(os.name != "posix", reason="other shells quote otherwise")
@pytest.mark.parametrize(
    ("name", "written"),
    [("it's(1)", """'it'"'"'s(1)'"""), ("my truck", "'my truck'"), ("truck", "truck")],
)
def test_a_command_that_is_told_can_be_run(
    name: str, written: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    for _ in range(2):  # the second time it is a build already
        told = CliRunner().invoke(main, ["start", name])
        assert f"journal check {written}\n" in told.output
