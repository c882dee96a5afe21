"""The picture of the sizes: what each would have left short, summer by summer.

Matplotlib is imported only when a picture is drawn.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from steepwell.tell.charts import (
    FONT_PT,
    INK,
    MIDDLE,
    NARROW,
    QUIET,
    WARNING,
    as_png,
    empty_picture,
)
from steepwell.tell.units import gallons_a_litre, in_units, volume_word
from steepwell.words.saying import say

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from steepwell.tell.units import Units

# A row has its words above its dots; the dots are spread by this much of a row, up and down.
SPREAD = 0.16
WORDS_ABOVE = 0.30
ROOM_RIGHT = 1.04

Json = dict[str, Any]


def sizes_png(document: Json, units: Units = "metric") -> bytes:
    """Draw what was wanted and not there in each summer, a row for each size.

    Parameters
    ----------
    document
        What ``steepwell size`` found.
    units
        In which amounts are told.

    Returns
    -------
    bytes
        A PNG of 1280 by 720 pixels, to be shown at half that; the same for the same document.
    """
    figure, axes = empty_picture((0.03, 0.165, 0.94, 0.825))
    most_l = max(each["short_l"]["worst"] for each in document["variants"])
    for row, variant in enumerate(document["variants"]):
        told = {**variant, "says": in_units(variant["says"], units)}
        _draw_row(axes, row, told, document["summers"])
    _draw_frame(axes, len(document["variants"]), most_l, units)
    return as_png(figure)


def _draw_row(axes: Axes, row: int, variant: Json, summers: int) -> None:
    short_l = [summer["short_l"] for summer in variant["by_summer"]]
    # Neighbours in the order of dryness stand at different heights, so that dots stay apart.
    rank = {
        index: place for place, index in enumerate(sorted(range(summers), key=short_l.__getitem__))
    }
    height = [row + SPREAD * (rank[index] % 3 - 1) for index in range(summers)]
    axes.plot(
        short_l,
        height,
        linestyle="none",
        marker="o",
        markersize=7,
        markerfacecolor=NARROW,
        markeredgecolor="white",
        markeredgewidth=0.8,
        clip_on=False,
    )
    middle_l = variant["short_l"]["p50"]
    axes.plot([middle_l] * 2, [row - 0.27, row + 0.27], color=MIDDLE, linewidth=3.0, clip_on=False)
    axes.text(0, row - WORDS_ABOVE, variant["says"], color=INK, fontsize=FONT_PT, va="bottom")
    axes.text(
        1.0,
        row - WORDS_ABOVE,
        say("size-chart.dry", dry=variant["dry"], summers=summers),
        color=WARNING if variant["dry"] else QUIET,
        fontsize=FONT_PT,
        ha="right",
        va="bottom",
        transform=axes.get_yaxis_transform(),
    )


def _draw_frame(axes: Axes, rows: int, most_l: float, units: Units) -> None:
    axes.set_xlim(0, max(most_l, 1.0) * ROOM_RIGHT)
    axes.set_ylim(rows - 1 + 0.35, -WORDS_ABOVE - 0.42)
    axes.set_yticks([])
    axes.locator_params(axis="x", nbins=5)
    told = gallons_a_litre(units)
    axes.xaxis.set_major_formatter(lambda value, _: f"{value * told:,.0f}")
    axes.tick_params(labelsize=FONT_PT - 1, colors=QUIET, length=5)
    axes.grid(visible=True, axis="x", color="#e3e8e6", linewidth=0.8)
    axes.set_axisbelow(True)
    axes.set_xlabel(
        say("size-chart.below", volume=volume_word(units)),
        fontsize=FONT_PT - 1,
        color=QUIET,
    )
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.spines["bottom"].set_color(QUIET)
