"""Every kind of journal entry by two taps: the name of a thing, then a button."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient
from tests.gardens import note
from tests.page.conftest import HERE, HOME, NOW
from tests.page.visitor import Seen, forms_on, parsed, send

from steepwell.errors import WorkerError
from steepwell.garden.load import garden_from
from steepwell.page.fields import MODELS, fields_of
from steepwell.page.forms import ELSEWHERE
from steepwell.page.guard import HEADERS

if TYPE_CHECKING:
    from pathlib import Path

    from steepwell.clock import ReplayClock
    from steepwell.garden.garden import Garden
    from steepwell.page.desk import Ask
    from steepwell.store.entries import Entry
    from steepwell.store.store import Store

    Json = dict[str, Any]
    Case = tuple[str, str, dict[str, str], Json]

BEFORE, LATER = NOW - timedelta(days=20), NOW + timedelta(days=2)


@pytest.fixture
def lived(garden: Garden, store: Store, worked_out: None) -> None:  # noqa: ARG001 - first that
    """Have the leek vessel steep for some weeks, and some of it drawn off."""
    note(store, garden, BEFORE, "steep-started", vessel="leek", matter=[{"plant": "leek"}])
    note(store, garden, BEFORE + timedelta(days=1), "drawn-off", vessel="leek", litres=3.0)


def form_for(page: TestClient, path: str, kind: str) -> Seen:
    return next(f for f in forms_on(page.get(path).text) if f.action == f"/note/{kind}")


def newest(store: Store) -> Entry:
    return max(store.journal.entries(LATER), key=lambda entry: entry.id or 0)


@pytest.mark.parametrize("named", [False, True])
def test_a_helper_is_asked_for_where_one_can_be_named(
    raw: Json, tmp_path: Path, *, named: bool
) -> None:
    if named:
        raw["told"]["people"] += [{"name": "wren", "role": "helper", "mail": "wren@example.org"}]
    garden = garden_from(raw, path=tmp_path / "garden.toml")
    asked = {field.name: field for field in fields_of("away", garden, {}, {})}
    assert ("helper" in asked) is named
    if named:
        assert asked["helper"].options == (("", "nobody"), ("wren", "wren"))


def test_how_a_helper_can_be_named_is_said(page: TestClient) -> None:
    assert "[[told.people]]" in page.get("/garden").text


# What each form has to be told beside what stands in it; the vessel named leek holds a steep.
FILLED_IN: list[Case] = [
    ("/bed/beans", "watered", {}, {"litres": 22.5, "butt": "north"}),
    ("/bed/beans", "watered", {"litres": "2 cans", "butt": ""}, {"litres": 18.0, "butt": None}),
    ("/bed/beans", "watered", {"litres": "7,5"}, {"litres": 7.5}),
    ("/bed/leeks", "fed", {}, {"vessel": "leek", "feed_ml": 30.0, "cans": 1.0}),
    ("/bed/leeks", "picking", {}, {"bed": "leeks"}),
    ("/bed/leeks", "looks-hungry", {}, {"bed": "leeks"}),
    ("/bed/leeks", "planted", {"crop": "leek"}, {"crop": "leek", "transplanted": False}),
    ("/bed/leeks", "planted", {"crop": "leek", "transplanted": "yes"}, {"transplanted": True}),
    ("/bed/leeks", "cleared", {}, {"healthy": True}),
    ("/bed/leeks", "mulched", {}, {"depth_mm": 25.0, "cover": 1.0}),
    ("/bed/leeks", "sickness-seen", {"sickness": "blight"}, {"bed": "leeks", "vessel": None}),
    (
        "/vessel/comfrey",
        "steep-started",
        {"plants": "Nettle, comfrey", "buckets": "2", "loose": "yes"},
        {"vessel": "comfrey", "water_l": 14.0},
    ),
    ("/vessel/leek", "drawn-off", {"litres": "1"}, {"litres": 1.0}),
    ("/vessel/leek", "topped-up", {"litres": "1 L"}, {"litres": 1.0, "matter": ()}),
    ("/vessel/leek", "ready-confirmed", {}, {"vessel": "leek"}),
    ("/vessel/leek", "decanted", {"litres": "2", "into": "jug"}, {"into": "jug"}),
    ("/vessel/leek", "too-strong", {}, {"vessel": "leek"}),
    ("/vessel/leek", "vessel-emptied", {}, {"vessel": "leek"}),
    ("/vessel/leek", "temperature-read", {"celsius": "-1.5"}, {"place": "leek", "celsius": -1.5}),
    ("/vessel/leek", "conductivity-measured", {"ds_m": "4"}, {"ds_m": 4.0}),
    ("/vessel/leek", "bean-test", {}, {"outcome": "healthy"}),
    ("/vessel/leek", "sickness-seen", {}, {"vessel": "leek", "bed": None}),
    ("/butt/north", "level-read", {"text": "120 L"}, {"litres": 120.0, "rough": False}),
    ("/butt/north", "tap-water-added", {"litres": "20"}, {"butt": "north"}),
    ("/butt/north", "not-watered", {}, {"butt": "north"}),
    ("/butt/north", "butt-emptied", {}, {"butt": "north"}),
    ("/butt/north", "filled-to", {"depth_mm": "0", "cans": "1"}, {"litres": 9.0}),
    ("/garden", "rain-read", {"mm": "4"}, {"mm": 4.0}),
    ("/garden", "temperature-read", {"celsius": "14"}, {"place": "air"}),
    ("/garden", "not-watered", {}, {"butt": None}),
    ("/garden", "restriction", {"bars": "hose"}, {"bars": ("hose",), "last": None}),
    ("/garden", "away", {"to": "2031-06-12"}, {"helper": None}),
    ("/garden", "put-to-bed", {}, {}),
]


@pytest.mark.usefixtures("lived")
@pytest.mark.parametrize("case", FILLED_IN)
def test_two_taps_write_an_entry_and_a_third_takes_it_back(
    page: TestClient, store: Store, case: Case
) -> None:
    path, kind, words, noted = case
    if path != "/garden":
        assert f'href="{path}"' in page.get("/").text
    answer = send(page, form_for(page, path, kind).filled(**words))
    assert answer.status_code == 303
    entry = newest(store)
    assert (entry.kind, entry.at) == (kind, NOW)
    assert {key: getattr(entry, key) for key in noted} == noted

    front = page.get(answer.headers["Location"]).text
    undo = next(f for f in forms_on(front) if f.action == "/note/corrected")
    assert undo.value("withdraws") == str(entry.id)
    assert send(page, undo).status_code == 303
    assert entry.id not in {each.id for each in store.journal.entries(LATER)}


@pytest.mark.usefixtures("lived")
@pytest.mark.parametrize(
    "path",
    ["/", "/bed/beans", "/vessel/leek", "/vessel/comfrey", "/butt/north", "/garden", "/journal"],
)
def test_every_page_is_sound_by_the_rules_of_html(page: TestClient, path: str) -> None:
    answer = page.get(path)
    assert answer.status_code == 200
    parsed(answer.text)
    # With pictures at most 100 kB; the picture of the water ahead has some 25 of them.
    assert len(answer.content) < 60_000


def test_every_kind_of_entry_has_a_form() -> None:
    tried = {kind for _, kind, _, _ in FILLED_IN}
    # "woken" is asked only of a garden that rests.
    assert {*tried, "woken", *ELSEWHERE} == set(MODELS)


@pytest.mark.usefixtures("lived")
def test_a_garden_that_rests_is_woken(page: TestClient, store: Store, clock: ReplayClock) -> None:
    send(page, form_for(page, "/garden", "put-to-bed"))
    clock.set(NOW + timedelta(days=1))
    assert send(page, form_for(page, "/garden", "woken")).status_code == 303
    assert newest(store).kind == "woken"


@pytest.mark.usefixtures("lived")
@pytest.mark.parametrize(
    "case",
    [
        ("/bed/beans", "watered", ("litres", "18 L"), {"litres": 18.0}),
        ("/butt/north", "level-read", ("text", "half"), {"litres": 105.0, "rough": True}),
        ("/garden", "rain-read", ("mm", "10 mm"), {"mm": 10.0}),
        ("/garden", "temperature-read", ("celsius", "15 °C"), {"celsius": 15.0}),
    ],
)
def test_a_button_that_says_how_much_needs_nothing_filled_in(
    page: TestClient, store: Store, case: tuple[str, str, tuple[str, str], Json]
) -> None:
    path, kind, button, noted = case
    form = form_for(page, path, kind)
    assert button in form.buttons
    # A return key presses the first button, which must not be one of these.
    assert form.buttons[0] == ("", "")
    assert send(page, form, button).status_code == 303
    entry = newest(store)
    assert {key: getattr(entry, key) for key in noted} == noted


# NIST Handbook 44 (2023), appendix C: 4.54609 and 3.785411784 litres a gallon, 29.5735 mL a fluid
# ounce of the United States, 25.4 mm an inch.
UNITS: list[tuple[str, Case]] = [
    ("imperial", ("/bed/beans", "watered", {"litres": "2"}, {"litres": 9.09218})),
    ("us", ("/bed/beans", "watered", {"litres": "2"}, {"litres": 7.570823568})),
    ("us", ("/bed/beans", "watered", {"litres": "2 gal"}, {"litres": 7.570823568})),
    ("us", ("/bed/beans", "watered", {"litres": "9 L"}, {"litres": 9.0})),
    # What stands in the form is 22.5 L to three figures.
    ("imperial", ("/bed/beans", "watered", {}, {"litres": 4.95 * 4.54609})),
    ("us", ("/bed/leeks", "fed", {}, {"feed_ml": 1.01 * 29.5735295625})),
    ("us", ("/bed/leeks", "mulched", {"depth_mm": "2"}, {"depth_mm": 50.8})),
    ("imperial", ("/garden", "rain-read", {"mm": "0.25"}, {"mm": 6.35})),
    ("us", ("/garden", "temperature-read", {"celsius": "14"}, {"celsius": -10.0})),
]


class TestUnits:
    """The gardener reads and writes in units of his own, and the journal holds litres."""

    @pytest.fixture
    def raw(self, raw: Json, request: pytest.FixtureRequest) -> Json:
        raw["garden"]["units"] = request.param
        return raw

    @pytest.mark.usefixtures("lived")
    @pytest.mark.parametrize(("raw", "case"), UNITS, indirect=["raw"])
    def test_an_amount_is_meant_in_the_unit_beside_it(
        self, page: TestClient, store: Store, case: Case
    ) -> None:
        path, kind, words, noted = case
        assert send(page, form_for(page, path, kind).filled(**words)).status_code == 303
        entry = newest(store)
        for key, amount in noted.items():
            assert getattr(entry, key) == pytest.approx(amount)

    @pytest.mark.usefixtures("lived")
    @pytest.mark.parametrize("raw", ["us"], indirect=True)
    def test_a_button_of_inches_notes_inches(self, page: TestClient, store: Store) -> None:
        form = form_for(page, "/garden", "rain-read")
        send(page, form, ("mm", "0.1 in"))
        assert getattr(newest(store), "mm") == pytest.approx(2.54)  # noqa: B009 - of one kind

    @pytest.mark.usefixtures("lived")
    @pytest.mark.parametrize("raw", ["us"], indirect=True)
    def test_a_button_of_degrees_notes_the_same_warmth(
        self, page: TestClient, store: Store
    ) -> None:
        form = form_for(page, "/garden", "temperature-read")
        send(page, form, ("celsius", "50 °F"))
        assert getattr(newest(store), "celsius") == pytest.approx(10.0)  # noqa: B009 - of one kind


@pytest.mark.usefixtures("lived")
def test_a_second_tap_on_the_same_form_writes_nothing(page: TestClient, store: Store) -> None:
    form = form_for(page, "/bed/beans", "watered")
    first, second = send(page, form), send(page, form)
    assert first.headers["Location"] == second.headers["Location"]
    assert [e.kind for e in store.journal.entries(LATER)].count("watered") == 1


@pytest.mark.usefixtures("lived")
def test_what_was_done_before_is_noted_in_the_gardens_own_time(
    page: TestClient, store: Store
) -> None:
    # In June London is an hour ahead of UTC.
    form = form_for(page, "/bed/beans", "watered").filled(at="2031-06-05T19:30")
    assert send(page, form).status_code == 303
    assert newest(store).at == datetime.fromisoformat("2031-06-05T18:30+00:00")


@pytest.mark.usefixtures("lived")
@pytest.mark.parametrize(
    "case",
    [
        ("/bed/beans", "watered", {"litres": "a lot"}, "a volume is a number and a unit"),
        ("/bed/beans", "watered", {"litres": ""}, "How much: that is not filled in yet"),
        ("/bed/beans", "watered", {"litres": "nan"}, "a volume is a number and a unit"),
        ("/bed/beans", "watered", {"at": "soon"}, "is no time"),
        ("/bed/beans", "watered", {"at": "2031-07-01T10:00"}, "is in the future"),
        ("/butt/north", "level-read", {"text": "400 L"}, "above the top"),
        ("/vessel/leek", "drawn-off", {"litres": "300"}, "leek"),
        (
            "/vessel/comfrey",
            "steep-started",
            {"plants": ""},
            "Plants, such as leek, nettle: that is not",
        ),
        ("/garden", "restriction", {}, "What is barred: that is not"),
        ("/garden", "away", {"from": "2031-06-09", "to": "2031-06-01"}, "is before"),
    ],
)
def test_what_cannot_be_is_said_above_the_form_which_keeps_its_words(
    page: TestClient, store: Store, case: tuple[str, str, dict[str, str], str]
) -> None:
    path, kind, words, said = case
    before = len(store.journal.entries(NOW))
    answer = send(page, form_for(page, path, kind).filled(**words))
    assert answer.status_code == 422
    page_again = parsed(answer.text)
    alerts = [e for e in page_again.iter() if e.get("role") == "alert"]
    assert len(alerts) == 1
    assert said in "".join(alerts[0].itertext())
    again = next(f for f in forms_on(answer.text) if f.action == f"/note/{kind}")
    assert all(again.value(name) == value for name, value in words.items() if value)
    assert len(store.journal.entries(NOW)) == before


class TestFeeding:
    """Whether a bed may be fed is found out by the worker, as for the command."""

    @pytest.fixture
    def ask(self, request: pytest.FixtureRequest) -> Ask:
        def ask(task: str, now: datetime, **more: object) -> Json:
            assert (task, now) == ("may-be-fed", NOW)
            assert isinstance(more["entry"], dict)
            if request.param is None:
                raise WorkerError("the worker took longer than 20 s")
            return {"refused": request.param}

        return ask

    @pytest.mark.usefixtures("lived")
    @pytest.mark.parametrize(
        ("ask", "said"),
        [("the leek vessel is locked", "leek vessel is locked"), (None, "took longer")],
        indirect=["ask"],
    )
    def test_what_the_worker_says_no_to_is_not_noted(
        self, page: TestClient, store: Store, said: str
    ) -> None:
        answer = send(page, form_for(page, "/bed/leeks", "fed"))
        assert answer.status_code == 422
        assert said in answer.text
        assert newest(store).kind == "drawn-off"


WORDS = st.text(st.characters(codec="utf-8", exclude_characters="\r\n"), max_size=100)


@pytest.mark.usefixtures("lived")
@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    kind=st.sampled_from(sorted(MODELS)),
    words=st.dictionaries(
        st.sampled_from(
            [
                "bed",
                "vessel",
                "butt",
                "place",
                "litres",
                "text",
                "plants",
                "at",
                "from",
                "withdraws",
                "sickness",
                "crop",
                "bars",
                "cans",
            ]
        ),
        WORDS,
        max_size=5,
    ),
)
def test_whatever_is_sent_the_answer_is_a_sound_page_or_an_entry(
    page: TestClient, kind: str, words: dict[str, str]
) -> None:
    form = forms_on(page.get("/bed/beans").text)[0]
    kept = [(name, value) for name, value in form.fields if name == "form_key"]
    answer = send(page, Seen(f"/note/{kind}", [*kept, *words.items()]))
    assert answer.status_code in {303, 404, 422}
    if answer.status_code != 303:
        parsed(answer.text)


@pytest.mark.usefixtures("lived")
@pytest.mark.parametrize("word", ["\x01", "\x7f", "\x9f", "\ufdd0", "\uffff", "\U0001ffff"])
def test_what_is_no_character_comes_back_on_no_page(page: TestClient, word: str) -> None:
    answer = send(page, form_for(page, "/bed/beans", "watered").filled(litres=f"{word}much"))
    assert answer.status_code == 422
    assert "much" in answer.text
    parsed(answer.text)


@pytest.mark.parametrize("path", ["/bed/nowhere", "/vessel/beans", "/shed/beans", "/bed/", "/x"])
def test_there_is_no_page_of_what_there_is_not(page: TestClient, path: str) -> None:
    answer = page.get(path)
    assert answer.status_code == 404
    parsed(answer.text)


class TestBroken:
    """A fault of ours is told in words, and guarded like every other answer."""

    @pytest.fixture
    def ask(self) -> Ask:
        def ask(task: str, now: datetime, **more: object) -> Json:
            raise RuntimeError(task, now, more)

        return ask

    @pytest.mark.usefixtures("lived")
    def test_a_fault_of_ours(self, page: TestClient) -> None:
        forgiving = TestClient(page.app, base_url=HOME, client=HERE, raise_server_exceptions=False)
        fine = forgiving.get("/")
        broken = send(forgiving, form_for(forgiving, "/bed/leeks", "fed"))
        assert broken.status_code == 500
        assert "RuntimeError" not in broken.text
        parsed(broken.text)
        assert {name: broken.headers[name] for name in HEADERS} == {
            name: fine.headers[name] for name in HEADERS
        }
