"""The programme of the feed against looking at every share-out there is, and its proof."""

from __future__ import annotations

from itertools import product
from typing import TYPE_CHECKING

import numpy as np
import pytest

from steepwell.decide.feed_programme import Choice, choose
from steepwell.decide.feed_wants import Wants

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

Pick = tuple[int, int] | None


def wants_of(
    *,
    may: Sequence[Sequence[Sequence[bool]]],
    rank: Sequence[Sequence[int]] | None = None,
    tier: Sequence[int] = (),
    waited_d: Sequence[int] = (),
    there_l: Sequence[float] = (),
    spare_l: float = 100.0,
) -> Wants:
    """Return what is wanted, each feed of a litre and on a can of nine, each source a vessel."""
    allowed = np.array(may, dtype=bool)
    beds, sources, _ = allowed.shape
    return Wants(
        may=allowed,
        rank=np.zeros((beds, sources), dtype=int) if rank is None else np.array(rank),
        tier=np.array(tier or [0] * beds),
        waited_d=np.array(waited_d or [0] * beds),
        feed_l=np.ones((beds, sources)),
        water_l=np.full((beds, sources), 9.0),
        vessel=np.arange(sources),
        there_l=np.array(there_l or [50.0] * sources),
        spare_l=spare_l,
    )


def invented(seed: int, *, beds: int, sources: int, days: int) -> Wants:
    """Return wants of which most are scarce: liquid, water, days."""
    rng = np.random.default_rng(seed)
    vessels = max(sources - 1, 1)
    vessel = np.minimum(np.arange(sources), vessels - 1)
    feed_l = rng.choice([0.05, 0.1, 0.3], sources)
    return Wants(
        may=rng.random((beds, sources, days)) < 0.5,
        rank=rng.integers(0, 3, (beds, sources)),
        tier=rng.integers(0, 3, beds),
        waited_d=rng.integers(0, 20, beds),
        feed_l=np.broadcast_to(feed_l, (beds, sources)).copy(),
        water_l=np.where(rng.random((beds, 1)) < 0.5, 9.0, 0.0) * np.ones((beds, sources)),
        vessel=vessel,
        there_l=rng.choice([0.08, 0.2, 0.4, 5.0], vessels),
        spare_l=float(rng.integers(0, 4)) * 9.0,
    )


def every(wants: Wants, most: int) -> Iterator[tuple[Pick, ...]]:
    """Return every share-out that may be."""
    beds, sources, days = wants.may.shape
    options: list[list[Pick]] = [
        [None, *((s, d) for s in range(sources) for d in range(days) if wants.may[bed, s, d])]
        for bed in range(beds)
    ]
    for picks in product(*options):
        if is_allowed(wants, picks, most):
            yield picks


def is_allowed(wants: Wants, picks: Sequence[Pick], most: int) -> bool:
    drawn_l = np.zeros(len(wants.there_l))
    water_l = 0.0
    for bed, pick in enumerate(picks):
        if pick is not None:
            if not wants.may[bed, pick[0], pick[1]]:
                return False
            drawn_l[wants.vessel[pick[0]]] += wants.feed_l[bed, pick[0]]
            water_l += wants.water_l[bed, pick[0]]
    return (
        bool((drawn_l <= wants.there_l + 1e-9).all())
        and water_l <= wants.spare_l + 1e-9
        and len({pick for pick in picks if pick}) <= most
    )


def cost(wants: Wants, picks: Sequence[Pick]) -> tuple[float, ...]:
    """Return what is minded, first things first."""
    fed = [(bed, *pick) for bed, pick in enumerate(picks) if pick is not None]
    first = np.where(wants.may.any(axis=1), np.arange(wants.may.shape[2]), 99).min(axis=1)
    return (
        *(-float(sum(wants.tier[bed] == tier for bed, _, _ in fed)) for tier in (2, 1, 0)),
        float(
            sum(
                day - first[bed] - wants.waited_d[bed] + wants.water_l[bed, source] / 9.0
                for bed, source, day in fed
            )
        ),
        float(sum(wants.rank[bed, source] for bed, source, _ in fed)),
        float(len({pick for pick in picks if pick})),
    )


def picks_of(choice: Choice | None) -> list[Pick]:
    assert choice is not None
    assert choice.proven
    pairs = zip(choice.source.tolist(), choice.day.tolist(), strict=True)
    return [None if source < 0 else (source, day) for source, day in pairs]


@pytest.mark.parametrize("seed", range(40))
@pytest.mark.parametrize("most", [1, 2, 5])
def test_no_share_out_is_better(seed: int, most: int) -> None:
    wants = invented(seed, beds=4, sources=3, days=2)
    found = picks_of(choose(wants, time_limit_s=20.0, most=most))
    assert is_allowed(wants, found, most)
    assert cost(wants, found) == min(cost(wants, picks) for picks in every(wants, most))


@pytest.mark.parametrize("seed", range(4))
def test_a_large_garden_is_settled_to_the_last_bed(seed: int) -> None:
    wants = invented(seed, beds=30, sources=8, days=3)
    found = picks_of(choose(wants, time_limit_s=60.0))
    assert is_allowed(wants, found, 5)


Y, N = True, False


@pytest.mark.parametrize(
    ("wants", "found"),
    [
        # Its own crop's feed first, where nothing else is lost by it.
        (wants_of(may=[[[Y], [Y]]], rank=[[2, 0]]), [(1, 0)]),
        # Not a day later for it.
        (wants_of(may=[[[Y, Y], [N, Y]]], rank=[[2, 0]]), [(0, 0)]),
        # Nor if another bed went without.
        (
            wants_of(may=[[[Y], [Y]], [[N], [Y]]], rank=[[2, 0], [0, 0]], there_l=(9.0, 1.0)),
            [(0, 0), (1, 0)],
        ),
        # One can of water: to the hungry bed, else to the one that has waited longest.
        (wants_of(may=[[[Y]], [[Y]]], tier=(0, 2), spare_l=9.0), [None, (0, 0)]),
        (wants_of(may=[[[Y]], [[Y]]], waited_d=(3, 9), spare_l=9.0), [None, (0, 0)]),
        # One mixing rather than two, where it is all the same.
        (wants_of(may=[[[Y], [Y]], [[N], [Y]]]), [(1, 0), (1, 0)]),
        (wants_of(may=[[[N], [N]]]), [None]),
    ],
)
def test_what_comes_first(wants: Wants, found: list[Pick]) -> None:
    assert picks_of(choose(wants, time_limit_s=20.0)) == found


def test_a_hungry_bed_comes_before_any_number_of_others() -> None:
    hungry, others = [[Y], [N]], [[N], [Y]]
    wants = wants_of(may=[hungry, *[others] * 10], tier=(1, *[0] * 10))
    found = picks_of(choose(wants, time_limit_s=20.0, most=1))
    assert found == [(0, 0), *[None] * 10]


def test_there_is_no_choice_without_time() -> None:
    wants = invented(1, beds=30, sources=8, days=3)
    choice = choose(wants, time_limit_s=0.0)
    assert choice is None or not choice.proven
