"""What was cleaned, primed, painted, oiled: what is due next, and what was welded over afterwards."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date

from journal.ground.finding import Finding, Note
from journal.ground.names import fold
from journal.ground.records import record
from journal.ground.source import Span
from journal.judge.desk import Desk
from journal.model.book import Book
from journal.model.entities import Moment, Part, Treatment

# Coats that the heat of a weld burns, by the words of `with` and `surface` (common practice, no published source).
COAT = re.compile(
    r"\b(?:paint\w*|primer?d?|primed|undercoat|top ?coat|lacquer\w*|varnish\w*|enamel\w*|powder ?coat\w*|underseal\w*|"
    r"wax\w*|oil\w*|grease\w*|galvani[sz]\w*|zinc\w*|red oxide|seam sealer)\b"
)
MADE_TO_BE_WELDED = re.compile(r"weld[- ]?through")
WELD = re.compile(r"\b(?:\w*weld(?:s|ed|ing)?|braz(?:e|ed|ing))\b")


@record
class Coat:
    """A treatment with what has become of it.

    is_last  nothing was done to the same part or place since
    days_due days since its `next` was due, 0 where that is to come, not dated, or was followed by another treatment
    """

    treatment: Treatment
    is_last: bool
    days_due: int


def coats(book: Book) -> tuple[Coat, ...]:
    """Every treatment in order of time."""
    last = {(t.part, t.place if t.part is None else ()): t for t in book.treatments}
    return tuple(_coat(t, last[t.part, t.place if t.part is None else ()] is t, book.today) for t in book.treatments)


def _coat(treatment: Treatment, is_last: bool, today: date) -> Coat:
    due = treatment.next_date
    return Coat(treatment, is_last, max(0, (today - due).days) if is_last and due else 0)


@record
class Weld:
    """A weld made on a part: when, and where that is written."""

    when: Moment
    span: Span
    what: str


def welded_after_paint(desk: Desk) -> Iterator[Finding]:
    """Parts whose last coat was welded after, told once a part at its first weld since."""
    book = desk.book
    for part in book.parts.values():
        coat = _last_coat(book, part)
        weld = next((w for w in welds_on(book, part) if coat and w.when > coat.when), None)
        if coat and weld:
            yield Finding(
                "welded-after-paint",
                f"{part.title} was treated with {coat.product or coat.surface}, and welded after that: {weld.what}",
                weld.span,
                (Note("treated here", coat.span),),
                "clean and coat the joint and the back of it, and write a `treated` slip",
                part.id,
            )


def _last_coat(book: Book, part: Part) -> Treatment | None:
    """The last treatment of a part or of the place it is in, if a weld can burn it and it is on this self."""
    here = (t for t in book.treatments if t.part == part.id or _covers(book, t, part))
    own = [t for t in here if _on_this_self(book, t, part)]
    if not own:
        return None
    words = fold(f"{own[-1].product} {own[-1].surface if not own[-1].product else ''}")
    is_coat = COAT.search(words) and not MADE_TO_BE_WELDED.search(words)
    return own[-1] if is_coat else None


def _covers(book: Book, treatment: Treatment, part: Part) -> bool:
    """Whether a place was treated and the part was there, not lying on the bench."""
    path, place = treatment.place, book.place_of(part.id)
    inside = treatment.part is None and bool(path) and place[: len(path)] == path
    return inside and not book.lives.is_off(part.id, treatment.when)


def _on_this_self(book: Book, treatment: Treatment, part: Part) -> bool:
    """Whether what was treated is the part as it is today. Once the old one is scrapped, it is the new one."""
    lives = book.lives
    old = lives.self_at(part.id, treatment.when) != lives.self_at(part.id, book.now)
    return not old or lives.state_at(part.id, treatment.when) == "scrapped"


def welds_on(book: Book, part: Part) -> Iterator[Weld]:
    """Welds made on a part, in order of time: fitted by welding itself, or something welded to it."""
    found = list(_own_welds(part))
    for child in book.children(part.id):
        found += _own_welds(book.parts[child])
    return iter(sorted(found, key=lambda weld: weld.when))


def _own_welds(part: Part) -> Iterator[Weld]:
    for said in part.every("held by", "by"):
        if said.kind in ("refitted", "replaced") and WELD.search(fold(said.text)):
            yield Weld(said.when, said.span, f"{part.title}, {said.text}")
