"""The machine-readable files: the fields others rely on, and what they mean."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest

from tests.builds import write_build
from tests.site_fixture import EXAMPLE, SiteFiles, site_of, site_of_files, text_of

MEASUREMENT = [
    "id", "part", "host", "reference_part", "place", "subject", "relation", "reference", "dimension", "own", "counts",
    "carried", "written", "mm", "low_mm", "high_mm", "value", "low", "high", "unit", "method", "date", "file", "line",
    "photos", "url",
]  # fmt: skip
PART = ["id", "name", "side", "host", "place", "state", "located_by", "record", "free", "next", "removed_on", "url"]
PHOTO = ["file", "date", "taken", "width", "height", "pictures", "parts", "url"]
NOTE = """# Hinge

```part door post, left
place: cab / door
held by: weld
```

```removed hinge, left
from: door post, left
face: outer face
held by: clamp
photos: IMG_1
hole to lower edge: 5/8 in by rule
hole to front edge: 100 mm +2 -1
leaf to floor: at least 300 mm
hole diameter: 8 mm by calliper
leaf flush with outer face
nut torque: 40 lbf·ft
finish: dull green
=cmd to lower edge: 12 mm
```

```removed stay
held by: weld
```
"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> SiteFiles:
    files = {"2026-03-07 door/note.md": NOTE, "2026-03-07 door/IMG_1.jpg": "a picture taken 2026-03-07",
             "2026-03-07 door/IMG_2.jpg": "not a picture"}  # fmt: skip
    return site_of(write_build(tmp_path_factory.mktemp("build"), files), "shop")


def rows(site: SiteFiles, name: str) -> list[dict[str, Any]]:
    whole = json.loads(text_of(site, f"data/{name}.json"))
    assert list(whole) == [name]
    return list(whole[name])


def measured(site: SiteFiles, start: str) -> dict[str, Any]:
    lines = NOTE.splitlines()
    line = next(n for n, text in enumerate(lines, 1) if text.startswith(start))
    return next(row for row in rows(site, "measurements") if row["line"] == line)


def test_the_fields_are_those_of_the_contract(site: SiteFiles) -> None:
    assert all(list(row) == MEASUREMENT for row in rows(site, "measurements"))
    assert all(list(row) == PART for row in rows(site, "parts"))
    assert all(list(row) == PHOTO for row in rows(site, "photos"))


def test_a_length_in_inches(site: SiteFiles) -> None:
    row = measured(site, "hole to lower edge")
    assert (row["written"], row["method"], row["relation"]) == ("5/8 in", "rule", "to")
    assert (row["subject"], row["reference"], row["dimension"]) == ("hole", "lower edge", None)
    assert (row["part"], row["host"], row["reference_part"]) == ("hinge-left", "door-post-left", "door-post-left")
    assert (row["mm"], row["low_mm"], row["high_mm"]) == (15.875, 14.2875, 17.4625)
    assert (row["value"], row["unit"], row["own"], row["counts"]) == (15.875, "mm", False, True)
    assert (row["date"], row["file"]) == ("2026-03-07", "2026-03-07 door/note.md")
    assert row["place"] == "cab / door", "the host's, where the slip says none"
    assert row["photos"] == ["2026-03-07 door/IMG_1.jpg"]
    assert row["url"] == f"parts/hinge-left/index.html#m-{row['id']}"


def test_the_middle_of_an_uneven_tolerance(site: SiteFiles) -> None:
    row = measured(site, "hole to front edge")
    assert (row["low_mm"], row["mm"], row["high_mm"]) == (99, 100.5, 102)


def test_a_one_sided_value_has_an_open_end(site: SiteFiles) -> None:
    row = measured(site, "leaf to floor")
    assert (row["mm"], row["low_mm"], row["high_mm"]) == (300, 300, None)
    assert row["counts"] is False


def test_a_size_of_the_part(site: SiteFiles) -> None:
    row = measured(site, "hole diameter")
    assert (row["dimension"], row["mm"], row["counts"]) == ("diameter", 8, False)
    assert [row[name] for name in ("relation", "reference", "reference_part")] == [None] * 3


def test_a_contact_has_no_value(site: SiteFiles) -> None:
    row = measured(site, "leaf flush")
    assert row["relation"] == "flush with"
    assert [row[name] for name in ("written", "value", "low", "high", "mm", "unit")] == [None] * 6


def test_another_quantity_has_no_millimetres(site: SiteFiles) -> None:
    row = measured(site, "nut torque")
    assert (row["mm"], row["unit"]) == (None, "N·m")
    assert row["value"] == pytest.approx(54.233, abs=1e-3)


def test_order_is_that_of_file_and_line() -> None:
    found = [(row["file"], row["line"]) for row in rows(site_of(EXAMPLE, "shop"), "measurements")]
    assert found == sorted(found)


def test_parts(site: SiteFiles) -> None:
    parts = {row["id"]: row for row in rows(site, "parts")}
    hinge = parts["hinge-left"]
    assert (hinge["name"], hinge["side"], hinge["host"]) == ("hinge", "left", "door-post-left")
    assert hinge["place"] == "cab / door"
    assert (hinge["state"], hinge["located_by"], hinge["removed_on"]) == ("off", "measurement", "2026-03-07")
    assert (hinge["record"], hinge["free"], hinge["next"]) == ("position recorded", [], [])
    post = parts["door-post-left"]
    assert (post["state"], post["record"], post["free"], post["next"], post["removed_on"]) == ("on", None, [], [], None)
    stay = parts["stay"]
    assert (stay["side"], stay["host"], stay["record"]) == (None, None, "not recorded")
    assert stay["free"]
    assert stay["next"]


def test_photos(site: SiteFiles) -> None:
    first, second = rows(site, "photos")
    assert (first["file"], first["date"]) == ("2026-03-07 door/IMG_1.jpg", "2026-03-07")
    assert first["taken"].startswith("2026-03-07T10:00:00")
    assert (first["width"], first["height"], first["parts"]) == (40, 30, ["hinge-left"])
    assert first["pictures"]
    assert set(first["pictures"]) <= set(site)
    assert (second["taken"], second["width"], second["pictures"]) == (None, 0, [])
    assert first["url"] == "days/2026-03-07/index.html#photo-1"


def test_the_table_says_what_the_json_says(site: SiteFiles) -> None:
    table = list(csv.DictReader(io.StringIO(text_of(site, "data/measurements.csv"), newline="")))
    plain = rows(site, "measurements")
    assert list(table[0]) == MEASUREMENT
    assert [row["id"] for row in table] == [row["id"] for row in plain]
    assert [row["mm"] for row in table][:2] == ["15.875", "100.5"]
    assert [row["counts"] for row in table] == [str(row["counts"]).lower() for row in plain]


def test_no_cell_runs_in_a_spreadsheet(site: SiteFiles) -> None:
    table = list(csv.reader(io.StringIO(text_of(site, "data/measurements.csv"), newline="")))
    assert not [cell for row in table for cell in row if cell[:1] in ("=", "+", "@", "\t", "\r")]
    assert any(cell.startswith("'=cmd") for row in table for cell in row)


def test_an_id_survives_edits_in_other_slips(tmp_path: Path) -> None:
    before = site_of(write_build(tmp_path / "a", {"2026-03-07 door/note.md": NOTE}))
    more = "```measured stay\nlength: 20 mm\n```\n\n" + NOTE.replace("# Hinge", "# Hinge\n\nMore words.\n")
    after = site_of(write_build(tmp_path / "b", {"2026-03-07 door/note.md": more}))
    mine = {row["id"] for row in rows(before, "measurements")}
    assert mine
    assert mine < {row["id"] for row in rows(after, "measurements")}


@pytest.mark.parametrize(
    ("last", "day"),
    [
        ("```scrapped foot\n```\n", "2026-03-07"),
        ("```refitted foot\non: sill\n```\n```replaced sill\nby: new steel\n```\n", None),
        ("```refitted foot\non: sill\n```\n```removed foot\nfrom: sill\n```\n", "2026-03-09"),
    ],
)
def test_a_part_is_off_since_it_last_came_off(tmp_path: Path, last: str, day: str | None) -> None:
    """Scrapping what is off takes nothing off; a part that is back, and lost its host, has no such day."""
    first = "```part sill\n```\n```removed foot\nfrom: sill\nheld by: 2 welds\n```\n"
    site = site_of_files(tmp_path, {"2026-03-07 a/note.md": first, "2026-03-09 b/note.md": last})
    foot = next(row for row in rows(site, "parts") if row["id"] == "foot")
    assert foot["record"] is not None
    assert foot["removed_on"] == day
