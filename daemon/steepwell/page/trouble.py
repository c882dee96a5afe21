"""What the page says when it cannot do what it was asked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.exceptions import HTTPException

from steepwell.page.guard import HEADERS
from steepwell.page.setting import answer_page
from steepwell.tell.wording import sentence

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response

_TITLES = {404: "There is no such page", 405: "That is not done here", 503: "It does not work now"}


def trouble(request: Request, error: Exception) -> Response:
    """Answer what went wrong, and with what to do instead."""
    if isinstance(error, HTTPException):
        status, said = error.status_code, error.detail
    else:
        status, said = 503, str(error)
    if status in {404, 405}:
        said = "What the garden needs is on its front."
    title = _TITLES.get(status, "That cannot be")
    answer = answer_page(
        request, "trouble.html.j2", status=status, title=title, said=sentence(said)
    )
    if isinstance(error, HTTPException) and error.headers:
        answer.headers.update(error.headers)
    return answer


def broken(request: Request, error: Exception) -> Response:  # noqa: ARG001 - the log has it
    """Answer that a fault of ours came up; it is said outside the guard, and so has its headers."""
    said = "What was noted before is kept. The log of the daemon has the rest."
    answer = answer_page(
        request, "trouble.html.j2", status=500, title="Something is broken here", said=said
    )
    answer.headers.update(HEADERS)
    return answer
