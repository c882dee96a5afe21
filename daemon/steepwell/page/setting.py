"""Sets answers of the page from the templates that ship beside this file."""

from __future__ import annotations

from functools import lru_cache
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.responses import HTMLResponse, Response

from steepwell.page.desk import desk_of
from steepwell.tell.wording import spoken, tied

if TYPE_CHECKING:
    from starlette.requests import Request

TEMPLATES = Path(__file__).with_name("templates")
FOREVER = "private, max-age=31536000, immutable"


@lru_cache(maxsize=1)
def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["tied"] = tied
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
    html = (
        _environment()
        .get_template(template)
        .render(garden=spoken(garden.name), style=_style()[1], **values)
    )
    return HTMLResponse(html, status)


def style_sheet(request: Request) -> Response:  # noqa: ARG001 - every route is called with one
    """Answer with the style sheet, which a browser may keep: another has another address."""
    return Response(_style()[0], media_type="text/css", headers={"Cache-Control": FOREVER})
