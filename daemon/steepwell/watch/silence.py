"""The rule about sensors: one has not been heard for a day."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from steepwell.watch.finding import Finding
from steepwell.words.figures import moment
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from steepwell.garden.garden import Garden

SILENT = "sensor-silent"
SILENT_AFTER = timedelta(hours=24)


def silent_sensors(
    garden: Garden,
    last_heard: Mapping[str, datetime],
    since: datetime,
    now: datetime,
    *,
    stand: Collection[str] = (),
) -> list[Finding]:
    """Find sensors that have not been heard for a day.

    Parameters
    ----------
    garden
        The garden.
    last_heard
        When each sensor was last heard; one never heard is missing.
    since
        When the daemon first ran, from which a sensor never heard is waited for.
    now
        The moment of the job.
    stand
        Sensors whose silence has been told already.

    Returns
    -------
    list of Finding
        One a sensor; when none of several is heard, a single one for those not told yet.
    """
    silent = [
        sensor.name
        for sensor in garden.sensor
        if now - last_heard.get(sensor.name, since) > SILENT_AFTER
    ]
    if len(silent) > 1 and len(silent) == len(garden.sensor):
        everything = _all_silent(max(last_heard.values(), default=since), garden)
        return [
            everything,
            *(_silent(name, last_heard.get(name), garden) for name in silent if name in stand),
        ]
    return [_silent(name, last_heard.get(name), garden) for name in silent]


def _silent(name: str, heard: datetime | None, garden: Garden) -> Finding:
    if heard is None:
        text = say("silence.look-never-heard")
    else:
        text = say("silence.look", moment=moment(heard.astimezone(garden.garden.zone)))
    return Finding(
        kind=SILENT,
        subject=name,
        urgency="Expected",
        severity="Minor",
        certainty="Observed",
        headline=say("silence.silent", sensor=name),
        text=text,
        figures={"last_heard": heard.isoformat() if heard else None},
    )


def _all_silent(heard: datetime, garden: Garden) -> Finding:
    return Finding(
        kind=SILENT,
        subject="all",
        urgency="Expected",
        severity="Moderate",
        certainty="Observed",
        headline=say("silence.all"),
        text=say(
            "silence.look-at-broker",
            sensors=len(garden.sensor),
            moment=moment(heard.astimezone(garden.garden.zone)),
        ),
        figures={"last_heard": heard.isoformat()},
    )
