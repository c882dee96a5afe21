"""A job behind the signed address of a letter: looking notes nothing, a button does."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse

from steepwell.errors import JournalError, LinkError
from steepwell.garden.days import local_day
from steepwell.page.desk import desk_of
from steepwell.page.gate import count_wrong
from steepwell.page.marking import DONE, NOT_DONE, Tap, mark, noted_of, unmark
from steepwell.page.setting import answer_page
from steepwell.store.entries import JobDone, JobNotDone
from steepwell.store.tasks import Task, due_of, job_parts, tasks_of
from steepwell.tell.documents import Plan
from steepwell.tell.jobs import Job, jobs
from steepwell.tell.links import JOB_LINKS, JobLink, job_of, job_token
from steepwell.tell.taken import taken_said
from steepwell.tell.wording import sentence
from steepwell.words.figures import litres, spoken, weekday
from steepwell.words.saying import say

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from starlette.datastructures import FormData
    from starlette.requests import Request
    from starlette.responses import Response

    from steepwell.page.desk import Desk

MOST_FIELDS = 10
UNDO = "undo"
# A plan names its issue to the second, and is kept under the millisecond.
WITHIN_THE_SECOND = timedelta(milliseconds=999)


@dataclass(frozen=True, slots=True)
class Opened:
    """A job as it was told.

    Attributes
    ----------
    job
        In sentences.
    tasks
        What it brings together.
    taken
        Whether it only counts as done, for nobody noted it.
    person
        Whose letter it stood in.
    """

    job: Job
    tasks: tuple[Task, ...]
    taken: bool
    person: str


@dataclass(frozen=True, slots=True)
class TaskSaid:
    """One bed's part of a job, and what is noted of it."""

    name: str
    said: str
    noted: str
    water: bool


def done_paths(desk: Desk, plan: Plan, told: Sequence[Job], person: str) -> Mapping[str, str]:
    """Return where each job of a plan is noted as done or not, by what tells it from others."""
    secret = desk.store.secrets.made(JOB_LINKS)
    return {
        job.id: f"/done/{job_token(JobLink(plan.issued, job.id, person), secret)}"
        for job in told
        if job.names
    }


def noted_ids(desk: Desk, told: Sequence[Job]) -> frozenset[str]:
    """Return which jobs are noted as far as they are due, by what tells them from others."""
    now = desk.clock.now()
    noted = noted_of(desk.store, now)
    today = _today(desk, now)
    return frozenset(
        job.id
        for job in told
        if job.names
        and all(task.job in noted for task in due_of([_bare(n) for n in job.names], today))
    )


def job_page(request: Request) -> Response:
    """Answer with a job, what is noted of it, and its buttons; nothing is noted by looking."""
    try:
        opened = _opened(request)
    except LinkError as error:
        return _not_ours(request, error)
    return _answer(request, opened)


async def job_noted(request: Request) -> Response:
    """Note what a button says, and show the job again.

    The address is signed and known to nobody but its reader, so that it stands for the token that
    keeps posts of other pages out.
    """
    fields = await request.form(max_files=0, max_fields=MOST_FIELDS)
    return await run_in_threadpool(_note, request, fields)


def _note(request: Request, fields: FormData) -> Response:
    desk = desk_of(request)
    try:
        opened = _opened(request)
        written = _written(desk, opened, fields)
    except LinkError as error:
        return _not_ours(request, error)
    except JournalError as error:
        return _answer(request, opened, said=sentence(str(error)), status=409)
    said = "noted" if written else "again"
    return RedirectResponse(f"{request.url.path}?said={said}", status_code=303)


def _written(desk: Desk, opened: Opened, fields: FormData) -> int:
    now = desk.clock.now()
    what, only = str(fields.get("what", "")), str(fields.get("task", ""))
    tasks = [task for task in opened.tasks if task.job == only] if only else _due(desk, opened)
    if what == UNDO:
        return unmark(desk.store, [task.job for task in tasks], opened.person, now)
    if what not in {DONE, NOT_DONE} or not tasks:
        raise JournalError("say whether it was done or not: send one of the buttons")
    instead = str(fields.get("instead", "")) or None
    tap = Tap(what, opened.person, instead if what == NOT_DONE and only else None)
    return mark(desk.garden, desk.store, tasks, tap, now)


def _due(desk: Desk, opened: Opened) -> list[Task]:
    return due_of(opened.tasks, _today(desk, desk.clock.now()))


def _today(desk: Desk, now: datetime) -> date:
    return local_day(desk.garden, now)


def _opened(request: Request) -> Opened:
    """Return the job an address is about, as the plan told it that the letter was made from.

    Raises
    ------
    LinkError
        If the address is not ours, too old, or its plan is gone.
    """
    desk = desk_of(request)
    secret = desk.store.secrets.known(JOB_LINKS)
    link = job_of(request.path_params["token"], secret, desk.clock.now())
    document = desk.store.results.latest("plan", link.issued + WITHIN_THE_SECOND)
    if document is None:
        raise LinkError(say("jobs-page.not-known"))
    plan = Plan.model_validate(document)
    told = {task.job: task for task in tasks_of(document, desk.garden)}
    for taken, known in ((False, jobs(plan, desk.garden)), (True, taken_said(plan))):
        job = next((each for each in known if each.id == link.job), None)
        if job is not None:
            tasks = [told.get(name) or _bare(name) for name in job.names]
            return Opened(job, tuple(tasks), taken, link.person)
    raise LinkError(say("jobs-page.not-known"))


def _bare(name: str) -> Task:
    """Return a task of which no more is known than its name."""
    _, bed, day = job_parts(name)
    return Task(name, bed, day)


def _answer(request: Request, opened: Opened, *, said: str = "", status: int = 200) -> Response:
    desk = desk_of(request)
    noted = noted_of(desk.store, desk.clock.now())
    due = {task.job for task in _due(desk, opened)}
    again = request.query_params.get("said") == "again"
    return answer_page(
        request,
        "job.html.j2",
        status=status,
        job=opened.job,
        taken=opened.taken,
        said=said or (say("jobs-page.again") if again else ""),
        settled=bool(due) and due <= noted.keys(),
        tasks=[_said(task, noted.get(task.job), opened) for task in opened.tasks],
        beds=[bed.name for bed in desk.garden.bed],
        not_first="not" in request.query_params,
    )


def _said(task: Task, noted: JobDone | JobNotDone | None, opened: Opened) -> TaskSaid:
    water = task.vessel is None and task.job.startswith("water/")
    amount = f", {litres(task.litres)}" if water and task.litres and not opened.taken else ""
    if isinstance(noted, JobDone):
        state = say("jobs-page.as-done")
    elif noted is not None:
        state = say("jobs-page.as-not-done")
        if noted.instead:
            state = say("jobs-page.as-other", bed=spoken(noted.instead))
    else:
        state = ""
    said = f"{sentence(spoken(task.bed)).removesuffix('.')}, {weekday(task.day)}{amount}"
    return TaskSaid(task.job, said, state, water)


def _not_ours(request: Request, error: LinkError) -> Response:
    count_wrong(request)
    said = sentence(str(error))
    return answer_page(
        request, "trouble.html.j2", status=404, title=say("jobs-page.not-here"), said=said
    )
