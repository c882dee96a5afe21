"""Fills the templates that ship beside this file."""

from __future__ import annotations

import textwrap
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from steepwell.tell.wording import tied

if TYPE_CHECKING:
    from jinja2 import Environment

TEMPLATES = Path(__file__).with_name("templates")
LINE = 72


def filled(template: str, **values: object) -> str:
    """Return a template with its values.

    Parameters
    ----------
    template
        Its file name; what is put into an HTML one is escaped.
    **values
        What it names.

    Returns
    -------
    str
        Lines ended by a line feed.
    """
    return _environment().get_template(template).render(values)


@lru_cache(maxsize=1)
def _environment() -> Environment:
    from jinja2 import (  # noqa: PLC0415 - the daemon needs it only when it writes a mail
        Environment,
        FileSystemLoader,
        StrictUndefined,
        select_autoescape,
    )

    environment = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=select_autoescape(enabled_extensions=["html.j2"], default=False),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["para"] = para
    environment.filters["tied"] = tied
    return environment


def para(text: str, first: str = "") -> str:
    """Return text in lines of at most 72 characters.

    Parameters
    ----------
    text
        One paragraph.
    first
        What the first line begins with; the others are indented as far.

    Returns
    -------
    str
        The lines; a word longer than a line stays whole.
    """
    filled_lines = textwrap.fill(
        tied(text),
        LINE,
        initial_indent=first,
        subsequent_indent=" " * len(first),
        break_long_words=False,
        break_on_hyphens=False,
    )
    return filled_lines.replace("\u00a0", " ")
