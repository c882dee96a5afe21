"""The rule about batteries: one is low."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.watch.finding import Finding
from steepwell.watch.kinds import BATTERY
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from steepwell.garden.garden import Garden
    from steepwell.store.devices import Device

# A device says percent, a share, volts or millivolts, and not which. What was once 20 to 100 is
# taken for percent, and low under a fifth; what was at most 1 for a share. Other figures are taken
# for a voltage, which is low at four fifths of the best it ever was (a cell of 4.2 V at 3.4 V, two
# of 1.5 V at 2.4 V). From memory.
PERCENT_FROM, PERCENT_TO, SHARE_TO = 20.0, 100.0, 1.0
LOW_CHARGE, CHARGED = 0.2, 0.3
LOW_VOLTAGE, GOOD_VOLTAGE = 0.8, 0.85


def low_batteries(
    garden: Garden, devices: Mapping[str, Device], stand: Collection[str]
) -> list[Finding]:
    """Find sensors whose battery is low.

    Parameters
    ----------
    garden
        The garden.
    devices
        What devices said of themselves, by name of the sensor.
    stand
        Sensors of which this was told already.

    Returns
    -------
    list of Finding
        One a sensor.
    """
    found = []
    for sensor in garden.sensor:
        device = devices.get(sensor.name)
        if device is None or device.battery is None:
            continue
        best = max(device.best_battery or 0.0, device.battery)
        if best <= 0.0:
            continue
        limit = _limit(best, told=sensor.name in stand)
        if device.battery < limit:
            found.append(_low(sensor.name, device.battery, best))
    return found


def _limit(best: float, *, told: bool) -> float:
    if best <= SHARE_TO:
        return CHARGED if told else LOW_CHARGE
    if PERCENT_FROM < best <= PERCENT_TO:
        return PERCENT_TO * (CHARGED if told else LOW_CHARGE)
    return best * (GOOD_VOLTAGE if told else LOW_VOLTAGE)


def _low(name: str, now: float, best: float) -> Finding:
    return Finding(
        kind=BATTERY,
        subject=name,
        urgency="Future",
        severity="Minor",
        certainty="Likely",
        headline=say("battery.low", sensor=name),
        text=say("battery.change-it", now=f"{now:g}", best=f"{best:g}"),
        figures={"battery": now, "best_battery": best},
    )
