"""`journal start`: a folder with settings and a first day, written only where nothing stands yet."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

from journal.ground.decoding import shown

SETTINGS = """\
title = {title}
about = ""
author = ""
units = "mm"              # or "in": which is shown first, the other always beside it
# bare = "mm"             # the unit of a number written without one; without this line such a number is a finding
sides = ["left", "right"]
language = "en"
# site = "https://example.org/build/"

[private]                 # what the public edition leaves out, by name
days = []
places = []
parts = []
photos = []
names = []
"""

NOTE = """\
# First day

Write the day's story here, as long or as short as you like. Put the photos of the day beside this file.

Before a part comes off, write down what holds it and where it sits. The block below is a slip: change the words to
those of your own part, or delete it.

```removed lamp bracket, left
from: front panel
place: front
held by: 2 bolts M6 x 16
way round: short leg down
stored: tin 1
```
"""


class StartFault(Exception):
    """Why a build cannot begin here, in a sentence; `is_build`: it has begun already."""

    def __init__(self, message: str, is_build: bool = False) -> None:
        super().__init__(message)
        self.is_build = is_build


def start_build(folder: Path, title: str, today: date) -> list[Path]:
    """Write build.toml and a first day into `folder`; nothing that is there is touched. Returns what was written."""
    settings = folder / "build.toml"
    note = folder / f"{today.isoformat()} first day" / "note.md"
    if settings.exists():
        raise StartFault(f"{folder} is a build already", is_build=True)
    try:
        note.parent.mkdir(parents=True, exist_ok=True)
        _write_new(settings, SETTINGS.format(title=json.dumps(shown(title), ensure_ascii=False)))
        written = [settings]
        if not note.exists():
            _write_new(note, NOTE)
            written.append(note)
    except OSError as fault:
        raise StartFault(f"{fault.filename or folder} cannot be written: {fault.strerror}") from fault
    return written


def _write_new(path: Path, text: str) -> None:
    with open(path, "x", encoding="utf-8", newline="\n") as file:
        file.write(text)
