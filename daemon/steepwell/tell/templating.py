"""Fills the templates that ship beside this file."""

from __future__ import annotations

import textwrap
from functools import lru_cache, partial
from pathlib import Path
from typing import TYPE_CHECKING

from steepwell.tell.units import in_units, turned
from steepwell.tell.wording import tied
from steepwell.words.saying import language, say, say_count

if TYPE_CHECKING:
    from jinja2 import Environment

    from steepwell.tell.units import Units

TEMPLATES = Path(__file__).with_name("templates")
LINE = 72


def filled(template: str, *, units: Units = "metric", **values: object) -> str:
    """Return a template with its values.

    Parameters
    ----------
    template
        Its file name; what is put into an HTML one is escaped.
    units
        In which amounts are told.
    **values
        What it names.

    Returns
    -------
    str
        Lines ended by a line feed.
    """
    return _environment(units).get_template(template).render(values)


@lru_cache(maxsize=3)
def _environment(units: Units) -> Environment:
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
        finalize=partial(turned, units=units),
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["para"] = partial(para, units=units)
    environment.filters["tied"] = tied
    environment.globals.update(language=language, say=say, say_count=say_count)
    return environment


def para(text: str, first: str = "", *, units: Units = "metric") -> str:
    """Return text in lines of at most 72 characters.

    Parameters
    ----------
    text
        One paragraph.
    first
        What the first line begins with; the others are indented as far.
    units
        In which amounts are told; before lines are broken, so that they keep their length.

    Returns
    -------
    str
        The lines; a word longer than a line stays whole.
    """
    filled_lines = textwrap.fill(
        tied(in_units(text, units)),
        LINE,
        initial_indent=first,
        subsequent_indent=" " * len(first),
        break_long_words=False,
        break_on_hyphens=False,
    )
    return filled_lines.replace("\u00a0", " ")
