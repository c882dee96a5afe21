from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from steepwell_sim.devices.fault_script import Fault
from steepwell_sim.devices.faults import Faults
from steepwell_sim.devices.fleet import Fleet
from steepwell_sim.devices.payloads import Figure
from steepwell_sim.network import Message
from steepwell_sim.start import world_on

if TYPE_CHECKING:
    from steepwell.garden.garden import Garden
    from steepwell_sim.weather.record import Day

NOON = datetime(2031, 6, 1, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)


def faults(garden: Garden, *script: Fault) -> Faults:
    return Faults(script, garden, NOON, seed=1)


def values(garden: Garden, fault: Fault, measured: list[float]) -> list[float]:
    """Return what the sensor says, hour after hour."""
    at_work = faults(garden, fault)
    return [
        at_work.twist(Figure(value, "Cel"), "air", NOON + at * HOUR).value
        for at, value in enumerate(measured)
    ]


@pytest.mark.parametrize(
    ("fault", "expected"),
    [
        (Fault(kind="drift", sensor="air", after_h=1, size=2.4), [10.0, 11.0, 12.1, 13.2, 14.3]),
        (Fault(kind="spike", sensor="air", for_h=2, size=20), [30.0, 31.0, 12.0, 13.0, 14.0]),
        (Fault(kind="freeze", sensor="air", after_h=1, for_h=3), [10.0, 11.0, 11.0, 11.0, 14.0]),
        # What begins to count anew goes on from there.
        (Fault(kind="reset", sensor="air", after_h=2, for_h=1), [10.0, 11.0, 0.0, 1.0, 2.0]),
        (Fault(kind="battery", sensor="air", for_h=4), [10.0, 10.5875, 11.1, 11.5375, 14.0]),
        (Fault(kind="drift", sensor="gauge", size=2.4), [10.0, 11.0, 12.0, 13.0, 14.0]),
    ],
)
def test_what_a_sensor_says_instead(garden: Garden, fault: Fault, expected: list[float]) -> None:
    assert values(garden, fault, [10.0, 11.0, 12.0, 13.0, 14.0]) == pytest.approx(expected)


def heard(garden: Garden, fault: Fault, hours: int = 6) -> list[list[bytes]]:
    """Return what goes out in each hour when a device says the number of the hour."""
    at_work = faults(garden, fault)
    return [
        [
            message.payload
            for message in at_work.carry(
                Message("one", "plot/air", str(at).encode()), NOON + at * HOUR
            )
        ]
        for at in range(hours)
    ]


@pytest.mark.parametrize(
    ("fault", "expected"),
    [
        (Fault(kind="drop", sensor="air", after_h=1, for_h=2), ["0", "", "", "3", "4", "5"]),
        (Fault(kind="repeat", sensor="air", for_h=1, size=2), ["000", "1", "2", "3", "4", "5"]),
        (Fault(kind="late", sensor="air", for_h=2, size=3), ["", "", "2", "03", "14", "5"]),
        (Fault(kind="burst", sensor="air", after_h=1, for_h=3), ["0", "", "", "", "1234", "5"]),
        (Fault(kind="drop", sensor="gauge"), ["0", "1", "2", "3", "4", "5"]),
    ],
)
def test_what_goes_out_when(garden: Garden, fault: Fault, expected: list[str]) -> None:
    assert [b"".join(out).decode() for out in heard(garden, fault)] == expected


def test_a_dying_battery_says_less_and_less_and_then_nothing(garden: Garden) -> None:
    out = heard(garden, Fault(kind="battery", sensor="air", for_h=200), hours=220)
    said = [len(messages) for messages in out]
    assert sum(said[:50]) > 35
    assert 0 < sum(said[150:200]) < 15
    assert sum(said[200:]) == 0


def test_garbage_is_not_what_was_said(garden: Garden) -> None:
    out = heard(garden, Fault(kind="garbage", sensor="air", chance=0.5), hours=200)
    wrong = [at for at, (payload,) in enumerate(out) if payload != str(at).encode()]
    assert 60 < len(wrong) < 140


def test_a_clock_that_is_wrong_shows_in_the_message(
    garden: Garden, dry_year: dict[date, Day]
) -> None:
    world = world_on(garden, dry_year, NOON.date(), last=NOON.date(), seed=1)
    wrong = faults(garden, Fault(kind="clock", sensor="north-level", size=-5))
    _, level, _ = Fleet(garden, world, 1, wrong).messages(NOON)
    assert json.loads(level.payload)["at"] == "2031-06-01T07:00:00.000Z"


def test_a_device_loses_its_connection_while_it_is_told_to(
    garden: Garden, dry_year: dict[date, Day]
) -> None:
    world = world_on(garden, dry_year, NOON.date(), last=NOON.date(), seed=1)
    fleet = Fleet(garden, world, 1, faults(garden, Fault(kind="reconnect", sensor="air", for_h=2)))
    lost = [fleet.hanging_up(NOON + at * HOUR) for at in range(3)]
    assert lost == [["sim-plot-air"], ["sim-plot-air"], []]


def test_the_garden_breaks_and_is_mended(garden: Garden, dry_year: dict[date, Day]) -> None:
    world = world_on(garden, dry_year, NOON.date(), last=NOON.date(), seed=1)
    at_work = faults(
        garden,
        Fault(kind="leak", butt="north", size=24, for_h=2),
        Fault(kind="blocked downpipe", roof="shed", for_h=2),
        Fault(kind="blocked gauge", for_h=2),
    )
    at_work.befall(world, NOON)
    north = world.rainwater.butts["north"]
    before_l = north.water_l
    north.leak()
    assert before_l - north.water_l == pytest.approx(1.0)
    house, shed = world.rainwater.roofs
    for roof in (house, shed):
        roof.wet_mm = roof.declared.wetting_loss
    assert house.run_off(5.0) == pytest.approx(5.0 * 20 * house.runoff)
    assert shed.run_off(5.0) == pytest.approx(0.05 * 5.0 * 5 * 0.5 * shed.runoff)
    assert world.gauge_blocked == pytest.approx(0.95)
    at_work.befall(world, NOON + 2 * HOUR)
    assert (north.leak_l_d, shed.blocked, world.gauge_blocked) == (0.0, 0.0, 0.0)
