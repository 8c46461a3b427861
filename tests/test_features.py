"""What a feature's name says: its key, and how it stands on a page."""

from __future__ import annotations

import pytest

from journal.model.features import alike_but_for_place, feature

SIDES = ("left", "right")


@pytest.mark.parametrize(
    ("text", "key", "name"),
    [
        ("hole A", "hole a", "hole A"),
        ("Hole B", "hole b", "hole B"),
        ("hole a", "hole a", "hole a"),
        ("A", "a", "A"),
        ("the hole A", "hole a", "hole A"),
        ("hole A edge", "hole a", "hole A edge"),
        ("edge of hole A", "hole a", "edge of hole A"),
        ("A hole", "hole", "hole"),
        ("a hole", "hole", "hole"),
        ("edge of a hole", "hole", "edge of hole"),
        ("Edge Of A Hole", "hole", "edge of hole"),
        ("Lower Edge", "lower edge", "lower edge"),
        ("hole 2", "hole 2", "hole 2"),
    ],
)
def test_a_letter_after_a_name_is_its_label(text: str, key: str, name: str) -> None:
    found = feature(text, None, SIDES)
    assert (found.words, found.name) == (key, name)


def test_hole_a_is_a_point_like_hole_b_and_another_than_the_hole() -> None:
    a, b, hole = (feature(text, None, SIDES) for text in ("hole A", "hole B", "hole"))
    assert a.point
    assert b.point
    assert len({a.words, b.words, hole.words}) == 3
    assert alike_but_for_place(a.words, b.words)
