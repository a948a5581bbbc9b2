"""How phrases sound: their phones, and how far two phrases lie apart.

English by the pronouncing dictionary that comes with PocketSphinx (CMUdict, ARPAbet phones),
other languages by espeak-ng's own (IPA).
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Sequence
from functools import cache
from pathlib import Path

from assistant.words.language import ENGLISH, Language

Phones = tuple[str, ...]

ADDED = {"unmeasured": "AH N M EH ZH ER D"}
"""Words of the program's phrases that the dictionary lacks."""

TOO_ALIKE, TOO_NEAR = 0.3, 0.45
"""Phrases that lie nearer than the first are refused, those nearer than the second doubted. The
program's own lie 0.5 apart or more; "hold the job" and "pause the job" 0.39, a phrase and itself
with one word changed 0.1 to 0.3."""

# Kinds of phones: within one a phone is taken for another more easily (common phonetics).
_KINDS = (
    ("AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW"),
    ("P", "T", "K", "B", "D", "G"),
    ("F", "TH", "S", "SH", "HH", "V", "DH", "Z", "ZH", "CH", "JH"),
    ("M", "N", "NG"),
    ("L", "R", "W", "Y"),
    tuple("aeiouyøœɔɛɪʊʏəɐɑæʌɜ"),
    tuple("ptkbdgʔ"),
    tuple("fθsʃxçhvðzʒʁ"),
    tuple("mnŋ"),
    tuple("lrwj"),
)
_KIND = {phone: n for n, kind in enumerate(_KINDS) for phone in kind}


@cache
def dictionary() -> dict[str, Phones]:
    """Every word that the grammar ear knows; empty where PocketSphinx is not installed."""
    try:
        from pocketsphinx import get_model_path
    except (ImportError, OSError):
        return {}
    found: dict[str, Phones] = {}
    text = (Path(get_model_path("en-us")) / "cmudict-en-us.dict").read_text("utf-8")
    for line in text.splitlines():
        word, *phones = line.split()
        if "(" not in word:  # the first pronunciation is the usual one
            found[word] = tuple(phones)
    return found | {word: tuple(phones.split()) for word, phones in ADDED.items()}


def unknown_words(phrase: str) -> list[str]:
    """The English words of a normalised phrase that the dictionary lacks."""
    return [word for word in phrase.split() if dictionary() and word not in dictionary()]


def phones(phrase: str, language: Language = ENGLISH) -> Phones:
    """The phones of a normalised phrase; letters where nothing can pronounce it."""
    if language is ENGLISH:
        return tuple(p for word in phrase.split() for p in dictionary().get(word, tuple(word)))
    return _by_espeak(phrase, language.voice)


def _by_espeak(phrase: str, voice: str) -> Phones:
    read = ipa(phrase, voice) or phrase
    return tuple(letter for letter in read if letter.isalpha())


@cache
def ipa(text: str, voice: str) -> str:
    """As a voice of espeak-ng reads it, in the International Phonetic Alphabet; empty where
    espeak-ng is not here."""
    if not shutil.which("espeak-ng"):
        return ""
    command = ["espeak-ng", "-q", "--ipa", "-v", voice, text]
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=10, check=False)
    except (OSError, subprocess.TimeoutExpired):
        return ""
    return done.stdout


def apart(one: Phones, other: Phones) -> float:
    """0 for the same sounds, 1 for nothing in common: the changes that turn one phrase into
    the other, by the length of the longer one (edit distance; a phone of the same kind is
    half a change)."""
    row = [float(n) for n in range(len(other) + 1)]
    for n, phone in enumerate(one, 1):
        row = _next_row(row, n, phone, other)
    return row[-1] / max(len(one), len(other), 1)


def _next_row(row: Sequence[float], n: int, phone: str, other: Phones) -> list[float]:
    found = [float(n)]
    for m, heard in enumerate(other, 1):
        change = row[m - 1] + _change(phone, heard)
        found.append(min(change, row[m] + 1, found[m - 1] + 1))
    return found


def _change(phone: str, heard: str) -> float:
    if phone == heard:
        return 0.0
    return 0.5 if _KIND.get(phone, -1) == _KIND.get(heard, -2) else 1.0
