"""Every golden case of `cases/notes` reads as written there."""

from __future__ import annotations

import os

import pytest

from tests.notes_cases import FOLDER, Case, read_cases, read_note, write_cases

FILES = sorted(FOLDER.glob("*.md"))

if os.environ.get("JOURNAL_REWRITE") == "1":
    for path in FILES:
        write_cases(path, read_cases(path), [read_note(case) for case in read_cases(path)])

CASES = [case for path in FILES for case in read_cases(path)]


def test_there_are_cases() -> None:
    assert len(FILES) >= 6
    assert len([case for case in CASES if case.file.name == "restorers.md"]) >= 20


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.file.stem}: {case.title}")
def test_case(case: Case) -> None:
    got, wanted = read_note(case).split("\n"), case.expected.split("\n")
    at = next((n for n in range(max(len(got), len(wanted))) if got[n : n + 1] != wanted[n : n + 1]), None)
    if at is not None:
        where = f"{case.file}:{case.line + at}: {case.title}"
        pytest.fail(f"{where}\n  wanted {wanted[at : at + 1]}\n  got    {got[at : at + 1]}", pytrace=False)
