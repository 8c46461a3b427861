"""Colour kept true: which standard a picture's colours follow, and a profile of our own that says so.

A camera's own profile is never published, it may carry names and dates. Colours of a well-known standard are
kept as they are and labelled with a profile made here from the standard's numbers; others become sRGB.
"""

from __future__ import annotations

import io
import math
import struct
from functools import cache
from typing import TYPE_CHECKING

from journal.ground.records import record

if TYPE_CHECKING:
    from PIL.Image import Image

Vector = tuple[float, float, float]

# ICC.1:2022, 10.18, function type 3: Y = (aX + b)^g from d up, cX below. IEC 61966-2-1 gives the numbers.
SRGB_CURVE = (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)
# Adobe RGB (1998) colour image encoding, 4.3.1.2: a plain power of 2 51/256.
ADOBE_CURVE = (563 / 256, 1.0, 0.0, 0.0, 0.0)
TOLERANCE = 0.004  # profile writers round differently; the standards lie at least ten times this far apart


@record
class Gamut:
    """A standard's name, its red, green and blue as XYZ under D50, and its curve.

    The XYZ are worked out from the chromaticities of the standard, adapted from D65 by Bradford's matrix (a
    test does the sum again).
    """

    name: str
    colorants: tuple[Vector, Vector, Vector]
    curve: tuple[float, float, float, float, float]


SRGB = Gamut(
    "sRGB",
    ((0.43607, 0.22249, 0.01392), (0.38515, 0.71687, 0.09708), (0.14307, 0.06061, 0.71410)),
    SRGB_CURVE,
)
DISPLAY_P3 = Gamut(
    "Display P3",
    ((0.51512, 0.24120, -0.00105), (0.29198, 0.69225, 0.04189), (0.15710, 0.06657, 0.78407)),
    SRGB_CURVE,
)
ADOBE_RGB = Gamut(
    "Adobe RGB (1998)",
    ((0.60974, 0.31111, 0.01947), (0.20528, 0.62567, 0.06087), (0.14919, 0.06322, 0.74457)),
    ADOBE_CURVE,
)
GAMUTS = (SRGB, DISPLAY_P3, ADOBE_RGB)

EXIF_IFD, INTEROP_IFD, INTEROP_INDEX = 0x8769, 0xA005, 1
P3_PRIMARIES = 12  # ITU-T H.273, table 2


def true_colours(picture: Image, source: Image) -> tuple[Image, bytes]:
    """`picture`, shrunk from `source`, as RGB or grey, and the profile to embed: b"" for sRGB."""
    icc = source.info.get("icc_profile") or b""
    gamut = _gamut_of(icc) if icc else _gamut_of_tags(source)
    if gamut is None:
        picture = _to_srgb(picture, icc)
    if picture.mode not in ("RGB", "L"):
        picture = picture.convert("RGB")
    if gamut in (None, SRGB) or picture.mode == "L":
        return picture, b""
    return picture, profile(gamut)


def _gamut_of_tags(source: Image) -> Gamut | None:
    """The standard that a picture without a profile names by a tag; sRGB where it says nothing."""
    if source.mode == "LAB":
        return None
    nclx = source.info.get("nclx_profile")
    if isinstance(nclx, dict) and nclx.get("color_primaries") == P3_PRIMARIES:
        return DISPLAY_P3
    if source.format in ("JPEG", "MPO", "TIFF"):
        try:
            # DCF 2.0, 3.2: interoperability index R03 is the optional colour space, Adobe RGB.
            if str(source.getexif().get_ifd(INTEROP_IFD).get(INTEROP_INDEX, "")).startswith("R03"):
                return ADOBE_RGB
        except Exception:  # a damaged tag table says nothing
            return SRGB
    return SRGB


def _to_srgb(picture: Image, icc: bytes) -> Image:
    """Convert by the picture's own profile; if that is damaged or of another kind, take it for sRGB."""
    from PIL import ImageCms

    try:
        if picture.mode == "LAB":
            own = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB"))
        else:
            own = ImageCms.ImageCmsProfile(io.BytesIO(icc))
        intent = ImageCms.Intent.RELATIVE_COLORIMETRIC
        converted = ImageCms.profileToProfile(
            picture, own, ImageCms.createProfile("sRGB"), renderingIntent=intent, outputMode="RGB"
        )
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        return picture
    return converted or picture


# -- reading a profile ---------------------------------------------------------------------------------------


def _gamut_of(icc: bytes) -> Gamut | None:
    """The standard whose numbers a profile holds, whatever it calls itself; None for any other."""
    try:
        tags = _tags(icc)
        if icc[16:20] != b"RGB " or b"A2B0" in tags:
            return None
        colorants = [_xyz(tags[name]) for name in (b"rXYZ", b"gXYZ", b"bXYZ")]
        curves = [tags[name] for name in (b"rTRC", b"gTRC", b"bTRC")]
        for gamut in GAMUTS:
            if _near(colorants, gamut.colorants) and all(_same_curve(curve, gamut) for curve in curves):
                return gamut
    except (struct.error, KeyError, IndexError, ValueError, OverflowError, ZeroDivisionError):
        pass
    return None


def _tags(icc: bytes) -> dict[bytes, bytes]:
    """The tag table (ICC.1:2022, 7.3)."""
    (count,) = struct.unpack_from(">I", icc, 128)
    rows = [struct.unpack_from(">4sII", icc, 132 + 12 * index) for index in range(min(count, 100))]
    return {name: icc[start : start + length] for name, start, length in rows}


def _xyz(tag: bytes) -> Vector:
    x, y, z = struct.unpack_from(">iii", tag, 8)
    return x / 65536, y / 65536, z / 65536


def _near(found: list[Vector], wanted: tuple[Vector, Vector, Vector]) -> bool:
    return all(
        abs(a - b) < TOLERANCE
        for one, other in zip(found, wanted, strict=True)
        for a, b in zip(one, other, strict=True)
    )


def _same_curve(tag: bytes, gamut: Gamut) -> bool:
    return all(abs(_along(tag, x) - _power(gamut.curve, x)) < TOLERANCE for x in (0.1, 0.25, 0.5, 0.75))


def _along(tag: bytes, x: float) -> float:
    """A tone curve at `x` (ICC.1:2022, 10.6 and 10.18; the parametric kinds cameras write: 0 and 3)."""
    if tag[:4] == b"para":
        (kind,) = struct.unpack_from(">H", tag, 8)
        if kind not in (0, 3):
            raise ValueError(kind)
        numbers = [value / 65536 for value in struct.unpack_from(">5i" if kind else ">1i", tag, 12)]
        return _power((*numbers, 1.0, 0.0, 0.0, 0.0)[:5], x)
    (count,) = struct.unpack_from(">I", tag, 8)
    values: tuple[int, ...] = struct.unpack_from(f">{count}H", tag, 12)
    if count < 2:
        return math.pow(x, values[0] / 256) if count else x
    low, part = divmod(x * (count - 1), 1)
    here, there = values[int(low)], values[min(int(low) + 1, count - 1)]
    return float(here + part * (there - here)) / 65535


def _power(curve: tuple[float, ...], x: float) -> float:
    g, a, b, c, d = curve
    return math.pow(a * x + b, g) if x >= d else c * x


# -- making a profile ----------------------------------------------------------------------------------------

D50 = (0.9642, 1.0, 0.8249)
# Bradford from D65 to D50, as the ICC profile specification's annex E has it.
CHROMATIC = (1.04791, 0.02293, -0.05020, 0.02960, 0.99046, -0.01707, -0.00925, 0.01506, 0.75179)


@cache
def profile(gamut: Gamut) -> bytes:
    """A display profile (ICC.1:2022, version 4) for a standard: its numbers and its name, nothing else."""
    curve = b"para" + bytes(4) + struct.pack(">HH", 3, 0) + _fixed(*gamut.curve)
    tags = [
        (b"desc", _words(gamut.name)),
        (b"cprt", _words("No copyright")),
        (b"wtpt", b"XYZ " + bytes(4) + _fixed(*D50)),
        (b"chad", b"sf32" + bytes(4) + _fixed(*CHROMATIC)),
        *(
            (name, b"XYZ " + bytes(4) + _fixed(*xyz))
            for name, xyz in zip(_COLORANTS, gamut.colorants, strict=True)
        ),
    ]
    table, body = b"", b""
    start = 128 + 4 + 12 * (len(tags) + 3)
    for name, data in tags:
        table += struct.pack(">4sII", name, start + len(body), len(data))
        body += data + bytes(-len(data) % 4)
    for name in (b"rTRC", b"gTRC", b"bTRC"):
        table += struct.pack(">4sII", name, start + len(body), len(curve))
    content = struct.pack(">I", len(tags) + 3) + table + body + curve
    return _header(128 + len(content)) + content


_COLORANTS = (b"rXYZ", b"gXYZ", b"bXYZ")


def _header(length: int) -> bytes:
    """The first 128 bytes: a display profile of RGB over XYZ; the date is always the same."""
    return (
        struct.pack(">I4sI4s4s4s", length, b"", 0x04400000, b"mntr", b"RGB ", b"XYZ ")
        + struct.pack(">6H", 2026, 1, 1, 0, 0, 0)
        + b"acsp"
        + bytes(28)
        + _fixed(*D50)
        + bytes(48)
    )


def _words(text: str) -> bytes:
    """A multi-localised text of one language (ICC.1:2022, 10.15)."""
    letters = text.encode("utf-16-be")
    return b"mluc" + bytes(4) + struct.pack(">II4sII", 1, 12, b"enUS", len(letters), 28) + letters


def _fixed(*numbers: float) -> bytes:
    return struct.pack(f">{len(numbers)}i", *(round(number * 65536) for number in numbers))
