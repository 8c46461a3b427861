"""Where everything on the site lives, and how one page links to another.

A target is a path from the site's root, with a fragment where it means a place on the page:
`parts/sill-left/index.html#m-12`. Links name index.html, so that they work from a folder as well as from a server.
"""

from __future__ import annotations

import re
from datetime import date
from urllib.parse import quote

OVERVIEW = "index.html"
DAYS = "days/index.html"
PARTS = "parts/index.html"
PLACES = "places/index.html"
MEASUREMENTS = "measurements/index.html"
TO_RECORD = "to-record/index.html"
JOBS = "jobs/index.html"
GOING_BACK = "going-back/index.html"
FIXINGS = "fixings/index.html"
TREATMENTS = "treatments/index.html"
TAGS = "tags/index.html"
SEARCH = "search/index.html"
NOT_FOUND = "404.html"
THEME_FILES = "theme/"

PLAIN = "-._~"  # what needs no quoting in an address, letters and figures aside (RFC 3986, 2.3)
SAFE = re.compile(r"[A-Za-z0-9/._~-]*(?:#[A-Za-z0-9._~-]*)?").fullmatch


def day(on: date) -> str:
    return f"days/{on.isoformat()}/index.html"


def part(part_id: str) -> str:
    return f"parts/{part_id}/index.html"


def place(place_id: str) -> str:
    return f"places/{place_id}/index.html"


def reading(part_id: str, reading_id: str) -> str:
    """A reading among those of its part: its address in the data files."""
    return f"{part(part_id)}#{reading_anchor(reading_id)}"


def reading_anchor(reading_id: str) -> str:
    return f"m-{reading_id}"


def line_anchor(note: int, line: int) -> str:
    """A line of a note on its day's page; notes and lines count from 1."""
    return f"note-{note}-line-{line}"


def photo_anchor(number: int) -> str:
    """A picture on its day's page; pictures count from 1 in the day's order."""
    return f"photo-{number}"


def job(job_id: str) -> str:
    return f"{JOBS}#job-{job_id}"


def order(order_id: str) -> str:
    return f"{JOBS}#order-{order_id}"


def measurements(sheet: int) -> str:
    """The measurements come in sheets, from 1, so that a phone can hold one."""
    return MEASUREMENTS if sheet == 1 else f"measurements/{sheet}/index.html"


def template(name: str, ending: str) -> str:
    """A full-size template of a part, or of a face below `faces/`."""
    return f"templates/{name}.{ending}"


def relative(page: str, target: str) -> str:
    """The link that leads from a page to a target, both from the site's root: up to the root, then down."""
    path, hash_sign, fragment = target.partition("#")
    if path == page and fragment:
        return hash_sign + quote(fragment, safe=PLAIN)
    return "../" * page.count("/") + (target if SAFE(target) else _quoted(path, fragment))


def _quoted(path: str, fragment: str) -> str:
    return quote(path, safe="/" + PLAIN) + ("#" + quote(fragment, safe=PLAIN) if fragment else "")
