"""The front of the page says what to do, in the order of what a person needs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import html5lib
import pytest

if TYPE_CHECKING:
    from starlette.testclient import TestClient


@pytest.mark.usefixtures("worked_out")
def test_what_to_do_comes_first_then_water_vessels_beds_and_sensors(page: TestClient) -> None:
    said = page.get("/").text
    html5lib.HTMLParser(strict=True).parse(said)
    order = [
        said.index(words)
        for words in (
            "Water beans, 2½ cans each time",
            "310 of 630",
            "use 1:300",
            ">Beans<",
            "never heard",
        )
    ]
    assert order == sorted(order)


def test_a_garden_of_which_nothing_is_worked_out_yet_has_a_page(page: TestClient) -> None:
    answer = page.get("/")
    assert answer.status_code == 200
    html5lib.HTMLParser(strict=True).parse(answer.text)
    assert "Nothing is worked out yet" in answer.text
