"""How much water a crop asks for, and how deep it roots, day by day after planting."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, overload

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from steepwell.model.values import Array, Values

# The smallest difference between Kc and Kcb of a vegetable in Tables 12 and 17 of FAO-56: a crop
# without a published basal coefficient is promised no more from mulch than the least of them.
LEAST_EVAPORATION_KC = 0.05
# Table 17: the basal coefficient of nearly bare ground, the same for all crops sown each year.
BARE_GROUND_KCB = 0.15
# Soil evaporation falls by 5 % for each 10 % of the surface covered.
MULCH_EFFECT = 0.5


@dataclass(frozen=True, slots=True)
class CropCurve:
    """The crop coefficients, the height and the root depth of a crop along its four stages.

    Parameters
    ----------
    stage_days
        Lengths of the initial, development, mid-season and late-season stage, each at least
        one day [d].
    kc
        Crop coefficient in the initial stage, in mid-season and at the end [-].
    root_m
        Depth of the roots at planting and from mid-season on [m].
    kcb
        Basal crop coefficient in mid-season and at the end [-]; None takes 0.05 off ``kc``.
    kcb_initial
        Basal crop coefficient in the initial stage [-]; None is 0.15, or ``kc`` where that is less.
    height_m
        Height of the standing crop [m]; most low vegetables grow to 0.3 to 0.6 m.

    Raises
    ------
    ValueError
        If a stage is shorter than a day, a coefficient is negative or basal above ``kc``, the
        roots are not deeper than nothing or grow upwards, or the crop has no height.

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, Tables 11, 12, 17 and 22.
    """

    stage_days: tuple[int, int, int, int]
    kc: tuple[float, float, float]
    root_m: tuple[float, float]
    kcb: tuple[float, float] | None = None
    kcb_initial: float | None = None
    height_m: float = 0.4

    def __post_init__(self) -> None:
        if min(self.stage_days) < 1:
            raise ValueError(f"each stage must last at least one day, not {self.stage_days}")
        if min(self.kc) < 0.0:
            raise ValueError(f"a crop coefficient cannot be negative: {self.kc}")
        if not 0.0 < self.root_m[0] <= self.root_m[1]:
            raise ValueError(f"roots must start above 0 m and not shrink: {self.root_m}")
        if any(not 0.0 <= basal <= kc for basal, kc in zip(self._kcb, self.kc, strict=True)):
            raise ValueError(f"kcb {self._kcb} must lie between 0 and kc {self.kc}")
        if not self.height_m > 0.0:
            raise ValueError(f"a crop must stand above 0 m, not {self.height_m}")

    @property
    def length_d(self) -> int:
        """Days from planting to the end of the last stage [d]."""
        return sum(self.stage_days)

    @property
    def _kcb(self) -> tuple[float, float, float]:
        initial, mid, end = self.kc
        first = min(BARE_GROUND_KCB, initial) if self.kcb_initial is None else self.kcb_initial
        if self.kcb is not None:
            return first, *self.kcb
        return first, max(mid - LEAST_EVAPORATION_KC, 0.0), max(end - LEAST_EVAPORATION_KC, 0.0)

    @property
    def _corners(self) -> Array:
        return np.cumsum(self.stage_days).astype(np.float64)

    def kc_on(self, day: Values) -> Values:
        """Return the crop coefficient of a day.

        Parameters
        ----------
        day
            Days since planting; before it the initial value holds, after the last stage the
            value at the end [d].

        Returns
        -------
        float or array
            Single crop coefficient Kc [-].

        References
        ----------
        Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 66, p. 132.
        """
        initial, mid, end = self.kc
        kc: Values = np.interp(day, self._corners, [initial, mid, mid, end])
        return kc

    def basal_kc_on(self, day: Values) -> Values:
        """Return the part of the crop coefficient that mulch cannot lower.

        In the initial stage the rule for mulch lowers all of Kc, so this part is nothing there.

        Parameters
        ----------
        day
            Days since planting [d].

        Returns
        -------
        float or array
            Basal part of Kc, as ``mulched_kc`` wants it [-].

        References
        ----------
        Allen et al. (1998), FAO Irrigation and Drainage Paper 56, ch. 10, p. 196 to 198.
        """
        _, mid, end = self._kcb
        basal: Values = np.interp(day, self._corners, [0.0, mid, mid, end])
        return basal

    def kcb_on(self, day: Values) -> Values:
        """Return the basal crop coefficient of a day, for the dual coefficient.

        Parameters
        ----------
        day
            Days since planting; before it the initial value holds, after the last stage the
            value at the end [d].

        Returns
        -------
        float or array
            Basal crop coefficient Kcb: what the crop draws while the soil surface is dry [-].

        References
        ----------
        Allen et al. (1998), FAO Irrigation and Drainage Paper 56, eq. 66 on Kcb, p. 132 and 141.
        """
        initial, mid, end = self._kcb
        kcb: Values = np.interp(day, self._corners, [initial, mid, mid, end])
        return kcb

    def height_on(self, day: Values) -> Values:
        """Return how high the crop stands on a day.

        Parameters
        ----------
        day
            Days since planting [d].

        Returns
        -------
        float or array
            Height, growing with Kcb to full height at mid-season and kept from there on [m].

        References
        ----------
        Allen et al. (1998), FAO Irrigation and Drainage Paper 56, Annex 8, Box 8.1, note 3, p. 277.
        """
        initial, mid, _ = self._kcb
        least = self.height_m * min(initial / mid, 1.0) if mid > 0.0 else self.height_m
        height: Values = np.interp(day, self._corners[:2], [least, self.height_m])
        return height

    def root_depth_m(self, day: Values) -> Values:
        """Return how deep the crop roots on a day.

        Parameters
        ----------
        day
            Days since planting [d].

        Returns
        -------
        float or array
            Depth, growing evenly over the initial and the development stage [m].

        References
        ----------
        Allen et al. (1998), FAO Irrigation and Drainage Paper 56, ch. 8, p. 161 to 162.
        """
        full_day = float(self.stage_days[0] + self.stage_days[1])
        depth: Values = np.interp(day, [0.0, full_day], self.root_m)
        return depth

    @overload
    def in_ground(self, day: float) -> bool: ...

    @overload
    def in_ground(self, day: Array) -> NDArray[np.bool_]: ...

    def in_ground(self, day: float | Array) -> bool | NDArray[np.bool_]:
        """Return whether the crop stands on a day.

        Parameters
        ----------
        day
            Days since planting [d].

        Returns
        -------
        bool or array of bool
            True from planting to the end of the last stage [-].
        """
        return (day >= 0.0) & (day <= self.length_d)


def mulched_kc(kc: Values, *, cover: Values | float, basal_kc: Values | float) -> Values:
    """Return the crop coefficient under an organic mulch.

    Only evaporation from the soil falls, by 5 % for each 10 % of the surface covered, so mulch
    pays on open rows and hardly under a closed canopy.

    Parameters
    ----------
    kc
        Crop coefficient without mulch [-].
    cover
        Share of the surface effectively covered, 0 to 1 [-].
    basal_kc
        Part of ``kc`` that is not soil evaporation: 0 in the initial stage, Kcb from mid-season
        on [-].

    Returns
    -------
    float or array
        Crop coefficient with mulch [-].

    Raises
    ------
    ValueError
        If the cover is not between 0 and 1.

    References
    ----------
    Allen et al. (1998), FAO Irrigation and Drainage Paper 56, ch. 10, p. 196 to 198.
    """
    if np.any(np.less(cover, 0.0)) or np.any(np.greater(cover, 1.0)):
        raise ValueError(f"cover must lie between 0 and 1, not {cover}")
    lowered: Values = kc - MULCH_EFFECT * cover * np.maximum(kc - basal_kc, 0.0)
    return lowered
