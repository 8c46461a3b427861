"""The build folder, walked once: which folders are days, which files are notes and which are photos.

Nothing is opened here and nothing is ever written. Folders reached through a link are left alone.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from journal.ground.finding import Finding
from journal.ground.names import tidy
from journal.ground.records import record
from journal.ground.source import Span
from journal.read.photos import PHOTO_SUFFIXES

NOTE_SUFFIXES = frozenset({".md", ".markdown", ".txt"})
ISO_DAY = re.compile(r"(\d{4})-(\d{2})-(\d{2})(?!\d)[\s_.,-]*(.*)", re.DOTALL)
YEAR = re.compile(r"\d{4}$")
LIKE_A_DATE = re.compile(r"\d{4}[-_. /]?\d{1,2}|\d{1,2}[-_.]\d{1,2}[-_.]\d{2,4}|\d{8}")


@record
class DayFolder:
    """One dated folder: paths are relative to the build folder, with "/".

    title  the words after the date, "" where there are none
    """

    date: date
    path: str
    title: str
    notes: tuple[str, ...]
    photos: tuple[str, ...]


def read_folders(build: Path) -> tuple[list[DayFolder], list[Finding]]:
    """The days of a build in order of date, then name, and what is wrong with folder names."""
    folders: list[DayFolder] = []
    findings: list[Finding] = []
    for path in _candidates(build):
        name = path.rsplit("/", 1)[-1]
        day = _day(name)
        if day:
            folders.append(_read_day(build, path, *day))
        elif LIKE_A_DATE.match(name):
            findings.append(_bad_name(path, name))
    folders.sort(key=lambda folder: (folder.date, folder.path))
    return folders, findings


def _candidates(build: Path) -> Iterator[str]:
    """Folders that begin with a digit, here and one folder deeper in a folder named for a year."""
    for name in _folder_names(build):
        if YEAR.match(name):
            yield from (f"{name}/{inner}" for inner in _folder_names(build / name))
        else:
            yield name


def _folder_names(folder: Path) -> list[str]:
    with os.scandir(folder) as entries:
        return sorted(
            entry.name for entry in entries if entry.name[:1].isdigit() and entry.is_dir(follow_symlinks=False)
        )


def _day(name: str) -> tuple[date, str] | None:
    match = ISO_DAY.fullmatch(name)
    if not match:
        return None
    try:
        return date(int(match[1]), int(match[2]), int(match[3])), tidy(match[4]).strip()
    except ValueError:
        return None


def _read_day(build: Path, path: str, day: date, title: str) -> DayFolder:
    with os.scandir(build / path) as entries:
        names = sorted(entry.name for entry in entries if not entry.name.startswith("."))
    suffixed = [(name, os.path.splitext(name)[1].lower()) for name in names]
    return DayFolder(
        day,
        path,
        title,
        tuple(f"{path}/{name}" for name, suffix in suffixed if suffix in NOTE_SUFFIXES),
        tuple(f"{path}/{name}" for name, suffix in suffixed if suffix in PHOTO_SUFFIXES),
    )


def _bad_name(path: str, name: str) -> Finding:
    return Finding(
        "bad-day-name",
        f'"{name}" begins like a date and is none, so nothing in it is read',
        Span(path),
        help="name it as year-month-day, such as 2026-03-21, then any words",
    )
