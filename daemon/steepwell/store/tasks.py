"""The lines of a plan by bed and day, each under a name that a re-made plan keeps."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from steepwell.garden.days import local_day

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from steepwell.garden.garden import Garden
    from steepwell.store.results import Results

Json = dict[str, Any]

WATER, FEED = "water", "feed"
# What is noted as done later than its day was done in its evening.
EVENING = time(19)
# A plan of this age is out of anybody's mind.
REMEMBERED = timedelta(days=28)
HALVES = 2


@dataclass(frozen=True, slots=True)
class Task:
    """One bed's water or feed on one day.

    Attributes
    ----------
    job
        Its name, such as ``water/beans/2031-06-08``.
    bed, day
        Which bed, and when.
    litres
        Rainwater for it, None where there is none or it comes from the tap [L].
    butt
        Where that comes from, None where it is not told.
    vessel
        Where its feed comes from, None for water.
    feed_ml
        Undiluted feed a can [mL].
    cans
        Cans of feed [-].
    """

    job: str
    bed: str
    day: date
    litres: float | None = None
    butt: str | None = None
    vessel: str | None = None
    feed_ml: float | None = None
    cans: float | None = None

    def entry(self) -> Json:
        """Return what a journal entry says of it when it is done."""
        told = {
            "job": self.job,
            "litres": self.litres,
            "butt": self.butt,
            "vessel": self.vessel,
            "feed_ml": self.feed_ml,
            "cans": self.cans,
        }
        return {key: value for key, value in told.items() if value is not None}


def job_name(what: str, bed: str, day: date) -> str:
    """Return the name of a job: one bed's water or feed on one day."""
    return f"{what}/{bed}/{day.isoformat()}"


def job_parts(job: str) -> tuple[str, str, date]:
    """Return what a job is about: water or feed, the bed, the day.

    Raises
    ------
    ValueError
        If it is no name of a job.
    """
    what, bed, day = job.split("/")
    if what not in {WATER, FEED}:
        raise ValueError(job)
    return what, bed, date.fromisoformat(day)


def tasks_of(plan: Json, garden: Garden) -> list[Task]:
    """Return every task of a plan, water first, each in the order of its days.

    Parameters
    ----------
    plan
        The plan document.
    garden
        The garden, for the size of its can.

    Returns
    -------
    list of Task
        A bed that is fed and not watered this week has its cans of feed as water too.
    """
    watered = {line["bed"] for line in plan["water"] if _has_water(line)}
    tasks = [task for line in plan["water"] if _has_water(line) for task in _water(line, plan)]
    for line in plan["feed"]:
        cans = line["cans"] or 1.0
        day = date.fromisoformat(line["day"])
        tasks.append(
            Task(
                job_name(FEED, line["bed"], day),
                line["bed"],
                day,
                litres=None if line["bed"] in watered else cans * garden.can.size,
                vessel=line["vessel"],
                feed_ml=line["feed_ml"] / cans,
                cans=cans,
            )
        )
    return tasks


def half_cans(cans: float, rounds: int) -> list[float]:
    """Return what each round gets of a week's cans: half cans, the first ones more [-]."""
    each, over = divmod(round(HALVES * cans), max(rounds, 1))
    return [(each + (turn < over)) / HALVES for turn in range(max(rounds, 1))]


def task_named(
    job: str, garden: Garden, results: Results, now: datetime, done: Iterable[str] = ()
) -> Task | None:
    """Return a task of the newest plan that has it.

    Parameters
    ----------
    job
        Its name, with or without its day; without, the newest that is due and not done, else the
        first that is not done.
    garden
        The garden.
    results
        Where the plans are.
    now
        The moment; plans issued later are not looked at.
    done
        Names of jobs that are noted already.

    Returns
    -------
    Task or None
        None where no plan of the last four weeks has it.
    """
    today = local_day(garden, now)
    issued = results.issued("plan", now - REMEMBERED, now + timedelta(milliseconds=1))
    for moment in reversed(issued):
        plan = results.latest("plan", moment)
        tasks = tasks_of(plan, garden) if plan is not None else []
        exact = next((task for task in tasks if task.job == job), None)
        if exact is not None:
            return exact
        known = [task for task in tasks if task.job.rpartition("/")[0] == job]
        if known:
            left = [task for task in known if task.job not in set(done)] or known
            return due_of(left, today)[-1]
    return None


def due_of(tasks: Sequence[Task], today: date) -> list[Task]:
    """Return the tasks whose day has come; before any has, those of the first day."""
    come = [task for task in tasks if task.day <= today]
    if come:
        return come
    first = min((task.day for task in tasks), default=today)
    return [task for task in tasks if task.day == first]


def done_at(day: date, garden: Garden, now: datetime) -> datetime:
    """Return when a task was done that is noted now: now, or in the evening of its day."""
    zone = garden.garden.zone
    if day >= local_day(garden, now):
        return now
    return datetime.combine(day, EVENING, zone)


def _has_water(line: Json) -> bool:
    return not line["stop"] and bool(line["daily_l"] or line["litres"])


def _water(line: Json, plan: Json) -> list[Task]:
    first, last = (date.fromisoformat(day) for day in plan["week"])
    days = [date.fromisoformat(day) for day in line["days"]]
    if line["daily_l"]:
        days = days or [first + timedelta(days=ahead) for ahead in range((last - first).days + 1)]
        # With a daily allowance, no butt means the tap.
        litres = [line["daily_l"] if line["from"] else None] * len(days)
    else:
        days = sorted(days) or [first]
        cans = half_cans(line["cans"] or 0.0, len(days))
        whole = sum(cans)
        shares = [each / whole if whole else 1.0 / len(days) for each in cans]
        litres = [round(line["litres"] * share, 1) or None for share in shares]
    return [
        Task(job_name(WATER, line["bed"], day), line["bed"], day, litres=amount, butt=line["from"])
        for day, amount in zip(days, litres, strict=True)
    ]
