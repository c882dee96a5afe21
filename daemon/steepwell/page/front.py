"""The front of the page: what to do now, water, vessels, beds, sensors."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steepwell.page.desk import desk_of
from steepwell.page.facts import facts_of
from steepwell.page.setting import answer_page
from steepwell.page.sheet import sheet_of

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response


def front(request: Request) -> Response:
    """Answer with the front of the page."""
    return answer_page(request, "front.html.j2", sheet=sheet_of(facts_of(desk_of(request))))
