"""What counts as done though nobody noted it, in sentences by which it can be undone."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.tell.jobs import Job
from steepwell.tell.wording import days_listed, joined_in_short
from steepwell.words.figures import joined, litres, spoken
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.tell.documents import Plan, TakenLine

MOST_NAMED = 4


def taken_said(plan: Plan) -> tuple[Job, ...]:
    """Return what counts as done, waterings as one and feeds as another.

    Parameters
    ----------
    plan
        The plan.

    Returns
    -------
    tuple of Job
        At most two; their names are those of the jobs that are taken as done.
    """
    feeds = [line for line in plan.taken if line.vessel is not None]
    waterings = [line for line in plan.taken if line.vessel is None]
    return tuple(
        _said(lines, do, how)
        for lines, do, how in (
            (waterings, _watered(waterings), say("taken.fell-fast", days=_days(waterings))),
            (feeds, _fed(feeds), say("taken.in-silence", days=_days(feeds))),
        )
        if lines
    )


def _said(lines: Sequence[TakenLine], do: str, how: str) -> Job:
    names = tuple(line.job for line in lines)
    return Job(do, how, (), None, min(line.day for line in lines), names)


def _days(lines: Sequence[TakenLine]) -> str:
    return days_listed([line.day for line in lines])


def _watered(lines: Sequence[TakenLine]) -> str:
    amounts: dict[str, float] = {}
    for line in lines:
        amounts[line.bed] = amounts.get(line.bed, 0.0) + (line.litres or 0.0)
    said = [
        say("taken.bed", bed=spoken(bed), litres=litres(amount)) for bed, amount in amounts.items()
    ]
    return say("taken.watered", beds=joined_in_short(said, MOST_NAMED))


def _fed(lines: Sequence[TakenLine]) -> str:
    return say("taken.fed", beds=joined(sorted({spoken(line.bed) for line in lines})))
