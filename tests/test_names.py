"""Names: made plain, made into keys and paths, and told apart."""

from __future__ import annotations

import random
import re
import string
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from journal.ground.names import NearIndex, distance, fold, near, slug, tidy, unique_slugs, words_of

settings.register_profile("patient", deadline=None)  # a busy machine is no fault; time has its own tests
settings.load_profile("patient")


@pytest.mark.parametrize(
    ("typed", "plain"),
    [
        ("3’ 4½”", "3' 4½\""),
        ("8′–4″", "8'-4\""),
        ("a\u00a0b\u2009c\td", "a b c d"),
        ("e\u0301", "é"),
        ("\ufeffsill\u200b\u202e\x00\x07", "sill"),
        ("−5 — 6", "-5 - 6"),
        ("👩\u200d🔧", "👩\u200d🔧"),
        ("\ud800x", "x"),
    ],
)
def test_tidy(typed: str, plain: str) -> None:
    assert tidy(typed) == plain


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Guide  Bracket ", "guide bracket"),
        ("Türgriff", "turgriff"),
        ("cafe\u0301", "café"),
        ("STRASSE", "straße"),
        ("Ærø łuk", "aero luk"),
        ("İstanbul", "istanbul"),
        ("guide\u00a0bracket", "guide bracket"),
        ("driver’s door", "driver's door"),
    ],
)
def test_names_that_are_one(one: str, other: str) -> None:
    assert fold(one) == fold(other)


@pytest.mark.parametrize(
    ("one", "other"),
    [("hinge 1", "hinge 2"), ("guide-bracket", "guide bracket"), ("й", "и"), ("が", "か"), ("hinge", "hinges")],
)
def test_names_that_are_two(one: str, other: str) -> None:
    assert fold(one) != fold(other)


@given(st.text(max_size=60))
def test_fold_twice_changes_nothing(text: str) -> None:
    assert fold(fold(text)) == fold(text)


RESERVED = ["con", "PRN", "aux", "NUL", "com1", "LPT9", "COM0"]


@pytest.mark.parametrize(
    ("name", "path"),
    [
        ("guide bracket front, left", "guide-bracket-front-left"),
        ("underside / left sill", "underside-left-sill"),
        ("../../etc", "etc"),
        ("Türgriff", "turgriff"),
        ("No. 9", "no-9"),
        ("½ in bolt", "1-2-in-bolt"),
    ],
)
def test_slugs(name: str, path: str) -> None:
    assert slug(name) == path


@pytest.mark.parametrize("name", ["", ".", "..", "???", "ドア", "дверь", "🔧", *RESERVED, "a" * 500, "-"])
def test_slugs_of_what_has_no_plain_path(name: str) -> None:
    path = slug(name)
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", path)
    assert len(path) <= 60
    assert path.upper() not in {reserved.upper() for reserved in RESERVED}


def test_long_and_foreign_names_keep_apart() -> None:
    assert slug("a" * 100) != slug("a" * 101)
    assert slug("дверь") != slug("крыша")
    assert slug("дверь 1") == slug("Дверь  1")


@given(st.lists(st.one_of(st.text(max_size=80), st.sampled_from(["Hinge", "hinge", "hinge!", "con", ""])), max_size=30))
def test_unique_slugs_are_unique_safe_and_short(names: list[str]) -> None:
    slugs = unique_slugs(names)
    assert set(slugs) == set(names)
    assert len(set(slugs.values())) == len(slugs)
    assert all(re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", path) and len(path) <= 60 for path in slugs.values())


def test_a_later_name_moves_no_earlier_slug() -> None:
    before = unique_slugs(["hinge", "Hinge!"])
    after = unique_slugs(["hinge", "Hinge!", "HINGE?", "door"])
    assert before["hinge"] == "hinge"
    assert {name: after[name] for name in before} == before


# Damerau-Levenshtein in its restricted form; worked by hand.
@pytest.mark.parametrize(
    ("a", "b", "apart"),
    [("", "", 0), ("hinge", "hinge", 0), ("hinge", "hnige", 1), ("hinge", "hing", 1), ("hinge", "hinges", 1),
     ("hinge", "hunge", 1), ("bracket", "braket", 1), ("bracket", "barcekt", 2), ("ab", "ba", 1), ("", "ab", 2),
     ("ca", "abc", 3), ("hinge", "bracket", 3), ("a" * 50, "a" * 53, 3), ("abcd", "badc", 2)],
)  # fmt: skip
def test_distance(a: str, b: str, apart: int) -> None:
    assert distance(a, b) == distance(b, a) == apart


def full_distance(a: str, b: str) -> int:
    """The same by the whole table, to check the band against."""
    table = [[i + j if i * j == 0 else 0 for j in range(len(b) + 1)] for i in range(len(a) + 1)]
    for i in range(1, len(a) + 1):
        for j in range(1, len(b) + 1):
            table[i][j] = min(table[i - 1][j] + 1, table[i][j - 1] + 1, table[i - 1][j - 1] + (a[i - 1] != b[j - 1]))
            if i > 1 and j > 1 and a[i - 1] == b[j - 2] and a[i - 2] == b[j - 1]:
                table[i][j] = min(table[i][j], table[i - 2][j - 2] + 1)
    return table[-1][-1]


letters = st.text("abc", max_size=9)


@given(letters, letters, st.integers(0, 4))
def test_distance_in_a_band_is_the_whole_one(a: str, b: str, most: int) -> None:
    assert distance(a, b, most) == min(full_distance(a, b), most + 1)


NEAR = [
    ("guide bracket front", "guide braket front"),
    ("guide bracket front", "front guide bracket"),
    ("guide bracket", "guide-bracket"),
    ("mudguard stay", "mud guard stay"),
    ("bonnet", "bonnets"),
    ("bolt", "boot"),
    ("hinge upper", "hinge uper"),
    ("wheel front", "wheel fornt"),
    ("deck board 3", "deck baord 3"),
    ("wire loom", "wire lom"),
    ("hinge", "honge"),  # the key beside it
    ("bracket", "brackfr"),
    ("guide brackett", "guid bracket"),
]
NOT_NEAR = [
    ("hinge 1", "hinge 2"),
    ("hinge 1", "hinge 11"),
    ("hinge", "hinge 1"),
    ("bolt M8", "bolt M6"),
    ("bracket A", "bracket B"),
    ("rib ii", "rib iii"),
    ("sill one", "sill two"),
    ("wheel front", "wheel rear"),
    ("inlet pipe", "outlet pipe"),
    ("inner skin", "outer skin"),
    ("hinge upper", "hinge lower"),
    ("plug male", "plug female"),
    ("sill left", "sill right"),
    ("bolt 1 nut 2", "bolt 2 nut 1"),
    ("arm", "cam"),
    ("brace", "frame"),
    ("brace", "brake"),
    ("bracket", "brace"),
    ("latch", "clutch"),
    ("lever", "cover"),
    ("hood", "hook"),
    ("rack", "track"),
    ("arm", "ram"),
    ("gasket", "basket"),
    ("sump nut", "pump nut"),
    ("hinge", "hynje"),  # lost: two letters of a short word
    ("hinge", "henge"),  # lost: a letter that no key beside it makes
    ("hinge", "jinge"),  # lost: the first letter
    ("bolt", "boltss"),
    ("bolt", "bulk"),
    ("on", "one"),
    ("bolt", "bush"),
    ("in", "on"),
    ("guide brakett fronte", "guid bracket front"),
    ("bracket", "brakkeett"),
    ("door", "bonnet"),
    ("Hinge", "hinge"),
    ("hinge", "hinge"),
]


@pytest.mark.parametrize(
    ("a", "b", "is_near"), [(*pair, True) for pair in NEAR] + [(*pair, False) for pair in NOT_NEAR]
)
def test_near_names(a: str, b: str, is_near: bool) -> None:
    assert near(a, b) is near(b, a) is is_near
    assert NearIndex([a]).near(b) == ([a] if is_near else [])
    assert NearIndex([b, a]).near(a) == ([b] if is_near else [])


def test_the_sides_of_a_build_are_never_near() -> None:
    assert near("cleat stern", "cleat sterm")
    assert not near("cleat stern", "cleat sterm", sides=("stern", "sterm"))
    assert NearIndex(["cleat sterm"], sides=("stern", "sterm")).near("cleat stern") == []


def test_the_nearest_comes_first() -> None:
    names = ["guide brakketts", "guide brackets", "bracket guide", "guide bracke", "door"]
    assert NearIndex(names).near("guide bracket") == ["bracket guide", "guide bracke", "guide brackets"]


vocabulary = st.sampled_from("hinge hinges hinje upper lower uper front fornt arm cam 1 2 a b bolt boot bolts".split())
some_names = st.lists(st.lists(vocabulary, min_size=1, max_size=3).map(" ".join), min_size=1, max_size=25)


@given(some_names)
def test_the_index_finds_what_comparing_all_pairs_finds(names: list[str]) -> None:
    index = NearIndex(names)
    for name in names:
        assert set(index.near(name)) == {other for other in names if near(name, other)}


@given(st.lists(st.text("abé -1", max_size=12), max_size=12))
def test_the_index_agrees_on_any_text(names: list[str]) -> None:
    index = NearIndex(names)
    for name in names:
        assert set(index.near(name)) == {other for other in names if near(name, other)}


def build_of(size: int) -> list[str]:
    chance = random.Random(size)
    vocabulary = ["".join(chance.choices(string.ascii_lowercase, k=chance.randint(4, 9))) for _ in range(500)]
    numbered = [f"guide bracket {number}" for number in range(size // 2)]
    return numbered + [" ".join(chance.choices(vocabulary, k=3)) for _ in range(size - size // 2)]


def seconds_for(size: int) -> float:
    names = build_of(size)
    begun = time.process_time()
    index = NearIndex(names)
    for name in names:
        index.near(name)
    return time.process_time() - begun


def test_five_thousand_names_take_a_moment() -> None:
    small, large = seconds_for(1250), seconds_for(5000)
    assert large < 6  # about 1 s; all pairs would be 12.5 million comparisons, minutes
    assert large < 8 * max(small, 0.05)  # four times the names: well below the sixteen times of all pairs


def test_words_of_a_name() -> None:
    assert words_of("Driver’s door, left (upper)") == ("driver's", "door", "left", "upper")
