"""What a picture's header tells: its size as seen upright, and when it was taken.

Two readers are asked for the time, Pillow first and exifread as a second opinion: each misses files that the
other reads, and nothing that one file does to either of them may stop the build. GPS tags are left alone.
"""

from __future__ import annotations

import errno
import io
import os
import re
import stat
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO, NamedTuple

from journal.read.moments import Moment, exif_moment, moment_in_name

if TYPE_CHECKING:
    from PIL.Image import Image

PHOTO_SUFFIXES = frozenset(
    {
        ".jpg",
        ".jpeg",
        ".jpe",
        ".jfif",
        ".mpo",
        ".heic",
        ".heif",
        ".hif",
        ".avif",
        ".png",
        ".webp",
        ".tif",
        ".tiff",
    }
)
# How a kind of file begins, and its reader in Pillow. Pillow knows many more kinds; some start other programs
# and none comes out of a camera. A JPEG in several pictures (MPO) opens as its first one.
KINDS = (
    (re.compile(rb"\xff\xd8\xff"), "JPEG", "PIL.JpegImagePlugin"),
    (re.compile(rb"\x89PNG\r\n\x1a\n"), "PNG", "PIL.PngImagePlugin"),
    (re.compile(rb"RIFF.{4}WEBP", re.DOTALL), "WEBP", "journal.read.webp"),
    (re.compile(rb"II[*+]\0|MM\0[*+]"), "TIFF", "PIL.TiffImagePlugin"),
    (re.compile(rb".{4}ftyp.{0,48}?avi[fs]", re.DOTALL), "AVIF", "PIL.AvifImagePlugin"),
    (re.compile(rb".{4}ftyp(?:hei[cxms]|hev[cxms]|mi[fa][f1]|msf1)", re.DOTALL), "HEIF", "pi_heif"),
)

# Exif 2.32, tags of the Exif IFD: the moment of exposure, then the moment of digitising; each with its
# fraction of a second and its offset from UTC.
EXIF_IFD = 0x8769
ORIENTATION = 0x0112
TIME_TAGS = ((0x9003, 0x9291, 0x9011), (0x9004, 0x9292, 0x9012))
TIME_NAMES = (
    ("EXIF DateTimeOriginal", "EXIF SubSecTimeOriginal", "EXIF OffsetTimeOriginal"),
    ("EXIF DateTimeDigitized", "EXIF SubSecTimeDigitized", "EXIF OffsetTimeDigitized"),
)
XMP_TIME = re.compile(rb"(?:exif:DateTimeOriginal|xmp:CreateDate)(?:\s*=\s*[\"']|>)([^\"'<]{10,40})[\"'<]")


class PhotoFacts(NamedTuple):
    """What is known of a picture without decoding it. A tuple, as a build has thousands of them.

    taken      local time, "2026-03-21T14:05:17"; only the date where a file name says no more; None: unknown
    subsecond  digits after the second, "" if none; pictures of a burst are ordered by it
    offset     from UTC, "+01:00", where the camera wrote it
    width, height  in pixels, as seen upright
    format     as Pillow names it: JPEG, MPO, PNG, WEBP, AVIF, TIFF, HEIF
    mode       Pillow's pixel mode, "RGB"
    progressive  decoded in a way that takes more memory: a JPEG in several scans, a WebP that moves
    whole      the file ends as its format says; False asks for a decode before it is trusted
    """

    taken: str | None
    subsecond: str
    offset: str | None
    width: int
    height: int
    format: str
    mode: str
    progressive: bool
    whole: bool


class PhotoFault(Exception):
    """A picture that cannot be used.

    message  what is wrong with it, a sentence without the picture's name: "it is empty"
    word     "missing-photo" or "unreadable-photo"
    lasting  it lies in the file's content: as long as that does not change, nor does the fault
    """

    def __init__(self, message: str, word: str = "unreadable-photo", *, lasting: bool = True) -> None:
        super().__init__(message)
        self.message = message
        self.word = word
        self.lasting = lasting


DAMAGED = "it is damaged, nothing of it can be shown"
_REASONS = {
    errno.EACCES: "it may not be read: its permissions forbid it",
    errno.EPERM: "it may not be read: its permissions forbid it",
    errno.ELOOP: "it is a link that leads round in a circle",
    errno.EIO: "the disk could not read it",
}


def file_fault(fault: OSError) -> PhotoFault:
    """What the system or a decoder refused, in plain words; a decoder's refusal has no error number."""
    if fault.errno in (errno.ENOENT, errno.ENOTDIR):
        return PhotoFault("it is not there", "missing-photo", lasting=False)
    return PhotoFault(_REASONS.get(fault.errno or 0, DAMAGED), lasting=not fault.errno)


def read_facts(path: Path) -> PhotoFacts:
    """The facts of a picture, its time from its name where the header has none. Raises PhotoFault."""
    return dated_by_name(header_facts(path), path.name)


def dated_by_name(facts: PhotoFacts, name: str) -> PhotoFacts:
    """The same facts, with the date that the file name gives where the header gave none."""
    moment = None if facts.taken else moment_in_name(name)
    return facts._replace(taken=moment.taken, subsecond=moment.subsecond) if moment else facts


def header_facts(path: Path) -> PhotoFacts:
    """What the header of a picture says, read without decoding it. Raises PhotoFault, nothing else."""
    check_file(path)
    try:
        with open(path, "rb") as file, quietly(), open_picture(filled(file)) as picture:
            return _facts(picture, file)
    except PhotoFault:
        raise
    except OSError as fault:
        raise file_fault(fault) from fault
    except (
        Exception
    ) as fault:  # a reader met something it did not foresee: the picture is lost, not the build
        raise PhotoFault(DAMAGED) from fault


def _facts(picture: Image, file: BinaryIO) -> PhotoFacts:
    format = str(picture.format)
    turned = format != "TIFF" and orientation_of(picture) >= 5  # Pillow gives a TIFF's size as seen upright
    width, height = reversed(picture.size) if turned else picture.size
    moment = _first_moment(picture, file)
    return PhotoFacts(
        moment.taken if moment else None,
        moment.subsecond if moment else "",
        moment.offset if moment else None,
        width,
        height,
        format,
        picture.mode,
        bool(picture.info.get("progressive")),
        _ends_well(file, picture),
    )


def check_file(path: Path | str) -> os.stat_result:
    """The stat of a plain file with something in it; refuses all else: opening a pipe would wait for ever."""
    try:
        info = os.stat(path)
    except OSError as fault:
        raise file_fault(fault) from None
    if stat.S_ISDIR(info.st_mode):
        raise PhotoFault("it is a folder, not a picture")
    if not stat.S_ISREG(info.st_mode):
        raise PhotoFault("it is no ordinary file")
    if info.st_size == 0:
        raise PhotoFault("it is empty, 0 bytes")
    return info


def open_picture(file: BinaryIO) -> Image:
    """Open a picture by what it holds, whatever its name says; nothing is decoded yet.

    The decoders' own limits are off: they refuse pictures that phones take today. The size is judged by what
    drawing it would cost instead (`journal.pages.renditions`).
    """
    from PIL import Image

    Image.MAX_IMAGE_PIXELS = None
    head = file.read(64)
    file.seek(0)
    for pattern, format, module in KINDS:
        if pattern.match(head):
            reader = import_module(module)
            if format == "HEIF":
                reader.register_heif_opener(thumbnails=False, depth_images=False, aux_images=False)
            return Image.open(file, formats=reader.register() if format == "WEBP" else [format])
    raise PhotoFault("it is no picture of a kind that can be read")


def orientation_of(picture: Image) -> int:
    """The Exif orientation still to be applied, 1 to 8. Of HEIC and TIFF the decoder has seen to it."""
    if picture.format == "PNG" and not {"exif", "Raw profile type exif"} & picture.info.keys():
        return 1  # asking would decode the whole picture
    with suppress(Exception):  # a damaged tag table: the picture is shown as it is stored
        value = picture.getexif().get(ORIENTATION, 1)
        return value if isinstance(value, int) and 1 <= value <= 8 else 1
    return 1


@contextmanager
def quietly() -> Iterator[None]:
    """The readers warn of every oddity in a tag table; none of it concerns the person."""
    import logging

    for name in ("exifread", "PIL"):
        logging.getLogger(name).setLevel(logging.CRITICAL)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        yield


# -- time ----------------------------------------------------------------------------------------------------


def _first_moment(picture: Image, file: BinaryIO) -> Moment | None:
    """The first time that a reader finds; each of them may fail in its own way on a damaged file."""
    asks: tuple[Callable[[], Moment | None], ...] = (
        lambda: _moment_by_pillow(picture),
        lambda: _moment_by_exifread(file),
        lambda: _moment_in_xmp(picture),
    )
    place = file.tell()
    for ask in asks:
        with suppress(Exception):
            moment = ask()
            file.seek(place)
            if moment:
                return moment
    return None


def _moment_by_pillow(picture: Image) -> Moment | None:
    if picture.format == "PNG" and not {"exif", "Raw profile type exif"} & picture.info.keys():
        return None
    tags = picture.getexif()
    inner = tags.get_ifd(EXIF_IFD)
    return _choose(TIME_TAGS, lambda tag: inner.get(tag, tags.get(tag)))


def _moment_by_exifread(file: BinaryIO) -> Moment | None:
    import exifread

    file.seek(0)
    tags = exifread.process_file(file, details=False, extract_thumbnail=False)
    return _choose(TIME_NAMES, lambda name: getattr(tags.get(name), "values", None))


def _choose(rows: tuple[tuple[Any, Any, Any], ...], value_of: Callable[[Any], object]) -> Moment | None:
    for time, subsecond, offset in rows:
        moment = exif_moment(_text(value_of(time)), _text(value_of(subsecond)), _text(value_of(offset)))
        if moment:
            return moment
    return None


def _moment_in_xmp(picture: Image) -> Moment | None:
    packet = picture.info.get("xmp") or picture.info.get("XML:com.adobe.xmp") or b""
    found = XMP_TIME.search(packet.encode() if isinstance(packet, str) else packet)
    return exif_moment(found[1].decode("ascii", "replace")) if found else None


def _text(value: object) -> str:
    if isinstance(value, bytes):
        value = value.decode("ascii", "replace")
    return value.split("\0")[0].strip() if isinstance(value, str) else ""


# -- whether the file ends where it should -------------------------------------------------------------------

TAIL = 1 << 16


def _ends_well(file: BinaryIO, picture: Image) -> bool:
    """A cheap look at the end of the file: a copy that was cut short is caught without decoding it.

    False proves nothing by itself: cameras add data of their own after the picture.
    """
    size = file.seek(0, os.SEEK_END)
    format = picture.format
    if format in ("JPEG", "MPO"):
        return b"\xff\xd9" in _tail(file, min(TAIL, size // 2))
    if format == "PNG":
        return b"IEND" in _tail(file, 64)
    if format == "WEBP":
        file.seek(4)
        return int.from_bytes(file.read(4), "little") + 8 <= size
    if format in ("HEIF", "AVIF"):
        return _last_box(file, size)[1] == size
    return _strips_fit(picture, size)


def _tail(file: BinaryIO, length: int) -> bytes:
    file.seek(-length, os.SEEK_END)
    return file.read()


def _strips_fit(picture: Any, size: int) -> bool:
    """Whether the strips or tiles of a TIFF end inside it (TIFF 6.0, tags 273 and 279, 324 and 325)."""
    tags = picture.tag_v2
    pairs = ((tags.get(273), tags.get(279)), (tags.get(324), tags.get(325)))
    return all(
        start + length <= size
        for starts, lengths in pairs
        if starts and lengths
        for start, length in zip(starts, lengths, strict=False)
    )


def missing_bytes(file: BinaryIO) -> int:
    """How much a HEIC or AVIF is too short: what its header or its data want beyond its end.

    0 for a file of another kind, and where anything else runs over: cameras add data of their own, in any shape.
    The file is left standing at its beginning.
    """
    size = file.seek(0, os.SEEK_END)
    file.seek(0)
    is_media = file.read(12)[4:8] == b"ftyp"
    name, end = _last_box(file, size) if is_media else (b"", size)
    file.seek(0)
    return end - size if name in (b"meta", b"mdat") else 0


def _last_box(file: BinaryIO, size: int) -> tuple[bytes, int]:
    """The name of the last top box of an ISO base media file and where it ends (ISO/IEC 14496-12, 4.2).

    "" with an end of its own where a box makes no sense.
    """
    name, place = b"", 0
    while place < size:
        file.seek(place)
        head = file.read(16)
        name, length = head[4:8], int.from_bytes(head[:4], "big")
        if length == 1:
            length = int.from_bytes(head[8:], "big")
        if length == 0:
            return name, size
        if length < 8:
            return b"", place
        place += length
    return name, place


MOST_FILLED = 64_000_000


def filled(file: BinaryIO, filler: bytes = b"\0") -> BinaryIO:
    """The file; of a HEIC or AVIF that is cut short a copy with its length made up, since no part of one is read."""
    missing = min(missing_bytes(file), MOST_FILLED)
    return io.BytesIO(file.read() + filler * missing) if missing else file
