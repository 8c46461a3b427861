"""Facts of a picture from its header alone: size as seen upright, time from whoever can read it."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from PIL import Image, PngImagePlugin

from journal.read import photos
from journal.read.moments import Moment, exif_moment, moment_in_name
from journal.read.photos import PHOTO_SUFFIXES, PhotoFault, header_facts, read_facts
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
