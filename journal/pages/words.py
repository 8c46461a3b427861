"""Dates, counts, states and slips in plain shop words."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from journal.judge.verdicts import RecordWord
from journal.model.entities import State
from journal.pages.views import Mark

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)

STATES: dict[State, Mark] = {
    "on": Mark("on", "square-full", "plain"),
    "going": Mark("going", "square-cut", "bad"),
    "off": Mark("off", "square-open", "plain"),
    "off with its host": Mark("off with its host", "square-open", "plain"),
    "back on": Mark("back on", "square-full", "good"),
    "back on with its host off": Mark("back on with its host off", "square-half", "plain"),
    "cut": Mark("cut", "square-cut", "plain"),
    "replaced": Mark("replaced", "square-full", "good"),
    "scrapped": Mark("scrapped", "cross", "plain"),
}

BACK_ELSEWHERE = Mark("back, not where it was recorded", "triangle", "warn")
WENT_WITH_HOST = Mark("not said what became of it", "triangle", "warn")

RECORDS: dict[RecordWord, Mark] = {
    "position recorded": Mark("position recorded", "round-full", "good"),
    "partly recorded": Mark("partly recorded", "round-half", "warn"),
    "seen, not measured": Mark("seen, not measured", "round-open", "warn"),
    "not recorded": Mark("not recorded", "triangle", "bad"),
}

JOB_READY = Mark("ready", "square-full", "good")
JOB_WAITING = Mark("waiting", "square-half", "plain")
JOB_DONE = Mark("done", "tick", "good")
ORDER_HERE = Mark("here", "tick", "good")
ORDER_COMING = Mark("on its way", "square-open", "plain")
ORDER_LATE = Mark("late", "triangle", "bad")

VERBS = {
    "part": "About",
    "removed": "Taken off",
    "measured": "Measured",
    "refitted": "Back on",
    "replaced": "Replaced",
    "cut": "Cut",
    "scrapped": "Scrapped",
    "treated": "Treated",
    "ordered": "Ordered",
    "arrived": "Arrived",
    "job": "Job",
    "done": "Done",
    "photo": "Picture",
    "private": "For the shop only",
}

LABELS = {"from": "Fixed to", "on": "Fixed to", "part": "About", "photos": "Pictures"}


def say_date(on: date) -> str:
    """`21 March 2026`; labels are English."""
    return f"{on.day} {MONTHS[on.month - 1]} {on.year}"


def say_words(text: str) -> str:
    """Words as written, a plain date said in full."""
    try:
        return say_date(date.fromisoformat(text.strip())) if len(text.strip()) == len("2026-03-21") else text
    except ValueError:
        return text


def short_date(on: date) -> str:
    """`21 Mar`."""
    return f"{on.day} {MONTHS[on.month - 1][:3]}"


def brief_date(on: date) -> str:
    """`21 Mar 2026`."""
    return f"{short_date(on)} {on.year}"


def count(number: int, one: str, many: str = "") -> str:
    """`1 part`, `3 parts`."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def listed(words: Iterable[str]) -> str:
    """`a, b and c`."""
    items = list(words)
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """With a capital and a full stop."""
    text = capital(text.strip())
    return text if not text or text[-1] in ".!?:" else text + "."


def label(key: str) -> str:
    """A key of a slip as a person reads it."""
    return LABELS.get(key, capital(key))


def spellings(key: str) -> tuple[str, ...]:
    """The ways a picture is named, capitals aside: with its folder, by its name, without its ending."""
    key = key.casefold()
    name = key.rpartition("/")[2]
    return (key, name, name.rpartition(".")[0] or name)


def path(place: tuple[str, ...]) -> str:
    """`underside / left sill`."""
    return " / ".join(place)
