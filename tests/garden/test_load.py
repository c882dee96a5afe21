from __future__ import annotations

import contextlib
import copy
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.errors import Fault, GardenFileError
from steepwell.garden.garden import Garden
from steepwell.garden.load import garden_from, load_garden
from steepwell.garden.tables import config_dir

LEAST = """
[garden]
name = "plot"
latitude = 51.5
longitude = -1.0
timezone = "Europe/London"

[[butt]]
name = "north"
litres = "210 L"

[[bed]]
name = "all"
area = "25 m2"
"""
SHIPPED = tomllib.loads((config_dir() / "garden.toml").read_text(encoding="utf-8"))


def test_little_is_needed_and_the_rest_has_defaults(tmp_path: Path) -> None:
    path = tmp_path / "plot.toml"
    path.write_text(LEAST, encoding="utf-8")

    garden = load_garden(path)

    assert garden.capacity_l == pytest.approx(210.0)
    assert garden.sensor == ()
    assert garden.broker is None
    assert garden.can.size == pytest.approx(9.0)
    assert garden.path(Path("record.csv")) == tmp_path / "record.csv"
    assert garden.path(Path("/record.csv")) == Path("/record.csv")


def test_a_vessel_will_do_instead_of_a_butt() -> None:
    raw = tomllib.loads(LEAST)
    del raw["butt"]
    garden = garden_from({**raw, "vessel": [{"name": "nettle", "volume": "60 L"}]})
    # A tenth stays free where no headspace is given.
    assert garden.vessel[0].liquid_l == pytest.approx(54.0)


def test_a_byte_order_mark_is_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "plot.toml"
    path.write_bytes(b"\xef\xbb\xbf" + LEAST.encode())
    assert load_garden(path).name == "plot"


@pytest.mark.parametrize(
    ("litres", "expected"),
    [
        ("210 L", 9.0),  # one can of the usual size
        ("1000 L", 20.0),  # 2 % of capacity
    ],
)
def test_dry_is_less_than_a_can_or_a_fiftieth(litres: str, expected: float) -> None:
    raw = tomllib.loads(LEAST)
    raw["butt"][0]["litres"] = litres
    assert garden_from(raw).dry_line_l == pytest.approx(expected)


@pytest.mark.parametrize(
    ("shape", "litres"),
    [
        # School geometry, 355/113 for pi: frustum h/3 (R² + R r + r²) pi, cask with parabolic
        # staves h/60 (8 D² + 4 D d + 3 d²) pi (from memory).
        ('kind = "upright cylinder", diameter = "60 cm", height = "1 m"', 90 * 355 / 113),
        ('kind = "horizontal cylinder", diameter = "60 cm", length = "1 m"', 90 * 355 / 113),
        ('kind = "box", length = "50 cm", width = "50 cm", height = "84 cm"', 210.0),
        (
            'kind = "cone frustum", bottom_diameter = "4 m", top_diameter = "6 m", height = "9 m"',
            57_000 * 355 / 113,
        ),
        (
            'kind = "barrel", end_diameter = "50 cm", middle_diameter = "60 cm", height = "60 cm"',
            48.3 * 355 / 113,
        ),
        (
            'kind = "strapping table", depths = ["20 cm", "45 cm"], litres = ["40 L", "95 L"]',
            95.0,
        ),
    ],
)
def test_a_shape_holds_its_litres(shape: str, litres: float) -> None:
    raw = tomllib.loads(LEAST.replace('litres = "210 L"', f"shape = {{ {shape} }}"))
    assert garden_from(raw).capacity_l == pytest.approx(litres, rel=1e-6)


WEATHER = """
[weather_record.normals]
rain_mm = [77, 60, 72, 55, 66, 75, 76, 69, 65, 71, 75, 82.5]
wet_days = [13, 11.5, 13, 10.5, 10.5, 11, 9.5, 9, 10, 10.5, 12.5, 13]
tmin_c = [-1, 1, 3, 5, 9, 12, 14, 13, 11, 8, 4, 2]
tmax_c = [5, 6, 10, 13, 18, 20, 22, 23, 19, 15, 9, 6]

[forecast]
topic = "plot/forecast"
date = "/day"
rain = "/rain"
tmin = "/low"
tmax = "/high"
"""


def test_normals_and_a_forecast_may_stand_instead_of_a_daily_record() -> None:
    garden = garden_from(tomllib.loads(LEAST + WEATHER))
    record, forecast = garden.weather_record, garden.forecast
    assert record is not None
    assert record.daily is None
    assert record.normals is not None
    assert record.normals.rain_mm[11] == pytest.approx(82.5)
    assert record.normals.tmin_c[0] == pytest.approx(-1.0)
    assert forecast is not None
    assert (forecast.topic, forecast.days, forecast.tmax) == ("plot/forecast", None, "/high")


def test_a_garden_survives_the_way_to_another_process() -> None:
    garden = garden_from(SHIPPED, path=Path("somewhere/garden.toml"))
    assert Garden.from_json(garden.to_json()) == garden
    garden = garden_from(tomllib.loads(LEAST + WEATHER))
    assert Garden.from_json(garden.to_json()) == garden


def test_the_weather_in_the_annotated_garden_can_be_used() -> None:
    text = (config_dir() / "garden.toml").read_text(encoding="utf-8")
    _, heading, rest = text.partition("# [weather_record.normals]")
    lines = [line.removeprefix("# ") for line in (heading + rest).splitlines()]
    said = tomllib.loads("\n".join(line for line in lines if "=" in line or line[:1] == "["))
    normals = {"normals": said["weather_record"]["normals"]}
    garden = garden_from({**SHIPPED, "weather_record": normals, "forecast": said["forecast"]})
    assert garden.forecast is not None


def _places(node: object, here: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    steps: list[tuple[Any, object]] = []
    if isinstance(node, dict):
        steps = list(node.items())
    elif isinstance(node, list):
        steps = list(enumerate(node))
    return [here] * bool(here) + [p for step, n in steps for p in _places(n, (*here, step))]


def _put(raw: dict[str, Any], path: tuple[Any, ...], value: object) -> None:
    """Change one place, unless an earlier change took it away."""
    *parents, last = path
    here: Any = raw
    with contextlib.suppress(KeyError, IndexError, TypeError):
        for step in parents:
            here = here[step]
        here[last] = value


ODD = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=8)
    | st.dates()
    | st.sampled_from(["air", "woodshed", "3 m", "3 (", "rain", "level", "box"]),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from(["name", "of", "kind", "measures", "x"]), inner)
    ),
    max_leaves=4,
)


@given(st.lists(st.tuples(st.sampled_from(_places(SHIPPED)), ODD), min_size=1, max_size=3))
def test_whatever_a_file_says_it_loads_or_its_faults_are_told(
    changes: list[tuple[tuple[Any, ...], object]],
) -> None:
    raw = copy.deepcopy(SHIPPED)
    for path, value in changes:
        _put(raw, path, value)

    faults = _faults(raw)

    assert all(fault.where and fault.found and fault.wanted for fault in faults)


def _faults(raw: dict[str, Any]) -> list[Fault]:
    try:
        garden_from(raw)
    except GardenFileError as error:
        return error.faults
    return []
