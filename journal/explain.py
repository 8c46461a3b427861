"""`journal explain`: what a finding means, with an example that triggers it and one that nearly does."""

from __future__ import annotations

from textwrap import fill, indent

from journal.ground.explained import Files
from journal.ground.explanations import WORDS, Word

WIDTH = 88


def list_lines() -> list[str]:
    """Every word with its summary."""
    widest = max(map(len, WORDS))
    return [f"{word:{widest}}  {entry.severity:8} {entry.summary}" for word, entry in WORDS.items()]


def explain_lines(word: str) -> list[str]:
    """One word in full."""
    entry = WORDS[word]
    lines = [f"{word} ({entry.severity}): {entry.summary}", "", fill(entry.text, WIDTH), ""]
    lines += _folder("This triggers it:", entry, entry.example)
    lines += _folder("This does not:", entry, entry.near_miss)
    return lines


def _folder(title: str, entry: Word, folder: Files) -> list[str]:
    lines = [title] if folder else []
    for path, text in folder.items():
        if path != "build.toml" or len(folder) == 1:
            lines += [f"  {path}", indent(text.rstrip(), "    "), ""]
    return lines
