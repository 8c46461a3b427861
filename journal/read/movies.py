"""When a movie or a voice memo was made, from its header (ISO base media and QuickTime files).

Apple's phones write local time with its offset; all others write Coordinated Universal Time, which is turned into
the time of this computer, for want of a better.
"""

from __future__ import annotations

import re
import struct
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import BinaryIO

from journal.read.moments import Moment, exif_moment

MOST_HEADER = 64 << 20
QUICKTIME_EPOCH = datetime(1904, 1, 1, tzinfo=UTC)  # ISO/IEC 14496-12, 8.2.2
LOCAL_TIME = re.compile(rb"(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d)([+-]\d\d):?(\d\d)", re.ASCII)


def movie_moment(path: Path) -> Moment | None:
    """The moment a movie began; None where its header does not tell, or there is none. Raises OSError."""
    with open(path, "rb") as file:
        for kind, length in _boxes(file):
            if kind == b"moov" and length <= MOST_HEADER:
                return _moment(file.read(length))
    return None


def _boxes(file: BinaryIO) -> Iterator[tuple[bytes, int]]:
    """The top boxes of a file, kind and length of what follows; the file stands at their content."""
    place, size = 0, file.seek(0, 2)
    while place + 8 <= size:
        file.seek(place)
        length, kind = struct.unpack(">I4s", file.read(8))
        head = 8
        if length == 1:
            wide = file.read(8)
            length, head = int.from_bytes(wide, "big"), 16
        if length < head:
            return
        yield kind, length - head
        place += length


def _moment(header: bytes) -> Moment | None:
    if b"com.apple.quicktime.creationdate" in header and (found := LOCAL_TIME.search(header)):
        time, hours, minutes = (part.decode() for part in found.groups())
        return exif_moment(time, offset=f"{hours}:{minutes}")
    place = header.find(b"mvhd")
    if place < 0 or len(header) < place + 16:
        return None
    seconds = struct.unpack_from(">Q" if header[place + 4] == 1 else ">I", header, place + 8)[0]
    try:
        made = (QUICKTIME_EPOCH + timedelta(seconds=seconds)).astimezone()
    except (OverflowError, ValueError, OSError):
        return None
    return exif_moment(made.strftime("%Y-%m-%dT%H:%M:%S"))
