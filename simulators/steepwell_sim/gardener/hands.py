"""What a gardener's doing changes in the true garden."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from datetime import date, datetime

    from steepwell_sim.world.world import World


def water_bed(world: World, bed: str, litres: float, first: str | None) -> list[tuple[str, float]]:
    """Water a bed from the butts.

    Parameters
    ----------
    world
        The true garden.
    bed
        Its name.
    litres
        How much is wanted [L].
    first
        The butt to begin with; None for the bed's own, or the fullest.

    Returns
    -------
    list
        Butts and the litres each gave.
    """
    given = world.rainwater.draw(litres, first or world.beds[bed].declared.butt)
    total_l = sum(amount for _, amount in given)
    world.beds[bed].water(total_l)
    world.today.wanted_l += litres
    world.today.given_l += total_l
    return given


def water_from_tap(world: World, bed: str, litres: float) -> None:
    """Water a bed from the tap."""
    world.beds[bed].water(litres)
    world.today.tap_l += litres


def do(world: World, entry: dict[str, Any], now: datetime) -> None:
    """Do what a journal entry says was done; an entry that changes nothing outdoors does nothing.

    Parameters
    ----------
    world
        The true garden.
    entry
        The entry.
    now
        The moment.
    """
    match entry["kind"]:
        case "watered":
            water_bed(world, entry["bed"], entry["litres"], entry.get("butt"))
        case "fed":
            water_bed(world, entry["bed"], entry["cans"] * world.garden.can.size, None)
        case "steep-started":
            _fill(world, entry, now)
        case "drawn-off":
            world.vessels[entry["vessel"]].draw(entry["litres"])
        case "vessel-emptied":
            world.vessels[entry["vessel"]].empty()
        case "tap-water-added":
            over_l = world.rainwater.butts[entry["butt"]].pour_in(entry["litres"])
            world.today.tap_l += entry["litres"]
            world.today.spilled_l += over_l
        case "planted":
            world.beds[entry["bed"]].plant(entry["crop"], _local_day(world, now))
        case "cleared":
            world.beds[entry["bed"]].clear(_local_day(world, now))
        case _:
            pass


def _fill(world: World, entry: dict[str, Any], now: datetime) -> None:
    """Fill a vessel with rainwater; what the butts lack comes from the tap."""
    vessel = world.vessels[entry["vessel"]]
    wanted_l = entry.get("water_l")
    if wanted_l is not None:
        given_l = sum(amount for _, amount in world.rainwater.draw(wanted_l))
        world.today.wanted_l += wanted_l
        world.today.given_l += given_l
        world.today.tap_l += wanted_l - given_l
    vessel.fill(now, wanted_l or vessel.declared.liquid_l, world.water_c)


def _local_day(world: World, now: datetime) -> date:
    return now.astimezone(world.garden.garden.zone).date()
