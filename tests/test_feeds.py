"""Feeds and sitemap against what RFC 4287, JSON Feed 1.1, RFC 3339 and the sitemap protocol require."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from collections.abc import Mapping
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest

from tests.site_fixture import SiteFiles, site_of_files, text_of

SITE = "https://example.org/truck"
ATOM = "{http://www.w3.org/2005/Atom}"  # RFC 4287, section 1.2
MAP = "{http://www.sitemaps.org/schemas/sitemap/0.9}"  # sitemaps.org protocol
RFC_3339 = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d+)?(?:Z|[+-]\d\d:\d\d)")
SETTINGS = f"""title = "Truck <No. 9> & more"
about = "A truck"
author = "A. Tarn"
language = "en-GB"
site = "{SITE}"
"""

FILES = {
    "build.toml": SETTINGS,
    "2026-03-21 left sill/note.md": """# Guides off

The *left* sill, [a link](https://example.com/x?a=1&b=2), [a place on the page](#note-1-line-5).

![the bracket](IMG_1.jpg)

```removed guide bracket front, left
from: sill, left
held by: 2 spot welds
hole to web: 5/8 in by rule
```

```private
The key hangs behind the door.
```
""",
    "2026-03-21 left sill/IMG_1.jpg": "a picture",
    "2026-03-21 left sill/IMG_2.jpg": "a picture",
    "2026-04-02 rest/note.md": "# Rest <script>alert(1)</script>\n\nA {{U+0007}}bell & ]]> rain.\n",
    "2026-03-28/note.md": "Only words.\n",
    "2026-04-05 home/note.md": "# At home\n\nThe address is nobody's business.\n",
}
PRIVATE = {**FILES, "build.toml": SETTINGS + '\n[private]\ndays = ["2026-04-05"]\n'}
FEEDS = ("atom.xml", "feed.json", "sitemap.xml")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> SiteFiles:
    return site_of_files(tmp_path_factory.mktemp("build"), PRIVATE)


@pytest.fixture(scope="module")
def atom(site: SiteFiles) -> ET.Element:
    return ET.fromstring(text_of(site, "atom.xml"))


@pytest.fixture(scope="module")
def feed(site: SiteFiles) -> Mapping[str, object]:
    return json.loads(text_of(site, "feed.json"))  # type: ignore[no-any-return]


def one(element: ET.Element, name: str) -> str:
    """The text of the one child of that name."""
    found = element.findall(ATOM + name)
    assert len(found) == 1, f"{len(found)} of {name}"
    return found[0].text or ""


def target_of(url: str) -> str:
    """The file of the site an address stands for."""
    assert url.startswith(SITE + "/"), url
    return unquote(urlsplit(url).path.removeprefix("/truck/"))


def test_the_atom_feed_has_what_rfc_4287_requires(atom: ET.Element) -> None:
    """Section 4.1.1: exactly one id, title and updated, an author, at most one subtitle; SHOULD a self link."""
    assert atom.tag == f"{ATOM}feed"
    assert urlsplit(one(atom, "id")).scheme == "https"
    assert one(atom, "title") == "Truck <No. 9> & more"
    assert RFC_3339.fullmatch(one(atom, "updated"))
    assert atom.findtext(f"{ATOM}author/{ATOM}name") == "A. Tarn"
    assert one(atom, "subtitle") == "A truck"
    links = {link.get("rel"): link.get("href") for link in atom.findall(f"{ATOM}link")}
    assert links == {"self": f"{SITE}/atom.xml", "alternate": f"{SITE}/index.html"}
    assert atom.get("{http://www.w3.org/XML/1998/namespace}lang") == "en-GB"


def test_every_atom_entry_has_what_rfc_4287_requires(atom: ET.Element, site: SiteFiles) -> None:
    """Section 4.1.2: exactly one id, title, updated; at most one content, published, summary, alternate of a type."""
    entries = atom.findall(f"{ATOM}entry")
    ids = [one(entry, "id") for entry in entries]
    assert len(set(ids)) == len(ids) == 3
    for entry in entries:
        assert one(entry, "title")
        assert RFC_3339.fullmatch(one(entry, "updated"))
        assert RFC_3339.fullmatch(one(entry, "published"))
        assert len(entry.findall(f"{ATOM}summary")) <= 1
        assert entry.find(f"{ATOM}content").get("type") == "html"  # type: ignore[union-attr]
        alternates = [link for link in entry.findall(f"{ATOM}link") if link.get("rel") == "alternate"]
        assert [target_of(link.get("href", "")) in site for link in alternates] == [True]
        for link in entry.findall(f"{ATOM}link"):
            assert target_of(link.get("href", "")) in site


def test_newest_first_and_told_for_the_newest(atom: ET.Element, feed: Mapping[str, object]) -> None:
    dates = [one(entry, "updated") for entry in atom.findall(f"{ATOM}entry")]
    assert dates == ["2026-04-02T12:00:00Z", "2026-03-28T12:00:00Z", "2026-03-21T12:00:00Z"]
    assert one(atom, "updated") == dates[0]
    assert [item["date_published"] for item in feed["items"]] == dates  # type: ignore[attr-defined]


def test_the_json_feed_has_what_version_1_1_requires(feed: Mapping[str, object]) -> None:
    assert feed["version"] == "https://jsonfeed.org/version/1.1"
    assert feed["title"] == "Truck <No. 9> & more"
    assert feed["feed_url"] == f"{SITE}/feed.json"
    assert feed["home_page_url"] == f"{SITE}/index.html"
    assert feed["language"] == "en-GB"
    assert feed["authors"] == [{"name": "A. Tarn"}]
    items = feed["items"]
    assert isinstance(items, list)
    assert len({item["id"] for item in items}) == len(items) == 3
    for item in items:
        assert item["content_html"]
        assert item["url"].startswith(SITE)
        assert RFC_3339.fullmatch(item["date_published"])
        assert all(set(one) == {"url", "mime_type"} for one in item.get("attachments", ()))


def test_a_day_comes_with_its_story_its_pictures_and_what_was_said(feed: Mapping[str, object], site: SiteFiles) -> None:
    day = feed["items"][2]  # type: ignore[index]
    html = day["content_html"]
    assert day["title"] == "left sill"
    assert "The <em>left</em> sill" in html
    assert 'href="https://example.com/x?a=1&amp;b=2"' in html
    assert "<li>hole to web: 5/8 in (16 mm)</li>" in html
    assert ">guide bracket front, left</a>" in html
    assert html.count("<img ") == 2  # the one in the story and the one that no note shows
    assert html.index("<img ") < html.index("Taken off") < html.rindex("<img ")
    assert len(day["attachments"]) == 2
    for picture in (day["image"], *(one["url"] for one in day["attachments"])):
        assert target_of(picture) in site


def test_every_address_in_a_story_is_whole(feed: Mapping[str, object]) -> None:
    for item in feed["items"]:  # type: ignore[attr-defined]
        addresses = re.findall(r'(?:href|src)="([^"]*)"', item["content_html"])
        assert all(re.match("https?://", address) for address in addresses), addresses
    assert f'href="{SITE}/days/2026-03-21/index.html#note-1-line-5"' in feed["items"][2]["content_html"]  # type: ignore[index]


def test_what_a_note_may_not_say_is_harmless(site: SiteFiles, feed: Mapping[str, object]) -> None:
    day = feed["items"][0]  # type: ignore[index]
    assert "<script" not in day["content_html"]
    assert "bell &amp; ]]&gt; rain" in day["content_html"]
    assert "\x07" not in text_of(site, "atom.xml")  # XML 1.0, section 2.2, has no place for it


def test_private_things_are_in_none_of_them(site: SiteFiles) -> None:
    for path in FEEDS:
        text = text_of(site, path)
        assert "2026-04-05" not in text
        assert "key hangs" not in text
        assert "nobody" not in text


def test_the_sitemap_names_every_page_once(site: SiteFiles) -> None:
    urls = ET.fromstring(text_of(site, "sitemap.xml"))
    assert urls.tag == f"{MAP}urlset"
    pages = [target_of(url.findtext(f"{MAP}loc", "")) for url in urls]
    assert sorted(pages) == sorted(path for path in site if path.endswith(".html") and path != "404.html")
    dates = {url.findtext(f"{MAP}loc"): url.findtext(f"{MAP}lastmod") for url in urls}
    days = ("2026-03-21", "2026-03-28", "2026-04-02")
    assert {loc: on for loc, on in dates.items() if on} == {f"{SITE}/days/{day}/index.html": day for day in days}


def test_every_page_names_the_feeds_by_a_link_that_leads_there(site: SiteFiles) -> None:
    page = text_of(site, "days/2026-03-21/index.html")
    assert re.search(r'<link rel="alternate" type="application/atom\+xml"[^>]* href="../../atom.xml">', page)
    assert re.search(r'<link rel="alternate" type="application/feed\+json"[^>]* href="../../feed.json">', page)


def test_the_same_notes_give_the_same_bytes(site: SiteFiles, tmp_path: Path) -> None:
    again = site_of_files(tmp_path, PRIVATE)
    assert [again[path] for path in FEEDS] == [site[path] for path in FEEDS]


def test_a_slash_at_the_end_of_the_site_changes_nothing(site: SiteFiles, tmp_path: Path) -> None:
    files = {**PRIVATE, "build.toml": PRIVATE["build.toml"].replace(SITE, SITE + "/")}
    assert site_of_files(tmp_path, files)["atom.xml"] == site["atom.xml"]


@pytest.mark.parametrize(("edition", "settings"), [("public", 'title = "Truck"\n'), ("shop", SETTINGS)])
def test_without_an_address_or_for_the_shop_there_is_no_feed(tmp_path: Path, edition: str, settings: str) -> None:
    site = site_of_files(tmp_path, {**FILES, "build.toml": settings}, edition)  # type: ignore[arg-type]
    assert not [path for path in FEEDS if path in site]
    assert "rel=\"alternate\"" not in text_of(site, "index.html")


def test_a_build_without_a_day_has_a_valid_feed(tmp_path: Path) -> None:
    site = site_of_files(tmp_path, {"build.toml": SETTINGS})
    atom = ET.fromstring(text_of(site, "atom.xml"))
    assert RFC_3339.fullmatch(one(atom, "updated"))
    assert json.loads(text_of(site, "feed.json"))["items"] == []
