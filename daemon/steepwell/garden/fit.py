"""Checks of what is well formed and cannot be: probes that misfit their butts, odd normals."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.garden.links import Link
from steepwell.garden.sensors import LevelSensor

if TYPE_CHECKING:
    from collections.abc import Iterator

    from steepwell.garden.garden import Garden


def misfits(garden: Garden) -> Iterator[Link]:
    """Yield every probe that cannot tell the water in its butt, and every impossible normal.

    Parameters
    ----------
    garden
        The garden; probes of butts that are not there are passed over.

    Yields
    ------
    Link
        One per fault.
    """
    yield from _impossible_normals(garden)
    butts = {butt.name: butt for butt in garden.butt}
    for index, sensor in enumerate(garden.sensor):
        if not isinstance(sensor, LevelSensor) or sensor.of not in butts:
            continue
        butt = butts[sensor.of]
        if butt.shape is None and sensor.reads in {"distance from lid", "depth", "pressure"}:
            yield Link(
                ("sensor", index, "reads"),
                f"{sensor.reads!r} in a butt of which only the litres are known",
                f"a shape for the butt {butt.name!r}, or a probe that reads percent or litres",
            )
        elif sensor.absolute and garden.barometer is None:
            yield Link(
                ("sensor", index, "absolute"),
                "a probe that feels the air too, and nothing that measures its pressure",
                'a sensor that measures "pressure", or a probe with a vent to the air',
            )
        elif sensor.lid is not None and sensor.lid < butt.geometry.height_m:
            yield Link(
                ("sensor", index, "lid"),
                f"{sensor.lid * 100:.0f} cm above the floor, which is under water when it is full",
                f"no less than the {butt.geometry.height_m * 100:.0f} cm the butt is high",
            )


def _impossible_normals(garden: Garden) -> Iterator[Link]:
    record = garden.weather_record
    if record is None or record.normals is None:
        return
    for wrong in record.normals.impossible():
        where = ("weather_record", "normals", wrong.key, wrong.month)
        yield Link(where, wrong.found, wrong.wanted)
