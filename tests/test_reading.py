"""What lies in a build folder, however it is saved, nested, locked or linked: read, or told in plain words."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from journal.ground.atomic import WriteFault
from journal.ground.finding import Finding
from journal.make import lay_out, tell_build
from journal.read.folders import read_folders
from journal.read.settings import parse_settings, read_settings
from journal.start import start_build
from tests.builds import TITLE, TODAY, write_build

NOTE = "2026-03-01 day/note.md"
PRIVATE = '[private]\nnames = ["Müller"]\n'


def told(findings: list[Finding]) -> list[tuple[str, int]]:
    return [(finding.word, finding.span.line) for finding in findings]


@pytest.mark.parametrize("encoding", ["cp1252", "utf-16", "utf-8"])
def test_private_names_are_erased_however_the_settings_are_saved(tmp_path: Path, encoding: str) -> None:
    build = write_build(tmp_path, {NOTE: "Mr Müller came by.\n"})
    (build / "build.toml").write_bytes((TITLE + PRIVATE).encode(encoding))
    laid = lay_out(build, "public", TODAY, None)
    pages = [content for content in laid.site.values() if isinstance(content, bytes)]
    assert any("came by" in page.decode("utf-8", "replace") for page in pages)
    assert not any("Müller".encode() in page for page in pages)
    words = [finding.word for finding in laid.told.judgement.findings]
    assert words == ([] if encoding == "utf-8" else ["not-utf8"])


def test_settings_that_are_not_utf8_are_told_with_their_line() -> None:
    settings, findings = parse_settings((TITLE + PRIVATE).encode("cp1252"))
    assert settings.private.names == ("Müller",)
    assert told(findings) == [("not-utf8", 3)]
    assert findings[0].message.startswith("build.toml is not UTF-8: byte 0xfc in line 3")


@pytest.mark.parametrize(
    ("line", "at"),
    [
        ("n = " + "1" * 5000, 2),
        ("units = 0x" + "f" * 5000, 2),
        ('places = [{"a" = 1' + "2" * 5000 + "}]", 2),
        ("n = " + "[" * 3000 + "]" * 3000, 2),
        ("n = " + "[\n" * 3000 + "]" * 3000, 0),
        ("n = " + "{a = " * 3000 + "1" + "}" * 3000, 2),
        ("n" + ".a" * 5000 + " = 1", 2),
    ],
    ids=["digits", "hex", "in a table", "lists", "lists over lines", "tables", "dotted"],
)
def test_settings_too_long_or_too_deep_to_read_are_told(line: str, at: int) -> None:
    settings, findings = parse_settings(f'title = "x"\n{line}\n'.encode(), "the folder")
    assert settings.title == "the folder"
    assert told(findings) == [("not-understood", at)]
    assert findings[0].message.startswith("build.toml cannot be read: ")
    assert findings[0].help


@pytest.mark.parametrize(
    "settings",
    [
        f"{PRIVATE}title = ",  # broken off
        'title = "A"\nprivate = "Müller"\n',
        'title = "A"\n[private]\nnames = "Müller"\n',
        'title = "A"\n[private]\nname = ["Müller"]\n',
        'title = "A"\n[privat]\nnames = ["Müller"]\n',
    ],
)
def test_where_what_is_private_cannot_be_read_nothing_is_made_public(tmp_path: Path, settings: str) -> None:
    build = write_build(tmp_path, {NOTE: "Mr Müller came by.\n", "build.toml": settings})
    with pytest.raises(WriteFault, match="no public edition is made"):
        lay_out(build, "public", TODAY, None)
    assert lay_out(build, "shop", TODAY, None).site


def test_without_settings_nothing_was_said_to_be_private(tmp_path: Path) -> None:
    build = write_build(tmp_path, {NOTE: "Mr Müller came by.\n"})
    (build / "build.toml").unlink()
    assert lay_out(build, "public", TODAY, None).site


def test_settings_that_are_no_ordinary_file_are_told(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "build.toml")
    _, findings = read_settings(tmp_path)
    assert [finding.message for finding in findings] == ["build.toml cannot be read: it is no ordinary file"]


def refuse(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    """The system lets nobody look into `folder`."""
    scandir = os.scandir

    def asked(path: str | Path) -> object:
        if Path(path) == folder:
            raise PermissionError(13, "Permission denied", str(path))
        return scandir(path)

    monkeypatch.setattr(os, "scandir", asked)


@pytest.mark.parametrize("locked", ["2026-03-01 day", "2026", "."])
def test_a_folder_that_nobody_may_look_into_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, locked: str
) -> None:
    build = write_build(tmp_path, {NOTE: "x\n", "2026-03-02/note.md": "y\n", "2026/2026-03-03/note.md": "z\n"})
    refuse(monkeypatch, build / locked)
    folders, findings = read_folders(build)
    message = "this folder cannot be opened, so nothing in it is read: Permission denied"
    assert [(finding.span.file, finding.message) for finding in findings] == [(locked, message)]
    read = {note for folder in folders for note in folder.notes}
    expected = {NOTE, "2026-03-02/note.md", "2026/2026-03-03/note.md"}
    assert read == {note for note in expected if locked != "." and not note.startswith(f"{locked}/")}


def test_a_note_that_is_a_pipe_or_a_folder_is_told_and_nothing_waits(tmp_path: Path) -> None:
    build = write_build(tmp_path, {NOTE: "x\n"})
    os.mkfifo(build / "2026-03-01 day" / "a.md")
    (build / "2026-03-01 day" / "b.md").mkdir()
    told = tell_build(build, TODAY)
    found = [finding.span.file for finding in told.judgement.findings if finding.word == "not-understood"]
    assert found == ["2026-03-01 day/a.md", "2026-03-01 day/b.md"]
    assert [note.note.file for note in told.book.days[0].notes] == [NOTE]


def test_links_in_a_day_are_left_out_and_told(tmp_path: Path) -> None:
    build = write_build(tmp_path / "build", {NOTE: "x\n"})
    secret = write_build(tmp_path / "elsewhere", {"letter.txt": "a secret letter\n", "IMG_2.jpg": "a picture"})
    for name, target in (("b.md", "letter.txt"), ("IMG_2.jpg", "IMG_2.jpg"), ("gone.md", "nowhere")):
        (build / "2026-03-01 day" / name).symlink_to(secret / target)
    laid = lay_out(build, "shop", TODAY, None)
    found = {finding.span.file: finding.word for finding in laid.told.judgement.findings}
    day = "2026-03-01 day"
    assert found == {
        f"{day}/b.md": "not-understood", f"{day}/gone.md": "not-understood", f"{day}/IMG_2.jpg": "unreadable-photo",
    }  # fmt: skip
    assert not any(path.startswith("photos/") for path in laid.site)
    assert not any(b"secret letter" in content for content in laid.site.values() if isinstance(content, bytes))


def test_names_that_are_not_utf8_are_left_out_and_told(tmp_path: Path) -> None:
    """Day, note, picture, and the folder of the build itself, whose name is the title."""
    build = Path(os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9"))
    odd = os.fsdecode(b"\xe9")
    files = {"build.toml": "", NOTE: "x\n", f"2026-03-01 day/{odd}.md": "y\n", f"2026-03-02 {odd}/note.md": "z\n"}
    write_build(build, files | {f"2026-03-01 day/{odd}.jpg": "a picture"})
    laid = lay_out(build, "shop", TODAY, None)
    found = [(finding.word, finding.span.file) for finding in laid.told.judgement.findings]
    assert sorted(found) == [
        ("bad-day-name", "2026-03-02 é"),
        ("not-understood", "2026-03-01 day/é.md"),
        ("unknown-setting", "build.toml"),
        ("unreadable-photo", "2026-03-01 day/é.jpg"),
    ]
    assert "café" in laid.site["index.html"].decode()  # type: ignore[union-attr]


def test_a_build_begins_in_a_folder_whose_name_is_not_utf8(tmp_path: Path) -> None:
    folder = Path(os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9"))
    start_build(folder, folder.name, TODAY)
    settings, findings = read_settings(folder)
    assert (settings.title, findings) == ("café", [])


def test_what_lies_a_folder_too_deep_or_is_of_another_kind_is_told(tmp_path: Path) -> None:
    day = "2026-03-01 day"
    files = {f"{day}/phone/IMG_1.jpg": "a picture", f"{day}/old/list.csv": "1,2\n", f"{day}/scan.bmp": "BM",
             f"{day}/film.mov": "", f"{day}/raw.dng": ""}  # fmt: skip
    build = write_build(tmp_path, {NOTE: "Text.\n", **files})
    folders, findings = read_folders(build)
    assert [folder.photos for folder in folders] == [()]
    assert [(finding.word, finding.span.file) for finding in findings] == [
        ("not-understood", f"{day}/phone"), ("unreadable-photo", f"{day}/scan.bmp")
    ]  # fmt: skip
