"""Facts of a picture from its header alone: size as seen upright, time from whoever can read it."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from PIL import Image, PngImagePlugin, WebPImagePlugin

from journal.pages.colour import DISPLAY_P3, profile
from journal.read import photos, webp
from journal.read.moments import Moment, exif_moment, moment_in_name
from journal.read.photos import DAMAGED, PHOTO_SUFFIXES, PhotoFault, header_facts, open_picture, read_facts
from tests.pictures_made import DATE_TIME, exif, huge_png, save_jpeg, scene

TAKEN = "2026:03:21 14:05:17"
FORMATS = {
    ".jpg": "JPEG",
    ".mpo": "MPO",
    ".png": "PNG",
    ".webp": "WEBP",
    ".avif": "AVIF",
    ".tif": "TIFF",
    ".heic": "HEIF",
}


def save(path: Path, tags: Image.Exif | None = None, size: tuple[int, int] = (320, 200)) -> Path:
    """A picture of the kind that the suffix names."""
    options: dict[str, object] = {"exif": tags} if tags else {}
    if path.suffix == ".heic":
        import pillow_heif

        pillow_heif.register_heif_opener()
    if path.suffix == ".mpo":
        options |= {"format": "MPO", "save_all": True, "append_images": [scene(160, 100)]}
    scene(*size).save(path, **options)
    return path


@pytest.mark.parametrize("suffix", FORMATS)
def test_every_kind_tells_its_size_and_time(tmp_path: Path, suffix: str) -> None:
    path = save(tmp_path / f"a{suffix}", exif(TAKEN, subsecond="042", offset="+01:00"))
    facts = read_facts(path)
    assert (facts.format, facts.width, facts.height) == (FORMATS[suffix], 320, 200)
    assert (facts.taken, facts.subsecond, facts.offset) == ("2026-03-21T14:05:17", "042", "+01:00")
    assert facts.whole


@pytest.mark.parametrize("suffix", [suffix for suffix in FORMATS if suffix != ".heic"])
def test_a_picture_held_upright_has_its_sides_swapped(tmp_path: Path, suffix: str) -> None:
    facts = read_facts(save(tmp_path / f"a{suffix}", exif(orientation=6)))
    assert (facts.width, facts.height) == (200, 320)


def test_the_suffixes_are_those_of_phones_and_cameras() -> None:
    assert set(FORMATS) | {".jpeg", ".hif", ".heif", ".tiff"} <= PHOTO_SUFFIXES
    assert all(suffix == suffix.lower() for suffix in PHOTO_SUFFIXES)


def test_what_a_file_holds_counts_not_its_name(tmp_path: Path) -> None:
    save(tmp_path / "a.heic").rename(tmp_path / "a.jpg")
    assert read_facts(tmp_path / "a.jpg").format == "HEIF"


def test_create_date_serves_where_the_original_is_missing_and_modify_date_never(tmp_path: Path) -> None:
    tags = exif(digitized="2026:03:22 08:00:00")
    assert read_facts(save(tmp_path / "a.jpg", tags)).taken == "2026-03-22T08:00:00"
    tags = exif()
    tags[DATE_TIME] = TAKEN
    assert read_facts(save(tmp_path / "b.jpg", tags)).taken is None


def test_the_header_goes_before_the_name_and_the_name_before_nothing(tmp_path: Path) -> None:
    assert read_facts(save(tmp_path / "IMG_20250101_090000.jpg", exif(TAKEN))).taken == "2026-03-21T14:05:17"
    assert read_facts(save(tmp_path / "IMG_20250101_090001.jpg")).taken == "2025-01-01T09:00:01"
    assert header_facts(tmp_path / "IMG_20250101_090001.jpg").taken is None
    assert read_facts(save(tmp_path / "IMG_0451.jpg")).taken is None


@pytest.mark.parametrize("reader", ["_moment_by_pillow", "_moment_by_exifread"])
def test_one_reader_failing_leaves_the_word_to_the_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, reader: str
) -> None:
    def fail(*_: object) -> None:
        raise AssertionError("odd file")

    monkeypatch.setattr(photos, reader, fail)
    assert read_facts(save(tmp_path / "a.jpg", exif(TAKEN))).taken == "2026-03-21T14:05:17"


def test_a_time_kept_only_in_xmp_is_found(tmp_path: Path) -> None:
    packet = (
        b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><r xmp:CreateDate="2026-03-21T14:05:17.25+01:00"/></x:xmpmeta>'
    )
    scene(64, 64).save(tmp_path / "a.webp", xmp=packet)
    facts = read_facts(tmp_path / "a.webp")
    assert (facts.taken, facts.subsecond, facts.offset) == ("2026-03-21T14:05:17", "25", "+01:00")


def test_the_place_on_earth_is_in_no_fact(tmp_path: Path) -> None:
    facts = read_facts(save(tmp_path / "a.jpg", exif(TAKEN, gps=True)))
    assert "30" not in repr((facts.taken, facts.subsecond, facts.offset))


@pytest.mark.parametrize(
    "text",
    [
        "0000:00:00 00:00:00",
        "2026:00:21 14:05:17",
        "2026:13:01 14:05:17",
        "2026:02:30 14:05:17",
        "2026:03:21 25:00:00",
        "    :  :     :  :  ",
        "1970:01:01 00:00:00",
        "1904:01:01 00:00:00",
        "2026:03:21",
        "",
        "\0",
        "yesterday",
    ],
)
def test_a_time_that_never_was_is_none(tmp_path: Path, text: str) -> None:
    assert exif_moment(text) is None
    assert read_facts(save(tmp_path / "a.jpg", exif(text))).taken is None


@pytest.mark.parametrize(
    ("time", "subsecond", "offset", "wanted"),
    [
        (TAKEN, "", "", Moment("2026-03-21T14:05:17")),
        (TAKEN, "5", "+05:30", Moment("2026-03-21T14:05:17", "5", "+05:30")),
        (TAKEN, "  ", "   :  ", Moment("2026-03-21T14:05:17")),
        ("2026-03-21T14:05:17.123Z", "", "", Moment("2026-03-21T14:05:17", "123", "+00:00")),
        ("2026/03/21 14:05:17", "x", "", Moment("2026-03-21T14:05:17")),
    ],
)
def test_times_as_cameras_write_them(time: str, subsecond: str, offset: str, wanted: Moment) -> None:
    assert exif_moment(time, subsecond, offset) == wanted


@pytest.mark.parametrize(
    ("name", "taken", "subsecond"),
    [
        ("IMG_20260321_140517.jpg", "2026-03-21T14:05:17", ""),
        ("PXL_20260321_140517123.jpg", "2026-03-21T14:05:17", "123"),
        ("IMG-20260321-WA0007.jpg", "2026-03-21", ""),
        ("Screenshot 2026-03-21 at 14.05.17.png", "2026-03-21T14:05:17", ""),
        ("signal-2026-03-21-14-05-17-123.jpg", "2026-03-21T14:05:17", ""),
        ("2026-03-21.jpg", "2026-03-21", ""),
        ("20260321_999999.jpg", "2026-03-21", ""),
    ],
)
def test_a_date_in_a_file_name(name: str, taken: str, subsecond: str) -> None:
    moment = moment_in_name(name)
    assert moment
    assert (moment.taken, moment.subsecond) == (taken, subsecond)


@pytest.mark.parametrize(
    "name",
    [
        "IMG_0451.jpg",
        "DSC_20269921.jpg",
        "120260321.jpg",
        "202603211.jpg",
        "1774101917123.jpg",
        "00000000.jpg",
    ],
)
def test_a_number_is_no_date(name: str) -> None:
    assert moment_in_name(name) is None


# -- what cannot be read -------------------------------------------------------------------------------------


def _loop(path: Path) -> None:
    path.symlink_to(path.name)


@pytest.mark.parametrize(
    ("make", "word", "says"),
    [
        (lambda path: None, "missing-photo", "not there"),
        (lambda path: path.symlink_to("nowhere"), "missing-photo", "not there"),
        (_loop, "unreadable-photo", "circle"),
        (lambda path: path.mkdir(), "unreadable-photo", "a folder"),
        (lambda path: os.mkfifo(path), "unreadable-photo", "no ordinary file"),
        (lambda path: path.write_bytes(b""), "unreadable-photo", "empty"),
        (lambda path: path.write_text("<html>not found</html>"), "unreadable-photo", "no picture of a kind"),
        (lambda path: path.write_bytes(b"\xff\xd8\xff\xe0"), "unreadable-photo", "damaged"),
        (lambda path: path.write_bytes(b"\x89PNG\r\n\x1a\n"), "unreadable-photo", "damaged"),
        (lambda path: path.write_bytes(b"\0\0\0\x18ftypheic" + bytes(40)), "unreadable-photo", "damaged"),
        (lambda path: path.write_bytes(b"\0\0\0\x18ftypavif" + bytes(40)), "unreadable-photo", "damaged"),
        (lambda path: path.write_bytes(b"II*\0\x08\0\0\0" + bytes(40)), "unreadable-photo", "damaged"),
        (lambda path: path.write_bytes(b"RIFF\x08\0\0\0WEBP"), "unreadable-photo", "damaged"),
        (
            lambda path: path.write_bytes(b"%!PS-Adobe-3.0 EPSF-3.0\n"),
            "unreadable-photo",
            "no picture of a kind",
        ),
    ],
)
def test_what_is_no_picture_is_told_in_plain_words(tmp_path: Path, make, word: str, says: str) -> None:  # type: ignore[no-untyped-def]
    path = tmp_path / "IMG_1.jpg"
    make(path)
    with pytest.raises(PhotoFault, match=says) as fault:
        header_facts(path)
    assert fault.value.word == word


def test_a_file_that_may_not_be_read_is_not_called_damaged(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = save_jpeg(tmp_path / "a.jpg")

    def closed(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("builtins.open", closed)
    with pytest.raises(PhotoFault, match="permissions forbid") as fault:
        header_facts(path)
    assert not fault.value.lasting


def test_a_header_is_read_without_decoding(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def decoded(*_: object) -> None:
        raise MemoryError

    monkeypatch.setattr(PngImagePlugin.PngImageFile, "load", decoded)
    facts = header_facts(huge_png(tmp_path / "bomb.png", 60000, 60000))
    assert (facts.width, facts.height) == (60000, 60000)


@pytest.mark.parametrize("suffix", FORMATS)
def test_a_file_cut_short_looks_so_without_decoding(tmp_path: Path, suffix: str) -> None:
    data = save(tmp_path / f"a{suffix}", size=(640, 480)).read_bytes()
    (tmp_path / f"cut{suffix}").write_bytes(data[: len(data) * 7 // 10])
    assert not _seems_whole(tmp_path / f"cut{suffix}")


def _seems_whole(path: Path) -> bool:
    try:
        return header_facts(path).whole
    except PhotoFault:
        return False


# -- WebP row by row -----------------------------------------------------------------------------------------

WEBP: dict[str, tuple[str, dict[str, object]]] = {
    "with loss": ("RGB", {"quality": 80}),
    "without loss": ("RGB", {"lossless": True}),
    "transparent": ("RGBA", {"quality": 80}),
    "transparent, without loss": ("RGBA", {"lossless": True, "exact": True}),
}


def _webp(path: Path, mode: str, options: dict[str, object]) -> Path:
    picture = scene(333, 211).convert(mode)
    if mode == "RGBA":
        picture.putalpha(picture.getchannel(1))
    everything = {"exif": exif(TAKEN, orientation=6), "icc_profile": profile(DISPLAY_P3), "xmp": b"<x/>"}
    picture.save(path, "WEBP", **options, **everything)
    return path


@pytest.mark.parametrize("kind", WEBP)
def test_a_still_webp_is_read_as_pillow_reads_it(tmp_path: Path, kind: str) -> None:
    path = _webp(tmp_path / "a.webp", *WEBP[kind])
    with open(path, "rb") as file, open_picture(file) as ours, WebPImagePlugin.WebPImageFile(path) as theirs:
        assert type(ours) is webp.StillWebP
        assert ours.has_transparency_data == theirs.has_transparency_data
        assert {name: ours.info[name] for name in ("exif", "icc_profile", "xmp")} == {
            name: theirs.info[name] for name in ("exif", "icc_profile", "xmp")
        }
        assert ours.convert(theirs.mode).tobytes() == theirs.tobytes()


def test_a_webp_that_moves_is_its_first_picture_by_pillow(tmp_path: Path) -> None:
    frames = [scene(64, 48, seed) for seed in range(3)]
    frames[0].save(tmp_path / "a.webp", save_all=True, append_images=frames[1:], lossless=True)
    with open(tmp_path / "a.webp", "rb") as file, open_picture(file) as picture:
        assert type(picture) is webp.Film
        assert picture.convert("RGB").tobytes() == frames[0].tobytes()
    assert header_facts(tmp_path / "a.webp").progressive


def test_without_libwebp_in_reach_pillow_serves(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = _webp(tmp_path / "a.webp", *WEBP["with loss"])
    reached = read_facts(path)
    monkeypatch.setattr(webp, "_libwebp", None)
    pillow = read_facts(path)
    assert (reached.taken, reached.width, reached.height) == (pillow.taken, pillow.width, pillow.height)
    assert (reached.progressive, pillow.progressive) == (False, True)


@pytest.mark.parametrize("length", [12, 20, 25, 30, 40])
def test_a_webp_cut_in_its_header_is_a_plain_fault(tmp_path: Path, length: int) -> None:
    for kind, row in WEBP.items():
        path = _webp(tmp_path / f"{kind}.webp", *row)
        path.write_bytes(path.read_bytes()[:length])
        told = _told(path)
        assert told == DAMAGED or told == "cut short"


def _told(path: Path) -> str:
    try:
        return "whole" if header_facts(path).whole else "cut short"
    except PhotoFault as fault:
        return fault.message
