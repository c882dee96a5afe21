"""After which rain a watering is left."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steepwell.garden.garden import Garden
    from steepwell.tell.documents import WaterLine


@dataclass(frozen=True, slots=True)
class Skip:
    """A rule to leave a watering by.

    Attributes
    ----------
    after_mm
        The rain after which it is left [mm].
    by_gauge
        Whether a gauge catches that rain.
    outdoors
        Whether the rule is for the beds outdoors only, and there are others.
    """

    after_mm: float
    by_gauge: bool
    outdoors: bool = False

    def said(self, *, several: bool = False) -> str:
        """Return the rule as a sentence, for one watering or for several."""
        which = "several" if several else "one"
        where = "outdoors" if self.outdoors else "all"
        how = "gauge" if self.by_gauge else "rain"
        return say(f"skip.{which}-{where}-{how}", mm=f"{self.after_mm:g}")


def skip_of(line: WaterLine, garden: Garden) -> Skip | None:
    """Return after which rain a watering is left, None where no rain reaches the bed."""
    under_cover = {bed.name for bed in garden.bed if not bed.rained_on}
    if line.skip_after_mm is None or line.bed in under_cover:
        return None
    return Skip(line.skip_after_mm, by_gauge=garden.rain_sensor is not None)


def shared_skip(rules: Sequence[Skip | None]) -> Skip | None:
    """Return the rule of all that have one, or None where they differ.

    Parameters
    ----------
    rules
        When to leave each of some waterings, None for those that rain does not spare.

    Returns
    -------
    Skip or None
        One rule, which says so where it is not for all of them.
    """
    own = {rule for rule in rules if rule is not None}
    if len(own) != 1:
        return None
    (rule,) = own
    return rule if all(rules) else replace(rule, outdoors=True)
