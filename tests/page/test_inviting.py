"""``steepwell page``: where the page is, and who is let in from beyond this machine."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from tests.page.conftest import ALL_OF_THE_NETWORK, NOW

from steepwell.errors import CommandError
from steepwell.garden.load import garden_from
from steepwell.garden.site import Page
from steepwell.page.inviting import page_report, page_screen, reached_at

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.store.store import Store

Json = dict[str, Any]
ADDRESS = "http://garden.example.org:8088"


@pytest.mark.usefixtures("store")
def test_an_invitation_is_an_address_with_a_code_to_hold_a_phone_to(
    raw: Json, tmp_path: Path, store: Store
) -> None:
    raw["page"] = {"host": ALL_OF_THE_NETWORK, "address": ADDRESS}
    garden = garden_from(raw, path=tmp_path / "garden.toml")
    first = page_report(garden, NOW, invite=True)
    assert first["invitation"].startswith(f"{ADDRESS}/enter/")
    assert store.invitations.holds(first["invitation"].rpartition("/")[2])
    said = page_screen(first)
    assert first["invitation"] in said
    assert "█" in said
    page_report(garden, NOW, invite=True)
    left = page_report(garden, NOW, withdraw=1)
    assert [each["number"] for each in left["invitations"]] == [2]
    assert first["invitation"] not in page_screen(left)
    with pytest.raises(CommandError, match="no invitation 1 stands"):
        page_report(garden, NOW, withdraw=1)


def test_where_nobody_could_come_nobody_is_invited(raw: Json, tmp_path: Path) -> None:
    garden = garden_from(raw, path=tmp_path / "garden.toml")
    with pytest.raises(CommandError, match="for this machine alone"):
        page_report(garden, NOW, invite=True)
    assert "Nobody is invited" in page_screen(page_report(garden, NOW))
    del raw["page"]
    without = garden_from(raw, path=tmp_path / "garden.toml")
    with pytest.raises(CommandError, match=r"there is no \[page\]"):
        page_report(without, NOW)


@pytest.mark.parametrize(
    ("settings", "address"),
    [
        (Page(), "http://localhost:8088"),
        (Page(host="192.0.2.7", port=80), "http://192.0.2.7:80"),
        (Page(host="2001:db8::7"), "http://[2001:db8::7]:8088"),
        (Page(address="https://garden.example.org/"), "https://garden.example.org"),
    ],
)
def test_the_address_is_the_one_phones_reach_it_by(settings: Page, address: str) -> None:
    assert reached_at(settings) == address


@pytest.mark.parametrize("address", ["garden.example.org", "http://a.example.org/page", "ftp://a"])
def test_an_address_that_leads_to_no_page_is_refused(address: str) -> None:
    with pytest.raises(ValueError, match="the address"):
        Page(address=address)
