"""build.toml: the settings of a build, every key optional but the title."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date


@dataclass(frozen=True, slots=True)
class Private:
    """What the public edition leaves out, by name."""

    days: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    photos: tuple[str, ...] = ()
    names: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Settings:
    """The settings of a build.

    title      what the build is called          about, author   a sentence; a name
    site       public address, "" if none        units    "mm" or "in": which is shown first
    bare       unit of a number written without one, None: such a number is a finding
    decimal    "." or ","                        sides    the pair of side words
    language   of the notes (BCP 47)             finished the date the build ended
    theme      its folder's name                 keep     names in the output folder to carry over untouched
    places     path -> note, in order            private  what the public edition leaves out
    """

    title: str = ""
    about: str = ""
    author: str = ""
    site: str = ""
    units: str = "mm"
    bare: str | None = None
    decimal: str = "."
    sides: tuple[str, str] = ("left", "right")
    language: str = "en"
    finished: date | None = None
    theme: str = "bench"
    keep: tuple[str, ...] = ()
    private: Private = field(default_factory=Private)
    places: tuple[tuple[tuple[str, ...], str], ...] = ()
