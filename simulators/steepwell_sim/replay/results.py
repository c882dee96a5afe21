"""The files a replay writes."""

from __future__ import annotations

import json
from contextlib import ExitStack
from typing import IO, TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pathlib import Path

MAIL = "mail"
_LINES = ("outlooks", "plans", "notices", "truth")


class Results:
    """Folder of results; what an earlier replay left in it is replaced.

    Parameters
    ----------
    folder
        Made if it is not there.
    """

    def __init__(self, folder: Path) -> None:
        self.mail_folder = folder / MAIL
        self.mail_folder.mkdir(parents=True, exist_ok=True)
        for mail in self.mail_folder.glob("*.eml"):
            mail.unlink()
        self._folder = folder
        self._open = ExitStack()
        self._files: dict[str, IO[str]] = {
            name: self._open.enter_context((folder / f"{name}.jsonl").open("w", encoding="utf-8"))
            for name in _LINES
        }

    def line(self, name: str, document: dict[str, Any]) -> None:
        """Add a line to one of ``outlooks``, ``plans``, ``notices`` and ``truth``."""
        self._files[name].write(json.dumps(document, ensure_ascii=False) + "\n")

    def whole(self, name: str, document: dict[str, Any]) -> None:
        """Write a file of one document."""
        text = json.dumps(document, ensure_ascii=False, indent=2)
        (self._folder / f"{name}.json").write_text(text + "\n", encoding="utf-8")

    def close(self) -> None:
        """Close the files."""
        self._open.close()
