"""Reads what a form of ours sent, and nothing that a page elsewhere made a browser send."""

from __future__ import annotations

import secrets
from typing import TYPE_CHECKING
from unicodedata import category
from urllib.parse import urlsplit

from starlette.exceptions import HTTPException

from steepwell.page.setting import FORM_COOKIE, FORM_FIELD
from steepwell.words.saying import say

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request

MOST_FIELDS = 60


async def posted(request: Request) -> FormData:
    """Return the fields of a form.

    Parameters
    ----------
    request
        The post.

    Returns
    -------
    FormData
        What was sent.

    Raises
    ------
    HTTPException
        If it does not come from a page of ours.
    """
    if not _is_ours(request):
        raise HTTPException(403, say("posting.old-form"))
    fields = await request.form(max_files=0, max_fields=MOST_FIELDS)
    known = request.cookies.get(FORM_COOKIE, "")
    sent = fields.get(FORM_FIELD)
    if (
        not known
        or not isinstance(sent, str)
        or not secrets.compare_digest(sent.encode(), known.encode())
    ):
        raise HTTPException(403, say("posting.old-form"))
    return fields


def words_of(text: str) -> str:
    """Return what was typed without what no page may hold: controls, and what is no character."""
    return "".join(each for each in text if each == "\t" or not _is_no_character(each))


def _is_no_character(each: str) -> bool:
    point = ord(each)
    return category(each) == "Cc" or 0xFDD0 <= point <= 0xFDEF or point & 0xFFFE == 0xFFFE  # noqa: PLR2004 - the Unicode Standard, 23.7


def _is_ours(request: Request) -> bool:
    """Return whether a browser says that the form stood on a page of ours."""
    origin = request.headers.get("origin")
    if origin is not None:
        return urlsplit(origin).netloc == request.headers.get("host")
    return request.headers.get("sec-fetch-site") == "same-origin"
