"""A taste of the closed loop, and that it is one."""

from __future__ import annotations

import pytest
from tests.hindcast.closed_loop import MARKS, Lost, closed_loop, replayed
from tests.hindcast.summers import SITES, Summer, driest, lived_through

pytestmark = [pytest.mark.mosquitto, pytest.mark.usefixtures("brussels_csv")]


def test_the_driest_summers_are_those_with_least_rain() -> None:
    for place in SITES:
        found = driest(place)
        assert len({summer.year for summer in found}) == 10
        assert [summer.rain_mm for summer in found] == sorted(s.rain_mm for s in found)
    # Both are known for their droughts.
    assert {1976} <= {summer.year for summer in driest("brussels")}
    assert {1995, 2018} <= {summer.year for summer in driest("cambridge")}


def test_who_asks_nobody_loses_the_same_with_the_daemon_and_without() -> None:
    may = Summer("brussels", 1990, 0.0, until=(5, 26))
    with_daemon = replayed("small", may, "weekly", outlook_every_d=30)
    alone = lived_through(may.garden("small"), may, "weekly")
    assert with_daemon == pytest.approx(alone, abs=1e-6)
    assert alone > 0.0


def test_a_taste(capsys: pytest.CaptureFixture[str]) -> None:
    (lost,) = closed_loop(quick=True)
    assert isinstance(lost, Lost)
    assert all(0.0 < part < 1.0 for part in (lost.follows, lost.ignores, lost.weekly))
    told = capsys.readouterr().out
    assert f"{lost.follows:.3f}" in told
    assert f"(at most {MARKS['small'][0]:.2f})" in told
