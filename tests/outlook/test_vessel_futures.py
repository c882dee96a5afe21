"""Steeps of members whose vessels are not known for certain."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from tests.gardens import make_garden, state_of

from steepwell.model.warmth import Warmth, presumed_warmth
from steepwell.outlook.state import Doubt, SteepNow
from steepwell.outlook.vessel_futures import likely_steeps, run_vessels, uncertain_steeps
from steepwell.outlook.weather import Weather

NOW = datetime(2031, 6, 1, tzinfo=UTC)
MEMBERS = 4000
GARDEN = make_garden(vessel=[{"name": "nettle", "volume": "60 L"}])
STEEP = SteepNow("nettle", 17.0, NOW - timedelta(days=8), 8.0, 54.0, 0.0, ("nettle",))
SURE = Warmth(8.0, 0.0, 0.0, 0.0, 0.0)


def drawn_of(steep: SteepNow, seed: int = 1) -> tuple[np.ndarray, np.ndarray]:
    """Return the ages of members now, and how far their vessels are from the air without sun."""
    state = state_of(GARDEN, NOW, steeps=[steep])
    draws = uncertain_steeps(GARDEN, state, MEMBERS, np.random.default_rng(seed))
    return draws.age_d[0], draws.offset_c[0]


def test_what_is_sure_is_the_same_for_all() -> None:
    age_d, offset_c = drawn_of(replace(STEEP, warmth=SURE))
    assert (age_d == 8.0).all()
    assert (offset_c == 0.0).all()


def test_a_vessel_warmer_than_thought_has_been_so_before() -> None:
    warmth = replace(SURE, offset_var=0.25)
    age_d, offset_c = drawn_of(replace(STEEP, warmth=warmth, doubt=Doubt(older_d_per_k=0.6)))
    assert offset_c.std() == pytest.approx(0.5, rel=0.05)
    assert age_d - 8.0 == pytest.approx(0.6 * offset_c)


def test_a_probe_all_along_leaves_the_past_alone() -> None:
    age_d, _ = drawn_of(replace(STEEP, warmth=presumed_warmth(54.0, "none")))
    assert (age_d == 8.0).all()


def test_a_probe_in_the_vessel_beside_widens_past_and_future() -> None:
    doubt = Doubt(age_sd_d=0.4, beside_sd_c=0.7)
    age_d, offset_c = drawn_of(replace(STEEP, warmth=SURE, doubt=doubt))
    assert age_d.std() == pytest.approx(0.4, rel=0.05)
    assert offset_c.std() == pytest.approx(0.7, rel=0.05)
    assert abs(np.corrcoef(age_d, offset_c)[0, 1]) < 0.06


def test_sun_and_offset_learned_together_are_drawn_together() -> None:
    warmth = Warmth(8.0, 0.1, 0.0, 0.0004, 0.16, -0.006)
    state = state_of(GARDEN, NOW, steeps=[replace(STEEP, warmth=warmth)])
    draws = uncertain_steeps(GARDEN, state, MEMBERS, np.random.default_rng(3))
    together = np.cov(draws.sun_k[0], draws.offset_c[0])
    assert together[0, 1] == pytest.approx(-0.006, rel=0.1)


def test_equal_seeds_draw_equal_vessels() -> None:
    steep = replace(STEEP, warmth=presumed_warmth(54.0, "none"))
    assert (drawn_of(steep, 5)[1] == drawn_of(steep, 5)[1]).all()
    assert (drawn_of(steep, 5)[1] != drawn_of(steep, 6)[1]).any()


def ready_in_d(steep: SteepNow, **vessel: object) -> float:
    garden = make_garden(vessel=[{"name": "nettle", "volume": "60 L", **vessel}])
    state = state_of(garden, NOW, steeps=[steep])
    weather = Weather(*(np.full((60, 1), value) for value in (0.0, 17.0, 0.0)))
    _, ready = run_vessels(garden, state, weather, likely_steeps(garden, state))
    return float(ready[0, 0])


def test_its_owner_may_wait_longer_or_less() -> None:
    assert ready_in_d(STEEP) == pytest.approx(6.0)
    assert ready_in_d(STEEP, ready_after="504 h") == pytest.approx(13.0)
    assert ready_in_d(STEEP, ready_after="240 h") == pytest.approx(2.0)


def test_fresh_matter_has_to_ripen_first() -> None:
    fresh = replace(STEEP, ripens_from=NOW - timedelta(days=3), ripens_age_d=3.0)
    assert ready_in_d(fresh) == pytest.approx(11.0)


def test_a_vessel_at_its_end_is_never_ready() -> None:
    assert np.isinf(ready_in_d(replace(STEEP, ended=True)))


def test_what_may_be_used_is_ready_now() -> None:
    assert ready_in_d(replace(STEEP, dilution_parts=30)) == 0.0


def test_warm_days_and_cold_nights_ripen_sooner_than_their_mean() -> None:
    swinging = replace(STEEP, swing_sd_c=3.0)
    # Lloyd and Taylor (1994): R/R10 at 20 and 14 °C is 2.3032 and 1.4455, their mean 1.018 of the
    # 1.8438 at 17 °C.
    assert ready_in_d(swinging) == pytest.approx(6.0 / 1.018, rel=2e-3)
