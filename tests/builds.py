"""Build folders made from text, for tests: {path: text} to files, and what the tool tells of them."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path

from PIL import Image

from journal.build import Told
from journal.ground.finding import Finding
from journal.judge.verdicts import Record
from journal.make import tell_build

TODAY = date(2026, 5, 9)
TITLE = 'title = "Platform truck No. 9"\n'
PICTURE = re.compile(r"a picture(?: taken (\d{4})-(\d{2})-(\d{2}))?")
REPEATED = re.compile(r"\{\{(.+?) \* (\d+)\}\}")
CONTROL = re.compile(r"\{\{U\+([0-9A-F]{4})\}\}")
DATE_TAKEN = 0x9003  # Exif 2.32, DateTimeOriginal
EXIF_IFD = 0x8769


def write_build(folder: Path, files: Mapping[str, str], encoding: str = "utf-8") -> Path:
    """Write a build; one without build.toml gets the least that it needs."""
    for path, text in {"build.toml": TITLE, **files}.items():
        target = folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(_bytes(path, text, encoding))
    return folder


def _bytes(path: str, text: str, encoding: str) -> bytes:
    picture = PICTURE.fullmatch(text.strip()) if path.endswith(".jpg") else None
    if picture:
        return _jpeg(":".join(picture.groups()) if picture[1] else None)
    text = REPEATED.sub(lambda found: found[1] * int(found[2]), text)
    return CONTROL.sub(lambda found: chr(int(found[1], 16)), text).encode(encoding)


def _jpeg(day: str | None) -> bytes:
    image, exif, target = Image.new("RGB", (40, 30), "grey"), Image.Exif(), io.BytesIO()
    if day:
        exif.get_ifd(EXIF_IFD)[DATE_TAKEN] = f"{day} 10:00:00"
    image.save(target, "JPEG", exif=exif)
    return target.getvalue()


def tell_files(folder: Path, files: Mapping[str, str], encoding: str = "utf-8", today: date = TODAY) -> Told:
    """What the tool makes of a build of these files."""
    return tell_build(write_build(folder, files, encoding), today)


def finding_line(finding: Finding) -> str:
    """`path:line:col severity word | message`."""
    return f"{finding.span} {finding.severity} {finding.word} | {finding.message}"


def finding_lines(finding: Finding) -> list[str]:
    """The same with its notes and its help below it."""
    notes = [f"    note: {note.message}" + (f" ({note.span})" if note.span else "") for note in finding.notes]
    return [finding_line(finding), *notes, *([f"    help: {finding.help}"] if finding.help else [])]


def record_line(told: Told, record: Record) -> str:
    """`part | located by | record | free | next`; the record of a part that is not asked for stands in brackets."""
    word = record.word if record.asked else f"({record.word})"
    lists = ("; ".join(texts) or "-" for texts in (record.free, record.next))
    return " | ".join((told.book.title(record.part), record.located_by, word, *lists))
