"""The README's reference for whoever writes a theme: which names a template gets, and what each view of them holds.

The first two tables are data, tested against what templates really get; the third is read from the views themselves.
"""

from __future__ import annotations

import inspect
import types
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import date
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from markupsafe import Markup

from journal.pages import position_views as position
from journal.pages import views, work_views
from journal.pages.pocket import PocketPart

Given = tuple[tuple[str, Any, str], ...]  # name, type, what it says

# What every page gets.
EVERY: Given = (
    ("site", views.Site, "what every page knows"),
    ("page", str, "the page's own address"),
    ("under", str, "which of `site.pages` it belongs to, by name"),
    ("title", str, "its title"),
    ("card", views.Card | None, "its social card, where `site` is set"),
    ("record_only", str, "that this is a record and no manual: every page says it"),
    ("href", Callable, "turns an address into a link from this page"),
)
# What the templates get beside that.
GIVEN: Mapping[str, Given] = {
    "overview.html": (("overview", views.Overview, ""),),
    "to-record.html": (("to_record", views.ToRecord, ""),),
    "parts.html": (("parts", tuple[views.PartRow, ...], ""),),
    "part.html": (
        ("part", views.PartPage, ""),
        ("positions", tuple[position.PositionView, ...], "where it sits, face by face"),
        ("hand", work_views.HandSheet, "the sheet for the hand, for paper"),
        ("held", work_views.FixingsView | None, "its fixings"),
        ("treated", tuple[work_views.TreatmentRow, ...], "what was done to its surface"),
        ("changed", work_views.ChangedView | None, "what was on it, where it is going or has changed"),
        ("refit", work_views.RefitView | None, "how it was measured again since it is back"),
    ),
    "places.html": (("places", tuple[views.PlaceRow, ...], ""),),
    "place.html": (("place", views.PlacePage, ""),),
    "measurements.html": (
        ("readings", tuple[views.Reading, ...], "those of this sheet"),
        ("total", int, "how many there are in all"),
        ("number", int, "of the sheet"),
        ("sheets", tuple[views.Link, ...], "all of them"),
    ),
    "days.html": (("days", tuple[views.DayRow, ...], "newest first"),),
    "day.html": (
        ("day", views.DayPage, ""),
        ("stories", tuple[Markup, ...], "its notes, told with `figure`, `slip` and `finding` of macros.html"),
        ("rest", tuple[views.Photo, ...], "pictures that no note shows"),
    ),
    "going-back.html": (("back", work_views.GoingBack, ""),),
    "jobs.html": (("jobs", views.Jobs, ""), ("to_get", tuple[work_views.ToGetView, ...], "parts nobody ordered yet")),
    "tags.html": (("sheet", work_views.TagSheet, ""),),
    "fixings.html": (("fixings", tuple[work_views.FixingsView, ...], ""),),
    "treatments.html": (("treatments", tuple[work_views.TreatmentRow, ...], ""),),
    "search.html": (),
    "not-found.html": (),
}
# The one file of `make --pocket` is no page of the site: it gets these alone.
POCKET: Given = (
    ("site", views.Site, ""),
    ("title", str, ""),
    ("record_only", str, ""),
    ("href", Callable, "leads to a place in the file, or is empty"),
    ("policy", str, "its Content-Security-Policy, with the sums of script and style"),
    ("script", Markup, "all of it"),
    ("style", Markup, "all of it"),
    ("parts", tuple[PocketPart, ...], ""),
    ("to_record", views.ToRecord, ""),
    ("back", work_views.GoingBack, ""),
)
FILTERS: Mapping[str, str] = {
    "date": "2 May 2026",
    "short_date": "2 May",
    "brief_date": "2 May 2026 with a short month",
    "count": '`3|count("part")`: 3 parts',
    "capital": "the first letter large",
    "ticks": "a sentence of the tool, what stands between ticks as code",
}


def theme_reference() -> str:
    """The README's chapter: what every template gets, what each gets beside that, what the views hold."""
    rows = [_row("every page", EVERY), *(_row(f"`{name}`", given) for name, given in GIVEN.items())]
    rows.append(_row("`pocket.html`, which gets these alone", POCKET))
    filters = ", ".join(f"`{name}` ({says})" for name, says in FILTERS.items())
    told = [f"| `{view.__name__}` | {says(view)} | {_fields(view)} |" for view in reached()]
    names = ["| template | gets |", "| --- | --- |", *rows]
    holds = ["| view | is | holds |", "| --- | --- | --- |", *told]
    return "\n".join([*names, "", f"Filters: {filters}.", "", *holds])


def _row(template: str, given: Given) -> str:
    names = (f"`{name}`: {_said(kind)}{f', {told}' if told else ''}" for name, kind, told in given)
    return f"| {template} | {'; '.join(names) or 'nothing more'} |"


def reached() -> list[type]:
    """Every view that a template can come to, in the order it comes to them."""
    found: dict[type, None] = {}
    ask = [kind for given in (EVERY, *GIVEN.values(), POCKET) for _, kind, _ in given]
    while ask:
        for view in _views(ask.pop(0)):
            if view not in found:
                found[view] = None
                ask += get_type_hints(view).values()
    return list(found)


def _views(kind: Any) -> Iterator[type]:
    if isinstance(kind, type) and _names(kind):
        yield kind
    for inner in get_args(kind):
        yield from _views(inner)


def _names(kind: type) -> tuple[str, ...]:
    """What a dataclass or a named tuple holds; nothing of any other type."""
    return tuple(field.name for field in fields(kind)) if is_dataclass(kind) else getattr(kind, "_fields", ())


def says(view: type) -> str:
    """The first paragraph of what a view says of itself; "" for one without a word of its own."""
    text = inspect.getdoc(view) or ""
    return "" if text.startswith(f"{view.__name__}(") else " ".join(text.split("\n\n")[0].split()).replace("|", "\\|")


def _fields(view: type) -> str:
    hints = get_type_hints(view)
    held = [f"`{name}` {_said(hints[name])}" for name in _names(view)]
    held += [f"`{name}`" for name, member in vars(view).items() if isinstance(member, property)]
    return ", ".join(held)


def _said(kind: Any) -> str:
    """A type in words: `views.Link | None` is "a `Link` or nothing"."""
    inner = get_args(kind)
    origin = get_origin(kind)
    if origin in (Union, types.UnionType):
        return f"{' or '.join(_said(one) for one in inner if one is not type(None))} or nothing"
    if origin is tuple:
        many = len(inner) == 2 and inner[1] is Ellipsis
        return f"list of {_said(inner[0])}" if many else f"({', '.join(_said(one) for one in inner)})"
    if origin is Literal:
        return " or ".join(f'"{one}"' for one in inner)
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return f"{_said(inner[1])} by {_said(inner[0])}"
    if isinstance(origin, type) and issubclass(origin, Sequence):
        return f"list of {_said(inner[0])}"
    plain = {str: "text", int: "number", float: "number", bool: "yes or no", date: "date", Markup: "HTML"}
    return plain.get(kind) or (f"`{kind.__name__}`" if kind in list(_views(kind)) else "a function")
