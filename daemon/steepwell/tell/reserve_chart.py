"""The picture of the feed in hand: how far each vessel is thinned over the year ahead.

Matplotlib is imported only when a picture is drawn.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from steepwell.tell.charts import FONT_PT, INK, QUIET, as_png, empty_picture
from steepwell.tell.units import in_units
from steepwell.tell.wording import vessel_named
from steepwell.words.figures import litres, short_day
from steepwell.words.saying import say, say_count

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from steepwell.tell.units import Units

YEAR_D = 365
BAR = 0.44
WORDS_ABOVE = 0.38
# A shorter span has room for the parts alone, in small, and one still shorter for nothing.
FIGURE_ROOM_D, PARTS_ROOM_D = 38, 17
SMALL_PT = 12.0
# Thick feed is dark, thin feed pale; light enough below for dark words.
DARKEST, PALEST, WHITE_FROM = 0.36, 0.90, 0.62
MONTHS_APART = 2
# A date so near an end would stick out of the picture.
EDGE_D = 16
NOTHING_Y = 0.5

Json = dict[str, Any]


def reserve_png(document: Json, units: Units = "metric") -> bytes:
    """Draw a row for each vessel: how far its feed is thinned, month by month.

    Parameters
    ----------
    document
        The feeds of the year ahead.
    units
        In which amounts are told.

    Returns
    -------
    bytes
        A PNG of 1280 by 720 pixels, to be shown at half that; the same for the same document.
    """
    figure, axes = empty_picture((0.03, 0.13, 0.94, 0.85))
    today = date.fromisoformat(document["issued"][:10])
    ladder = sorted(
        {
            step["dilution_parts"]
            for year in document["year"]
            for step in year["steps"]
            if step["dilution_parts"] is not None
        }
    )
    for row, year in enumerate(document["year"]):
        _draw_row(axes, row, year, today, ladder)
        _name_row(axes, row, in_units(_said(year), units), year["vessel"])
    if not document["year"]:
        axes.text(
            YEAR_D / 2,
            NOTHING_Y,
            say("reserve-chart.nothing"),
            ha="center",
            fontsize=FONT_PT,
            color=INK,
        )
    _draw_frame(axes, max(len(document["year"]), 1), today)
    return as_png(figure)


def _draw_row(axes: Axes, row: int, year: Json, today: date, ladder: list[int]) -> None:
    steps = year["steps"]
    starts = [(date.fromisoformat(step["from"]) - today).days for step in steps]
    for step, begin, end in zip(steps, starts, [*starts[1:], YEAR_D], strict=True):
        parts = step["dilution_parts"]
        grey = _grey(parts, ladder)
        axes.barh(
            row,
            end - begin,
            left=begin,
            height=BAR,
            color="white" if parts is None else str(grey),
            edgecolor=QUIET if parts is None else "white",
            linewidth=1.2,
            hatch="///" if parts is None else None,
        )
        if parts is not None and end - begin >= PARTS_ROOM_D:
            roomy = end - begin >= FIGURE_ROOM_D
            axes.text(
                (begin + end) / 2,
                row,
                f"1:{parts}" if roomy else f"{parts}",
                ha="center",
                va="center",
                fontsize=FONT_PT if roomy else SMALL_PT,
                color="white" if grey < WHITE_FROM else INK,
            )


def _name_row(axes: Axes, row: int, said: str, vessel: str) -> None:
    words = say("reserve-chart.row", vessel=vessel_named(vessel), said=said)
    axes.text(0, row - WORDS_ABOVE, words, fontsize=FONT_PT, color=INK, va="center")


def _said(year: Json) -> str:
    now, last = year["steps"][0], year["steps"][-1]
    left = litres(year["litres"])
    if now["dilution_parts"] is not None:
        cans = now["cans"]
        return say_count(
            "reserve-chart.cans", cans, litres=left, now=f"{cans:,}", then=f"{last['cans']:,}"
        )
    if last["dilution_parts"] is None:
        return say("reserve-chart.not-known", litres=left)
    ready = date.fromisoformat(year["steps"][1]["from"])
    return say("reserve-chart.ready", litres=left, day=short_day(ready))


def _grey(parts: int | None, ladder: list[int]) -> float:
    if parts is None or len(ladder) == 1:
        return PALEST
    return DARKEST + (PALEST - DARKEST) * ladder.index(parts) / (len(ladder) - 1)


def _draw_frame(axes: Axes, rows: int, today: date) -> None:
    axes.set_xlim(0, YEAR_D)
    axes.set_ylim(rows - 1 + 0.5, -0.7)
    days = [today + timedelta(days=each) for each in range(YEAR_D)]
    inside = range(EDGE_D, YEAR_D - EDGE_D)
    firsts = [at for at in inside if days[at].day == 1][::MONTHS_APART]
    axes.set_xticks(firsts, [short_day(days[at]) for at in firsts])
    axes.set_yticks([])
    axes.tick_params(labelsize=FONT_PT, colors=QUIET, length=5)
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.spines["bottom"].set_color(QUIET)
