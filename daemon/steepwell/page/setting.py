"""Sets answers of the page from the templates that ship beside this file."""

from __future__ import annotations

import secrets
from datetime import timedelta
from functools import lru_cache, partial
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.responses import HTMLResponse, Response

from steepwell.page.desk import desk_of
from steepwell.tell.units import turned
from steepwell.tell.wording import tied
from steepwell.words.figures import spoken
from steepwell.words.saying import language, say, say_count

if TYPE_CHECKING:
    from starlette.requests import Request

    from steepwell.tell.units import Units

TEMPLATES = Path(__file__).with_name("templates")
FOREVER = "private, max-age=31536000, immutable"
FORM_COOKIE, FORM_FIELD = "steepwell-form", "form_key"
FORM_KEPT = timedelta(days=30)


@lru_cache(maxsize=3)
def _environment(units: Units) -> Environment:
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=partial(turned, units=units),
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["tied"] = tied
    environment.globals.update(language=language, say=say, say_count=say_count)
    environment.filters["spoken"] = spoken
    return environment


@lru_cache(maxsize=1)
def _style() -> tuple[bytes, str]:
    """Return the style sheet, and its address, which changes with what is in it."""
    sheet = (TEMPLATES / "style.css").read_bytes()
    return sheet, f"/style-{sha256(sheet).hexdigest()[:12]}.css"


def answer_page(
    request: Request, template: str, *, status: int = 200, **values: object
) -> Response:
    """Return a page.

    Parameters
    ----------
    request
        What is answered.
    template
        File name of the template.
    status
        HTTP status.
    **values
        What the template names; all of it is escaped.

    Returns
    -------
    Response
        HTML.
    """
    garden = desk_of(request).garden
    known = request.cookies.get(FORM_COOKIE)
    form_key = known or secrets.token_urlsafe(16)
    html = (
        _environment(garden.garden.units)
        .get_template(template)
        .render(garden=spoken(garden.name), style=_style()[1], form_key=form_key, **values)
    )
    answer = HTMLResponse(html, status)
    if known is None:
        leave_cookie(request, answer, FORM_COOKIE, form_key, FORM_KEPT)
    return answer


def leave_cookie(
    request: Request, answer: Response, name: str, value: str, kept: timedelta
) -> None:
    """Leave a cookie with the browser that no script reads and no other page sends."""
    address = desk_of(request).settings.address or ""
    answer.set_cookie(
        name,
        value,
        max_age=int(kept.total_seconds()),
        httponly=True,
        samesite="strict",
        secure=address.startswith("https://") or request.url.scheme == "https",
    )


def style_sheet(request: Request) -> Response:  # noqa: ARG001 - every route is called with one
    """Answer with the style sheet, which a browser may keep: another has another address."""
    return Response(_style()[0], media_type="text/css", headers={"Cache-Control": FOREVER})
