"""A part's page tells where it sits: figures with how far to trust them, drawings, templates, and what is missing."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from journal.build import read, tell
from journal.judge.verdicts import Edge, FacePosition, OtherSpot, Residual, Spot
from journal.model.entities import Axis
from journal.pages import template_dxf, template_pdf
from journal.pages.edition import Edition, reduced
from journal.pages.face_plate import face_plate, seen_from
from journal.pages.full_size import template_of
from journal.pages.positions import Faces
from journal.pages.template_files import TemplateFiles
from journal.pages.viewer import Viewer
from journal.read.settings import parse_settings
from tests.builds import TITLE, TODAY, tell_files
from tests.plates import overlap
from tests.site_fixture import Page, site_of, site_of_files, text_of
from tests.test_templates import read_back

FLANGE = """
```measured sill, left
length: 2100 mm by tape
web to flange edge: 47 mm by rule
```

```removed catch plate, left
from: sill, left
face: lower flange
held by: weld
hole 1 to rear end: 300 mm by tape
hole 1 to flange edge: 20 mm by rule
hole 1 to web: 27 mm by rule
hole 2 to rear end: 340 mm by tape
hole 2 to flange edge: 20 mm by rule
hole 1 diameter: 8 mm by calliper
```
"""
NOTE = "2026-03-21 sill/note.md"
PLATE = "parts/catch-plate-left/index.html"


def words_of(page: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


def viewer(folder: Path, note: str = FLANGE, toml: str = TITLE, edition: Edition = "shop") -> Viewer:
    told = tell_files(folder, {"build.toml": toml, NOTE: note})
    return Viewer(*reduced(told.book, told.judgement, edition), edition)


def section(site_page: str) -> str:
    return site_page[site_page.index('<section class="position-of"') : site_page.index('<h2 id="readings">')]


# --- the page


def test_coordinates_stand_with_how_far_to_trust_them(tmp_path: Path) -> None:
    page = section(text_of(site_of_files(tmp_path, {NOTE: FLANGE}), PLATE))
    words = words_of(page)
    assert "Where it sits on sill, left, lower flange" in words
    assert re.search(r"hole 1 diameter 8\.0 mm\s*: 300\.0 mm ± 0\.9 mm \(11\.81\d* in\) ahead of the rear end", words)
    assert "20.0 mm ± 0.7 mm" in words, "checked by the web: 2 x 0.41 x sqrt(2/3) = 0.67, rounded up"
    assert "± holds 95 times in 100." in words


def test_each_reading_says_what_would_show_a_mistake_in_it(tmp_path: Path) -> None:
    site = site_of_files(tmp_path, {NOTE: FLANGE})
    rows = dict(re.findall(r'<th scope="row"><a[^>]*>([^<]+)</a>.*?</th>(.*?)</tr>', section(text_of(site, PLATE))))
    assert "nothing else checks this" in rows["hole 2 to flange edge"]
    assert "a mistake of 2.9 mm would be noticed" in rows["hole 1 to web"]
    assert "agrees with the others" in rows["hole 1 to web"]


def test_a_slip_of_the_tape_is_told_with_what_it_should_read(tmp_path: Path) -> None:
    view = viewer(tmp_path)
    (position,) = (p for p in view.judgement.positions if "catch-plate-left" in p.parts)
    wrong = next(r.id for r in view.book.readings_of("catch-plate-left") if r.text.startswith("hole 1 to web"))
    residuals = {**position.residuals, wrong: Residual(-12.0, 0.4, 7.0, 0.5, 2.9, (15.0, 0.5))}
    told_of = replace(position, residuals=residuals, suspect=wrong, suspects=(wrong,), fits=False)
    told = replace(view.judgement, positions=(told_of,))
    (shown,) = Faces(Viewer(view.book, told, "shop")).on_page(view.book.parts["catch-plate-left"])["positions"]  # type: ignore[misc]
    (row,) = (row for row in shown.trust if row.suspect)
    assert row.off == "12.0 mm too long", "adjusted minus read is negative"
    assert row.notices == "most likely misread: the others say 15.0 mm ± 1.0 mm"
    assert "does not fit the others: hole 1 to web of catch plate, left, 27 mm." in shown.doubts[0]
    (face,) = Faces(Viewer(view.book, told, "shop")).of(view.book.parts["catch-plate-left"])
    made = template_of(face.plate)
    assert made
    assert shown.doubts[0] == made.about[0], "whoever drills by the template is told first of all"


def test_what_cannot_be_placed_says_what_is_missing(tmp_path: Path) -> None:
    note = re.sub(r"hole \d to rear end: .*\n", "", FLANGE)
    page = text_of(site_of_files(tmp_path, {NOTE: note}), PLATE)
    assert "No figures for it yet:" in words_of(page)
    assert "<svg viewBox" not in section(page).replace('class="shape"', "")
    assert "Full-size template" not in page


def test_a_part_without_readings_has_no_place_section(tmp_path: Path) -> None:
    site = site_of_files(tmp_path, {NOTE: "```removed tank\nfrom: frame\n```\n"})
    assert "position-of" not in text_of(site, "parts/tank/index.html")


def test_the_drawing_says_its_coordinates_in_words_and_links_the_readings(tmp_path: Path) -> None:
    site = site_of_files(tmp_path, {NOTE: FLANGE})
    page = Page(text_of(site, PLATE))
    assert not page.faults
    drawings = [e for e in page.all("svg") if "aria-describedby" in e.attrs]
    assert len(drawings) >= 1
    told = {e.attrs["id"]: e.text for e in page.all("title", "desc") if "id" in e.attrs}
    for drawing in drawings:
        assert "scale 1:" in told[drawing.attrs["aria-labelledby"]]
        assert "300.0 mm ± 0.9 mm ahead of the rear end" in told[drawing.attrs["aria-describedby"]]
    links = [e.attrs["href"] for e in page.all("a") if "svg" in e.above]
    assert links
    assert {link.lstrip("#") for link in links} <= set(page.ids)
    assert 'style="' not in text_of(site, PLATE), "the policy of the page allows no inline style"
    assert len(page.ids) == len(set(page.ids))


def test_other_spots_are_told_with_what_tells_them_apart(tmp_path: Path) -> None:
    view = viewer(tmp_path)
    (position,) = (p for p in view.judgement.positions if "catch-plate-left" in p.parts)
    there = tuple(replace(spot, v=spot.v - 30) for spot in position.of("catch-plate-left"))
    turned = OtherSpot("catch-plate-left", position.of("catch-plate-left"), 180.0, 0.0, "way round: lip to the front")
    for other, sentence, seats in (
        (OtherSpot("catch-plate-left", there, 0.0, 30.0), "It fits in two spots, 30.0 mm apart; nothing tells", 4),
        (turned, "It fits in two ways, turned by 180°; what tells the two apart: way round: lip to the front.", 2),
    ):
        told = replace(view.judgement, positions=(replace(position, alternatives=(other,)),))
        (shown,) = Faces(Viewer(view.book, told, "shop")).on_page(view.book.parts["catch-plate-left"])["positions"]  # type: ignore[misc]
        assert shown.doubts[0].startswith(sentence)
        assert len(shown.seats) == seats
        dashed = [r for drawing in shown.drawings for r in drawing.rounds if "other" in r.kind]
        assert bool(dashed) == (seats == 4), "a part turned about its own holes has no second spot to draw"


# --- the templates on the site


def test_templates_are_linked_in_both_editions_and_are_there(tmp_path: Path) -> None:
    for edition in ("public", "shop"):
        site = site_of_files(tmp_path / edition, {NOTE: FLANGE}, edition)  # type: ignore[arg-type]
        for path in (PLATE, "parts/sill-left/index.html"):
            links = [e.attrs["href"] for e in Page(text_of(site, path)).all("a") if "/templates/" in e.attrs["href"]]
            assert sorted(link.rpartition(".")[2] for link in links) == ["dxf", "pdf"]
            assert {link.removeprefix("../../") for link in links} <= set(site)
        data = site["templates/catch-plate-left.pdf"]
        assert isinstance(data, bytes)
        assert "catch plate, left on sill, left, lower flange" in read_back(data)[0].text


def test_the_template_has_the_places_that_were_worked_out(tmp_path: Path) -> None:
    view = viewer(tmp_path)
    (face,) = Faces(view).of(view.book.parts["catch-plate-left"])
    made = template_of(face.plate)
    assert made
    (a, b) = sorted(hole.centre for hole in made.holes)
    assert a == pytest.approx((300, 20), abs=0.05)
    assert b == pytest.approx((340, 20), abs=0.05)


def test_paper_is_a_setting(tmp_path: Path) -> None:
    site = site_of_files(tmp_path, {"build.toml": TITLE + 'paper = "Letter"\n', NOTE: FLANGE})
    data = site["templates/catch-plate-left.pdf"]
    assert isinstance(data, bytes)
    assert sorted(read_back(data)[0].size) == pytest.approx([215.9, 279.4], abs=0.01)
    assert "sheet Letter" in text_of(site, PLATE)
    settings, findings = parse_settings(b'title = "x"\npaper = "A5"\n')
    assert settings.paper == "A4"
    assert [f.message for f in findings] == ['paper takes "A4" or "Letter", not "A5"']


def test_without_the_extra_the_page_says_how_to_get_a_dxf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(template_dxf, "find_spec", lambda name: None)
    template_dxf.can_write.cache_clear()
    site = site_of_files(tmp_path, {NOTE: FLANGE})
    assert not [path for path in site if path.endswith(".dxf")]
    template_dxf.can_write.cache_clear()
    assert "install the journal with its extra <code>[cad]</code>" in text_of(site, PLATE)


def test_a_face_too_large_for_paper_offers_the_dxf(tmp_path: Path) -> None:
    note = FLANGE.replace("47 mm", "1470 mm").replace("27 mm by rule", "1450 mm by tape").replace("340", "1940")
    page = words_of(section(text_of(site_of_files(tmp_path, {NOTE: note}), "parts/sill-left/index.html")))
    assert "This face is too large for paper: it would take more than 24 sheets." in page
    assert "DXF in mm" in page
    assert "PDF at 1:1" not in page


def test_unchanged_templates_come_out_of_the_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    view = viewer(tmp_path)
    assert any(TemplateFiles(view, Faces(view), tmp_path / "cache").missing())
    first = all_of(view, TemplateFiles(view, Faces(view), tmp_path / "cache"))
    assert all(isinstance(content, Path) for content in first.values())
    monkeypatch.setattr(template_pdf, "pdf", lambda *_: pytest.fail("made again"))
    monkeypatch.setattr(template_dxf, "dxf", lambda *_: pytest.fail("made again"))
    again = TemplateFiles(view, Faces(view), tmp_path / "cache")
    assert not any(again.missing())
    assert all_of(view, again) == first


def all_of(view: Viewer, templates: TemplateFiles) -> dict[str, bytes | Path]:
    return {path: content for part in view.book.parts.values() for path, content in templates.of(part).items()}


# --- which side is seen


@pytest.mark.parametrize(
    ("axes", "sides", "seen"),
    [
        (("x", "y"), ("left", "right"), "from above"),
        (("y", "x"), ("left", "right"), "from below"),
        (("x", "y"), ("right", "left"), "from below"),
        (("x", "z"), ("left", "right"), "from the right"),
        (("x", "z"), ("port", "starboard"), "from the starboard"),
        (("z", "x"), ("starboard", "port"), "from the port"),
        (("y", "z"), ("left", "right"), "from the front"),
        (("y", "z"), ("right", "left"), "from the rear"),
        (("x", "y"), ("near", "off"), ""),
        (("x", "z"), ("near", "off"), "from the right"),
        (("x", None), ("left", "right"), ""),
    ],
)
def test_the_side_a_face_is_seen_from(
    axes: tuple[Axis | None, Axis | None], sides: tuple[str, str], seen: str
) -> None:
    """x to the front, y to the left, z up (ISO 8855): the eye is where the first axis turned to the second points."""
    assert seen_from(axes, sides) == seen


# --- the public edition


@pytest.mark.parametrize("toml", [TITLE, TITLE + '[private]\nparts = ["catch plate, left"]\n'])
def test_nothing_private_is_drawn_or_printed(tmp_path: Path, toml: str) -> None:
    secret = FLANGE.replace("```removed catch plate, left\n", "```removed catch plate, left\nprivate: yes\n")
    site = site_of_files(tmp_path, {"build.toml": toml, NOTE: FLANGE if "parts" in toml else secret})
    assert not [path for path in site if "catch-plate" in path]
    for path, content in site.items():
        if path.endswith((".pdf", ".dxf")):
            assert isinstance(content, bytes)
            text = " ".join(s.text for s in read_back(content)) if path.endswith(".pdf") else content.decode()
            assert "catch" not in text
    assert "catch" not in text_of(site, "parts/sill-left/index.html")


def test_a_private_name_is_gone_from_templates_too(tmp_path: Path) -> None:
    toml = TITLE + '[private]\nnames = ["catch plate"]\n'
    site = site_of_files(tmp_path, {"build.toml": toml, NOTE: FLANGE})
    pdfs = [content for path, content in site.items() if path.endswith(".pdf") and "faces" not in path]
    assert pdfs
    for data in pdfs:
        assert isinstance(data, bytes)
        text = read_back(data)[0].text
        assert "catch" not in text
        assert "hole 1" in text


# --- a position made by hand, and the example


def test_edges_along_both_axes_come_out_where_they_are(tmp_path: Path) -> None:
    view = viewer(tmp_path)
    position = FacePosition(
        "sill-left", 1, "lower flange", ("x", "z"), ("catch-plate-left",),
        (Spot("catch-plate-left", "hole 1", 300, -20, (0.4, 0.4), (1, 1, 0)),),
        (Edge("sill-left", "rear end", "u", 120), Edge("sill-left", "web", "v", 47),
         Edge("sill-left", "seam", "", 10, angle=0.1)),
    )  # fmt: skip
    plate = face_plate(view, position, "catch-plate-left", "x")
    rear, web, seam = plate.edges
    assert rear.foot((0, 0)) == pytest.approx((120, 0))
    assert web.foot((5, 0)) == pytest.approx((5, 47))
    assert seam.angle == 0.1
    assert (plate.right, plate.up, plate.seen) == ("to the front", "upwards", "from the right")


def test_the_examples_drawings_have_no_words_on_words() -> None:
    example = Path(__file__).parent.parent / "example_build"
    raw = read(example, TODAY)
    told = tell(raw, {}, (), date(2026, 5, 9))
    view = Viewer(told.book, told.judgement, "shop")
    shown = [view_ for part in told.book.parts.values() for view_ in Faces(view).on_page(part)["positions"]]  # type: ignore[attr-defined]
    drawings = [drawing for one in shown for drawing in one.drawings]
    assert len(drawings) >= 5
    for drawing in drawings:
        placed = [w for w in drawing.words if w.patches]
        for n, one in enumerate(placed):
            for two in placed[:n]:
                assert not overlap(one, two), (drawing.title, one, two)


def test_the_example_site_is_whole(tmp_path: Path) -> None:
    site = site_of(Path(__file__).parent.parent / "example_build", "public")
    for path in [path for path in site if path.startswith("parts/") and path.endswith("index.html")]:
        page = Page(text_of(site, path))
        assert not page.faults, path
        for link in (e.attrs["href"] for e in page.all("a") if "/templates/" in e.attrs.get("href", "")):
            assert link.removeprefix("../../") in site


def test_a_private_reading_takes_no_part_in_what_the_public_is_told(tmp_path: Path) -> None:
    """The private slip says 304 mm: the place told in public is that of the public readings alone."""
    more = FLANGE + (
        "\n```measured catch plate, left\non: sill, left\nprivate: yes\n"
        "hole 1 to rear end: 304 mm by tape\n```\n"
    )
    places = {}
    for edition in ("public", "shop"):
        view = viewer(tmp_path / edition, more, edition=edition)  # type: ignore[arg-type]
        (face,) = Faces(view).of(view.book.parts["catch-plate-left"])
        places[edition] = next(point.u for point in face.plate.points if point.name == "hole 1")
        texts = [dimension.label for dimension in face.plate.dimensions]
        assert ("304 mm" in texts) == (edition == "shop")
    assert places["public"] == pytest.approx(300, abs=0.01)
    assert places["shop"] != pytest.approx(300, abs=0.01)


HOLES = """
```removed cover plate
from: cross member 1
hole 1 to hole 2: 180 mm by rule
hole 2 to hole 3: 120 mm by rule
hole 1 to hole 3: 216.5 mm by rule
```
"""
SEEN = """
```removed catch plate, left
from: sill, left
hole 1 ahead of rear end: 300 mm by tape
hole 1 inboard of outside face: 20 mm by rule
hole 2 ahead of rear end: 340 mm by tape
hole 2 inboard of outside face: 20 mm by rule
```
"""


@pytest.mark.parametrize(("note", "part", "is_told"), [(HOLES, "cover-plate", True), (SEEN, "catch-plate-left", False)])
def test_a_template_that_may_have_to_be_turned_over_says_so_openly(
    tmp_path: Path, note: str, part: str, is_told: bool
) -> None:
    """Not only where it is folded away: whoever prints the sheet must read it."""
    page = section(text_of(site_of_files(tmp_path, {NOTE: note}), f"parts/{part}/index.html"))
    templates = words_of(page[page.index('<div class="templates">') :])
    assert "PDF at 1:1" in templates
    assert ("it may have to be turned over" in templates) == is_told
