"""Whether two phrases sound alike, by the phones of a pronouncing dictionary."""

from __future__ import annotations

from difflib import SequenceMatcher
from functools import cache
from pathlib import Path

ALIKE = 0.65
"""Share of phones in the same order from which on two phrases are too alike. The closest two of
the program's own stand at 0.5."""


def alike(one: str, other: str) -> bool:
    """True when a recogniser would often take one English phrase for the other."""
    return likeness(one, other) >= ALIKE


def likeness(one: str, other: str) -> float:
    """0 (no phone in common) to 1 (the same sounds)."""
    return SequenceMatcher(None, _phones(one), _phones(other), autojunk=False).ratio()


def _phones(phrase: str) -> list[str]:
    """A word that the dictionary lacks counts by its letters."""
    known = _dictionary()
    return [phone for word in phrase.split() for phone in known.get(word, list(word))]


@cache
def _dictionary() -> dict[str, list[str]]:
    """The general dictionary that comes with PocketSphinx; empty where that is missing."""
    try:
        from pocketsphinx import get_model_path

        lines = (Path(get_model_path("en-us")) / "cmudict-en-us.dict").read_text("utf-8")
    except (ImportError, OSError, AttributeError):
        return {}
    found = (line.split() for line in lines.splitlines())
    return {word: phones for word, *phones in found if "(" not in word}
