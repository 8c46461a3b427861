"""Small words on the pages: they say what they mean to whoever reads them, and only to those whom it concerns."""

from __future__ import annotations

import re
from datetime import date
from html import unescape
from pathlib import Path

import pytest

from journal.find import find
from journal.pages.days import day_row
from journal.pages.edition import Edition
from journal.pages.findable import rows
from journal.pages.going_back import going_back
from journal.pages.lists import jobs
from journal.pages.part_page import part_page
from journal.pages.safety import HAZARDS
from journal.pages.search import arrange
from journal.pages.viewer import Viewer
from journal.pages.work_lists import treatments
from journal.where import where_lines
from tests.builds import tell_files
from tests.site_fixture import EXAMPLE, site_of, site_of_files, text_of

DAY = """
```cut sill, left
away: flange
```

```treated sill, left
with: primer
```

```treated frame
with: paint
```

```done weld the sill
```

```ordered brake hose
for: sill, left
```

```ordered seals
for: sill, left
```

```arrived brake hose
```
"""


def words_of(page: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())


def viewer(folder: Path, note: str, today: date = date(2026, 5, 9)) -> Viewer:
    told = tell_files(folder, {"2026-04-25 paint/note.md": note}, today=today)
    return Viewer(told.book, told.judgement, "shop")


def test_a_day_is_summed_up_by_all_that_was_done(tmp_path: Path) -> None:
    seen = viewer(tmp_path, DAY)
    (day,) = seen.book.days
    assert day_row(seen, day).summary == "1 part cut, 2 treatments, 1 job done, 2 orders placed, 1 order arrived"


@pytest.mark.parametrize(
    ("next", "today", "text", "due"),
    [
        ("wax in the hollow places, 2026-05-09", date(2026, 5, 19), "wax in the hollow places",
         "due 9 May 2026, 10 days late"),
        ("wax, 2026-05-09", date(2026, 5, 10), "wax", "due 9 May 2026, 1 day late"),
        ("wax, 2026-05-09", date(2026, 5, 9), "wax", "due 9 May 2026"),
        ("green, when the colour has been matched", date(2026, 5, 9), "green, when the colour has been matched",
         "to come"),
    ],
)  # fmt: skip
def test_the_next_coat_says_when_it_is_due(tmp_path: Path, next: str, today: date, text: str, due: str) -> None:
    note = f"```treated frame\nwith: primer\nnext: {next}\n```\n"
    (row,) = treatments(viewer(tmp_path, note, today))
    assert row.due
    assert (row.next, row.due.word) == (text, due)


@pytest.mark.parametrize("edition", ["public", "shop"])
def test_only_the_shop_is_told_what_to_write_for_a_part(tmp_path: Path, edition: Edition) -> None:
    note = "```part frame\nnumber: 9\n```\n"
    page = text_of(site_of_files(tmp_path, {"2026-03-07 a/note.md": note}, edition), "parts/frame/index.html")
    assert "No reading of it yet." in page
    assert "No picture of it yet." in page
    assert "Nothing has happened to it yet." in page
    assert ("slip" in words_of(page[page.index("<main") :])) == (edition == "shop")


@pytest.mark.parametrize(
    ("note", "heading"),
    [
        ("```job cut the sill\ncuts: sill, left\n```\n", "To record before the next cut"),
        ("```job paint the sill\nneeds: sill, left\n```\n", "To record"),
        ("```job cut the sill\ncuts: sill, left\n```\n\n```done cut the sill\n```\n", "To record"),
    ],
)
def test_a_next_cut_is_named_only_where_one_is_to_come(tmp_path: Path, note: str, heading: str) -> None:
    note = f"```measured sill, left\nlength: 2100 mm by tape\n```\n\n{note}"
    page = text_of(site_of_files(tmp_path, {"2026-03-07 a/note.md": note}, "shop"), "index.html")
    assert f'<h2 id="before">{heading}</h2>' in page


def test_what_is_said_of_danger_is_true_of_a_part_and_of_a_job() -> None:
    told = [hazard for hazard in HAZARDS if "this part" in hazard.line + hazard.text]
    assert told == []


def test_days_before_and_after_are_called_so() -> None:
    page = words_of(text_of(site_of(EXAMPLE), "days/2026-04-04/index.html"))
    assert "Day before: sill out Day after: brackets back" in page


SENTENCES = """
```removed hinge
from: door
caution: the spring is under load
caution: sharp edge
the long bolt goes at the top
```

```measured hinge
hole to web: 16 mm
looks bent near the latch
```

```ordered seals
come in two pieces
```

```job fit the door
borrow a second pair of hands
```
"""


def test_a_line_without_a_key_is_found_and_stands_where_its_thing_is_looked_up(tmp_path: Path) -> None:
    told = tell_files(tmp_path, {"2026-04-25 door/note.md": SENTENCES})
    seen = Viewer(told.book, told.judgement, "shop")
    hinge = part_page(seen, told.book.parts["hinge"])
    of_it = ["the long bolt goes at the top", "looks bent near the latch"]
    assert [fact.text for fact in hinge.facts if fact.label == "Note"] == of_it
    assert [fact.text for fact in hinge.facts if fact.label == "Caution"] == ["the spring is under load", "sharp edge"]
    assert [order.notes for order in jobs(seen).orders] == [("come in two pieces",)]
    asked = (*of_it, "two pieces", "second pair", "sharp edge")
    found = {words: find(arrange(rows(seen)), words).count for words in asked}
    assert found == dict.fromkeys(found, 1)
    assert [line for line in where_lines(told.book, told.judgement, "hinge") if "the long bolt" in line]


FRAME = """
```removed pump
from: frame
held by: 2 welds
hole 1 to lower edge: 22 mm
```

```removed tank
from: frame
held by: 2 straps
template: cardboard, on the wall
```

```part rod
from: frame; tank
held by: 2 welds
```

```job cut the frame
cuts: frame
```
"""


def test_what_goes_with_a_cut_is_named_wherever_the_cut_is(tmp_path: Path) -> None:
    seen = viewer(tmp_path, FRAME)
    parts = seen.book.parts
    titles = ["pump", "rod"]
    [job] = jobs(seen).ready
    assert [link.text for link in job.unrecorded] == titles
    steps = {step.link.text: step for stage in going_back(seen).stages for step in stage}
    assert [link.text for link in steps["cut the frame"].unrecorded] == titles
    pages = {part: part_page(seen, parts[part]) for part in parts}
    assert [link.text for link in pages["frame"].unrecorded] == titles
    assert {part for part, page in pages.items() if page.goes_with} == set(titles)
    assert pages["rod"].next, "it is on, and says what to measure while it can be"
    assert [link.text for link in pages["rod"].hosts] == ["frame", "tank"]


@pytest.mark.parametrize(
    ("more", "word", "slip"),
    [
        ("", "waits", "```refitted tank\non: frame\nheld by: 2 straps\n```\n"),
        ("\n```scrapped tank\n```\n", "to be made or bought first", "```replaced tank\nby:\n```\n"),
        ("\n```scrapped tank\n```\n\n```ordered a tank\nfor: tank\n```\n", "waits", "```replaced tank\nby:\n```\n"),
    ],
)
def test_what_was_scrapped_is_made_before_it_goes_on(tmp_path: Path, more: str, word: str, slip: str) -> None:
    stages = going_back(viewer(tmp_path, FRAME + more)).stages
    [tank] = (step for stage in stages for step in stage if step.link.text == "tank")
    assert (tank.mark.word, tank.slip) == (word, slip)
