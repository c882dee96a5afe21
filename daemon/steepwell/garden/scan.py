"""Finds the line of a key in a TOML file by a plain scan."""

from __future__ import annotations

import re

_WORD = r"""(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')"""
_PATH = rf"{_WORD}(?:\s*\.\s*{_WORD})*"
_HEADER = re.compile(rf"^\s*(\[\[?)\s*({_PATH})\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(rf"^\s*({_PATH})\s*=")

Steps = tuple[int | str, ...]


def find_line(text: str, where: Steps) -> int | None:
    """Return the line in which a key stands, or the nearest thing above it that is there.

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
    best: int | None = None
    longest = 0
    for number, found in _lines(text):
        shared = _shared_steps(found, where)
        if shared == len(found) and shared > longest:
            best, longest = number, shared
    return best


def _lines(text: str) -> list[tuple[int, Steps]]:
    """Return the full key path of each line that begins a section or names a key."""
    found: list[tuple[int, Steps]] = []
    members: dict[Steps, int] = {}
    section: Steps = ()
    for number, line in enumerate(text.splitlines(), start=1):
        if header := _HEADER.match(line):
            section = _section(_words(header[2]), members, is_list=header[1] == "[[")
            found.append((number, section))
        elif key := _KEY.match(line):
            found.append((number, (*section, *_words(key[1]))))
    return found


def _section(names: list[str], members: dict[Steps, int], *, is_list: bool) -> Steps:
    """Return the path of a section; names of lists stand for their newest member."""
    path: Steps = ()
    for name in names[:-1]:
        path = (*path, name)
        if path in members:
            path = (*path, members[path])
    path = (*path, names[-1])
    if not is_list:
        return path
    members[path] = members.get(path, -1) + 1
    return (*path, members[path])


def _words(path: str) -> list[str]:
    return [word.strip("\"'") for word in re.findall(_WORD, path)]


def _shared_steps(one: Steps, other: Steps) -> int:
    shared = 0
    for left, right in zip(one, other, strict=False):
        if left != right:
            break
        shared += 1
    return shared
