from __future__ import annotations

import ast
import string
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import polib
import pytest
from jinja2 import Environment, nodes

import steepwell
from steepwell.words.saying import (
    ENGLISH,
    LANGUAGES,
    languages,
    read_catalogue,
    say,
    say_count,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

DAEMON = Path(steepwell.__file__).parent
SAYING = {"say": frozenset[str](), "say_count": frozenset({"count"})}


@dataclass(frozen=True)
class Use:
    """One place that says something; values are None where they are not written out."""

    key: str
    values: frozenset[str] | None
    where: str
    family: bool = False


def _uses_in_code() -> Iterator[Use]:
    for file in sorted(DAEMON.rglob("*.py")):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name)):
                continue
            if node.func.id not in SAYING:
                continue
            key = node.args[0]
            where = f"{file.name}:{node.lineno}"
            named = [each.arg for each in node.keywords]
            values = (
                None if None in named else frozenset(filter(None, named)) | SAYING[node.func.id]
            )
            if isinstance(key, ast.Constant):
                yield Use(str(key.value), values, where)
            elif isinstance(key, ast.IfExp):
                for branch in (key.body, key.orelse):
                    assert isinstance(branch, ast.Constant), where
                    yield Use(str(branch.value), values, where)
            else:
                assert isinstance(key, ast.JoinedStr), f"{where}: a key is to be found by reading"
                first = key.values[0]
                assert isinstance(first, ast.Constant), where
                assert "." in str(first.value), where
                yield Use(str(first.value), values, where, family=True)


def _uses_in_templates() -> Iterator[Use]:
    for file in sorted(DAEMON.rglob("*.j2")):
        tree = Environment(autoescape=True).parse(file.read_text("utf-8"))
        for call in tree.find_all(nodes.Call):
            if isinstance(call.node, nodes.Name) and call.node.name in SAYING:
                where = f"{file.name}:{call.lineno}"
                values = frozenset(each.key for each in call.kwargs) | SAYING[call.node.name]
                key = call.args[0]
                if isinstance(key, nodes.Const):
                    yield Use(str(key.value), values, where)
                else:
                    assert isinstance(key, nodes.Add | nodes.Concat), where
                    first = key.left if isinstance(key, nodes.Add) else key.nodes[0]
                    assert isinstance(first, nodes.Const), where
                    yield Use(str(first.value), values, where, family=True)


USES = [*_uses_in_code(), *_uses_in_templates()]


def _entries(language: str) -> dict[str, polib.POEntry]:
    file = polib.pofile(str(LANGUAGES / f"{language}.po"), check_for_duplicates=True)
    return {entry.msgid: entry for entry in file}


def _forms(entry: polib.POEntry) -> list[str]:
    return list(entry.msgstr_plural.values()) if entry.msgid_plural else [entry.msgstr]


def _fields(words: str) -> frozenset[str]:
    return frozenset(
        field.partition(".")[0] for _, field, _, _ in string.Formatter().parse(words) if field
    )


def test_everything_said_is_in_the_language_file_with_the_values_it_takes() -> None:
    entries = _entries(ENGLISH)
    for use in USES:
        meant = [key for key in entries if key.startswith(use.key)] if use.family else [use.key]
        assert meant, use
        for key in meant:
            assert key in entries, use
            if use.values is None:
                continue
            taken = frozenset[str]().union(*map(_fields, _forms(entries[key])))
            assert taken <= use.values, use
            if not use.family:
                assert use.values - {"count"} <= taken, use


def test_the_language_file_holds_nothing_that_is_never_said() -> None:
    said = {use.key for use in USES if not use.family}
    families = tuple(use.key for use in USES if use.family)
    assert [
        key for key in _entries(ENGLISH) if key not in said and not key.startswith(families)
    ] == []


@pytest.mark.parametrize("language", languages())
def test_a_language_file_has_the_names_and_values_of_the_english_one(language: str) -> None:
    english = _entries(ENGLISH)
    for key, entry in _entries(language).items():
        assert key in english
        assert all(_forms(entry)), key
        taken = frozenset[str]().union(*map(_fields, _forms(english[key])))
        for form in _forms(entry):
            assert _fields(form) <= taken, key
        assert bool(entry.msgid_plural) == bool(english[key].msgid_plural), key


def test_a_number_chooses_its_form() -> None:
    assert say_count("wording.cans", 1, amount="1") == "1 can"
    assert say_count("wording.cans", 1.5, amount="1½") == "1½ cans"


def test_what_is_not_there_cannot_be_said() -> None:
    with pytest.raises(KeyError, match=r"no\.such"):
        say("no.such")


def test_another_language_brings_its_own_plurals_and_lacks_nothing(tmp_path: Path) -> None:
    # The plural rule of Polish is that of the GNU gettext manual, 11.2.6 (from memory).
    file = tmp_path / "pl.po"
    file.write_text(
        'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=UTF-8\\n"\n'
        '"Plural-Forms: nplurals=3; plural=n==1 ? 0 : n%10>=2 && n%10<=4 && '
        '(n%100<10 || n%100>=20) ? 1 : 2;\\n"\n\n'
        'msgid "wording.cans"\nmsgid_plural "wording.cans"\n'
        'msgstr[0] "{amount} konewka"\nmsgstr[1] "{amount} konewki"\n'
        'msgstr[2] "{amount} konewek"\n',
        "utf-8",
    )
    polish = read_catalogue(file)
    assert [polish.ngettext("wording.cans", "", n) for n in (1, 3, 5)] == [
        "{amount} konewka",
        "{amount} konewki",
        "{amount} konewek",
    ]
    polish.add_fallback(read_catalogue(LANGUAGES / "en.po"))
    assert polish.gettext("wording.half-a-can") == "half a can"
