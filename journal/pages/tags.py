"""Bag tags: a label for each part that is off, with a code that leads back to its page.

Readable after a year in a tin: 11 pt at least, black on white; what a label cannot hold is cut with "…" and stands
on the part's page.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from fractions import Fraction

from journal.ground.records import record
from journal.model.entities import Part
from journal.pages import address, words
from journal.pages.hidden import Hidden
from journal.pages.viewer import Viewer
from journal.pages.work_views import Tag, TagDay, TagSheet
from journal.read.tag_sheet import PAPERS
from journal.read.tag_sheet import TagSheet as Sheet

STYLE = "tags/sheet.css"
QUIET = 4  # modules round a code (ISO/IEC 18004, from memory)
LETTERS, DIGITS = "ABCDEFGHJKLMNPQRTUVWXY", "23456789"  # without those that look alike
@record
class Make:
    """How a tag is laid out, in millimetres as measured on prints in a wide face.

    code               side of the QR code               edge         paper left free around
    name_letter, name_line, name_lines   the name: a letter, a line, how many lines it may take
    beside             the code stands beside the name too, so that it takes from its width
    labels             what stands before each text
    """

    code: int
    edge: Fraction
    name_letter: Fraction
    name_line: Fraction
    name_lines: int
    beside: bool
    labels: Mapping[str, str]


LETTER, LINE = Fraction(5, 2), Fraction(5)  # of 11 pt
GAP = 3
ROOMY = 60  # mm of height from which a tag holds a large code below its name
LARGE = Make(26, Fraction(4), Fraction(36, 10), Fraction(66, 10), 3, False, {})
SMALL = Make(18, Fraction(5, 2), Fraction(31, 10), Fraction(56, 10), 2, True, {"Held by": "By", "Way round": "Way"})


def make_of(sheet: Sheet) -> Make:
    return LARGE if sheet.height >= ROOMY else SMALL


# --- codes


def short_codes(parts: Iterable[str]) -> dict[str, str]:
    """A code such as `K7Q4` for each part's id, no two alike; it depends on the id alone, unless two would share it."""
    found: dict[str, str] = {}
    used: set[str] = set()
    for part in parts:
        number = 0
        while (code := _code(f"{part}{number or ''}")) in used:
            number += 1
        used.add(code)
        found[part] = code
    return found


def _code(text: str) -> str:
    """Letter, digit, letter, digit, letter: no word, no size, nothing that search takes for a value."""
    number = int.from_bytes(hashlib.sha256(text.encode("utf-8", "surrogatepass")).digest()[:8], "big")
    code = ""
    for signs in (LETTERS, DIGITS, LETTERS, DIGITS, LETTERS):
        number, at = divmod(number, len(signs))
        code += signs[at]
    return code


def qr_path(text: str) -> tuple[str, int]:
    """A QR code as an SVG path of whole modules, and its side in modules with the quiet zone."""
    import segno  # costs time, and only a build with an address needs it

    rows = [list(row) for row in segno.make(text, error="m", micro=False).matrix]
    path = "".join(f"M{x + QUIET} {y + QUIET}h{n}v1h-{n}z" for y, row in enumerate(rows) for x, n in _runs(row))
    return path, len(rows) + 2 * QUIET


def _runs(row: list[int]) -> Iterator[tuple[int, int]]:
    """Where dark modules begin, and how many stand together."""
    start = None
    for x, dark in enumerate([*row, 0]):
        if dark and start is None:
            start = x
        elif not dark and start is not None:
            yield start, x - start
            start = None


# --- the sheet


def tag_sheet(viewer: Viewer) -> TagSheet:
    """Tags of all parts that are off, newest day first."""
    codes = short_codes(viewer.book.parts)
    unpublished = Hidden(viewer.book).parts if viewer.shop else frozenset()
    off = [viewer.book.parts[id] for id in viewer.plan.constraints.off if _in_a_bag(viewer, id)]
    off.sort(key=lambda part: (viewer.removed_on(part.id) or date.min, part.title), reverse=True)
    days: dict[date | None, list[Tag]] = {}
    for part in off:
        tag = _tag(viewer, part, codes[part.id], published=part.id not in unpublished)
        days.setdefault(viewer.removed_on(part.id), []).append(tag)
    settings = viewer.book.settings
    return TagSheet(
        tuple(TagDay(day, tuple(sorted(tags, key=lambda tag: tag.part.text))) for day, tags in days.items()),
        settings.tags.marks,
        make_of(settings.tags).beside,
        _says(settings.tags),
        settings.site,
    )


def _in_a_bag(viewer: Viewer, part: str) -> bool:
    """Whether it was taken off; one that went with its host lies in no tin."""
    return viewer.book.lives.is_off(part, viewer.book.now) and viewer.book.state(part) != "scrapped"


def _tag(viewer: Viewer, part: Part, code: str, published: bool) -> Tag:
    sheet, site = viewer.book.settings.tags, viewer.book.settings.site
    path, size = qr_path(f"{site.rstrip('/')}/{address.part(part.id)}") if site and published else ("", 0)
    make = make_of(sheet)
    wide = sheet.width - 2 * make.edge
    beside = wide - make.code - GAP
    letters = int((beside if make.beside else wide) / make.name_letter)
    name = _cut_to_lines(part.name, "{} " + part.side, letters, make.name_lines)
    high = sheet.height - 2 * make.edge - _lines_for(f"{name} {part.side}", letters) * make.name_line
    lines = _lines(viewer, part, int(beside / LETTER), int(high / LINE), make.labels)
    return Tag(viewer.part(part.id), name, part.side, tuple(lines), code, path, size)


def _lines(
    viewer: Viewer, part: Part, letters: int, room: int, labels: Mapping[str, str]
) -> Iterator[tuple[str, str]]:
    """From, date, held by, way round, as far as `room` lines of so many letters hold them: one each, then in turn."""
    told = [(labels.get(label, label), text) for label, text in _told(viewer, part) if text][:room]
    wanted = [_lines_for(f"{label}: {text}", letters) for label, text in told]
    given = [1] * len(told)
    while sum(given) < room and given != wanted:
        short = [n for n in range(len(told)) if given[n] < wanted[n]]
        if not short:
            break
        given[min(short, key=lambda n: given[n])] += 1
    for (label, text), lines, enough in zip(told, given, wanted, strict=True):
        yield label, text if lines >= enough else _cut_to_lines(text, f"{label}: {{}}", letters, lines)


def _told(viewer: Viewer, part: Part) -> list[tuple[str, str]]:
    event = viewer.book.lives.came_off(part.id, viewer.book.now)
    way = part.latest("way round")
    return [
        ("From", viewer.book.title(part.host) if part.host in viewer.book.parts else "the machine"),
        ("Off", words.brief_date(event.when.day) if event else ""),
        ("Held by", "; ".join(fixing.said.text for fixing in viewer.fixings[part.id].was)),
        ("Way round", way.text if way else ""),
    ]


def _cut_to_lines(text: str, among: str, letters: int, lines: int) -> str:
    """As much of a text as fits into so many lines; `among` are the words it stands among, with {} for it."""
    before, _, after = among.partition("{}")
    most = min(len(text), lines * letters)
    while most > 4 and _lines_for(f"{before}{_cut(text, most)}{after}", letters) > lines:
        most -= 1
    return _cut(text, most)


def _lines_for(text: str, letters: int) -> int:
    """Lines that a text takes when it is broken between words."""
    lines, at = 1, 0
    for word in text.split():
        length = len(word)
        if at and at + 1 + length > letters:
            lines, at = lines + 1, 0
        lines += (length - 1) // letters if length > letters else 0
        at += length + (1 if at else 0)
    return lines


def _cut(text: str, most: int) -> str:
    """A text of so many letters at most, cut between words where it can be, with "…" for what is gone."""
    if len(text) <= most:
        return text
    short = text[: most - 1]
    at_word = short.rpartition(" ")[0]
    return (at_word if len(at_word) > most // 2 else short).rstrip(" ,;:") + "…"


def _says(sheet: Sheet) -> str:
    size = f"{_mm(sheet.width)} x {_mm(sheet.height)} mm"
    return f"{sheet.columns} x {sheet.rows} on {sheet.paper}, {size} each"


def _mm(length: Fraction) -> str:
    return f"{float(length):.5g}"


def style(sheet: Sheet) -> str:
    """The style sheet that lays the tags out on the paper, in millimetres."""
    wide, high = PAPERS[sheet.paper]
    bottom = max(Fraction(0), high - sheet.down_all - Fraction(1, 5))  # a hair of room for rounding
    right = max(Fraction(0), wide - sheet.across_all - Fraction(1, 5))
    margins = " ".join(f"{_mm(side)}mm" for side in (sheet.top, right, bottom, sheet.left))
    columns = f"repeat({sheet.columns}, {_mm(sheet.width)}mm)"
    return (
        f"@page {{ size: {_mm(wide)}mm {_mm(high)}mm; margin: {margins}; }}\n"
        f":root {{ --tag-width: {_mm(sheet.width)}mm; --tag-height: {_mm(sheet.height)}mm; "
        f"--code: {make_of(sheet).code}mm; --tag-edge: {_mm(make_of(sheet).edge)}mm; }}\n"
        f"@media print {{ .tags {{ grid-template-columns: {columns}; "
        f"column-gap: {_mm(sheet.across)}mm; row-gap: {_mm(sheet.down)}mm; }} }}\n"
    )
