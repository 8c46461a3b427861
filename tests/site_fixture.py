"""Sites made for tests, in memory and on the disk, and a look at the pages as a browser sees them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from html.parser import HTMLParser
from pathlib import Path

from journal.build import read, tell
from journal.make import _facts, _findings, _pictures
from journal.pages.edition import Edition
from journal.pages.pictures import cached_files
from journal.pages.render import render_site
from journal.pages.theme import chain
from tests.builds import TODAY, write_build

EXAMPLE = Path(__file__).parent.parent / "example_build"
VOID = frozenset("area base br col embed hr img input link meta source track wbr".split())
SiteFiles = Mapping[str, bytes | Path]


def site_of(build: Path, edition: Edition = "public", today: date = TODAY) -> dict[str, bytes | Path]:
    """The whole site of a build folder, as the page stage gives it."""
    raw = read(build, today)
    pictures, faults = _pictures(raw, renditions=True, progress=None)
    told = tell(raw, _facts(pictures), _findings(faults), today)
    return render_site(
        told.book,
        told.judgement,
        edition=edition,
        themes=chain(raw.settings.theme, build),
        pictures=cached_files(build, pictures.values()),
    )


def site_of_files(folder: Path, files: Mapping[str, str], edition: Edition = "public") -> dict[str, bytes | Path]:
    return site_of(write_build(folder, files), edition)


def text_of(site: SiteFiles, path: str) -> str:
    content = site[path]
    assert isinstance(content, bytes), f"{path} is a file of the cache"
    return content.decode()


def pages_of(site: SiteFiles) -> dict[str, str]:
    """Every page by its path."""
    return {path: text_of(site, path) for path in site if path.endswith(".html")}


def written(site: SiteFiles, folder: Path) -> Path:
    """The site on the disk."""
    for path, content in site.items():
        target = folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content if isinstance(content, bytes) else content.read_bytes())
    return folder


@dataclass
class Element:
    """A start tag with what stands in it."""

    tag: str
    attrs: dict[str, str]
    line: int
    text: str = ""
    above: tuple[str, ...] = ()


@dataclass
class Page(HTMLParser):
    """A page's elements in order, its ids, and faults of its nesting."""

    source: str
    elements: list[Element] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self._open: list[Element] = []
        self.feed(self.source)
        self.close()
        self.faults += [f"<{element.tag}> of line {element.line} is never closed" for element in self._open]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        above = tuple(element.tag for element in self._open)
        names = [name for name, _ in attrs]
        self.faults += [f"{tag}: {name} twice" for name in set(names) if names.count(name) > 1]
        element = Element(tag, {name: value or "" for name, value in attrs}, self.getpos()[0], above=above)
        self.elements.append(element)
        if tag not in VOID:
            self._open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self._open.pop()

    def handle_endtag(self, tag: str) -> None:
        if self._open and self._open[-1].tag == tag:
            self._open.pop()
        else:
            self.faults.append(f"</{tag}> in line {self.getpos()[0]} closes nothing that is open")

    def handle_data(self, data: str) -> None:
        for element in self._open:
            element.text += data

    @property
    def ids(self) -> list[str]:
        return [element.attrs["id"] for element in self.elements if "id" in element.attrs]

    def all(self, *tags: str) -> list[Element]:
        return [element for element in self.elements if element.tag in tags]
