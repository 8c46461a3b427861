"""What a browser is asked to keep of a site: which files, in which order, how much, under which name."""

from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path

import pytest

from journal.pages import offline
from tests.builds import write_build
from tests.site_fixture import SiteFiles, site_of, text_of

SITE: dict[str, bytes | Path] = {
    "atom.xml": b"feed",
    "data/parts.json": b"[]",
    "index.html": b"overview",
    "parts/index.html": b"parts",
    "photos/a-1600.jpg": b"l" * 500,
    "photos/a-400.jpg": b"a" * 100,
    "photos/b-400.jpg": b"b" * 100,
    "search/index-data.js": b"index",
    "sitemap.xml": b"map",
    "tags/sheet.css": b"css",
    "templates/hinge.pdf": b"pdf",
    "days/2026-03-07/index.html": b"day",
    "theme/bench.css": b"css",
}
SMALL = ["photos/b-400.jpg", "photos/a-400.jpg"]
NOTE = "```removed hinge, left\nfrom: door post\nhole to lower edge: 312 mm\nphotos: IMG_1\n```\n"


def paths(kept: tuple[offline.Kept, ...]) -> list[str]:
    return [one.path for one in kept]


def test_pages_and_scripts_come_first_then_data_then_pictures_as_they_are_wanted() -> None:
    kept = offline.keep(SITE, SMALL)
    assert paths(kept) == [
        "index.html", "theme/bench.css", "search/index-data.js", "tags/sheet.css", "parts/index.html",
        "days/2026-03-07/index.html", "data/parts.json", "photos/b-400.jpg", "photos/a-400.jpg", "templates/hinge.pdf",
    ]  # fmt: skip


def test_beyond_the_limit_pictures_are_left_out_and_pages_stay() -> None:
    site = {path: content for path, content in SITE.items() if not path.startswith("templates/")}
    pages = sum(one.size for one in offline.keep(site, ()))
    assert paths(offline.keep(site, SMALL, pages + 199))[-1] == "photos/b-400.jpg"
    assert paths(offline.keep(SITE, SMALL, pages + 200))[-1] == "photos/a-400.jpg"
    for most in range(0, pages + 300, 7):
        assert sum(one.size for one in offline.keep(SITE, SMALL, most)) <= most
    assert offline.MOST_BYTES == 100_000_000


def test_a_large_page_that_has_no_room_does_not_keep_the_small_ones_out() -> None:
    site = SITE | {"index.html": b"o" * 10_000}
    assert "parts/index.html" in paths(offline.keep(site, SMALL, 1000))


def test_files_of_the_disk_are_measured_and_digested_as_bytes_are(tmp_path: Path) -> None:
    file = tmp_path / "bench.css"
    file.write_bytes(b"css")
    assert offline.keep(SITE | {"theme/bench.css": file}, SMALL) == offline.keep(SITE, SMALL)


def test_a_picture_needs_no_digest_and_all_else_has_one() -> None:
    for one in offline.keep(SITE, SMALL):
        content = SITE[one.path]
        assert isinstance(content, bytes)
        wanted = "" if one.path.startswith("photos/") else hashlib.sha256(content).hexdigest()[:32]
        assert (one.size, one.digest) == (len(content), wanted)


@pytest.mark.parametrize("path", ["index.html", "theme/bench.css", "data/parts.json"])
def test_one_other_byte_is_another_version(path: str) -> None:
    content = SITE[path]
    assert isinstance(content, bytes)
    changed = SITE | {path: content[:-1] + b"?"}
    versions = {offline.version(offline.keep(site, SMALL)) for site in (SITE, changed)}
    assert len(versions) == 2
    assert offline.version(offline.keep(SITE, SMALL)) in versions


def test_what_is_not_kept_is_no_new_version() -> None:
    changed = SITE | {"atom.xml": b"a later feed"}
    assert offline.version(offline.keep(changed, SMALL)) == offline.version(offline.keep(SITE, SMALL))


def test_the_addresses_the_worker_is_given_can_stand_in_a_url() -> None:
    data = offline.worker_data(offline.keep({"theme/my mark #1.svg": b"m"}, ()))
    assert data["files"] == [["theme/my%20mark%20%231.svg", 1, hashlib.sha256(b"m").hexdigest()[:32]]]


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> SiteFiles:
    files = {"2026-03-07 door/note.md": NOTE, "2026-03-07 door/IMG_1.jpg": "a picture"}
    return site_of(write_build(tmp_path_factory.mktemp("build"), files), "shop")


def listed(site: SiteFiles) -> dict[str, tuple[int, str]]:
    found = re.search(r"^const KEPT = (.*);$", text_of(site, offline.WORKER_FILE), flags=re.MULTILINE)
    assert found
    return {path: (size, digest) for path, size, digest in json.loads(found[1])["files"]}


def test_every_page_script_and_style_of_a_site_is_in_the_list_of_its_worker(site: SiteFiles) -> None:
    kept = listed(site)
    needed = {path for path in site if path.endswith((".html", ".js", ".css", ".json", ".csv"))}
    assert needed - {offline.WORKER_FILE} <= kept.keys()
    assert kept.keys() <= site.keys()
    for path, (size, _) in kept.items():
        content = site[path]
        assert size == (len(content) if isinstance(content, bytes) else content.stat().st_size), path


def test_of_a_picture_the_smallest_size_is_kept(site: SiteFiles) -> None:
    pictures = [path for path in listed(site) if path.startswith("photos/")]
    assert len(pictures) == 1


def test_the_manifest_leads_to_the_overview_from_any_path(site: SiteFiles) -> None:
    manifest = json.loads(text_of(site, offline.MANIFEST_FILE))
    assert (manifest["start_url"], manifest["scope"]) == ("./index.html", "./")
    assert manifest["name"] == "Platform truck No. 9"
    assert all(icon["src"] in site for icon in manifest["icons"])


def test_a_long_title_is_shortened_for_a_phones_first_screen() -> None:
    manifest = json.loads(offline.manifest("The platform truck No. 9 of the lower yard", "", "en"))
    assert manifest["short_name"] == "The platform truck No."[:23].rstrip() + "…"
    assert "description" not in manifest
