"""Levels as a person says them: "half", "3 of 5 full", "18 cm from the lid"."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from steepwell.errors import JournalError
from steepwell.garden.quantity import LENGTH, VOLUME, magnitude
from steepwell.model.geometry import Labelled
from steepwell.sense.said import with_points

if TYPE_CHECKING:
    from steepwell.garden.water import Butt

OVERFULL = 1.05

_COUNTS = {
    "a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7,
    "eight": 8, "nine": 9,
}  # fmt: skip
_PARTS = {"half": 2, "third": 3, "quarter": 4, "fifth": 5, "sixth": 6, "eighth": 8, "tenth": 10}
_FULL = {"full", "brim", "brimful", "to the brim", "full to the brim", "overflowing"}
_ABOUT = re.compile(r"(?:about|around|roughly|some)\s+")
_IN_WORDS = re.compile(rf"(?:({'|'.join(_COUNTS)})[ -])?({'|'.join(_PARTS)})s?")
_IN_NUMBERS = re.compile(r"(\d+(?:\.\d+)?)\s*(?:of|out of|/)\s*(\d+(?:\.\d+)?)")
_IN_PERCENT = re.compile(r"(\d+(?:\.\d+)?)\s*(?:%|percent|per cent)")
_FROM_LID = re.compile(r"(.+?)\s*(?:from|below|under)\s+(?:the\s+)?(?:lid|rim|top)")
_DEEP = re.compile(r"(.+?)\s*(?:deep|of water|high)")
_LITRES = re.compile(r"(.*\d)\s*(?:l|litres?|liters?)")


def level_in_litres(text: str, butt: Butt) -> float:
    """Return how much water is in a butt, as a person says it.

    Parameters
    ----------
    text
        A share of the depth ("full", "empty", "half", "three quarters", "3 of 5 full", "40 %"),
        a volume ("120 L"), or a depth ("18 cm from the lid", "42 cm deep").
    butt
        The butt.

    Returns
    -------
    float
        Volume [L].

    Raises
    ------
    JournalError
        If it cannot be understood, or cannot be.
    """
    said = _plain(text)
    share = share_said(said)
    if share is not None:
        depth_m = share * butt.geometry.height_m
    elif match := _FROM_LID.fullmatch(said):
        depth_m = _height_m(butt) - _length_m(match[1], text)
    elif match := _DEEP.fullmatch(said):
        _height_m(butt)
        depth_m = _length_m(match[1], text)
    else:
        return _checked(_volume_l(said, text) / butt.capacity_l, text, butt) * butt.capacity_l
    height_m = butt.geometry.height_m
    return float(butt.geometry.volume_l(_checked(depth_m / height_m, text, butt) * height_m))


def is_rough(text: str) -> bool:
    """Return whether a level is told by eye, as a share of full that is neither all nor nothing."""
    share = share_said(_plain(text))
    return share is not None and 0.0 < share < 1.0


def _plain(text: str) -> str:
    said = with_points(" ".join(text.lower().split()))
    return _ABOUT.sub("", said).removesuffix(" full")


def share_said(said: str) -> float | None:
    """Return a part of a whole, in small letters: "half", "3 of 5", "40 %"; None if it is none."""
    if said in _FULL:
        return 1.0
    if said in {"empty", "dry"}:
        return 0.0
    if match := _IN_WORDS.fullmatch(said):
        return _COUNTS[match[1] or "a"] / _PARTS[match[2]]
    if (match := _IN_NUMBERS.fullmatch(said)) and float(match[2]) > 0:
        return float(match[1]) / float(match[2])
    if match := _IN_PERCENT.fullmatch(said):
        return float(match[1]) / 100
    return None


def _height_m(butt: Butt) -> float:
    if isinstance(butt.geometry, Labelled):
        raise JournalError(
            f"a depth says nothing about {butt.name!r}, of which only the litres are known; "
            'say a share ("half") or litres, or give its shape in the garden file'
        )
    return butt.geometry.height_m


def _length_m(said: str, text: str) -> float:
    try:
        return magnitude(said, LENGTH)
    except ValueError as error:
        raise JournalError(f"{text!r} cannot be read: {error}") from None


def _volume_l(said: str, text: str) -> float:
    if match := _LITRES.fullmatch(said):
        said = f"{match[1]} L"
    try:
        return magnitude(said, VOLUME)
    except ValueError:
        raise JournalError(
            f'{text[:40]!r} is no level; say for instance "half", "3 of 5 full", "40 %", "120 L", '
            '"18 cm from the lid" or "42 cm deep"'
        ) from None


def _checked(share: float, text: str, butt: Butt) -> float:
    if 0 <= share <= OVERFULL:
        return min(share, 1.0)
    where = "below the floor" if share < 0 else "above the top"
    raise JournalError(f"{text!r} would be {where} of {butt.name!r}; read it again")
