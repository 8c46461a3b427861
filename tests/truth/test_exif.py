"""Orientation and times against the Exif tables, and against exiftool, which shares no code with what we use.

Orientation: "0th row, 0th column" of Exif 2.32 tag 0x0112, as jpegexiforient(1) and the libvips manual print it.
"""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from journal.pages.colour import ADOBE_RGB, DISPLAY_P3, GAMUTS, SRGB, Gamut, profile
from journal.pages.renditions import draw
from journal.read.photos import read_facts
from tests.pictures_made import exif, numbered, read_numbers, scene

STORED = [[1, 2, 3], [4, 5, 6]]
# orientation: (where the stored 0th row is seen, where the 0th column, what is seen)
UPRIGHT = {
    1: ("top", "left", [[1, 2, 3], [4, 5, 6]]),
    2: ("top", "right", [[3, 2, 1], [6, 5, 4]]),
    3: ("bottom", "right", [[6, 5, 4], [3, 2, 1]]),
    4: ("bottom", "left", [[4, 5, 6], [1, 2, 3]]),
    5: ("left", "top", [[1, 4], [2, 5], [3, 6]]),
    6: ("right", "top", [[4, 1], [5, 2], [6, 3]]),
    7: ("right", "bottom", [[6, 3], [5, 2], [4, 1]]),
    8: ("left", "bottom", [[3, 6], [2, 5], [1, 4]]),
}


def _edge(seen: list[list[int]], side: str) -> list[int]:
    return {"top": seen[0], "bottom": seen[-1], "left": [r[0] for r in seen], "right": [r[-1] for r in seen]}[
        side
    ]


@pytest.mark.parametrize("orientation", UPRIGHT)
def test_the_table_agrees_with_its_own_words(orientation: int) -> None:
    row, column, seen = UPRIGHT[orientation]
    assert sorted(_edge(seen, row)) == sorted(STORED[0])
    assert sorted(_edge(seen, column)) == sorted(line[0] for line in STORED)


@pytest.mark.parametrize("suffix", ["jpg", "png", "webp", "tif", "avif"])
@pytest.mark.parametrize("orientation", UPRIGHT)
def test_all_eight_orientations_come_out_upright(tmp_path: Path, suffix: str, orientation: int) -> None:
    seen = UPRIGHT[orientation][2]
    path = tmp_path / f"a.{suffix}"
    numbered(STORED, cell=512).save(path, exif=exif(orientation=orientation), quality=95)
    drawn = draw(path, tmp_path, "x")
    rows, columns = len(seen), len(seen[0])
    assert (drawn.height, drawn.width) == (rows * 512, columns * 512)
    facts = read_facts(path)
    assert (facts.height, facts.width) == (drawn.height, drawn.width)
    for width, height, _ in drawn.sizes:
        with Image.open(tmp_path / f"x-{max(width, height)}.jpg") as picture:
            assert picture.size == (width, height)
            assert read_numbers(picture, rows, columns) == seen


@pytest.mark.parametrize("orientation", UPRIGHT)
def test_heic_turned_by_its_container_is_not_turned_twice(tmp_path: Path, orientation: int) -> None:
    """pillow-heif writes the orientation as irot and imir, as phones do, and leaves the Exif tag in place."""
    import pillow_heif

    pillow_heif.register_heif_opener()
    seen = UPRIGHT[orientation][2]
    path = tmp_path / "a.heic"
    numbered(STORED, cell=256).save(path, exif=exif(orientation=orientation).tobytes(), quality=95)
    drawn = draw(path, tmp_path, "x")
    with Image.open(tmp_path / "x-400.jpg") as picture:
        assert read_numbers(picture, len(seen), len(seen[0])) == seen
    facts = read_facts(path)
    assert (facts.width, facts.height) == (drawn.width, drawn.height) == (len(seen[0]) * 256, len(seen) * 256)


needs_exiftool = pytest.mark.skipif(not shutil.which("exiftool"), reason="exiftool is not installed")


@needs_exiftool
@pytest.mark.parametrize("suffix", ["jpg", "png", "webp", "tif", "avif", "heic"])
def test_times_are_those_that_exiftool_reads(tmp_path: Path, suffix: str) -> None:
    if suffix == "heic":
        import pillow_heif

        pillow_heif.register_heif_opener()
    path = tmp_path / f"a.{suffix}"
    scene(160, 120).save(path, exif=exif("2026:03:29 01:59:59", subsecond="99", offset="-09:30"))
    names = ("DateTimeOriginal", "SubSecTimeOriginal", "OffsetTimeOriginal", "ImageWidth", "ImageHeight")
    command = ["exiftool", "-json", *(f"-{name}" for name in names), str(path)]
    (told,) = json.loads(subprocess.run(command, capture_output=True, check=True).stdout)
    facts = read_facts(path)
    assert facts.taken == told["DateTimeOriginal"].replace(":", "-", 2).replace(" ", "T")
    assert facts.subsecond == str(told["SubSecTimeOriginal"])
    assert facts.offset == told["OffsetTimeOriginal"]
    assert (facts.width, facts.height) == (told["ImageWidth"], told["ImageHeight"])


# -- the profiles we write -----------------------------------------------------------------------------------

# x, y of red, green, blue: IEC 61966-2-1 (sRGB), SMPTE EG 432-1 (P3), Adobe RGB (1998) 4.3.1.1; white D65.
CHROMATICITIES = {
    SRGB: ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06)),
    DISPLAY_P3: ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060)),
    ADOBE_RGB: ((0.64, 0.33), (0.21, 0.71), (0.15, 0.06)),
}
D65, D50 = (0.3127, 0.3290), np.array([0.9642, 1.0, 0.8249])
BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])


def _xyz(xy: tuple[float, float]) -> np.ndarray:
    return np.array([xy[0] / xy[1], 1.0, (1 - xy[0] - xy[1]) / xy[1]])


def _adapted(gamut: Gamut) -> np.ndarray:
    """Columns: red, green, blue as XYZ under D50."""
    white = _xyz(D65)
    primaries = np.array([_xyz(xy) for xy in CHROMATICITIES[gamut]]).T
    matrix = primaries * np.linalg.solve(primaries, white)
    gains = np.diag((BRADFORD @ D50) / (BRADFORD @ white))
    return np.asarray(np.linalg.inv(BRADFORD) @ gains @ BRADFORD @ matrix)


@pytest.mark.parametrize("gamut", GAMUTS, ids=lambda gamut: gamut.name)
def test_colorants_are_those_of_the_standard(gamut: Gamut) -> None:
    assert np.allclose(np.array(gamut.colorants).T, _adapted(gamut), atol=0.0004)


@needs_exiftool
@pytest.mark.parametrize("gamut", GAMUTS, ids=lambda gamut: gamut.name)
def test_an_independent_reader_understands_the_profile(tmp_path: Path, gamut: Gamut) -> None:
    path = tmp_path / "a.icc"
    path.write_bytes(profile(gamut))
    command = ["exiftool", "-json", "-validate", "-warning", "-icc_profile:all", str(path)]
    (told,) = json.loads(subprocess.run(command, capture_output=True, check=True).stdout)
    assert told["ProfileDescription"] == gamut.name
    assert "Warning" not in told
    red = [float(number) for number in told["RedMatrixColumn"].split()]
    assert red == pytest.approx(gamut.colorants[0], abs=0.0001)


@pytest.mark.parametrize("gamut", [DISPLAY_P3, ADOBE_RGB], ids=lambda gamut: gamut.name)
def test_littlecms_turns_our_profile_into_the_colours_of_the_sum(gamut: Gamut) -> None:
    import io

    from PIL import ImageCms

    swatch = np.array([[[180, 120, 100], [90, 140, 110], [100, 110, 160]]], dtype=np.uint8)
    turned = ImageCms.profileToProfile(
        Image.fromarray(swatch),
        ImageCms.ImageCmsProfile(io.BytesIO(profile(gamut))),
        ImageCms.createProfile("sRGB"),
        renderingIntent=ImageCms.Intent.RELATIVE_COLORIMETRIC,
    )
    value = swatch / 255
    g, a, b, c, d = gamut.curve
    linear = np.where(value >= d, (a * value + b) ** g, c * value)
    srgb = linear @ (np.linalg.inv(_adapted(SRGB)) @ _adapted(gamut)).T
    wanted = (
        np.where(srgb <= 0.0031308, 12.92 * srgb, 1.055 * np.clip(srgb, 0, None) ** (1 / 2.4) - 0.055) * 255
    )
    assert np.abs(np.asarray(turned) - wanted).max() < 1.5
