from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steepwell.tell import wording
from steepwell.tell.templating import LINE, para
from steepwell.words import figures

names = st.text("abcdefgh ", min_size=1).filter(str.strip)
days = st.dates(date(2025, 1, 1), date(2045, 12, 31))


@pytest.mark.parametrize(
    ("amount_l", "told"),
    [
        (0.0, "0 L"),
        (-0.01, "0 L"),
        (-0.4, "-0.4 L"),
        (4.5, "4.5 L"),
        (8.0, "8 L"),
        (9.96, "10 L"),
        (47.4, "47 L"),
        (314.0, "310 L"),
        (996.0, "1,000 L"),
        (1449.0, "1,400 L"),
    ],
)
def test_litres_are_told_to_two_figures(amount_l: float, told: str) -> None:
    assert figures.litres(amount_l) == told


@given(st.floats(10, 1e6))
def test_two_figures_are_never_more_than_a_twentieth_off(amount_l: float) -> None:
    told = float(figures.litres(amount_l).removesuffix(" L").replace(",", ""))
    assert told == pytest.approx(amount_l, rel=0.05)
    assert len(f"{told:.0f}".rstrip("0")) <= 2


@given(st.floats(0, 1e5), st.floats(0, 1e5))
def test_more_water_is_never_told_as_less(one_l: float, other_l: float) -> None:
    less, more = sorted((one_l, other_l))
    told = [
        float(figures.litres(each).removesuffix(" L").replace(",", "")) for each in (less, more)
    ]
    assert told[0] <= told[1]


@pytest.mark.parametrize(
    ("amount_l", "capacity_l", "told"),
    [
        (314, 630, "310 of 630 L"),
        (1040, 2050, "1,000 of 2,050 L"),
        (0, 420, "0 of 420 L"),
        (225, 225, "225 of 225 L"),
        (226, 225, "225 of 225 L"),
    ],
)
def test_a_full_butt_is_told_as_full(amount_l: float, capacity_l: float, told: str) -> None:
    assert wording.in_hand(amount_l, capacity_l) == told


@pytest.mark.parametrize(
    ("count", "told"),
    [(0.5, "half a can"), (1, "1 can"), (1.5, "1½ cans"), (2, "2 cans"), (2.5, "2½ cans")],
)
def test_cans_come_in_halves(count: float, told: str) -> None:
    assert wording.cans(count) == told


@pytest.mark.parametrize(
    ("feed_ml", "said", "in_spoons", "told"),
    [
        (30, "2 tablespoons", True, "2 tablespoons (30 mL)"),
        (2.5, "half a teaspoon", True, "half a teaspoon (2.5 mL)"),
        # Half a millilitre is false precision beside spoons, and less is the safe side.
        (
            32.5,
            "2 tablespoons and half a teaspoon",
            True,
            "2 tablespoons and half a teaspoon (32 mL)",
        ),
        (30, "2 Esslöffel", True, "2 Esslöffel (30 mL)"),
        (290, "290 mL", False, "290 mL"),
        (290, None, False, "290 mL"),
        (4, "4 mL", False, "4 mL"),
        (10, "2 teaspoons in two cans together", False, "2 teaspoons in two cans together"),
    ],
)
def test_feed_is_told_as_it_is_measured(
    feed_ml: float, said: str | None, told: str, *, in_spoons: bool
) -> None:
    assert wording.feed_measure(feed_ml, said, in_spoons=in_spoons) == told


@pytest.mark.parametrize(
    ("first", "last", "told"),
    [
        (date(2031, 7, 9), date(2031, 7, 9), "9 July"),
        (date(2031, 7, 18), date(2031, 8, 8), "18 July to 8 August"),
        (date(2031, 6, 2), date(2031, 6, 8), "2 to 8 June"),
        (date(2031, 12, 30), date(2032, 1, 2), "30 December to 2 January"),
    ],
)
def test_a_range_names_a_month_once_where_it_can(first: date, last: date, told: str) -> None:
    assert wording.day_range(first, last) == told


@given(days)
def test_days_are_told_as_the_calendar_names_them(when: date) -> None:
    # strftime in the C locale, which the program never leaves, is the outside word on names.
    assert figures.weekday(when) == f"{when:%A} {when.day} {when:%B}"
    assert figures.short_day(when) == f"{when.day} {when:%b}"


@pytest.mark.parametrize(
    ("offsets", "told"),
    [
        ([1], "Tuesday 3 June"),
        ([4, 1], "Tuesday 3 and Friday 6 June"),
        ([0, 2, 4], "Monday 2, Wednesday 4 and Friday 6 June"),
        ([28, 30], "Monday 30 June and Wednesday 2 July"),
        ([0, 1, 2, 3, 4, 5, 6], "every day"),
        ([], ""),
    ],
)
def test_days_of_a_week_are_listed_with_their_names(offsets: list[int], told: str) -> None:
    monday = date(2031, 6, 2)
    assert wording.days_listed([monday + timedelta(days=each) for each in offsets]) == told


@given(st.lists(names))
def test_a_joined_list_says_every_word_in_order(words: list[str]) -> None:
    assert figures.joined(words).replace(" and ", ", ").split(", ") == (words or [""])


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["beans"], "beans"),
        (["beans", "peas"], "beans and peas"),
        (["beans", "peas", "leeks"], "beans and 2 more"),
    ],
)
def test_a_long_list_is_counted_at_its_end(words: list[str], told: str) -> None:
    assert wording.joined_in_short(words, 2) == told


@pytest.mark.parametrize(
    ("told", "wanted"),
    [
        (wording.the_butt("north"), "the north butt"),
        (wording.the_butt("butt-1"), "butt 1"),
        (wording.the_vessel("leek"), "the leek vessel"),
        (wording.the_vessel("blue-barrel"), "the blue barrel"),
        (wording.the_roof("shed"), "the shed roof"),
        (wording.named("long-bed", "in flower"), "Long bed: in flower."),
        (wording.named("onions", "ripening: leave them"), "Onions. Ripening: leave them."),
        (wording.sentence("  look first.  "), "Look first."),
        (wording.sentence(""), ""),
    ],
)
def test_names_of_the_garden_file_become_words(told: str, wanted: str) -> None:
    assert told == wanted


@given(st.text("ab1 LmJuly,", min_size=1))
def test_tying_changes_nothing_but_spaces(text: str) -> None:
    assert wording.tied(text).replace("\u00a0", " ") == text


def test_a_number_is_tied_to_what_it_counts() -> None:
    assert wording.tied("to 22 July, 310 L") == "to 22\u00a0July, 310\u00a0L"
    assert wording.tied("about 70 % of it") == "about 70\u00a0% of it"


@given(st.lists(st.text("abc", min_size=1, max_size=30), min_size=1), st.sampled_from(["", "- "]))
def test_a_paragraph_keeps_its_words_and_its_width(words: list[str], first: str) -> None:
    lines = para(" ".join(words), first).split("\n")
    assert all(len(line) <= LINE for line in lines)
    assert "\n".join(lines).removeprefix(first).split() == words


def test_a_paragraph_breaks_no_date_apart() -> None:
    lines = para(f"{'a' * (LINE - 3)} 8 August").split("\n")
    assert lines == ["a" * (LINE - 3), "8 August"]
