"""The stories of a day: its notes, told with the theme's figures and slips, and the pictures that no note has shown."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property, partial
from typing import Any

from markdown_it.token import Token
from markupsafe import Markup

from journal.model.entities import Day, DayNote, PlacedSlip
from journal.pages import story
from journal.pages.days import photo_finder, slip_view
from journal.pages.theme import Theme
from journal.pages.viewer import Viewer
from journal.pages.views import FindingView, Photo, Slip

ToldSlip = tuple[Slip, str, Photo | None]  # with the Markdown of its body and the picture it is about


@dataclass(frozen=True)
class NoteParts:
    """A note in pieces: its Markdown, its slips, what there is to tell about its lines."""

    tokens: Sequence[Token]
    slips: tuple[ToldSlip, ...]
    findings: Mapping[int, tuple[FindingView, ...]]


@dataclass(frozen=True)
class DayStories:
    """All that the stories of a day are told from."""

    viewer: Viewer
    day: Day

    @cached_property
    def find(self) -> Callable[[str], Photo | None]:
        return photo_finder(self.viewer, self.day)

    @cached_property
    def notes(self) -> tuple[NoteParts, ...]:
        return tuple(self._parts(note) for note in self.day.notes)

    @property
    def shown(self) -> tuple[object, ...]:
        """What a page with the stories depends on; each picture of the day may be shown, and those that it names."""
        named = tuple(photo for note in self.notes for photo in story.pictures(note.tokens, self.find))
        return self.day.title, self.notes, self.viewer.photos(self.day.photos), named

    def _parts(self, note: DayNote) -> NoteParts:
        slips = tuple(
            (
                slip_view(self.viewer, placed),
                placed.slip.body,
                self._pictured(placed),
            )
            for placed in note.slips
        )
        return NoteParts(note.note.tokens, slips, self.viewer.findings_by_line(note.note.file))

    def _pictured(self, placed: PlacedSlip) -> Photo | None:
        """The picture that a `photo` slip is about, also where it is of another day."""
        seen = self.viewer.seen(placed.photos) if placed.slip.kind == "photo" else []
        return self.viewer.photo(seen[0]) if seen else None

    def tell(self, theme: Theme, context: Mapping[str, object]) -> Mapping[str, object]:
        """The names that the template of a day's page gets; `context` is what else the page knows."""
        macros = theme.module("macros.html", context)
        stories = [story.Story(note.tokens, self.find, self.day.title, _beside(note, macros)) for note in self.notes]
        pictured = frozenset(key for one in stories for key in story.pictured(one))
        shown: set[str] = set()
        plates = partial(_Plates, macros=macros, pictured=pictured, shown=shown, on=self.day.date)
        told = [_tell(one, note.slips, plates) for one, note in zip(stories, self.notes, strict=True)]
        rest = tuple(photo for photo in self.viewer.photos(self.day.photos) if photo.key not in shown)
        return {"stories": told, "rest": rest}


def _beside(note: NoteParts, macros: Any) -> Callable[[int, int], Markup]:
    """What there is to tell about lines of a note, as the theme shows it."""
    return lambda first, last: Markup("").join(
        Markup(macros.finding(finding, here=True))
        for line in sorted(note.findings)
        if first <= line <= last
        for finding in note.findings[line]
    )


def _tell(whole: story.Story, slips: Sequence[ToldSlip], plates_of: Callable[..., _Plates]) -> Markup:
    plates: _Plates = plates_of(slips=slips, told=lambda text: story.tell_markdown(text, whole, plates))
    return story.tell(whole, plates)


@dataclass(frozen=True)
class _Plates:
    """The theme's macros for what stands in the stories of a day.

    told     tells Markdown
    pictured keys of the pictures that the notes show themselves
    shown    gathers the keys of all that was shown
    on       the day
    """

    macros: Any
    slips: Sequence[ToldSlip]
    told: Callable[[str], Markup]
    pictured: frozenset[str]
    shown: set[str]
    on: date

    def figure(self, photo: Photo) -> Markup:
        return Markup(self.macros.figure(self._first(photo)))

    def slip(self, number: int) -> Markup:
        slip, body, photo = self.slips[number]
        told = photo is not None and (photo.key in self.pictured or photo.key in self.shown)
        text = self.told(body) if slip.kind == "private" else Markup("")
        shown = self._first(photo) if photo and not told else photo
        return Markup(self.macros.slip(slip, text, shown, told))

    def _first(self, photo: Photo) -> Photo:
        """The picture; it has its anchor where it is shown first, on the page of its day."""
        elsewhere = photo.key in self.shown or photo.day != self.on
        self.shown.add(photo.key)
        return photo._replace(anchor="") if elsewhere else photo
