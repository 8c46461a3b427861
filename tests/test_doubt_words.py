"""Words that take a reading back, turn it round or name nothing, and what is one thing under two names.

Each kind stands beside a near miss that stays a record, so that no honest remark costs one.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.builds import tell_files
from tests.test_not_recorded import BOLTED, FIRST, SECOND, THIRD, WELDED, record_of, slip, word

LOWER, REAR, UP = "hole to lower edge: 22 mm", "hole to rear end: 150 mm", "way round: foot up"
HELD = ("from: panel", "held by: 2 welds")


def words_told(tmp_path: Path, *days: str) -> list[str]:
    notes = dict(zip((FIRST, SECOND, THIRD), days, strict=False))
    return [finding.word for finding in tell_files(tmp_path, notes).judgement.findings]


# --- a reading that is doubted


@pytest.mark.parametrize(
    "tail",
    [", I think", " probably", ", prob", " maybe", " (?)", "?", "??", " (to check)", ", check this", ", tbc",
     ", recheck", " - looks wrong", ", wrong", " (misread)", " (ignore)", ", can't be right", ", isn't right",
     ", hard to read", ", smudged", ", dubious", " (don't trust it)", ", not checked", ", hopefully", ", unverified",
     " from a photo", ", roughly from the photo", " scaled off photo", " according to Pete", " as per manual",
     " on the new one", " (on the right one)", " on the other side", ", after it slipped", ", was bent",
     ", before bending it"],
)  # fmt: skip
def test_a_reading_doubted_in_any_words_holds_nothing(tmp_path: Path, tail: str) -> None:
    lines = [f"{line}{tail}" if "rear end" in line else line for line in WELDED]
    told = tell_files(tmp_path, {FIRST: slip("removed bracket", *lines)})
    assert told.judgement.records["bracket"].word == "partly recorded"
    [reading] = [reading for reading in told.book.readings.values() if reading.text.endswith(tail)]
    assert reading.in_doubt
    assert reading.value is not None
    assert reading.value.number == 150


@pytest.mark.parametrize(
    "tail",
    ["", ", checked twice", ", no doubt", " (clip slipped over it)",
     " (double checked)", " (confirmed)", " (with the door open)", " at the weld",
     " (see photo)", " (right side up)", ", edge not true", ", not the rim", " to the check strap",
     ", before the cut", " (door was off)", " (hole not used)", " on the other side of the web", " (was 148)",
     ", read on the left side", ", want 152 mm per manual"],
)  # fmt: skip
def test_an_honest_remark_is_no_doubt(tmp_path: Path, tail: str) -> None:
    lines = [f"{line}{tail}" if "rear end" in line else line for line in WELDED]
    assert word(tmp_path, slip("removed bracket", *lines)) == "position recorded"


@pytest.mark.parametrize(
    ("left", "recorded"),
    [("hole 1 to rear end", True), ("hole 1 to rear end (right)", True), ("hole 1 to rear end, I think", False),
     ("hole 1 to rear end (?)", False), ("hole 1 to rear end?", False), ("maybe hole 1 to rear end", False)],
)  # fmt: skip
def test_a_doubt_before_the_value_is_one(tmp_path: Path, left: str, recorded: bool) -> None:
    lines = [line.replace("hole 1 to rear end", left) for line in WELDED]
    assert (word(tmp_path, slip("removed bracket", *lines)) == "position recorded") == recorded


# --- a contact that is none


@pytest.mark.parametrize(
    "line",
    ["slightly out of square with lower edge", "nowhere near square to lower edge", "far from parallel to lower edge",
     "web 2 mm off square to lower edge", "web isnt square to lower edge", "web aint parallel to lower edge",
     "web anything but square to lower edge", "web close to parallel to lower edge", "crack parallel to lower edge",
     "web to be parallel to lower edge", "web half way parallel to lower edge", "web hopefully square to lower edge",
     "web short of level with lower edge", "set it square to lower edge", "weld the web parallel to lower edge",
     "keep web parallel to lower edge", "new one square to lower edge", "web square to lower edge (I think)",
     "web flush with lower edge when new", "web square to lower edge within 3 mm", "mud level with lower edge",
     "web flush with lower edge except the tail", "web square to lower edge on the old one"],
)  # fmt: skip
def test_a_sentence_that_takes_a_contact_back_holds_no_turn(tmp_path: Path, line: str) -> None:
    assert word(tmp_path, slip("removed bracket", *HELD, LOWER, REAR, UP, line)) == "partly recorded"


@pytest.mark.parametrize(
    "line",
    ["web square to lower edge", "web exactly square to lower edge", "the web is fully square to the lower edge",
     "side of the web parallel to lower edge by square", "web assembly square to lower edge", "square to lower edge",
     "it sits square to the lower edge of panel", "web square to lower edge (2 mm shim)",
     "paint line parallel to lower edge", "cant rail square to lower edge", "cross member one parallel to lower edge",
     "upper half parallel to lower edge", "web square to lower edge, from memory"],
)  # fmt: skip
def test_a_plain_contact_holds_the_turn(tmp_path: Path, line: str) -> None:
    assert word(tmp_path, slip("removed bracket", *HELD, LOWER, REAR, UP, line)) == "position recorded"


# --- nothing to measure from


@pytest.mark.parametrize(
    ("line", "asked"),
    [("edge in line with the other one", True), ("edge level with it", True), ("edge parallel to those", True),
     ("edge parallel to ground", False), ("web square to the floor", False),
     ("edge parallel to garage floor", False)],
)  # fmt: skip
def test_a_contact_with_what_is_not_named_holds_nothing(tmp_path: Path, line: str, asked: bool) -> None:
    told = tell_files(tmp_path, {FIRST: slip("removed bracket", *HELD, LOWER, REAR, UP, line)})
    assert told.judgement.records["bracket"].word == "partly recorded"
    assert line in {reading.text for reading in told.book.readings.values()}
    assert ("which-one" in {finding.word for finding in told.judgement.findings}) == asked


@pytest.mark.parametrize(
    ("reference", "recorded", "asked"),
    [("lower edge", True, False), ("it", False, True), ("the other one", False, True), ("edge of it", False, True),
     ("floor", False, False), ("the ground", False, False), ("floor flange", True, False), ("cab floor", True, False),
     ("cross member one", True, False)],
)  # fmt: skip
def test_a_height_above_what_is_not_of_the_host_holds_nothing(
    tmp_path: Path, reference: str, recorded: bool, asked: bool
) -> None:
    lines = (f"hole 1 above {reference}: 22 mm", f"hole 2 above {reference}: 22 mm", "hole 1 ahead of rear end: 150 mm")
    told = tell_files(tmp_path, {FIRST: slip("removed bracket", *HELD, *lines, UP)})
    assert (told.judgement.records["bracket"].word == "position recorded") == recorded
    assert ("which-one" in {finding.word for finding in told.judgement.findings}) == asked


@pytest.mark.parametrize("more", ["", "features: floor"])
def test_a_floor_that_the_host_has_is_one_of_its_features(tmp_path: Path, more: str) -> None:
    lines = ("hole 1 above floor: 22 mm", "hole 2 above floor: 22 mm", "hole 1 ahead of rear end: 150 mm", UP)
    told = word(tmp_path, slip("part panel", more) + slip("removed bracket", *HELD, *lines))
    assert (told == "position recorded") == bool(more)


def test_a_part_on_the_machine_itself_may_be_measured_from_the_floor(tmp_path: Path) -> None:
    lines = ("hole 1 above floor: 22 mm", "hole 2 above floor: 22 mm", "hole 1 ahead of rear end: 150 mm", UP)
    assert word(tmp_path, slip("removed bracket", "held by: 2 welds", *lines)) == "position recorded"


@pytest.mark.parametrize(("line", "recorded"), [("gap under it: 4 mm", False), ("gap under foot: 4 mm", False),
                                                ("hole 3 above lower edge: 4 mm", True)])  # fmt: skip
def test_a_gap_under_something_is_a_size(tmp_path: Path, line: str, recorded: bool) -> None:
    lines = ("hole 1 ahead of rear end: 150 mm", "hole 2 ahead of rear end: 210 mm", UP, line)
    assert (word(tmp_path, slip("removed bracket", *HELD, *lines)) == "position recorded") == recorded


# --- one thing under two names


@pytest.mark.parametrize(
    ("one", "other", "two"),
    [("hole 1", "hole 2", True), ("upper hole", "lower hole", True), ("bolt", "slot", True),
     ("bolt 1", "hole 2", True), ("hole", "drain hole", True), ("rivet", "screw", True),
     ("top hole of foot", "top hole", True), ("outer edge of hole", "inner edge of hole", False),
     ("bottom of hole", "top of hole", False), ("hole", "hole ctr", False), ("hole", "hole c/l", False),
     ("hole", "centre of hole", False), ("bolt", "bolt hole", False), ("bolt", "hole", False),
     ("LH hole", "left hole", False), ("top hole", "upper hole", False), ("hole 1", "first hole", False),
     ("hole 2", "hole no. 2", False), ("hole", "holes", False), ("hole 1", "top of hole 1", False),
     ("lower edge", "bottom edge", False)],
)  # fmt: skip
def test_one_hole_under_two_names_holds_no_turn(tmp_path: Path, one: str, other: str, two: bool) -> None:
    lines = (f"{one} to rear flange: 22 mm", f"{other} to rear flange: 22 mm", f"{one} to upper end: 150 mm", UP)
    told = record_of(tmp_path, slip("removed bracket", *HELD, *lines))
    assert (told.word == "position recorded") == two
    assert two or told.free[0].startswith("can turn")


@pytest.mark.parametrize(
    "subject", ["both holes", "holes 1 and 2", "hole 1 and hole 2", "each hole", "both ends", "hole 1"]
)
def test_a_length_of_several_at_once_is_asked_about(tmp_path: Path, subject: str) -> None:
    told = words_told(tmp_path, slip("removed bracket", *HELD, f"{subject} above lower edge: 22 mm", REAR, UP))
    assert ("which-one" in told) == (subject not in ("hole 1", "both ends"))


# --- what was cut away


@pytest.mark.parametrize(
    ("away", "recorded"),
    [("front flange", True), ("front corner", True), ("upper lip", True), ("gusset", True),
     ("front end and drain hole", True), ("corner of the floor", True), ("nothing", True), ("front strip", False),
     ("drain tube", True), ("everything behind the axle", False), ("all behind the front axle", False),
     ("lower flange", False), ("lower lip", False), ("most of it", False), ("nearly all", False), ("panel", False),
     ("the panel", False),
     ("where the bracket sat", False), ("under the bracket", False), ("200 off the rear", False),
     ("last foot", False), ("a strip along the bottom", False), ("rot at the bottom", False), ("tail", False),
     ("rust round the drain hole", False), ("the back", False)],
)  # fmt: skip
def test_what_is_told_in_words_that_name_no_feature_may_be_any_piece(tmp_path: Path, away: str, recorded: bool) -> None:
    first = slip("part drain tube", "from: panel", "held by: 1 bolt") + slip("removed bracket", *WELDED)
    assert (word(tmp_path, first, slip("cut panel", f"away: {away}")) == "position recorded") == recorded


@pytest.mark.parametrize(
    ("away", "recorded"),
    [("front flange", True), ("gusset", True), ("nothing", True), ("most of it", False),
     ("where the bracket sat", False), ("a strip along the bottom", False), ("all the holes", False),
     ("bracket mounting", False), ("front of the cab", False)],
)  # fmt: skip
def test_a_piece_that_names_no_feature_may_have_had_the_holes(tmp_path: Path, away: str, recorded: bool) -> None:
    told = word(tmp_path, slip("removed bracket", *BOLTED), slip("cut panel", f"away: {away}"))
    assert (told == "position recorded") == recorded


# --- scrapped, and there again


@pytest.mark.parametrize("lines", [WELDED, BOLTED], ids=["readings", "own holes"])
@pytest.mark.parametrize(
    ("fate", "then", "recorded"),
    [("removed", slip("refitted panel", "on: frame"), True), ("scrapped", slip("refitted panel", "on: frame"), False),
     ("scrapped", slip("removed panel", "from: frame"), False), ("scrapped", "", False)],
)  # fmt: skip
def test_what_was_scrapped_and_is_there_again_is_another_one(
    tmp_path: Path, lines: tuple[str, ...], fate: str, then: str, recorded: bool
) -> None:
    gone = slip(f"{fate} panel", *(("from: frame",) if fate == "removed" else ()))
    told = word(tmp_path, slip("removed bracket", *lines), gone, then)
    assert (told == "position recorded") == recorded


def test_how_to_say_that_it_was_no_other_one(tmp_path: Path) -> None:
    days = (slip("removed bracket", *WELDED), slip("scrapped panel"), slip("refitted panel"))
    notes = dict(zip((FIRST, SECOND, THIRD), days, strict=True))
    [found] = [f for f in tell_files(tmp_path, notes).judgement.findings if f.word == "reference-gone"]
    assert "panel was scrapped, so what was fitted on 10 March 2026 is taken as another one" in found.notes[0].message
    assert found.help.startswith("if it is the same panel, take the `scrapped` slip out")


def test_what_was_measured_on_both_carries_over_to_what_is_there_again(tmp_path: Path) -> None:
    size = slip("measured panel", "rear end to lower edge: 500 mm by rule")
    first = slip("part panel") + size + slip("removed bracket", *WELDED)
    assert word(tmp_path, first, slip("scrapped panel"), slip("refitted panel") + size) == "position recorded"


# --- values


@pytest.mark.parametrize(("value", "told"), [("40 mm", ""), ("40 m", ""), ("40 m m", "ambiguous-value"),
                                             ("40 m (m is the old mark)", "")])  # fmt: skip
def test_a_torn_unit_is_asked_about(tmp_path: Path, value: str, told: str) -> None:
    found = words_told(tmp_path, slip("removed bracket", *HELD, f"hole 1 to lower edge: {value}", UP))
    assert ("ambiguous-value" in found) == bool(told)


@pytest.mark.parametrize(("tail", "method"), [("by rule", "rule"), ("w/ rule", "rule"), ("using a tape", "tape"),
                                              ("with the door open", None)])  # fmt: skip
def test_what_it_was_measured_with(tmp_path: Path, tail: str, method: str | None) -> None:
    told = tell_files(tmp_path, {FIRST: slip("removed bracket", *HELD, f"hole 1 to lower edge: 40 mm {tail}")})
    [reading] = told.book.readings.values()
    assert reading.method == method
    assert reading.value is not None
    assert reading.value.number == 40


