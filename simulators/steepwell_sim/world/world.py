"""The whole garden as it truly is, moved on hour by hour."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from steepwell_sim.world.beds import TrueBed
from steepwell_sim.world.rainwater import Rainwater, TrueButt, TrueRoof
from steepwell_sim.world.shapes import gauging_of
from steepwell_sim.world.steep import follow, true_vessel

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.garden.garden import Garden
    from steepwell_sim.weather.hours import Hour
    from steepwell_sim.world.parameters import TrueParameters

_WATER_LAG_H = 30.0


@dataclass(slots=True)
class Account:
    """Litres of a day or of a season.

    Attributes
    ----------
    caught_l, spilled_l
        What ran off the roofs, and what of it the butts could not hold [L].
    wanted_l, given_l, tap_l
        What the gardener wanted from the butts, got from them, and took from the tap [L].
    """

    caught_l: float = 0.0
    spilled_l: float = 0.0
    wanted_l: float = 0.0
    given_l: float = 0.0
    tap_l: float = 0.0

    def add(self, other: Account) -> None:
        """Add another account to this one."""
        self.caught_l += other.caught_l
        self.spilled_l += other.spilled_l
        self.wanted_l += other.wanted_l
        self.given_l += other.given_l
        self.tap_l += other.tap_l


class World:
    """The true garden: butts full and soils at field capacity at first.

    Parameters
    ----------
    garden
        What the owner declared.
    parameters
        What is otherwise than declared.
    air_c
        Air temperature at first [°C].
    first_year, last_year
        Calendar years the simulation touches.
    """

    def __init__(
        self,
        garden: Garden,
        parameters: TrueParameters,
        *,
        air_c: float,
        first_year: int,
        last_year: int,
    ) -> None:
        self.garden = garden
        self.air_c = air_c
        self.water_c = air_c
        self.rain_mm = 0.0
        self.gauge_mm = 0.0
        self.gauge_blocked = 0.0
        self.today = Account()
        self.rainwater = Rainwater(
            [TrueRoof(roof, roof.runoff * parameters.runoff[roof.name]) for roof in garden.roof],
            [TrueButt(butt, parameters.butt_area[butt.name]) for butt in garden.butt],
        )
        self.vessels = {
            vessel.name: true_vessel(
                vessel, parameters.lag[vessel.name], parameters.sun[vessel.name], air_c
            )
            for vessel in garden.vessel
        }
        self.beds = {
            bed.name: TrueBed(
                bed,
                soil_factor=parameters.soil_water[bed.name],
                crop_factor=parameters.crop_water[bed.name],
                first_year=first_year - 1,
                last_year=last_year,
            )
            for bed in garden.bed
        }
        weights = {bed.name: bed.area * bed.priority for bed in garden.bed}
        total = sum(weights.values())
        self.weights = {name: weight / total for name, weight in weights.items()}
        capacity_l = sum(gauging_of(butt).capacity_l for butt in garden.butt)
        self.dry_line_l = max(garden.can.size, 0.02 * capacity_l)

    def begin_day(self, moment: datetime) -> None:
        """Begin a local day with empty accounts."""
        self.today = Account()
        for bed in self.beds.values():
            bed.begin_day(moment.astimezone(self.garden.garden.zone).date())

    def pass_hour(self, hour: Hour) -> None:
        """Let an hour pass everywhere."""
        caught_l, spilled_l = self.rainwater.rain(hour.rain_mm)
        self.today.caught_l += caught_l
        self.today.spilled_l += spilled_l
        for butt in self.rainwater.butts.values():
            butt.leak()
        self.rain_mm += hour.rain_mm
        self.gauge_mm += hour.rain_mm * (1.0 - self.gauge_blocked)
        self.air_c = hour.end_air_c
        self.water_c = follow(self.water_c, hour.mean_air_c, 1.0, _WATER_LAG_H)
        for vessel in self.vessels.values():
            vessel.pass_hour(hour.mean_air_c, hour.sun_mj_m2, hour.end)
        for bed in self.beds.values():
            bed.pass_hour(hour.rain_mm, hour.et0_mm)

    @property
    def dry(self) -> bool:
        """Whether the butts hold less above their taps than a can or 2 % of what they can."""
        return self.rainwater.above_taps_l() < self.dry_line_l

    def weighted_loss(self) -> float:
        """Return the loss of all crops, weighted by area and priority."""
        return sum(self.weights[name] * bed.loss_of_all for name, bed in self.beds.items())

    def truth(self, moment: datetime) -> dict[str, Any]:
        """Return the state at a moment and today's accounts, ready for JSON."""
        vessels = {}
        for name, vessel in self.vessels.items():
            steep = vessel.steep
            thin = None if steep is None else steep.dilution_parts(moment)
            vessels[name] = {
                "temperature_c": round(vessel.temperature_c, 3),
                "thermal_age_d": None if steep is None else round(steep.age_d, 4),
                "dilution_parts": None if thin is None else round(thin, 2),
            }
        return {
            "butts": {name: round(b.water_l, 3) for name, b in self.rainwater.butts.items()},
            "beds": {
                name: {
                    "depletion_mm": round(bed.soil.depletion_mm, 3),
                    "loss": round(bed.loss, 6),
                    "weight": round(self.weights[name], 6),
                }
                for name, bed in self.beds.items()
            },
            "vessels": vessels,
            "wanted_l": round(self.today.wanted_l, 3),
            "given_l": round(self.today.given_l, 3),
            "spilled_l": round(self.today.spilled_l, 3),
            "tap_l": round(self.today.tap_l, 3),
        }
