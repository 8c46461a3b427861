"""Golden cases of whole builds in readable text: `## title`, files as `=== path`, then findings and records.

    ## A welded bracket is off and nothing says where it sat

    === 2026-03-21/note.md
    ...
    === findings
    path:line:column severity word | message
        note: where else to look
        help: what to write
    === records
    part | located by | record | what is free | what to measure next

A build without build.toml gets one with a title. `{{9 * 5000}}` stands for 5,000 nines and `{{U+0007}}` for a sign
that cannot be typed. JOURNAL_REWRITE=1 writes what comes out into the file; read it before you keep it.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

CASES = Path(__file__).parent / "cases" / "findings"
REWRITE = os.environ.get("JOURNAL_REWRITE") == "1"
RESULTS = ("findings", "records")


@dataclass(frozen=True)
class Golden:
    """One case; `line` is that of its title, `results` what is expected under each heading."""

    file: Path
    line: int
    title: str
    files: dict[str, str]
    results: dict[str, str]

    def __str__(self) -> str:
        return f"{self.file.name}:{self.line}: {self.title}"


def golden_cases() -> Iterator[Golden]:
    for file in sorted(CASES.glob("*.md")):
        text = file.read_text("utf-8")
        for match in re.finditer(r"^## (.+)\n((?:(?!## ).*(?:\n|\Z))*)", text, re.MULTILINE):
            sections = re.split(r"^=== (.+)\n", match[2], flags=re.MULTILINE)
            named = dict(zip(sections[1::2], sections[2::2], strict=True))
            results = {name: named.pop(name, "").strip("\n") for name in RESULTS}
            yield Golden(file, text[: match.start()].count("\n") + 1, match[1], named, results)


def rewrite(case: Golden, results: dict[str, str]) -> None:
    """Put what came out into the case's file."""
    text = case.file.read_text("utf-8")
    start = text.index(f"## {case.title}\n")
    end = text.find("\n## ", start)
    end = len(text) if end < 0 else end
    head = text[start:end].split("\n=== findings", 1)[0].rstrip("\n")
    blocks = "".join(f"\n\n=== {name}\n{results[name]}" for name in RESULTS if results[name])
    case.file.write_text(text[:start] + head + blocks + "\n" + text[end:], "utf-8")
