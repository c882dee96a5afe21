"""What a letter decides must not hang on the words of a language."""

from __future__ import annotations

import re
import shutil
from typing import TYPE_CHECKING, Any

import polib
import pytest
from tests.tell.conftest import FEED, FIRST_DAY

from steepwell.tell.content import LetterContent, Told, letter_content
from steepwell.tell.documents import Outlook, Plan
from steepwell.words import saying

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from steepwell.garden.garden import Garden

Json = dict[str, Any]
ABROAD = "xx"


def _other_words(text: str) -> str:
    """Return a text without a letter of English, its values in their places."""
    parts = re.split(r"(\{[^}]*\})", text)
    return "".join(
        part if part.startswith("{") else re.sub("[A-Za-z]", "ж", part) for part in parts
    )


@pytest.fixture
def abroad(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[], None]]:
    english = saying.LANGUAGES / "en.po"
    shutil.copy(english, tmp_path)
    words = polib.pofile(str(english))
    for entry in words:
        if entry.msgid_plural:
            forms = entry.msgstr_plural.items()
            entry.msgstr_plural = {number: _other_words(form) for number, form in forms}
        else:
            entry.msgstr = _other_words(entry.msgstr)
    words.save(str(tmp_path / f"{ABROAD}.po"))
    monkeypatch.setattr(saying, "LANGUAGES", tmp_path)
    yield lambda: saying.speak(ABROAD)
    saying.speak(saying.ENGLISH)


def _shape(content: LetterContent) -> Json:
    """Return of what a letter consists, without its words."""
    return {
        "jobs": [(job.names, len(job.lines), bool(job.skip)) for job in content.jobs],
        "sections": [(section.about, len(section.lines)) for section in content.sections],
        "said": [bool(part) for part in (content.outlook_note, content.supplement)],
    }


@pytest.mark.parametrize("in_short", [False, True])
def test_a_letter_says_as_much_in_any_language(
    garden: Garden,
    plan: Callable[..., Json],
    outlook: Json,
    abroad: Callable[[], None],
    *,
    in_short: bool,
) -> None:
    feeds = [
        {**FEED, "reason": "due", "only_due": True},
        {**FEED, "bed": "beans", "spoons": "160 mL", "measure": "jug", "feed_ml": 160},
    ]
    week = Plan.model_validate(plan(feed=feeds))
    ahead = Outlook.model_validate(outlook)

    known = Told((week,), ahead, (week,)) if in_short else None

    def told() -> LetterContent:
        return letter_content(
            garden,
            FIRST_DAY,
            week,
            ahead,
            standing=(),
            first_week=False,
            last_forecast=None,
            told=known,
        )

    at_home = told()
    abroad()
    away = told()
    assert away.lead != at_home.lead
    assert _shape(away) == _shape(at_home)
