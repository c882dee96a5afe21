"""The page in a real browser: on a phone and a wide screen, by day and by night, and its forms."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from tests.page.browser import CHROMIUM, Browser
from tests.page.conftest import NOW

from steepwell.garden.site import Page
from steepwell.page.app import page_app
from steepwell.page.server import PageServer
from steepwell.tell.charts import water_ahead_svg

if TYPE_CHECKING:
    from collections.abc import Iterator

    from steepwell.clock import ReplayClock
    from steepwell.garden.garden import Garden
    from steepwell.page.desk import Ask
    from steepwell.store.store import Store

pytestmark = [
    pytest.mark.chromium,
    pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed"),
    pytest.mark.usefixtures("worked_out"),
]

Json = dict[str, Any]

# `tests/run` has npm put it there; it is no part of this project, and its checks need it.
AXE = Path(__file__).parents[2] / ".cache/axe/node_modules/axe-core/axe.min.js"
LEVELS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
PATHS = ("/", "/bed/leeks", "/vessel/leek", "/butt/north", "/garden", "/journal")


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    browser = Browser(tmp_path_factory.mktemp("browser"))
    yield browser
    browser.close()


@pytest.fixture
def home(
    garden: Garden, store: Store, clock: ReplayClock, ask: Ask, outlook: Json
) -> Iterator[str]:
    beside = store.results.latest("page", NOW)
    drawn = water_ahead_svg(outlook, dry_line_l=9.0).decode()
    store.results.save("page", NOW, {**(beside or {}), "water_ahead": drawn})
    settings = Page.model_construct(port=0)
    server = PageServer(page_app(garden, settings, store, clock, ask), settings)
    server.start()
    yield f"http://localhost:{server.port}"
    server.stop()


def test_nothing_is_wider_than_the_screen_and_the_browser_has_nothing_to_complain_of(
    browser: Browser, home: str
) -> None:
    for width in (360, 1280):
        for path in PATHS:
            browser.hold(width, dark=False)
            browser.look_at(home + path)
            assert browser.run("document.documentElement.scrollWidth") <= width
            assert browser.complaints() == []
    small = browser.run("[...document.images].filter(i => !i.naturalWidth).length")
    assert small == 0


def test_what_is_to_be_tapped_is_large_enough_for_a_thumb(browser: Browser, home: str) -> None:
    browser.hold(360, dark=False)
    for path in PATHS:
        browser.look_at(home + path)
        low = browser.run(
            "[...document.querySelectorAll('button, summary, select, input:not([type=hidden])"
            ":not([type=checkbox]), nav a, .ledger a')].map(e => [e.textContent.trim(), "
            "e.getBoundingClientRect().height]).filter(([, height]) => height > 0 && height < 44)"
        )
        assert low == []


def test_by_night_ink_is_light_and_paper_dark(browser: Browser, home: str) -> None:
    bright = []
    for dark in (False, True):
        browser.hold(360, dark=dark)
        browser.look_at(home)
        colour = browser.run("getComputedStyle(document.body).backgroundColor")
        bright.append(sum(int(part) for part in colour[4:-1].split(",")) / 3)
    assert bright[0] > 200
    assert bright[1] < 60


def test_two_taps_note_a_picking_and_a_third_takes_it_back(
    browser: Browser, home: str, store: Store
) -> None:
    browser.hold(360, dark=False)
    browser.look_at(home)
    browser.press("a[href='/bed/leeks']")
    browser.press("form[action='/note/picking'] button")
    assert "is being picked" in browser.run("document.querySelector('.noted').textContent")
    assert [entry.kind for entry in store.journal.entries(NOW)] == ["picking"]
    browser.press("form[action='/note/corrected'] button")
    assert store.journal.entries(NOW) == []


def test_a_return_key_notes_what_stands_in_the_field(
    browser: Browser, home: str, store: Store
) -> None:
    browser.hold(360, dark=False)
    browser.look_at(f"{home}/bed/beans")
    browser.press_return_in("form[action='/note/watered'] input[name=litres]")
    (entry,) = store.journal.entries(NOW)
    assert (entry.kind, getattr(entry, "litres", None)) == ("watered", 22.5)


@pytest.mark.skipif(not AXE.is_file(), reason="axe-core is not there")
@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("width", [360, 1280])
def test_axe_finds_nothing_that_keeps_anybody_out(
    browser: Browser, home: str, width: int, *, dark: bool
) -> None:
    browser.call("Page.setBypassCSP", enabled=True)
    browser.hold(width, dark=dark)
    browser.look_at(home)
    job = browser.run("document.querySelector('a[href^=\"/done/\"]').getAttribute('href')")
    for path in (*PATHS, "/bed/nowhere", "/done/nothing", "/enter/nobody", job):
        browser.look_at(home + path)
        # Rules drawn behind words keep it from judging contrast; the paper alone does not.
        browser.run("document.body.style.backgroundImage = 'none'")
        browser.run(f"{AXE.read_text(encoding='utf-8')};0")
        found = browser.run(
            f"axe.run(document, {{runOnly: {LEVELS}}}).then(r => [...r.violations, "
            "...r.incomplete].map(v => [v.id, v.nodes.map(n => n.html)]))"
        )
        assert found == []
    browser.call("Page.setBypassCSP", enabled=False)
