"""Explained: findings about readings and what became of parts."""

from __future__ import annotations

from collections.abc import Mapping

from journal.ground.explained import Explained, day

BOTH_HAVE_ONE = """\
```part sill, left
features: rear end, flange edge
```

```part guide bracket front, left
from: sill, left
held by: 2 spot welds
features: hole, rear end
```

"""

READINGS: Mapping[str, Explained] = {
    "disagree": Explained(
        "The same thing was measured twice and the two do not fit, even with what the writing and the tool can be "
        "out. One of them is wrong: the tape was read from the wrong end of the hook, a digit was swapped, or the "
        "part moved. Both are kept, and whoever welds the part back on has to know which to trust. Measure once "
        "more, and mark the wrong line with `, in doubt`. If both are right, settle it and say why.",
        day(
            "```measured horn bracket, right\non: sill, right\nhole to flange edge: 22 mm by rule\n```\n\n"
            "```measured horn bracket, right\non: sill, right\nhole to flange edge: 25 mm by rule\n```\n"
        ),
        day(
            "```measured horn bracket, right\non: sill, right\nhole to flange edge: 22 mm by rule\n```\n\n"
            "```measured horn bracket, right\non: sill, right\nhole to flange edge: 7/8 in by rule\n```\n"
        ),
    ),
    "new-one-differs": Explained(
        "The same distance was measured on the old part and on the new one that takes its place, and they differ "
        "by more than the measuring can be out. What was recorded from those two features on the old one will not "
        "fit the new one. Better to know before it is welded in. Measure both again; if the new one is right, say "
        "in its `replaced` slip what it has in the same place, with `carries:`.",
        day("```measured sill, left\ndrain hole to front end: 60 mm by rule\n```\n")
        | day("```part sill, left\nfeatures: drain hole, front end\n```\n", "2026-03-20")
        | day(
            "```replaced sill, left\nby: folded from sheet\ndrain hole to front end: 64 mm by rule\n```\n",
            "2026-03-28 new sill",
        ),
        day("```measured sill, left\ndrain hole to front end: 60 mm by rule\n```\n")
        | day("```part sill, left\nfeatures: drain hole, front end\n```\n", "2026-03-20")
        | day(
            "```replaced sill, left\nby: folded from sheet\ndrain hole to front end: 60.5 mm by rule\n```\n",
            "2026-03-28 new sill",
        ),
    ),
    "out-of-want": Explained(
        "What was found is not what was wanted, and not only by what the rule can be out. The help says how much "
        "has to come off at least, or be added; where a gap is too small, that is the metal beside it. When it is "
        "put right, measure again with the same words: the newest reading is the one that counts.",
        day(
            "```measured pull rod\ngap to motor mount: 3 mm by gauge, want at least 6 mm\n```\n\n"
            "```part motor mount\nheld by: 4 bolts M12\n```\n",
            "2026-04-18 trial fit",
        ),
        day(
            "```measured pull rod\ngap to motor mount: 6.0 mm by gauge, want at least 6 mm\n```\n\n"
            "```part motor mount\nheld by: 4 bolts M12\n```\n",
            "2026-04-18 trial fit",
        ),
    ),
    "already-off": Explained(
        "A `removed` slip takes off a part that is off already, so one of two things was not written down: that it"
        " went back on in between, or that this is another part of nearly the same name. Its readings count all "
        "the same. For more readings of a part that is off, write a `measured` slip with `on:`; for the day it "
        "went back, `refitted`.",
        day("```removed battery lid\nfrom: frame\nheld by: 2 catches\n```\n", "2026-03-14")
        | day("```removed battery lid\nstored: in the rafters\n```\n", "2026-03-15"),
        day("```removed battery lid\nfrom: frame\nheld by: 2 catches\n```\n", "2026-03-14")
        | day("```refitted battery lid\n```\n", "2026-03-15 morning")
        | day("```removed battery lid\nstored: in the rafters\n```\n", "2026-03-15 night"),
    ),
    "not-off": Explained(
        "A part is refitted, and nothing says that it was ever off. Either its `removed` slip was forgotten, and "
        "with it the day and what was measured then, or the name is spelt in another way there. Write the "
        "`removed` slip for the day it came off, as much of it as you still know.",
        day("```part brake pedal\nfrom: frame\nheld by: 1 pin\n```\n", "2026-03-14")
        | day("```refitted brake pedal\non: frame\n```\n", "2026-05-02"),
        day("```removed brake pedal\nfrom: frame\nheld by: 1 pin\n```\n", "2026-03-14")
        | day("```refitted brake pedal\non: frame\n```\n", "2026-05-02"),
    ),
    "nearly-same-name": Explained(
        "Two names differ by a letter or two, have the same words in another order, say the side in other words "
        "(`LH stay`, `stay, left`), or one joins two parts (`beam & frame`). If they are one part, the "
        "journal now holds two halves of it: the place under one name, the bolts under the other. Write both "
        "alike, or put the other name under `also called:`. If they are two parts, settle it once: `settled: "
        "nearly-same-name, two parts`. Names that differ in a number, a letter, a side or in front and rear are "
        "never told.",
        day("```removed clamp bar\nfrom: frame\nheld by: 2 bolts\n```\n", "2026-03-14")
        | day("```removed clamp bars\nfrom: frame\nheld by: 2 bolts\n```\n", "2026-03-15"),
        day("```removed clamp bar 1\nfrom: frame\nheld by: 2 bolts\n```\n", "2026-03-14")
        | day("```removed clamp bar 2\nfrom: frame\nheld by: 2 bolts\n```\n", "2026-03-15"),
    ),
    "which-one": Explained(
        "The line measures to a feature that both the part and what it sits on have by that name, so it can be a "
        "size of the part or its place. A guess here would be worse than nothing: the reading is kept and holds "
        "nothing until it is said. Write `own rear end`, or `rear end of sill, left`; the help spells out both. So it "
        "is with a line that measures from `it` or `the other one`, which names nothing, and with one length for "
        "`both holes`: name the thing, and write a line for each.",
        day(BOTH_HAVE_ONE + "```measured guide bracket front, left\nhole to rear end: 22 mm by rule\n```\n"),
        day(
            BOTH_HAVE_ONE + "```measured guide bracket front, left\nhole to own rear end: 22 mm by rule\n"
            "hole to rear end of sill, left: 1580 mm by tape\n```\n"
        ),
    ),
    "settles-nothing": Explained(
        "A `settled:` line names a finding that the part does not have: it was put right since, or the word is "
        "spelt in another way. The line does no harm, only it would hide the finding if it came back. Take it out,"
        " or write the word as the finding gives it in square brackets.",
        day(
            "```removed battery lid\nfrom: frame\nheld by: 2 catches\n"
            "settled: partly-recorded, it only lies on top\n```\n"
        ),
        day(
            "```removed reflector\nfrom: deck plate rear\nheld by: glue\n"
            "settled: no-position, a new one comes anyway\n```\n"
        ),
    ),
}
