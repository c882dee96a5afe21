from __future__ import annotations

import pytest

from steepwell.garden.tables import Crop, MulchMaterial, reference_tables

FIGURES = {"kc", "kcb", "height_m", "stage_days", "root_m", "p", "ky", "feeding"}
CROPS = reference_tables().crops

COMMON = """
    bean beetroot broad-bean broccoli brussels-sprout cabbage carrot chard courgette cucumber
    garlic kale leek lettuce mixed-vegetables onion parsnip pea potato pumpkin radish runner-bean
    spinach strawberry sweet-corn tomato
"""


def test_the_common_crops_are_there() -> None:
    assert set(COMMON.split()) <= set(CROPS)


@pytest.mark.parametrize("crop", CROPS.values(), ids=CROPS)
def test_each_figure_says_where_it_comes_from(crop: Crop) -> None:
    assert set(crop.source) == FIGURES
    assert all(
        "FAO-56" in source or "from memory" in source or "no source" in source
        for source in crop.source.values()
    )


@pytest.mark.parametrize("crop", CROPS.values(), ids=CROPS)
def test_a_crop_is_possible(crop: Crop) -> None:
    assert crop.curve.length_d == sum(crop.stage_days)
    assert all(basal < whole for basal, whole in zip(crop.kcb, crop.kc, strict=True))
    assert 0.1 <= crop.p <= 0.8  # FAO-56, p. 162
    assert crop.root_m[0] <= crop.root_m[1]
    if crop.feeding.first_day is not None:
        assert crop.feeding.last_day is not None
        assert 21 <= crop.feeding.first_day < crop.feeding.last_day < crop.curve.length_d + 28


@pytest.mark.parametrize(
    ("name", "kc", "kcb", "stage_days", "root_and_p"),
    [
        # FAO-56, Table 12, p. 110 to 111; Table 17, p. 137 to 138; Table 11, p. 104 to 106;
        # Table 22, p. 163 to 164 (roots: shallow end).
        ("carrot", (0.7, 1.05, 0.95), (0.95, 0.85), (30, 40, 60, 20), (0.5, 0.35)),
        ("onion", (0.7, 1.05, 0.75), (0.95, 0.65), (15, 25, 70, 40), (0.3, 0.30)),
        ("spinach", (0.7, 1.00, 0.95), (0.90, 0.85), (20, 20, 20, 5), (0.3, 0.20)),
        ("radish", (0.7, 0.90, 0.85), (0.85, 0.75), (5, 10, 15, 5), (0.3, 0.30)),
        ("courgette", (0.5, 0.95, 0.75), (0.90, 0.70), (20, 30, 25, 15), (0.6, 0.50)),
        ("potato", (0.5, 1.15, 0.75), (1.10, 0.65), (30, 35, 50, 30), (0.4, 0.35)),
        ("bean", (0.5, 1.05, 0.90), (1.00, 0.80), (20, 30, 30, 10), (0.5, 0.45)),
        ("pea", (0.5, 1.15, 1.10), (1.10, 1.05), (15, 25, 35, 15), (0.6, 0.35)),
        ("sweet-corn", (0.3, 1.15, 1.05), (1.10, 1.00), (20, 25, 25, 10), (0.8, 0.50)),
    ],
)
def test_published_figures_of_a_crop(
    name: str,
    kc: tuple[float, float, float],
    kcb: tuple[float, float],
    stage_days: tuple[int, int, int, int],
    root_and_p: tuple[float, float],
) -> None:
    crop = CROPS[name]
    assert (crop.kc, crop.kcb[1:], crop.stage_days) == (kc, kcb, stage_days)
    assert (crop.root_m[1], crop.p) == root_and_p


@pytest.mark.parametrize(
    ("name", "ky"),
    [
        # FAO-56, Table 24, p. 181.
        ("bean", 1.15),
        ("cabbage", 0.95),
        ("onion", 1.1),
        ("pea", 1.15),
        ("potato", 1.1),
        ("sweet-corn", 1.25),
        ("tomato", 1.05),
        # Unknown there, so 1: FAO-56, p. 177.
        ("lettuce", 1.0),
        ("leek", 1.0),
    ],
)
def test_published_response_to_dryness(name: str, ky: float) -> None:
    assert CROPS[name].ky == ky


@pytest.mark.parametrize(
    ("name", "field_capacity", "wilting_point"),
    [
        # FAO-56, Table 19, p. 144.
        ("sand", (0.07, 0.17), (0.02, 0.07)),
        ("sandy-loam", (0.18, 0.28), (0.06, 0.16)),
        ("loam", (0.20, 0.30), (0.07, 0.17)),
        ("silt-loam", (0.22, 0.36), (0.09, 0.21)),
        ("clay", (0.32, 0.40), (0.20, 0.24)),
    ],
)
def test_a_soil_is_in_the_middle_of_its_published_range(
    name: str, field_capacity: tuple[float, float], wilting_point: tuple[float, float]
) -> None:
    soil = reference_tables().soil(name)
    assert soil.field_capacity == pytest.approx(sum(field_capacity) / 2)
    assert soil.wilting_point == pytest.approx(sum(wilting_point) / 2)


@pytest.mark.parametrize(
    ("plant", "family"),
    [
        ("leek", "onion family"),
        ("kale", "cabbage family"),
        ("runner-bean", "pea family"),
        ("tomato", "potato family"),
        ("comfrey", "borage family"),
        ("nettle", "nettle family"),
        ("grass-clippings", "grass family"),
    ],
)
def test_plants_have_their_family(plant: str, family: str) -> None:
    assert reference_tables().plant_family(plant) == family


def test_an_unknown_plant_is_told_with_a_near_one() -> None:
    with pytest.raises(ValueError, match=r"no plant 'netle' .* did you mean 'nettle'"):
        reference_tables().plant_family("netle")
    with pytest.raises(ValueError, match=r"no soil 'xyz' .* known are: clay, loam"):
        reference_tables().soil("xyz")


@pytest.mark.parametrize(
    ("crop", "ky"),
    [
        # Doorenbos and Kassam (1979), FAO-33, from memory.
        ("bean", (0.2, 1.1, 0.75, 0.2)),
        ("onion", (0.45, 0.8, 0.8, 0.3)),
        ("pea", (0.2, 0.9, 0.7, 0.2)),
        ("potato", (0.45, 0.8, 0.7, 0.2)),
        ("sweet-corn", (0.4, 1.5, 0.5, 0.2)),
        ("tomato", (0.4, 1.1, 0.8, 0.4)),
    ],
)
def test_response_to_dryness_in_each_growth_period(
    crop: str, ky: tuple[float, float, float, float]
) -> None:
    assert reference_tables().growth_periods[crop].ky == ky


def test_growth_periods_and_the_stop_list_are_of_crops_and_say_where_they_come_from() -> None:
    tables = reference_tables()
    assert set(tables.growth_periods) <= set(CROPS)
    assert set(tables.stop_list) <= set(CROPS)
    sources = [row.source for row in tables.growth_periods.values()]
    sources += [row.source for row in tables.stop_list.values()]
    assert all("from memory" in source for source in sources)


@pytest.mark.parametrize("crop", ["onion", "garlic", "carrot", "parsnip", "leek", "kale"])
def test_ripening_bulbs_established_roots_and_winter_crops_are_left_dry_first(crop: str) -> None:
    # Common practice, no source.
    assert crop in reference_tables().stop_list


@pytest.mark.parametrize(
    "mulch", reference_tables().mulches.values(), ids=reference_tables().mulches
)
def test_each_mulch_says_where_its_figures_come_from(mulch: MulchMaterial) -> None:
    assert "from memory" in mulch.source


def test_what_waits_and_what_stays_out_says_where_that_comes_from() -> None:
    tables = reference_tables()
    assert {*tables.waiting, *tables.salt_tender} <= set(CROPS)
    sources = [row.source for row in tables.waiting.values()]
    sources += [row.source for row in tables.salt_tender.values()]
    sources += [row.source for row in tables.sicknesses.values()]
    sources += [row.source for row in tables.kept_out.values()]
    assert all(sources)
    # Two weeks: a caution of our own, no source.
    assert {row.waits_d for row in tables.waiting.values()} == {14}


@pytest.mark.parametrize(
    ("name", "locks"),
    [
        # Common practice, no source: what rests in the soil for years, and what does not.
        ("clubroot", "for-good"),
        ("onion-white-rot", "for-good"),
        ("nematodes", "for-good"),
        ("verticillium-wilt", "for-good"),
        ("sclerotinia", "for-good"),
        ("mosaic-virus", "for-good"),
        ("unknown", "for-good"),
        ("late-blight", "a-year"),
        ("downy-mildew", "a-year"),
        ("rust", "a-year"),
    ],
)
def test_how_long_a_sickness_locks_a_vessel(name: str, locks: str) -> None:
    assert reference_tables().sickness(name).locks == locks


@pytest.mark.parametrize(
    ("name", "stays_out"),
    [
        # Master Gardeners of Marin, University of California (2017).
        ("foxglove", True),
        ("oleander", True),
        ("Poison hemlock", True),
        ("Angel's trumpet", True),
        # From memory.
        ("monkshood", True),
        ("yews", True),
        # 7 CFR 205.203(c): raw manure needs months.
        ("horse manure", True),
        ("comfrey", False),
        ("nettle", False),
        ("leek", False),
    ],
)
def test_what_never_goes_into_a_vessel(name: str, *, stays_out: bool) -> None:
    assert (reference_tables().never_in(name) is not None) == stays_out


def test_no_plant_for_a_vessel_is_kept_out() -> None:
    tables = reference_tables()
    assert [name for name in {*tables.plants, *CROPS} if tables.never_in(name)] == []
