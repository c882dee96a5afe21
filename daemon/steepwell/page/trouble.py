"""What the page says when it cannot do what it was asked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.exceptions import HTTPException

from steepwell.page.guard import HEADERS
from steepwell.page.setting import answer_page
from steepwell.tell.wording import sentence
from steepwell.words.saying import say

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response

TITLED = (404, 405, 503)


def trouble(request: Request, error: Exception) -> Response:
    """Answer what went wrong, and with what to do instead."""
    if isinstance(error, HTTPException):
        status, said = error.status_code, error.detail
    else:
        status, said = 503, str(error)
    if status in {404, 405}:
        said = say("trouble.front")
    title = say(f"trouble-titles.{status if status in TITLED else 'other'}")
    answer = answer_page(
        request, "trouble.html.j2", status=status, title=title, said=sentence(said)
    )
    if isinstance(error, HTTPException) and error.headers:
        answer.headers.update(error.headers)
    return answer


def broken(request: Request, error: Exception) -> Response:  # noqa: ARG001 - the log has it
    """Answer that a fault of ours came up; it is said outside the guard, and so has its headers."""
    answer = answer_page(
        request,
        "trouble.html.j2",
        status=500,
        title=say("trouble-titles.500"),
        said=say("trouble.kept"),
    )
    answer.headers.update(HEADERS)
    return answer
