"""The two editions. The public one is a smaller book, judged by itself: what is private is taken out before anything
is made, and before anything is judged.

Pages, data files, feeds and the search index are all made from what `reduced` gives back, so nothing private can reach
them. `public_book` makes the smaller book, `erasing` takes names out of what stays.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Literal

from journal.ground.finding import Finding
from journal.judge.checks import judge
from journal.judge.verdicts import FacePosition, Judgement, Record
from journal.model.book import Book
from journal.pages.erasing import scrubbed
from journal.pages.hidden import Hidden
from journal.pages.public_book import is_whole, published, told_in_public

Edition = Literal["public", "shop"]

# What a follower is told; everything else is for whoever writes the notes, and quotes them.
TOLD_IN_PUBLIC = frozenset(
    {
        "no-position", "seen-not-measured", "partly-recorded", "reference-gone", "not-moved-over", "no-route",
        "lost-with-host", "host-going", "disagree", "new-one-differs", "out-of-want", "sides-differ", "weak-turn",
        "two-spots", "suspect-measurement",
    }
)  # fmt: skip


def reduced(book: Book, judgement: Judgement, edition: Edition, cache: Path | None = None) -> tuple[Book, Judgement]:
    """The book and the verdicts as the edition may show them; the shop's are whole.

    cache  where solved positions are kept between runs: a book with private things is judged once more without them
    """
    if edition == "shop":
        return book, judgement
    hidden = Hidden(book)
    told = told_in_public(book, hidden)
    public = judgement if is_whole(told, book) else judge(told, cache=cache)
    smaller, verdicts = published(told), _shown(public, judgement, hidden)
    erase = hidden.eraser(smaller)
    if erase is None:
        return smaller, verdicts
    clean = replace(smaller, entities=scrubbed(smaller.entities, erase), settings=scrubbed(smaller.settings, erase))
    return clean, scrubbed(verdicts, erase)


def _shown(public: Judgement, whole: Judgement, hidden: Hidden) -> Judgement:
    """The verdicts on what is public, less what they lack only because the rest is private."""
    records = {part: _record(record, whole.records[part]) for part, record in public.records.items()}
    findings = tuple(_findings(public.findings, whole.findings, hidden))
    positions = _positions(public.positions, whole.positions)
    return replace(public, records=records, findings=findings, positions=positions)


def _record(public: Record, whole: Record) -> Record:
    """In the shop's word, which gives no ground away. Where private things make the difference, nothing is told as
    missing, and no ground for a word that it does not bear."""
    public = replace(public, asked=public.asked and whole.asked, outlives_host=whole.outlives_host)
    grounds = tuple("a template" if ground.startswith("template: ") else ground for ground in public.grounds)
    if (public.word, public.free) == (whole.word, whole.free):
        return replace(public, grounds=grounds)
    grounds = grounds if public.word == whole.word else ()
    return replace(public, word=whole.word, grounds=grounds, free=(), next=(), gain="")


def _positions(public: tuple[FacePosition, ...], whole: tuple[FacePosition, ...]) -> tuple[FacePosition, ...]:
    """Where only something private tells two places of a part apart, what kind of thing does is said, and no more."""
    if public is whole:
        return whole
    told = {other.part: other.told_by.partition(":")[0] for face in whole for other in face.alternatives}
    return tuple(
        replace(face, alternatives=tuple(replace(o, told_by=o.told_by or told.get(o.part, "")) for o in others))
        if (others := face.alternatives)
        else face
        for face in public
    )


def _findings(public: Iterable[Finding], whole: Iterable[Finding], hidden: Hidden) -> Iterable[Finding]:
    """What public things alone say, and the whole book says word for word: what is false of either is not told."""
    said: dict[tuple[str, str | None, str], set[str]] = {}
    for finding in whole:
        notes = said.setdefault((finding.word, finding.part, finding.message), set())
        notes.update(note.message for note in finding.notes)
    for finding in public:
        told = said.get((finding.word, finding.part, finding.message))
        known = told is not None and all(note.message in told for note in finding.notes)
        if known and finding.word in TOLD_IN_PUBLIC and not hidden.in_notes(finding.span):
            shown = tuple(note for note in finding.notes if note.span is None or not hidden.in_notes(note.span))
            yield replace(finding, notes=shown)
