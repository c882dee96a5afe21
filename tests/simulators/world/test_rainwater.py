from __future__ import annotations

import random

import pytest

from steepwell.garden.water import Butt, Roof
from steepwell_sim.world.rainwater import Rainwater, TrueButt, TrueRoof


def roof(into: str, **more: object) -> TrueRoof:
    declared = Roof.model_validate({"name": "roof", "area": "10 m2", "into": into, **more})
    return TrueRoof(declared, declared.runoff)


def butt(name: str, litres: int, **more: object) -> TrueButt:
    return TrueButt(Butt.model_validate({"name": name, "litres": f"{litres} L", **more}), 1.0)


def test_one_millimetre_on_one_square_metre_is_one_litre() -> None:
    wet = roof("butt", runoff=0.9, share=0.5, filter_efficiency=0.9, wetting_loss="0 mm")
    assert wet.run_off(10.0) == pytest.approx(10 * 10 * 0.5 * 0.9 * 0.9)


def test_a_roof_wets_once_and_dries_again() -> None:
    tiles = roof("butt", runoff=1.0, wetting_loss="0.3 mm")
    assert tiles.run_off(0.2) == 0
    assert tiles.run_off(0.2) == pytest.approx(0.1 * 10)
    assert tiles.run_off(0.2) == pytest.approx(0.2 * 10)
    for _ in range(24):
        tiles.run_off(0.0)
    assert tiles.run_off(0.3) == 0


def test_a_diverter_leads_the_first_litres_of_each_rain_away() -> None:
    tiles = roof("b", runoff=1.0, wetting_loss="0 mm", first_flush="15 L", first_flush_after="3 h")
    assert [tiles.run_off(mm) for mm in (1.0, 1.0, 0.0, 1.0)] == pytest.approx([0, 5, 0, 10])
    assert [tiles.run_off(mm) for mm in (0.0, 0.0, 0.0, 2.0)] == pytest.approx([0, 0, 0, 5])


def test_no_more_passes_in_an_hour_than_the_cap_lets_through() -> None:
    tiles = roof("b", runoff=1.0, wetting_loss="0 mm", flow_cap="1 L/min", filter_efficiency=0.9)
    assert tiles.run_off(5.0) == pytest.approx(50 * 0.9)
    assert tiles.run_off(8.0) == pytest.approx(60 * 0.9)


def test_a_full_butt_spills_into_the_next_and_then_to_the_ground() -> None:
    # Named against the flow, so that order in the file does not help.
    water = Rainwater(
        [roof("top", runoff=1.0, wetting_loss="0 mm")],
        [
            butt("last", 100),
            butt("middle", 50, overflow_to="last"),
            butt("top", 50, overflow_to="middle"),
        ],
    )
    for each in water.butts.values():
        each.water_l = 0.0
    assert water.rain(12.0) == pytest.approx((120, 0))
    assert [water.butts[name].water_l for name in ("top", "middle", "last")] == [50, 50, 20]
    assert water.rain(10.0) == pytest.approx((100, 20))


def test_water_below_the_tap_stays() -> None:
    store = butt("butt", 100, dead_volume="12 L")
    assert store.draw(500) == pytest.approx(88)
    assert store.water_l == pytest.approx(12)
    assert store.draw(1) == 0


def test_draws_from_the_butt_named_then_from_the_fullest() -> None:
    water = Rainwater([], [butt("a", 100), butt("b", 200), butt("c", 150)])
    assert water.draw(330, "a") == [("a", 100), ("b", 200), ("c", 30)]
    assert water.draw(500) == [("c", 120)]


def test_a_wider_butt_stands_lower_for_the_same_litres() -> None:
    declared = Butt.model_validate(
        {"name": "butt", "shape": {"kind": "box", "length": "1 m", "width": "1 m", "height": "1 m"}}
    )
    wide = TrueButt(declared, 1.02)
    wide.water_l = 510.0
    assert wide.capacity_l == pytest.approx(1020)
    assert wide.depth_m == pytest.approx(0.5)


def test_water_is_neither_made_nor_lost() -> None:
    water = Rainwater(
        [roof("a"), roof("b", area="30 m2", runoff=0.7)],
        [butt("a", 210, overflow_to="b", dead_volume="9 L"), butt("b", 350)],
    )
    rng = random.Random(7)  # noqa: S311 - a simulation
    before_l = sum(each.water_l for each in water.butts.values())
    caught_l = spilled_l = used_l = 0.0
    for _ in range(2000):
        caught, spilled = water.rain(max(0.0, rng.gauss(-0.5, 1.0)))
        caught_l += caught
        spilled_l += spilled
        used_l += sum(litres for _, litres in water.draw(rng.uniform(0, 10)))
    after_l = sum(each.water_l for each in water.butts.values())
    assert caught_l > 0
    assert spilled_l > 0
    assert before_l + caught_l == pytest.approx(after_l + spilled_l + used_l)
