"""A taste of the campaign that kills the process between the steps of telling."""

from __future__ import annotations

from tests.faults.delivery import BREAKS, campaign


def test_no_notice_is_lost_or_told_twice_wherever_the_process_is_killed() -> None:
    tally = campaign(4, BREAKS[-1:])
    assert (tally.points, tally.lost, tally.doubled) == (4, [], [])
    # Two people, six things to tell, in messages of one or two.
    assert tally.mails >= 4 * 2 * 5
