"""What an adjustment says about each reading, in the reading's own sense and unit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from journal.ground.records import record
from journal.judge.face import Tape
from journal.judge.verdicts import Residual
from journal.measure.adjustment import Adjustment, suspect
from journal.measure.observations import Observation


@record
class Heard:
    """Which reading an observation is: its tape, and -1 where it went into the sum the other way round."""

    tape: Tape
    sign: int = 1


def residuals(answer: Adjustment, heard: Mapping[int, Heard]) -> Iterator[tuple[str, Residual]]:
    """(reading id, what the others say about it); `heard` is keyed by the identity of the observation."""
    for index, item in enumerate(answer.observations):
        one = heard[id(item)]
        yield one.tape.id, _residual(answer, index, item, one)


def _residual(answer: Adjustment, index: int, item: Observation, heard: Heard) -> Residual:
    said, sign = answer.normalised[index], heard.sign
    others = answer.others_say(index)
    return Residual(
        residual=sign * answer.residuals[index],
        sigma=item.sigma,
        normalised=None if said is None else sign * said,
        redundancy=answer.redundancies[index],
        notices=answer.detectable[index],
        should_read=None if others is None else (sign * others[0] - heard.tape.added, others[1]),
    )


def suspected(answers: list[Adjustment], heard: Mapping[int, Heard]) -> str | None:
    """The reading of all groups that is most likely a slip of the tape, if any can be named."""
    named = [(answer, index) for answer in answers if (index := suspect(answer)) is not None]
    if not named:
        return None
    answer, index = max(named, key=lambda pair: abs(pair[0].normalised[pair[1]] or 0.0))
    return heard[id(answer.observations[index])].tape.id
