"""The newest readings at or before many moments, in one question."""

from __future__ import annotations

import json
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from sqlalchemy import BigInteger, Integer, Select, bindparam, cast, func, select

from steepwell.store.tables import reading

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sqlalchemy import CTE, ColumnElement, Connection

_EARLIER = reading.alias("earlier")


def newest_of_each(
    connection: Connection, asked: Sequence[tuple[int, int]], flags: tuple[int, ...]
) -> dict[tuple[int, int], tuple[Any, ...]]:
    """Return the newest readings with some flags, each at or before some moment.

    A sensor that has given none for months is sought through all that the others gave meanwhile, so
    that is done once, at the last of its moments; what is found there holds for those before, too.

    Parameters
    ----------
    connection
        To the store.
    asked
        Numbers of sensors, each with a moment [ms since 1970].
    flags
        Those that will do.

    Returns
    -------
    dict
        Time, value, flag and reason, by sensor and moment as asked; nothing where there is none.
    """
    last: dict[int, int] = {}
    for number, at_ms in asked:
        last[number] = max(at_ms, last.get(number, at_ms))
    newest = _newest_at(connection, list(last.items()), flags)
    found, earlier = {}, []
    for key in dict.fromkeys(asked):
        row = newest.get((key[0], last[key[0]]))
        if row is not None and row[0] <= key[1]:
            found[key] = row
        elif row is not None:
            earlier.append(key)
    return found | (_newest_at(connection, earlier, flags) if earlier else {})


def _newest_at(
    connection: Connection, asked: Sequence[tuple[int, int]], flags: tuple[int, ...]
) -> dict[tuple[int, int], tuple[Any, ...]]:
    question = _question(flags, connection.dialect.name)
    rows = connection.execute(question, {"asked": json.dumps(asked)})
    return {(row[0], row[1]): tuple(row[2:]) for row in rows}


@lru_cache(maxsize=4)
def _question(flags: tuple[int, ...], dialect: str) -> Select[Any]:
    asked = _asked(dialect)
    number, at_ms = asked.c.number, asked.c.at_ms
    newest = (
        select(_EARLIER.c.time_ms)
        .where(_EARLIER.c.sensor == number, _EARLIER.c.time_ms <= at_ms, _EARLIER.c.flag.in_(flags))
        .order_by(_EARLIER.c.time_ms.desc())
        .limit(1)
        .correlate(asked)
        .scalar_subquery()
    )
    columns = (reading.c.time_ms, reading.c.value, reading.c.flag, reading.c.reason)
    return (
        select(number, at_ms, *columns)
        .select_from(asked)
        .join(reading, (reading.c.sensor == number) & (reading.c.time_ms == newest))
    )


def _asked(dialect: str) -> CTE:
    """Return sensors and moments as a table, read out of the JSON once and not for each reading."""
    number: ColumnElement[Any]
    at_ms: ColumnElement[Any]
    if dialect == "sqlite":
        pairs = func.json_each(bindparam("asked")).table_valued("value", name="pair")
        number = func.json_extract(pairs.c.value, "$[0]")
        at_ms = func.json_extract(pairs.c.value, "$[1]")
    else:
        from sqlalchemy.dialects.postgresql import JSONB  # noqa: PLC0415 - few stores are there

        elements = func.jsonb_array_elements(cast(bindparam("asked"), JSONB))
        pairs = elements.table_valued("value", name="pair")
        number = cast(pairs.c.value.op("->>")(0), Integer)
        at_ms = cast(pairs.c.value.op("->>")(1), BigInteger)
    found = select(number.label("number"), at_ms.label("at_ms"))
    return found.cte("asked").prefix_with("MATERIALIZED")
