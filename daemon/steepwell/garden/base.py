"""What every part of the garden file has in common."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, BaseModel, ConfigDict, StringConstraints

Name = Annotated[
    str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9-]*$", min_length=1, max_length=40)
]


class Part(BaseModel):
    """A part of the garden file: unknown keys are refused, values never change."""

    model_config = ConfigDict(extra="forbid", frozen=True)


_LONGEST = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def _check_month_day(text: str) -> str:
    month, _, day = text.partition("-")
    if not (month.isdecimal() and day.isdecimal() and 1 <= int(month) <= len(_LONGEST)):
        raise ValueError('a day of the year is month and day, for instance "05-15"')
    if not 1 <= int(day) <= _LONGEST[int(month) - 1]:
        raise ValueError(f"month {month} has no day {day}")
    return f"{int(month):02d}-{int(day):02d}"


MonthDay = Annotated[str, AfterValidator(_check_month_day)]
