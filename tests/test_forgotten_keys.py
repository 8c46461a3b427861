"""A line that is meant for a key, without its colon or in other words: it is told, and keeps back what it would have.

Each stands beside honest lines that must stay what they are.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from journal.ground.finding import Finding
from journal.ground.source import Source
from journal.notes.lines import SECRET
from journal.notes.parse import NoteSettings, parse_note
from journal.notes.records import Slip
from journal.pages.public_book import NEVER_PUBLIC
from tests.builds import tell_files
from tests.site_fixture import SiteFiles, site_of_files

FIRST, SECOND, THIRD = "2026-01-10 a/note.md", "2026-02-10 b/note.md", "2026-03-10 c/note.md"


def slip(first: str, *lines: str) -> str:
    return "\n".join((f"```{first}", *lines, "```", ""))


def read(first: str, *lines: str) -> tuple[Slip, list[Finding]]:
    note, findings = parse_note(Source.of("n.md", slip(first, *lines)), NoteSettings())
    return note.slips[0], findings


# --- what is never public


def told_in(site: SiteFiles, word: str) -> bool:
    return any(word in content.decode().casefold() for content in site.values() if isinstance(content, bytes))


@pytest.mark.parametrize(
    ("line", "hidden"),
    [
        ("private: yes", True),
        ("private yes", True),
        ("private", True),
        ("private - yes", True),
        ("private = yes", True),
        ("private; yes", True),
        ("Private, for the shop", True),
        ("keep private", True),
        ("not public", True),
        ("privat: yes", True),
        ("**private**: yes", True),
        ("**private:** yes", True),
        ("1. private: yes", True),
        ("[x] private: yes", True),
        ("  private: yes", True),  # indented, it would continue the line above
        ("  - private: yes", True),
        ("private: no", False),
        ("private no", False),
        ("privately owned before", False),
        ("note: private road, ring first", False),
    ],
)
def test_private_in_any_form_hides_the_slip(tmp_path: Path, line: str, hidden: bool) -> None:
    lines = ("from: beam", "held by: 2 bolts", line, "note: secretword")
    files = {FIRST: slip("part rail") + slip("removed safe", *lines)}
    site = site_of_files(tmp_path, files)
    assert told_in(site, "secretword") != hidden
    assert told_in(site, "rail")


@pytest.mark.parametrize("line", ["private yes", "private", "private; yes", "keep private", "privat: yes"])
def test_private_without_its_colon_is_told(line: str) -> None:
    _, (finding,) = read("removed safe", "from: beam", line)
    assert "private" in finding.message
    assert "`private:" in finding.help


@pytest.mark.parametrize(
    ("first", "line", "hidden"),
    [
        ("removed safe", "stored secretword tin", True),
        ("removed safe", "stored; secretword", True),
        ("removed safe", "stored- secretword", True),
        ("removed safe", "stored in: secretword tin", True),
        ("removed safe", "kept in: secretword loft", True),
        ("removed safe", "kept in: 4 secretword tins", True),
        ("removed safe", "storage: secretword", True),
        ("removed safe", "1. stored: secretword", True),
        ("removed safe", "stored touching the secretword", True),  # else a contact
        ("removed safe", "  stored: secretword", True),
        ("removed safe", "template card behind the secretword", True),
        ("removed safe", "bought from secretword", True),
        ("refitted safe", "stored in the secretword", True),
        ("ordered seal kit", "price secretword 40", True),
        ("ordered seal kit", "price = secretword", True),
        ("ordered seal kit", "Price - secretword", True),
        ("ordered seal kit", "cost: secretword", True),
        ("ordered seal kit", "cost 40 secretword", True),
        ("ordered seal kit", "paid: secretword 40", True),
        ("ordered seal kit", "bought from secretword", True),
        ("ordered seal kit", "supplier: secretword", True),
        ("removed safe", "kept in place by the secretword", False),
        ("removed safe", "note: stored with the secretword", False),
        ("removed safe", "template of the foot is no use, secretword", False),
        ("ordered seal kit", "paid for by a secretword", False),
        ("job weld it", "cost me a secretword", False),
    ],
)
def test_what_is_meant_for_a_key_that_is_never_public_is_not(
    tmp_path: Path, first: str, line: str, hidden: bool
) -> None:
    files = {FIRST: slip("part rail") + slip(first, "note: on the shelf", line)}
    site = site_of_files(tmp_path, files)
    assert told_in(site, "secretword") != hidden
    assert told_in(site, "on the shelf")
    if hidden and not line.startswith(" "):
        record, (finding,) = read(first, line)
        assert finding.word == "not-understood"
        assert [said.text for said in record.sentences] == [line]  # it stays in the shop
        assert record.told == ()


def test_the_keys_that_are_never_public_are_those_of_the_public_book() -> None:
    assert NEVER_PUBLIC - {"settled"} == SECRET


# --- other keys


@pytest.mark.parametrize(
    ("first", "line", "write"),
    [
        ("removed stay", "held by 4 bolts M8", "held by: 4 bolts M8"),
        ("removed stay", "held by - 4 bolts M8", "held by: 4 bolts M8"),
        ("removed stay", "Held by = 4 bolts", "held by: 4 bolts"),
        ("removed stay", "held by; 4 bolts", "held by: 4 bolts"),
        ("removed stay", "1. held by: 4 bolts", "held by: 4 bolts"),
        ("removed stay", "way round foot up", "way round: foot up"),
        ("removed stay", "from beam", "from: beam"),
        ("removed stay", "from = beam, left", "from: beam, left"),
        ("removed stay", "from front axle", "from: front axle"),
        ("removed stay", "behind seat", "behind: seat"),
        ("removed stay", "route from valve to ram", "route: from valve to ram"),
        ("removed stay", "marks 2 dots", "marks: 2 dots"),
        ("removed stay", "template card on wall", "template: card on wall"),
        ("removed stay", "shims 2 x 1 mm", "shims: 2 x 1 mm"),
        ("removed stay", "count 4", "count: 4"),
        ("removed stay", "photos IMG_1", "photos: IMG_1"),
        ("part stay", "also called elbow", "also called: elbow"),
        ("part stay", "stands off 5 mm", "stands off: 5 mm"),
        ("part stay", "goes on bench", "goes on: bench"),
        ("part stay", "located by fit", "located by: fit"),
        ("refitted stay", "on beam", "on: beam"),
        ("refitted stay", "moved", "moved: yes"),
        ("refitted stay", "moved 20 mm forward", "moved: yes"),
        ("scrapped stay", "not coming back", "not coming back: yes"),
        ("treated stay", "coats 2", "coats: 2"),
        ("photo IMG_1", "off the machine", "off the machine: yes"),
    ],
)
def test_a_key_without_its_colon_is_told_with_the_line_to_write(first: str, line: str, write: str) -> None:
    record, (finding,) = read(first, line)
    assert finding.help.startswith(f"write `{write}`")
    assert not record.statements
    assert not [entry for entry in record.told if entry.key == "note"]


HONEST = [
    ("removed stay", "from the front it looks bent"),
    ("removed stay", "from the front, bent"),
    ("removed stay", "from below"),
    ("removed stay", "from memory"),
    ("removed stay", "from underneath, with a mirror"),
    ("removed stay", "cost 2 hours of swearing"),
    ("measured stay", "on the bench it was straight"),
    ("removed stay", "behind it was rust"),
    ("removed stay", "marks on the paint look like a file slipped"),
    ("removed stay", "route not traced"),
    ("removed stay", "photos came out dark"),
    ("removed stay", "photos 3 and 4 are dark"),
    ("removed stay", "counted 4 bolts"),
    ("removed stay", "count the bolts when it goes back"),
    ("removed stay", "place a block under it first"),
    ("removed stay", "face down on the bench, it lies flat"),
    ("removed stay", "note the long bolt"),
    ("removed stay", "moved 20 mm when the jack slipped"),  # no key of this kind
    ("refitted stay", "moved the lamp to get at it"),
    ("refitted stay", "Moved hole 5 mm to the rear end"),
    ("refitted stay", "on reflection it should have gone the other way"),
    ("part stay", "goes on last, after the tank"),
    ("photo IMG_1", "off the machine it was bent"),
    ("job weld it", "before the rain came"),
    ("treated stay", "with a brush, it needs a second coat"),
    ("treated stay", "next time with the gun"),
    ("ordered kit", "for once they were quick"),
]


@pytest.mark.parametrize(("first", "line"), HONEST)
def test_an_honest_sentence_stays_one(first: str, line: str) -> None:
    record, findings = read(first, line)
    assert findings == []
    assert [(said.text, said.key) for said in record.sentences] == [(line, "")]


def test_a_key_that_is_there_was_not_forgotten() -> None:
    record, findings = read("removed stay", "from: beam", "from the scrapyard")
    assert findings == []
    assert [said.key for said in record.sentences] == [""]


HOLD = (
    "hole 1 to lower edge: 22 mm by rule",
    "hole 2 to lower edge: 22 mm by rule",
    "hole 1 to rear end: 150 mm by rule",
    "way round: foot up",
)


@pytest.mark.parametrize(
    ("line", "recorded"),
    [
        ("moved: yes", False),
        ("moved", False),
        ("moved yes", False),
        ("moved = yes", False),
        ("mvoed: yes", False),
        ("moved no", True),
        ("moved the lamp to get at it", True),
        ("not moved", True),
    ],
)
def test_what_was_put_elsewhere_is_not_where_it_was(tmp_path: Path, line: str, recorded: bool) -> None:
    first = slip("removed bracket", "from: panel", "held by: 2 spot welds", *HOLD)
    second = slip("refitted bracket", "on: panel", line)
    told = tell_files(tmp_path, {FIRST: first, SECOND: second, THIRD: slip("removed bracket")})
    assert (told.judgement.records["bracket"].word == "position recorded") == recorded


# --- a part under another spelling


@pytest.mark.parametrize(
    ("host", "told"),
    [
        ("beam left", "named"),
        ("beam (left)", "named"),
        ("beam - left", "named"),
        ("LH beam", "named"),
        ("beam l/h", "named"),
        ("beam L.H.", "named"),
        ("beam LHS", "named"),
        ("the left-hand beam", "named"),
        ("n/s beam", "asked"),
        ("beam, n/s", "asked"),
        ("beam nearside", "asked"),
        ("passenger side beam", "asked"),
        ("both beams", "named"),
        ("beam & frame", "two"),
        ("beam / frame", "two"),
        ("beam + frame", "two"),
        ("beam to frame", "two"),
        ("beam via spacer", "two"),
        ("beam's lower flange", "named"),
        ("beam, left", "lost"),
        ("beam, LHS", "lost"),
        ("beam, left + right", "lost"),
        ("beam, left/right", "lost"),
        ("beam, left; frame", "lost"),
        ("beam rear", ""),  # parts of their own
        ("left hand thread stud", ""),
        ("cross beam", ""),
        ("inlet/outlet pipe", ""),
    ],
)
def test_a_host_in_another_spelling_is_told_or_is_the_same(tmp_path: Path, host: str, told: str) -> None:
    first = slip("part beam, both", "from: frame")
    first += slip("removed stay, left", f"from: {host}", "held by: 2 bolts", "way round: up")
    files = {FIRST: first, SECOND: slip("scrapped beam, left", "not coming back: yes")}
    found = {finding.word: finding for finding in tell_files(tmp_path, files).judgement.findings}
    assert ("reference-gone" in found) == (told == "lost")
    assert ("nearly-same-name" in found) == (told in ("named", "asked", "two"))
    if told in ("asked", "two"):
        help = found["nearly-same-name"].help
        assert help.startswith('write "beam, left" or "beam, right"' if told == "asked" else "put a `;` between them")


@pytest.mark.parametrize(
    ("first", "told"),
    [
        ("stay left", True),
        ("stay (left)", True),
        ("stay - left", True),
        ("LH stay", True),
        ("stay, n/s", True),
        ("both stays", True),
        ("stay, pair", True),
        ("2 stays", True),
        ("stay x2", True),
        ("stay again", True),
        ("stay & lamp", True),
        ("stay and lamp", True),
        ("stay, right", False),
        ("stay, left and right", False),
        ("stay, left + right", False),
        ("stay, right, upper", False),
        ("stay 2", False),
        ("2 stay clamp", False),
        ("stay, lamp", False),  # a stay for the lamp
    ],
)
def test_a_first_line_in_another_spelling_is_told(tmp_path: Path, first: str, told: bool) -> None:
    files = {FIRST: slip("part stay, left", "from: beam") + slip(f"removed {first}", "held by: 2 bolts")}
    found = tell_files(tmp_path, files).judgement.findings
    assert ("nearly-same-name" in {finding.word for finding in found}) == told


def test_names_of_another_side_are_two(tmp_path: Path) -> None:
    for at, names in enumerate((
        ("lamp bracket N/S", "lamp bracket O/S"), ("stay LH", "stay RH"), ("stay left", "stay right"),
        ("left hand cover, right", "cover, left"), ("hose", "hose to tank"), ("clip", "clip, oil pipe"),
    )):  # fmt: skip
        told = tell_files(tmp_path / str(at), {FIRST: "".join(slip(f"part {name}") for name in names)})
        assert [f.message for f in told.judgement.findings if f.word == "nearly-same-name"] == []


@pytest.mark.parametrize(
    ("sides", "names", "told"),
    [
        ("seaward leeward", ("seaward edge", "leeward edge"), False),
        ("left right", ("seaward edge", "leeward edge"), True),
        ("n/s o/s", ("stay, n/s", "n/s stay"), True),
        ("n/s o/s", ("stay, n/s", "stay, o/s"), False),
        ("port starboard", ("stay, port", "LH stay"), False),  # initials of left and right
        ("port starboard", ("stay, port", "port stay"), True),
    ],
)
def test_the_sides_of_a_build_are_its_own(tmp_path: Path, sides: str, names: tuple[str, str], told: bool) -> None:
    toml = f'title = "Root lifter"\nsides = {sides.split()!r}\n'
    files = {FIRST: "".join(slip(f"part {name}") for name in names), "build.toml": toml}
    found = {finding.word for finding in tell_files(tmp_path, files).judgement.findings}
    assert ("nearly-same-name" in found) == told


def test_features_that_differ_in_the_sides_of_the_build_are_two(tmp_path: Path) -> None:
    toml = 'title = "Root lifter"\nsides = ["seaward", "leeward"]\n'
    lines = ("hole to seaward edge: 20 mm by rule", "hole to leeward edge: 40 mm by rule")
    files = {FIRST: slip("part beam") + slip("measured beam", *lines), "build.toml": toml}
    assert "nearly-same-name" not in {finding.word for finding in tell_files(tmp_path, files).judgement.findings}


# --- cut out


@pytest.mark.parametrize(
    ("host", "cut", "gone"),
    [
        ("sill, left", "sill, left", True),
        ("sill, left", "out sill, left", True),
        ("sill, left", "away sill, left", True),
        ("sill, left", "off sill, left", True),
        ("sill", "out the sill", True),
        ("sill", "out sill", True),
        ("out rigger", "out rigger", True),  # a part of that name
        ("rigger", "out rigger", False),
        ("off-side stay", "off-side stay", True),
        ("stay", "off-side stay", False),
    ],
)
def test_what_is_cut_out_is_cut(tmp_path: Path, host: str, cut: str, gone: bool) -> None:
    first = slip("part out rigger") + slip("part off-side stay") + slip(f"part {host}")
    first += slip("part clip", f"from: {host}", "held by: 2 bolts")
    told = tell_files(tmp_path, {FIRST: first, SECOND: slip(f"cut {cut}")})
    found = {finding.word for finding in told.judgement.findings if finding.part == "clip"}
    assert ("lost-with-host" in found) == gone


@pytest.mark.parametrize(
    ("first", "told"),
    [("removed from sill", True), ("cut out", True), ("removed stay; lamp", True), ("removed stay; left", False),
     ("removed front sill", False)],
)  # fmt: skip
def test_a_first_line_that_names_no_part_or_two_is_told(first: str, told: bool) -> None:
    _, findings = parse_note(Source.of("n.md", slip(first)), NoteSettings())
    assert [finding.word for finding in findings] == (["not-understood"] if told else [])
