"""The site at hand without a net: what a browser keeps of it, as a service worker and a web app manifest.

A service worker (W3C) keeps the last visited build; it needs https or this very machine, so from a folder nothing of
this is used. What is kept is settled here, when the site is made: every page and script first, then data, then the
small pictures, up to a limit. The worker's bytes change when anything kept does, so a browser notices a new build;
it takes a new build over only once every file is there with the digest that stands here, and then whole.

Addresses are relative to the folder of the worker: the site works below any path.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from urllib.parse import quote

from journal.ground.records import record
from journal.pages import address

WORKER_FILE = "offline-worker.js"
MANIFEST_FILE = "build.webmanifest"
PICTURES = "photos/"
TEMPLATES = "templates/"  # to be printed, which is done where there is a net
SMALL = 400  # long edge of the pictures that are kept
MOST_BYTES = 100_000_000
DIGEST = 32  # hexadecimal figures of a SHA-256: more than chance or a half-copied site can meet

Content = bytes | Path


@record
class Kept:
    """A file to keep: its path, its length in bytes, its digest; "" for a picture, whose name is its content's."""

    path: str
    size: int
    digest: str = ""


def keep(site: Mapping[str, Content], small: Iterable[str], most: int = MOST_BYTES) -> tuple[Kept, ...]:
    """What is kept of a site, most needed first, as long as it stays below `most` bytes in all.

    small  the small pictures, in the order they are wanted: those beyond the limit are left out
    """
    found: list[Kept] = []
    room = most
    for path, digested in _wanted(site, small):
        size = _size(site[path])
        if size <= room:
            found.append(Kept(path, size, _digest(site[path]) if digested else ""))
            room -= size
    return tuple(found)


def _wanted(site: Mapping[str, Content], small: Iterable[str]) -> Iterator[tuple[str, bool]]:
    """Paths in order, each with whether it needs a digest. Feeds and sitemap are for those who have a net."""
    own = sorted((path for path in site if not path.startswith(PICTURES)), key=_place)
    yield from ((path, True) for path in own if _group(path) < len(GROUPS))
    yield from ((path, False) for path in dict.fromkeys(small) if path in site)
    yield from ((path, True) for path in own if path.startswith(TEMPLATES))


def _place(path: str) -> tuple[int, int, str]:
    """Lists before what they list."""
    return _group(path), path.count("/"), path


# Groups of files in the order they are wanted, by how their path begins or ends.
GROUPS: tuple[tuple[str, str], ...] = (
    (address.OVERVIEW, ""), (address.THEME_FILES, ""), ("search/", ""), ("", ".css"), ("", ".html"), ("data/", ""),
)  # fmt: skip


def _group(path: str) -> int:
    return next((n for n, (start, end) in enumerate(GROUPS) if path.startswith(start) and path.endswith(end)), 99)


def _size(content: Content) -> int:
    return len(content) if isinstance(content, bytes) else content.stat().st_size


def _digest(content: Content) -> str:
    return hashlib.sha256(content if isinstance(content, bytes) else content.read_bytes()).hexdigest()[:DIGEST]


def version(kept: Iterable[Kept]) -> str:
    """A name for what is kept: other files or other bytes, another name."""
    rows = "\n".join(f"{one.path} {one.size} {one.digest}" for one in kept)
    return hashlib.sha256(rows.encode()).hexdigest()[:16]


def worker_data(kept: tuple[Kept, ...]) -> dict[str, object]:
    """What the worker of the theme is given: the version, and (address, length, digest) of every file."""
    rows = [[quote(one.path, safe="/-._~"), one.size, one.digest] for one in kept]
    return {"version": version(kept), "small": SMALL, "files": rows}


def manifest(title: str, about: str, language: str) -> bytes:
    """The web app manifest (W3C): what a phone calls the build on its first screen."""
    said: dict[str, object] = {
        "id": "./",
        "name": title,
        "short_name": title if len(title) <= 24 else title[:23].rstrip() + "…",
        "description": about,
        "lang": language,
        "start_url": "./" + address.OVERVIEW,
        "scope": "./",
        "display": "minimal-ui",
        "background_color": "#faf8f3",
        "theme_color": "#faf8f3",
        "icons": [{"src": address.THEME_FILES + "mark.svg", "sizes": "any", "type": "image/svg+xml"}],
    }
    text = json.dumps({key: value for key, value in said.items() if value}, ensure_ascii=False, indent=1)
    return (text + "\n").encode("utf-8", "replace")
