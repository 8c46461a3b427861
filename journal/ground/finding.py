"""The one class for all that the tool has to tell."""

from __future__ import annotations

from dataclasses import field
from typing import Literal

from journal.ground.explanations import WORDS
from journal.ground.records import record
from journal.ground.source import Span

Severity = Literal["problem", "warning", "remark"]


@record
class Note:
    """Where else to look: a sentence and, where there is one, its place."""

    message: str
    span: Span | None = field(default=None, compare=False)


@record
class Finding:
    """One fault, told once.

    word         a word of the table in `explanations`
    message      what is wrong in plain words, names in quotes, the value shown
    span         the place in the notes; takes no part in equality
    notes        where else to look
    help         what to write instead; "" where there is nothing to add
    part, host, measurement   ids of the book, or None
    severity     the table's, unless the check gives another one that the design allows
    """

    word: str
    message: str
    span: Span = field(compare=False)
    notes: tuple[Note, ...] = ()
    help: str = ""
    part: str | None = None
    host: str | None = None
    measurement: str | None = None
    severity: Severity = ""  # type: ignore[assignment]  # filled from the table just below

    def __post_init__(self) -> None:
        if not self.severity:
            object.__setattr__(self, "severity", WORDS[self.word].severity)

    def as_json(self) -> dict[str, object]:
        """The shape of `journal check --json`."""
        return {
            "severity": self.severity,
            "word": self.word,
            "message": self.message,
            "file": self.span.file,
            "line": self.span.line,
            "column": self.span.column,
            "end": self.span.end,
            "help": self.help,
            "notes": [
                {
                    "message": note.message,
                    "file": note.span.file if note.span else None,
                    "line": note.span.line if note.span else None,
                }
                for note in self.notes
            ],
            "data": {"part": self.part, "host": self.host, "measurement": self.measurement},
        }
