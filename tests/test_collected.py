"""No test goes uncollected because of the name of its file."""

from __future__ import annotations

import re
from pathlib import Path

TESTS = Path(__file__).parent
A_TEST = re.compile(r"^\s*(async )?def test_", re.MULTILINE)


def uncollected(folder: Path) -> list[str]:
    """Return files that hold tests under a name that is not collected, or the other way round."""
    return [
        str(path.relative_to(folder))
        for path in sorted(folder.rglob("*.py"))
        if path.match("test_*.py") != bool(A_TEST.search(path.read_text(encoding="utf-8")))
    ]


def test_every_test_is_collected() -> None:
    assert uncollected(TESTS) == []


def test_a_test_under_another_name_is_found(tmp_path: Path) -> None:
    (tmp_path / "soil_tests.py").write_text("def test_soil() -> None: ...\n", encoding="utf-8")
    (tmp_path / "test_empty.py").write_text("LEFT = 1\n", encoding="utf-8")
    (tmp_path / "test_sound.py").write_text("async def test_it() -> None: ...\n", encoding="utf-8")
    (tmp_path / "records.py").write_text("def fetch() -> None: ...\n", encoding="utf-8")
    assert uncollected(tmp_path) == ["soil_tests.py", "test_empty.py"]
