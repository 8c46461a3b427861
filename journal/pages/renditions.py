"""One picture to three JPEGs: decoded once, as small as will do, shrunk step by step, turned last.

Runs in a worker process (`journal.pages.workers`), because a decoder may crash, hang or eat memory.
"""

from __future__ import annotations

import hashlib
import io
import os
from collections.abc import Iterator, Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, NamedTuple, cast

from journal.pages.colour import true_colours
from journal.read.photos import (
    DAMAGED,
    PhotoFacts,
    PhotoFault,
    check_file,
    file_fault,
    filled,
    missing_bytes,
    open_picture,
    orientation_of,
    quietly,
)

if TYPE_CHECKING:
    from PIL.Image import Image

SIZES = (1600, 800, 400)
QUALITY = 82
# What shows through a transparent picture: the page's ground by day.
GROUND = (0xFA, 0xF8, 0xF3)
# Y, Cb and Cr of 0 as red, green and blue; the green by the factors of ITU-R BT.709 and BT.601, as they round.
NOTHING_DECODED = ({0}, {83, 84, 85, 134, 135, 136}, {0})
# Part of every published name: raise it when the same picture would come out differently.
RECIPE = b"journal 1 "
# Published pictures never change under their name, so their time says nothing; one for all keeps a sync quiet
# even when the cache was made anew. 2000-01-01.
FIXED_TIME = 946_684_800

# Memory a decode takes, in bytes a pixel of the whole picture (measured on 48 and 200 megapixels): the decoder's
# buffers, what it hands over, and Pillow's copy. A JPEG is decoded at a reduced size, see `cost`. A WebP without
# loss takes 9, one with it half of that, and the header alone does not tell them apart.
DECODE_BYTES = {"JPEG": 4, "MPO": 4, "PNG": 5, "TIFF": 8, "WEBP": 9, "AVIF": 12, "HEIF": 7}
# What a JPEG in several scans takes more, all coefficients of three planes, two bytes each; and a WebP that moves,
# read by Pillow: two canvases and two copies, 16 bytes in all.
PROGRESSIVE_BYTES = 7
OVERHEAD = 40_000_000  # renditions and the file itself
# What one picture may take; it lets the 200 megapixels through that phones make today. The second bound is for
# JPEG, whose reduced decode is small but not quick.
MOST_MEMORY = 1_450_000_000
MOST_PIXELS = 500_000_000
STRIP_PIXELS = 4_000_000


class Drawn(NamedTuple):
    """What drawing a picture gave.

    width, height  of the original, as seen upright
    partial        the file is damaged part of the way; what could be read is shown
    sizes          (width, height, bytes) of each rendition, smallest first; empty if none were asked for
    """

    width: int
    height: int
    partial: bool
    sizes: tuple[tuple[int, int, int], ...]


def content_key(path: Path) -> str:
    """A name for what is in the file and how it is drawn. Raises PhotoFault."""
    try:
        with open(path, "rb") as file:
            return hashlib.file_digest(file, lambda: hashlib.sha256(RECIPE)).hexdigest()[:24]
    except OSError as fault:
        raise file_fault(fault) from fault


def cost(facts: PhotoFacts) -> int:
    """Bytes of memory that drawing the picture takes at most."""
    pixels = facts.width * facts.height
    scale = _draft_scale(max(facts.width, facts.height)) if facts.format in ("JPEG", "MPO") else 1
    bytes_needed = pixels // scale**2 * DECODE_BYTES[facts.format]
    return OVERHEAD + bytes_needed + (pixels * PROGRESSIVE_BYTES if facts.progressive else 0)


def is_too_large(facts: PhotoFacts) -> bool:
    """Whether the header alone says that the picture is not to be decoded."""
    return facts.width * facts.height > MOST_PIXELS or cost(facts) > MOST_MEMORY


def draw(path: Path, into: Path | None, name: str) -> Drawn:
    """Draw the renditions of `path` into a folder as `name`-LONG.jpg; None: only find out if it can be read.

    Raises PhotoFault for what the picture is to blame for, OSError for what the folder is.
    """
    check_file(path)
    try:
        with quietly():
            base, width, height, orientation, icc, partial = _decode(path)
    except PhotoFault:
        raise
    except MemoryError:
        raise PhotoFault("it needs more memory than one picture may take") from None
    except OSError as fault:
        raise file_fault(fault) from fault
    except Exception as fault:
        raise PhotoFault(DAMAGED) from fault
    sizes = _save_all(base, orientation, icc, into, name) if into else ()
    return Drawn(width, height, partial, sizes)


def _decode(path: Path) -> tuple[Image, int, int, int, bytes, bool]:
    source, partial = _load(path)
    width, height = source.info.get(FULL_SIZE, source.size)
    orientation = orientation_of(source)
    small = _shrink(source, SIZES[0])
    if partial and source.format == "HEIF":
        small = _without_green(small)
    base, icc = true_colours(small, source)
    if partial and _is_blank(base):
        raise PhotoFault(DAMAGED)
    if orientation >= 5:
        width, height = height, width
    return base, width, height, orientation, icc, partial


# -- decoding ------------------------------------------------------------------------------------------------

FULL_SIZE = "journal full size"
END = b"\xff\xd9"
# Bytes that can only be picture data: a JPEG that still waits for some takes them, a complete one skips them.
FILLER = bytes(hashlib.sha256(bytes([index])).digest()[0] % 255 for index in range(256)) * 16


def _load(path: Path) -> tuple[Image, bool]:
    """The decoded picture, and whether some of it is missing."""
    from PIL import ImageFile

    ImageFile.LOAD_TRUNCATED_IMAGES = False
    with open(path, "rb") as file:
        if missing_bytes(file):
            return _load_cut_media(file), True
        try:
            return _open(file), False
        except (OSError, SyntaxError, ValueError, EOFError):
            file.seek(0)
        if file.read(3) == b"\xff\xd8\xff":
            return _load_cut_jpeg(path.read_bytes())
        file.seek(0)
        ImageFile.LOAD_TRUNCATED_IMAGES = True
        return _open(file), True


def _load_cut_media(file: BinaryIO) -> Image:
    """A HEIC or AVIF that is too short. Its decoders take no part of a file, and some tell nobody what they left out.

    Filled up, all that is there is decoded: of a phone's HEIC, tile after tile. Some AVIF take only one filling.
    """
    with suppress(OSError, SyntaxError, ValueError, EOFError, RuntimeError):
        return _open(filled(file, b"\0"))
    return _open(filled(file, b"\xff"))


def _load_cut_jpeg(data: bytes) -> tuple[Image, bool]:
    """A JPEG without its end mark: it is given one. Whether data is missing shows by offering it more."""
    from PIL import ImageChops

    data = data.rstrip(b"\xff")
    picture = _open(io.BytesIO(data + END))
    try:
        padded = _open(io.BytesIO(data + FILLER + END))
        return picture, ImageChops.difference(picture, padded).getbbox() is not None
    except (OSError, SyntaxError, ValueError):
        return picture, True


def _open(file: BinaryIO) -> Image:
    """Open and decode; a JPEG no larger than needed."""
    picture = open_picture(file)
    size = picture.size
    picture.draft("RGB", _within(size, SIZES[0]))
    picture.load()
    if picture.format == "HEIF" and picture.size != size:
        raise PhotoFault(DAMAGED)
    picture.info[FULL_SIZE] = picture.size if picture.format == "TIFF" else size
    return picture


def _draft_scale(long: int) -> int:
    """The step at which a JPEG is decoded: 1, 2, 4 or 8, the largest that leaves enough."""
    return next((scale for scale in (8, 4, 2) if long >= scale * SIZES[0]), 1)


def _within(size: tuple[int, int], long: int) -> tuple[int, int]:
    """The size with the long edge given, the other rounded down so that a reduced decode still covers it."""
    longest = max(size)
    return max(1, size[0] * long // longest), max(1, size[1] * long // longest)


# -- shrinking -----------------------------------------------------------------------------------------------


def _shrink(source: Image, long: int) -> Image:
    """`source` without transparency, its long edge at most `long`; the large step goes strip by strip."""
    from PIL.Image import Resampling

    factor = max(source.size) // long
    picture = _flatten(source) if factor < 2 else _reduce(source, factor)
    if max(picture.size) <= long:
        return picture
    longest = max(picture.size)
    size = (max(1, round(picture.width * long / longest)), max(1, round(picture.height * long / longest)))
    return picture.resize(size, Resampling.BICUBIC)


def _reduce(source: Image, factor: int) -> Image:
    """A whole-number reduction in strips, so that only the decoded picture itself is large."""
    from PIL import Image

    reduced: Image.Image | None = None
    for top, strip in _strips(source, factor):
        small = _flatten(strip).reduce(factor)
        if reduced is None:
            reduced = Image.new(small.mode, (small.width, -(-source.height // factor)))
        reduced.paste(small, (0, top // factor))
    assert reduced is not None
    return reduced


def _strips(source: Image, factor: int) -> Iterator[tuple[int, Image]]:
    rows = factor * max(1, STRIP_PIXELS // (source.width * factor))
    for top in range(0, source.height, rows):
        yield top, source.crop((0, top, source.width, min(top + rows, source.height)))


def _flatten(picture: Image) -> Image:
    """The picture as RGB, grey, CMYK or LAB: 16-bit grey scaled, transparent parts on the page's ground."""
    from PIL import Image

    if picture.mode in ("RGB", "L", "CMYK", "LAB") and "transparency" not in picture.info:
        return picture
    if picture.mode.startswith("I") or picture.mode == "F":
        return _eight_bits(picture)
    if picture.has_transparency_data:
        picture = picture.convert("RGBA")
        ground = Image.new("RGB", picture.size, GROUND)
        ground.paste(picture, mask=picture.getchannel("A"))
        return ground
    return picture.convert("L" if picture.mode == "1" else "RGB")


def _eight_bits(picture: Image) -> Image:
    """Grey of 16 bits, or of any range in floating point, as 8 bits; a plain convert would clip to white."""
    if picture.mode == "F":
        low, high = cast(tuple[float, float], picture.getextrema())
        scale = 255 / (high - low) if high > low else 1
        return picture.point(lambda value: value * scale - low * scale).convert("L")
    return picture.convert("I").point(lambda value: value * (1 / 257)).convert("L")


def _without_green(picture: Image) -> Image:
    """Tiles of a HEIC that are missing are left at zero, which in YCbCr is a green: the page's ground instead."""
    from PIL import Image, ImageChops

    if picture.mode != "RGB":
        return picture
    masks = [
        band.point([255 * (value in values) for value in range(256)])
        for band, values in zip(picture.split(), NOTHING_DECODED, strict=True)
    ]
    mask = ImageChops.multiply(ImageChops.multiply(masks[0], masks[1]), masks[2])
    return Image.composite(Image.new("RGB", picture.size, GROUND), picture, mask)


def _is_blank(picture: Image) -> bool:
    extrema = picture.getextrema()
    bands = extrema if isinstance(extrema[0], tuple) else (extrema,)
    return all(low == high for low, high in cast(Sequence[tuple[float, float]], bands))


# -- saving --------------------------------------------------------------------------------------------------

# Exif 2.32, orientation, to the Pillow transposition that undoes it (PIL.Image.Transpose).
UPRIGHT = {2: 0, 3: 3, 4: 1, 5: 5, 6: 4, 7: 6, 8: 2}


def _save_all(
    base: Image, orientation: int, icc: bytes, into: Path, name: str
) -> tuple[tuple[int, int, int], ...]:
    """Each size from the one above it, turned upright only when it is small."""
    saved = []
    for picture in _cascade(base):
        upright = _turn(picture, orientation)
        saved.append((*upright.size, _save(upright, icc, into / f"{name}-{max(upright.size)}.jpg")))
    return tuple(reversed(saved))


def _turn(picture: Image, orientation: int) -> Image:
    from PIL.Image import Transpose

    return picture.transpose(Transpose(UPRIGHT[orientation])) if orientation in UPRIGHT else picture


def _cascade(base: Image) -> Iterator[Image]:
    """The base and each smaller size; halving by an exact box costs a tenth of a filtered resize."""
    yield base
    for long in SIZES[1:]:
        if max(base.size) > long:
            base = base.reduce(2) if max(base.size) == 2 * long else _shrink(base, long)
            yield base


def _save(picture: Image, icc: bytes, target: Path) -> int:
    """Write one JPEG with nothing in it but the picture and its colours; returns its length."""
    picture.info = {}  # Pillow would write a comment found there
    part = target.with_suffix(f".{os.getpid()}.part")  # one that outlived its killed run may be at the same picture
    picture.save(part, "JPEG", quality=QUALITY, icc_profile=icc or None)
    os.utime(part, (FIXED_TIME, FIXED_TIME))
    os.replace(part, target)
    return target.stat().st_size
