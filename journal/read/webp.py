"""WebP row by row: a third of the memory that Pillow's own reader takes, and a file cut short shown as far as it goes.

Pillow reads every WebP as a film: two canvases, a copy to hand over, and the picture, 16 bytes a pixel. A still one
needs a single canvas. libwebp's incremental decoder fills it; it is in the library that Pillow brought along, and is
reached through Pillow's own module. Where that does not show it (a Pillow with libwebp built in, as on Windows), and
for a WebP that moves, Pillow's reader serves.
"""

from __future__ import annotations

import ctypes
import struct
from collections.abc import Iterator
from typing import IO, Any

from PIL import Image, ImageFile, WebPImagePlugin, _webp

STILL = "STILL WEBP"
FILM = "WEBP"

# RFC 9649, 2.7: chunks and the flags of VP8X; 3.4: the alpha bit of a lossless header.
MOVES, HAS_ALPHA = 0x02, 0x10
NAMES = {b"ICCP": "icc_profile", b"EXIF": "exif", b"XMP ": "xmp"}
HEAD = 64
MODE_RGBA = 1  # WEBP_CSP_MODE of libwebp's decode.h
BYTES = 4


class StillWebP(ImageFile.ImageFile):
    """A WebP of one frame; "RGBX" where nothing in it is transparent, so that its canvas can be used as it is."""

    format = "WEBP"
    format_description = "WebP picture"

    def _open(self) -> None:
        assert self.fp
        head = self.fp.read(HEAD)
        if _libwebp is None or _flags(head) & MOVES:
            raise SyntaxError("not for this reader")
        self._size = _size(head)
        self._mode = "RGBA" if _has_alpha(head) else "RGBX"
        self.info.update(_told_beside(self.fp))
        self.tile = []
        self._decoded = False

    def load(self) -> Any:
        """Decode. Raises OSError where rows are missing, unless Pillow was told to take truncated files."""
        if not self._decoded:
            assert self.fp
            self.fp.seek(0)
            canvas = bytearray(self.width * self.height * BYTES)
            rows = _fill(canvas, self.width, self.fp.read())
            if rows == 0 or (rows < self.height and not ImageFile.LOAD_TRUNCATED_IMAGES):
                raise OSError("rows are missing")
            self.im = Image.frombuffer(self.mode, self.size, canvas, "raw", self.mode, 0, 1).im
            self._decoded = True
        return Image.Image.load(self)


class Film(WebPImagePlugin.WebPImageFile):
    """A WebP by Pillow's own reader, marked as one that is taken at once."""

    def _open(self) -> None:
        super()._open()
        self.info["progressive"] = True


def register() -> tuple[str, str]:
    """Make both readers known to Pillow; their names there, the one to try first in front."""
    Image.register_open(STILL, StillWebP, WebPImagePlugin._accept)
    Image.register_open(FILM, Film, WebPImagePlugin._accept)
    return STILL, FILM


# -- the header ----------------------------------------------------------------------------------------------


def _flags(head: bytes) -> int:
    return head[20] if head[12:16] == b"VP8X" else 0


def _has_alpha(head: bytes) -> bool:
    if head[12:16] == b"VP8L":
        return bool(head[24] & HAS_ALPHA)
    return bool(_flags(head) & HAS_ALPHA)


def _told_beside(file: IO[bytes]) -> dict[str, bytes]:
    """What lies in the file beside the picture, in the order of Pillow's names; a file cut short ends early."""
    return {NAMES[name]: file.read(length) for name, length in _chunks(file) if name in NAMES}


def _chunks(file: IO[bytes]) -> Iterator[tuple[bytes, int]]:
    """Name and length of each chunk, the file standing at its content."""
    place = 12
    while len(head := (file.seek(place), file.read(8))[1]) == 8:
        name, length = struct.unpack("<4sI", head)
        yield name, length
        place += 8 + length + length % 2


# -- libwebp -------------------------------------------------------------------------------------------------


def _reach() -> ctypes.CDLL | None:
    """libwebp, by way of Pillow's module that was linked with it; None where it does not show."""
    try:
        library = ctypes.CDLL(_webp.__file__)
        library.WebPINewRGB.restype = ctypes.c_void_p
        library.WebPINewRGB.argtypes = (ctypes.c_int, ctypes.c_void_p, ctypes.c_size_t, ctypes.c_int)
        library.WebPIUpdate.argtypes = (ctypes.c_void_p, ctypes.c_char_p, ctypes.c_size_t)
        library.WebPIDecGetRGB.restype = ctypes.c_void_p
        library.WebPIDecGetRGB.argtypes = (ctypes.c_void_p, *[ctypes.POINTER(ctypes.c_int)] * 4)
        library.WebPIDelete.restype = None
        library.WebPIDelete.argtypes = (ctypes.c_void_p,)
        library.WebPGetInfo.argtypes = (ctypes.c_char_p, ctypes.c_size_t, *[ctypes.POINTER(ctypes.c_int)] * 2)
    except (OSError, AttributeError, TypeError):
        return None
    return library


_libwebp = _reach()


def _size(head: bytes) -> tuple[int, int]:
    width, height = ctypes.c_int(), ctypes.c_int()
    assert _libwebp
    if not _libwebp.WebPGetInfo(head, len(head), ctypes.byref(width), ctypes.byref(height)):
        raise SyntaxError("no header of a WebP")
    return width.value, height.value


def _fill(canvas: bytearray, width: int, data: bytes) -> int:
    """Decode `data` into a canvas of zeros; how many rows from the top were there."""
    assert _libwebp
    place = (ctypes.c_char * len(canvas)).from_buffer(canvas)
    decoder = _libwebp.WebPINewRGB(MODE_RGBA, place, len(canvas), width * BYTES)
    if not decoder:
        raise MemoryError
    try:
        _libwebp.WebPIUpdate(decoder, data, len(data))
        rows = ctypes.c_int(0)
        _libwebp.WebPIDecGetRGB(decoder, ctypes.byref(rows), None, None, None)
        return rows.value
    finally:
        _libwebp.WebPIDelete(decoder)
