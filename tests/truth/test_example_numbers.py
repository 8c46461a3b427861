"""The numbers in the example's notes against the scene its pictures were rendered from.

The true figures are those of the scene (millimetres; x forward, y left, z up), copied into this test; pixels
are those of the upright pictures. The notes are read here with a few plain patterns of our own, so that the
tool's parser is not its own witness.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from math import hypot
from pathlib import Path

import pytest
from PIL import Image, ImageOps

EXAMPLE = Path(__file__).parents[2] / "example_build"
SLIP = re.compile(r"^```(\w+) (.+)\n((?:.*\n)*?)```$", re.MULTILINE)

# (day, part): left side of the statement, true mm, what it is in the scene
TRUE: dict[tuple[str, str], tuple[tuple[str, float, str], ...]] = {
    ("2026-03-07", "frame"): (
        ("front hub to rear hub", 1300, "wheel base"),
        ("length", 2100, "deck: x -400 to 1700"),
        ("width", 1000, "deck: y -500 to 500"),
        ("deck above floor", 404.5, "top of the deck plates, z"),
    ),
    ("2026-03-07", "makers plate"): (
        ("width of plate", 190, "plate 190 x 64"),
        ("height of plate", 64, "plate 190 x 64"),
    ),
    ("2026-03-07", "dash"): (
        ("width of top", 640, "dash corners at z 1200"),
        ("width of bottom", 800, "dash corners at z 405"),
        ("height", 795, "z 405 to 1200"),
    ),
    ("2026-03-14", "deck plate front"): (
        ("length", 986, "x 714 to 1700"),
    ),
    ("2026-03-14", "deck plate rear"): (
        ("length", 506, "x -400 to 106"),
    ),
    ("2026-03-14", "clamp bar, left"): (
        ("rear end ahead of rear end of sill, left", 510, "x 110 from x -400"),
        ("rear end ahead of front edge of cross member 1", 10, "x 110 from x 100"),
        ("outer edge inboard of outside face", 35, "y 415 from y 450"),
        ("width", 50, "clamp bar left: width"),
        ("length", 600, "x 110 to 710"),
        ("thickness", 8, "z 400 to 408"),
        ("front hole to rear hole", 420, "clamp bar left: bolt to bolt"),
        ("rear hole to own rear end", 90, "x 200 from x 110"),
    ),
    ("2026-03-14", "clamp bar, right"): (
        ("rear end ahead of rear end of sill, right", 510, "x 110 from x -400"),
        ("outer edge inboard of outside face", 35, "y -415 from y -450"),
        ("front hole to rear hole", 420, "bench: hole to hole"),
        ("rear hole to own rear end", 90, "x 200 from x 110"),
    ),
    ("2026-03-14", "cover plate"): (
        ("hole 1 to hole 2", 180, "bench: hole 1 to 2"),
        ("hole 2 to hole 3", 120, "bench: hole 2 to 3"),
        ("hole 1 to hole 3", 216.333, "bench: hole 1 to 3"),
        ("hole 3 to hole 4", 180, "bench: hole 3 to 4"),
        ("hole 1 to hole 4", 120, "bench: hole 1 to 4"),
        ("hole 2 to hole 4", 216.333, "bench: hole 2 to 4"),
    ),
    ("2026-03-14", "conduit bracket front, right"): (
        ("hole edge to web", 15, "hole edge to web"),
        ("hole to rear end", 1300, "hole centre to rear end of the sill"),
        ("hole to front end", 800, "x 900 from x 1700"),
        ("hole above lower flange", 35, "z 338 from z 303"),
        ("weld 1 to weld 2", 24, "spot weld to spot weld"),
    ),
    ("2026-03-14", "conduit bracket rear, right"): (
        ("hole edge to web", 15, "hole edge to web"),
        ("hole to rear end", 600, "hole centre to rear end of the sill"),
        ("hole behind hole of conduit bracket front, right", 700, "x 200, 900"),
        ("hole above lower flange", 35, "z 338 from z 303"),
    ),
    ("2026-03-14", "sill, right"): (
        ("rear end to front end", 2100, "x -400 to 1700"),
    ),
    ("2026-03-14", "cross member 2"): (
        ("front edge ahead of front edge of cross member 1", 700, "front edge to front edge"),
    ),
    ("2026-03-14", "cross member 3"): (
        ("front edge ahead of front edge of cross member 2", 800, "front edge to front edge"),
    ),
    ("2026-03-14", "pull rod"): (
        ("diameter", 12, "y 425 to 419, z 338 to 344: radius 6"),
    ),
    ("2026-03-15", "lamp bracket, left"): (
        ("inner corner to inner corner of lamp bracket, right", 540, "y 270 to -270"),
        ("inner corner below top edge", 160, "z 1040 from z 1200"),
    ),
    ("2026-03-15", "lamp bracket, right"): (
        ("inner corner below top edge", 160, "z 1040 from z 1200"),
    ),
    ("2026-03-15", "motor mount"): (
        ("lug ahead of front edge", 185, "x 985 from x 800"),
    ),
    ("2026-03-21", "sill, left"): (
        ("length", 2100, "left sill: length"),
        ("outside face to outside face of sill, right", 900, "sills: outside to outside"),
        ("web to flange edge", 47, "y 447 to 400; rule reading"),
        ("thickness of lower flange", 3, "z 300 to 303"),
    ),
    ("2026-03-21", "guide bracket front, left"): (
        ("hole edge to web", 15, "hole edge to web; rule reading"),
        ("hole edge to flange edge", 18, "y 418 from y 400"),
        ("hole to rear end", 1580, "hole centre to rear end of the sill"),
        ("hole above lower flange", 35, "hole centre above the flange"),
        ("hole ahead of hole of guide bracket rear, left", 920, "hole to hole"),
        ("hole diameter", 14, "hole diameter"),
        ("upright width", 40, "y 405 to 445"),
        ("foot length", 40, "x 1180 to 1220"),
        ("weld 1 to weld 2", 24, "spot weld to spot weld"),
    ),
    ("2026-03-21", "guide bracket rear, left"): (
        ("hole edge to web", 15, "hole edge to web; rule reading"),
        ("hole edge to flange edge", 18, "y 418 from y 400"),
        ("hole to rear end", 660, "hole centre to rear end of the sill"),
    ),
    ("2026-03-21", "steady bracket"): (
        ("hole ahead of front edge", 39, "x 839 from x 800"),
    ),
    ("2026-03-28", "guide bracket rear, left"): (
        ("weld 1 to flange edge", 13, "drilled weld 1 to flange edge"),
        ("weld 2 to flange edge", 37, "drilled weld 2 to flange edge"),
        ("weld 1 to weld 2", 24, "drilled weld 1 to drilled weld 2"),
    ),
    ("2026-04-11", "sill, left"): (
        ("length", 2100, "new sill, rear end to front end"),
        ("outside face to outside face of sill, right", 900, "y 450 to -450"),
        ("web to flange edge", 47, "y 447 to 400; rule reading"),
    ),
    ("2026-04-11", "guide bracket front, left"): (
        ("hole edge to web", 15, "new sill: hole edge to web; rule reading"),
        ("hole edge to flange edge", 18, "y 418 from y 400"),
        ("hole to rear end", 1580, "new sill: hole centre to rear end"),
        ("weld 1 to weld 2", 24, "plug weld to plug weld"),
    ),
    ("2026-04-11", "guide bracket rear, left"): (
        ("hole edge to web", 15, "new sill: hole edge to web"),
        ("hole to rear end", 660, "x 260 from x -400"),
        ("hole behind hole of guide bracket front, left", 920, "x 260 from x 1180"),
        ("weld 1 to weld 2", 24, "plug weld to plug weld"),
    ),
    ("2026-04-18", "motor mount"): (
        ("lug face inboard of web of sill, left", 31, "y 416 from y 447; rule reading"),
    ),
    ("2026-04-18", "pull rod"): (
        ("gap to motor mount", 3, "pull rod to motor mount: gap"),
    ),
    ("2026-04-18", "steady bracket"): (
        ("hole behind hole of guide bracket front, left", 341, "x 839 from x 1180"),
        ("hole ahead of hole of guide bracket rear, left", 579, "x 839 from x 260"),
    ),
    ("2026-05-02", "frame"): (
        ("front hub above floor", 190, "hub, z"),
        ("rear hub above floor", 190, "hub, z"),
    ),
}

# What the tape was misread by, on purpose: the true figure and how far off the note is.
MISREAD = (
    ("2026-03-14", "conduit bracket rear, right", "hole to front end", 1500, -100),
    ("2026-04-18", "motor mount", "lug ahead of front edge", 185, 10),
)

# picture, words on the line, true end points in pixels of the upright picture
LINES = (
    ("IMG_0412.jpg", "width of top", (465.82, 261.14), (257.8, 247.13)),
    ("IMG_0412.jpg", "width of bottom", (527.72, 672.89), (289.34, 577.38)),
    ("IMG_0413.jpg", "front hub to rear hub", (936.59, 676.39), (374.92, 669.28)),
    ("IMG_0417.jpg", "width of plate", (438.75, 741.5), (638.55, 675.62)),
    ("IMG_0417.jpg", "height of plate", (438.75, 741.5), (442.86, 800.22)),
    ("IMG_0428.jpg", "front edge ahead of front edge of cross member 1", (728.53, 649.08), (630.83, 453.57)),
    ("IMG_0430.jpg", "width", (203.31, 539.51), (255.28, 410.3)),
    ("IMG_0433.jpg", "weld 1 to weld 2", (490.71, 793.6), (402.81, 754.14)),
    ("IMG_0436.jpg", "hole 1 to hole 2", (91.44, 619.86), (300.75, 633.16)),
    ("IMG_0436.jpg", "hole 2 to hole 3", (300.75, 633.16), (347.7, 529.14)),
    ("IMG_0451.jpg", "hole edge to web", (466.82, 404.31), (558.4, 414.31)),
    ("IMG_0455.jpg", "hole edge to web", (304.14, 583.68), (382.38, 590.86)),
    ("IMG_0470.jpg", "length", (1108.2, 465.87), (170.25, 446.23)),
    ("IMG_0475.jpg", "weld 1 to weld 2", (295.45, 806.64), (314.91, 666.88)),
    ("IMG_0504.jpg", "hole edge to web", (465.56, 426.58), (559.55, 429.39)),
    ("IMG_0507.jpg", "weld 1 to weld 2", (488.92, 759.25), (574.4, 715.58)),
    ("IMG_0509.jpg", "hole behind hole of guide bracket front, left", (68.52, 430.97), (1215.46, 408.52)),
    ("IMG_0524.jpg", "gap to motor mount", (568.62, 439.27), (594.78, 439.1)),
)
NEAR_PX = 12

INCH = Fraction(254, 10)
HOW = r"(?: by (\w+))?(?:,.*)?(?: \(.*\))?$"
FEET = re.compile(r"(\d+)' (\d+) (\d+)/(\d+)\"" + HOW)
RANGE = re.compile(r"([\d.]+)-([\d.]+) mm" + HOW)
PLAIN = re.compile(
    r"(about |at most |just under )?(?:(\d+) )?(\d+(?:\.\d+)?|\d+/\d+) (mm|in)"
    r"(?: ± (\d+)| \+(\d+) -(\d+))?" + HOW
)
METHOD_MM = {"calliper": "0.05", "gauge": "0.02", "rule": "0.5", "eye": "5", None: "1"}


def slips() -> Iterator[tuple[str, str, str, str]]:
    """Every slip as (day, kind, what it is about, its lines)."""
    for note in sorted(EXAMPLE.glob("*/note.md")):
        for kind, about, body in SLIP.findall(note.read_text("utf-8")):
            yield note.parent.name[:10], kind, about, body


def value_of(day: str, part: str, left: str) -> str:
    """What one line of the notes says, right of its colon; `, both` stands for either side."""
    said = [
        line[len(left) + 2 :]
        for when, kind, about, body in slips()
        if when == day and kind != "photo" and about == part
        for line in body.splitlines()
        if line.startswith(f"{left}: ")
    ]
    assert len(said) == 1, f"{day}, {part}: {left} is said {len(said)} times"
    return said[0]


def width(written: str) -> tuple[Fraction, Fraction]:
    """The least and the greatest length in mm that a reading allows, the method's own share included."""
    if feet := FEET.match(written):
        whole, inches, top, bottom, method = feet.groups()
        number = (int(whole) * 12 + int(inches) + Fraction(int(top), int(bottom))) * INCH
        half = fraction_half(int(bottom))
        return spread(number, half, half, method)
    if span := RANGE.match(written):
        share = method_share(Fraction(span[2]), span[3])
        return Fraction(span[1]) - share, Fraction(span[2]) + share
    plain = PLAIN.match(written)
    assert plain, f"the test cannot read {written!r}"
    word, whole, rest, unit, both, up, down, method = plain.groups()
    scale = INCH if unit == "in" else Fraction(1)
    number = (int(whole or 0) + Fraction(rest)) * scale
    half = fraction_half(Fraction(rest).denominator) if unit == "in" else decimal_half(rest)
    half *= 2 if word in ("about ", "just under ") else 1
    low, high = (Fraction(down), Fraction(up)) if up else (Fraction(both or half),) * 2
    return spread(number, low, high, method)


def fraction_half(bottom: int) -> Fraction:
    """Half-width of an inch fraction: to eighths 1/16 in, sixteenths 1/32, 32nds 1/64 (common practice)."""
    return INCH / max(16, bottom * 2)


def decimal_half(digits: str) -> Fraction:
    """Half the last decimal place written."""
    return Fraction(1, 2 * 10 ** len(digits.partition(".")[2]))


def method_share(number: Fraction, method: str | None) -> Fraction:
    """What a method adds, mm: tape 0.3 + 0.2 a started metre (OIML R 35 class II), others common practice."""
    if method == "tape":
        return Fraction("0.3") + Fraction("0.2") * -(-number // 1000)
    return Fraction(METHOD_MM[method])


def spread(number: Fraction, down: Fraction, up: Fraction, method: str | None) -> tuple[Fraction, Fraction]:
    share = method_share(number, method)
    return number - down - share, number + up + share


@pytest.mark.parametrize(
    ("day", "part", "left", "true", "what"),
    [(*where, *row) for where, rows in TRUE.items() for row in rows],
    ids=str,
)
def test_a_reading_agrees_with_the_scene(day: str, part: str, left: str, true: float, what: str) -> None:
    written = value_of(day, part, left)
    low, high = width(written)
    assert low <= true <= high, f"{left}: {written} against {true} ({what})"


@pytest.mark.parametrize(("day", "part", "left", "true", "off"), MISREAD)
def test_two_tapes_are_misread_on_purpose(day: str, part: str, left: str, true: int, off: int) -> None:
    low, high = width(value_of(day, part, left))
    assert low <= true + off <= high
    assert not low <= true <= high


@pytest.mark.parametrize(("written", "low", "high"), [
    ("312 mm by rule", "311", "313"),
    ("1/2 in by calliper", "11.0625", "14.3375"),
    ("2100 mm +2 -1 by tape", "2098.1", "2102.9"),
    ("2.6-3.0 mm by calliper (pitted)", "2.55", "3.05"),
    ("6' 10 11/16\" by tape", "2098.56875", "2101.95625"),
])
def test_the_patterns_of_this_test_read_what_they_should(written: str, low: str, high: str) -> None:
    assert width(written) == (Fraction(low), Fraction(high))


def test_every_plain_length_that_the_scene_can_tell_is_in_the_table() -> None:
    told = {(*where, left) for where, rows in TRUE.items() for left, *_ in rows} | {each[:3] for each in MISREAD}
    lengths = {
        (day, about, line.partition(": ")[0])
        for day, kind, about, body in slips()
        for line in body.splitlines()
        if kind in ("part", "removed", "measured", "refitted") and PLAIN.match(line.partition(": ")[2])
    }
    # Sizes and places that no picture shows: nothing in the scene to hold them against.
    unseen = {
        ("2026-03-14", "pull rod", "play"),
        ("2026-03-14", "brake pedal", "pad above deck plate front"),
        ("2026-03-15", "spring rear, left", "height"),
        ("2026-03-15", "spring rear, right", "height"),
        ("2026-03-15", "horn bracket, right", "hole to flange edge"),
        ("2026-03-15", "horn bracket, right", "slot to flange edge"),
        ("2026-03-21", "sill, left", "drain hole behind front end"),
        ("2026-03-28", "spring hook, left", "hole to web"),
        ("2026-03-28", "spring hook, left", "hole to jig hole"),
        ("2026-04-11", "sill, left", "drain hole behind front end"),
    }
    assert lengths - told == unseen


def drawn_lines() -> dict[tuple[str, str], tuple[float, ...]]:
    pattern = re.compile(r"^line: (\d+),(\d+) (\d+),(\d+) (.+)$", re.MULTILINE)
    return {
        (about, text): tuple(map(float, ends))
        for _, kind, about, body in slips()
        if kind == "photo"
        for *ends, text in pattern.findall(body)
    }


@pytest.mark.parametrize(("picture", "text", "start", "end"), LINES, ids=str)
def test_a_dimension_line_ends_on_what_it_measures(
    picture: str, text: str, start: tuple[float, float], end: tuple[float, float]
) -> None:
    x1, y1, x2, y2 = drawn_lines()[picture, text]
    assert hypot(x1 - start[0], y1 - start[1]) <= NEAR_PX
    assert hypot(x2 - end[0], y2 - end[1]) <= NEAR_PX


def test_every_dimension_line_is_known_and_lies_in_its_picture() -> None:
    drawn = drawn_lines()
    assert set(drawn) == {(picture, text) for picture, text, *_ in LINES}
    for (picture, _), (x1, y1, x2, y2) in drawn.items():
        with Image.open(next(EXAMPLE.glob(f"*/{picture}"))) as image:
            wide, high = ImageOps.exif_transpose(image).size
        assert all(0 <= x < wide for x in (x1, x2))
        assert all(0 <= y < high for y in (y1, y2))


def test_words_on_a_line_are_a_reading_of_one_part_it_shows() -> None:
    readings = {
        (about, line.partition(":")[0])
        for _, kind, about, body in slips()
        if kind != "photo"
        for line in body.splitlines()
    }
    for _, kind, picture, body in slips():
        if kind == "photo":
            shows = re.findall(r"[^;]+", body.split("shows: ")[1].split("\n")[0])
            for text in re.findall(r"^line: \S+ \S+ (.+)$", body, re.MULTILINE):
                having = [part for part in shows if (part.strip(), text) in readings]
                assert len(having) == 1, f"{picture}: {text} is a reading of {having}"


def test_every_picture_is_there_and_told_about() -> None:
    pictures = {path.name for path in EXAMPLE.glob("*/*.jpg")}
    assert len(pictures) == 23
    assert pictures == {about for _, kind, about, _ in slips() if kind == "photo"}
    stories = "".join(note.read_text("utf-8") for note in EXAMPLE.glob("*/note.md"))
    assert pictures == set(re.findall(r"^!\[.+\]\((.+\.jpg)\)$", stories, re.MULTILINE))
