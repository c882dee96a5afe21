from __future__ import annotations

import pytest

from steepwell.setup.reading import a_name, a_place, a_share


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("52.2, -2.1", (52.2, -2.1)),
        ("52,2; -2,1", (52.2, -2.1)),
        ("52,2 -2,1", (52.2, -2.1)),
        ("52.2 N 2.1 W", (52.2, -2.1)),
        ("52.2\u00b0 N, 2.1\u00b0 W", (52.2, -2.1)),
        ("31.5S, 159.1e", (-31.5, 159.1)),
    ],
)
def test_a_place_as_maps_tell_it(text: str, place: tuple[float, float]) -> None:
    assert a_place(text) == place


@pytest.mark.parametrize("text", ["near the mill", "52.2", "52.2, -2.1, 30", "52.2 W 2.1 N"])
def test_what_is_no_place(text: str) -> None:
    with pytest.raises(ValueError, match="with a comma between"):
        a_place(text)


@pytest.mark.parametrize(
    ("text", "share"),
    [("50 %", 0.5), ("50", 0.5), ("0.5", 0.5), ("half", 0.5), ("a third", 1 / 3), ("1/2", 0.5)],
)
def test_a_part_of_the_roof(text: str, share: float) -> None:
    assert a_share(text) == pytest.approx(share)


@pytest.mark.parametrize("text", ["0", "150", "some"])
def test_what_is_no_part_of_the_roof(text: str) -> None:
    with pytest.raises(ValueError, match="for instance"):
        a_share(text)


def test_a_name_that_may_not_be_is_refused_with_one_that_may() -> None:
    with pytest.raises(ValueError, match='like "jose-s-garden"'):
        a_name("Jos\u00e9-s  Garden!")
