"""Questions and answers: always printed, spoken where there is a speaker, answered by a line.

An answer that will not do gets one line with what would, and the question again. "q", or the
end of the input, leaves at any question.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TextIO

from assistant.words.choice import Choice
from assistant.words.language import say

LEAVE = ("q", "quit")
_YES, _NO = ("y", "yes"), ("n", "no")


class Left(Exception):
    """The person leaves; what was answered so far is kept already."""


class Talk:
    """`lines` are the answers, a line each; `speak` says a sentence, `hush` ends one."""

    def __init__(
        self,
        lines: Iterator[str],
        out: TextIO,
        *,
        echo: bool = False,
        speak: Callable[[str], None] = lambda text: None,
        hush: Callable[[], None] = lambda: None,
    ) -> None:
        self._lines, self._out, self._echo = lines, out, echo
        self._speak, self._hush = speak, hush

    def tell(self, text: str) -> None:
        """Print and speak."""
        self.show(text)
        self._speak(text)

    def show(self, text: str = "") -> None:
        """Print only: lists and figures, which nobody wants read out."""
        print(text, file=self._out, flush=True)

    def ask(self, question: str, default: str = "") -> str:
        """The answer as text; Enter alone gives the default. Raises Left."""
        self._speak(question)
        print(
            f"{question}{f' [{default}]' if default else ''} ", file=self._out, end="", flush=True
        )
        try:
            line = next(self._lines).strip()
        except StopIteration:
            self.show()
            raise Left from None
        self._hush()
        if self._echo:
            self.show(line)
        if line.lower() in LEAVE:
            raise Left
        return line or default

    def yes(self, question: str, default: bool) -> bool:
        """Yes or no. Raises Left."""
        while True:
            yes, no = say("yes"), say("no")
            said = self.ask(
                say("{question} (yes or no)", question=question), yes if default else no
            ).lower()
            if said in (*_YES, yes, *_NO, no):
                return said in (*_YES, yes)
            self.show("  " + say("{answer}: answer yes or no, or q to leave.", answer=repr(said)))

    def whole(self, question: str, default: int, least: int, most: int) -> int:
        """A whole number from `least` to `most`. Raises Left."""
        while True:
            said = self.ask(question, str(default))
            if said.isascii() and said.isdigit() and least <= int(said) <= most:
                return int(said)
            self.show(
                "  "
                + say(
                    "{answer}: give a whole number from {least} to {most}.",
                    answer=repr(said), least=least, most=most,
                )
            )  # fmt: skip

    def choose(self, question: str, choices: Sequence[Choice], default: str) -> str:
        """The key of one of the choices, by its number or its key. Raises Left."""
        for number, choice in enumerate(choices, 1):
            mark = "*" if choice.key == default else " "
            self.show(f" {mark}{number:>2}  {choice.text}")
        keys = [choice.key for choice in choices]
        while True:
            said = self.ask(question, str(keys.index(default) + 1) if default in keys else "")
            if said in keys:
                return said
            if said.isascii() and said.isdigit() and 1 <= int(said) <= len(keys):
                return keys[int(said) - 1]
            most = len(keys)
            line = say("{answer}: give a number from 1 to {most}.", answer=repr(said), most=most)
            self.show(f"  {line}")
