"""Golden cases of reading notes: text files in `cases/notes`, each case a note and what was read in it.

    === title that says why the case is there
    the note
    --- settings: sides=port/starboard bare=mm decimal=,        (only where it needs other than the usual ones)
    --- read
    what `dump` says of it

`JOURNAL_REWRITE=1 pytest tests/test_notes_cases.py` writes the last part anew; look at the difference before
keeping it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from journal.ground.finding import Finding
from journal.ground.source import Source, Span
from journal.measure.value import Value
from journal.notes.parse import NoteSettings, parse_note
from journal.notes.records import Entry, Name, Note, Slip, Split, Statement

FOLDER = Path(__file__).parent / "cases" / "notes"


@dataclass(frozen=True)
class Case:
    """One case; `line` is where its expected part begins in the file."""

    file: Path
    title: str
    line: int
    text: str
    settings: NoteSettings
    settings_line: str
    expected: str


def read_cases(path: Path) -> list[Case]:
    cases: list[Case] = []
    lines = path.read_text("utf-8").split("\n")
    starts = [number for number, line in enumerate(lines) if line.startswith("=== ")]
    for start, end in zip(starts, [*starts[1:], len(lines)], strict=True):
        body = lines[start + 1 : end]
        marks = [number for number, line in enumerate(body) if line.startswith("--- ")]
        read_at = next(number for number in marks if body[number] == "--- read")
        settings_line = next((body[n] for n in marks if body[n].startswith("--- settings:")), "")
        text = "\n".join(body[: marks[0]]) + "\n"
        expected = "\n".join(body[read_at + 1 :]).strip("\n")
        cases.append(
            Case(path, lines[start][4:], start + read_at + 3, text, settings_of(settings_line), settings_line, expected)
        )
    return cases


def settings_of(line: str) -> NoteSettings:
    said = dict(re.findall(r"(\w+)=(\S+)", line))
    one, two = said.get("sides", "left/right").split("/")
    return NoteSettings((one, two), said.get("bare"), said.get("decimal", "."))


def write_cases(path: Path, cases: list[Case], read: list[str]) -> None:
    blocks = [
        "\n".join(
            [f"=== {case.title}", case.text.removesuffix("\n"), *filter(None, [case.settings_line]), "--- read", text]
        )
        for case, text in zip(cases, read, strict=True)
    ]
    path.write_text("\n\n".join(blocks) + "\n", "utf-8")


def read_note(case: Case) -> str:
    note, findings = parse_note(Source.of("note.md", case.text), case.settings)
    return dump(note, findings)


# ---- what was read, for the eye


def dump(note: Note, findings: list[Finding]) -> str:
    lines = [f"title: {note.title}"] if note.title else []
    for slip in note.slips:
        lines += _slip(slip)
    for finding in findings:
        place = f"{finding.span.line}:{finding.span.column}-{finding.span.end}"
        lines.append(f"! {place} {finding.severity} [{finding.word}] {finding.message}")
        lines += [f"    also {aside.message}{_where(aside.span)}" for aside in finding.notes]
        lines += [f"    help {finding.help}"] if finding.help else []
    return "\n".join(lines) or "nothing"


def _where(span: Span | None) -> str:
    return f" ({span.line}:{span.column}-{span.end})" if span else ""


def _slip(slip: Slip) -> list[str]:
    about = f"part {_name(slip.name)}" if slip.name else f"about <{slip.about}>"
    private = ", private" if slip.private else ""
    lines = [f"{slip.span.line}-{slip.end_line} {slip.kind}: {about}{private}"]
    lines += [f"    {entry.span.line} {_entry(entry)}" for entry in slip.entries]
    for statement in slip.statements:
        lines += _statement(statement)
    lines += [f"    {sentence.span.line} said <{sentence.text}>" for sentence in slip.sentences]
    if slip.kind == "private":
        lines += [f"    body <{line}>" for line in slip.body.split("\n")]
    return lines


def _name(name: Name) -> str:
    return f"<{name.words}>" + "".join(f" {side}" for side in name.sides)


def _entry(entry: Entry) -> str:
    if entry.names:
        return f"{entry.key}: {' + '.join(_name(name) for name in entry.names)}"
    if entry.items != (entry.value,):
        return f"{entry.key}: {' + '.join(f'<{item}>' for item in entry.items)}"
    return f"{entry.key}: <{entry.value}>"


def _statement(statement: Statement) -> list[str]:
    first, *others = statement.splits
    marks = [f"by {statement.method}"] if statement.method else []
    marks += [f"want {_value(statement.want)}"] if statement.want else []
    marks += ["from memory"] if statement.from_memory else []
    marks += ["in doubt"] if statement.in_doubt else []
    marks += [f"remark <{statement.remark}>"] if statement.remark else []
    value = f" = {_value(statement.value)}" if statement.value else ""
    place = f"{statement.span.line}:{statement.value_span.column}"
    lines = [f"    {place} {_split(first)}{value}{''.join(f', {mark}' for mark in marks)}"]
    return lines + [f"        or {_split(other)}" for other in others]


def _split(split: Split) -> str:
    if split.relation:
        return f"<{split.subject}> {split.relation.upper()} <{split.reference}>"
    return f"{split.dimension.upper()} of <{split.subject}>"


def _value(value: Value) -> str:
    shown = f"“{value.written}”"
    if value.number is None:
        return f"{shown} kept"
    bounds = f"{_number(value.low)}..{_number(value.high)} {value.unit}"
    return f"{shown} {bounds}{' about' if value.about else ''}"


def _number(number: Fraction | None) -> str:
    return "" if number is None else f"{float(number):.6g}"
