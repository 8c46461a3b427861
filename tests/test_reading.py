"""What lies in a build folder, however it is saved, nested, locked or linked: read, or told in plain words."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from journal.ground.finding import Finding
from journal.make import lay_out
from journal.read.settings import parse_settings, read_settings
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


def test_settings_that_are_no_ordinary_file_are_told(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "build.toml")
    _, findings = read_settings(tmp_path)
    assert [finding.message for finding in findings] == ["build.toml cannot be read: it is no ordinary file"]
