"""Finds the line of a key in a TOML file by a plain scan."""

from __future__ import annotations

import re

_HEADER = re.compile(r"^\s*(\[{1,2})\s*([^\[\]]+?)\s*\]{1,2}")


def find_line(text: str, where: tuple[int | str, ...]) -> int | None:
    """Return the line in which a key stands, or its table begins.

    Parameters
    ----------
    text
        The file.
    where
        The key path; list members are counted from 0.

    Returns
    -------
    int or None
        Line, counted from 1; None where the scan finds nothing.
    """
    lines = text.splitlines()
    names = [step for step in where if isinstance(step, str)]
    for depth in range(len(names), 0, -1):
        start = _table_line(lines, names[:depth], _index_after(where, depth))
        if start is not None:
            return _key_line(lines, start, names[depth:]) or start
    return _key_line(lines, 0, names)


def _index_after(where: tuple[int | str, ...], depth: int) -> int:
    """Return which member of an array of tables is meant, after ``depth`` names."""
    seen = 0
    for position, step in enumerate(where):
        seen += isinstance(step, str)
        if seen == depth:
            following = where[position + 1 : position + 2]
            return following[0] if following and isinstance(following[0], int) else 0
    return 0


def _table_line(lines: list[str], names: list[str], index: int) -> int | None:
    wanted, count = ".".join(names), 0
    for number, line in enumerate(lines, start=1):
        header = _HEADER.match(line)
        if header and header[2].replace(" ", "") == wanted:
            if count == index:
                return number
            count += 1
    return None


def _key_line(lines: list[str], after: int, names: list[str]) -> int | None:
    if not names:
        return None
    key = re.compile(rf"^\s*\"?{re.escape(names[0])}\"?\s*[.=]")
    for number, line in enumerate(lines[after:], start=after + 1):
        if _HEADER.match(line):
            return None
        if key.match(line):
            return number
    return None
