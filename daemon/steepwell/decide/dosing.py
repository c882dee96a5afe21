"""How much feed goes into a can, in what a gardener has at hand: spoons, or a measuring jug."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from steepwell.model.dilution import dose_l
from steepwell.words.figures import joined
from steepwell.words.saying import say, say_count

HALF_TEASPOON_ML = 2.5
HALVES_A_TEASPOON = 2
HALVES_A_TABLESPOON = 6
# Nobody counts further than this; beyond it a jug with millilitres is quicker.
MOST_TABLESPOONS = 4
# A level spoon is not truer than this, so a spoon measure up to 1 % above the amount equals it:
# two teaspoons for a 4.5 L can at 1:450, where 9.98 mL are due. Nothing is ever stronger.
SPOON_TOLERANCE = 0.01
MOST_LOST = 0.2
# What a jug loses at most, and so may tablespoons without teaspoons beside them.
LOST_FOR_EASE = 0.1
STOCK_PARTS = 10
Measure = Literal["spoons", "jug", "two-cans", "stock"]
# A jug has marks at every 10 mL from 100 mL on, a small one at every 5 from 50 mL on [mL].
JUG_MARKS_ML = ((100.0, 10.0), (50.0, 5.0))


@dataclass(frozen=True, slots=True)
class Dose:
    """What goes into one can, or into several mixed together.

    Attributes
    ----------
    feed_ml
        Undiluted feed that it takes [mL].
    spoons
        The measure in spoons, or None where it is told in millilitres.
    cans
        Cans that it is for, mixed together.
    text
        The measure for the gardener.
    measure
        By what it is measured: spoons or a jug for one can, either for two cans together, or of a
        stock.
    """

    feed_ml: float
    spoons: str | None
    cans: int
    text: str
    measure: Measure


def dose(can_l: float, dilution_parts: float, cans: int = 1) -> Dose:
    """Return the measure of feed for a can, rounded towards thinner.

    Tablespoons alone where that loses at most a tenth of the feed, spoons to the half teaspoon
    where it is at most a fifth, else what a jug has a mark for. Where even half a teaspoon is too
    much, or more than a fifth would be lost, two cans are mixed together, or the feed is first made
    into a stock of one part to nine of water.

    Parameters
    ----------
    can_l
        What one can holds [L].
    dilution_parts
        Parts of water to one part of feed [-].
    cans
        Cans mixed together [-].

    Returns
    -------
    Dose
        The measure and the words for it.

    Raises
    ------
    ValueError
        If the can is so small that even the stock cannot be measured.
    """
    exact_ml = 1000.0 * dose_l(can_l * cans, dilution_parts)
    if _measurable(exact_ml):
        amount_ml, spoons = _measure(exact_ml)
        text = spoons or _millilitres(amount_ml)
        return Dose(amount_ml, spoons, cans, text, "spoons" if spoons else "jug")
    for_stock_ml = exact_ml * STOCK_PARTS
    as_stock = _measurable(2.0 * for_stock_ml) and not _measurable(for_stock_ml)
    if cans == 1 and (_measurable(2.0 * exact_ml) or as_stock):
        both = dose(can_l, dilution_parts, cans=2)
        text = say("dosing.two-cans", measure=both.text)
        return Dose(both.feed_ml, both.spoons, both.cans, text, "two-cans")
    return _from_stock(exact_ml, cans)


def _from_stock(exact_ml: float, cans: int) -> Dose:
    if not _measurable(exact_ml * STOCK_PARTS):
        raise ValueError(f"{exact_ml:.2g} mL of feed cannot be measured; take a larger can")
    amount_ml, spoons = _measure(exact_ml * STOCK_PARTS)
    text = say("dosing.from-stock", measure=spoons or _millilitres(amount_ml))
    return Dose(amount_ml / STOCK_PARTS, spoons, cans, text, "stock")


def _measurable(exact_ml: float) -> bool:
    enough = exact_ml * (1.0 + SPOON_TOLERANCE) >= HALF_TEASPOON_ML
    return enough and _measure(exact_ml)[0] >= (1.0 - MOST_LOST) * exact_ml


def _measure(exact_ml: float) -> tuple[float, str | None]:
    """Return the most that can be measured of an amount, and its spoons if it is told in them."""
    halves = math.floor(exact_ml * (1.0 + SPOON_TOLERANCE) / HALF_TEASPOON_ML)
    spooned_ml = halves * HALF_TEASPOON_ML
    few_enough = halves <= MOST_TABLESPOONS * HALVES_A_TABLESPOON
    tablespoons = halves // HALVES_A_TABLESPOON * HALVES_A_TABLESPOON
    if few_enough and tablespoons * HALF_TEASPOON_ML >= (1.0 - LOST_FOR_EASE) * exact_ml:
        return tablespoons * HALF_TEASPOON_ML, _spoons(tablespoons)
    if few_enough and spooned_ml >= (1.0 - MOST_LOST) * exact_ml:
        return spooned_ml, _spoons(halves)
    return _on_a_jug(exact_ml), None


def _on_a_jug(exact_ml: float) -> float:
    """Return what a jug has a mark for: never more, and at most a tenth less."""
    step_ml = next((step for least, step in JUG_MARKS_ML if exact_ml >= least), 1.0)
    return math.floor(exact_ml / step_ml) * step_ml


def _spoons(halves: int) -> str:
    tablespoons, rest = divmod(halves, HALVES_A_TABLESPOON)
    parts = []
    if tablespoons:
        parts.append(say_count("dosing.tablespoons", tablespoons))
    if rest:
        parts.append(_teaspoons(rest))
    return joined(parts)


def _teaspoons(halves: int) -> str:
    whole, half = divmod(halves, HALVES_A_TEASPOON)
    if not whole:
        return say("dosing.half-a-teaspoon")
    amount = f"{whole}{'½' if half else ''}"
    return say_count("dosing.teaspoons", halves / HALVES_A_TEASPOON, amount=amount)


def _millilitres(amount_ml: float) -> str:
    return say("dosing.millilitres", amount=f"{amount_ml:.0f}")
