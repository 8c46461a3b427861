"""The table of finding words: how grave each is, what it means, an example that triggers it, a near miss.

`example` and `near_miss` are whole build folders as {path: text}; the tests run both: the first must give the
word, the second must not. The long texts stand in `explained`.
"""

from __future__ import annotations

from typing import Literal

from journal.ground.explained import Files
from journal.ground.explained.notes import NOTES
from journal.ground.explained.places import PLACES
from journal.ground.explained.positions import POSITIONS
from journal.ground.explained.readings import READINGS
from journal.ground.explained.work import WORK
from journal.ground.records import record

Severity = Literal["problem", "warning", "remark"]


@record
class Word:
    """One kind of finding.

    severity   how grave it is unless a check says otherwise
    summary    one line: what it says
    text       the explanation for `journal explain WORD`, plain words, a few sentences
    example    a build folder that triggers it: {path: text}
    near_miss  a build folder that nearly does, and must not
    encoding   what the example's notes are saved in
    """

    severity: Severity
    summary: str
    text: str
    example: Files
    near_miss: Files
    encoding: str = "utf-8"


SUMMARIES: tuple[tuple[str, Severity, str], ...] = (
    ("no-position", "warning", "a part is off and nothing says where it sat"),
    ("seen-not-measured", "warning", "a part is off; a picture or words show it, no measurement holds it"),
    ("partly-recorded", "warning", "a part is off and the readings leave it free to move"),
    ("reference-gone", "warning", "what held a part's place was recorded from something that is gone"),
    ("not-moved-over", "warning", "a part waits to be fitted to the new host"),
    ("no-route", "warning", "a hose, pipe or cable is off and its way was not written down"),
    ("lost-with-host", "problem", "a part was never taken off, and what it sat on is gone"),
    ("host-going", "problem", "a host is about to go while parts on it are not fully recorded"),
    ("no-way-round", "remark", "nothing says which way round a part sits"),
    ("no-photo-in-place", "remark", "no picture shows the part where it sat"),
    ("no-fixing", "remark", "nothing says how a part is held"),
    ("two-spots", "warning", "the readings of a part fit in a second place as well"),
    ("weak-turn", "remark", "the readings hold a part against turning only roughly"),
    ("suspect-measurement", "warning", "a reading that does not fit the others, and what they say"),
    ("sides-differ", "warning", "the left and the right were read alike and differ"),
    ("refit-off", "warning", "a part is back, and not where it was"),
    ("disagree", "warning", "the same thing was measured twice and differs"),
    ("new-one-differs", "warning", "the new part differs from the old one"),
    ("out-of-want", "warning", "what was found is not what was wanted"),
    ("already-off", "warning", "a part is taken off that is off already"),
    ("not-off", "warning", "a part is refitted that was never off"),
    ("nearly-same-name", "warning", "two names that look like one"),
    ("which-one", "warning", "a line does not say whose feature it is, or which"),
    ("unknown-name", "warning", "a name that no slip has introduced"),
    ("said-twice", "warning", "a key that counts once is given twice"),
    ("unknown-slip", "problem", "a fenced block that looks like a slip of no known kind"),
    ("unknown-key", "warning", "a key that this kind of slip does not have"),
    ("not-understood", "problem", "a line that could not be read"),
    ("no-unit", "problem", "a number without a unit"),
    ("ambiguous-value", "problem", "a value that can be read in two ways"),
    ("unclosed-slip", "problem", "a slip without its closing fence"),
    ("missing-photo", "problem", "a picture that is named and not there"),
    ("unreadable-photo", "problem", "a picture that cannot be read"),
    ("photo-date-differs", "remark", "a picture taken on another day than its folder"),
    ("bad-day-name", "warning", "a folder whose name begins like a date and is none"),
    ("not-utf8", "problem", "a note, or build.toml, that is not UTF-8"),
    ("ring-in-order", "problem", "steps that wait for one another"),
    ("late-order", "warning", "something ordered should be here and is not"),
    ("welded-after-paint", "remark", "a surface was welded after it was painted"),
    ("unknown-setting", "warning", "a key of build.toml that is not known"),
    ("unknown-private", "problem", "an entry of [private] that names nothing"),
    ("settles-nothing", "remark", "a `settled` line that ends no finding"),
)

_EXPLAINED = {**PLACES, **POSITIONS, **READINGS, **NOTES, **WORK}

WORDS: dict[str, Word] = {
    word: Word(
        severity,
        summary,
        _EXPLAINED[word].text,
        _EXPLAINED[word].example,
        _EXPLAINED[word].near_miss,
        _EXPLAINED[word].encoding,
    )
    for word, severity, summary in SUMMARIES
}
