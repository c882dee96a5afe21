"""Whether, when and why somebody is told: decisions by themselves, and stories of what is sent."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from email import message_from_bytes
from typing import TYPE_CHECKING, Any

import pytest

from steepwell.garden.load import garden_from
from steepwell.screens_why import decisions_report, decisions_screen
from steepwell.store.decisions import Decided, Decision, Reason
from steepwell.store.entries import parse_entry
from steepwell.store.notices import NoticeEvent
from steepwell.store.store import Store, garden_store_url, open_store
from steepwell.tell.answers import Answers, answers_now, unanswered
from steepwell.tell.push import put_digests, record_events, reminders
from steepwell.tell.telling import (
    Circumstances,
    addressed,
    after_quiet_hours,
    decide,
    on_working_day,
)

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from steepwell.garden.garden import Garden

# Friday 6 June 2031, 17:00 in the garden.
NOW = datetime(2031, 6, 6, 16, 0, tzinfo=UTC)
WINTER = datetime(2031, 12, 5, 12, 0, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
NONE = Answers({}, {})
ALONE = Circumstances(NONE, frozenset(), (), mails=True)


def event(kind: str, *, at: datetime = NOW, **changes: Any) -> NoticeEvent:  # noqa: ANN401 - fields of many types
    fields: dict[str, Any] = {
        "id": f"{kind}/it",
        "kind": kind,
        "subject": "it",
        "event": "raised",
        "at": at,
        "urgency": "Future",
        "severity": "Minor",
        "certainty": "Likely",
        "headline": f"About {kind}",
        "text": "So many litres. Do this. Then it is over.",
        "figures": {},
        "reason": "found for the first time",
    }
    return NoticeEvent(**{**fields, **changes})


def person_raw(name: str = "robin", **more: object) -> dict[str, object]:
    return {"name": name, "mail": f"{name}@example.org", **more}


@pytest.fixture
def people() -> list[dict[str, object]]:
    return [person_raw()]


@pytest.fixture
def garden(garden_raw: dict[str, Any], people: list[dict[str, object]], tmp_path: Path) -> Garden:
    garden_raw["told"]["people"] = people
    return garden_from(garden_raw, path=tmp_path / "garden.toml")


@pytest.fixture
def store(garden: Garden) -> Iterator[Store]:
    with open_store(garden_store_url(garden), garden) as opened:
        yield opened


def reason(
    garden: Garden, what: NoticeEvent, known: Circumstances = ALONE, now: datetime = NOW
) -> str:
    return decide(garden, garden.told.people[0], what, known, now).reason.value


@pytest.mark.parametrize(
    ("kind", "told"),
    [
        # The table of who is told how.
        ("leak", "told"),
        ("frost-tonight", "told"),
        ("running-dry", "told"),
        ("overflow-ahead", "told"),
        ("butts-full", "told"),
        ("vessel-ready", "told"),
        ("downpipe-blocked", "told"),
        ("sensor-silent", "told"),
        ("shortfall-ahead", "told"),
        ("top-up-due", "letter-only"),
        ("next-rung", "letter-only"),
        ("steep-ended", "letter-only"),
        ("battery-low", "letter-only"),
        ("sensor-doubtful", "letter-only"),
        ("gauge-blocked", "letter-only"),
        ("warm-water", "letter-only"),
        ("chore", "letter-only"),
        ("of-a-later-version", "letter-only"),
    ],
)
def test_what_is_told_at_once_and_what_waits_for_the_letter(
    garden: Garden, kind: str, told: str
) -> None:
    assert reason(garden, event(kind)) == told


@pytest.mark.parametrize(
    ("roles", "kind", "names"),
    [
        (["gardener", "keeper", "helper"], "leak", ["p0"]),
        (["gardener", "keeper", "helper"], "mail-failing", ["p1"]),
        (["gardener", "gardener"], "mirror-behind", ["p0", "p1"]),
        (["helper"], "leak", []),
    ],
)
def test_a_fault_of_the_machine_is_for_who_keeps_it(
    garden_raw: dict[str, Any], roles: list[str], kind: str, names: list[str]
) -> None:
    raw = [person_raw(f"p{number}", role=role) for number, role in enumerate(roles)]
    garden_raw["told"]["people"] = raw
    told = addressed(garden_from(garden_raw), event(kind))
    assert [person.name for person in told] == names


def test_a_vessel_is_told_as_ready_if_a_bed_wants_it(garden: Garden) -> None:
    assert reason(garden, event("vessel-ready", figures={"wanted": False})) == "not-wanted"
    assert reason(garden, event("vessel-ready", figures={"wanted": True})) == "told"


def test_what_is_over_is_not_told(garden: Garden) -> None:
    assert reason(garden, event("leak", event="cleared", urgency="Past")) == "over"


@pytest.mark.parametrize(
    ("kind", "told"),
    [
        ("leak", "told"),
        ("frost-tonight", "told"),
        ("running-dry", "dark-season"),
        ("sensor-silent", "dark-season"),
        ("mail-failing", "told"),
    ],
)
def test_in_the_dark_season_only_frost_and_leaks_are_told_the_gardener(
    garden: Garden, kind: str, told: str
) -> None:
    assert reason(garden, event(kind, at=WINTER), now=WINTER) == told


def test_a_cause_that_stands_suppresses_what_follows_from_it(garden: Garden) -> None:
    dry = Circumstances(NONE, frozenset({"running-dry"}), (), mails=True)
    assert reason(garden, event("shortfall-ahead"), dry) == "cause-stands"
    away = Circumstances(NONE, frozenset({"broker-unreachable"}), (), mails=True)
    assert reason(garden, event("sensor-silent"), away) == "cause-stands"
    assert reason(garden, event("leak"), dry) == "told"


def before(*told: tuple[str, timedelta], who: str = "robin") -> Circumstances:
    decided = [
        Decided(number, Decision(who, Reason.TOLD, NOW - ago), event(kind), NOW - ago, f"k{number}")
        for number, (kind, ago) in enumerate(told)
    ]
    return Circumstances(NONE, frozenset(), decided, mails=True)


@pytest.mark.parametrize(
    ("kind", "ago", "told"),
    [
        ("frost-tonight", 13 * DAY, "told-lately"),
        ("frost-tonight", 14 * DAY, "told"),
        ("sensor-silent", 6 * DAY, "told-lately"),
        ("sensor-silent", 7 * DAY, "told"),
        ("butts-full", 13 * DAY, "told-lately"),
        # A leak that comes back is told each time.
        ("leak", HOUR, "told"),
    ],
)
def test_what_comes_and_goes_is_not_told_each_time(
    garden: Garden, kind: str, ago: timedelta, told: str
) -> None:
    assert reason(garden, event(kind), before((kind, ago))) == told


def test_full_butts_are_not_told_beside_an_overflow_told_lately(garden: Garden) -> None:
    spilled = before(("overflow-ahead", 5 * DAY))
    assert reason(garden, event("butts-full"), spilled) == "told-lately"
    assert reason(garden, event("leak"), spilled) == "told"


@pytest.mark.parametrize(("on", "told"), [("2031-07-03", "told"), ("2031-07-04", "told-lately")])
def test_a_date_is_told_again_when_it_is_a_week_nearer_than_the_one_told(
    garden: Garden, on: str, told: str
) -> None:
    first = event("shortfall-ahead", at=NOW - 20 * DAY, figures={"on": "2031-07-10"})
    decided = Decided(1, Decision("robin", Reason.TOLD, first.at), first, first.at, "k")
    known = Circumstances(NONE, frozenset(), [decided], mails=True)
    moved = event("shortfall-ahead", event="changed", figures={"on": on})
    assert reason(garden, moved, known) == told


def test_after_two_messages_in_a_week_what_can_wait_waits_for_the_letter(garden: Garden) -> None:
    two = before(("running-dry", DAY), ("vessel-ready", 2 * DAY))
    assert reason(garden, event("downpipe-blocked"), two) == "enough-this-week"
    assert reason(garden, event("leak"), two) == "told"
    old = before(("running-dry", DAY), ("vessel-ready", 8 * DAY))
    assert reason(garden, event("downpipe-blocked"), old) == "told"
    # What another person was told counts for nothing.
    others = before(("running-dry", DAY), ("vessel-ready", 2 * DAY), who="kim")
    assert reason(garden, event("downpipe-blocked"), others) == "told"


def test_without_a_way_nobody_is_told(garden: Garden) -> None:
    silent = Circumstances(NONE, frozenset(), (), mails=False)
    assert reason(garden, event("leak"), silent) == "no-way"


@pytest.mark.parametrize("people", [[person_raw(ways=["env:ROBIN_PUSH", "mail"])]])
def test_a_push_needs_no_mail_server(garden: Garden) -> None:
    silent = Circumstances(NONE, frozenset(), (), mails=False)
    assert reason(garden, event("leak"), silent) == "told"


@pytest.mark.parametrize(
    ("hour", "expected"),
    [(6, 7), (7, 7), (20, 20), (21, 24 + 7), (23, 24 + 7)],
)
def test_quiet_hours_end_in_the_morning(garden: Garden, hour: int, expected: int) -> None:
    midnight = datetime(2031, 6, 6, tzinfo=garden.garden.zone)
    at = after_quiet_hours(garden, garden.told.people[0], midnight + hour * HOUR)
    assert at == midnight + expected * HOUR


@pytest.mark.parametrize("people", [[person_raw(timezone="Pacific/Auckland")]])
def test_quiet_hours_are_those_where_the_person_is(garden: Garden) -> None:
    # 17:00 in England is 4:00 of the next morning in New Zealand, where it is winter (NZST, +12).
    person = garden.told.people[0]
    told = decide(garden, person, event("shortfall-ahead"), ALONE, NOW)
    assert told.reason is Reason.QUIET_HOURS
    assert told.tell_at == datetime(2031, 6, 6, 19, 0, tzinfo=UTC)


@pytest.mark.parametrize("people", [[person_raw(working_days=["tue", "sun"])]])
def test_what_is_told_by_day_waits_for_a_working_day(garden: Garden) -> None:
    person, sunday = garden.told.people[0], datetime(2031, 6, 8, 6, 0, tzinfo=UTC)
    told = decide(garden, person, event("downpipe-blocked"), ALONE, NOW)
    assert (told.reason, told.tell_at) == (Reason.DAY_OFF, sunday)
    assert decide(garden, person, event("leak", urgency="Expected"), ALONE, NOW).tell_at == NOW
    on_sunday = sunday + 3 * HOUR
    assert on_working_day(garden, person, on_sunday) == on_sunday


def test_urgent_things_break_the_quiet_hours_and_others_do_not(garden: Garden) -> None:
    night = datetime(2031, 6, 6, 22, 30, tzinfo=UTC)
    person = garden.told.people[0]
    leak = decide(garden, person, event("leak", urgency="Expected"), ALONE, night)
    spill = decide(garden, person, event("overflow-ahead"), ALONE, night)
    assert (leak.reason, leak.tell_at) == (Reason.TOLD, night)
    assert (spill.reason, spill.tell_at) == (
        Reason.QUIET_HOURS,
        datetime(2031, 6, 7, 6, 0, tzinfo=UTC),
    )


def test_every_reason_has_its_words() -> None:
    assert len({each.in_words() for each in Reason}) == len(Reason)


def test_what_eases_is_for_the_letter_and_what_grows_worse_soon_after_too(
    garden: Garden,
) -> None:
    assert reason(garden, event("running-dry", event="eased")) == "eased"
    worse = event("running-dry", event="worsened")
    assert reason(garden, worse, before(("running-dry", 6 * DAY))) == "told-lately"
    assert reason(garden, worse, before(("running-dry", 7 * DAY))) == "told"


def test_what_was_told_while_the_clock_was_ahead_hinders_nothing(garden: Garden) -> None:
    ahead = before(("sensor-silent", -900 * DAY), ("running-dry", -900 * DAY))
    assert reason(garden, event("sensor-silent"), ahead) == "told"


# --- Stories: what is in the outbox when ---------------------------------------------------------


def happen(garden: Garden, store: Store, now: datetime, *events: NoticeEvent) -> None:
    with store.transaction():
        record_events(garden, store, events, now, mails=True)
    put_digests(garden, store, now)


def subjects(store: Store, now: datetime) -> list[str]:
    """Return the subjects that came into the outbox, and take them out."""
    found = []
    for item in store.outbox.due(now):
        found.append(str(message_from_bytes(item.message)["Subject"]))
        store.outbox.delivered(item.id, now)
    return found


def why(garden: Garden, now: datetime) -> list[tuple[str, str]]:
    return [(one["notice"], one["reason"]) for one in decisions_report(garden, now)]


def answer(garden: Garden, store: Store, at: datetime, notice: str, said: str, **more: str) -> None:
    raw = {"kind": "answered", "notice": notice, "answer": said, "at": at, **more}
    store.journal.append(parse_entry(raw, garden, at, []), at)


def test_several_that_come_together_are_one_message(garden: Garden, store: Store) -> None:
    leak, silent = event("leak", severity="Severe"), event("sensor-silent")
    happen(garden, store, NOW, silent, leak, event("chore"))
    assert subjects(store, NOW) == ["About leak, and 1 more"]
    put_digests(garden, store, NOW + HOUR)
    assert subjects(store, NOW + HOUR) == []
    assert why(garden, NOW) == [
        ("chore/it", "letter-only"),
        ("leak/it", "told"),
        ("sensor-silent/it", "told"),
    ]


def test_what_is_over_by_the_morning_was_never_told(garden: Garden, store: Store) -> None:
    night = datetime(2031, 6, 6, 22, 30, tzinfo=UTC)
    happen(garden, store, night, event("sensor-silent", at=night), event("vessel-ready", at=night))
    assert subjects(store, night) == []
    later = night + 3 * HOUR
    happen(garden, store, later, event("sensor-silent", at=later, event="cleared", urgency="Past"))
    morning = datetime(2031, 6, 7, 6, 0, tzinfo=UTC)
    put_digests(garden, store, morning)
    assert subjects(store, morning) == ["About vessel-ready"]
    assert ("sensor-silent/it", "over") in why(garden, morning)


def test_no_more_of_these_until_it_changes(garden: Garden, store: Store) -> None:
    id_ = "shortfall-ahead/it"
    happen(garden, store, NOW, event("shortfall-ahead"))
    assert len(subjects(store, NOW)) == 1
    answer(garden, store, NOW + HOUR, id_, "no-more")
    assert unanswered(store.notices.standing(), answers_now(store, NOW + HOUR), NOW.date()) == []
    for days, what in ((20, "cleared"), (30, "raised")):
        at = NOW + days * DAY
        happen(garden, store, at, event("shortfall-ahead", at=at, event=what))
        assert subjects(store, at) == []
    assert why(garden, NOW + 31 * DAY)[0] == (id_, "no-more")
    at = NOW + 40 * DAY
    happen(garden, store, at, event("shortfall-ahead", at=at, event="changed"))
    assert subjects(store, at) == ["About shortfall-ahead"]


def test_what_is_put_off_comes_again_on_its_day(garden: Garden, store: Store) -> None:
    happen(garden, store, NOW, event("downpipe-blocked"))
    assert len(subjects(store, NOW)) == 1
    answer(garden, store, NOW + HOUR, "downpipe-blocked/it", "later", until="2031-06-20")
    told = []
    for days in range(1, 30):
        at = NOW + days * DAY
        happen(garden, store, at, *reminders(garden, store, store.notices.standing(), at))
        told += [(days, subject) for subject in subjects(store, at)]
    assert told == [(14, "About downpipe-blocked")]


def test_a_leak_is_told_again_each_week_until_it_is_seen(garden: Garden, store: Store) -> None:
    happen(garden, store, NOW, event("leak"), event("running-dry"))
    told = []
    for days in range(1, 30):
        at = NOW + days * DAY
        if days == 16:
            answer(garden, store, at, "leak/it", "seen")
        happen(garden, store, at, *reminders(garden, store, store.notices.standing(), at))
        told += [days for _ in subjects(store, at)]
    assert told == [1, 7, 14]


def test_a_restart_between_decision_and_message_loses_and_doubles_nothing(
    garden: Garden, store: Store
) -> None:
    with store.transaction():
        record_events(garden, store, [event("leak")], NOW, mails=True)
    with open_store(garden_store_url(garden), garden) as again:
        put_digests(garden, again, NOW + HOUR)
        put_digests(garden, again, NOW + HOUR)
        assert subjects(again, NOW + HOUR) == ["About leak"]


def test_what_waits_by_a_clock_that_was_ahead_is_told_when_it_is_set_right(
    garden: Garden, store: Store
) -> None:
    years_on = datetime(2035, 6, 6, 23, 0, tzinfo=UTC)
    with store.transaction():
        record_events(garden, store, [event("sensor-silent", at=years_on)], years_on, mails=True)
    put_digests(garden, store, years_on)
    assert subjects(store, years_on) == []
    put_digests(garden, store, NOW)
    (item,) = store.outbox.due(NOW)
    store.outbox.failed(item.id, "no mail server", years_on)
    assert subjects(store, NOW) == ["About sensor-silent"]
    put_digests(garden, store, years_on + DAY)
    assert subjects(store, years_on + DAY) == []


def test_a_person_who_is_no_more_in_the_garden_file_is_not_told(
    garden: Garden, store: Store, garden_raw: dict[str, Any], tmp_path: Path
) -> None:
    with store.transaction():
        record_events(garden, store, [event("leak")], NOW, mails=True)
    garden_raw["told"]["people"] = [person_raw("kim")]
    put_digests(garden_from(garden_raw, path=tmp_path / "garden.toml"), store, NOW)
    assert subjects(store, NOW) == []
    assert why(garden, NOW) == [("leak/it", "no-way")]


@pytest.mark.parametrize("people", [[person_raw(ways=["file:push", "mail"])]])
def test_a_push_holds_headline_and_text_and_no_address(garden: Garden, store: Store) -> None:
    happen(garden, store, NOW, event("leak"))
    text = "So many litres. Do this. Then it is over."
    (item,) = store.outbox.due(NOW)
    assert (item.way, item.to) == ("file:push", "robin")
    assert json.loads(item.message) == {"title": "About leak", "body": text}
    store.outbox.delivered(item.id, NOW)
    happen(garden, store, NOW, event("sensor-silent"), event("frost-tonight", severity="Severe"))
    (item,) = store.outbox.due(NOW)
    assert json.loads(item.message) == {
        "title": "About frost-tonight, and 1 more",
        "body": f"About frost-tonight\n{text}\n\nAbout sensor-silent\n{text}",
    }


def test_status_says_why(garden: Garden, store: Store) -> None:
    happen(garden, store, NOW, event("leak"), event("chore"))
    screen = decisions_screen({"decisions": decisions_report(garden, NOW)})
    assert "leak/it raised (found for the first time), for robin: told" in screen
    assert "chore/it raised (found for the first time), for robin: is for the letter" in screen
    assert decisions_screen({"decisions": []}) == "Nothing was to be told so far."
