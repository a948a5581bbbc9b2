"""Words from outside (a title, a note, what was heard) made fit to be shown or spoken."""

from __future__ import annotations

LONGEST = 1000  # letters: more than any sentence of ours has


def plain(text: str, longest: int = LONGEST) -> str:
    """One line of printable letters: what could steer a terminal or a voice is shown as ?.

    Line feeds and tabs become blanks; letters that can't be shown (control characters, marks that
    turn the writing round, halves of surrogate pairs) become `?`; what is over `longest`
    letters ends with `…`.
    """
    one_line = " ".join(text[: 8 * longest].split())
    shown = "".join(letter if letter.isprintable() else "?" for letter in one_line)
    return shown if len(shown) <= longest else f"{shown[:longest]}…"
