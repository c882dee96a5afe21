"""Roofs and butts: rain in, water taken, what spills."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from steepwell_sim.world.shapes import Gauging, gauging_of

if TYPE_CHECKING:
    from steepwell.garden.water import Butt, Roof

_DRYING_MM_PER_HOUR = 0.05
_MINUTES_AN_HOUR = 60.0
_HOURS_A_DAY = 24.0


@dataclass(slots=True)
class TrueRoof:
    """A roof that wets before it runs, and what hangs in its downpipe.

    Attributes
    ----------
    declared
        As in the garden file.
    runoff
        The true runoff coefficient.
    wet_mm
        Water held by the surface [mm].
    diverted_l
        Water the first-flush diverter holds [L].
    dry_h
        Hours since it rained [h].
    blocked
        Part of what it brings that goes over the gutter, because downpipe or filter is blocked.
    """

    declared: Roof
    runoff: float
    wet_mm: float = 0.0
    diverted_l: float = 0.0
    dry_h: float = 0.0
    blocked: float = 0.0

    def run_off(self, rain_mm: float) -> float:
        """Return the litres that an hour's rain sends to the butt, and wet or dry the roof."""
        if rain_mm <= 0:
            self.wet_mm = max(0.0, self.wet_mm - _DRYING_MM_PER_HOUR)
            self.dry_h += 1.0
            if self.dry_h >= self.declared.first_flush_after:
                self.diverted_l = 0.0
            return 0.0
        self.dry_h = 0.0
        held = min(rain_mm, self.declared.wetting_loss - self.wet_mm)
        self.wet_mm += held
        roof = self.declared
        return self._pass_on((rain_mm - held) * roof.area * roof.share * self.runoff)

    def _pass_on(self, litres: float) -> float:
        """Return what of an hour's water gets past diverter, cap and filter."""
        diverted_l = min(litres, self.declared.first_flush - self.diverted_l)
        self.diverted_l += diverted_l
        passing_l = litres - diverted_l
        if self.declared.flow_cap is not None:
            passing_l = min(passing_l, self.declared.flow_cap * _MINUTES_AN_HOUR)
        return passing_l * self.declared.filter_efficiency * (1.0 - self.blocked)


class TrueButt:
    """A butt whose area is a little other than declared; the tap is where it is declared.

    Parameters
    ----------
    declared
        As in the garden file.
    area_factor
        True area through declared area.
    """

    def __init__(self, declared: Butt, area_factor: float) -> None:
        self.declared = declared
        self.as_declared: Gauging = gauging_of(declared)
        self._area_factor = area_factor
        self.capacity_l = self.as_declared.capacity_l * area_factor
        self.dead_l = declared.dead_volume * area_factor
        self.water_l = self.capacity_l
        self.leak_l_d = 0.0

    @property
    def above_tap_l(self) -> float:
        """What can be drawn [L]."""
        return max(0.0, self.water_l - self.dead_l)

    @property
    def depth_m(self) -> float:
        """Depth of the water [m]."""
        return self.as_declared.depth_m(self.water_l / self._area_factor)

    def pour_in(self, litres: float) -> float:
        """Add water and return what does not fit [L]."""
        room = self.capacity_l - self.water_l
        self.water_l += min(litres, room)
        return max(0.0, litres - room)

    def leak(self) -> None:
        """Lose what leaks in an hour, as long as there is water."""
        self.water_l = max(0.0, self.water_l - self.leak_l_d / _HOURS_A_DAY)

    def draw(self, litres: float) -> float:
        """Draw water at the tap and return what came [L]."""
        drawn = min(litres, self.above_tap_l)
        self.water_l -= drawn
        return drawn


class Rainwater:
    """All roofs and butts of a garden.

    Parameters
    ----------
    roofs
        True roofs.
    butts
        True butts in the order of the garden file.
    """

    def __init__(self, roofs: list[TrueRoof], butts: list[TrueButt]) -> None:
        self.roofs = roofs
        self.butts = {butt.declared.name: butt for butt in butts}
        self._overflow_order = _upstream_first([butt.declared for butt in butts])

    def rain(self, rain_mm: float) -> tuple[float, float]:
        """Let an hour's rain run into the butts.

        Parameters
        ----------
        rain_mm
            Rain of the hour [mm].

        Returns
        -------
        tuple of float
            Litres that came off the roofs, and litres of them that spilled to the ground.
        """
        coming = dict.fromkeys(self.butts, 0.0)
        for roof in self.roofs:
            coming[roof.declared.into] += roof.run_off(rain_mm)
        caught_l = sum(coming.values())
        spilled_l = 0.0
        for name in self._overflow_order:
            over = self.butts[name].pour_in(coming[name]) if coming[name] else 0.0
            following = self.butts[name].declared.overflow_to
            if following is None:
                spilled_l += over
            else:
                coming[following] += over
        return caught_l, spilled_l

    def above_taps_l(self) -> float:
        """Return what can be drawn from all butts [L]."""
        return sum(butt.above_tap_l for butt in self.butts.values())

    def draw(self, litres: float, first: str | None = None) -> list[tuple[str, float]]:
        """Draw water, from a certain butt first, then from the fullest.

        Parameters
        ----------
        litres
            How much is wanted [L].
        first
            The butt to begin with.

        Returns
        -------
        list
            Butts and the litres each gave; together at most what was wanted.
        """
        order = sorted(self.butts, key=lambda name: (name != first, -self.butts[name].above_tap_l))
        given = []
        for name in order:
            if litres <= 0:
                break
            drawn = self.butts[name].draw(litres)
            litres -= drawn
            if drawn > 0:
                given.append((name, drawn))
        return given


def _upstream_first(butts: list[Butt]) -> list[str]:
    """Return the butts so that each stands before the one it spills into."""
    order: list[str] = []
    following = {butt.name: butt.overflow_to for butt in butts}

    def place(name: str) -> None:
        if name in order:
            return
        for upstream, into in following.items():
            if into == name:
                place(upstream)
        order.append(name)

    for name in following:
        place(name)
    return order
