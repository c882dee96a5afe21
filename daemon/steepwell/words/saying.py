"""Says a sentence of the language file.

Each language is one file beside this one, in the format of GNU gettext: an entry names a sentence
(``letter.lasts``) and gives its words, with the values it takes in braces (``{litres}``). English
is whole; what another language lacks is said in English.
"""

from __future__ import annotations

import gettext
import io
from functools import lru_cache
from pathlib import Path

LANGUAGES = Path(__file__).parent
ENGLISH = "en"


class _Spoken:
    """The language of this process: one garden, one language."""

    language = ENGLISH


def languages() -> tuple[str, ...]:
    """Return the languages there are files of."""
    return tuple(sorted(file.stem for file in LANGUAGES.glob("*.po")))


def speak(language: str) -> None:
    """Say everything from now on in a language, one of ``languages()``."""
    _Spoken.language = language
    _catalogue(language)


def language() -> str:
    """Return the language everything is said in."""
    return _Spoken.language


def say(key: str, /, **values: object) -> str:
    """Return a sentence, or a part of one.

    Parameters
    ----------
    key
        Its name in the language file.
    **values
        What it takes.

    Returns
    -------
    str
        The words.

    Raises
    ------
    KeyError
        If the language file has no such entry, or it takes a value that is not given.
    """
    words = _catalogue(_Spoken.language).gettext(key)
    if words == key:
        raise KeyError(key)
    return words.format_map(values)


def say_count(key: str, count: float, /, **values: object) -> str:
    """Return a sentence whose words hang on a number, as "1 can" and "2 cans".

    Parameters
    ----------
    key
        Its name in the language file; the entry has a form for each number its language tells
        apart.
    count
        The number; a broken one counts as the next whole one.
    **values
        What it takes beside ``{count}``.

    Returns
    -------
    str
        The words.

    Raises
    ------
    KeyError
        As ``say``.
    """
    whole = -int(-count // 1)
    words = _catalogue(_Spoken.language).ngettext(key, key, whole)
    if words == key:
        raise KeyError(key)
    return words.format_map({"count": whole, **values})


def read_catalogue(file: Path) -> gettext.GNUTranslations:
    """Return the words of a language file, without what stands in for entries it lacks."""
    import polib  # noqa: PLC0415 - read once

    entries = polib.pofile(str(file), encoding="utf-8")
    words = gettext.GNUTranslations(io.BytesIO(entries.to_binary()))
    # Its reader holds them in a circle, so that they would stay for long: 0.8 MB.
    entries.clear()
    return words


@lru_cache(maxsize=2)
def _catalogue(language: str) -> gettext.GNUTranslations:
    words = read_catalogue(LANGUAGES / f"{language}.po")
    if language != ENGLISH:
        words.add_fallback(_catalogue(ENGLISH))
    return words
