"""A reading whose colon was forgotten is told, with the line to write; a plain sentence is left alone."""

from __future__ import annotations

import pytest

from journal.ground.finding import Finding
from journal.ground.source import Source
from journal.notes.parse import NoteSettings, parse_note

FORGOTTEN = [
    ("top hole is 22 mm up from the bottom edge", "top hole up from the bottom edge: 22 mm"),
    ("bottom hole 10 mm above the bottom edge", "bottom hole above the bottom edge: 10 mm"),
    ("top hole 150 mm from rear end", "top hole from rear end: 150 mm"),
    ("The top hole was 5/8 in below the flange.", "The top hole below the flange: 5/8 in"),
    ("hole 1 sits 3 ft 4 in ahead of the rear end", "hole 1 ahead of the rear end: 3 ft 4 in"),
    ("hole A about 22 mm from flange edge by tape", "hole A from flange edge: about 22 mm by tape"),
    ("- slot is at 45-50 mm from the lower edge, dusty", "slot from the lower edge: 45-50 mm, dusty"),
    ("Bolt hole = 12 mm in from edge of web (bent)", "Bolt hole in from edge of web: 12 mm (bent)"),
    ("lower edge 40 mm over the seam of the sill", "lower edge over the seam of the sill: 40 mm"),
    ("hole is 30 mm to the left of the rear corner", "hole to the left of the rear corner: 30 mm"),
    ("threaded hole measures 18 mm to web", "threaded hole to web: 18 mm"),
    ("edge of the hole is 2in 3/8 from rear end", "edge of the hole from rear end: 2in 3/8"),
    ("hole at 22 mm ± 1 from rear end, left", "hole from rear end, left: 22 mm ± 1"),
    (
        "stud 2 lies 14 mm outboard of the lower hole, from memory",
        "stud 2 outboard of the lower hole: 14 mm, from memory",
    ),
    ("22 mm from top hole to bottom edge", "top hole to bottom edge: 22 mm"),
    ("it is 22 mm from the top hole to the bottom edge", "the top hole to the bottom edge: 22 mm"),
    ("15 mm between hole 1 and hole 2", "hole 1 to hole 2: 15 mm"),
    ("hole 5/8 in from rear end", "hole from rear end: 5/8 in"),
    ("New hole 10 mm above the old hole", "New hole above the old hole: 10 mm"),
    ("left hole 22 mm below the flange edge", "left hole below the flange edge: 22 mm"),
    ("second bolt is 60 mm from the first bolt", "second bolt from the first bolt: 60 mm"),
    ("hole to edge 12 mm", "hole to edge: 12 mm"),
]

TWO = [
    "top hole 22 mm up from bottom edge, 40 mm from rear end",
    "top hole is 22 mm up from the bottom edge and 40 mm ahead of the rear end",
]

HONEST = [
    "M8 bolt 40 mm to the front hole",
    "bolts 8 mm to the top hole, 10 mm to the bottom hole",
    "two bolts 60 mm from the top",
    "weld 20 mm from each end",
    "hit it with a 2 lb hammer from the rear end",
    "Photo taken from 2 m behind the rear end",
    "stood 2 m from the rear end to take the photo",
    "Moved hole 5 mm to the rear end",
    "Drilled pilot hole 10 mm above the seam",
    "20 mm from the front end to the seam is rotten",
    "rear end dropped 5 mm below the seam on the jack",
    "drilled the 8 mm hole out on the bench",
    "bought a 2 m length of hose from the dealer",
    "Came off in 3 pieces.",
    "Rubber perished, 40 mm of it",
    "drilled new holes 10 mm from where the old ones were",
    "moved the hole 5 mm to the rear end",
    "Opened the slot 2 mm towards the edge",
    "cut 20 mm off the rear end",
    "cut the flange back 10 mm from the edge",
    "trimmed 3 mm off the lower edge to clear the weld",
    "ground the weld 1 mm below the flange",
    "found a crack 30 mm long running from the hole to the edge",
    "Found rust through the lower edge, 40 mm from the rear end",
    "the bolt was an M8, 40 mm long, from the tin under the bench",
    "needs a 10 mm spanner to get over the nut",
    "wanted 22 mm from the hole to the edge and got nothing like it",
    "the hole should be 22 mm from the edge",
    "a 6 mm drill goes through the hole from behind",
    "put 2 mm shims under the front bolt",
    "Bolt sheared 12 mm below the head, drilled it out",
    "rear bolt seized, cut off 5 mm above the nut",
    "the 10 mm bolt from the front hole went into the rear hole",
    "used 300 mm of wire from the old loom to the lamp",
    "paint is thin over the last 100 mm to the rear end",
    "3 mm plate welded over the hole from inside",
    "Sprayed from 200 mm away to the edge of the panel",
    "took 20 minutes to get the pin out from behind",
    "replaced the 5/16 in bolts with 8 mm ones from the box",
    "hammered it 5 mm up from the bottom",
    "there is 2 mm of play from side to side",
    "heat it over 50 mm either side of the weld, not above 200 °C",
    "drove from home to the dealer, 40 miles",
    "Welded 25 mm stitches from the front end to the seam",
    "we measured the hole 22 mm from the edge the first time",
    "I think the hole is 22 mm from the edge",
    "the nut is 13 mm across flats",
    "hose is 12 mm inside, 18 mm outside",
    "drill the hole 10 mm from the edge",
    "Mark out a hole 22 mm from the edge",
    "the sill is 1.2 mm steel from the front end to the seam",
    "Rust hole as big as a 20 mm coin above the seam",
    "not sure if the hole is 22 mm from the edge",
    "Is the hole 22 mm from the edge?",
    "2 washers under the nut, 1 above the flange",
    "a gap of about 2 mm opened up under the edge when it was jacked",
]  # fmt: skip


def told(line: str) -> tuple[list[Finding], int]:
    note, findings = parse_note(Source.of("n.md", f"```removed bracket\nfrom: sill\n{line}\n```\n"), NoteSettings())
    return findings, len(note.slips[0].sentences)


@pytest.mark.parametrize(("line", "write"), FORGOTTEN)
def test_a_forgotten_colon_is_told_with_the_line_to_write(line: str, write: str) -> None:
    (finding,), _ = told(line)
    assert (finding.word, finding.help) == ("not-understood", f"write `{write}`")
    assert "without its colon" in finding.message


@pytest.mark.parametrize(("line", "write"), FORGOTTEN)
def test_the_line_to_write_is_a_reading(line: str, write: str) -> None:
    note, findings = parse_note(Source.of("n.md", f"```removed bracket\nfrom: sill\n{write}\n```\n"), NoteSettings())
    assert not findings
    (statement,) = note.slips[0].statements
    assert statement.value is not None
    assert statement.value.computable


@pytest.mark.parametrize("line", TWO)
def test_two_readings_without_a_colon_are_told_as_two(line: str) -> None:
    (finding,), _ = told(line)
    assert "write one reading a line" in finding.help


@pytest.mark.parametrize("line", HONEST)
def test_a_plain_sentence_is_no_reading(line: str) -> None:
    assert told(line) == ([], 1)
