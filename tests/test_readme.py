"""The README says what is true: its note gives its output, its reference is that of the code.

JOURNAL_REWRITE=1 writes the generated blocks anew; read the difference before committing it.
"""

from __future__ import annotations

import os
import re
from datetime import date
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from journal.cli import main
from journal.notes.reference import reference
from journal.pages.theme_reference import theme_reference
from journal.read.settings import settings_reference

README = Path(__file__).parent.parent / "README.md"
GENERATED = {"reference": reference, "settings": settings_reference, "theme": theme_reference}


def text() -> str:
    return README.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", GENERATED)
def test_a_generated_block_is_that_of_the_code(name: str) -> None:
    begin, end = f"<!-- {name} -->\n", f"<!-- /{name} -->"
    block = f"{begin}\n{GENERATED[name]()}\n\n"
    before, after = text().split(begin)[0], text().split(end)[1]
    if os.environ.get("JOURNAL_REWRITE"):
        README.write_text(before + block + end + after, encoding="utf-8")
    assert text().split(before)[1].split(end)[0] == block


def test_the_first_note_gives_the_output_beside_it(tmp_path: Path) -> None:
    note = re.findall(r"^````markdown\n(.+?)^````$", text(), re.MULTILINE | re.DOTALL)[0]
    shown = re.findall(r"^```console\n\$ journal check my-truck\n(.+?)^```$", text(), re.MULTILINE | re.DOTALL)[0]
    day = tmp_path / "2026-03-21 left sill"
    day.mkdir()
    (tmp_path / "build.toml").write_text('title = "My truck"\n', encoding="utf-8")
    (day / "note.md").write_text(note, encoding="utf-8")
    printed = CliRunner().invoke(main, ["check", str(tmp_path), "--as-of", "2026-03-22"]).output
    if os.environ.get("JOURNAL_REWRITE"):
        README.write_text(text().replace(shown, printed), encoding="utf-8")
        shown = printed
    assert printed == shown


def test_there_are_two_set_up_commands() -> None:
    block = re.findall(r"^## Set up$(.+?)^## ", text(), re.MULTILINE | re.DOTALL)[0]
    commands = re.findall(r"^\$ (.+)$", block, re.MULTILINE)
    assert len(commands) == 2
    assert commands[0].endswith("journal make example_build")
    assert commands[1].endswith("-m pytest")
    assert all(command.startswith("python3 -m venv .venv && ") for command in commands)


def test_every_command_is_listed_and_only_those() -> None:
    listed = set(re.findall(r"^\| `journal (\w+)", text(), re.MULTILINE))
    assert isinstance(main, click.Group)
    assert listed == set(main.commands)


def test_its_pictures_are_there() -> None:
    for path in re.findall(r"!\[[^\]]+\]\((\.readme/[^)]+)\)", text()):
        assert (README.parent / path).stat().st_size > 10_000


def test_dates_in_examples_are_dates() -> None:
    assert all(date.fromisoformat(found) for found in re.findall(r"\b2\d{3}-\d{2}-\d{2}\b", text()))
