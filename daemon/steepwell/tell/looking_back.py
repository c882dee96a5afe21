"""How last week's forecast did, in one sentence."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from steepwell.tell.documents import Outlook
from steepwell.tell.wording import litres

if TYPE_CHECKING:
    from typing import Any

LOOKS_BACK = timedelta(days=7)


def how_it_did(
    earlier: dict[str, Any] | None, outlook: dict[str, Any] | None, *, below_taps_l: float = 0.0
) -> str | None:
    """Compare what was expected of the butts with what is in them.

    Parameters
    ----------
    earlier
        The outlook document of a week ago, or None.
    outlook
        The newest outlook document, or None.
    below_taps_l
        What lies below the taps of all butts and so is not in hand [L].

    Returns
    -------
    str or None
        For instance "A week ago 300 to 520 L were expected in hand by now; there are 410 L."
        None where there is nothing to compare [L].
    """
    if earlier is None or outlook is None:
        return None
    before, now = Outlook.model_validate(earlier), Outlook.model_validate(outlook)
    evening_before = now.days[0] - timedelta(days=1)
    if evening_before not in before.days or not _is_old_enough(before.days[0], now.days[0]):
        return None
    index = before.days.index(evening_before)
    fan = before.water.volume_l
    low, high, there = (
        max(volume_l - below_taps_l, 0.0)
        for volume_l in (fan.p10[index], fan.p90[index], now.now_l)
    )
    verdict = "within" if low <= there <= high else "outside"
    return (
        f"A week ago {litres(low).removesuffix(' L')} to {litres(high)} were expected in hand by "
        f"now; there are {litres(there)}, {verdict} that."
    )


def _is_old_enough(before: date, now: date) -> bool:
    return now - before >= LOOKS_BACK
