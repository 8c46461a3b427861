"""The build folder, walked once: which folders are days, which files are notes and which are photos.

Nothing is opened here and nothing is ever written. Folders and files reached through a link are
left alone: a build may come from somebody else, and what a link leads to would be published.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from journal.ground.decoding import shown
from journal.ground.finding import Finding
from journal.ground.names import tidy
from journal.ground.records import record
from journal.ground.source import Span
from journal.read.photos import PHOTO_SUFFIXES

NOTE_SUFFIXES = frozenset({".md", ".markdown", ".txt"})
READ = NOTE_SUFFIXES | PHOTO_SUFFIXES
NOT_SHOWN = frozenset({".gif", ".bmp"})  # pictures that no page shows; films and raw files beside them are expected
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
    """The days of a build in order of date, then name, and what is wrong with the names and files in it."""
    folders: list[DayFolder] = []
    findings: list[Finding] = []
    for path in _candidates(build, findings):
        name = path.rsplit("/", 1)[-1]
        day = _day(name)
        if shown(name) != name:
            findings.append(_cannot_be_named("bad-day-name", path, "folder"))
        elif day:
            folders.append(_read_day(build, path, *day, findings))
        elif LIKE_A_DATE.match(name):
            findings.append(_bad_name(path, name))
    folders.sort(key=lambda folder: (folder.date, folder.path))
    return folders, findings


def _candidates(build: Path, findings: list[Finding]) -> Iterator[str]:
    """Folders that begin with a digit, here and one folder deeper in a folder named for a year."""
    for name in _folder_names(build, "", findings):
        if YEAR.match(name):
            yield from (f"{name}/{inner}" for inner in _folder_names(build, name, findings))
        else:
            yield name


def _folder_names(build: Path, path: str, findings: list[Finding]) -> list[str]:
    entries = _entries(build, path, findings)
    findings += [_linked(path, entry.name) for entry in entries if entry.is_symlink() and _day(entry.name)]
    return [entry.name for entry in entries if entry.name[:1].isdigit() and entry.is_dir(follow_symlinks=False)]


def _entries(build: Path, path: str, findings: list[Finding]) -> list[os.DirEntry[str]]:
    """What lies in a folder, by name; a finding where nobody may look into it."""
    try:
        with os.scandir(build / path) as entries:
            return sorted(entries, key=lambda entry: entry.name)
    except OSError as fault:
        message = f"this folder cannot be opened, so nothing in it is read: {fault.strerror}"
        help = "change its permissions so that you may read it"
        findings.append(Finding("not-understood", message, Span(path or "."), help=help))
        return []


def _day(name: str) -> tuple[date, str] | None:
    match = ISO_DAY.fullmatch(name)
    if not match:
        return None
    try:
        return date(int(match[1]), int(match[2]), int(match[3])), tidy(match[4]).strip()
    except ValueError:
        return None


def _read_day(build: Path, path: str, day: date, title: str, findings: list[Finding]) -> DayFolder:
    notes: list[str] = []
    photos: list[str] = []
    for entry in _entries(build, path, findings):
        suffix = os.path.splitext(entry.name)[1].lower()
        if entry.name.startswith("."):
            continue
        if suffix not in READ:
            findings += _passed_over(build, path, entry, suffix)
            continue
        fault = _fault(f"{path}/{entry.name}", entry, suffix in NOTE_SUFFIXES)
        if fault:
            findings.append(fault)
        else:
            (notes if suffix in NOTE_SUFFIXES else photos).append(f"{path}/{entry.name}")
    return DayFolder(day, path, title, tuple(notes), tuple(photos))


def _passed_over(build: Path, path: str, entry: os.DirEntry[str], suffix: str) -> Iterator[Finding]:
    """What somebody put into a day and would look for on the site in vain."""
    if entry.is_dir(follow_symlinks=False):
        inside = [one.name for one in _entries(build, f"{path}/{entry.name}", [])]
        lost = [name for name in inside if os.path.splitext(name)[1].lower() in READ]
        if lost:
            message = f'"{shown(lost[0])}" and all else in this folder is left out: a day is one folder deep'
            help = "move the files up into the day's own folder"
            yield Finding("not-understood", message, Span(shown(f"{path}/{entry.name}")), help=help)
    elif suffix in NOT_SHOWN:
        message = f"a picture that ends with {suffix} is not shown"
        help = "save it as JPEG beside it, under the same name"
        yield Finding("unreadable-photo", message, Span(shown(f"{path}/{entry.name}")), help=help)


def _fault(file: str, entry: os.DirEntry[str], is_note: bool) -> Finding | None:
    """Why a note or a picture is left out; whether a picture can be opened is seen when it is."""
    word, what = ("not-understood", "note") if is_note else ("unreadable-photo", "picture")
    if shown(entry.name) != entry.name:
        return _cannot_be_named(word, file, what)
    if entry.is_symlink():
        message = f"this {what} is a link, so it is left out: it may lead out of the build"
        return Finding(word, message, Span(file), help=f"put the {what} itself in its place")
    if is_note and not entry.is_file(follow_symlinks=False):  # to open a pipe would wait for ever
        message = "this note is no ordinary file"
        return Finding(word, message, Span(file), help="put a text file in its place, or give it another ending")
    return None


def _linked(path: str, name: str) -> Finding:
    message = "this day is a link, so nothing in it is read: it may lead out of the build"
    place = Span(shown(f"{path}/{name}".lstrip("/")))
    return Finding("not-understood", message, place, help="put the folder itself in its place")


def _cannot_be_named(word: str, path: str, what: str) -> Finding:
    message = f"the name of this {what} is not UTF-8, so it is left out: no page can name it"
    return Finding(word, message, Span(shown(path)), help="give it a name in plain letters")


def _bad_name(path: str, name: str) -> Finding:
    return Finding(
        "bad-day-name",
        f'"{name}" begins like a date and is none, so nothing in it is read',
        Span(path),
        help="name it as year-month-day, such as 2026-03-21, then any words",
    )
