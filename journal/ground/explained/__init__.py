"""The long texts behind the table of finding words: what each means, an example that triggers it, a near miss."""

from __future__ import annotations

from collections.abc import Mapping

from journal.ground.records import record

Files = Mapping[str, str]


@record
class Explained:
    """What `journal explain WORD` tells.

    text       plain words, a few sentences
    example    a build folder that triggers it: {path: text}; a build.toml with only a title is left out.
               A picture is told by its text: "a picture", "a picture taken 2026-03-20"; any other text is what
               the file holds
    near_miss  a build folder that nearly does, and must not
    encoding   what the example's notes are saved in
    """

    text: str
    example: Files
    near_miss: Files
    encoding: str = "utf-8"


def day(text: str, folder: str = "2026-03-21 left sill") -> dict[str, str]:
    """A day folder with one note in it."""
    return {f"{folder}/note.md": text}
