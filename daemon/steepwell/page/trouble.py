"""What the page says when it cannot do what it was asked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.exceptions import HTTPException

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
