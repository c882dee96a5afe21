"""How dry it has been, in one sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.tell.wording import sentence
from steepwell.words.saying import say

if TYPE_CHECKING:
    from datetime import date

    from steepwell.tell.documents import Dryness, RainCompared

# The least that makes a dry spell or a drought of the Meteorological Glossary (1963).
LEAST_SPELL_D = 15
# From here on it is moderately dry (WMO-No. 1090, Table 1).
DRY_SPI = -1.0
WORTH_SAYING_YEARS = 5


def dry_words(dryness: Dryness | None, today: date) -> str:
    """Return how unusually dry it has been.

    Parameters
    ----------
    dryness
        What the outlook says of it, or None.
    today
        The local day.

    Returns
    -------
    str
        For instance "22 days without 1 mm of rain, and the driest three months for the time of
        year since 1997."; empty when it is not unusual.
    """
    if dryness is None:
        return ""
    spell, drought = _spell(dryness), _drought(dryness.rain, today)
    if spell and drought:
        return sentence(say("dry-words.both", spell=spell, drought=drought))
    return sentence(spell or drought)


def _spell(dryness: Dryness) -> str:
    if dryness.days_below_0_2_mm >= LEAST_SPELL_D:
        return say("dry-words.no-rain", days=dryness.days_below_0_2_mm)
    if dryness.days_below_1_mm >= LEAST_SPELL_D:
        return say("dry-words.hardly-rain", days=dryness.days_below_1_mm)
    return ""


def _drought(rain: list[RainCompared], today: date) -> str:
    dry = [(each.spi, each) for each in rain if each.spi is not None and each.spi <= DRY_SPI]
    if not dry:
        return ""
    _, driest = min(dry, key=lambda pair: pair[0])
    since = driest.driest_since
    if since is not None and today.year - since >= WORTH_SAYING_YEARS:
        return say(f"dry-words-driest.{driest.months}", year=since)
    fallen, usual = f"{driest.rain_mm:.0f}", f"{driest.usual_mm:.0f}"
    return say(f"dry-words-rain.{driest.months}", rain=fallen, usual=usual)
