"""Whatever is written, every part that is off is told once, and nobody is told twice."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from journal.build import Told
from tests.builds import finding_lines, tell_files

ONE_OF = {
    "no-position", "seen-not-measured", "partly-recorded", "two-spots", "reference-gone", "not-moved-over", "no-route",
}  # fmt: skip
PARTS = (*["sill, left", "bracket", "clip"] * 2, "sill, right", "fuel pipe", "frame")  # some more often than others
LINES = (
    *["from: sill, left", "going: soon"] * 4, "from: sill", "from: bracket", "from: frame", "from: clip; bracket",
    "held by: 2 welds",
    "held by: 4 bolts", "held by: drops in", "held by: 2 bolts in slots", "way round: foot down", "count: 3",
    "marks: two punch dots", "template: card", "face: rear flange", "face: round", "route: from the tank, to the pump",
    "route: along the rail", "hole to flange edge: 16 mm", "slot to flange edge: 16 mm by rule",
    "hole to rear end: 1580 mm by tape", "slot to hole: 40 mm", "foot square to web", "hole to flange edge: 12 in",
    "carries: all", "carries: flange edge, own holes", "away: rear flange", "away: own holes", "moved: yes",
    "not coming back: yes", "pitch: 50 mm", "stands off: on spacers", "on: sill, left", "cuts: sill, left",
    "located by: adjustment", "features: hole, rear end", "behind: clip", "flange edge to own web: 60 mm",
    "settled: no-position, never mind", "gap to frame: 3 mm, want at least 6 mm",
)  # fmt: skip
KINDS = ("part", "removed", "removed", "measured", "refitted", "replaced", "cut", "scrapped", "job", "done")

slips = st.builds(
    lambda kind, part, lines: "\n".join([f"```{kind} {part}", *lines, "```\n"]),
    st.sampled_from(KINDS),
    st.sampled_from(PARTS),
    st.lists(st.sampled_from(LINES), max_size=6, unique=True),
)


def _told(written: list[str]) -> Told:
    files = {f"{date(2026, 3, 1) + timedelta(days=3 * n)}/note.md": text for n, text in enumerate(written)}
    with TemporaryDirectory() as folder:
        return tell_files(Path(folder), files)


@settings(max_examples=200, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(slips, min_size=1, max_size=14))
def test_every_part_that_is_off_is_told_once(written: list[str]) -> None:
    told = _told(written)
    findings = told.judgement.findings
    single = Counter(finding.part for finding in findings if finding.word in ONE_OF | {"lost-with-host"})
    going = "\n".join(line for f in findings if f.word == "host-going" for line in finding_lines(f))
    for part, record in told.judgement.records.items():
        title = told.book.title(part)
        settled = any(said.key == "settled" for said in told.book.parts[part].said)
        listed = f"note: {title}: " in going
        assert single[part] <= 1, f"{title} is told more than once"
        if single[part]:
            assert not listed, f"{title} is told of its own and with its host"
        if not record.asked:
            assert not single[part], f"{title} is told, and nobody asks for its place"
        elif record.word != "position recorded" and not settled:
            assert single[part] or listed, f"nothing tells that the place of {title} is not recorded"
        if record.word == "position recorded":
            assert record.grounds or record.rank >= record.full, f"{title} is recorded by nothing"
            words = {f.word for f in findings if f.part == part} & ONE_OF
            assert words <= {"not-moved-over"}, f"{title} is recorded and told {words}"
