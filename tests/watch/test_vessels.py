"""The rule about vessels that have become ready."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from tests.gardens import make_garden, state_of

from steepwell.outlook.state import SteepNow
from steepwell.watch.vessels import vessels_ready

NOW = datetime(2031, 6, 1, 5, 30, tzinfo=UTC)
GARDEN = make_garden(vessel=[{"name": name, "volume": "60 L"} for name in ("leek", "nettle")])


def steep(vessel: str, *, drawn_l: float = 0.0) -> SteepNow:
    began = NOW - timedelta(days=15)
    return SteepNow(vessel, 17.0, began, 14.5, 54.0 - drawn_l, drawn_l, (vessel,), solids_l=4.0)


def found(*vessels: tuple[SteepNow, int | None]) -> list[tuple[str, dict[str, Any], str]]:
    state = state_of(GARDEN, NOW, steeps=[one for one, _ in vessels])
    told = [{"name": one.vessel, "dilution_parts": parts} for one, parts in vessels]
    findings = vessels_ready(GARDEN, state, {"vessels": told}, {"leek"})
    assert {finding.kind for finding in findings} <= {"vessel-ready"}
    return [(finding.subject, finding.figures, finding.text) for finding in findings]


def test_a_story_of_two_vessels() -> None:
    leek, nettle = steep("leek"), steep("nettle")
    assert found((leek, None), (nettle, None)) == []
    assert [subject for subject, _, _ in found((leek, 30), (nettle, None))] == ["leek"]
    assert [subject for subject, _, _ in found((leek, 30), (nettle, 30))] == ["leek", "nettle"]
    # With the first draw it is over.
    used = steep("leek", drawn_l=0.3)
    assert [subject for subject, _, _ in found((used, 30), (nettle, 30))] == ["nettle"]


def test_what_is_ready_is_told_with_its_dilution_and_how_to_be_sure() -> None:
    ((_, figures, text),) = found((steep("leek"), 30), (steep("nettle"), None))
    assert figures["dilution_parts"] == 30
    assert figures["wanted"]
    assert (figures["thermal_age_d"], figures["calendar_age_d"]) == (14.5, 15.0)
    # 54 L, of which 4 L stay over what has settled.
    assert "About 50 L of feed to draw" in text
    assert "1:30" in text
    assert "sunk and soft" in text
