"""Who has feed one step thinner, and when a can of it is too salty."""

from __future__ import annotations

import pytest
from tests.gardens import make_garden

from steepwell.decide.salts import is_tender, too_salty


@pytest.mark.parametrize(
    ("crop", "kind", "tender"),
    [
        # FAO-56, Table 23: bean, carrot and strawberry from 1.0 dS/m, onion 1.2, lettuce 1.3; pea
        # 1.5, potato 1.7, beetroot 4.0, courgette 4.7.
        ("bean", "ground", True),
        ("carrot", "ground", True),
        ("strawberry", "ground", True),
        ("onion", "ground", True),
        ("lettuce", "ground", True),
        ("pea", "ground", False),
        ("potato", "ground", False),
        ("beetroot", "ground", False),
        ("courgette", "ground", False),
        ("courgette", "tray", True),
    ],
)
def test_who_is_tender(crop: str, kind: str, *, tender: bool) -> None:
    garden = make_garden(bed=[{"name": "bed", "area": "1 m2", "kind": kind}])
    assert is_tender(garden.bed[0], crop) == tender


@pytest.mark.parametrize(
    ("parts", "tender", "too_much"),
    [
        # 33 dS/m undiluted (Phibunwatthanawong and Riddech 2019) in rainwater of 0.1 dS/m:
        # (33 + 30 x 0.1) / 31 = 1.16; (33 + 60 x 0.1) / 61 = 0.64; (33 + 10 x 0.1) / 11 = 3.09.
        (30, True, 1.16),
        (30, False, None),
        (60, True, None),
        (10, False, 3.09),
    ],
)
def test_how_salty_a_can_may_be(parts: int, *, tender: bool, too_much: float | None) -> None:
    found = too_salty(parts, tender=tender)
    assert found == (None if too_much is None else pytest.approx(too_much, abs=0.005))
