"""How last week's forecast did, in one sentence."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from steepwell.tell.documents import Outlook
from steepwell.tell.wording import litres

if TYPE_CHECKING:
    from typing import Any

LOOKS_BACK = timedelta(days=7)


def how_it_did(earlier: dict[str, Any] | None, outlook: dict[str, Any] | None) -> str | None:
    """Compare what was expected of the butts with what is in them.

    Parameters
    ----------
    earlier
        The outlook document of a week ago, or None.
    outlook
        The newest outlook document, or None.

    Returns
    -------
    str or None
        For instance "A week ago 300 to 520 L were expected in the butts by now; there are 410 L."
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
    low, high = fan.p10[index], fan.p90[index]
    verdict = "as expected" if low <= now.now_l <= high else "outside what was expected"
    return (
        f"A week ago {litres(low)} to {litres(high)} were expected in the butts by now; there are "
        f"{litres(now.now_l)}, {verdict}."
    )


def _is_old_enough(before: date, now: date) -> bool:
    return now - before >= LOOKS_BACK
