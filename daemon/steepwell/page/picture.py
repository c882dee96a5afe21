"""The pictures of the page, in its own ink by day and by night."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.exceptions import HTTPException
from starlette.responses import Response

from steepwell.page.desk import desk_of
from steepwell.page.tally import FIVE, tally_of
from steepwell.tell import charts

if TYPE_CHECKING:
    from starlette.requests import Request

# The picture's colours, and what each is on light and on dark paper.
_INKS = {
    charts.INK: ("ink", "#26241d", "#e9e2d0"),
    charts.QUIET: ("quiet", "#5c5747", "#b5ad98"),
    charts.WARNING: ("warning", "#93331a", "#f0997d"),
    charts.WIDE: ("wide", "#d3dccf", "#35433c"),
    charts.NARROW: ("narrow", "#a3b8a8", "#55705f"),
    charts.MIDDLE: ("middle", "#2f5d4a", "#a9d4bd"),
    charts.GRID: ("grid", "#ded6c0", "#3b382f"),
    charts.PAPER: ("paper", "#fbf7ea", "#1f1d18"),
}
# An image has a style of its own, which no rule of the page that shows it reaches.
_RULES = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'; sandbox"


def water_ahead(request: Request) -> Response:
    """Answer with the water in the weeks ahead as an SVG."""
    desk = desk_of(request)
    beside = desk.store.results.latest("page", desk.clock.now()) or {}
    drawn = beside.get("water_ahead")
    if drawn is None:
        raise HTTPException(404)
    headers = {"Content-Security-Policy": _RULES, "Cache-Control": "private, max-age=3600"}
    return Response(in_ink(drawn), media_type="image/svg+xml", headers=headers)


def icon(request: Request) -> Response:  # noqa: ARG001 - every route is called with one
    """Answer with the page's mark: five strokes of a tally."""
    strokes = tally_of(FIVE)
    path = strokes.path if strokes is not None else ""
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="-1 -4 34 26"><style>path{fill:none;'
        "stroke-linecap:round;stroke-width:2.4;stroke:#26241d}@media (prefers-color-scheme:dark)"
        f'{{path{{stroke:#e9e2d0}}}}</style><path d="{path}"/></svg>'
    )
    headers = {"Content-Security-Policy": _RULES, "Cache-Control": "private, max-age=86400"}
    return Response(svg, media_type="image/svg+xml", headers=headers)


def in_ink(svg: str) -> str:
    """Return a picture in the colours of the page, light or dark as the reader's screen is."""
    light = "".join(f"--{name}:{colour};" for name, colour, _ in _INKS.values())
    dark = "".join(f"--{name}:{colour};" for name, _, colour in _INKS.values())
    for colour, (name, _, _) in _INKS.items():
        svg = svg.replace(f": {colour}", f": var(--{name})")
    head, mark, rest = svg.partition("<defs>")
    rules = (
        f":root{{{light}}}@media (prefers-color-scheme:dark){{:root{{{dark}}}}}"
        "text{font-family:serif!important}"
    )
    return f"{head}<style>{rules}</style>{mark}{rest}"
