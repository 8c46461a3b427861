"""Explained: findings about where a part sat."""

from __future__ import annotations

from collections.abc import Mapping

from journal.ground.explained import Explained, day

HOLES_TO_ONE_EDGE = """\
```removed guide bracket front, left
from: sill, left
held by: 2 spot welds
way round: upright to the rear
hole to flange edge: 5/8 in by rule
slot to flange edge: 5/8 in by rule
{more}```
"""
HELD = HOLES_TO_ONE_EDGE.format(more="hole to rear end: 1580 mm by tape\n")
HELD_ONE_WAY = HELD.replace("1580 mm by tape\n", "1580 mm by tape\nslot to rear end: 1602 mm by tape\n")
NEW_SILL = """\
```replaced sill, left
by: folded from 1.5 mm sheet
{more}```
"""

SILL_MEASURED = """\

```measured sill, left
flange edge to own web: 60 mm by rule
rear end to front end: {length} mm by tape
```
"""

PLACES: Mapping[str, Explained] = {
    "no-position": Explained(
        "The part is off and not one thing in the notes says where it sat: no reading, no match marks, no "
        "template, no way round, no picture in place. In a few months it will be guessed back on. If its twin on "
        "the other side is still there, measure that one. Else look for the shadow it left: old holes, a clean "
        "patch in the paint, broken welds. Write two readings from one hole or corner, to an edge and to an end of"
        " what it sat on, and one from a second hole.",
        day("```removed reflector\nfrom: deck plate rear\nheld by: 2 spot welds\n```\n"),
        day("```removed reflector\nfrom: deck plate rear\nheld by: 2 screws 1/4 in\n```\n"),
    ),
    "seen-not-measured": Explained(
        "A picture or a line on which way round it sits shows the part in its place, and nothing measured holds it"
        " there. A picture tells which way up it goes, not to the millimetre where. Take readings as long as the "
        "spot can still be found, or scribe marks across the joint, or trace a template, and write that down.",
        day("```removed handrail\nfrom: dash\nheld by: 2 clamps\nway round: joint in the tube to the right\n```\n"),
        day(
            "```removed handrail\nfrom: dash\nheld by: 2 clamps\nway round: joint in the tube to the right\n"
            "marks: a scribed line across tube and dash at both ends\n```\n"
        ),
    ),
    "partly-recorded": Explained(
        "Some readings are there, and with all of them kept the part can still be slid or turned. Two holes to one"
        " edge say how far up it sits and that it is straight, and leave it free along that edge. The message says"
        " what is still free; the help names the one or two readings that would settle it. They take a minute "
        "while the old panel is there, and cannot be taken at all once it is gone.",
        day(HOLES_TO_ONE_EDGE.format(more="")),
        day(HELD),
    ),
    "reference-gone": Explained(
        "What was written down was enough to put the part back. Then the thing it was measured from was replaced, "
        "cut or scrapped, so the readings start from an edge that is no longer there. They count again once the "
        "new panel is known to have the same edges and ends: measure between two of them on the new one as you did"
        " on the old, or say it in the `replaced` slip with `carries: flange edge, rear end`.",
        day(HELD) | day(NEW_SILL.format(more=""), "2026-04-25 new sill"),
        day(HELD + SILL_MEASURED.format(length=2410))
        | day(
            NEW_SILL.format(more="") + SILL_MEASURED.format(length=2411),
            "2026-04-25 new sill",
        ),
    ),
    "not-moved-over": Explained(
        "The part's place is recorded well enough, what it sat on has been replaced or scrapped, and the part is "
        "not on the new one yet. That is fine for a while; up to 30 days it is a remark only. After that it is "
        "easily forgotten, or the new panel is painted before its welds are done. Fit it and write a `refitted` "
        "slip.",
        day(HELD) | day(NEW_SILL.format(more="carries: all\n"), "2026-03-28 new sill"),
        day(HELD)
        | day(
            NEW_SILL.format(more="carries: all\n")
            + "\n```refitted guide bracket front, left\non: sill, left\nheld by: 2 plug welds\n```\n",
            "2026-03-28 new sill",
        ),
    ),
    "no-route": Explained(
        "A hose, pipe, cable or lead is off, and its way is not written down with both its ends. It will go in "
        "somewhere; whether it chafes, kinks or lies against something hot shows later. Write `route: from A, over"
        " B, through C, to D` while the clips are still there, or one `connects:` line for each end.",
        day("```removed lamp lead\nfrom: dash\nroute: along the dash, through the grommet\n```\n"),
        day("```removed lamp lead\nfrom: dash\nroute: from the fuse box, through the grommet, to the lamp\n```\n"),
    ),
    "lost-with-host": Explained(
        "Nothing says that this part ever came off, and what it sat on has been replaced or scrapped, or the piece"
        " it sat on was cut away. So it went to the scrap with the old panel, or it lies in a box and nobody wrote"
        " that down. Look for it now. Then write a `removed` slip on the day it came off, `refitted` if it is on "
        "the new panel, or `scrapped` with `not coming back: yes`.",
        day("```part wire clip\nfrom: sill, left\nheld by: 1 rivet\n```\n")
        | day(NEW_SILL.format(more=""), "2026-03-28 new sill"),
        day(
            "```part wire clip\nfrom: sill, left\nheld by: 1 rivet\n```\n"
            "\n```removed wire clip\nhole to flange edge: 12 mm by rule\nhole to rear end: 640 mm by tape\n"
            "tail to rear end: 655 mm by tape\nway round: tail to the front\n```\n"
        )
        | day(
            NEW_SILL.format(more="carries: flange edge, rear end\n") + "\n```refitted wire clip\non: sill, left\n```\n",
            "2026-03-28 new sill",
        ),
    ),
    "host-going": Explained(
        "This panel is about to be cut out or scrapped, and parts that sit on it, or sat on it, are not fully "
        "recorded. Each is listed with what is still free and what to measure. It is the last chance: once the saw"
        " is through, there is nothing left to measure from. Bolt holes in the panel go with it, so a part that "
        "only its own holes hold is listed too; a template, or readings that hold it, are enough.",
        day(
            "```part sill, left\ngoing: next weekend\n```\n\n"
            "```part wire clip\nfrom: sill, left\nheld by: 1 rivet\n```\n"
        ),
        day(
            "```part sill, left\ngoing: next weekend\n```\n\n"
            "```part wire clip\nfrom: sill, left\nheld by: 1 rivet\n```\n\n"
            "```measured wire clip\nhole to flange edge: 12 mm by rule\nhole to rear end: 640 mm by tape\n"
            "tail to flange edge: 14 mm by rule\ntail to rear end: 655 mm by tape\n```\n"
        ),
    ),
    "no-way-round": Explained(
        "Nothing says which way round the part sits. A bracket that is nearly the same both ways goes back the "
        "wrong way round, and its holes still line up. Write `way round:` and what points where: `long leg to the "
        "front, bend upwards`. Chalk an arrow to the front on it as well.",
        day(HELD_ONE_WAY.replace("way round: upright to the rear\n", "")),
        day(HELD_ONE_WAY),
    ),
    "no-photo-in-place": Explained(
        "No picture shows the part where it sat. One taken before the first nut moves answers most questions that "
        "come up months later: which side of the bracket the wire ran, which washer was under the head. Name it in"
        " the slip that takes the part off: `photos: IMG_0451`. Pictures from the bench go in a `photo` slip with "
        "`off the machine: yes`.",
        day(HELD),
        day(HELD.replace("held by", "photos: IMG_0451\nheld by")) | {"2026-03-21 left sill/IMG_0451.jpg": "a picture"},
    ),
    "no-fixing": Explained(
        "Nothing says how the part is held. Whether it was bolted, welded, clamped in slots or pushed on decides "
        "what gives its place, and so what there is to record: bolt holes find themselves again, a weld does not. "
        "Until it is said, the part is taken as one that has to be measured. Write `held by: 4 bolts M8 x 25`, or "
        "`2 spot welds`.",
        day(HELD.replace("held by: 2 spot welds\n", "")),
        day(HELD),
    ),
}
