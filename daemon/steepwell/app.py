"""Builds a running daemon from a garden: the only place that knows every part."""

from __future__ import annotations

import logging
from dataclasses import asdict
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from steepwell.done import Done
from steepwell.errors import WorkerError
from steepwell.keeping import night_work, open_kept, room_left
from steepwell.mirroring import keep_account
from steepwell.rounds import Rounds
from steepwell.schedule import Due, due
from steepwell.sense.fetch import fetch_forecast
from steepwell.sense.intake import Intake
from steepwell.store.dated import rests
from steepwell.store.ledger import BACKED_UP, CAUGHT_UP
from steepwell.store.outbox import MAIL
from steepwell.tell.mailers import FolderMailer, Mailer, SmtpMailer
from steepwell.tell.outbox import deliver_due, settle_pushes
from steepwell.tell.posted import posted_figures, posted_notice
from steepwell.tell.push import put_digests, record_events, reminders
from steepwell.ticking import Beat
from steepwell.timekeeping import Timekeeper, newest_known, sort_out
from steepwell.watch.finding import Finding, events_of
from steepwell.watch.frost import evening, frost_tonight
from steepwell.watch.judging import Judge
from steepwell.watch.kinds import FAULTS, FROST, MACHINE, SEASONAL, STORE_FULL
from steepwell.watch.machine import (
    BROKER,
    GARDEN_FILE,
    MIRROR,
    WORKER,
    backup_old,
    broker_unreachable,
    garden_file_refused,
    mirror_behind,
    ways_failing,
    worker_failed,
)
from steepwell.watch.silence import SILENT, silent_sensors
from steepwell.watch.storing import store_restored
from steepwell.watch.vessels import READY
from steepwell.watch.water import RUNNING_DRY, SHORTFALL
from steepwell.words.saying import speak
from steepwell.workshop import Workshop

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from steepwell.clock import Clock
    from steepwell.garden.garden import Garden
    from steepwell.page.server import PageServer
    from steepwell.store.notices import NoticeEvent, StandingNotice

_LOG = logging.getLogger(__name__)
# Readings are judged before anything is made of them, and so often besides.
JUDGED_EVERY_H = 3
Json = dict[str, Any]


class Daemon:
    """A garden being looked after.

    Parameters
    ----------
    garden
        The garden.
    clock
        What tells the time.
    seed
        Seed of the outlooks.
    mail_folder
        Where mails go instead of the mail server, if given.
    warm_worker
        Whether the worker is kept between jobs; for replays.
    outlook_every_days
        How often the daily outlook is worked out [d].
    """

    def __init__(
        self,
        garden: Garden,
        clock: Clock,
        *,
        seed: int = 0,
        mail_folder: Path | None = None,
        warm_worker: bool = False,
        outlook_every_days: int = 1,
    ) -> None:
        speak(garden.garden.language)
        self._garden = garden
        self._clock = clock
        self._outlook_every = timedelta(days=outlook_every_days)
        self._kept = open_kept(garden, clock.now())
        self._store = self._kept.store
        self._intake = Intake(garden, self._store, clock) if garden.broker else None
        self._judge = Judge(garden, self._store)
        self._workshop = Workshop(garden, seed=seed, warm=warm_worker)
        self._mailer = _mailer(garden, mail_folder)
        self._page: PageServer | None = None
        self._timekeeper = Timekeeper(clock, newest_known(self._store))
        self._rounds = Rounds(Beat(self.run_due, self._try_store))
        self._first_run: datetime | None = None

    def start(self) -> None:
        """Connect to the broker, if there is one, and note when the garden was first watched."""
        look = self._timekeeper.look()
        if look.believed:
            self._note_first_run(look.now)
        if self._intake is not None:
            self._intake.start()

    def serve(self) -> None:
        """Show the page, if there is one, and run what is due every minute, until ``stop``."""
        if self._garden.page is not None:
            from steepwell.page.serving import (  # noqa: PLC0415 - a garden without it goes without
                serve_page,
            )

            self._page = serve_page(self._garden, self._garden.page, self._store, self._clock)
        self._rounds.start()

    def _try_store(self) -> None:
        """Write what is written already; a StoreError says that the store takes nothing."""
        if self._first_run is not None:
            self._store.ledger.finish("first-run", self._first_run)

    def stop(self) -> None:
        """End everything in order."""
        if self._page is not None:
            self._page.stop()
        self._rounds.stop()
        if self._intake is not None:
            self._intake.stop()
        self._workshop.close()
        self._kept.close()

    def glance(self) -> None:
        """Go round at once if somebody has set the clock."""
        if self._timekeeper.was_set():
            self._rounds.hurry()

    def garden_file_read(self, refused: str | None) -> None:
        """Tell the keeper that a changed garden file was refused, or that this is over."""
        now = self._clock.now()
        findings = [] if refused is None else [garden_file_refused(refused)]
        standing = self._store.notices.standing()
        with self._store.transaction():
            events = self._tell(findings, frozenset({GARDEN_FILE}), standing, now)
        self._post_notices(events)

    def pulse(self) -> Json:
        """Return how we are, for who looks on from another process."""
        said: Json = {"at": self._clock.now().isoformat(timespec="seconds")}
        if self._intake is not None:
            said |= {"connected": self._intake.state().connected, "queue": self._intake.waiting()}
        return said

    def hangs(self) -> str | None:
        """Return which part no longer does its work, None if all of them do."""
        if not self._rounds.alive():
            return "what looks for work that is due"
        return None if self._intake is None else self._intake.hangs()

    def wait_connected(self, timeout_s: float) -> bool:
        """Wait for the broker; return whether it answered in time."""
        return self._intake is None or self._intake.connected.wait(timeout_s)

    def settled(self) -> int:
        """Return how many messages have been stored, refused or passed over, and acknowledged."""
        return self._intake.settled() if self._intake is not None else 0

    def wait_settled(self, count: int, timeout_s: float) -> bool:
        """Wait until at least that many messages are settled; return whether they were in time."""
        return self._intake is None or self._intake.wait_settled(count, timeout_s)

    def run_due(self) -> list[Done]:
        """Run every job that is due, then deliver what waits in the outbox.

        Returns
        -------
        list of Done
            What each job came to.
        """
        look = self._timekeeper.look()
        if sort_out(look, self._store, self._intake):
            self._first_run = None
        now = look.now
        if not look.believed or now < self._note_first_run(now):
            return []
        done = [self._run(job, now) for job in due(self._garden, self._store.ledger.all(), now)]
        put_digests(self._garden, self._store, now)
        self._deliver(now)
        return done

    def _note_first_run(self, now: datetime) -> datetime:
        """Note when the garden was first watched, by a clock that is believed, and return it."""
        if self._first_run is None:
            self._first_run = self._store.ledger.last("first-run")
        if self._first_run is None:
            with self._store.transaction():
                self._store.ledger.finish("first-run", now)
                self._store.ledger.finish("letter", now)
            self._first_run = now
        return self._first_run

    def _deliver(self, now: datetime) -> None:
        """Hand over what waits; pushes from a process of its own, for what they load is heavy."""
        if not self._store.outbox.due(now):
            return
        if self._mailer is not None:
            deliver_due(self._garden, self._store, self._mailer, now)
        if any(item.way != MAIL for item in self._store.outbox.due(now)):
            try:
                answer = self._workshop.ask("push", now)
            except WorkerError as error:
                _LOG.error("pushes wait: %s", error)
            else:
                settle_pushes(self._garden, self._store, answer, now)

    def _run(self, job: Due, now: datetime) -> Done:
        work = {
            "outlook": self._outlook,
            "letter": self._letter,
            "forecast": self._forecast,
            "watch": self._watch,
            "mirror": self._mirror,
        }
        return work.get(job.job, self._night_work)(job, now)

    def _night_work(self, job: Due, now: datetime) -> Done:
        """Keep the store; what is not finished is due again a minute later."""
        done = night_work(job.job, self._garden, self._store, now)
        findings, standing = room_left(self._garden, self._store, now)
        with self._store.transaction():
            if done:
                self._store.ledger.finish(job.job, job.period)
            events = self._tell(findings, frozenset({STORE_FULL}), standing, now)
        self._post_notices(events)
        return Done(job.job, job.period, notices=[_json(event) for event in events])

    def _forecast(self, job: Due, now: datetime) -> Done:
        fetch_forecast(self._garden, self._store, now)
        with self._store.transaction():
            self._store.ledger.finish(job.job, job.period)
        return Done(job.job, job.period)

    def _outlook(self, job: Due, now: datetime) -> Done:
        last = self._store.ledger.last("outlook")
        if (
            last is not None
            and not job.again
            and job.period - last < self._outlook_every - timedelta(hours=2)
        ):
            return Done(job.job, job.period)
        self._judge.judge(now)
        try:
            answer = self._workshop.ask("outlook", now)
        except WorkerError as error:
            return self._failed(job, error, now)
        outlook, plan = answer["outlook"], answer["plan"]
        findings = [Finding.from_json(raw) for raw in answer["findings"]]
        kinds = frozenset({SHORTFALL, RUNNING_DRY, READY, WORKER}) | FAULTS | SEASONAL
        standing = self._standing_for(job)
        with self._store.transaction():
            if outlook is not None:
                self._store.results.save("outlook", now, outlook)
            self._store.results.save("plan", now, plan)
            if answer["beside"] is not None:
                self._store.results.save("page", now, answer["beside"])
            events = self._tell(findings, kinds, standing, now)
            self._store.ledger.finish(job.job, job.period)
            self._store.ledger.finish(CAUGHT_UP, now)
        self._post(posted_figures(self._garden, outlook, plan, now))
        self._post_notices(events)
        return Done(job.job, job.period, outlook, plan, [_json(event) for event in events])

    def _letter(self, job: Due, now: datetime) -> Done:
        try:
            letters = self._workshop.ask("letter", now)["letters"]
        except WorkerError as error:
            return self._failed(job, error, now)
        with self._store.transaction():
            for letter in letters:
                key = f"letter/{job.period.isoformat()}/{letter['person']}"
                self._store.outbox.put(
                    key, letter["to"], letter["mail"].encode(), now, person=letter["person"]
                )
            if letters:
                self._store.results.save("letter", now, {"schema": 1, "letters": len(letters)})
            events = self._tell([], frozenset({WORKER}), self._standing_for(job), now)
            self._store.ledger.finish(job.job, job.period)
        self._post_notices(events)
        return Done(job.job, job.period, notices=[_json(event) for event in events])

    def _watch(self, job: Due, now: datetime) -> Done:
        if job.period.minute == 0 and job.period.hour % JUDGED_EVERY_H == 0:
            self._judge.judge(now)
        link = self._intake.state() if self._intake is not None else None
        findings = broker_unreachable(self._garden, link)
        since = self._first_run or now
        with self._store.transaction():
            heard = self._store.readings.last_heard(now)
            standing = self._store.notices.standing()
            stand = {notice.subject for notice in standing if notice.kind == SILENT}
            asleep = rests(self._store.journal.entries(now, kinds=("put-to-bed", "woken")), now)
            if not findings and not asleep:
                findings = silent_sensors(self._garden, heard, since, now, stand=stand)
            tonight = evening(self._garden, self._store, now)
            findings = [
                *findings,
                *frost_tonight(self._garden, tonight, standing, rests=asleep),
                *ways_failing(self._store.outbox.stuck(), now),
                *backup_old(self._store.ledger.last(BACKED_UP), now),
                *store_restored(self._garden, self._store.results.latest("mended", now), now),
            ]
            events = self._tell(
                findings, frozenset({SILENT, BROKER, FROST}) | MACHINE, standing, now
            )
            self._store.ledger.finish(job.job, job.period)
        self._post_notices(events)
        return Done(job.job, job.period, notices=[_json(event) for event in events])

    def _mirror(self, job: Due, now: datetime) -> Done:
        """Send the mirror what it lacks; what is left, or failed, is due again a minute later."""
        state = self._store.mirror.state()
        answer: Json | None = None
        if state is None or now >= state.next_try:
            self._judge.judge(now)
            self._store.mirror.hand_over(now)
            try:
                answer = self._workshop.ask("mirror", now)
            except WorkerError as error:
                answer = {"failure": {"reason": str(error), "lasting": False}}
        standing = self._store.notices.standing()
        with self._store.transaction():
            if answer is not None and keep_account(self._store, answer, now):
                self._store.ledger.finish(job.job, job.period)
            findings = mirror_behind(self._garden, self._store.mirror.state(), now)
            events = self._tell(findings, frozenset({MIRROR}), standing, now)
        self._post_notices(events)
        return Done(job.job, job.period, notices=[_json(event) for event in events])

    def _failed(self, job: Due, error: WorkerError, now: datetime) -> Done:
        """Tell that a job failed; what it made last time stays, and it is tried next period."""
        _LOG.error("%s failed: %s", job.job, error)
        findings = [worker_failed(job.job, str(error))]
        standing = self._standing_for(job)
        with self._store.transaction():
            events = self._tell(findings, frozenset({WORKER}), standing, now)
            self._store.ledger.finish(job.job, job.period)
            if job.job == "outlook":
                self._store.ledger.finish(CAUGHT_UP, now)
        self._post_notices(events)
        return Done(job.job, job.period, notices=[_json(event) for event in events])

    def _standing_for(self, job: Due) -> list[StandingNotice]:
        """Return the notices that stand, without what other jobs failed at."""
        standing = self._store.notices.standing()
        return [n for n in standing if n.kind != WORKER or n.subject == job.job]

    def _tell(
        self,
        findings: Sequence[Finding],
        kinds: frozenset[str],
        standing: Sequence[StandingNotice],
        now: datetime,
    ) -> list[NoticeEvent]:
        events = events_of(findings, standing, kinds, now)
        ended = {event.id for event in events}
        left = [n for n in standing if n.kind in kinds and n.id not in ended]
        events += reminders(self._garden, self._store, left, now)
        record_events(self._garden, self._store, events, now, mails=self._mailer is not None)
        return events

    def _post_notices(self, events: Sequence[NoticeEvent]) -> None:
        self._post(dict(posted_notice(self._garden, event) for event in events))

    def _post(self, figures: dict[str, bytes]) -> None:
        if self._intake is not None:
            for topic, payload in figures.items():
                self._intake.publish(topic, payload)


def _mailer(garden: Garden, mail_folder: Path | None) -> Mailer | None:
    if mail_folder is not None:
        return FolderMailer(mail_folder)
    if garden.told.mail is not None:
        return SmtpMailer(garden.told.mail, garden.folder)
    return None


def _json(event: NoticeEvent) -> Json:
    return {**asdict(event), "at": event.at.isoformat()}
