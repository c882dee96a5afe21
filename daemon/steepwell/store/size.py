"""How large a store is, how much room is left beside it, and how it will grow."""

from __future__ import annotations

import math
import shutil
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Text, cast, func, select

from steepwell.clock import to_ms
from steepwell.store.tables import reading, result, sensor

if TYPE_CHECKING:
    from datetime import datetime

    from steepwell.store.database import Database

# Single readings are kept so long: a year, and what it takes to compare it with the last one.
KEPT_RAW = timedelta(days=400)
# A reading with its flag, and an hour of readings; ./tests/faults/run soak measures both.
READING_BYTES, HOUR_BYTES = 28, 60
LOOKS_BACK_D = 7
DOCUMENTS_BACK_D = 30
YEAR_D = 365
_SERVERS = select(func.pg_database_size(func.current_database()))


@dataclass(frozen=True, slots=True)
class Size:
    """How a store stands.

    Attributes
    ----------
    used, free
        What it takes, and what is left on its disk, None for that of a server [bytes].
    a_year
        What it will take more in a year, without backups, which give way [bytes].
    """

    used: int
    free: int | None
    a_year: int

    @property
    def months_left(self) -> float:
        """For how long there is room."""
        if self.free is None:
            return math.inf
        return 12 * self.free / max(self.a_year, 1)


def size_of(database: Database, file: Path | None, now: datetime) -> Size:
    """Return how a store stands.

    Parameters
    ----------
    database
        What is in it.
    file
        Its file, None for a database of a server.
    now
        The moment.

    Returns
    -------
    Size
        Its growth goes by the readings of the last week and the outlooks of the last month.
    """
    since = to_ms(now - timedelta(days=LOOKS_BACK_D))
    readings = select(func.count(), func.min(reading.c.time_ms)).where(
        reading.c.time_ms >= since, reading.c.time_ms <= to_ms(now)
    )
    documents = select(func.sum(func.length(cast(result.c.document, Text)))).where(
        result.c.issued_ms >= to_ms(now - timedelta(days=DOCUMENTS_BACK_D))
    )
    with database.reading() as connection:
        count, first_ms = connection.execute(readings).one()
        oldest_ms = connection.execute(select(func.min(reading.c.time_ms))).scalar()
        sensors = connection.execute(select(func.count()).select_from(sensor)).scalar_one()
        used = _used(file) if file is not None else connection.execute(_SERVERS).scalar_one()
        characters = connection.execute(documents).scalar() or 0
    day_ms = to_ms(now + timedelta(days=1)) - to_ms(now)
    heard_d = max((to_ms(now) - (first_ms or to_ms(now))) / day_ms, 1.0)
    kept_d = (to_ms(now) - (oldest_ms or to_ms(now))) / day_ms
    grows_d = min(max(KEPT_RAW.days - kept_d, 0.0), YEAR_D)
    growth = count / heard_d * READING_BYTES * grows_d
    growth += 24 * sensors * HOUR_BYTES * (YEAR_D - grows_d)
    growth += characters / min(DOCUMENTS_BACK_D, max(kept_d, 1.0)) * YEAR_D
    free = shutil.disk_usage(file.parent).free if file is not None else None
    return Size(used, free, round(growth))


def _used(file: Path) -> int:
    return sum(part.stat().st_size for part in (file, Path(f"{file}-wal")) if part.exists())
