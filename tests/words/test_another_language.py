from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

from steepwell.tell.units import in_units
from steepwell.tell.wording import in_hand
from steepwell.words import saying

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

GERMAN = """
msgid ""
msgstr ""
"Content-Type: text/plain; charset=UTF-8\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"

msgid "wording.in-hand"
msgstr "{amount} von {capacity} L"

msgid "units.between"
msgstr "von bis und oder"

msgid "units.by"
msgstr "um"

msgid "units.about"
msgstr "etwa"
"""


@pytest.fixture
def german(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    shutil.copy(saying.LANGUAGES / "en.po", tmp_path)
    (tmp_path / "de.po").write_text(GERMAN, "utf-8")
    monkeypatch.setattr(saying, "LANGUAGES", tmp_path)
    saying.speak("de")
    yield
    saying.speak(saying.ENGLISH)


@pytest.mark.usefixtures("german")
def test_amounts_are_turned_whatever_stands_between_them() -> None:
    # 310 and 630 L by gallons of 4.54609 L, a difference of 2 °C by 1.8.
    assert in_units(in_hand(310, 630), "imperial") == "68 von 140 gal"
    assert in_units("um etwa 2 °C wärmer", "us") == "um etwa 4 °F wärmer"
