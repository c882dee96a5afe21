"""The pages of a bed, a vessel, a butt and the garden, with what can be noted there."""

from __future__ import annotations

import secrets
from typing import TYPE_CHECKING

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.responses import RedirectResponse

from steepwell.errors import SteepwellError
from steepwell.page.desk import Desk, desk_of
from steepwell.page.facts import facts_of
from steepwell.page.fields import MODELS
from steepwell.page.forms import ELSEWHERE, Of, forms_of
from steepwell.page.posting import posted, words_of
from steepwell.page.sent import ABOUT, raw_entry
from steepwell.page.setting import answer_page
from steepwell.page.things import beds_said, butts_said, vessels_said
from steepwell.page.writing import write_entry
from steepwell.tell.wording import sentence

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from starlette.requests import Request
    from starlette.responses import Response

    from steepwell.page.facts import Facts
    from steepwell.page.things import Said


def thing(request: Request) -> Response:
    """Answer with the page of a bed, a vessel, a butt, or of the garden as a whole."""
    of = request.url.path.split("/")[1]
    return _page(request, of, request.path_params.get("name", ""))  # type: ignore[arg-type] # the routes know


async def note(request: Request) -> Response:
    """Write what a form says, then show the front; or say what is wrong with it."""
    kind, desk = request.path_params["kind"], desk_of(request)
    if kind not in MODELS:
        raise HTTPException(404)
    fields = await posted(request)
    sent = {
        name: [words_of(each) for each in fields.getlist(name) if isinstance(each, str)]
        for name in fields
    }
    return await run_in_threadpool(_note, request, desk, kind, sent)


def _note(request: Request, desk: Desk, kind: str, sent: Mapping[str, Sequence[str]]) -> Response:
    mark = sent.get("mark", [""])[-1]
    now = desk.clock.now()
    try:
        raw = _withdrawal(sent) if kind == "corrected" else raw_entry(kind, sent, desk.garden)
        number = desk.once.write(mark, lambda: write_entry(desk, raw, now))
    except SteepwellError as error:
        of, name = _came_from(kind, sent)
        return _page(request, of, name, refused=kind, why=sentence(str(error)), sent=sent)
    return RedirectResponse(f"/?noted={number}", 303)


def _withdrawal(sent: Mapping[str, Sequence[str]]) -> dict[str, object]:
    number = sent.get("withdraws", [""])[-1]
    return {"kind": "corrected", "withdraws": int(number) if number.isdecimal() else 0}


def _came_from(kind: str, sent: Mapping[str, Sequence[str]]) -> tuple[Of, str]:
    """Return the page on which a form stands, by what it knew."""
    known = {key: sent[key][-1] for key in ABOUT if sent.get(key)}
    if kind in ELSEWHERE:
        return "garden", ""
    if "bed" in known:
        return "bed", known["bed"]
    if "vessel" in known:
        return "vessel", known["vessel"]
    if known.get("place", "air") != "air":
        return "vessel", known["place"]
    return ("butt", known["butt"]) if "butt" in known else ("garden", "")


def _page(
    request: Request,
    of: Of,
    name: str,
    *,
    refused: str = "",
    why: str = "",
    sent: Mapping[str, Sequence[str]] | None = None,
) -> Response:
    desk = desk_of(request)
    facts = facts_of(desk)
    said = _said(of, name, facts)
    return answer_page(
        request,
        "thing.html.j2",
        status=422 if refused else 200,
        of=of,
        said=said,
        unsettled=facts.unsettled and facts.plan is not None,
        forms=forms_of(of, name, facts),
        refused=refused,
        why=why,
        sent=sent or {},
        mark=secrets.token_urlsafe(8),
    )


def _said(of: Of, name: str, facts: Facts) -> Said | None:
    """Return how a thing stands, None of the garden as a whole."""
    if of == "garden":
        return None
    things: dict[str, Sequence[Said]] = {
        "bed": beds_said(facts),
        "vessel": vessels_said(facts),
        "butt": butts_said(facts),
    }
    for said in things[of]:
        if said.name == name:
            return said
    raise HTTPException(404)
