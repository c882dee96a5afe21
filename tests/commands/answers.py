"""A small garden file, and what a command given for it comes to."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable

    Command = Callable[..., "Answer"]

GARDEN = """\
[garden]
name = "plum-lane"
latitude = 51.5
longitude = -0.9
timezone = "Europe/London"

[weather_record]
daily = "weather.csv"

[[roof]]
name = "shed"
area = "12 m2"
into = "north"

[[butt]]
name = "north"
litres = "200 L"
dead_volume = "10 L"

[[vessel]]
name = "nettle"
volume = "60 L"

[[vessel]]
name = "leek"
volume = "40 L"

[[bed]]
name = "all"
area = "10 m2"

[[sensor]]
name = "gauge"
measures = "rain"
topic = "plum-lane/gauge"
payload = "number"
tip = "0.2 mm"
"""
Json = dict[str, Any]


class Answer(NamedTuple):
    """What a command came to."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Json:
        answer: Json = json.loads(self.out)
        return answer
