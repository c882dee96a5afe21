from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest

from steepwell_sim.gardener.gardener import Gardener
from steepwell_sim.gardener.hands import do
from steepwell_sim.gardener.notes import Note, usual_notes
from steepwell_sim.gardener.voice import Voice
from steepwell_sim.network import Network
from steepwell_sim.start import world_on

if TYPE_CHECKING:
    from collections.abc import Callable

    from steepwell.garden.garden import Garden
    from steepwell_sim.broker import RunningBroker
    from steepwell_sim.weather.record import Day
    from steepwell_sim.world.world import World

SATURDAY = datetime(2031, 7, 5, 18, tzinfo=UTC)  # seven in the evening in London


@pytest.fixture
def world(garden: Garden, dry_year: dict[date, Day]) -> World:
    world = world_on(garden, dry_year, date(2031, 7, 5), last=date(2031, 7, 31), seed=1)
    for butt in world.rainwater.butts.values():
        butt.water_l = butt.capacity_l
    return world


def test_what_is_said_is_what_was_given(world: World) -> None:
    before_l = world.rainwater.above_taps_l()
    said = Gardener(world, habit="weekly").water(SATURDAY)
    assert {entry["kind"] for entry in said} == {"watered"}
    assert {entry["at"] for entry in said} == {"2031-07-05T19:00:00+01:00"}
    # Leeks 15 L/m² on 6 m², beans on 4 m², in half cans of 9 L; leeks are dearer.
    ground = [entry for entry in said if entry["bed"] in {"leeks", "beans"}]
    assert ground[0]["bed"] == "leeks"
    assert sum(entry["litres"] for entry in ground if entry["bed"] == "leeks") == 90
    assert sum(entry["litres"] for entry in ground if entry["bed"] == "beans") == 58.5
    assert next(entry["butt"] for entry in ground if entry["bed"] == "beans") == "south"
    given_l = sum(entry["litres"] for entry in said)
    assert before_l - world.rainwater.above_taps_l() == pytest.approx(given_l, abs=0.1)
    assert world.today.given_l == pytest.approx(given_l, abs=0.1)


def test_watering_stops_when_the_butts_are_empty(world: World) -> None:
    gardener = Gardener(world, habit="ignores")
    for day in range(60):
        for bed in world.beds.values():
            bed.pass_hour(0.0, 6.0)
        gardener.water(SATURDAY + timedelta(days=day))
    assert world.rainwater.above_taps_l() == pytest.approx(0.0)
    assert world.today.wanted_l > world.today.given_l
    assert gardener.water(SATURDAY + timedelta(days=60)) == []


def test_bare_ground_is_not_watered(world: World) -> None:
    assert "bare" not in {
        entry["bed"] for entry in Gardener(world, habit="ignores").water(SATURDAY)
    }


def test_notes_are_done_when_their_time_has_come(garden: Garden, world: World) -> None:
    notes = usual_notes(garden, date(2031, 7, 5), date(2031, 7, 31))
    gardener = Gardener(world, habit="weekly", notes=notes)
    before_l = world.rainwater.above_taps_l()
    assert gardener.do_what_is_noted(SATURDAY - timedelta(hours=1)) == []
    assert [entry["vessel"] for entry in gardener.do_what_is_noted(SATURDAY)] == [
        "leeks",
        "barrel",
    ]
    assert before_l - world.rainwater.above_taps_l() == pytest.approx(144)
    assert gardener.do_what_is_noted(SATURDAY) == []
    steep = world.vessels["leeks"].steep
    assert steep is not None
    assert steep.liquid_l == 90
    assert world.vessels["leeks"].temperature_c == world.water_c


def entry(kind: str, **more: object) -> dict[str, Any]:
    return {"kind": kind, "at": SATURDAY.isoformat(), **more}


def test_a_vessel_is_filled_from_the_tap_when_the_butts_are_empty(world: World) -> None:
    world.rainwater.draw(world.rainwater.above_taps_l() - 30)
    do(world, entry("steep-started", vessel="barrel", water_l=54.0), SATURDAY)
    assert world.today.given_l == pytest.approx(30)
    assert world.today.tap_l == pytest.approx(24)


def test_what_hands_change(world: World) -> None:
    do(world, entry("steep-started", vessel="barrel", water_l=54.0), SATURDAY)
    do(world, entry("drawn-off", vessel="barrel", litres=4.0), SATURDAY)
    steep = world.vessels["barrel"].steep
    assert steep is not None
    assert steep.liquid_l == 50
    do(world, entry("vessel-emptied", vessel="barrel"), SATURDAY)
    assert world.vessels["barrel"].steep is None

    dry_mm = world.beds["leeks"].soil.depletion_mm
    do(world, entry("watered", bed="leeks", litres=12.0, butt="north"), SATURDAY)
    do(world, entry("fed", bed="leeks", vessel="barrel", feed_ml=30.0, cans=2.0), SATURDAY)
    # 12 L and two cans of 9 L on 6 m² are 5 mm, as far as the soil lacks it.
    gained_mm = dry_mm - world.beds["leeks"].soil.depletion_mm
    assert gained_mm + world.beds["leeks"].drained_mm >= min(5.0, dry_mm) - 1e-9

    do(world, entry("cleared", bed="beans", healthy=True), SATURDAY)
    assert not world.beds["beans"].growing
    do(world, entry("planted", bed="bare", crop="lettuce"), SATURDAY)
    assert world.beds["bare"].growing

    world.rainwater.butts["north"].water_l = 50.0
    do(world, entry("tap-water-added", butt="north", litres=20.0), SATURDAY)
    assert world.rainwater.butts["north"].water_l == 70
    assert world.today.tap_l == 20
    do(world, entry("level-read", butt="north", litres=70.0), SATURDAY)
    assert world.rainwater.butts["north"].water_l == 70


def test_a_voice_speaks_to_the_journal_and_hears_the_plan(
    broker: RunningBroker, ear: Callable[..., Any]
) -> None:
    network = Network(broker.host, broker.port)
    hearing = ear(network, "steepwell/plot/journal", "steepwell/plot/plan")
    voice = Voice("plot", network.add("gardener"))
    daemon = network.add("daemon")
    with network:
        note = Note(SATURDAY, entry("watered", bed="beans", litres=9.0))
        voice.say([note.entry])
        topic, payload = hearing.next()
        assert (topic, json.loads(payload)) == ("steepwell/plot/journal", note.entry)
        assert voice.plan is None
        # Each subscribes in its own time: the ear may hear a plan before the voice does.
        for _ in range(500):
            daemon.publish("steepwell/plot/plan", b'{"schema": 1}')
            hearing.next()
            if voice.plan is not None:
                break
        assert voice.plan == {"schema": 1}
