"""The moment a picture was taken, from the text a camera wrote or from a file name."""

from __future__ import annotations

import re
from datetime import datetime

from journal.ground.records import record

EXIF_TIME = re.compile(
    r"\s*(\d{4})[:/.-](\d\d)[:/.-](\d\d)[ T](\d\d):(\d\d):(\d\d)(?:\.(\d+))?\s*([+-]\d\d:\d\d|Z)?",
    re.ASCII,
)
OFFSET = re.compile(r"[+-]\d\d:\d\d|Z", re.ASCII)
# A counter of eight digits is no date, so the parts are checked and nothing may touch them.
NAME_TIME = re.compile(
    r"(?<!\d)(\d{4})([-_.]?)(\d\d)\2(\d\d)"
    r"(?:[-_ .T]{1,2}(?:at )?(\d\d)[-_.:h]?(\d\d)[-_.:m]?(\d\d)(\d{3})?)?(?!\d)",
    re.ASCII,
)
# The zero of common clocks: a camera that lost its date writes these.
CLOCK_ZEROS = frozenset({"1904-01-01", "1970-01-01"})
EARLIEST_YEAR = 1900


@record
class Moment:
    """A time as a camera or a file name gives it.

    taken      local time, "2026-03-21T14:05:17", or "2026-03-21" where only the date is known
    subsecond  digits after the second, "" if none
    offset     from UTC, "+01:00", where it was written
    """

    taken: str
    subsecond: str = ""
    offset: str | None = None


def exif_moment(time: str, subsecond: str = "", offset: str = "") -> Moment | None:
    """A time as cameras write it, "2026:03:21 14:05:17"; None where it is no moment that can have been.

    Blanks, zeros, month 0 and the zero of the clock are all ways of saying that the camera did not know.
    """
    match = EXIF_TIME.match(time)
    if not match:
        return None
    taken = _iso(*match.group(1, 2, 3, 4, 5, 6))
    if not taken:
        return None
    digits = subsecond.strip() or match[7] or ""
    zone = offset.strip() if OFFSET.fullmatch(offset.strip()) else match[8]
    return Moment(
        taken, digits if digits.isascii() and digits.isdigit() else "", "+00:00" if zone == "Z" else zone
    )


def moment_in_name(name: str) -> Moment | None:
    """The date in a file name, with its time if there is one: IMG_20260321_140517, 2026-03-21 at 14.05.17."""
    for match in NAME_TIME.finditer(name):
        year, month, day, hour, minute, second, milli = match.group(1, 3, 4, 5, 6, 7, 8)
        taken = _iso(year, month, day, hour, minute, second) if hour else None
        if taken:
            return Moment(taken, milli or "")
        date = _iso(year, month, day)
        if date:
            return Moment(date[:10])
    return None


def _iso(
    year: str, month: str, day: str, hour: str = "0", minute: str = "0", second: str = "0"
) -> str | None:
    try:
        moment = datetime(int(year), int(month), int(day), int(hour), int(minute), int(second))
    except ValueError:
        return None
    text = moment.isoformat()
    return None if text[:10] in CLOCK_ZEROS or moment.year < EARLIEST_YEAR else text
