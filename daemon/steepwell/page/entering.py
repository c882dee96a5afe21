"""Takes the token of an invitation once, and leaves it with the browser."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from steepwell.page.gate import TOKEN_COOKIE, is_invited, turned_away
from steepwell.page.setting import answer_page, leave_cookie

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response

KEPT = timedelta(days=400)


def enter(request: Request) -> Response:
    """Answer who comes by an invitation.

    The front follows by itself from an answer of ours: a redirect would still count as coming from
    wherever the address was found, and a browser would keep its cookie back.
    """
    token = request.path_params["token"]
    if not is_invited(request, token):
        return turned_away(request)
    answer = answer_page(request, "entered.html.j2")
    leave_cookie(request, answer, TOKEN_COOKIE, token, KEPT)
    return answer
