from __future__ import annotations

import shlex
from typing import TYPE_CHECKING, Any

from steepwell.cli import main
from steepwell.garden.load import garden_from, load_garden
from steepwell.tell.first_week import known, wanted_readings
from steepwell.tell.letter import LetterFacts, compose_letter

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import datetime
    from pathlib import Path

Json = dict[str, Any]


def without_sensors(raw: Json) -> Json:
    return {key: value for key, value in raw.items() if key not in {"sensor", "weather_record"}}


def test_the_garden_file_alone_tells_what_rain_brings(garden_raw: Json) -> None:
    said = " ".join(known(garden_from(garden_raw)))
    assert "Your butts (north, south and west) hold 630 L when full." in said
    # (10 mm - 0.3 mm that wet the roof) x 12 m2 x 1.0 = 116.4 L.
    assert "10 mm of rain on the shed roof brings about 120 L to the north butt." in said
    # 6 + 3 + 3 + 2 + 1 m2, and 1 mm on 1 m2 is 1 L.
    assert "5 beds of 15 m² in all; 10 mm of water on them is 150 L." in said


def test_what_lies_below_the_taps_is_told(garden_raw: Json) -> None:
    garden_raw["butt"][0]["dead_volume"] = "12 L"
    assert "630 L when full, 12 L of it below the taps." in known(garden_from(garden_raw))[0]


def test_the_largest_butt_is_asked_for_first(garden_raw: Json) -> None:
    garden_raw["butt"][1]["litres"] = "350 L"
    (_, commands), *_ = wanted_readings(garden_from(without_sensors(garden_raw)), set())
    assert commands[0] == 'steepwell note level-read south "half"'
    assert len(commands) == 3


def test_what_a_sensor_tells_is_not_asked_for(garden_raw: Json) -> None:
    garden_raw["sensor"] += [
        {
            "name": f"level-{butt}",
            "topic": f"garden/level/{butt}",
            "payload": "number",
            "measures": "level",
            "of": butt,
            "reads": "litres",
        }
        for butt in ("north", "south", "west")
    ]
    assert wanted_readings(garden_from(garden_raw), {"leek", "comfrey"}) == []


def test_a_steep_nobody_noted_is_asked_for(garden_raw: Json) -> None:
    garden = garden_from(garden_raw)
    asked = [what for what, _ in wanted_readings(garden, {"leek"})]
    assert any("in a vessel" in what for what in asked)
    asked = [what for what, _ in wanted_readings(garden, {"leek", "comfrey"})]
    assert not any("in a vessel" in what for what in asked)


def test_every_command_that_is_told_works(tmp_path: Path) -> None:
    file = tmp_path / "garden.toml"
    file.write_text(
        """
        [garden]
        name = "orchard-end"
        latitude = 51.5
        longitude = -0.9
        timezone = "Europe/London"
        [[butt]]
        name = "north"
        litres = "210 L"
        [[butt]]
        name = "south"
        litres = "350 L"
        [[vessel]]
        name = "leek"
        volume = "20 L"
        [[bed]]
        name = "all"
        area = "25 m^2"
        """
    )
    commands = [each for _, some in wanted_readings(load_garden(file), set()) for each in some]
    assert len(commands) == 4
    for command in commands:
        program, *words = shlex.split(command)
        assert program == "steepwell"
        assert main([*words, "--garden", str(file)]) == 0


def test_the_first_letter_of_a_garden_with_nothing_is_of_use(
    garden_raw: Json, plan: Callable[..., Json], now: datetime
) -> None:
    garden = garden_from(without_sensors(garden_raw))
    mail = compose_letter(
        LetterFacts(
            garden=garden,
            person=garden.told.people[0],
            now=now,
            plan=plan(lasts_to=None, in_hand_l=None, feed=[], mulch=[], unfed=[]),
            first_week=True,
        )
    )
    body = mail.get_body(("plain",))
    assert body is not None
    text = " ".join(body.get_content().split())
    assert mail["Subject"] == "Your first week. Soak beans, fill the comfrey vessel"
    parts = [
        "How much water is in hand is not known until a butt is read.",
        "Water: beans 5 cans.",
        "What to note by hand first",
        'steepwell note level-read north "half"',
        "rain-read",
        "Water beans, 2½ cans each time",
        "Your butts (north, south and west) hold 630 L when full.",
        "Fill the comfrey vessel by 12 June",
    ]
    places = [text.find(part) for part in parts]
    assert -1 not in places
    assert places == sorted(places)
