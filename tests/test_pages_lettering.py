"""Names round a place: trying all spots at once finds what trying one after the other finds."""

from __future__ import annotations

from itertools import islice

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from journal.pages.lettering import CLOSE, NEVER, Disc, Patch, Spot, beside, close_by, width_of
from journal.pages.lettering_round import Filled, best_of
from journal.pages.room import Room

NUMBERS = st.integers(-160, 160).map(lambda number: number / 2) | st.floats(-80, 80)
SIZES = st.floats(0.5, 60)
BOXES = st.lists(st.builds(lambda x, y, w, h: Patch(x, y, x + w, y + h), NUMBERS, NUMBERS, SIZES, SIZES), max_size=12)


def room_with(words: list[Patch], lines: list[Patch], thin: list[Patch], size: float = 400.0) -> Room:
    room = Room(size, size, Patch(-1, -1, 1, 1))
    room.take(words)
    room.rule(lines)
    room.cross(thin)
    return room


def all_at_once(room: Room, disc: Disc, wide: float, below: int) -> tuple[int, Spot] | None:
    boxes = room.texts.boxes, room.lines.boxes, room.thin.boxes
    return best_of(Filled(room.wide, room.high, room.extent, *boxes), [disc], wide, below)


def one_by_one(room: Room, disc: Disc, wide: float, below: int) -> tuple[int, Spot] | None:
    free = [spot for spot in beside(*disc, wide) if room.free(spot.patches(wide))]
    ranked = [(room.rank(spot, spot.patches(wide)), spot) for spot in free]
    best = min(ranked, key=lambda pair: pair[0], default=None)
    return best if best and best[0] < below else None


@given(BOXES, BOXES, BOXES, st.tuples(NUMBERS, NUMBERS, st.floats(0, 30)), st.floats(5, 150), st.integers(1, NEVER))
@example([], [], [], (0.0, 0.0, 4.0), 40.0, NEVER)
@example([Patch(-60, -60, 60, 60)], [], [], (0.0, 0.0, 4.0), 40.0, NEVER)  # every leader starts within words
@example([], [Patch(-60, -60, 60, 60)], [], (0.0, 0.0, 4.0), 40.0, NEVER)  # every leader crosses lines
@example([], [Patch(-200, -200, 200, 200)], [], (0.0, 0.0, 4.0), 40.0, NEVER)  # no room at all
def test_all_at_once_is_the_same_as_one_by_one(
    words: list[Patch], lines: list[Patch], thin: list[Patch], disc: Disc, wide: float, below: int
) -> None:
    room = room_with(words, lines, thin)
    assert all_at_once(room, disc, wide, below) == one_by_one(room, disc, wide, below)


def test_a_room_that_is_filled_in_the_meantime_is_looked_at_anew() -> None:
    room = room_with([], [], [Patch(-20, -20, 20, 20)])
    first = all_at_once(room, (0.0, 0.0, 2.0), 40.0, NEVER)
    assert first is not None
    room.take(first[1].patches(40.0))
    second = all_at_once(room, (0.0, 0.0, 2.0), 40.0, NEVER)
    assert second is not None
    assert second[1] != first[1]


def test_the_close_ones_have_no_leader_and_all_others_have() -> None:
    spots = list(beside(3.0, 4.0, 5.0, 60.0))
    assert [spot.leader is None for spot in spots] == [True] * CLOSE + [False] * (len(spots) - CLOSE)
    assert list(close_by(3.0, 4.0, 5.0, 60.0)) == spots[:CLOSE]


@pytest.mark.parametrize("number", [0, 3, 8, 20, 147])
def test_a_name_takes_the_only_spot_that_is_left(number: int) -> None:
    """All but one spot of a large open room are taken by what fills the rest of it."""
    text, disc = "hole edge", (0.0, 0.0, 3.0)
    wanted = next(islice(beside(*disc, width_of(text)), number, None))
    (left, top, right, bottom) = wanted.patches(width_of(text))[0]
    walls = [Patch(-900, -900, left, 900), Patch(right, -900, 900, 900),
             Patch(left, -900, right, top), Patch(left, bottom, right, 900)]  # fmt: skip
    room = Room(2000, 2000, Patch(-900, -900, 900, 900))
    room.rule(walls)
    placed = room.place(text, close_by(*disc, width_of(text)), [disc])
    assert placed is not None
    assert placed.patches(width_of(text)) == wanted.patches(width_of(text))


def test_spots_that_come_first_are_taken_first() -> None:
    room, disc = room_with([], [], []), (0.0, 0.0, 3.0)
    along = Spot(0.0, 40.0, -30.0)
    assert room.place("sill", [along], [disc]) == along
    assert room.place("sill", [along], [disc]) == next(beside(*disc, width_of("sill")))


def test_where_nothing_is_free_nothing_is_placed() -> None:
    room = Room(100, 100, Patch(-50, -50, 50, 50))
    room.rule([Patch(-50, -50, 50, 50)])
    assert room.place("sill", [Spot(0.0, 0.0)], [(0.0, 0.0, 3.0)]) is None
