"""How a page presents itself where somebody passes its address on: its whole address, and a card in the terms of the
Open Graph protocol, with a picture where the page has one. Made only where build.toml says `site`, and only for the
public edition, as the feeds are.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from journal.pages import address, feeds
from journal.pages.viewer import Viewer
from journal.pages.views import Card, DayPage, Overview, PartPage, Photo, PlacePage
from journal.pages.words import say_date

LONGEST = 200  # characters of what a card says


def card(viewer: Viewer, path: str, title: str, shows: Mapping[str, object]) -> Card | None:
    """The card of a page by what it shows; None where none is made."""
    if not feeds.is_made(viewer) or path == address.NOT_FOUND:
        return None
    settings = viewer.book.settings
    page = next((one for one in shows.values() if isinstance(one, Overview | DayPage | PartPage | PlacePage)), None)
    photo = next((photo for photo in _pictures(page) if photo.src), None)
    return Card(
        url=feeds.whole(settings.site, path),
        kind="article" if isinstance(page, DayPage) else "website",
        title=title,
        about=_short(_about(page) or settings.about),
        picture=feeds.whole(settings.site, photo.src) if photo else "",
        alt=photo.alt if photo else "",
    )


def _pictures(page: object) -> Iterable[Photo]:
    """Those of the page, the first that tells most; the overview's is that of the newest day that has one."""
    if isinstance(page, Overview):
        return [day.photo for day in page.newest if day.photo]
    if isinstance(page, DayPage):
        return page.gallery
    return page.photos if isinstance(page, PartPage | PlacePage) else ()


def _about(page: object) -> str:
    if isinstance(page, DayPage):
        return f"{say_date(page.row.date)}: {page.row.summary}" if page.row.summary else say_date(page.row.date)
    return page.standing if isinstance(page, PartPage) else ""


def _short(text: str) -> str:
    line = " ".join(text.split())
    return line if len(line) <= LONGEST else line[: LONGEST - 1].rstrip() + "…"
