"""The table of finding words: how grave each is, what it means, an example that triggers it, a near miss.

`example` and `near_miss` are whole build folders as {path: text}; the tests run both: the first must give the
word, the second must not.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal


@dataclass(frozen=True, slots=True)
class Word:
    """One kind of finding.

    severity   how grave it is unless a check says otherwise
    summary    one line: what it says
    text       the explanation for `journal explain WORD`, plain words, a few sentences
    example    a build folder that triggers it: {path: text}
    near_miss  a build folder that nearly does, and must not
    """

    severity: Literal["problem", "warning", "remark"]
    summary: str
    text: str = ""
    example: dict[str, str] = field(default_factory=dict)
    near_miss: dict[str, str] = field(default_factory=dict)


WORDS: dict[str, Word] = {
    "no-position": Word("warning", "a part is off and nothing says where it sat"),
    "seen-not-measured": Word("warning", "a part is off; a picture or words show it, no measurement holds it"),
    "partly-recorded": Word("warning", "a part is off and the readings leave it free to move"),
    "reference-gone": Word("warning", "what held a part's place was recorded from something that is gone"),
    "not-moved-over": Word("warning", "a part waits to be fitted to the new host"),
    "no-route": Word("warning", "a hose, pipe or cable is off and its way was not written down"),
    "lost-with-host": Word("problem", "a part was never taken off, and what it sat on is gone"),
    "host-going": Word("problem", "a host is about to go while parts on it are not fully recorded"),
    "no-way-round": Word("remark", "nothing says which way round a part sits"),
    "no-photo-in-place": Word("remark", "no picture shows the part where it sat"),
    "no-fixing": Word("remark", "nothing says how a part is held"),
    "disagree": Word("warning", "the same thing was measured twice and differs"),
    "new-one-differs": Word("warning", "the new part differs from the old one"),
    "out-of-want": Word("warning", "what was found is not what was wanted"),
    "already-off": Word("warning", "a part is taken off that is off already"),
    "not-off": Word("warning", "a part is refitted that was never off"),
    "nearly-same-name": Word("warning", "two names that look like one"),
    "which-one": Word("warning", "the line can be read of the part or of its host"),
    "unknown-name": Word("warning", "a name that no slip has introduced"),
    "said-twice": Word("warning", "a key that counts once is given twice"),
    "unknown-slip": Word("problem", "a fenced block that looks like a slip of no known kind"),
    "unknown-key": Word("warning", "a key that this kind of slip does not have"),
    "not-understood": Word("problem", "a line that could not be read"),
    "no-unit": Word("problem", "a number without a unit"),
    "ambiguous-value": Word("problem", "a value that can be read in two ways"),
    "unclosed-slip": Word("problem", "a slip without its closing fence"),
    "missing-photo": Word("problem", "a picture that is named and not there"),
    "unreadable-photo": Word("problem", "a picture that cannot be read"),
    "photo-date-differs": Word("remark", "a picture taken on another day than its folder"),
    "bad-day-name": Word("warning", "a folder whose name begins like a date and is none"),
    "not-utf8": Word("problem", "a note that is not UTF-8"),
    "unknown-setting": Word("warning", "a key of build.toml that is not known"),
    "settles-nothing": Word("remark", "a `settled` line that ends no finding"),
}
