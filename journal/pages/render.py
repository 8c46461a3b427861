"""Book in, files out: every page of the site, its data, its search index, its pictures, in memory.

The same book, verdicts, themes and pictures give the same bytes: nothing here asks for the time or the disk's order.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache as remember
from functools import partial
from pathlib import Path

from journal.ground.ahead import make_ahead
from journal.ground.shares import can_be_copied, in_shares
from journal.judge.verdicts import Judgement
from journal.model.book import Book
from journal.model.entities import Day, Part, Place, Reading
from journal.pages import address, cards, data, feeds, lists, offline, search, tags, work_lists
from journal.pages.day_stories import DayStories
from journal.pages.days import day_page, day_row, title_of
from journal.pages.edition import Edition, reduced
from journal.pages.findable import rows
from journal.pages.going_back import going_back
from journal.pages.hand import part_work
from journal.pages.kept_pages import KeptPages
from journal.pages.part_page import part_page
from journal.pages.positions import Faces
from journal.pages.progressed import changes_by_day
from journal.pages.safety import RECORD_ONLY
from journal.pages.template_files import TemplateFiles
from journal.pages.theme import Theme
from journal.pages.viewer import Viewer
from journal.pages.views import Card, Link, Site

SHEET_ROWS = 2000  # measurements on one page
WORTH_SHARING = 400  # pages before this process is copied for them

# The site's contents, in the order they are offered: (name, words, address).
CONTENTS: tuple[tuple[str, str, str], ...] = (
    ("overview", "Overview", address.OVERVIEW),
    ("to-record", "To record", address.TO_RECORD),
    ("parts", "Parts", address.PARTS),
    ("places", "Places", address.PLACES),
    ("measurements", "Measurements", address.MEASUREMENTS),
    ("days", "Days", address.DAYS),
    ("going-back", "Going back", address.GOING_BACK),
    ("jobs", "Jobs", address.JOBS),
    ("tags", "Bag tags", address.TAGS),
    ("search", "Search", address.SEARCH),
)


Shown = Mapping[str, object]
Files = Mapping[str, bytes | Path]  # published path to bytes, or to the file of the cache that holds them


@dataclass(frozen=True)
class Sheet:
    """A page to be: its address, its template, which of the contents it belongs to, its title, what it shows.

    views    makes what it shows; asked once, when the page is made, as the views of all pages would fill the memory
    stories  of a day's page: told by the theme when the page is made
    beside   makes the files that belong to it
    """

    path: str
    template: str
    under: str
    title: str
    views: Callable[[], Shown]
    stories: DayStories | None = None
    beside: Callable[[], Files] = dict

    def depends(self, shows: Shown) -> tuple[object, ...]:
        """All that the page is made from, besides the theme and what every page knows."""
        told = self.stories.shown if self.stories else ()
        return self.path, self.template, self.under, self.title, dict(shows), told


def overview_sheets(viewer: Viewer) -> Iterator[Sheet]:
    title = viewer.book.settings.title
    yield Sheet(address.OVERVIEW, "overview.html", "overview", title, lambda: {"overview": lists.overview(viewer)})


def day_sheets(viewer: Viewer) -> Iterator[Sheet]:
    days = sorted(viewer.book.days, key=lambda day: day.date)
    yield Sheet(
        address.DAYS, "days.html", "days", "Days", lambda: {"days": [day_row(viewer, day) for day in reversed(days)]}
    )
    changes = remember(partial(changes_by_day, viewer))

    def views(before: Day | None, day: Day, after: Day | None) -> Shown:
        return {"day": day_page(viewer, day, before, after, changes().get(day.date, ()))}

    around: list[Day | None] = [None, *days, None]
    for before, day, after in zip(around, days, around[2:], strict=False):
        shows, stories = partial(views, before, day, after), DayStories(viewer, day)
        yield Sheet(address.day(day.date), "day.html", "days", title_of(day), shows, stories)


def part_sheets(viewer: Viewer, faces: Faces, templates: TemplateFiles) -> Iterator[Sheet]:
    parts = sorted(viewer.book.parts.values(), key=lambda part: (part.name.casefold(), part.side, part.id))
    yield Sheet(
        address.PARTS, "parts.html", "parts", "Parts", lambda: {"parts": [viewer.row(part.id) for part in parts]}
    )

    def views(part: Part) -> Shown:
        return {"part": part_page(viewer, part), **part_work(viewer, part), **faces.on_page(part)}

    for part in parts:
        beside = partial(templates.of, part)
        yield Sheet(address.part(part.id), "part.html", "parts", part.title, partial(views, part), beside=beside)


def place_sheets(viewer: Viewer) -> Iterator[Sheet]:
    yield Sheet(address.PLACES, "places.html", "places", "Places", lambda: {"places": lists.place_tree(viewer)})

    def views(place: Place) -> Shown:
        return {"place": lists.place_page(viewer, place)}

    for place in viewer.book.places.values():
        yield Sheet(address.place(place.id), "place.html", "places", place.path[-1], partial(views, place))


def measurement_sheets(viewer: Viewer) -> Iterator[Sheet]:
    """Newest first, in sheets that a phone can hold; the search page looks through all of them."""
    readings = sorted(viewer.book.readings.values(), key=lambda r: (-r.when.day.toordinal(), r.when.order, r.span.line))
    sheets = [readings[at : at + SHEET_ROWS] for at in range(0, len(readings), SHEET_ROWS)] or [[]]
    links = [Link(str(n), address.measurements(n)) for n in range(1, len(sheets) + 1)]

    def views(number: int, sheet: Sequence[Reading]) -> Shown:
        shown = [viewer.reading(reading.id) for reading in sheet]
        return {"readings": shown, "total": len(readings), "number": number, "sheets": links}

    for number, sheet in enumerate(sheets, 1):
        shows = partial(views, number, sheet)
        yield Sheet(address.measurements(number), "measurements.html", "measurements", "Measurements", shows)


def list_sheets(viewer: Viewer) -> Iterator[Sheet]:
    yield Sheet(
        address.TO_RECORD, "to-record.html", "to-record", "To record", lambda: {"to_record": lists.to_record(viewer)}
    )


def work_sheets(viewer: Viewer) -> Iterator[Sheet]:
    def jobs() -> Shown:
        return {"jobs": lists.jobs(viewer), "to_get": work_lists.to_get(viewer)}

    yield Sheet(
        address.GOING_BACK, "going-back.html", "going-back", "Going back", lambda: {"back": going_back(viewer)}
    )
    yield Sheet(address.JOBS, "jobs.html", "jobs", "Jobs and orders", jobs)
    yield Sheet(address.TAGS, "tags.html", "tags", "Bag tags", lambda: {"sheet": tags.tag_sheet(viewer)})
    yield Sheet(
        address.FIXINGS, "fixings.html", "going-back", "Fixings", lambda: {"fixings": work_lists.all_fixings(viewer)}
    )
    yield Sheet(
        address.TREATMENTS, "treatments.html", "going-back", "Treatments",
        lambda: {"treatments": work_lists.treatments(viewer)},
    )  # fmt: skip


def other_sheets(viewer: Viewer) -> Iterator[Sheet]:
    yield Sheet(address.SEARCH, "search.html", "search", "Search", dict)
    yield Sheet(address.NOT_FOUND, "not-found.html", "", "Nothing here", dict)


def every_sheet(viewer: Viewer, faces: Faces, templates: TemplateFiles) -> Iterator[Sheet]:
    """The long ones first."""
    yield from overview_sheets(viewer)
    yield from work_sheets(viewer)
    yield from list_sheets(viewer)
    yield from place_sheets(viewer)
    yield from measurement_sheets(viewer)
    yield from part_sheets(viewer, faces, templates)
    yield from day_sheets(viewer)
    yield from other_sheets(viewer)


def render_site(
    book: Book,
    judgement: Judgement,
    *,
    edition: Edition,
    themes: Sequence[Path],
    cache: Path | None = None,
    pictures: Mapping[str, Path] | None = None,
) -> dict[str, bytes | Path]:
    """The whole site: path from its root to bytes, or to a file that is to be linked in.

    themes    folders of the theme's chain (`theme.chain`)
    cache     where compiled templates, pages, drawings and full-size templates are kept between runs
    pictures  published path to the file that holds it; those of pictures the edition leaves out stay out
    """
    viewer = Viewer(*reduced(book, judgement, edition, cache), edition)
    theme = Theme(tuple(themes), cache)
    site: dict[str, bytes | Path] = {path: file.read_bytes() for path, file in theme.files().items()}
    site |= _pictures(viewer, pictures or {})
    site[tags.STYLE] = tags.style(viewer.book.settings.tags).encode()
    shared = site_view(viewer)
    faces = Faces(viewer, cache)
    templates = TemplateFiles(viewer, faces, cache)
    pages = KeptPages(cache / "pages" / edition if cache else None, theme, shared)
    work = pages.work, faces.drawings.work, templates.work

    def made(sheet: Sheet) -> Files:
        shows = sheet.views()
        card = cards.card(viewer, sheet.path, sheet.title, shows)
        page = pages.of((sheet.depends(shows), card), partial(_page, theme, shared, sheet, shows, card))
        return {sheet.path: page, **sheet.beside()}

    tasks: list[Callable[[], Files]] = [
        partial(data.files, viewer),
        lambda: {path: text.encode() for path, text in search.files(search.arrange(rows(viewer))).items()},
        *(partial(made, sheet) for sheet in every_sheet(viewer, faces, templates)),
    ]
    used: list[list[set[str]]] = []
    if len(tasks) >= WORTH_SHARING and can_be_copied():
        found, used = in_shares(tasks, lambda: [kept.used for kept in work])
    else:
        make_ahead([*faces.missing(), *templates.missing()])
        found = [task() for task in tasks]
    for files in found:
        site.update(files)
    for kept, *names in zip(work, *used, strict=True):
        kept.forget(set().union(*names))
    site |= feeds.files(viewer, [path for path in site if path.endswith(".html")])
    return site | _offline(viewer, theme, site)


def _offline(viewer: Viewer, theme: Theme, site: Mapping[str, bytes | Path]) -> dict[str, bytes | Path]:
    """What lets a browser keep the site: of the pictures the small ones, the newest first."""
    settings, photos = viewer.book.settings, viewer.book.photos
    newest_first = (key for day in reversed(viewer.book.days) for key in day.photos if photos[key].sizes)
    kept = offline.keep(site, (photos[key].sizes[0].path for key in newest_first))
    worker = theme.render(offline.WORKER_FILE, {"kept": offline.worker_data(kept)})
    return {
        offline.WORKER_FILE: worker.encode(),
        offline.MANIFEST_FILE: offline.manifest(settings.title, settings.about, settings.language),
    }


def _pictures(viewer: Viewer, pictures: Mapping[str, Path]) -> dict[str, Path]:
    shown = (size.path for photo in viewer.book.photos.values() for size in photo.sizes)
    return {path: pictures[path] for path in shown if path in pictures}


def site_view(viewer: Viewer) -> Site:
    """What every page knows."""
    settings = viewer.book.settings
    return Site(
        title=settings.title,
        about=settings.about,
        author=settings.author,
        language=settings.language,
        today=viewer.book.today,
        edition=viewer.edition,
        pages=tuple((name, Link(text, url)) for name, text, url in CONTENTS),
        sides=settings.sides,
        feeds=feeds.links(viewer),
    )


def _page(theme: Theme, site: Site, sheet: Sheet, shows: Shown, card: Card | None) -> bytes:
    """One page. The theme gets what the sheet shows, and `href`, which links from this page."""
    context: dict[str, object] = {
        "site": site,
        "page": sheet.path,
        "under": sheet.under,
        "title": sheet.title,
        "card": card,
        "record_only": RECORD_ONLY,
        "href": lambda target: address.relative(sheet.path, target),
        **shows,
    }
    if sheet.stories:
        context |= sheet.stories.tell(theme, context)
    return theme.render(sheet.template, context).encode("utf-8", "replace")
