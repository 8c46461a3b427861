"""What the pages say of a part that is back in the wrong place, that went with its host, that goes on on the bench."""

from __future__ import annotations

from pathlib import Path

import pytest

from journal.pages.going_back import going_back
from journal.pages.hand import hand_sheet
from journal.pages.part_page import part_page
from journal.pages.viewer import Viewer
from tests.builds import tell_files

OFF = """```removed mount
from: frame
held by: 4 bolts
lug to front edge: 184 mm by tape
lug to web: 31 mm by rule
```
"""
BACK = "```refitted mount\non: frame\n```\n\n```measured mount\non: frame\nlug to front edge: {} mm by tape\n```\n"


def viewer(folder: Path, *days: str) -> Viewer:
    notes = {f"2026-0{month}-10 day/note.md": text for month, text in enumerate(days, 1)}
    told = tell_files(folder, notes)
    return Viewer(told.book, told.judgement, "shop")


def test_a_part_that_is_back_in_the_wrong_place_says_so_wherever_it_is_named(tmp_path: Path) -> None:
    wrong, right = viewer(tmp_path / "a", OFF, BACK.format(195)), viewer(tmp_path / "b", OFF, BACK.format(185))
    assert wrong.row("mount").state.word == "back, not where it was recorded"
    assert wrong.row("mount").state.tone == "warn"
    assert right.row("mount").state.word == "back on"
    sheet = hand_sheet(wrong, wrong.book.parts["mount"])
    first = [(r.figure and r.figure.written, r.remarks[:1], r.counts) for r in sheet.readings[:2]]
    assert first == [("184 mm", ("as recorded",), False), ("195 mm", ("as it sits now",), False)]
    assert all(not reading.remarks for reading in hand_sheet(right, right.book.parts["mount"]).readings)
    assert going_back(wrong).told == "1 part back on: 1 not where it was recorded."
    assert going_back(right).told == "1 part back on: 1 measured again, where it was recorded."


def test_a_part_that_went_with_its_host_is_not_free_and_has_nothing_to_measure(tmp_path: Path) -> None:
    lost = viewer(tmp_path, "```part clip\nfrom: sill\nheld by: 1 rivet\n```\n", "```scrapped sill\n```\n")
    page = part_page(lost, lost.book.parts["clip"])
    assert (page.free, page.next) == ((), ())
    assert "nobody wrote what became of it" in page.standing
    [step] = [step for stage in going_back(lost).stages for step in stage if step.key.startswith("part clip")]
    assert step.mark.word == "not said what became of it"


@pytest.mark.parametrize(
    ("off", "first"),
    [(("lamp", "bar"), ["bar"]), (("bar", "lamp"), [])],  # taken off the bar on the bench: it goes on it there
)
def test_a_part_that_goes_on_its_host_on_the_bench_does_not_wait_for_it(
    tmp_path: Path, off: tuple[str, str], first: list[str]
) -> None:
    slips = {"lamp": "```removed lamp\nfrom: bar\nheld by: 2 bolts\n```\n", "bar": "```removed bar\nfrom: frame\n```\n"}
    shown = viewer(tmp_path, *(slips[name] for name in off))
    assert [row.id for row in part_page(shown, shown.book.parts["lamp"]).first] == first


def test_a_reading_that_was_left_out_says_why_wherever_it_stands(tmp_path: Path) -> None:
    again = "```measured mount\non: frame\nlug to front edge: 250 mm by tape\n```\n"
    shown = viewer(tmp_path, OFF, again)
    remarks = {r.figure.written: r.remarks for r in map(shown.reading, shown.book.readings) if r.figure}
    assert remarks["184 mm"] == ("It was read again later, and differently",)
    assert remarks["250 mm"] == remarks["31 mm"] == ()
