"""Findings as text: place, severity, message and word on one line, the line with a caret, then help."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from journal.ground.finding import Finding, Severity

LONGEST_LINE = 160
SEVERITIES: tuple[Severity, ...] = ("problem", "warning", "remark")


def render(finding: Finding, sources: Mapping[str, Sequence[str]]) -> list[str]:
    """The lines that tell one finding; the first is `file:line:col: severity: message [word]`."""
    span = finding.span
    place = f"{span.file}:{span.line}:{span.column}" if span.line else span.file
    lines = [printable(f"{place}: {finding.severity}: {finding.message} [{finding.word}]")]
    lines += _with_caret(finding, sources.get(span.file, ()))
    for note in finding.notes:
        where = f" ({note.span})" if note.span else ""
        lines.append(printable(f"    note: {note.message}{where}"))
    if finding.help:
        lines.append(printable(f"    help: {finding.help}"))
    return lines


def _with_caret(finding: Finding, source: Sequence[str]) -> list[str]:
    """The line of the note with the place underlined; a long line is shown around the place."""
    span = finding.span
    if not 1 <= span.line <= len(source):
        return []
    text = source[span.line - 1]
    start = max(0, span.column - 1 - LONGEST_LINE // 2) if len(text) > LONGEST_LINE else 0
    shown = printable(text[start : start + LONGEST_LINE])
    if not shown.strip():
        return []
    width = max(1, min(span.end - span.column, len(shown) - (span.column - 1 - start)))
    return [f"    {shown}", f"    {' ' * (span.column - 1 - start)}{'^' * width}"]


def printable(text: str) -> str:
    """Text a terminal may be given: control characters, which could move its cursor, become a dot."""
    return "".join(letter if letter.isprintable() else " " if letter == "\t" else "·" for letter in text)


def tally(findings: Iterable[Finding]) -> str:
    """`2 problems, 1 warning, 3 remarks`, or `nothing found`."""
    counts = Counter(finding.severity for finding in findings)
    said = [f"{counts[s]} {s}{'' if counts[s] == 1 else 's'}" for s in SEVERITIES if counts[s]]
    return ", ".join(said) or "nothing found"
