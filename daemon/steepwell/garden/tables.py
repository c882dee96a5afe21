"""The reference tables shipped in ``config/``, each figure with its source."""

from __future__ import annotations

import difflib
import tomllib
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field

if TYPE_CHECKING:
    from steepwell.model.crop import CropCurve

Row = TypeVar("Row")


class _Entry(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Feeding(_Entry):
    """When a crop may be fed, in days after planting.

    ``first_day`` is None for a crop that is never fed.
    """

    first_day: int | None = None
    every_days: Annotated[int, Field(ge=14, le=28)] = 14
    last_day: int | None = None


class Crop(_Entry):
    """One crop: water use by stage, roots, response to dryness, family, feeding."""

    family: str
    kc: tuple[float, float, float]
    kcb: tuple[float, float, float]
    height_m: float
    stage_days: tuple[int, int, int, int]
    root_m: tuple[float, float]
    p: float
    ky: float
    feeding: Feeding = Feeding()
    source: dict[str, str]

    @property
    def curve(self) -> CropCurve:
        """The crop as the model sees it."""
        from steepwell.model.crop import CropCurve  # noqa: PLC0415 - the daemon needs no NumPy

        return CropCurve(
            stage_days=self.stage_days,
            kc=self.kc,
            root_m=self.root_m,
            kcb=self.kcb[1:],
            kcb_initial=self.kcb[0],
            height_m=self.height_m,
        )


class GrowthPeriods(_Entry):
    """How much a lack of water costs a crop in each of its growth periods, and their names."""

    vegetative: float
    flowering: float
    yield_formation: float
    ripening: float
    words: tuple[str, str, str, str]
    source: str

    @property
    def ky(self) -> tuple[float, float, float, float]:
        """The loss of yield for each share of water missing, in the order of the periods."""
        return self.vegetative, self.flowering, self.yield_formation, self.ripening


class Stop(_Entry):
    """From when on a crop is among the first to be left dry, and what is said of it then."""

    since: Literal["established", "full-grown", "ripening"]
    words: str
    source: str


class Soil(_Entry):
    """One soil texture: water held at field capacity and at wilting point [m³/m³].

    ``rew_mm`` is what its bare surface loses readily after rain [mm].
    """

    field_capacity: float
    wilting_point: float
    rew_mm: float
    source: str


class RoofKind(_Entry):
    """One kind of roof: the part of the rain beyond the wetting that reaches the gutter's end."""

    says: str
    runoff: Annotated[float, Field(gt=0, le=1)]
    source: str


class MulchMaterial(_Entry):
    """One material: how thick it must lie to cover the soil [mm], and its half-life [d]."""

    covers_mm: Annotated[float, Field(gt=0)]
    half_life_d: Annotated[float, Field(gt=0)]
    source: str


class Plant(_Entry):
    """One plant that may go into a vessel."""

    family: str
    source: str


class Waiting(_Entry):
    """A crop that is not picked for some days after a feed, and what of it is eaten."""

    waits_d: Annotated[int, Field(ge=0)]
    because: str
    source: str


class _Named(_Entry):
    """A row that goes by other names too."""

    also: tuple[str, ...]


Named = TypeVar("Named", bound=_Named)


class SaltTender(_Entry):
    """A crop that loses yield from a low conductivity of the soil on [dS/m]."""

    threshold_ds_m: Annotated[float, Field(gt=0)]
    source: str


class Sickness(_Named):
    """A sickness of plants, and for how long it locks a vessel that holds sick matter."""

    locks: Literal["for-good", "a-year"]
    source: str


class KeptOut(_Named):
    """Matter that stays out of a vessel, its other names, and why."""

    because: str = "it is poisonous"
    source: str


class Bucket(_Entry):
    """What a ten-litre bucket of one plant weighs, thrown in or pressed down [kg]."""

    loose: Annotated[float, Field(gt=0)]
    packed: Annotated[float, Field(gt=0)]
    source: str


@dataclass(frozen=True, slots=True)
class ReferenceTables:
    """All reference tables, looked up by name.

    Not every crop has growth periods of its own, and few are on the stop list.
    """

    crops: dict[str, Crop]
    growth_periods: dict[str, GrowthPeriods]
    stop_list: dict[str, Stop]
    soils: dict[str, Soil]
    roofs: dict[str, RoofKind]
    mulches: dict[str, MulchMaterial]
    plants: dict[str, Plant]
    buckets: dict[str, Bucket]
    waiting: dict[str, Waiting]
    salt_tender: dict[str, SaltTender]
    sicknesses: dict[str, Sickness]
    kept_out: dict[str, KeptOut]

    def crop(self, name: str) -> Crop:
        """Return a crop; a ValueError names the nearest one."""
        return _look_up(self.crops, name, "crop")

    def soil(self, name: str) -> Soil:
        """Return a soil; a ValueError names the nearest one."""
        return _look_up(self.soils, name, "soil")

    def roof(self, name: str) -> RoofKind:
        """Return a kind of roof; a ValueError names the nearest one."""
        return _look_up(self.roofs, name, "kind of roof")

    def mulch(self, name: str) -> MulchMaterial:
        """Return a mulch; a ValueError names the nearest one."""
        return _look_up(self.mulches, name, "mulch")

    def sickness(self, name: str) -> Sickness:
        """Return a sickness by one of its names; a ValueError names the nearest one."""
        return _look_up(_by_all_names(self.sicknesses), name, "sickness")

    def never_in(self, name: str) -> KeptOut | None:
        """Return why matter of a name stays out of a vessel, None if it does not."""
        plain = "-".join(name.lower().replace("'", "").split())
        names = _by_all_names(self.kept_out)
        return names.get(plain) or names.get(plain.removesuffix("s"))

    def plant_family(self, name: str) -> str:
        """Return the family of a plant or crop; a ValueError names the nearest one."""
        if name in self.crops:
            return self.crops[name].family
        return _look_up(self.plants, name, "plant").family


def _look_up(rows: dict[str, Row], name: str, what: str) -> Row:
    try:
        return rows[name]
    except KeyError:
        near = difflib.get_close_matches(name, rows, n=1)
        hint = f"did you mean {near[0]!r}?" if near else f"known are: {', '.join(sorted(rows))}"
        raise ValueError(f"no {what} {name!r} in the reference tables; {hint}") from None


def _by_all_names(rows: dict[str, Named]) -> dict[str, Named]:
    return {name: row for first, row in rows.items() for name in (first, *row.also)}


def config_dir() -> Path:
    """Return the folder with the shipped files: in the wheel, else in the checkout."""
    package = Path(__file__).resolve().parents[1]
    shipped = package / "config"
    return shipped if shipped.is_dir() else package.parents[1] / "config"


def _read(name: str) -> dict[str, dict[str, object]]:
    with (config_dir() / "tables" / name).open("rb") as file:
        return tomllib.load(file)


@lru_cache(maxsize=1)
def reference_tables() -> ReferenceTables:
    """Return the reference tables, read once."""
    return ReferenceTables(
        crops={
            name: Crop.model_validate(row)
            for file in ("crops.toml", "crops-filled-in.toml")
            for name, row in _read(file).items()
        },
        growth_periods={
            name: GrowthPeriods.model_validate(row)
            for name, row in _read("ky-periods.toml").items()
        },
        stop_list={name: Stop.model_validate(row) for name, row in _read("stop-list.toml").items()},
        soils={name: Soil.model_validate(row) for name, row in _read("soils.toml").items()},
        roofs={name: RoofKind.model_validate(row) for name, row in _read("roofs.toml").items()},
        mulches={
            name: MulchMaterial.model_validate(row) for name, row in _read("mulches.toml").items()
        },
        plants={name: Plant.model_validate(row) for name, row in _read("plants.toml").items()},
        buckets={name: Bucket.model_validate(row) for name, row in _read("buckets.toml").items()},
        waiting={name: Waiting.model_validate(row) for name, row in _read("waiting.toml").items()},
        salt_tender={
            name: SaltTender.model_validate(row) for name, row in _read("salt-tender.toml").items()
        },
        sicknesses={
            name: Sickness.model_validate(row) for name, row in _read("sicknesses.toml").items()
        },
        kept_out={
            name: KeptOut.model_validate(row)
            for file in ("poisonous.toml", "never-in.toml")
            for name, row in _read(file).items()
        },
    )
