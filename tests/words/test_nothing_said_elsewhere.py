from __future__ import annotations

import ast
import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

import steepwell

if TYPE_CHECKING:
    from collections.abc import Iterator

DAEMON = Path(steepwell.__file__).parent
READ_BY_THE_GARDENER = ("decide", "page", "tell", "watch")
AND_BESIDE = ("note_answers.py", "note_words.py", "screens_*.py")
TWO_WORDS = re.compile(r"[A-Za-z]{2,},? [a-z]{2,}")
MARKUP = re.compile(
    r"{%.*?%}|{{.*?}}|{#.*?#}|<style.*?</style>|<[^>]*>|steepwell [a-z-]+", re.DOTALL
)
# Two words that no gardener reads: what HTTP and a library ask for, what a plan is stored with.
NO_WORDS = re.compile(r"private, |<svg |three quarters$|offset points$|top up$|keep shut$")
# Asked by programs, which speak no language; and the names of units.
FOR_NO_GARDENER = ("health.py", "units.py")
# Calls whose words are for the keeper's log, for engineers or for a machine.
NOT_SAID = {
    "debug", "info", "warning", "error", "exception", "critical",
    "text", "compile", "add_argument", "add_parser", "read_secret",
}  # fmt: skip


def _modules() -> list[Path]:
    parts = [file for part in READ_BY_THE_GARDENER for file in (DAEMON / part).rglob("*.py")]
    beside = [file for pattern in AND_BESIDE for file in DAEMON.glob(pattern)]
    return sorted(file for file in (*parts, *beside) if file.name not in FOR_NO_GARDENER)


def _templates() -> list[Path]:
    return sorted(file for part in READ_BY_THE_GARDENER for file in (DAEMON / part).rglob("*.j2"))


def _relative(file: Path) -> str:
    return str(file.relative_to(DAEMON))


def _sentences(node: ast.AST) -> Iterator[str]:
    """Yield the texts of two words or more in a piece of code, without docstrings."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant):
            continue
        if isinstance(child, ast.Raise | ast.Assert):
            continue
        if isinstance(child, ast.Call):
            name = child.func.attr if isinstance(child.func, ast.Attribute) else ""
            name = child.func.id if isinstance(child.func, ast.Name) else name
            if name in NOT_SAID:
                continue
        if isinstance(child, ast.Constant):
            if isinstance(child.value, str) and TWO_WORDS.search(child.value):
                if NO_WORDS.match(child.value):
                    continue
                yield f"line {child.lineno}: {child.value.strip()}"
            continue
        yield from _sentences(child)


@pytest.mark.parametrize("module", _modules(), ids=_relative)
def test_code_holds_no_sentence_for_the_gardener(module: Path) -> None:
    assert list(_sentences(ast.parse(module.read_text("utf-8")))) == []


@pytest.mark.parametrize("template", _templates(), ids=_relative)
def test_a_template_holds_no_sentence_for_the_gardener(template: Path) -> None:
    assert TWO_WORDS.findall(MARKUP.sub("\n", template.read_text("utf-8"))) == []
