"""Notes to parts: hosts, sides, states, and readings in slips about something else."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from journal.build import Told, read, tell
from journal.notes.kinds import YES

TODAY = date(2026, 5, 9)


def told(tmp_path: Path, *notes: str, settings: str = "") -> Told:
    """A build of one note a day, from 1 March on."""
    (tmp_path / "build.toml").write_text(f'title = "Truck"\n{settings}', encoding="utf-8")
    for number, text in enumerate(notes, 1):
        day = tmp_path / f"2026-03-{number:02d}"
        day.mkdir()
        (day / "note.md").write_text(text, encoding="utf-8")
    return tell(read(tmp_path, TODAY), {}, as_of=TODAY)


def slip(first: str, *lines: str) -> str:
    return "\n".join((f"```{first}", *lines, "```", ""))


def test_a_part_exists_as_soon_as_a_first_line_from_or_on_names_it(tmp_path: Path) -> None:
    book = told(
        tmp_path, slip("removed clip", "from: rail"), slip("measured hook", "on: beam", "hole to end: 5 mm")
    ).book
    assert set(book.parts) == {"clip", "rail", "hook", "beam"}
    assert book.parts["hook"].hosts == ("beam",)


def test_a_host_without_a_side_takes_the_parts(tmp_path: Path) -> None:
    book = told(tmp_path, slip("part sill, both"), slip("removed clip, right", "from: sill")).book
    assert book.parts["clip-right"].hosts == ("sill-right",)
    assert "sill" not in book.parts


def test_a_side_that_cannot_be_told_is_asked_for(tmp_path: Path) -> None:
    found = told(tmp_path, slip("part sill, both"), slip("removed clip", "from: sill")).judgement.findings
    unknown = [f for f in found if f.word == "unknown-name"]
    assert [(f.span.line, f.help) for f in unknown] == [(2, 'write "sill, left" or "sill, right"')]


def test_own_holes_in_one_of_two_sides_hold_while_both_are_there(tmp_path: Path) -> None:
    notes = slip("part sill, both"), slip("removed clip", "from: sill", "held by: 2 screws")
    both = tmp_path / "both"
    both.mkdir()
    judged = told(both, *notes)
    assert judged.book.parts["clip"].hosts == ("sill-left", "sill-right")
    assert judged.judgement.records["clip"].word == "position recorded"
    for side in ("left", "right"):
        folder = tmp_path / side
        folder.mkdir()
        judged = told(folder, *notes, slip(f"scrapped sill, {side}"))
        assert judged.judgement.records["clip"].word != "position recorded"
        words = {f.word for f in judged.judgement.findings}
        assert {"unknown-name", "reference-gone"} <= words


def test_the_bench_and_the_machine_are_no_parts(tmp_path: Path) -> None:
    book = told(
        tmp_path,
        slip("removed clip", "from: rail"),
        slip("measured clip", "on: the bench", "hole to edge: 5 mm"),
        slip("refitted clip", "on: machine"),
    ).book
    assert set(book.parts) == {"clip", "rail"}
    assert book.parts["clip"].hosts == ()
    assert [reading.own for reading in book.readings.values()] == [True]


def test_a_child_rides_along_with_its_host(tmp_path: Path) -> None:
    book = told(
        tmp_path,
        slip("part lamp", "from: bracket") + slip("part bracket", "from: dash"),
        slip("removed bracket", "from: dash"),
        slip("refitted bracket", "on: dash"),
    ).book
    assert [book.state("lamp", date(2026, 3, day)) for day in (1, 2, 3)] == ["on", "off with its host", "on"]
    assert book.state("bracket") == "back on"


def test_states_by_date(tmp_path: Path) -> None:
    book = told(
        tmp_path,
        slip("part sill", "going: 2026-03-04") + slip("part clip", "from: sill"),
        slip("removed clip", "from: sill"),
        slip("cut sill", "away: front end"),
        slip("scrapped sill"),
        slip("replaced sill", "by: new"),
        slip("refitted clip", "on: sill"),
    ).book
    sill = [book.state("sill", date(2026, 3, day)) for day in range(1, 7)]
    assert sill == ["going", "going", "cut", "scrapped", "replaced", "replaced"]
    clip = [book.state("clip", date(2026, 3, day)) for day in range(1, 7)]
    assert clip == ["on", "off", "off", "off", "off", "back on"]


def test_a_part_never_taken_off_a_replaced_host_is_off_with_it(tmp_path: Path) -> None:
    book = told(tmp_path, slip("part clip", "from: sill"), slip("replaced sill", "by: new")).book
    assert book.state("clip") == "off with its host"


def test_a_part_first_named_on_the_new_host_sits_on_it(tmp_path: Path) -> None:
    result = told(tmp_path, slip("part sill"), slip("replaced sill", "by: new") + slip("part clip", "from: sill"))
    assert result.book.state("clip") == "on"
    assert not [f for f in result.judgement.findings if f.word == "lost-with-host"]


def test_hosts_in_a_ring_end(tmp_path: Path) -> None:
    result = told(tmp_path, slip("part a", "from: b") + slip("part b", "from: c") + slip("removed c", "from: a"))
    assert result.book.state("a") == "off with its host"


def test_a_reading_in_a_job_belongs_to_its_part(tmp_path: Path) -> None:
    book = told(tmp_path, slip("part wheel") + slip("done tighten the wheel", "part: wheel", "torque: 95 N·m")).book
    assert [(r.part, r.dimension, r.value and r.value.number) for r in book.readings.values()] == [
        ("wheel", "torque", 95)
    ]


def test_an_id_survives_edits_in_other_slips(tmp_path: Path) -> None:
    one, two = tmp_path / "one", tmp_path / "two"
    one.mkdir()
    two.mkdir()
    mine = slip("removed clip", "from: rail", "hole to end: 5 mm")
    before = told(one, mine).book.readings
    after = told(
        two, slip("removed hook", "from: rail", "hole to end: 9 mm") + "\nMore words.\n\n" + mine
    ).book.readings
    assert set(before) < set(after)


def test_days_after_the_date_asked_for_do_not_count(tmp_path: Path) -> None:
    told(tmp_path, slip("part clip", "from: rail"), slip("removed clip", "from: rail"))
    early = tell(read(tmp_path, date(2026, 3, 1)), {}, as_of=date(2026, 3, 1))
    assert early.book.state("clip") == "on"
    assert len(early.book.days) == 1


def test_a_place_spelt_in_two_ways_is_one(tmp_path: Path) -> None:
    book = told(
        tmp_path,
        slip("part clip", "place: Underside / left sill") + slip("part hook", "place: underside/Left  sill"),
    ).book
    assert list(book.places) == [("Underside",), ("Underside", "left sill")]
    assert book.places["Underside", "left sill"].parts == ("clip", "hook")


def test_words_that_name_no_place_are_told_and_the_place_before_counts(tmp_path: Path) -> None:
    result = told(
        tmp_path,
        slip("part clip", "place: underside"),
        slip("removed clip", "place: /", "hole to edge: 5 mm"),
        slip("removed hook", "place:  / / "),
        slip("job paint", "place: /"),
    )
    found = [(f.span.file, f.span.line) for f in result.judgement.findings if f.word == "not-understood"]
    assert found == [(f"2026-03-0{day}/note.md", 2) for day in (2, 3, 4)]
    assert result.book.parts["clip"].place == ("underside",)
    assert result.book.parts["hook"].place == ()
    assert list(result.book.places) == [("underside",)]


def unknown(result: Told) -> list[tuple[int, str, str]]:
    findings = (f for f in result.judgement.findings if f.word == "unknown-name")
    return [(f.span.line, f.message, f.help) for f in findings]


def test_a_part_named_without_its_side_is_asked_for_its_side_wherever_it_is_named(tmp_path: Path) -> None:
    """In a picture, a job, a cut, what a job needs and what an order is for, as in `behind`."""
    (tmp_path / "2026-03-01").mkdir()
    (tmp_path / "2026-03-01" / "IMG_1.jpg").write_bytes(b"x")
    slips = (
        slip("part sill, both") + slip("photo IMG_1", "shows: sill"),
        slip("job weld", "part: sill", "cuts: sill", "needs: sill"),
        slip("ordered sheet", "for: sill"),
        slip("part clip", "behind: sill"),
    )
    for number, text in enumerate(slips, 1):
        folder = tmp_path / f"2026-03-{number:02d}"
        folder.mkdir(exist_ok=True)
        (folder / "note.md").write_text(text)
    (tmp_path / "build.toml").write_text('title = "Truck"\n')
    found = unknown(tell(read(tmp_path, TODAY), {}, as_of=TODAY))
    message = '"sill" is said without a side; there is "sill, left" and "sill, right"'
    assert found == [(line, message, 'write "sill, left" or "sill, right"') for line in (4, 2, 3, 4, 2, 2)]


def test_a_range_of_pictures_with_thousands_of_digits_is_read(tmp_path: Path) -> None:
    one = "a" + "1" * 5000
    result = told(tmp_path, slip("removed clip", f"photos: {one} to {one[:-1]}2"))
    assert [f.word for f in result.judgement.findings if f.severity == "problem"] == ["missing-photo"] * 2


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (".32,.41 .58,.41 hole to edge", "hole to edge"),
        ("0.32，0.41 0.58，0.41 hole to edge", "hole to edge"),
        ("0.32,0.41\u00a00.58,0.41\u2009hole to “own” edge.", "hole to “own” edge"),
        ("0.32 , 0.41 0.58 , 0.41", ""),
        ("0.32,0.41 0.58,0.41.", ""),
    ],
)
def test_a_line_over_a_picture_is_read_however_its_numbers_are_typed(tmp_path: Path, line: str, words: str) -> None:
    folder = tmp_path / "2026-03-01"
    folder.mkdir()
    (folder / "IMG_1.jpg").write_bytes(b"x")
    (folder / "note.md").write_text(slip("part clip") + slip("photo IMG_1", "shows: clip", f"line: {line}"))
    (tmp_path / "build.toml").write_text('title = "Truck"\n')
    result = tell(read(tmp_path, TODAY), {}, as_of=TODAY)
    assert [f for f in result.judgement.findings if f.word == "not-understood"] == []
    (photo,) = result.book.photos.values()
    ((start, end),) = [(drawn.start, drawn.end) for drawn in photo.lines]
    assert (start, end, photo.lines[0].text) == ((0.32, 0.41), (0.58, 0.41), words)


def moved(folder: Path, word: str) -> tuple[bool, bool]:
    """A part put back with `moved: word` and taken off again: whether its old readings are lost, whether it is told."""
    folder.mkdir()
    result = told(
        folder,
        slip("removed clip", "from: rail", "held by: weld", "hole to edge: 5 mm", "hole to rear end: 9 mm",
             "slot to rear end: 30 mm"),
        slip("refitted clip", "on: rail", f"moved: {word}"),
        slip("removed clip", "from: rail"),
    )  # fmt: skip
    told_of = any(finding.word == "not-understood" for finding in result.judgement.findings)
    return result.judgement.records["clip"].word == "not recorded", told_of


def test_every_word_for_yes_that_a_note_may_use_means_yes(tmp_path: Path) -> None:
    """A part moved on purpose leaves its old readings behind, whichever of the words said so."""
    for word in sorted(YES):
        assert moved(tmp_path / word, word) == (True, False), word


def test_moved_in_words_that_are_neither_is_taken_the_worse_way(tmp_path: Path) -> None:
    """What says neither yes nor no is told, and the old readings are not trusted; only a clear no keeps them."""
    records = {word: moved(tmp_path / word, word) for word in ("a bit", "maybe", "no", "nein")}
    assert records == {"a bit": (True, True), "maybe": (True, True), "no": (False, False), "nein": (False, False)}


def test_jobs_and_treatments_spell_a_place_as_the_first_that_named_it(tmp_path: Path) -> None:
    book = told(
        tmp_path,
        slip("part clip", "place: underside / Left"),
        slip("job paint", "place: UNDERSIDE") + slip("treated Underside", "with: paint") + slip("treated left"),
    ).book
    assert book.jobs["paint"].place == ("underside",)
    assert [treatment.place for treatment in book.treatments] == [("underside",), ("underside", "Left")]
