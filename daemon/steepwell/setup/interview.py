"""Asks one question after another: by options, of a person, or of a pipe."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TextIO, TypeVar

from steepwell.errors import CommandError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

Answer = TypeVar("Answer")
WIDE = 88


@dataclass(frozen=True, slots=True)
class Question(Generic[Answer]):
    """Something to know of a garden.

    Attributes
    ----------
    key
        Its option on the command line, without the hyphens.
    says
        What is asked, and what the answer is for.
    default
        The answer of who just presses Enter.
    read
        Makes a value of an answer; a ValueError says what is wanted.
    """

    key: str
    says: str
    default: str
    read: Callable[[str], Answer]


class Interview:
    """Who answers: options first, then a person or a pipe, or the defaults.

    Parameters
    ----------
    given
        What options say, by key.
    answers
        Where answers are read from; None: the defaults are taken for what no option says.
    screen
        Where questions are put, if somebody sees them; who does not cannot be asked twice.
    """

    def __init__(
        self, given: Mapping[str, str], answers: TextIO | None, screen: TextIO | None
    ) -> None:
        self._given = given
        self._answers = answers
        self._screen = screen

    def ask(self, question: Question[Answer]) -> Answer:
        """Return the answer to a question, asked again until it can be understood.

        Raises
        ------
        CommandError
            If an option is wrong, or answers end or are wrong where nobody can be asked again.
        """
        given = self._given.get(question.key)
        if given is not None:
            return self._read(question, given, f"--{question.key}")
        if self._answers is None:
            return self._read(question, question.default, question.key)
        while True:
            text = self._hear(question)
            try:
                return self._read(question, text, question.key)
            except CommandError as error:
                if self._screen is None:
                    raise
                self.tell(f"  {error}")

    def tell(self, words: str) -> None:
        """Show something to whoever is there."""
        if self._screen is not None:
            print(words, file=self._screen, flush=True)

    def _hear(self, question: Question[Answer]) -> str:
        if self._answers is None:
            return question.default
        if self._screen is not None:
            shown = question.default or "Enter leaves it out"
            says = textwrap.fill(question.says, WIDE)
            self._screen.write(f"\n{says}\n{question.key} [{shown}]: ")
            self._screen.flush()
        line = self._answers.readline()
        if not line:
            raise CommandError(
                f"the answers ended before {question.key!r}; nothing was written. With --yes the "
                "defaults are taken for what is not said"
            )
        return line.strip() or question.default

    @staticmethod
    def _read(question: Question[Answer], text: str, where: str) -> Answer:
        try:
            return question.read(text)
        except ValueError as error:
            raise CommandError(f"{where}: found {text!r}; wanted: {error}") from None
