"""Pictures for the tests, made here: nothing in them comes from anybody's camera."""

from __future__ import annotations

import struct
import zlib
from functools import cache
from pathlib import Path

import numpy as np
from PIL import Image

DATE_TIME_ORIGINAL, DATE_TIME_DIGITIZED, DATE_TIME = 0x9003, 0x9004, 0x0132
SUBSECOND, OFFSET, ORIENTATION, EXIF_IFD, GPS_IFD = 0x9291, 0x9011, 0x0112, 0x8769, 0x8825


@cache
def scene(width: int, height: int, seed: int = 0, noise: float = 3.0) -> Image.Image:
    """Something like a photograph: soft light, hard edges, the grain of a sensor."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    light = 110 + 70 * np.sin(x / width * 3 + seed) * np.cos(y / height * 2)
    picture = np.stack([light, light * 0.9 + 10, light * 0.7 + 30], axis=2)
    for _ in range(60):
        left, top = rng.integers(0, width), rng.integers(0, height)
        wide, high = rng.integers(1, max(2, width // 5)), rng.integers(1, max(2, height // 5))
        picture[top : top + high, left : left + wide] *= rng.uniform(0.5, 1.5, 3).astype(np.float32)
    grain = rng.standard_normal((height, width, 1)).astype(np.float32)
    picture += noise * grain + noise / 2 * rng.standard_normal(picture.shape).astype(np.float32)
    return Image.fromarray(np.clip(picture, 0, 255).astype(np.uint8))


def exif(
    taken: str | None = None,
    *,
    digitized: str | None = None,
    subsecond: str | None = None,
    offset: str | None = None,
    orientation: int | None = None,
    secret: str | None = None,
    gps: bool = False,
) -> Image.Exif:
    """A tag table as a camera writes it; `secret` goes into every text field that could carry a name."""
    tags = Image.Exif()
    inner: dict[int, object] = {}
    for tag, value in (
        (DATE_TIME_ORIGINAL, taken),
        (DATE_TIME_DIGITIZED, digitized),
        (SUBSECOND, subsecond),
        (OFFSET, offset),
    ):
        if value is not None:
            inner[tag] = value
    if orientation is not None:
        tags[ORIENTATION] = orientation
    if secret:
        tags[0x010E] = tags[0x013B] = tags[0x8298] = tags[0x010F] = secret
        inner[0x927C] = inner[0x9286] = secret.encode()
        inner[0xA430] = inner[0xA431] = secret
    if inner:
        tags[EXIF_IFD] = inner
    if gps:
        tags[GPS_IFD] = {1: "N", 2: (10.0, 20.0, 30.0), 3: "W", 4: (30.0, 1.0, 2.0)}
    written = Image.Exif()  # read back, because not every writer of Pillow takes one that was never bytes
    written.load(tags.tobytes())
    return written


def save_jpeg(path: Path, picture: Image.Image | None = None, **options: object) -> Path:
    """A JPEG of `picture` or a small scene; folders are made."""
    path.parent.mkdir(parents=True, exist_ok=True)
    (picture or scene(640, 480)).save(path, "JPEG", **{"quality": 88, **options})
    return path


def numbered(marks: list[list[int]], cell: int = 64) -> Image.Image:
    """A picture of large flat cells, one grey a number: their order can be read back after any shrinking."""
    array = np.kron(np.array(marks, dtype=np.uint8) * 40, np.ones((cell, cell), dtype=np.uint8))
    return Image.fromarray(array).convert("RGB")


def read_numbers(picture: Image.Image, rows: int, columns: int) -> list[list[int]]:
    """The numbers of `numbered`, from the middle of each cell."""
    grey = np.asarray(picture.convert("L"), dtype=float)
    high, wide = grey.shape[0] / rows, grey.shape[1] / columns
    return [
        [round(float(grey[int((r + 0.5) * high), int((c + 0.5) * wide)]) / 40) for c in range(columns)]
        for r in range(rows)
    ]


def png_chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def huge_png(path: Path, width: int, height: int) -> Path:
    """A PNG of one bit a pixel that takes a few kilobytes and claims any size."""
    packer = zlib.compressobj(9)
    row = bytes(1 + (width + 7) // 8)
    data = b"".join([packer.compress(row) for _ in range(min(height, 2000))] + [packer.flush()])
    head = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    path.write_bytes(
        b"\x89PNG\r\n\x1a\n" + png_chunk(b"IHDR", head) + png_chunk(b"IDAT", data) + png_chunk(b"IEND", b"")
    )
    return path
