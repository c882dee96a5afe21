from __future__ import annotations

from typing import TYPE_CHECKING, get_args

import pytest

from steepwell.errors import CommandError
from steepwell.garden.load import load_garden
from steepwell.garden.tables import config_dir
from steepwell_sim.devices.fault_script import Fault, Kind, read_script

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.garden.garden import Garden


def script(folder: Path, text: str) -> Path:
    file = folder / "faults.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_a_script_is_read_in_its_order(tmp_path: Path, garden: Garden) -> None:
    text = """
    [[fault]]
    kind = "drift"
    sensor = "air"
    after_h = 24
    size = 0.1

    [[fault]]
    kind = "drop"
    sensor = "gauge"
    for_h = 12
    chance = 0.5

    [[fault]]
    kind = "leak"
    butt = "north"
    size = 5

    [[fault]]
    kind = "blocked downpipe"
    roof = "house"

    [[fault]]
    kind = "blocked gauge"
    """
    assert read_script(script(tmp_path, text), garden) == [
        Fault(kind="drift", sensor="air", after_h=24, size=0.1),
        Fault(kind="drop", sensor="gauge", for_h=12, chance=0.5),
        Fault(kind="leak", butt="north", size=5),
        Fault(kind="blocked downpipe", roof="house"),
        Fault(kind="blocked gauge"),
    ]


def test_the_script_that_is_shipped_shows_every_kind() -> None:
    garden = load_garden(config_dir() / "gardens" / "middle.toml")
    faults = read_script(config_dir() / "faults.toml", garden)
    assert {fault.kind for fault in faults} == set(get_args(Kind))


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[[fault]", "cannot be read as TOML"),
        ("[fault]\nkind = 'drop'", r"wanted \[\[fault\]\] tables"),
        ("[[fault]]\nkind = 'melt'", "fault 1: kind: Input should be 'drift', 'spike'"),
        ("[[fault]]\nkind = 'drop'", "'drop' befalls a sensor: give sensor"),
        ("[[fault]]\nkind = 'leak'\nsensor = 'air'\nsize = 5", "a butt: leave out sensor"),
        ("[[fault]]\nkind = 'leak'\nbutt = 'south'", "'leak' takes size, litres a day"),
        ("[[fault]]\nkind = 'freeze'\nsensor = 'air'\nsize = 1", "'freeze' takes no size"),
        ("[[fault]]\nkind = 'freeze'\nsensor = 'air'\nchance = 0.5", "takes no chance"),
        ("[[fault]]\nkind = 'drop'\nsensor = 'pond'", "no sensor 'pond'; there are gauge, north"),
        ("[[fault]]\nkind = 'drop'\nsensor = 'air'\nfor_h = 0", "fault 1: for_h: "),
        ("[[fault]]\nkind = 'blocked gauge'\nroof = 'shed'", "the garden: leave out roof"),
    ],
)
def test_what_cannot_be_is_refused(tmp_path: Path, garden: Garden, text: str, message: str) -> None:
    with pytest.raises(CommandError, match=message):
        read_script(script(tmp_path, text), garden)


def test_a_script_that_is_not_there_is_refused(tmp_path: Path, garden: Garden) -> None:
    with pytest.raises(CommandError, match="cannot be read"):
        read_script(tmp_path / "none.toml", garden)
