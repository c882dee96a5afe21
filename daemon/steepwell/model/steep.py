"""A steep as a balance: matter of several ages, what it has given off, the liquid and the solids.

What the liquid carries is counted as the litres of feed, ready for the soil, that it makes: a litre
at 1:30 makes 31. Drawing takes its share, water adds none, evaporation leaves all behind, and
matter gives off more as it ages. Nothing is made or lost on the way.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from steepwell.model.dilution import MOST_PARTS, PARTS_WHEN_READY, dilution_parts

# A bucket of ten litres of leaves, pressed, to ten litres of water; from memory. By a recipe of
# gardening societies 1 kg of nettle to 10 L is used at 1:10 after two weeks, in proportion 1:25 for
# such a load, so that one to thirty is taken to go with it. More matter makes a thicker feed, less
# is not told as thinner.
USUAL_KG_L = 0.25
# Below this share of what a fresh feed has it is water more than feed.
LEAST_SHARE = 0.8
# FAO-29, Table 1: irrigation water below 0.7 dS/m does no harm to any crop.
HARMLESS_DS_M = 0.7


@dataclass(frozen=True, slots=True)
class Cohort:
    """Matter that went in at one time.

    Attributes
    ----------
    steeps_l
        Litres that it steeps at the usual load [L].
    age_d
        Its age, the greater of the thermal and the calendar one [d].
    """

    steeps_l: float
    age_d: float = 0.0

    @property
    def given_l(self) -> float:
        """Litres of feed that it has given off so far [L]."""
        return self.steeps_l * (1.0 + float(dilution_parts(self.age_d)))

    @property
    def left_l(self) -> float:
        """Litres of feed that it still holds [L]."""
        return self.steeps_l * (1.0 + MOST_PARTS) - self.given_l


@dataclass(frozen=True, slots=True)
class Contents:
    """What is in a vessel.

    Attributes
    ----------
    liquid_l
        Liquid [L].
    makes_l
        Litres of feed that it makes [L].
    cohorts
        The matter in it, oldest first.
    """

    liquid_l: float
    makes_l: float
    cohorts: tuple[Cohort, ...]

    @property
    def parts(self) -> float:
        """Parts of water to one of this liquid [-]; no more than practice knows."""
        if self.liquid_l <= 0.0:
            return MOST_PARTS
        return min(self.makes_l / self.liquid_l - 1.0, MOST_PARTS)

    @property
    def most_parts(self) -> float:
        """What these may still come to if nothing is drawn or added [-]."""
        if self.liquid_l <= 0.0:
            return 0.0
        left_l = sum(cohort.left_l for cohort in self.cohorts)
        return (self.makes_l + left_l) / self.liquid_l - 1.0


def filled(liquid_l: float, matter_kg: float | None) -> Contents:
    """Return a vessel that was just filled.

    Parameters
    ----------
    liquid_l
        Water [L].
    matter_kg
        Plants that went in; None if it is not known how much, which is the usual load [kg].

    Returns
    -------
    Contents
        At the age of nothing [L].

    Raises
    ------
    ValueError
        If there is no water, or less than no matter.

    References
    ----------
    A bucket to ten litres; see ``USUAL_KG_L``.
    """
    if liquid_l <= 0.0 or (matter_kg or 0.0) < 0.0:
        raise ValueError(f"{liquid_l} L of water on {matter_kg} kg of plants are no steep")
    steeps_l = max(liquid_l, (matter_kg or 0.0) / USUAL_KG_L)
    fresh = Cohort(steeps_l)
    return Contents(liquid_l, fresh.given_l, (fresh,))


def aged(contents: Contents, ages_d: tuple[float, ...]) -> Contents:
    """Return a vessel after its matter has aged and given off more.

    Parameters
    ----------
    contents
        What was in it [L].
    ages_d
        What each cohort's age is now; none grows younger [d].

    Returns
    -------
    Contents
        With all that was given off in the liquid [L].

    Raises
    ------
    ValueError
        If there are more or fewer ages than cohorts.

    References
    ----------
    The thinning curve of ``dilution_parts``, each cohort on its own.
    """
    older = tuple(
        replace(cohort, age_d=max(cohort.age_d, age_d))
        for cohort, age_d in zip(contents.cohorts, ages_d, strict=True)
    )
    given_l = sum(cohort.given_l for cohort in older)
    before_l = sum(cohort.given_l for cohort in contents.cohorts)
    return replace(contents, makes_l=contents.makes_l + given_l - before_l, cohorts=older)


def drawn(contents: Contents, litres: float) -> tuple[Contents, float]:
    """Return a vessel after liquid was taken from it.

    Parameters
    ----------
    contents
        What was in it [L].
    litres
        What was taken; no more than there is comes out [L].

    Returns
    -------
    contents : Contents
        What stays; matter stays whole [L].
    taken_l : float
        Litres of feed that what was taken makes [L].

    Raises
    ------
    ValueError
        If less than nothing is taken.

    References
    ----------
    A well-mixed vessel: what leaves has the strength of what stays.
    """
    if litres < 0.0:
        raise ValueError(f"{litres} L cannot be drawn")
    share = min(litres / contents.liquid_l, 1.0) if contents.liquid_l > 0.0 else 0.0
    taken_l = contents.makes_l * share
    left_l = contents.liquid_l * (1.0 - share)
    return replace(contents, liquid_l=left_l, makes_l=contents.makes_l - taken_l), taken_l


def evaporated(contents: Contents, litres: float) -> Contents:
    """Return a vessel after water has gone into the air.

    Parameters
    ----------
    contents
        What was in it [L].
    litres
        Water that went [L].

    Returns
    -------
    Contents
        With less liquid, which makes as much feed as before [L].

    Raises
    ------
    ValueError
        If less than nothing goes.

    References
    ----------
    Only water evaporates.
    """
    if litres < 0.0:
        raise ValueError(f"{litres} L cannot evaporate")
    return replace(contents, liquid_l=max(contents.liquid_l - litres, 0.0))


def topped_up(contents: Contents, water_l: float, matter_kg: float) -> Contents:
    """Return a vessel after rainwater and perhaps more matter went in.

    Parameters
    ----------
    contents
        What was in it [L].
    water_l
        Water [L].
    matter_kg
        Plants, 0 for none [kg].

    Returns
    -------
    Contents
        With a cohort more where matter went in [L].

    Raises
    ------
    ValueError
        If less than nothing goes in.

    References
    ----------
    Water carries nothing; fresh matter begins at the age of nothing.
    """
    if min(water_l, matter_kg) < 0.0:
        raise ValueError(f"{water_l} L and {matter_kg} kg cannot be put in")
    liquid_l = contents.liquid_l + water_l
    if matter_kg == 0.0:
        return replace(contents, liquid_l=liquid_l)
    fresh = Cohort(matter_kg / USUAL_KG_L)
    cohorts = (*contents.cohorts, fresh)
    return Contents(liquid_l, contents.makes_l + fresh.given_l, cohorts)


def told_parts(contents: Contents, conductivity_ds_m: float | None = None) -> float:
    """Return the dilution of a liquid, the thinnest of what is known of it.

    Parameters
    ----------
    contents
        What is in the vessel [L].
    conductivity_ds_m
        What was measured in the undiluted liquid, None if nothing was [dS/m].

    Returns
    -------
    float
        Parts of water to one of feed, 30 at least [-].

    References
    ----------
    Common practice, no source, for the age. Ayers and Westcot (1985), FAO Irrigation and Drainage
    Paper 29, Table 1: below 0.7 dS/m water does no harm, so that a feed is thinned until it adds no
    more. A conductivity never makes a feed thicker: an undiluted ferment of 25 to 33 dS/m cannot
    rise fifteenfold in a year as the dilution does.
    """
    parts = max(contents.parts, PARTS_WHEN_READY)
    if conductivity_ds_m is not None:
        parts = max(parts, conductivity_ds_m / HARMLESS_DS_M - 1.0)
    return parts


def is_feed(contents: Contents, ready_age_d: float) -> bool:
    """Return whether the liquid carries about what a fresh feed does, not mere water.

    Parameters
    ----------
    contents
        What is in the vessel [L].
    ready_age_d
        Age from which it is used [d].

    Returns
    -------
    bool
        True for a feed [-].

    References
    ----------
    Common practice, no source: a feed is usable at 1:30.
    """
    return contents.parts >= LEAST_SHARE * float(dilution_parts(ready_age_d))


def is_spent(contents: Contents, ready_age_d: float) -> bool:
    """Return whether a vessel no longer recovers, whatever time it is given.

    Parameters
    ----------
    contents
        What is in the vessel [L].
    ready_age_d
        Age from which it is used [d].

    Returns
    -------
    bool
        True if its matter cannot make its liquid a feed again [-].

    References
    ----------
    Common practice, no source.
    """
    return contents.most_parts < LEAST_SHARE * float(dilution_parts(ready_age_d))
