"""What is so now: water in the butts, dryness of the beds, age of the steeps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date, datetime

    from steepwell.model.steep import Contents
    from steepwell.model.warmth import Warmth
    from steepwell.store.entries import DrawnOff, Fed, Watered


@dataclass(frozen=True, slots=True)
class ButtNow:
    """Water in a butt.

    Attributes
    ----------
    name
        The butt.
    volume_l
        Water in it [L].
    read_at
        When it was last read, None if never; then half full is assumed.
    sd_l
        Standard deviation of the volume [L].
    """

    name: str
    volume_l: float
    read_at: datetime | None
    sd_l: float = 0.0


@dataclass(frozen=True, slots=True)
class RoofNow:
    """What a roof delivers, as far as its rains have shown.

    Attributes
    ----------
    name
        The roof.
    runoff
        Runoff coefficient [-].
    sd
        Its standard deviation [-].
    """

    name: str
    runoff: float
    sd: float


@dataclass(frozen=True, slots=True)
class BedNow:
    """Dryness of a bed at the start of today.

    Attributes
    ----------
    name
        The bed.
    depletion_mm
        Root-zone depletion [mm].
    taw_mm, raw_mm
        Total and readily available water today [mm].
    crop
        What stands there, None if nothing.
    surface_mm
        Depletion of the surface layer [mm].
    owed_mm
        What the crop and the surface drew since the bed was last watered, while the soil asked
        for water [mm].
    watered_d_ago
        Days since it was last watered, 0 for this evening [d].
    """

    name: str
    depletion_mm: float
    taw_mm: float
    raw_mm: float
    crop: str | None
    surface_mm: float = 0.0
    owed_mm: float = 0.0
    watered_d_ago: int = 1


@dataclass(frozen=True, slots=True)
class Doubt:
    """By what the age of a steep may be off.

    Attributes
    ----------
    older_d_per_k, past_sun_mj
        How much older it is for each kelvin it was warmer than guessed while no probe was heard,
        and the mean of a day's sun since it began [d/K, MJ/m2].
    age_sd_d
        How far its age may be off for other reasons, such as a guessed temperature of the
        air [d].
    beside_sd_c
        How far it may be from the temperature of a probe in the vessel beside it [K].
    """

    older_d_per_k: float = 0.0
    past_sun_mj: float = 0.0
    age_sd_d: float = 0.0
    beside_sd_c: float = 0.0


@dataclass(frozen=True, slots=True)
class SteepNow:
    """A vessel and the steep in it.

    Attributes
    ----------
    vessel
        The vessel.
    temperature_c
        Temperature of its liquid [°C].
    started
        When the steep began, None for an empty vessel.
    thermal_age_d
        Age at 17 °C [d].
    liquid_l, drawn_l
        Liquid left in it, and drawn from it so far [L].
    plants
        The plants in it.
    solids_l
        What must stay below the liquid that is drawn, for the solids that have settled [L].
    dilution_parts
        Parts of water to one of feed that are told, the thinnest of all that is known of it, on a
        rung of its ladder; None while it is not ready or is at its end.
    warmth
        How it follows the air, None where nothing but the garden file is known.
    doubt
        By what its age may be off.
    level_c
        Its temperature without the rise and fall of the day, None where that is all there is
        [°C].
    ready_since
        Since when it may be used, None while it may not.
    ended
        Whether it no longer recovers.
    ripens_from, ripens_age_d
        When the matter went in that has to ripen first, and its thermal age; None where that is
        the first.
    contents
        What is in it, for how it goes on; None where only its age is known.
    swing_sd_c
        How far the hours of a day lie from its mean, as standard deviation [K].
    presumed_l
        What of ``drawn_l`` nobody noted: it counts as drawn, and may still be there [L].
    """

    vessel: str
    temperature_c: float
    started: datetime | None
    thermal_age_d: float
    liquid_l: float
    drawn_l: float
    plants: tuple[str, ...]
    solids_l: float = 0.0
    dilution_parts: int | None = None
    warmth: Warmth | None = None
    doubt: Doubt = Doubt()
    level_c: float | None = None
    swing_sd_c: float = 0.0
    ready_since: datetime | None = None
    ended: bool = False
    ripens_from: datetime | None = None
    ripens_age_d: float | None = None
    contents: Contents | None = None
    presumed_l: float = 0.0

    @property
    def usable_l(self) -> float:
        """The liquid above the solids that must stay [L]."""
        return max(self.liquid_l - self.solids_l, 0.0)

    def calendar_age_d(self, now: datetime) -> float:
        """Return the days since it began [d]; 0 for an empty vessel."""
        return (now - self.started).total_seconds() / 86_400 if self.started else 0.0


@dataclass(frozen=True, slots=True)
class State:
    """The garden at one moment.

    Attributes
    ----------
    now
        The moment.
    today
        Its local day.
    rain_today_mm
        Rain since local midnight [mm].
    watered_today_mm, watered_tonight_mm
        Water given to each bed since yesterday noon, which today draws on, and since today's noon,
        which tomorrow does; in the order of the garden file [mm].
    use_factor
        What the gardener gives of what beds draw while the soil asks [-].
    every_d
        Every how many days he goes round [d].
    asks_share
        How much of its readily available water a bed lacks when he waters it [-].
    roofs
        What each roof delivers, in the order of the garden file; empty where the garden file holds.
    warmer_c
        How much warmer than usual yesterday was, None where that is not known [K].
    taken
        What counts as done though nobody noted it: waterings that a butt gave away, feeds told by a
        letter, and what those drew.
    """

    now: datetime
    today: date
    rain_today_mm: float
    watered_today_mm: tuple[float, ...]
    watered_tonight_mm: tuple[float, ...]
    butts: tuple[ButtNow, ...]
    beds: tuple[BedNow, ...]
    vessels: tuple[SteepNow, ...]
    use_factor: float = 1.0
    every_d: int = 1
    asks_share: float = 1.0
    roofs: tuple[RoofNow, ...] = ()
    warmer_c: float | None = None
    taken: tuple[Watered | Fed | DrawnOff, ...] = ()

    @property
    def stored_l(self) -> float:
        """Water in all butts [L]."""
        return sum(butt.volume_l for butt in self.butts)
