"""Where a piece of text stands: the file, the line, the columns."""

from __future__ import annotations

from dataclasses import dataclass

from journal.ground.records import record


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """A stretch of one line.

    file    path relative to the build folder, with "/"
    line    from 1; 0 means the file as a whole
    column  from 1, in characters
    end     column after the last character, so `end - column` is the width
    """

    file: str
    line: int = 0
    column: int = 1
    end: int = 1

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


@record
class Source:
    """The text of one file, split into lines, that spans point into.

    file   path relative to the build folder, with "/"
    lines  without their line ends; BOM gone, CRLF and CR read as LF
    """

    file: str
    lines: tuple[str, ...]

    @classmethod
    def of(cls, file: str, text: str) -> Source:
        """Split `text` as an editor does, so that line numbers agree with the one on screen."""
        text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
        return cls(file, tuple(text.split("\n")))

    @property
    def text(self) -> str:
        return "\n".join(self.lines)

    def line(self, number: int) -> str:
        """Line `number` (from 1), or "" where there is none."""
        return self.lines[number - 1] if 1 <= number <= len(self.lines) else ""

    def span(self, line: int, start: int, end: int) -> Span:
        """The span of `line` (from 1) between two offsets from 0, the second exclusive."""
        return Span(self.file, line, start + 1, end + 1)

    def whole_line(self, line: int) -> Span:
        """The span of a line's text without the white space around it."""
        text = self.line(line)
        start = len(text) - len(text.lstrip())
        return self.span(line, start, max(start, len(text.rstrip())))
