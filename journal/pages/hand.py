"""What a part's page shows of the work on it: the sheet for the hand, its fixings, its treatments, what it carried."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from journal.model.entities import Part
from journal.pages import words, work_lists
from journal.pages.going_back import changed_view, refit_view
from journal.pages.viewer import Viewer
from journal.pages.views import Fact, Photo, Reading
from journal.pages.work_views import HandSheet

IN_HAND = ("way round", "marks", "shims", "stands off", "route", "connects", "note", "template", "stored")
MOST_READINGS = 9  # what the first side has room for, beside a drawing and a picture


def part_work(viewer: Viewer, part: Part) -> Mapping[str, object]:
    """The names that the template of a part's page gets beside the page itself."""
    changed = viewer.changed.get(part.id)
    refit = viewer.refits.get(part.id)
    return {
        "hand": hand_sheet(viewer, part),
        "held": work_lists.part_fixings(viewer, part),
        "treated": tuple(work_lists.treatment_row(viewer, coat) for coat in viewer.treated.get(part.id, ())),
        "changed": changed_view(viewer, changed) if changed else None,
        "refit": refit_view(viewer, refit) if refit else None,
    }


def hand_sheet(viewer: Viewer, part: Part) -> HandSheet:
    """What fits on the first side of paper: the readings that hold the part, others that still live, its sizes."""
    readings = [viewer.reading(reading.id) for reading in viewer.book.readings_of(part.id)]
    told = _before_and_now(viewer, part)
    useful = list({(r.what, r.host): r for r in readings if r.lives and r.id not in told}.values())  # the newest
    useful = [*(_told(r, told[r.id]) for r in readings if r.id in told), *useful]
    useful.sort(key=lambda r: (r.id not in told, not r.counts, r.own))
    return HandSheet(tuple(useful[:MOST_READINGS]), len(useful) > MOST_READINGS, tuple(_facts(viewer, part)),
                     _picture(viewer, part))  # fmt: skip


def _before_and_now(viewer: Viewer, part: Part) -> Mapping[str, str]:
    """Of a part that is back in the wrong place the readings that show it: id to what it is."""
    refit = viewer.refits.get(part.id)
    pairs = refit.pairs if refit and refit.word == "off" else ()
    return {pair.before.id: "as recorded" for pair in pairs} | {pair.after.id: "as it sits now" for pair in pairs}


def _told(reading: Reading, what: str) -> Reading:
    """A reading of a part that does not sit where it was recorded: it holds nothing."""
    return replace(reading, counts=False, remarks=(what, *reading.remarks))


def _facts(viewer: Viewer, part: Part) -> Iterator[Fact]:
    off = viewer.book.lives.is_off(part.id, viewer.book.now)
    for key in IN_HAND if off else IN_HAND[:-1]:  # once it is back it is stored nowhere
        last = part.latest(key)
        for said in part.every(key):
            if last and (said.when == last.when or key == "note"):
                yield Fact(words.label(key), said.text, (), viewer.note_url(said.span))


def _picture(viewer: Viewer, part: Part) -> Photo | None:
    shown = viewer.best_picture(part.id)
    return viewer.photo(shown) if shown else None
