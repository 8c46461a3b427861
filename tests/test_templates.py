"""Full-size templates, read back with other libraries: pypdf and ezdxf's reader."""

from __future__ import annotations

import io
import re
import subprocess
import sys
from dataclasses import dataclass, field, replace
from itertools import pairwise
from math import hypot, pi
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream

from journal.ground.kept_work import KeptWork, code_of
from journal.pages import template_dxf, template_pdf
from journal.pages.full_size import NO_SIDE, Template, template_of
from journal.pages.plate import Box, Line, Plate
from journal.pages.template_pdf import MEASURE, MOST_SHEETS, OVERLAP, Tiling, tiling
from tests.plates import SILL, flange, lid

MM = 25.4 / 72  # of a PDF point
NEAR = 0.05  # mm: what a template may be off

Place = tuple[float, float]
Matrix = tuple[float, float, float, float, float, float]


@dataclass
class Marks:
    """What is drawn on a sheet, mm from its lower left corner: lines, boxes of closed curves (circles), words."""

    lines: list[tuple[Place, Place]] = field(default_factory=list)
    circles: list[tuple[Place, float]] = field(default_factory=list)
    text: str = ""
    size: Place = (0, 0)

    def has_line(self, a: Place, b: Place, near: float = NEAR) -> bool:
        ways = [pair for one, two in self.lines for pair in ((one, two), (two, one))]
        return any(close(a, one, near) and close(b, two, near) for one, two in ways)

    def lengths(self) -> list[float]:
        return [hypot(b[0] - a[0], b[1] - a[1]) for a, b in self.lines]


def close(a: Place, b: Place, near: float) -> bool:
    return abs(a[0] - b[0]) <= near and abs(a[1] - b[1]) <= near


def read_back(data: bytes) -> list[Marks]:
    """The sheets of a PDF: its drawing operators followed through every change of the coordinates."""
    reader = PdfReader(io.BytesIO(data))
    return [_marks(page, reader) for page in reader.pages]


def _marks(page: object, reader: PdfReader) -> Marks:
    marks = Marks(text=page.extract_text(), size=(float(page.mediabox.width) * MM, float(page.mediabox.height) * MM))  # type: ignore[attr-defined]
    _follow(page.get_contents(), page["/Resources"], (1.0, 0.0, 0.0, 1.0, 0.0, 0.0), marks, reader)  # type: ignore[attr-defined,index]
    return marks


def _follow(content: Any, resources: Any, matrix: Matrix, marks: Marks, reader: PdfReader) -> None:
    """The operators of a page, or of a form that it shows."""
    kept: list[Matrix] = []
    path: list[Place] = []
    curved = False
    for operands, operator in ContentStream(content, reader).operations:
        numbers = [float(o) for o in operands if isinstance(o, (int, float))]
        match operator:
            case b"q":
                kept.append(matrix)
            case b"Q":
                matrix = kept.pop()
            case b"cm":
                matrix = _times(tuple(numbers), matrix)
            case b"m":
                path, curved = [_on(matrix, *numbers)], False
            case b"l":
                path.append(_on(matrix, *numbers))
            case b"c":
                curved = True
                path.append(_on(matrix, *numbers[4:]))
            case b"S" | b"s" | b"B" | b"b":
                if curved:
                    xs, ys = [x for x, _ in path], [y for _, y in path]
                    centre = (max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2
                    marks.circles.append((centre, max(xs) - min(xs)))
                else:
                    marks.lines += list(pairwise(path))
                path, curved = [], False
            case b"re" | b"n" | b"f" | b"f*":
                path, curved = [], False
            case b"Do":
                form = resources["/XObject"][operands[0]].get_object()
                assert form["/Subtype"] == "/Form"
                assert form["/Matrix"] == [1, 0, 0, 1, 0, 0]
                _follow(form, form["/Resources"], matrix, marks, reader)


def _times(a: tuple[float, ...], b: Matrix) -> Matrix:
    return (
        a[0] * b[0] + a[1] * b[2], a[0] * b[1] + a[1] * b[3], a[2] * b[0] + a[3] * b[2], a[2] * b[1] + a[3] * b[3],
        a[4] * b[0] + a[5] * b[2] + b[4], a[4] * b[1] + a[5] * b[3] + b[5],
    )  # fmt: skip


def _on(matrix: Matrix, x: float, y: float) -> Place:
    return ((matrix[0] * x + matrix[2] * y + matrix[4]) * MM, (matrix[1] * x + matrix[3] * y + matrix[5]) * MM)


def made(plate: Plate, paper: str = "A4") -> tuple[Template, Tiling, list[Marks]]:
    template = template_of(plate)
    assert template is not None
    data = template_pdf.pdf(template, paper, "Platform truck No. 9")
    assert data is not None
    return template, tiling(template.box, paper), read_back(data)


def on_sheet(laid: Tiling, number: int, place: Place) -> Place:
    """A place of the plane in mm on a sheet."""
    shows, (x, y) = laid.tiles[number].shows, laid.corner
    return place[0] - shows.left + x, place[1] - shows.low + y


CASES = {"part": (flange(), "A4"), "face": (flange(SILL), "A4"), "slanting": (lid(), "Letter"),
         "two spots": (flange(other_spot=True), "Letter")}  # fmt: skip


# --- the sheets


@pytest.mark.parametrize("name", CASES)
def test_every_sheet_has_both_check_bars_at_their_length_and_the_words_to_measure_them(name: str) -> None:
    template, laid, sheets = made(*CASES[name])
    assert len(sheets) == len(laid.tiles)
    for number, sheet in enumerate(sheets, 1):
        across = [a for a in sheet.lines if abs(a[0][1] - a[1][1]) < 1e-6 and a[0][1] < 20]
        assert any(abs(abs(b[0] - a[0]) - 100) < 1e-3 for a, b in across), "100 mm across, below the drawing"
        upright = [a for a in sheet.lines if abs(a[0][0] - a[1][0]) < 1e-6 and a[0][0] < 18]
        assert any(abs(abs(b[1] - a[1]) - 101.6) < 1e-3 for a, b in upright), "4 in upright, left of the drawing"
        words = " ".join(sheet.text.split())
        assert MEASURE in words
        assert "100 mm" in words
        assert "4 in" in words
        assert "Full size, 1:1" in words
        assert "11 April 2026" in words
        assert template.title in words
        assert f"Sheet {laid.tiles[number - 1].name}, {number} of {len(sheets)}" in words


@pytest.mark.parametrize(("paper", "short", "long"), [("A4", 210, 297), ("Letter", 215.9, 279.4)])
def test_the_paper_is_the_one_asked_for(paper: str, short: float, long: float) -> None:
    for plate in (flange(), flange(SILL)):
        for sheet in made(plate, paper)[2]:
            assert sorted(sheet.size) == pytest.approx([short, long], abs=0.01)


@pytest.mark.parametrize("name", CASES)
def test_sheets_overlap_by_ten_millimetres_and_cover_the_drawing(name: str) -> None:
    template, laid, _ = made(*CASES[name])
    by_place = {(tile.row, tile.column): tile.shows for tile in laid.tiles}
    for (row, column), shows in by_place.items():
        right, below = by_place.get((row, column + 1)), by_place.get((row + 1, column))
        assert right is None or shows.right - right.left == pytest.approx(OVERLAP)
        assert below is None or below.high - shows.low == pytest.approx(OVERLAP)
    whole = template.box
    assert min(shows.left for shows in by_place.values()) <= whole.left + 1e-6
    assert max(shows.right for shows in by_place.values()) >= whole.right - 1e-6
    assert min(shows.low for shows in by_place.values()) <= whole.low + 1e-6
    assert max(shows.high for shows in by_place.values()) >= whole.high - 1e-6
    assert {(row, column) for row in range(laid.rows) for column in range(laid.columns)} == set(by_place)


def test_join_marks_of_neighbours_lie_on_each_other() -> None:
    """The same two crosses, in the middle of the overlap, on both sheets; each says which sheets meet there."""
    plate = replace(lid(other_spot=False), about_part=False, alternatives=())
    _, laid, sheets = made(plate)
    assert (laid.rows, laid.columns) > (1, 1)
    a, b = (next(n for n, tile in enumerate(laid.tiles) if tile.name == name) for name in ("A1", "A2"))
    seam = laid.tiles[a].shows.right - OVERLAP / 2
    for number, other in ((a, "A2"), (b, "A1")):
        shows = laid.tiles[number].shows
        for share in (0.25, 0.75):
            x, y = on_sheet(laid, number, (seam, shows.low + shows.height * share))
            assert sheets[number].has_line((x - 4, y), (x + 4, y), 1e-3)
            assert sheets[number].has_line((x, y - 4), (x, y + 4), 1e-3)
        assert f"{laid.tiles[number].name}-{other}" in sheets[number].text
    assert laid.tiles[a].shows.low == laid.tiles[b].shows.low


# --- the drawing on them


@pytest.mark.parametrize("name", CASES)
def test_holes_stand_where_they_are_to_a_twentieth_of_a_millimetre(name: str) -> None:
    plate, paper = CASES[name]
    template, laid, sheets = made(plate, paper)
    inside = [point for point in plate.spots if template.box.holds(point.at)]
    assert any(point.own for point in inside)
    for point in inside:
        seen = [n for n, tile in enumerate(laid.tiles) if tile.shows.holds(point.at)]
        assert seen, "on one sheet at least"
        for number in seen:
            x, y = on_sheet(laid, number, point.at)
            arm = (point.diameter or 0) / 2 + 5
            assert sheets[number].has_line((x - arm, y), (x + arm, y)), f"the cross of {point.name}"
            assert sheets[number].has_line((x, y - arm), (x, y + arm))
            sizes = [size for centre, size in sheets[number].circles if close(centre, (x, y), NEAR)]
            assert sizes == ([pytest.approx(point.diameter, abs=NEAR)] if point.diameter else [])


def test_distances_between_holes_and_edges_are_those_of_the_coordinates() -> None:
    """The hole is 22 mm from the web and 25 mm from the flange edge."""
    _, _, (sheet,) = made(flange())
    ((x, y), size), *_ = sheet.circles
    assert size == pytest.approx(14, abs=NEAR)
    level = sorted({a[1] for a, b in sheet.lines if abs(a[1] - b[1]) < 1e-6 and abs(a[0] - b[0]) > 150})
    assert any(abs(y - edge - 22) < NEAR for edge in level), "the web"
    assert any(abs(edge - y - 25) < NEAR for edge in level), "the flange edge"
    crosses = [a for a, b in sheet.lines if abs(a[1] - b[1]) < 1e-6 and abs(abs(a[0] - b[0]) - 10) < 1e-3]
    assert any(close((a[0] + 5, a[1]), (x + 12, y + 13), NEAR) for a in crosses), "weld 1"


def test_what_is_far_off_is_told_with_an_arrow() -> None:
    template, laid, (sheet,) = made(flange())
    words = " ".join(sheet.text.split())
    assert "1580.0 mm from the middle of hole to rear end" in words
    assert "920.0 mm from the middle of hole to hole of guide bracket rear, left" in words
    assert all(tip[0] < tail[0] for tail, tip in ((a.tail, a.tip) for a in template.arrows)), "both lie to the rear"
    for arrow in template.arrows:
        assert sheet.has_line(on_sheet(laid, 0, arrow.tail), on_sheet(laid, 0, arrow.tip))


def test_the_title_says_what_must_not_be_missed() -> None:
    words = " ".join(made(flange(other_spot=True))[2][0].text.split())
    assert "Two spots fit these readings." in words
    assert "Seen from above." in words
    assert "Right is to the front, up is to the left." in words
    assert "95 times in 100 the true places lie within 2.6 mm" in words
    blind = " ".join(made(replace(flange(), seen="", right="", up=""))[2][0].text.split())
    assert NO_SIDE in blind


def test_names_and_sizes_are_written_and_stand_apart() -> None:
    _, _, (sheet,) = made(flange())
    words = " ".join(sheet.text.split())
    for told in ("hole, dia 14.0 mm", "weld 1, diameter not known", "web", "flange edge"):
        assert told in words
    inches = template_of(flange(), "in")
    assert inches
    assert any(label.text == "hole, dia 0.551 in (14.0 mm)" for label in inches.labels)


def test_a_region_is_drawn_round_a_part_on_a_long_sill() -> None:
    part, face = template_of(flange()), template_of(flange(SILL))
    assert part
    assert face
    assert part.box.width < 250
    assert len(tiling(part.box, "A4").tiles) == 1
    assert face.box.width > 2100
    assert 1 < len(tiling(face.box, "A4").tiles) <= MOST_SHEETS


def test_what_would_take_too_many_sheets_is_not_printed() -> None:
    plate = flange(SILL)
    wide = replace(plate, edges=(*plate.edges, Line("top", "top", SILL, 0, 1500)))
    template = template_of(wide)
    assert template
    assert tiling(template.box, "A4").tiles == ()
    assert template_pdf.pdf(template, "A4") is None
    assert template_of(Plate("empty", edges=(Line("a", "a", "", 0, 0),))) is None


def test_the_fewest_sheets_are_taken() -> None:
    assert (tiling(Box(0, 0, 250, 150), "A4").width, tiling(Box(0, 0, 150, 240), "A4").width) == (297, 210)
    assert len(tiling(Box(0, 0, 180, 240), "A4").tiles) == 1
    assert len(tiling(Box(0, 0, 300, 300), "A4").tiles) == 4


def test_letters_that_the_paper_has_not_are_written_near_enough() -> None:
    plate = replace(flange(), title="τρύπα Łódź ⌀14 \x07 hole")
    data = template_pdf.pdf(template_of(plate), "A4")  # type: ignore[arg-type]
    assert data
    assert "????? ?ódz dia 14 hole: Sheet A1" in " ".join(read_back(data)[0].text.split())


def test_a_long_title_stays_on_the_sheet() -> None:
    plate = replace(flange(), title="guide bracket " * 30)
    _, _, (sheet,) = made(plate)
    assert "..." in sheet.text
    assert MEASURE in " ".join(sheet.text.split())


# --- DXF


def read_dxf(template: Template, folder: Path) -> ezdxf.document.Drawing:
    path = folder / "template.dxf"
    path.write_bytes(template_dxf.dxf(template))
    return ezdxf.readfile(path)


@pytest.mark.parametrize("name", CASES)
def test_the_dxf_has_the_same_in_millimetres_on_its_layers(name: str, tmp_path: Path) -> None:
    plate = CASES[name][0]
    template = template_of(plate)
    assert template
    drawing = read_dxf(template, tmp_path)
    assert drawing.header["$INSUNITS"] == 4, "millimetres"
    assert not drawing.audit().errors
    space = drawing.modelspace()
    circles = {(round(c.dxf.center.x, 6), round(c.dxf.center.y, 6)): c.dxf.radius for c in space.query("CIRCLE")}
    points = [p for p in plate.spots if template.box.holds(p.at)]
    for point in points:
        assert any(close((p.dxf.location.x, p.dxf.location.y), point.at, NEAR) for p in space.query("POINT"))
        if point.diameter:
            assert circles[round(point.u, 6), round(point.v, 6)] == pytest.approx(point.diameter / 2, abs=NEAR)
    assert len(circles) == sum(1 for point in points if point.diameter)
    layers = {kind: {e.dxf.layer for e in space.query(kind)} for kind in ("CIRCLE", "POINT", "TEXT")}
    assert layers == {"CIRCLE": {"HOLES"}, "POINT": {"CENTRES"}, "TEXT": {"TEXT"}}
    edges = [line for line in space.query("LINE") if line.dxf.layer == "EDGES"]
    assert len(edges) == len(template.edges)
    assert {text.dxf.text for text in space.query("TEXT")} == {label.text for label in template.labels}


def test_paper_and_dxf_agree(tmp_path: Path) -> None:
    template, laid, (sheet,) = made(flange())
    space = read_dxf(template, tmp_path).modelspace()
    for circle in space.query("CIRCLE"):
        at = on_sheet(laid, 0, (circle.dxf.center.x, circle.dxf.center.y))
        assert any(
            close(at, centre, NEAR) and abs(size / 2 - circle.dxf.radius) < NEAR for centre, size in sheet.circles
        )
    for line in space.query("LINE"):
        a, b = (on_sheet(laid, 0, (end.x, end.y)) for end in (line.dxf.start, line.dxf.end))
        assert sheet.has_line(a, b)


def test_words_with_the_formats_own_signs_are_only_words(tmp_path: Path) -> None:
    plate = flange()
    odd = replace(plate, points=(replace(plate.points[0], name="hole\n%%u {\\H9;x} ^J"), *plate.points[1:]))
    template = template_of(odd)
    assert template
    drawing = read_dxf(template, tmp_path)
    assert not drawing.audit().errors
    texts = [text.dxf.text for text in drawing.modelspace().query("TEXT")]
    assert any("{\\H9;x}" in text and "%%u" not in text and "^" not in text for text in texts)


# --- the same again


MAKE = (
    "import sys, hashlib; from tests.plates import *; from journal.pages import template_pdf, template_dxf;"
    "from journal.pages.full_size import template_of; t = template_of(lid());"
    "print(hashlib.sha256(template_pdf.pdf(t, 'A4') + template_dxf.dxf(t)).hexdigest())"
)


def test_the_same_input_gives_the_same_bytes_in_every_process() -> None:
    found = {
        subprocess.run(
            [sys.executable, "-c", MAKE], capture_output=True, text=True, check=True, env={"PYTHONHASHSEED": seed}
        ).stdout
        for seed in "1234"
    }
    assert len(found) == 1
    assert len(found.pop().strip()) == 64


def test_one_drawing_leaves_nothing_behind_in_the_next() -> None:
    """All of them are written into the same empty file, each with numbers of its own for what is drawn."""
    first, other = (template_of(plate) for plate in (lid(), flange()))
    assert first
    assert other
    written = template_dxf.dxf(first)
    template_dxf.dxf(other)
    assert template_dxf.dxf(first) == written
    text = written.decode()
    handles = [int(handle, 16) for handle in re.findall(r"^  5\n([0-9A-F]+)$", text, re.MULTILINE)]
    seed = re.search(r"\$HANDSEED\n  5\n([0-9A-F]+)\n", text)
    assert seed
    handles.remove(int(seed[1], 16))
    assert len(handles) == len(set(handles)) > 50
    assert int(seed[1], 16) > max(handles)


def test_a_drawing_that_fails_leaves_nothing_behind(monkeypatch: pytest.MonkeyPatch) -> None:
    template = template_of(lid())
    assert template
    written = template_dxf.dxf(template)
    with monkeypatch.context() as broken:
        broken.setattr(template_dxf, "_text", lambda _: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            template_dxf.dxf(template)
    assert template_dxf.dxf(template) == written


def test_what_has_not_changed_is_not_made_again(tmp_path: Path) -> None:
    calls: list[str] = []

    def make() -> bytes:
        calls.append("made")
        return b"%PDF"

    def kept(cache: Path | None, key: str) -> bytes | Path:
        return KeptWork(cache, code_of(template_pdf)).file(key, "pdf", make)

    first, again, other = kept(tmp_path, "key"), kept(tmp_path, "key"), kept(tmp_path, "another key")
    assert calls == ["made", "made"]
    assert first == again != other
    assert isinstance(first, Path)
    assert first.read_bytes() == b"%PDF"
    assert kept(None, "key") == b"%PDF"


def test_upright_edges_are_lines_of_their_own_place() -> None:
    line = Line("r", "rear end", SILL, pi / 2, -120.0)
    assert line.foot((0, 5)) == pytest.approx((120, 5))
