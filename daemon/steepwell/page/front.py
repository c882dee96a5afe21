"""The front of the page: what to do now, water, vessels, beds, sensors."""

from __future__ import annotations

import secrets
from datetime import timedelta
from typing import TYPE_CHECKING

from steepwell.page.calendar import subscribed_at
from steepwell.page.desk import desk_of
from steepwell.page.facts import facts_of
from steepwell.page.jobs import done_paths, noted_ids
from steepwell.page.journal import just_noted
from steepwell.page.setting import answer_page
from steepwell.page.sheet import sheet_of

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response

WEEK = timedelta(days=7)


def front(request: Request) -> Response:
    """Answer with the front of the page."""
    desk = desk_of(request)
    facts = facts_of(desk)
    zone = desk.garden.garden.zone
    sheet = sheet_of(facts)
    told = (*sheet.jobs, *sheet.taken)
    return answer_page(
        request,
        "front.html.j2",
        sheet=sheet,
        done=done_paths(desk, facts.plan, told, "gardener") if facts.plan else {},
        settled=noted_ids(desk, told),
        noted=just_noted(request.query_params.get("noted", ""), facts.entries, zone),
        calendar=subscribed_at(request),
        in_a_week=(facts.today + WEEK).isoformat(),
        mark=secrets.token_urlsafe(8),
    )
