"""What the README says a template gets is what it gets: names, kinds, filters, and a word about every view."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from types import UnionType
from typing import Any, Union, get_args, get_origin

import pytest

from journal.build import read, tell
from journal.ground.packaged import packaged_themes
from journal.make import _facts, _findings, _pictures
from journal.pages import theme_reference as told
from journal.pages.pocket import make_pocket
from journal.pages.theme import Theme, chain
from tests.builds import TODAY
from tests.site_fixture import EXAMPLE, site_of

NO_PAGE = {"offline-worker.js"}  # data for the worker, no page


@pytest.fixture(scope="module")
def given() -> Mapping[str, Mapping[str, list[object]]]:
    """Template to name to all that stood under it while the example was made, in both editions and as a pocket file."""
    seen: dict[str, dict[str, list[object]]] = {}
    render = Theme.render

    def watched(self: Theme, template: str, context: Mapping[str, object]) -> str:
        for name, value in context.items():
            seen.setdefault(template, {}).setdefault(name, []).append(value)
        return render(self, template, context)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Theme, "render", watched)
        site_of(EXAMPLE, "shop")
        site_of(EXAMPLE, "public")
        raw = read(EXAMPLE, TODAY)
        pictures, faults = _pictures(raw, renditions=False, progress=None)
        build = tell(raw, _facts(pictures), _findings(faults), TODAY)
        make_pocket(build.book, build.judgement, themes=chain("bench"))
    return seen


def test_every_template_gets_the_names_that_are_told(given: Mapping[str, Mapping[str, list[object]]]) -> None:
    every = {name for name, _, _ in told.EVERY}
    expected = {template: every | {name for name, _, _ in names} for template, names in told.GIVEN.items()}
    expected["pocket.html"] = {name for name, _, _ in told.POCKET}
    assert {template: set(names) for template, names in given.items() if template not in NO_PAGE} == expected


def test_what_stands_under_a_name_is_of_the_kind_that_is_told(given: Mapping[str, Mapping[str, list[object]]]) -> None:
    looked_at = set()
    for template, names in given.items():
        if template in NO_PAGE:
            continue
        kinds = told.POCKET if template == "pocket.html" else (*told.EVERY, *told.GIVEN[template])
        for name, kind, _ in kinds:
            views = set(told._views(kind))
            for value in _things(names[name]):
                looked_at.add(type(value))
                assert not _is_view(value) or type(value) in views, f"{template}: {name} holds {type(value)}"
                assert _is_view(value) or not views or value is None, f"{template}: {name} holds {value!r}"
    assert len(looked_at) > 20


def _things(values: Iterable[object]) -> Iterable[object]:
    for value in values:
        yield from value if isinstance(value, list | tuple) and not _is_view(value) else [value]


def _is_view(value: object) -> bool:
    return bool(told._names(type(value)))


def test_no_field_holds_views_of_two_kinds() -> None:
    """Views are told apart by where they stand: pages are kept by what their views hold, not by what they are."""
    for view in told.reached():
        for name, kind in told.get_type_hints(view).items():
            assert all(len(views) <= 1 for views in _choices(kind)), f"{view.__name__}.{name}"


def _choices(kind: object) -> Iterable[list[type]]:
    """The views among which a value may be chosen, for each such place in a type."""
    if get_origin(kind) in (Union, UnionType):
        yield [one for one in get_args(kind) if told._names(one)]
    for inner in get_args(kind):
        yield from _choices(inner)


def test_views_hold_views_and_plain_things_only() -> None:
    """Nothing of the model or of the disk can be reached from a template."""
    for view in told.reached():
        assert view.__module__.startswith("journal.pages."), view
        for kind in told.get_type_hints(view).values():
            assert not any("journal.model" in str(one) or one is Path for one in (kind, *get_args(kind))), view


def test_every_view_says_what_it_is() -> None:
    assert [view.__name__ for view in told.reached() if not told.says(view)] == []
    assert len(told.reached()) > 50


def test_every_page_template_of_bench_is_told_and_no_other() -> None:
    """Those that are no page are pieces of others."""
    there = {path.name for path in (packaged_themes() / "bench" / "templates").glob("*.html")}
    pieces = {"base.html", "macros.html", "work.html", "progress.html", "position.html"}
    assert there - pieces >= set(told.GIVEN)
    assert {name for name in there - set(told.GIVEN) - pieces} <= {"pocket.html", *_included(there)}


def _included(there: set[str]) -> set[str]:
    folder = packaged_themes() / "bench" / "templates"
    text = "".join((folder / name).read_text() for name in there)
    return {name for name in there if f'include "{name}"' in text or f'import "{name}"' in text}


def test_the_filters_are_those_a_theme_has() -> None:
    ours: dict[str, Any] = Theme(chain("bench")).environment.filters
    from jinja2.filters import FILTERS

    assert {name for name in ours if name not in FILTERS or ours[name] is not FILTERS[name]} == set(told.FILTERS)
    assert ours["count"](3, "part") == "3 parts"
    assert ours["date"](TODAY) == "9 May 2026"
    assert ours["short_date"](TODAY) == "9 May"
