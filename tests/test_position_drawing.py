"""Position drawings: true to scale, dimensioned after ISO 129-1, nothing written over anything else."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import combinations
from math import hypot, pi
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from journal.pages.dimension_lines import PASSES, THIN
from journal.pages.pen import HEAD, Words
from journal.pages.plate import Dimension, Line, Plate, Point, around, span_of
from journal.pages.position_drawing import PX, Drawing, drawings
from tests.plates import FRONT, REAR, SILL, flange, lid, overlap

CSS = (Path(__file__).parent.parent / "themes/bench/files/drawing.css").read_text(encoding="utf-8")
PLATES = {
    "part": flange(), "other part": flange(REAR), "face": flange(SILL), "two spots": flange(other_spot=True),
    "slanting": lid(), "slanting, one spot": lid(other_spot=False), "size not known": flange(diameter=None),
}  # fmt: skip
ISO_5455 = {"2:1", "1:1", *(f"1:{m * 10**p}" for p in range(5) for m in (2, 5, 10))}


def draw(plate: Plate) -> tuple[Drawing, ...]:
    return drawings(plate, "position-1", "hole: 1580.0 mm ahead of the rear end.")


def px_of(drawing: Drawing) -> float:
    paper, _, real = drawing.ratio.partition(":")
    return PX * float(paper) / float(real)


def numbers(path: str) -> list[float]:
    return [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", path)]


def ends(path: str) -> tuple[tuple[float, float], tuple[float, float]]:
    """Both ends of a path with one line in it."""
    if "H" in path:
        x, y, x2 = numbers(path)
        return (x, y), (x2, y)
    if "V" in path:
        x, y, y2 = numbers(path)
        return (x, y), (x, y2)
    x, y, x2, y2 = numbers(path)
    return (x, y), (x2, y2)


def own_holes(drawing: Drawing) -> list[tuple[float, float]]:
    return [(r.x, r.y) for r in drawing.rounds if r.kind in ("hole own", "dot own")]


@pytest.mark.parametrize("name", PLATES)
def test_it_is_drawn_to_one_scale_both_ways_and_names_a_ratio_of_the_standard(name: str) -> None:
    plate = PLATES[name]
    own = [point for point in plate.points if point.own]
    for drawing in draw(plate):
        assert drawing.ratio in ISO_5455
        found = own_holes(drawing)
        assert len(found) == len(own)
        for (one, (x1, y1)), (two, (x2, y2)) in combinations(zip(own, found, strict=True), 2):
            assert (x2 - x1) / px_of(drawing) == pytest.approx(two.u - one.u, abs=1e-6)
            assert (y1 - y2) / px_of(drawing) == pytest.approx(two.v - one.v, abs=1e-6), "+v is up"


@pytest.mark.parametrize("name", PLATES)
def test_no_words_stand_on_others_or_off_the_sheet(name: str) -> None:
    for drawing in draw(PLATES[name]):
        box = (drawing.left, drawing.top, drawing.left + drawing.width, drawing.top + drawing.height)
        placed = [words for words in drawing.words if words.patches]
        assert len(placed) > 3
        for words in placed:
            for patch in words.patches:
                assert box[0] <= patch.left
                assert patch.right <= box[2]
                assert box[1] <= patch.top
                assert patch.bottom <= box[3]
        for one, two in combinations(placed, 2):
            assert not overlap(one, two), (one.text, two.text)


def edges(drawing: Drawing) -> list[str]:
    return [stroke.path for stroke in drawing.strokes if stroke.kind == "edge"]


def off_the_sheet(drawing: Drawing) -> list[str]:
    """Strokes that leave the view box, by more than a tenth of a px, to which both are rounded."""
    found = []
    for stroke in drawing.strokes:
        for x, y in (at for path in re.findall(r"M[^M]+", stroke.path) if "l" not in path for at in ends(path)):
            inside = drawing.left - 0.1 <= x <= drawing.left + drawing.width + 0.1
            if not (inside and drawing.top - 0.1 <= y <= drawing.top + drawing.height + 0.1):
                found.append(f"{stroke.kind} {stroke.path}")
    return found


def dimension_lines(drawing: Drawing) -> list[str]:
    """The level and upright ones."""
    return [s.path for s in drawing.strokes if s.kind == "thin" and not {"l", "L"} & set(s.path)]


def stands_on(words: Words, path: str) -> bool:
    """By more than a tenth of a px, to which paths are rounded."""
    (x1, y1), (x2, y2) = ends(path)
    steps = [(x1 + (x2 - x1) * n / 400, y1 + (y2 - y1) * n / 400) for n in range(401)]
    inner = [(p.left + 0.1, p.top + 0.1, p.right - 0.1, p.bottom - 0.1) for p in words.patches]
    return any(left < x < right and top < y < bottom for left, top, right, bottom in inner for x, y in steps)


@pytest.mark.parametrize("name", PLATES)
def test_no_words_stand_on_a_dimension_line(name: str) -> None:
    for drawing in draw(PLATES[name]):
        lines = dimension_lines(drawing)
        assert lines
        assert not [(words.text, line) for words in drawing.words for line in lines if stands_on(words, line)]


def test_straight_distances_that_cross_run_through_no_value() -> None:
    """The room of a slanting value is made of boxes that touch its own line: no other line meets them."""
    corners = tuple(Point(str(n), "", "host", *at, True) for n, at in enumerate(((0, 0), (90, 80), (0, 80), (90, 0))))
    dimensions = tuple(Dimension(*ends, "straight", "120.4 mm", own=True) for ends in (("0", "1"), ("2", "3")))
    (drawing,) = draw(Plate("any", "host", corners, (), dimensions))
    values = [words for words in drawing.words if words.kind == "value own"]
    falls = [words.turn > 0 for words in values]
    assert sorted(falls) == [False, True]
    slants = [s.path for s in drawing.strokes if s.kind == "thin"]
    for words, fall in zip(values, falls, strict=True):
        (met,) = [path for path in slants if stands_on(words, path)]
        (x1, y1), (x2, y2) = ends(met)
        assert ((y2 - y1) * (x2 - x1) > 0) == fall


@pytest.mark.parametrize("name", PLATES)
def test_no_line_leaves_the_sheet(name: str) -> None:
    assert [off_the_sheet(drawing) for drawing in draw(PLATES[name])] == [[]] * len(draw(PLATES[name]))


def test_an_edge_of_a_part_far_off_is_not_drawn_close_up() -> None:
    """Its piece beside its own points and the close-up share nothing: that is no piece as long as what lies between."""
    plate = flange()
    far = Line("rear/upright", "upright", REAR, 0, 24)
    whole, near = draw(replace(plate, edges=(*plate.edges, far)))
    assert [off_the_sheet(whole), off_the_sheet(near)] == [[], []]
    assert near.left + near.width > own_holes(near)[0][0] > near.left
    assert edges(near) == edges(draw(plate)[1])


def test_letters_are_large_enough_on_a_phone() -> None:
    """A phone of 360 px leaves 328 px between the margins of 1 rem: a drawing of that width is not made smaller."""
    size = re.search(r"\.drawn text \{[^}]*font-size: (\d+)px", CSS)
    assert size
    for plate in PLATES.values():
        for drawing in draw(plate):
            assert int(size[1]) * 328 / drawing.width >= 11


def test_a_close_up_is_given_where_the_whole_face_shows_the_part_too_small() -> None:
    whole, near = draw(flange())
    assert (whole.ratio, near.ratio) == ("1:50", "1:1")
    assert whole.caption == "On the face, scale 1:50 on paper"
    assert near.caption == "Close to, scale 1:1 on paper"
    assert len(draw(flange(SILL))) == 1, "of a face there is the whole"


def test_values_stand_above_their_line_and_are_read_from_below_or_from_the_right() -> None:
    near = draw(flange())[1]
    lines = [ends(s.path) for s in near.strokes if s.kind == "thin" and ("H" in s.path or "V" in s.path)]
    for text, turn in (("15 mm", -90.0), ("18 mm", -90.0), ("24 mm", -90.0), ("1580 mm ± 2 to rear end", 0.0)):
        (word,) = (word for word in near.words if word.text == text)
        assert word.turn == turn
        gaps = [
            line[0][0] - word.x if turn else line[0][1] - word.y
            for line in lines
            if (line[0][0] == line[1][0] if turn else line[0][1] == line[1][1])
        ]
        assert any(5 < gap < 12 for gap in gaps), f"{text} stands a little above (left of) a line"


def test_arrowheads_touch_what_is_measured_and_extension_lines_pass_the_line() -> None:
    """15 mm from the web to the near rim of a hole of 14 mm: so far apart are the tips of two heads."""
    plate = flange()
    plate = replace(plate, dimensions=plate.dimensions[:1])
    near = draw(plate)[1]
    tips = [tuple(float(n) for n in head.split()[0].split(",")) for head in near.heads[:2]]
    assert abs(tips[0][1] - tips[1][1]) == pytest.approx(15 * px_of(near), abs=0.11)
    assert tips[0][0] == tips[1][0]
    extensions = [ends(s.path) for s in near.strokes if s.kind == "thin" and "L" in s.path]
    assert len(extensions) == 2
    for (_, y), (x2, _) in extensions:
        assert abs(x2 - tips[0][0]) == pytest.approx(8 * THIN, abs=0.06), "eight line widths (ISO 129-1)"
        assert any(abs(y - tip[1]) < 0.11 for tip in tips)
    assert PASSES == 8 * THIN


def test_what_is_too_small_for_heads_gets_strokes_and_heads_outside_between() -> None:
    """47 mm at 1:50 are 3.6 px; 60 mm are 4.5 px."""
    (face,) = draw(flange(SILL))
    assert [s.kind for s in face.strokes].count("stroke") == 2
    tight = replace(flange(), dimensions=(Dimension("front/weld 1", "front/weld 2", "straight", "3 mm", own=True),))
    tight = replace(tight, points=(tight.points[1], replace(tight.points[2], v=32.0)), edges=())
    (drawing,) = draw(tight)
    first, second = (numbers(head) for head in drawing.heads[:2])
    length = abs(first[1] - second[1])
    assert length < 3 * HEAD, "else the heads would have room inside"
    assert (first[3] - first[1]) * (second[1] - first[1]) < 0, "the head lies on the far side of its tip"


def test_the_ellipse_is_drawn_where_it_can_be_seen() -> None:
    whole, near = draw(flange())
    assert not [r for r in whole.rounds if r.kind == "ellipse"], "2.6 mm at 1:50 are a fifth of a pixel"
    shown = [r for r in near.rounds if r.kind == "ellipse"]
    assert len(shown) == 3
    assert shown[0].rx == pytest.approx(2.6 * PX)
    assert shown[0].ry == pytest.approx(0.9 * PX)
    assert shown[0].turn == pytest.approx(-0.1 * 180 / pi), "SVG turns clockwise"


def test_both_spots_are_drawn_and_named_the_second_dashed() -> None:
    near = draw(flange(other_spot=True))[1]
    assert [r.kind for r in near.rounds if "hole" in r.kind] == ["hole own", "hole own other"]
    texts = {word.text for word in near.words}
    assert {"hole, spot 1", "hole, spot 2"} <= texts
    assert re.search(r"\.drawn \.other \{[^}]*stroke-dasharray", CSS)
    whole = draw(lid())[0]
    assert {"spot 1", "spot 2"} <= {word.text.rpartition(", ")[2] for word in whole.words}


def test_holes_have_their_size_and_a_centre_cross() -> None:
    near = draw(flange())[1]
    (hole,) = (r for r in near.rounds if r.kind == "hole own")
    assert hole.rx == pytest.approx(7 * PX)
    crosses = [s for s in near.strokes if s.kind == "centre own"]
    x, y = hole.x, hole.y
    assert any(s.path.startswith(f"M{x - hole.rx - 4:.1f} {y:.1f}H{x + hole.rx + 4:.1f}") for s in crosses)


def test_what_lies_far_off_is_broken_and_named() -> None:
    near = draw(flange())[1]
    assert {"1580 mm ± 2 to rear end", "920 mm to guide bracket rear, left"} & {w.text for w in near.words}
    assert sum("l2 -5l4 10l2 -5" in s.path for s in near.strokes) == 2
    whole = draw(flange())[0]
    assert {"1580 mm ± 2", "920 mm"} <= {word.text for word in whole.words}


def test_the_scale_bar_is_as_long_as_it_says() -> None:
    for plate in PLATES.values():
        for drawing in draw(plate):
            (bar,) = (numbers(s.path) for s in drawing.strokes if s.kind == "bar")
            (text,) = (w.text for w in drawing.words if w.text.endswith(f"scale {drawing.ratio}"))
            assert (bar[5] - bar[3]) / px_of(drawing) == pytest.approx(float(text.split()[0]), rel=0.01)
    (face,) = drawings(flange(SILL), "x", "", "in")
    assert any(re.match(r"\d+ in, scale", w.text) for w in face.words)


def test_edges_are_named_and_readings_linked() -> None:
    whole, near = draw(flange())
    named = {name for words in whole.words for name in words.text.split(" and ")}
    assert {"web", "flange edge", "rear end", "front end"} <= named
    assert {w.url for w in near.words if w.text == "15 mm"} == {"parts/x/index.html#m-0"}
    assert whole.told.startswith("hole: 1580.0 mm"), "the text alternative says the coordinates"


@pytest.mark.parametrize(("apart", "names"), [(47.0, {"web and flange edge"}), (900.0, {"web", "flange edge"})])
def test_edges_that_nearly_lie_in_one_line_share_a_name(apart: float, names: set[str]) -> None:
    """Side by side at one bar, or with leaders to one corner, nobody could tell which is which."""
    edges = (Line("sill/rear end", "rear end", "sill", pi / 2, 0.0), Line("sill/web", "web", "sill", 0.0, 0.0),
             Line("sill/flange edge", "flange edge", "sill", 0.0, apart))  # fmt: skip
    holes = tuple(Point(f"sill/hole {n}", f"hole {n}", "sill", u, apart / 2) for n, u in enumerate((100.0, 2000.0)))
    (drawing,) = draw(Plate("Sill", "sill", holes, edges, (), about_part=False))
    assert {words.text for words in drawing.words if words.kind == "name"} & {*names, "web"} == names
    assert "rear end" in {words.text for words in drawing.words}, "short as it is there, it lies across them"


def test_the_focus_is_marked_the_neighbours_are_light() -> None:
    whole = draw(flange())[0]
    kinds = {w.text: w.kind for w in whole.words}
    assert kinds[FRONT] == "name own"
    assert kinds[REAR] == "name"
    assert {"dot own", "dot light"} <= {r.kind for r in whole.rounds}


def test_nothing_is_drawn_of_a_part_that_is_not_placed() -> None:
    plate = flange()
    assert draw(replace(plate, points=tuple(p for p in plate.points if not p.own))) == ()
    assert draw(Plate("empty")) == ()
    assert around(replace(plate, points=())) is None


def test_a_slip_of_three_noughts_makes_no_fault() -> None:
    plate = flange()
    far = replace(plate.points[3], u=6.6e9)
    assert draw(replace(plate, points=(*plate.points[:3], far, *plate.points[4:]))) == ()


def test_a_face_of_a_hundred_parts_stays_tidy() -> None:
    points = tuple(
        Point(f"{n}", f"hole {n}", f"bracket {n}", n * 37 % 2000, n * 91 % 800, False, 8.0) for n in range(200)
    )
    edges = (Line("l", "lower edge", "host", 0, 0), Line("r", "rear end", "host", pi / 2, 0))
    dimensions = tuple(Dimension(p.id, edge, "square", "123 mm", p.name) for p in points for edge in "lr")
    (face,) = draw(Plate("face", "host", points, edges, dimensions))
    assert face.ratio == "1:50", "2 m at 1:20 are wider than the sheet"
    told = next(text for text in face.left_out if text.endswith("more readings"))
    assert int(told.split()[0]) >= 350, "24 dimensions are what one drawing holds"
    assert len(face.words) > 20
    assert face.left_out[-1].endswith("more names"), "nobody reads a list of thirty"


def test_where_a_dimension_runs() -> None:
    plate = flange()
    rim, _, end, axis, straight = (span_of(plate, dimension) for dimension in plate.dimensions[:5])
    assert rim
    assert (rim.start, rim.end) == ((1580, 15), (1580, 0)), "from the rim that looks at the web"
    assert end
    assert end.end == pytest.approx((0, 22))
    assert axis
    assert axis.length == pytest.approx(920)
    assert straight
    assert straight.length == pytest.approx(hypot(0, 24))
    far = replace(plate.dimensions[0], rim="far")
    found = span_of(plate, far)
    assert found
    assert found.length == pytest.approx(29)


places = st.tuples(st.floats(-3000, 3000), st.floats(-2000, 2000))


FAR_OUT = [(8.0, 0.0), (0.0, 0.0), (0.0, 0.0), (0.0, 11.0)]  # once, a slanting dimension left the sheet here


@settings(max_examples=60, deadline=None)
@example([(at, False, None, "") for at in FAR_OUT], [], [(0, 3, "square"), (0, 3, "square")])
@given(
    st.lists(st.tuples(places, st.booleans(), st.sampled_from((None, 5.0, 40.0)), st.text(max_size=30)), min_size=1,
             max_size=8),
    st.lists(st.tuples(st.floats(-4, 4), st.floats(-2000, 2000)), max_size=4),
    st.lists(st.tuples(st.integers(0, 11), st.integers(0, 11), st.sampled_from(("u", "v", "square", "straight"))),
             max_size=12),
)  # fmt: skip
def test_any_face_is_drawn_without_words_on_words(points: list, edges: list, dimensions: list) -> None:  # type: ignore[type-arg]
    plate = Plate(
        "any", "host",
        tuple(Point(str(n), name, "it" if own else "host", *at, own, size) for n, (at, own, size, name)
              in enumerate(points)),
        tuple(Line(str(n + 8), f"edge {n}", ("host", "it")[n % 2], *at) for n, at in enumerate(edges)),
        tuple(Dimension(str(a), str(b), along, "12.5 mm", own=True) for a, b, along in dimensions),
        about_part=any(own for _, own, _, _ in points),
    )  # fmt: skip
    for drawing in draw(plate):
        placed, lines = [w for w in drawing.words if w.patches], dimension_lines(drawing)
        for one, two in combinations(placed, 2):
            assert not overlap(one, two)
        for words in placed:
            assert not [(words.text, line) for line in lines if stands_on(words, line)]
        assert off_the_sheet(drawing) == []
        assert drawing.ratio in ISO_5455
