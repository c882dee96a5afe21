"""The page is in the units that the garden file asks for."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest
from tests.tell.test_units import METRIC, TYPED

if TYPE_CHECKING:
    from starlette.testclient import TestClient

Json = dict[str, Any]


@pytest.fixture
def raw(raw: Json) -> Json:
    return {**raw, "garden": {**raw["garden"], "units": "us"}}


@pytest.mark.usefixtures("worked_out")
def test_nothing_metric_is_left_on_the_front(page: TestClient) -> None:
    said = re.sub(r"<[^>]*>", " ", page.get("/").text)
    assert METRIC.findall(TYPED.sub("", said)) == []
    assert "82 of 170\u00a0gal" in said
