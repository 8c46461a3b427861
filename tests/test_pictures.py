"""Pictures of every kind, whole and broken: drawn once, true in colour, kept, and nothing given away."""

from __future__ import annotations

import hashlib
import io
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms, PngImagePlugin

from journal.ground.files import WriteFault
from journal.pages import pictures as module
from journal.pages import renditions
from journal.pages.colour import ADOBE_RGB, DISPLAY_P3, SRGB_CURVE, Gamut, profile
from journal.pages.picture_worker import Answer
from journal.pages.pictures import Picture, PictureFault, cached_files, prepare
from journal.pages.renditions import GROUND
from journal.pages.workers import Crew, Job, Worker
from tests.pictures_made import exif, huge_png, save_jpeg, scene

CACHE = ".journal-cache"
DAY = "2026-03-21"
SECRET = "Anna Brindle, 7 Tarn Lane"


def make(build: Path, *, renditions: bool = True, **options: object) -> tuple[dict[str, Picture], list[PictureFault]]:
    """Prepare every picture of a build."""
    files = sorted(path.relative_to(build).as_posix() for path in build.glob("[0-9]*/*"))
    return prepare(build, files, renditions=renditions, **options)  # type: ignore[arg-type]


def one(path: Path) -> tuple[Picture, list[PictureFault]]:
    """Prepare a build of this one picture."""
    build = path.parents[1]
    found, faults = prepare(build, [path.relative_to(build).as_posix()], renditions=True)
    (picture,) = found.values()
    return picture, faults


def largest(path: Path) -> Image.Image:
    """What is published of a picture, in its largest size."""
    picture, faults = one(path)
    assert not faults
    with Image.open(path.parents[1] / CACHE / picture.sizes[-1].path) as image:
        image.load()
    return image


@pytest.fixture
def day(tmp_path: Path) -> Path:
    folder = tmp_path / "build" / DAY
    folder.mkdir(parents=True)
    return folder


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, int]]:
    """What the worker processes were asked to do, in order: (what, how many)."""
    log: list[tuple[str, int]] = []
    really = module._Run._ask

    def note(run: module._Run, what: str, requests: list[module.Request]) -> Iterator[tuple[str, Answer]]:
        if requests:
            log.append((what, len(requests)))
        return really(run, what, requests)

    monkeypatch.setattr(module._Run, "_ask", note)
    return log


# -- sizes and names -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("size", "wanted"),
    [
        ((2400, 1800), [(400, 300), (800, 600), (1600, 1200)]),
        ((1500, 2000), [(300, 400), (600, 800), (1200, 1600)]),
        ((1000, 700), [(400, 280), (800, 560), (1000, 700)]),
        ((800, 800), [(400, 400), (800, 800)]),
        ((300, 200), [(300, 200)]),
        ((5000, 40), [(400, 3), (800, 6), (1600, 13)]),
        ((1, 1), [(1, 1)]),
    ],
)
@pytest.mark.parametrize("suffix", ["jpg", "png"])
def test_three_sizes_by_the_long_edge_and_none_enlarged(
    day: Path, size: tuple[int, int], wanted: list[tuple[int, int]], suffix: str
) -> None:
    scene(*size).save(day / f"a.{suffix}")
    picture, faults = one(day / f"a.{suffix}")
    assert not faults
    assert (picture.width, picture.height) == size
    assert [size.long for size in picture.sizes] == [max(pair) for pair in wanted]
    for rendition, (width, height) in zip(picture.sizes, wanted, strict=True):
        assert abs(rendition.width - width) <= 1
        assert abs(rendition.height - height) <= 1
        with Image.open(day.parent / CACHE / rendition.path) as image:
            assert (image.format, image.size) == ("JPEG", (rendition.width, rendition.height))


def test_published_names_tell_the_content_and_nothing_of_the_original(day: Path) -> None:
    save_jpeg(day / "Anna at home.jpg")
    shutil.copy(day / "Anna at home.jpg", day / "copy.jpg")
    save_jpeg(day / "other.jpg", scene(640, 480, 5))
    found, _ = make(day.parent)
    paths = {file: [size.path for size in picture.sizes] for file, picture in found.items()}
    assert paths[f"{DAY}/Anna at home.jpg"] == paths[f"{DAY}/copy.jpg"] != paths[f"{DAY}/other.jpg"]
    assert all(path.startswith("photos/") and "nna" not in path for row in paths.values() for path in row)
    files = cached_files(day.parent, found.values())
    assert set(files) == {path for row in paths.values() for path in row}
    assert all(file.is_file() for file in files.values())


def test_the_published_picture_looks_like_the_original(day: Path) -> None:
    original = scene(2400, 1600, 3)
    save_jpeg(day / "a.jpg", original, quality=95)
    wanted = np.asarray(original.resize((1600, 1067), Image.Resampling.LANCZOS), dtype=float)
    error = np.asarray(largest(day / "a.jpg"), dtype=float) - wanted
    assert 10 * np.log10(255**2 / (error**2).mean()) > 36  # JPEG at this quality alone costs as much


def test_a_day_is_in_order_of_time_then_name(day: Path) -> None:
    taken = {
        "c": ("2026:03:21 14:00:00", "2"),
        "b": ("2026:03:21 14:00:00", "1"),
        "a": ("2026:03:21 15:00:00", ""),
    }
    for name, (time_, sub) in taken.items():
        save_jpeg(day / f"{name}.jpg", exif=exif(time_, subsecond=sub))
    save_jpeg(day / "0.jpg")
    found, _ = make(day.parent, renditions=False)
    names = [picture.file.removeprefix(f"{DAY}/") for picture in sorted(found.values(), key=lambda p: p.order)]
    assert names == ["b.jpg", "c.jpg", "a.jpg", "0.jpg"]


# -- every kind ----------------------------------------------------------------------------------------------


def _heic(picture: Image.Image, path: Path) -> None:
    import pillow_heif

    pillow_heif.register_heif_opener()
    picture.save(path, quality=95)


KINDS: dict[str, Callable[[Image.Image, Path], object]] = {
    "plain.jpg": lambda picture, path: picture.save(path, quality=95),
    "progressive.jpg": lambda picture, path: picture.save(path, quality=95, progressive=True),
    "cmyk.jpg": lambda picture, path: picture.convert("CMYK").save(path, quality=95),
    "several.mpo": lambda picture, path: picture.save(path, quality=95, save_all=True, append_images=[scene(99, 99)]),
    "phone.heic": _heic,
    "new.avif": lambda picture, path: picture.save(path, quality=90),
    "shot.png": lambda picture, path: picture.save(path),
    "palette.png": lambda picture, path: picture.quantize(256).save(path),
    "web.webp": lambda picture, path: picture.save(path, quality=95),
    "scan.tif": lambda picture, path: picture.save(path, compression="tiff_lzw"),
    "plain.tiff": lambda picture, path: picture.save(path),
    "lab.tif": lambda picture, path: ImageCms.profileToProfile(
        picture, ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB"), outputMode="LAB"
    ).save(path),  # type: ignore[union-attr]
    "heic called.jpg": lambda picture, path: _renamed(picture, path),
    "png called.jpg": lambda picture, path: picture.save(path, "PNG"),
}


def _renamed(picture: Image.Image, path: Path) -> None:
    _heic(picture, path.with_suffix(".heic"))
    path.with_suffix(".heic").rename(path)


@pytest.mark.parametrize("name", KINDS)
def test_every_kind_is_shown_in_its_own_colours(day: Path, name: str) -> None:
    original = scene(900, 600, 2, noise=0.0)
    KINDS[name](original, day / name)
    error = np.abs(np.asarray(largest(day / name).convert("RGB"), float) - np.asarray(original, float))
    assert error.mean() < 5


GREYS: dict[str, Callable[[np.ndarray], Image.Image]] = {
    "eight bits": lambda ramp: Image.fromarray((ramp * 255).round().astype(np.uint8)),
    "sixteen bits": lambda ramp: Image.fromarray((ramp * 65535).round().astype(np.uint16)),
    "floating point": lambda ramp: Image.fromarray(ramp.astype(np.float32)),
}


@pytest.mark.parametrize("kind", GREYS)
def test_grey_of_any_depth_keeps_its_ramp(day: Path, kind: str) -> None:
    ramp = np.tile(np.linspace(0, 1, 640), (64, 1))
    GREYS[kind](ramp).save(day / "a.tif")
    shown = np.asarray(largest(day / "a.tif").convert("L"), float)
    assert np.abs(shown - ramp * 255).max() < 4


@pytest.mark.parametrize("suffix", ["png", "webp", "avif", "heic", "tif"])
def test_what_is_transparent_shows_the_page(day: Path, suffix: str) -> None:
    picture = Image.new("RGBA", (2000, 400), (10, 20, 200, 0))
    picture.paste((200, 30, 30, 255), (0, 0, 1000, 400))
    if suffix == "heic":
        import pillow_heif

        pillow_heif.register_heif_opener()
    picture.save(day / f"a.{suffix}")
    shown = np.asarray(largest(day / f"a.{suffix}"), float)
    assert np.abs(shown[:, 1200:].mean(axis=(0, 1)) - GROUND).max() < 3
    assert np.abs(shown[:, :600].mean(axis=(0, 1)) - (200, 30, 30)).max() < 6


def test_a_palette_with_one_clear_colour_shows_the_page_there(day: Path) -> None:
    picture = Image.new("P", (64, 64), 1)
    picture.putpalette([255, 0, 0, 0, 0, 255] + [0] * 762)
    picture.save(day / "a.png", transparency=1)
    assert np.abs(np.asarray(largest(day / "a.png"), float).mean(axis=(0, 1)) - GROUND).max() < 3


# -- colour --------------------------------------------------------------------------------------------------

VIVID = (250, 40, 30)


def _labelled(gamut: Gamut, label: str) -> bytes:
    """A profile with a standard's numbers and somebody's private words."""
    return profile(Gamut(label, gamut.colorants, gamut.curve))


@pytest.mark.parametrize("gamut", [DISPLAY_P3, ADOBE_RGB], ids=lambda gamut: gamut.name)
def test_wide_colours_stay_as_they_are_under_a_profile_of_our_own(day: Path, gamut: Gamut) -> None:
    save_jpeg(day / "a.jpg", Image.new("RGB", (640, 480), VIVID), quality=95, icc_profile=_labelled(gamut, SECRET))
    shown = largest(day / "a.jpg")
    assert shown.info["icc_profile"] == profile(gamut)
    assert np.abs(np.asarray(shown, float).mean(axis=(0, 1)) - VIVID).max() < 3


def test_adobe_rgb_said_by_a_tag_alone_is_kept(day: Path) -> None:
    tags = Image.Exif()
    tags[0x8769] = {0xA001: 65535, 0xA005: {1: "R03", 2: b"0100"}}
    save_jpeg(day / "a.jpg", Image.new("RGB", (640, 480), VIVID), exif=tags)
    assert largest(day / "a.jpg").info["icc_profile"] == profile(ADOBE_RGB)


def test_any_other_profile_is_turned_into_srgb(day: Path) -> None:
    red, green, blue = ADOBE_RGB.colorants
    odd = Gamut(SECRET, (green, blue, red), SRGB_CURVE)  # red is green, green is blue
    save_jpeg(day / "a.jpg", Image.new("RGB", (640, 480), (220, 40, 40)), quality=95, icc_profile=profile(odd))
    shown = largest(day / "a.jpg")
    assert "icc_profile" not in shown.info
    r, g, b = np.asarray(shown, float).mean(axis=(0, 1))
    assert g > r + 50
    assert g > b + 50


def test_a_damaged_profile_costs_the_profile_only(day: Path) -> None:
    save_jpeg(day / "a.jpg", Image.new("RGB", (640, 480), VIVID), icc_profile=profile(DISPLAY_P3)[:200])
    assert np.abs(np.asarray(largest(day / "a.jpg"), float).mean(axis=(0, 1)) - VIVID).max() < 3


# -- nothing given away --------------------------------------------------------------------------------------

# All that exiftool may say of a published file: what it worked out itself, size, and colour.
HARMLESS = {
    *(
        "SourceFile",
        "ExifToolVersion",
        "FileName",
        "Directory",
        "FileSize",
        "FileModifyDate",
        "FileAccessDate",
    ),
    *("FileInodeChangeDate", "FilePermissions", "FileType", "FileTypeExtension", "MIMEType", "JFIFVersion"),
    *("ResolutionUnit", "XResolution", "YResolution", "ImageWidth", "ImageHeight", "EncodingProcess"),
    *("BitsPerSample", "ColorComponents", "YCbCrSubSampling", "ImageSize", "Megapixels"),
    *("ProfileCMMType", "ProfileVersion", "ProfileClass", "ColorSpaceData", "ProfileConnectionSpace"),
    *("ProfileDateTime", "ProfileFileSignature", "PrimaryPlatform", "CMMFlags", "DeviceManufacturer"),
    *("DeviceModel", "DeviceAttributes", "RenderingIntent", "ConnectionSpaceIlluminant", "ProfileCreator"),
    *("ProfileID", "ProfileDescription", "ProfileCopyright", "MediaWhitePoint", "ChromaticAdaptation"),
    *("RedMatrixColumn", "GreenMatrixColumn", "BlueMatrixColumn", "RedTRC", "GreenTRC", "BlueTRC"),
}


def _full_of_secrets(day: Path) -> None:
    """A picture of every kind, each with a secret in every field that its kind has."""
    import pillow_heif

    pillow_heif.register_heif_opener()
    tags = exif("2026:03:21 14:05:17", secret=SECRET, gps=True, orientation=6)
    xmp = f'<x:xmpmeta xmlns:x="adobe:ns:meta/"><r xmp:Creator="{SECRET}"/></x:xmpmeta>'.encode()
    icc = _labelled(DISPLAY_P3, SECRET)
    picture = scene(900, 500)
    iptc = b"Photoshop 3.0\0" + b"8BIM\x04\x04\0\0" + len(SECRET).to_bytes(4, "big") + SECRET.encode()
    everything = {"exif": tags, "xmp": xmp, "icc_profile": icc}
    picture.save(day / "a.jpg", comment=SECRET, **everything)
    data = (day / "a.jpg").read_bytes()
    (day / "a.jpg").write_bytes(data[:2] + b"\xff\xed" + (len(iptc) + 2).to_bytes(2, "big") + iptc + data[2:])
    picture.save(day / "b.jpg", exif=tags, icc_profile=_labelled(ADOBE_RGB, SECRET))
    picture.save(day / "c.mpo", save_all=True, append_images=[scene(300, 200)], **everything)
    picture.save(day / "d.webp", **everything)
    picture.save(day / "e.avif", **everything)
    picture.save(day / "f.heic", exif=tags.tobytes(), xmp=xmp, icc_profile=icc)
    text = PngImagePlugin.PngInfo()
    text.add_text("Author", SECRET)
    text.add_itxt("XML:com.adobe.xmp", xmp.decode())
    picture.save(day / "g.png", exif=tags, icc_profile=icc, pnginfo=text)
    picture.save(day / "h.tif", tiffinfo={270: SECRET, 315: SECRET, 700: xmp}, icc_profile=icc)
    picture.convert("L").save(day / "i.jpg", exif=tags, comment=SECRET)


@pytest.mark.skipif(not shutil.which("exiftool"), reason="exiftool is not installed")
def test_exiftool_finds_nothing_but_size_and_colour(day: Path) -> None:
    _full_of_secrets(day)
    assert all(SECRET.encode() in path.read_bytes() for path in day.iterdir() if path.suffix in (".jpg", ".tif"))
    found, faults = make(day.parent)
    assert not faults
    published = sorted(cached_files(day.parent, found.values()).values())
    assert len(published) == 3 * len(found)
    told = subprocess.run(["exiftool", "-json", "-a", "-u", *published], capture_output=True, check=True)
    for row in json.loads(told.stdout):
        assert set(row) <= HARMLESS, set(row) - HARMLESS
        assert row.get("ProfileDescription") in (None, "Display P3", "Adobe RGB (1998)")
        assert "Warning" not in row
    for path in published:
        data = path.read_bytes()
        assert SECRET.encode() not in data
        assert SECRET.encode("utf-16-be") not in data
        assert path.stat().st_mtime == 946_684_800  # the time of day of the drawing is nobody's business either


@pytest.mark.skipif(not shutil.which("exiftool"), reason="exiftool is not installed")
def test_the_secrets_of_the_test_above_really_sit_where_readers_look(day: Path) -> None:
    _full_of_secrets(day)
    told = subprocess.run(["exiftool", "-json", "-a", *sorted(day.iterdir())], capture_output=True, check=True)
    for row in json.loads(told.stdout):
        assert SECRET in map(str, row.values())
    (first, *_) = json.loads(told.stdout)
    assert {"GPSLatitude", "Comment", "Artist", "ProfileDescription"} <= set(first)


# -- broken and hostile pictures -----------------------------------------------------------------------------


def _cut(path: Path, share: float) -> Path:
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])
    return path


@pytest.mark.parametrize("progressive", [False, True])
@pytest.mark.parametrize("share", [0.3, 0.6, 0.95])
def test_a_jpeg_cut_short_is_shown_as_far_as_it_goes(day: Path, progressive: bool, share: float) -> None:
    path = _cut(save_jpeg(day / "a.jpg", scene(1600, 1200), progressive=progressive), share)
    picture, (fault,) = one(path)
    assert (fault.file, fault.word) == (f"{DAY}/a.jpg", "unreadable-photo")
    assert "part of the way" in fault.message
    assert picture.partial
    with Image.open(day.parent / CACHE / picture.sizes[-1].path) as shown:
        top = np.asarray(shown, float)[:200]
    wanted = np.asarray(scene(1600, 1200), float)[:200]
    assert np.abs(top - wanted).mean() < (30 if progressive else 6)


@pytest.mark.parametrize("progressive", [False, True])
@pytest.mark.parametrize("missing", [1, 2])
def test_a_jpeg_that_lacks_only_its_end_mark_is_a_good_picture(day: Path, progressive: bool, missing: int) -> None:
    path = save_jpeg(day / "a.jpg", progressive=progressive)
    path.write_bytes(path.read_bytes()[:-missing])
    picture, faults = one(path)
    assert not faults
    assert not picture.partial


CUT: dict[str, Callable[[Image.Image, Path], object]] = {
    "a.png": lambda picture, path: picture.save(path),
    "a.tif": lambda picture, path: picture.save(path),
    "a.webp": lambda picture, path: picture.save(path, quality=90),
    "lossless.webp": lambda picture, path: picture.save(path, lossless=True),
    "a.avif": lambda picture, path: picture.save(path, quality=80),
    "a.heic": _heic,
}


@pytest.mark.parametrize("share", [0.5, 0.8])
@pytest.mark.parametrize("name", CUT)
def test_other_kinds_are_shown_as_far_as_they_go_too(day: Path, name: str, share: float) -> None:
    original = scene(500, 400, 2)  # an AVIF in a single tile
    CUT[name](original, day / name)
    picture, (fault,) = one(_cut(day / name, share))
    assert picture.partial
    assert "part of the way" in fault.message
    with Image.open(day.parent / CACHE / picture.sizes[-1].path) as shown:
        top = np.asarray(shown.convert("RGB"), float)[:120]
    assert np.abs(top - np.asarray(original, float)[:120]).mean() < 8


@pytest.mark.parametrize("trailer", [b"SEFH" + bytes(30), b"\0\0\0\3abcd", b"\x7f\xff\xff\xffmore" + bytes(9), b"x"])
@pytest.mark.parametrize("suffix", ["avif", "heic"])
def test_what_a_camera_adds_behind_the_picture_is_no_damage(day: Path, suffix: str, trailer: bytes) -> None:
    CUT[f"a.{suffix}"](scene(500, 400), day / f"a.{suffix}")
    with open(day / f"a.{suffix}", "ab") as file:
        file.write(trailer)
    picture, faults = one(day / f"a.{suffix}")
    assert not faults
    assert not picture.partial


def test_tiles_that_a_heic_lacks_show_the_page_and_not_the_green_of_nothing() -> None:
    picture = Image.new("RGB", (8, 2), (10, 130, 20))
    picture.paste((0, 135, 0), (4, 0, 8, 2))
    shown = renditions._without_green(picture)
    assert [shown.getpixel((x, 0)) for x in (0, 3, 4, 7)] == [(10, 130, 20)] * 2 + [GROUND] * 2


@pytest.mark.parametrize("name", ["a.jpg", *CUT])
def test_a_mere_check_finds_a_file_cut_short(day: Path, name: str) -> None:
    (save_jpeg(day / name, scene(500, 400)) if name == "a.jpg" else CUT[name](scene(500, 400), day / name))
    _cut(day / name, 0.6)
    save_jpeg(day / "good.jpg")
    found, (fault,) = make(day.parent, renditions=False)
    assert fault.file == f"{DAY}/{name}"
    assert found[fault.file].partial
    assert make(day.parent, renditions=False)[1] == [fault]
    assert make(day.parent)[1] == [fault]


def _pixels(path: Path) -> None:
    """A header that promises more than anybody can draw."""
    huge_png(path, 60_000, 60_000)


HOSTILE: dict[str, tuple[Callable[[Path], object], str, str]] = {
    "empty.jpg": (lambda path: path.write_bytes(b""), "unreadable-photo", "empty"),
    "text.jpg": (lambda path: path.write_text("no picture"), "unreadable-photo", "no picture"),
    "folder.jpg": (lambda path: path.mkdir(), "unreadable-photo", "a folder"),
    "pipe.jpg": (lambda path: os.mkfifo(path), "unreadable-photo", "no ordinary file"),
    "loop.jpg": (lambda path: path.symlink_to(path.name), "unreadable-photo", "circle"),
    "gone.jpg": (lambda path: path.symlink_to("nowhere.jpg"), "missing-photo", "not there"),
    "bomb.png": (_pixels, "unreadable-photo", "too large"),
    "bomb.jpg": (lambda path: path.write_bytes(_claims(60_000, 60_000)), "unreadable-photo", "too large"),
    "noise.jpg": (
        lambda path: path.write_bytes(b"\xff\xd8\xff\xe0" + random.Random(1).randbytes(9000)),
        "unreadable-photo",
        "damaged",
    ),
    "header only.png": (lambda path: _cut(_save(path, scene(64, 64)), 0.01), "unreadable-photo", "damaged"),
    "start.webp": (lambda path: _cut(_save(path, scene(640, 480)), 0.05), "unreadable-photo", "nothing of it"),
    "seen through.webp": (
        lambda path: _cut(_save(path, scene(640, 480).convert("LA")), 0.05), "unreadable-photo", "nothing of it",
    ),
    "start.heic": (
        lambda path: path.write_bytes(_heic_at(path).read_bytes()[:200]), "unreadable-photo", "nothing of it",
    ),
    # In several tiles, whose lengths a decoder wants to know before it begins.
    "tiles.avif": (lambda path: _cut(_save(path, scene(1600, 1200)), 0.5), "unreadable-photo", "nothing of it"),
}  # fmt: skip


def _heic_at(path: Path) -> Path:
    _heic(scene(640, 480), path)
    return path


def _save(path: Path, picture: Image.Image) -> Path:
    picture.save(path)
    return path


def _claims(width: int, height: int) -> bytes:
    """A small JPEG whose header claims another size."""
    out = io.BytesIO()
    Image.new("RGB", (64, 64)).save(out, "JPEG")
    data = out.getvalue()
    place = data.index(b"\xff\xc0") + 5
    return data[:place] + height.to_bytes(2, "big") + width.to_bytes(2, "big") + data[place + 4 :]


def test_no_picture_stops_the_others_nor_takes_the_machine_along(day: Path) -> None:
    for name, (harm, _, _) in HOSTILE.items():
        harm(day / name)
    save_jpeg(day / "good.jpg")
    start = time.monotonic()
    found, faults = make(day.parent)
    assert time.monotonic() - start < 60
    told = {fault.file.removeprefix(f"{DAY}/"): fault for fault in faults}
    assert set(told) == set(HOSTILE)
    for name, (_, word, says) in HOSTILE.items():
        assert told[name].word == word
        assert says in told[name].message
        assert f'"{name}"' in told[name].message
        assert told[name].help
        assert not found[f"{DAY}/{name}"].readable
        assert found[f"{DAY}/{name}"].sizes == ()
    assert len(found[f"{DAY}/good.jpg"].sizes) == 2


def test_hostile_pictures_take_no_more_memory_than_they_may(day: Path) -> None:
    """In a process of its own: a child counts what its parent held when it was forked, and this one is large."""
    for name, (harm, _, _) in HOSTILE.items():
        harm(day / name)
    asked = (
        "import resource, sys; from pathlib import Path; from journal.pages.pictures import prepare;"
        "build = Path(sys.argv[1]); files = sorted(f'{p.parent.name}/{p.name}' for p in build.glob('2*/*'));"
        "prepare(build, files, renditions=True);"
        "print(len(files), resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss * 1024)"
    )
    command = [sys.executable, "-c", asked, str(day.parent)]
    told = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split()
    assert int(told[0]) >= len(HOSTILE)
    assert int(told[1]) < 600_000_000


def _on_a_large_scale(folder: Path) -> list[Path]:
    """48 megapixels in every kind that this machine can write in reasonable time, transparent ones among them."""
    picture = scene(2000, 1500).resize((8000, 6000))
    veiled = picture.convert("RGBA")
    veiled.putalpha(picture.getchannel(0))
    for name, large, options in (
        ("a.jpg", picture, {}),
        ("progressive.jpg", picture, {"progressive": True}),
        ("a.webp", picture, {"method": 0}),
        ("lossless.webp", picture, {"lossless": True, "method": 0, "quality": 0}),
        ("veiled.webp", veiled, {"method": 0}),
        ("a.png", picture, {"compress_level": 1}),
        ("veiled.png", veiled, {"compress_level": 1}),
        ("a.tif", picture, {}),
        ("lzw.tif", picture, {"compression": "tiff_lzw"}),
        ("a.avif", picture, {"speed": 10}),
        ("veiled.avif", veiled, {"speed": 10}),
    ):
        large.save(folder / name, **options)
    return sorted(folder.iterdir())


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="the most a process held is read from Linux")
def test_48_megapixels_take_no_more_than_they_may_nor_than_was_foretold(day: Path) -> None:
    asked = (
        "import sys, tempfile; from pathlib import Path; from journal.pages.renditions import cost, draw\n"
        "from journal.read.photos import header_facts\n"
        "path = Path(sys.argv[1])\n"
        "with tempfile.TemporaryDirectory() as into: draw(path, Path(into), 'a')\n"
        "held = next(line for line in open('/proc/self/status') if line.startswith('VmHWM:'))\n"
        "print(int(held.split()[1]) * 1024, cost(header_facts(path)))"
    )
    for path in _on_a_large_scale(day):
        done = subprocess.run([sys.executable, "-c", asked, str(path)], capture_output=True, text=True, check=True)
        peak, foretold = map(int, done.stdout.split())
        assert peak < 600_000_000, path.name
        assert peak < foretold + 45_000_000, path.name  # a worker before its first picture


FAKE_DECODER = "import os, signal, time\ndef register_heif_opener(**options):\n    {}\n"


def _with_fake_decoder(folder: Path, monkeypatch: pytest.MonkeyPatch, does: str) -> None:
    """Worker processes find a HEIC decoder that misbehaves before the real one."""
    (folder / "fake" / "pi_heif").mkdir(parents=True)
    (folder / "fake" / "pi_heif" / "__init__.py").write_text(FAKE_DECODER.format(does))
    monkeypatch.setenv("PYTHONPATH", str(folder / "fake"))


def test_a_decoder_that_crashes_its_process_costs_one_picture(
    day: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _heic(scene(64, 64), day / "a.heic")
    for index in range(4):
        save_jpeg(day / f"{index}.jpg", scene(640, 480, index))
    _with_fake_decoder(tmp_path, monkeypatch, "os.kill(os.getpid(), signal.SIGSEGV)")
    found, (fault,) = make(day.parent)
    assert fault.file == f"{DAY}/a.heic"
    assert "broke down" in fault.message
    assert sum(len(picture.sizes) for picture in found.values()) == 8
    monkeypatch.delenv("PYTHONPATH")
    assert make(day.parent)[1] == []  # it may have been the weather: the next run tries again


def test_a_decoder_that_hangs_is_given_up(day: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    _heic(scene(64, 64), day / "a.heic")
    save_jpeg(day / "b.jpg")
    _with_fake_decoder(tmp_path, monkeypatch, "time.sleep(600)")
    monkeypatch.setattr(module, "HEADER_SECONDS", 2.0)
    start = time.monotonic()
    found, (fault,) = make(day.parent)
    assert time.monotonic() - start < 30
    assert "longer than 2 s" in fault.message
    assert len(found[f"{DAY}/b.jpg"].sizes) == 2


def test_memory_is_shared_out_and_the_large_run_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    now: list[int] = []
    most: list[list[int]] = []
    guard = threading.Lock()

    def ask(_: Worker, job: Job) -> Answer:
        with guard:
            now.append(job.memory)
            most.append(list(now))
        time.sleep(0.01)
        with guard:
            now.remove(job.memory)
        return {}

    monkeypatch.setattr(Worker, "ask", ask)
    crew = Crew(4)
    sizes = [100_000_000, 50_000_000, 1_400_000_000, 200_000_000, 200_000_000, 10_000_000] * 3
    done = [job for job, _ in crew.run([Job(str(n), (), size, 9.0) for n, size in enumerate(sizes)])]
    assert sorted(job.memory for job in done) == sorted(sizes)
    assert all(len(row) == 1 or sum(row) <= 360_000_000 for row in most)
    assert any(len(row) > 1 for row in most)


# -- kept work -----------------------------------------------------------------------------------------------


def test_an_unchanged_picture_is_not_even_opened(day: Path, asked: list[tuple[str, int]]) -> None:
    for index in range(3):
        save_jpeg(day / f"{index}.jpg", scene(640, 480, index))
    first = make(day.parent)
    assert asked == [("looking at pictures", 3), ("drawing pictures", 3)]
    asked.clear()
    assert make(day.parent) == first
    assert asked == []


def test_a_moved_renamed_or_touched_picture_is_not_decoded_again(day: Path, asked: list[tuple[str, int]]) -> None:
    for index in range(3):
        save_jpeg(day / f"{index}.jpg", scene(640, 480, index))
    first, _ = make(day.parent)
    other = day.parent / "2026-03-28 more"
    other.mkdir()
    (day / "0.jpg").rename(other / "0.jpg")
    (day / "1.jpg").rename(day / "renamed.jpg")
    os.utime(day / "2.jpg", (1, 1))
    asked.clear()
    second, _ = make(day.parent)
    assert asked == [("looking at pictures", 3)]
    assert second["2026-03-28 more/0.jpg"].sizes == first[f"{DAY}/0.jpg"].sizes


def test_a_picture_changed_under_its_name_is_drawn_anew(day: Path) -> None:
    save_jpeg(day / "a.jpg", scene(640, 480, 1))
    before, _ = one(day / "a.jpg")
    save_jpeg(day / "a.jpg", scene(640, 480, 2))
    after, _ = one(day / "a.jpg")
    assert before.sizes != after.sizes


def test_what_the_build_no_longer_uses_leaves_the_cache(day: Path) -> None:
    for index in range(3):
        save_jpeg(day / f"{index}.jpg", scene(640, 480, index))
    make(day.parent)
    (day / "1.jpg").unlink()
    (day.parent / CACHE / "photos" / "stray.part").write_bytes(b"left by a killed run")
    found, _ = make(day.parent)
    there = {f"photos/{path.name}" for path in (day.parent / CACHE / "photos").iterdir()}
    assert there == {size.path for picture in found.values() for size in picture.sizes}
    manifest = json.loads((day.parent / CACHE / "pictures.json").read_bytes())
    assert set(manifest["seen"]) == set(found)
    assert len(manifest["kept"]) == 2


def _damage(change: Callable[[dict], object]) -> Callable[[Path], object]:  # type: ignore[type-arg]
    def harm(manifest: Path) -> None:
        table = json.loads(manifest.read_bytes())
        change(table)
        manifest.write_text(json.dumps(table))

    return harm


@pytest.mark.parametrize(
    "harm",
    [
        lambda manifest: manifest.unlink(),
        lambda manifest: manifest.write_bytes(b""),
        lambda manifest: manifest.write_bytes(manifest.read_bytes()[:-40]),
        lambda manifest: manifest.write_text("[1, 2]"),
        lambda manifest: manifest.write_text("[" * 100_000),
        _damage(lambda table: table.update(format=99)),
        _damage(lambda table: table["seen"].update({f"{DAY}/0.jpg": [1, 2]})),
        _damage(lambda table: table["seen"].update({f"{DAY}/0.jpg": None})),
        _damage(lambda table: table.update(kept=[1])),
        _damage(lambda table: table.update(kept={key: "x" for key in table["kept"]})),
    ],
)
def test_a_damaged_manifest_is_repaired(day: Path, harm: Callable[[Path], object]) -> None:
    for index in range(2):
        save_jpeg(day / f"{index}.jpg", scene(640, 480, index))
    first = make(day.parent)
    manifest = day.parent / CACHE / "pictures.json"
    good = json.loads(manifest.read_bytes())
    harm(manifest)
    assert make(day.parent) == first
    assert json.loads(manifest.read_bytes()) == good


@pytest.mark.parametrize("harm", [Path.unlink, lambda path: path.write_bytes(b"x" * path.stat().st_size)])
def test_a_lost_or_damaged_rendition_is_drawn_again(day: Path, harm: Callable[[Path], object]) -> None:
    save_jpeg(day / "a.jpg")
    picture, _ = one(day / "a.jpg")
    path = day.parent / CACHE / picture.sizes[0].path
    good = path.read_bytes()
    harm(path)
    one(day / "a.jpg")
    assert path.read_bytes() == good


def test_a_run_without_news_imports_no_picture_library(day: Path) -> None:
    save_jpeg(day / "a.jpg")
    save_jpeg(day / "broken.jpg").write_bytes(b"broken")
    make(day.parent)
    code = (
        "import sys; from pathlib import Path; from journal.pages.pictures import prepare\n"
        f"found, faults = prepare(Path(sys.argv[1]), ['{DAY}/a.jpg', '{DAY}/broken.jpg'], renditions=True)\n"
        "assert len(found) == 2 and len(faults) == 1\n"
        "print([name for name in ('PIL', 'exifread', 'numpy', 'subprocess') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code, str(day.parent)], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


def test_the_same_pictures_give_the_same_bytes_by_any_number_of_workers(day: Path, tmp_path: Path) -> None:
    for index in range(4):
        save_jpeg(day / f"{index}.jpg", scene(1200, 900, index))
    shutil.copytree(day.parent, tmp_path / "other")
    one_by_one, many = make(day.parent, workers=1)[0], make(tmp_path / "other", workers=2)[0]
    assert one_by_one == many
    for path, file in cached_files(day.parent, one_by_one.values()).items():
        assert file.read_bytes() == (tmp_path / "other" / CACHE / path).read_bytes()


def test_progress_is_told(day: Path) -> None:
    for index in range(3):
        save_jpeg(day / f"{index}.jpg", scene(640, 480, index))
    told: list[tuple[str, int, int]] = []
    make(day.parent, progress=lambda *step: told.append(step))
    assert told == [(what, n, 3) for what in ("looking at pictures", "drawing pictures") for n in (1, 2, 3)]


RUN = (
    "import sys; from pathlib import Path; from journal.pages.pictures import prepare\n"
    "build = Path(sys.argv[1]); print('go', flush=True)\n"
    "prepare(build, sorted(p.relative_to(build).as_posix() for p in build.glob('2*/*')), renditions=True)"
)


def test_a_cache_killed_at_any_moment_serves_the_next_run(day: Path) -> None:
    for index in range(6):
        save_jpeg(day / f"{index}.jpg", scene(1700, 1200, index % 3, noise=float(index)))
    moments = random.Random(3)
    for _ in range(8):
        child = subprocess.Popen([sys.executable, "-c", RUN, str(day.parent)], stdout=subprocess.PIPE)
        with child:
            assert child.stdout
            child.stdout.readline()
            time.sleep(moments.uniform(0.0, 0.8))
            child.send_signal(signal.SIGKILL)
    found, faults = make(day.parent)
    assert not faults
    files = cached_files(day.parent, found.values())
    assert {path.name for path in (day.parent / CACHE / "photos").iterdir()} == {path.name for path in files.values()}
    for file in files.values():
        with Image.open(file) as picture:
            picture.load()


def test_a_cache_that_cannot_be_written_is_told_when_drawing_and_no_matter_when_checking(day: Path) -> None:
    save_jpeg(day / "a.jpg")
    (day.parent / CACHE).write_text("in the way")
    found, faults = make(day.parent, renditions=False)
    assert found[f"{DAY}/a.jpg"].readable
    assert not faults
    with pytest.raises(WriteFault):
        make(day.parent)


def test_originals_are_never_touched(day: Path) -> None:
    _full_of_secrets(day)
    _cut(save_jpeg(day / "cut.jpg"), 0.5)
    save_jpeg(day / "closed.jpg").chmod(0o444)

    def state() -> dict[str, tuple[str, int, int]]:
        return {
            path.name: (
                hashlib.sha256(path.read_bytes()).hexdigest(),
                os.stat(path).st_mtime_ns,
                os.stat(path).st_mode,
            )
            for path in sorted(day.iterdir())
        }

    before = state()
    make(day.parent, renditions=False)
    make(day.parent)
    assert state() == before
