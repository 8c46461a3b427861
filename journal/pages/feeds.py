"""What a follower's reader and a search engine fetch: an Atom feed (RFC 4287), a JSON feed (version 1.1), a sitemap.

All three hold whole addresses, so they are made only where build.toml says `site`, and only for the public edition:
the shop's is not for the net. Without `site` there is none of them, and no page names one.

A day is an entry, the newest first, with its story, its pictures and what its slips say. An entry's id is the address
of its page; its time is noon UTC of the day, which is that day nearly everywhere. Nothing here asks for the time: the
same notes give the same bytes. A day written about later keeps its time, so that readers are not shown it twice.
"""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from html import escape
from urllib.parse import quote

from markupsafe import Markup

from journal.ground.records import record
from journal.model.entities import Day
from journal.pages import address, story
from journal.pages.days import day_row, photo_finder, slip_view
from journal.pages.viewer import Viewer
from journal.pages.views import DayRow, Link, Photo, Slip

ATOM_FILE = "atom.xml"
JSON_FILE = "feed.json"
SITEMAP_FILE = "sitemap.xml"
ATOM = "http://www.w3.org/2005/Atom"
SITEMAP = "http://www.sitemaps.org/schemas/sitemap/0.9"
JSON_VERSION = "https://jsonfeed.org/version/1.1"
MOST_DAYS = 60  # of a feed, the newest
MOST_PAGES = 50_000  # of one sitemap (sitemaps.org protocol)
PICTURE_TYPES = {".jpg": "image/jpeg", ".png": "image/png", ".webp": "image/webp"}
# Characters that XML 1.0 (section 2.2) has no place for.
UNFIT = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@record
class Entry:
    """A day: its row, its page's whole address, its story as HTML with whole addresses, its pictures."""

    row: DayRow
    url: str
    html: str
    pictures: tuple[Photo, ...]


def is_made(viewer: Viewer) -> bool:
    """Whether there are feeds: `site` is set, and it is the public edition."""
    return bool(viewer.book.settings.site) and not viewer.shop


def links(viewer: Viewer) -> tuple[tuple[str, Link], ...]:
    """What every page names in its head: (media type, words and target); none where none is made."""
    if not is_made(viewer):
        return ()
    title = viewer.book.settings.title
    atom, feed = Link(f"{title}: days", ATOM_FILE), Link(f"{title}: days (JSON)", JSON_FILE)
    return (("application/atom+xml", atom), ("application/feed+json", feed))


def files(viewer: Viewer, pages: Iterable[str]) -> dict[str, bytes]:
    """The feeds and the sitemap, by path from the site's root; `pages` are the targets of all pages."""
    if not is_made(viewer):
        return {}
    days = sorted(viewer.book.days, key=lambda day: day.date, reverse=True)
    entries = [_entry(viewer, day) for day in days[:MOST_DAYS]]
    return {
        ATOM_FILE: _atom(viewer, entries),
        JSON_FILE: _json(viewer, entries),
        SITEMAP_FILE: _sitemap(viewer, pages),
    }


def whole(site: str, target: str) -> str:
    """The whole address of a target."""
    path, hash_sign, fragment = target.partition("#")
    end = hash_sign + quote(fragment, safe="-._~") if fragment else ""
    return f"{site.rstrip('/')}/{quote(path, safe='/-._~')}{end}"


# --- the entries


def _entry(viewer: Viewer, day: Day) -> Entry:
    site = viewer.book.settings.site
    row = day_row(viewer, day)
    url = whole(site, row.link.url)
    shown: set[str] = set()
    told = [piece for number in range(len(day.notes)) for piece in _story(viewer, day, number, url, shown)]
    pictures = tuple(photo for photo in viewer.photos(day.photos) if photo.src)
    rest = [_figure(site, photo) for photo in pictures if photo.key not in shown]
    return Entry(row, url, "".join([*told, *rest]), pictures)


def _story(viewer: Viewer, day: Day, number: int, url: str, shown: set[str]) -> Iterator[str]:
    """One note of a day; `shown` collects the pictures it has."""
    note = day.notes[number]
    tale = story.Story(note.note.tokens, photo_finder(viewer, day), day.title)
    slips = [slip_view(viewer, placed) for placed in note.slips]
    plates = _Plates(viewer.book.settings.site, slips, shown)
    yield str(story.tell(tale, plates)).replace('<a href="#', f'<a href="{escape(url)}#')


@dataclass(frozen=True)
class _Plates:
    """How pictures and slips stand in a reader's window: plain HTML with whole addresses."""

    site: str
    slips: list[Slip]
    shown: set[str]

    def figure(self, photo: Photo) -> Markup:
        self.shown.add(photo.key)
        return Markup(_figure(self.site, photo))  # escaped piece by piece

    def slip(self, number: int) -> Markup:
        slip = self.slips[number]
        if slip.private:
            return Markup("")
        said = [f"<p><strong>{escape(slip.verb)}</strong>: {_named(self.site, slip)}</p>"]
        lines = [f"{line.label}: {line.text}" if line.label else line.text for line in slip.lines]
        lines += [f"{r.what}: {_value(r.figure.written, r.figure.converted)}" if r.figure else r.what
                  for r in slip.readings]  # fmt: skip
        if lines:
            said.append("<ul>" + "".join(f"<li>{escape(line)}</li>" for line in lines) + "</ul>")
        return Markup("".join(said))  # escaped piece by piece


def _value(written: str, converted: str) -> str:
    return f"{written} ({converted})" if converted else written


def _named(site: str, slip: Slip) -> str:
    if not slip.parts:
        return escape(slip.subject)
    return ", ".join(f'<a href="{escape(whole(site, part.url))}">{escape(part.text)}</a>' for part in slip.parts)


def _figure(site: str, photo: Photo) -> str:
    if not photo.src:
        return ""
    said = f"<figcaption>{escape(photo.caption)}</figcaption>" if photo.caption else ""
    picture = f'<img src="{escape(whole(site, photo.src))}" alt="{escape(photo.alt)}">'
    return f'<figure><a href="{escape(whole(site, photo.large))}">{picture}</a>{said}</figure>'


def _noon(on: date) -> str:
    """RFC 3339."""
    return f"{on.isoformat()}T12:00:00Z"


def _type(target: str) -> str:
    return next((kind for end, kind in PICTURE_TYPES.items() if target.endswith(end)), "application/octet-stream")


# --- Atom


def _atom(viewer: Viewer, entries: list[Entry]) -> bytes:
    settings = viewer.book.settings
    home, own = whole(settings.site, address.OVERVIEW), whole(settings.site, ATOM_FILE)
    feed = ET.Element("feed", {"xmlns": ATOM, "xml:lang": settings.language})
    _add(feed, "id", home)
    _add(feed, "title", settings.title)
    if settings.about:
        _add(feed, "subtitle", settings.about)
    _add(feed, "updated", _noon(entries[0].row.date if entries else viewer.book.today))
    _add(feed, "link", rel="self", type="application/atom+xml", href=own)
    _add(feed, "link", rel="alternate", type="text/html", href=home)
    _add(ET.SubElement(feed, "author"), "name", settings.author or settings.title)
    for entry in entries:
        _atom_entry(ET.SubElement(feed, "entry"), settings.site, entry)
    return _xml(feed)


def _atom_entry(item: ET.Element, site: str, entry: Entry) -> None:
    _add(item, "id", entry.url)
    _add(item, "title", entry.row.title or entry.row.date.isoformat())
    _add(item, "published", _noon(entry.row.date))
    _add(item, "updated", _noon(entry.row.date))
    _add(item, "link", rel="alternate", type="text/html", href=entry.url)
    for photo in entry.pictures:
        _add(item, "link", rel="enclosure", type=_type(photo.large), href=whole(site, photo.large))
    if entry.row.summary:
        _add(item, "summary", entry.row.summary)
    _add(item, "content", entry.html, type="html")


def _add(parent: ET.Element, name: str, text: str = "", **attributes: str) -> None:
    child = ET.SubElement(parent, name, {key: _fit(value) for key, value in attributes.items()})
    child.text = _fit(text) or None


def _fit(text: str) -> str:
    return UNFIT.sub("", text)


def _xml(root: ET.Element) -> bytes:
    ET.indent(root)
    return bytes(ET.tostring(root, encoding="utf-8", xml_declaration=True)) + b"\n"


# --- JSON


def _json(viewer: Viewer, entries: list[Entry]) -> bytes:
    settings = viewer.book.settings
    feed = {
        "version": JSON_VERSION,
        "title": settings.title,
        "home_page_url": whole(settings.site, address.OVERVIEW),
        "feed_url": whole(settings.site, JSON_FILE),
        "description": settings.about,
        "language": settings.language,
        "authors": [{"name": settings.author}] if settings.author else [],
        "items": [_json_item(settings.site, entry) for entry in entries],
    }
    said = {key: value for key, value in feed.items() if value or key in ("title", "items")}
    return (json.dumps(said, ensure_ascii=False, indent=1) + "\n").encode("utf-8", "replace")


def _json_item(site: str, entry: Entry) -> dict[str, object]:
    item: dict[str, object] = {
        "id": entry.url,
        "url": entry.url,
        "title": entry.row.title or entry.row.date.isoformat(),
        "content_html": entry.html,
        "date_published": _noon(entry.row.date),
    }
    if entry.row.summary:
        item["summary"] = entry.row.summary
    if entry.pictures:
        item["image"] = whole(site, entry.pictures[0].src)
        item["attachments"] = [
            {"url": whole(site, photo.large), "mime_type": _type(photo.large)} for photo in entry.pictures
        ]
    return item


# --- the sitemap


def _sitemap(viewer: Viewer, pages: Iterable[str]) -> bytes:
    """Every page, the day's pages with their dates; what a visitor gets only by mistake is left out."""
    dates = {address.day(day.date): day.date.isoformat() for day in viewer.book.days}
    urls = ET.Element("urlset", {"xmlns": SITEMAP})
    for page in sorted(set(pages) - {address.NOT_FOUND})[:MOST_PAGES]:
        url = ET.SubElement(urls, "url")
        _add(url, "loc", whole(viewer.book.settings.site, page))
        if page in dates:
            _add(url, "lastmod", dates[page])
    return _xml(urls)
