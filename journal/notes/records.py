"""What a note says, as written: names, entries, statements, slips. Nothing is resolved here.

The parser makes these, `model.resolve` reads them; nothing else does.
"""

from __future__ import annotations

from dataclasses import field
from typing import Any

from journal.ground.records import record
from journal.ground.source import Span
from journal.measure.value import Value


@record
class Name:
    """A part as somebody named it: `guide bracket front, left`.

    written  to the letter, curly quotes and spacing mended
    words    without its side; side words before the name moved out of it (`wheel, front left`: `wheel front`)
    sides    () none was said; ("left",) one; both of build.toml's pair for `, both`
    """

    written: str
    words: str
    sides: tuple[str, ...]
    span: Span = field(compare=False)


@record
class Entry:
    """A `key: value` line, its indented continuations joined with a space.

    key    canonical, as in the table of kinds
    names  the parts it lists, for keys whose value is a list of names (from, on, behind, opposite, needs ...)
    items  the value's pieces for keys that are lists (photos, carries, away, features, also called); else (value,)
    """

    key: str
    value: str
    span: Span = field(compare=False)
    names: tuple[Name, ...] = ()
    items: tuple[str, ...] = ()


@record
class Split:
    """One way to read a statement: SUBJECT RELATION REFERENCE, or DIMENSION of SUBJECT.

    relation   canonical word of the table (`to`, `ahead of`, `flush with` ...); "" for a dimension
    subject    feature words, articles dropped; "" is the part as a whole
    reference  feature words as written, `of HOST` still in it; "" for a dimension
    dimension  canonical where known (`diameter`), else the words themselves; "" for a relation
    """

    subject: str
    relation: str
    reference: str
    dimension: str
    subject_span: Span = field(compare=False)
    reference_span: Span = field(compare=False)


@record
class Statement:
    """A line that says a measurement.

    splits   the ways to read its left side, the likeliest by its wording first: the longest relation phrase, and
             among equally long ones the last; `resolve` prefers one whose two sides are known
    value    None for a contact (`upright square to web`)
    written  the value to the letter, "" for a contact
    text     the whole line to the letter, without a leading "- "
    method   canonical (`tape`, `rule`, `calliper`, `gauge`, `square`, `protractor`, `template`, `eye`), or None
    want     the value after `want`, or None
    remark   words in round brackets and words after the value that are no method, want or mark
    """

    text: str
    splits: tuple[Split, ...]
    value: Value | None
    written: str
    span: Span = field(compare=False)
    value_span: Span = field(compare=False)
    method: str | None = None
    want: Value | None = None
    from_memory: bool = False
    in_doubt: bool = False
    remark: str = ""


@record
class Sentence:
    """A line kept as a note.

    key  the key it says once more where that counts once, or is meant for and does not begin with; "" for a line
         without a key
    """

    text: str
    span: Span = field(compare=False)
    key: str = ""


@record
class Slip:
    """A fenced block that the tool reads.

    kind     a word of the table of kinds
    about    what stands after the kind, to the letter ("IMG_0451.jpg", "fit the wheels", "hinge upper, left")
    name     `about` as a part's name, for kinds that are about a part; None for photo, job, done, ordered, private
             (ordered/arrived/job/done take `about` as their own name)
    body     the lines between the fences, to the letter (the Markdown of a `private` slip)
    span     of the first line (the info string)
    end_line the line of the closing fence
    """

    kind: str
    about: str
    name: Name | None
    entries: tuple[Entry, ...]
    statements: tuple[Statement, ...]
    sentences: tuple[Sentence, ...]
    body: str
    private: bool
    span: Span = field(compare=False)
    end_line: int = field(compare=False, default=0)

    def all(self, key: str) -> tuple[Entry, ...]:
        """Every entry of a key, in the order written."""
        return tuple(entry for entry in self.entries if entry.key == key)

    def first(self, key: str) -> Entry | None:
        """The first entry of a key (a second one of a key that counts once is a finding already)."""
        return next((entry for entry in self.entries if entry.key == key), None)

    @property
    def told(self) -> tuple[Entry, ...]:
        """Its entries, and its lines without a key as entries under `note`, in the order written."""
        plain = (Entry("note", said.text, said.span, items=(said.text,)) for said in self.sentences if not said.key)
        return tuple(sorted((*self.entries, *plain), key=lambda entry: entry.span))


@record
class Note:
    """One CommonMark file of a day.

    tokens  markdown-it tokens of the whole file; the fence token of slip n carries meta["slip"] = n, that of a block
            that was meant to be one and could not be read meta["unread"]
    title   the text of its first heading, or ""
    """

    file: str
    title: str
    tokens: tuple[Any, ...]
    slips: tuple[Slip, ...]
