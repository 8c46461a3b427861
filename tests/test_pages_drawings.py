"""Dimension lines over pictures and the picture of progress."""

from __future__ import annotations

from datetime import date
from itertools import pairwise
from math import atan2, cos, degrees, hypot, radians, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from journal.ground.source import Span
from journal.model.entities import PhotoLine
from journal.pages.drawings import (
    APART,
    HEAD_LENGTH,
    MIDDLE,
    PASSES,
    Tally,
    letter,
    overlay,
    progress,
    spread,
    stroke,
)
from journal.pages.lettering import SIZE, Patch, Spot, width_of
from journal.pages.room import Taken
from journal.pages.views import Overlay

WIDE, HIGH = 1280, 960


def line(start: tuple[float, float], end: tuple[float, float]) -> PhotoLine:
    return PhotoLine(start, end, "hole edge to web", None, Span("n.md", 1))


def points(head: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in (pair.split(",") for pair in head.split())]


def test_arrowheads_touch_the_ends_and_point_outwards() -> None:
    drawn = overlay(line((0.25, 0.5), (0.75, 0.5)), WIDE, HIGH)
    assert drawn.line == (320, 480, 960, 480)
    first, second = (points(head) for head in drawn.heads)
    assert first[0] == (320, 480)
    assert second[0] == (960, 480)
    assert all(x > 320 for x, _ in first[1:]), "the body of the head lies on the line"
    assert all(x < 960 for x, _ in second[1:])
    thick = stroke(WIDE, HIGH)
    assert first[1][0] - 320 == pytest.approx(HEAD_LENGTH * thick, abs=0.2)


def test_extension_lines_pass_the_line_by_eight_widths_square_to_it() -> None:
    """ISO 129-1: about eight times the line width."""
    drawn = overlay(line((0.2, 0.2), (0.6, 0.5)), WIDE, HIGH)
    along = atan2(drawn.line[3] - drawn.line[1], drawn.line[2] - drawn.line[0])
    for tick in drawn.ticks:
        across = atan2(tick[3] - tick[1], tick[2] - tick[0])
        assert abs(degrees(across - along)) == pytest.approx(90, abs=0.5)
        assert hypot(tick[2] - tick[0], tick[3] - tick[1]) == pytest.approx(2 * PASSES * stroke(WIDE, HIGH), abs=0.3)


def test_a_tight_line_has_its_heads_outside_pointing_in() -> None:
    drawn = overlay(line((0.5, 0.5), (0.52, 0.5)), WIDE, HIGH)
    first, second = (points(head) for head in drawn.heads)
    assert all(x < first[0][0] for x, _ in first[1:])
    assert all(x > second[0][0] for x, _ in second[1:])


@pytest.mark.parametrize(
    ("start", "end"),
    [((0.1, 0.1), (0.9, 0.1)), ((0.9, 0.1), (0.1, 0.1)), ((0.1, 0.9), (0.9, 0.1)), ((0.9, 0.9), (0.1, 0.2)),
     ((0.5, 0.1), (0.5, 0.9)), ((0.5, 0.9), (0.5, 0.1))],
)  # fmt: skip
def test_words_are_read_from_below_or_from_the_right(start: tuple[float, float], end: tuple[float, float]) -> None:
    drawn = overlay(line(start, end), WIDE, HIGH)
    assert -90.1 <= drawn.turn <= 89.9
    middle = ((drawn.line[0] + drawn.line[2]) / 2, (drawn.line[1] + drawn.line[3]) / 2)
    assert (drawn.y, drawn.x) < (middle[1] + 0.1, middle[0] + 0.1), "above the line, or left of an upright one"


def test_points_outside_the_picture_are_moved_to_its_edge() -> None:
    drawn = overlay(line((-5, 0.5), (9e9, 0.5)), WIDE, HIGH)
    assert drawn.line == (0, 480, 1280, 480)


def test_letters_can_be_read_on_a_phone() -> None:
    """Shown 360 px wide, letters are at least 13 px high and lines about 1 px wide."""
    for width, height in ((1280, 960), (4000, 3000)):
        assert letter(width, height) * 360 / width >= 13
        assert 0.9 <= stroke(width, height) * 360 / width <= 1.5


def tallies(*counts: tuple[int, int, int]) -> list[Tally]:
    return [Tally(date(2026, 3, 1 + 7 * n), *three) for n, three in enumerate(counts)]


def test_nothing_is_drawn_before_there_is_something_to_tell() -> None:
    assert progress([]) is None
    assert progress(tallies((3, 0, 0))) is None
    assert progress(tallies((0, 0, 0), (0, 0, 0))) is None


def test_the_lines_step_and_end_on_the_last_count() -> None:
    drawn = progress(tallies((0, 0, 0), (4, 0, 2), (2, 2, 4)))
    assert drawn is not None
    assert {(curve.name, curve.last) for curve in drawn.curves} == {("off", 2), ("recorded", 4), ("back or new", 2)}
    off = next(curve for curve in drawn.curves if curve.name == "off")
    ys = [y for _, y in points(off.points)]
    xs = [x for x, _ in points(off.points)]
    assert xs == sorted(xs)
    assert min(ys) == ys[2], "four off is the highest"
    assert drawn.rows[-1] == (date(2026, 3, 15), 2, 2, 4)
    assert drawn.summary == "On 15 March 2026: 2 parts off, 2 back or new. Of these 4, 4 have their position recorded"


def test_names_at_the_right_never_stand_on_each_other() -> None:
    drawn = progress(tallies((0, 0, 0), (2, 2, 2)))
    assert drawn is not None
    heights = sorted(curve.y for curve in drawn.curves)
    assert all(b - a >= APART for a, b in pairwise(heights))


def test_the_scale_has_a_few_round_numbers() -> None:
    for most in (1, 3, 7, 34, 120, 4999):
        drawn = progress(tallies((0, 0, 0), (most, 0, 0)))
        assert drawn is not None
        numbers = [number for _, number in drawn.levels]
        assert numbers[0] == 0
        assert numbers[-1] <= most
        assert 2 <= len(numbers) <= 5


# --- words of lines that stand close together

PLATE = (line((439 / 960, 742 / 1280), (639 / 960, 676 / 1280)), line((439 / 960, 742 / 1280), (443 / 960, 800 / 1280)))


def boxes(drawn: Overlay) -> tuple[Patch, ...]:
    """What the words of a line take, on a picture of 960 x 1280."""
    unit = letter(960, 1280) / SIZE
    up = radians(drawn.turn - 90)
    lift = MIDDLE * letter(960, 1280)
    spot = Spot((drawn.x + cos(up) * lift) / unit, (drawn.y + sin(up) * lift) / unit, drawn.turn)
    return spot.patches(width_of(drawn.figure or drawn.text))


def meet(one: Overlay, other: Overlay) -> bool:
    taken = Taken()
    for box in boxes(one):
        taken.add(box)
    return any(taken.meets(box) for box in boxes(other))


def test_words_of_two_lines_do_not_stand_on_one_another() -> None:
    drawn = [overlay(one, 960, 1280, figure) for one, figure in zip(PLATE, ("7 1/2 in", "2 1/2 in"), strict=True)]
    assert meet(*drawn), "above their lines they would"
    first, second = spread(drawn, 960, 1280)
    assert first == drawn[0], "the first stays where it is"
    assert not meet(first, second)
    assert (second.line, second.heads, second.turn) == (drawn[1].line, drawn[1].heads, drawn[1].turn)


def test_words_that_are_far_apart_stay_above_their_lines() -> None:
    drawn = [overlay(line((0.1, y), (0.9, y)), WIDE, HIGH) for y in (0.2, 0.5, 0.8)]
    assert spread(drawn, WIDE, HIGH) == tuple(drawn)


def test_words_for_which_there_is_no_room_are_still_there() -> None:
    drawn = [overlay(line((0.1, 0.5), (0.9, 0.5)), WIDE, HIGH) for _ in range(12)]
    assert len(spread(drawn, WIDE, HIGH)) == 12
    many = drawn * 10
    assert spread(many, WIDE, HIGH) == tuple(many)


@given(st.lists(st.tuples(*[st.floats(0, 1)] * 4), min_size=2, max_size=6))
@settings(max_examples=60, deadline=None)
def test_only_the_words_move(ends: list[tuple[float, float, float, float]]) -> None:
    drawn = [overlay(line((a, b), (c, d)), WIDE, HIGH) for a, b, c, d in ends]
    for before, after in zip(drawn, spread(drawn, WIDE, HIGH), strict=True):
        assert after._replace(x=before.x, y=before.y) == before
