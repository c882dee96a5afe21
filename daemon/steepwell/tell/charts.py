"""The picture of the letter: the rainwater in the weeks ahead, as a fan.

Matplotlib is imported only when a picture is drawn; it is large, and only the worker draws.
"""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any, NamedTuple

from steepwell.tell.documents import Outlook
from steepwell.tell.units import gallons_a_litre, in_units, volume_word
from steepwell.words.figures import litres, short_day
from steepwell.words.saying import say

if TYPE_CHECKING:
    from datetime import date

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from steepwell.tell.units import Units

WIDTH_PX, HEIGHT_PX = 640, 360
PIXELS_AN_INCH = 100
TWICE = 2  # small screens show two of our pixels in the place of one
FONT_PT = 15.5
INK, QUIET, WARNING = "#1d2b27", "#55635e", "#8a3b12"
WIDE, NARROW, MIDDLE = "#cfe0ea", "#93bcd3", "#0f5c85"
PAPER, GRID = "#ffffff", "#e3e8e6"
MOST_DATES = 5
DAYS_A_WEEK = 7
FEWEST_MONTHS = 3
ROOM_ABOVE = 1.16
NEARLY_FULL = 0.8


class Fan(NamedTuple):
    """What is drawn: quantiles of the litres at the end of each day, after today's level."""

    days: list[date]
    now_l: float
    capacity_l: float
    p05: list[float]
    p25: list[float]
    p50: list[float]
    p75: list[float]
    p95: list[float]


def water_ahead_png(
    outlook: dict[str, Any],
    *,
    dry_line_l: float,
    below_taps_l: float = 0.0,
    units: Units = "metric",
) -> bytes:
    """Draw the rainwater in the weeks ahead for the letter.

    Parameters
    ----------
    outlook
        The outlook document.
    dry_line_l
        Water above the taps below which the garden counts as dry [L].
    below_taps_l
        What lies below the taps of all butts: it is no use, so it is not drawn [L].
    units
        In which amounts are told.

    Returns
    -------
    bytes
        A PNG of 1280 by 720 pixels, to be shown at half that; the same for the same outlook.

    Raises
    ------
    pydantic.ValidationError
        If the document is no outlook.
    """
    return as_png(_drawn(_fan(outlook, below_taps_l), dry_line_l, units))


def water_ahead_svg(
    outlook: dict[str, Any],
    *,
    dry_line_l: float,
    below_taps_l: float = 0.0,
    units: Units = "metric",
) -> bytes:
    """Draw the same picture as lines, for a page.

    Parameters
    ----------
    outlook
        The outlook document.
    dry_line_l, below_taps_l
        As for the PNG [L].
    units
        The same.

    Returns
    -------
    bytes
        An SVG whose words are text; the same for the same outlook.

    Raises
    ------
    pydantic.ValidationError
        If the document is no outlook.
    """
    import matplotlib as mpl  # noqa: PLC0415 - only the worker draws

    picture = io.BytesIO()
    with mpl.rc_context({"svg.hashsalt": "water-ahead", "svg.fonttype": "none"}):
        _drawn(_fan(outlook, below_taps_l), dry_line_l, units).savefig(
            picture, format="svg", metadata={"Date": None}
        )
    return picture.getvalue()


def _fan(outlook: dict[str, Any], below_taps_l: float) -> Fan:
    ahead = Outlook.model_validate(outlook)
    volume = ahead.water.volume_l
    quantiles = (volume.p05, volume.p25, volume.p50, volume.p75, volume.p95)
    return Fan(
        ahead.days,
        max(ahead.now_l - below_taps_l, 0.0),
        ahead.capacity_l - below_taps_l,
        *([max(each - below_taps_l, 0.0) for each in quantile] for quantile in quantiles),
    )


def empty_picture(within: tuple[float, float, float, float]) -> tuple[Figure, Axes]:
    """Return a white picture with nothing drawn on it yet.

    Parameters
    ----------
    within
        Left and lower edge, width and height of what is drawn on, as shares of the picture [-].

    Returns
    -------
    figure : Figure
        Fit for ``as_png``.
    axes : Axes
        What is drawn on.
    """
    from matplotlib.backends.backend_agg import (  # noqa: PLC0415 - only who draws needs it
        FigureCanvasAgg,
    )
    from matplotlib.figure import Figure  # noqa: PLC0415 - the same

    figure = Figure(figsize=(WIDTH_PX / PIXELS_AN_INCH, HEIGHT_PX / PIXELS_AN_INCH))
    FigureCanvasAgg(figure)
    figure.set_facecolor(PAPER)
    return figure, figure.add_axes(within)


def as_png(figure: Figure) -> bytes:
    """Return a picture as a PNG of 1280 by 720 pixels, the same for the same figure."""
    picture = io.BytesIO()
    figure.savefig(picture, format="png", dpi=PIXELS_AN_INCH * TWICE, metadata={"Software": None})
    return picture.getvalue()


def _drawn(fan: Fan, dry_line_l: float, units: Units) -> Figure:
    figure, axes = empty_picture((0.125, 0.135, 0.845, 0.845))
    _draw_fan(axes, fan, units)
    _draw_lines(axes, fan, dry_line_l, units)
    _draw_dates(axes, fan, dry_line_l, units)
    return figure


def _draw_fan(axes: Axes, fan: Fan, units: Units) -> None:
    # The level now stands at the start of the first day, every quantile at the end of its day.
    at = list(range(len(fan.days) + 1))
    low, high, quarter, three, middle = (
        [fan.now_l, *each] for each in (fan.p05, fan.p95, fan.p25, fan.p75, fan.p50)
    )
    axes.fill_between(at, low, high, color=WIDE, linewidth=0)
    axes.fill_between(at, quarter, three, color=NARROW, linewidth=0)
    axes.plot(at, middle, color=MIDDLE, linewidth=2.6)
    axes.plot([0], [fan.now_l], marker="o", markersize=9, color=INK, clip_on=False, zorder=5)
    nearly_full = fan.now_l > NEARLY_FULL * fan.capacity_l
    axes.annotate(
        in_units(say("charts.now", litres=litres(fan.now_l)), units),
        (0, fan.now_l),
        xytext=(9, -26 if nearly_full else 10),
        textcoords="offset points",
        fontsize=FONT_PT,
        fontweight="bold",
        color=INK,
        bbox={"facecolor": PAPER, "edgecolor": "none", "alpha": 0.7, "pad": 1.5},
    )


def _draw_lines(axes: Axes, fan: Fan, dry_line_l: float, units: Units) -> None:
    last = len(fan.days)
    axes.axhline(fan.capacity_l, color=QUIET, linewidth=1.4, linestyle=(0, (6, 3)))
    axes.axhline(dry_line_l, color=WARNING, linewidth=1.8)
    full = in_units(say("charts.full", amount=f"{fan.capacity_l:,.0f}"), units)
    for at_l, words, colour in (
        (fan.capacity_l, full, QUIET),
        (dry_line_l, say("charts.dry"), WARNING),
    ):
        # The space keeps the words off the edge.
        axes.text(last, at_l, f"{words} ", color=colour, ha="right", va="bottom", fontsize=FONT_PT)


def _draw_dates(axes: Axes, fan: Fan, dry_line_l: float, units: Units) -> None:
    last = len(fan.days)
    axes.set_xlim(0, last)
    axes.set_ylim(0, max(fan.capacity_l, dry_line_l) * ROOM_ABOVE)
    at = _ticks(fan.days)
    axes.set_xticks(at, [short_day(fan.days[each]) for each in at])
    axes.tick_params(labelsize=FONT_PT, colors=QUIET, length=5)
    _mark_volumes(axes, units)
    axes.grid(visible=True, axis="y", color=GRID, linewidth=0.8)
    axes.set_axisbelow(True)
    axes.text(
        0.012,
        0.985,
        volume_word(units),
        transform=axes.transAxes,
        va="top",
        fontsize=FONT_PT,
        color=QUIET,
    )
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.spines["bottom"].set_color(QUIET)


def _mark_volumes(axes: Axes, units: Units) -> None:
    """Mark the height of whole numbers, of gallons where they are told."""
    from matplotlib.ticker import MaxNLocator  # noqa: PLC0415 - only who draws needs it

    told = gallons_a_litre(units)
    top_l = axes.get_ylim()[1]
    marks = [mark for mark in MaxNLocator(nbins=4).tick_values(0.0, top_l * told) if mark >= 0.0]
    within = [mark for mark in marks if mark <= top_l * told]
    axes.set_yticks([mark / told for mark in within], [f"{mark:g}" for mark in within])


def _ticks(days: list[date]) -> list[int]:
    """Return the days to name: firsts of months, or every so many weeks where those are few."""
    edge = len(days) // 20  # a label so near an end would stick out of the picture
    inside = range(edge, len(days) - edge)
    firsts = [each for each in inside if days[each].day == 1]
    if len(firsts) >= FEWEST_MONTHS:
        return firsts[:: -(-len(firsts) // MOST_DATES)]
    step = DAYS_A_WEEK * -(-len(days) // (MOST_DATES * DAYS_A_WEEK))
    return list(inside)[::step]
