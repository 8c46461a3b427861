"""The text of a file's bytes: UTF-8, else read as Windows once wrote it, with a finding."""

from __future__ import annotations

import codecs
import os

from journal.ground.finding import Finding
from journal.ground.source import Source

UTF_16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_CONTROLS = {code: " " for code in (*range(0x20), 0x7F) if chr(code) not in "\t\n\r"}


def decode(file: str, data: bytes, what: str = "this note") -> tuple[Source, list[Finding]]:
    """The text of `file`; where it is not UTF-8, a finding about `what`, and the rest of it read all the same.

    Only the bytes that are not UTF-8 are read as Windows wrote them: a file may hold both.
    """
    try:
        return Source.of(file, _without_controls(data.decode("utf-8-sig"))), []
    except UnicodeDecodeError as error:
        bad = error.start
    wide = data[:2] in UTF_16
    text = data.decode("utf-16", "replace") if wide else data.decode("utf-8-sig", WINDOWS)
    source = Source.of(file, _without_controls(text))
    before = data[:bad].decode("utf-8-sig", errors="replace").replace("\r\n", "\n").replace("\r", "\n")
    line = 1 if wide else before.count("\n") + 1
    column = 0 if wide else len(before) - (before.rfind("\n") + 1)
    finding = Finding(
        "not-utf8",
        f"{what} is not UTF-8: byte {data[bad]:#04x} in line {line}; letters with accents may be wrong",
        source.span(line, column, min(column + 1, len(source.line(line)))),
        help="save it again with the encoding UTF-8 (in the editor: Save as, then Encoding)",
    )
    return source, [finding]


def shown(name: str) -> str:
    """A name from the disk as it can be printed: the same, but for bytes that are not UTF-8."""
    return name if name.isascii() else os.fsencode(name).decode("utf-8", WINDOWS)


def _as_windows(fault: UnicodeError) -> tuple[str, int]:
    assert isinstance(fault, UnicodeDecodeError), "it is asked when bytes are read"
    return fault.object[fault.start : fault.end].decode("cp1252", "replace"), fault.end


WINDOWS = "journal-windows"
codecs.register_error(WINDOWS, _as_windows)


def _without_controls(text: str) -> str:
    """Control characters as spaces, so that neither a page nor a feed has to carry them."""
    return text.translate(_CONTROLS)
