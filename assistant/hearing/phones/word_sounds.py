"""How a word may be pronounced, in the letters of the phone network.

By the dictionary of PocketSphinx, which is American; a word that it lacks (swarf, knurl) as
espeak-ng reads it, American and British.
"""

from __future__ import annotations

from itertools import islice, product

from assistant.hearing.phones.network import PHONES
from assistant.hearing.pronunciation import dictionary, ipa

MOST_WAYS = 16

_LETTERS = {
    "AA": ("ɑ",), "AE": ("æ",), "AH": ("ʌ", "ə"), "AO": ("ɔ",), "AW": ("W",), "AY": ("I",),
    "EH": ("ɛ",), "ER": ("ɜɹ", "əɹ", "ɜ", "ə"), "EY": ("A",), "IH": ("ɪ",), "IY": ("i",),
    "OW": ("O",), "OY": ("Y",), "UH": ("ʊ",), "UW": ("u",), "CH": ("ʧ",), "JH": ("ʤ",),
    "SH": ("ʃ",), "ZH": ("ʒ",), "TH": ("θ",), "DH": ("ð",), "NG": ("ŋ",), "HH": ("h",),
    "R": ("ɹ",), "Y": ("j",), "G": ("ɡ",),
}  # fmt: skip
"""Of the dictionary's phones (ARPAbet); those that are left out are their own small letter."""

_VOICES = ("en-us", "en-gb")
_TWO_LETTERS = {"tʃ": "ʧ", "dʒ": "ʤ", "aʊ": "W", "aɪ": "I", "eɪ": "A", "oʊ": "O", "əʊ": "O",
                "ɔɪ": "Y"}  # fmt: skip
_ONE_LETTER = {"ɐ": "ə", "ᵻ": "ɪ", "a": "æ", "e": "ɛ", "o": "ɔ", "r": "ɹ", "g": "ɡ", "ɾ": "t",
               "ʔ": "t", "ɚ": "əɹ", "ɝ": "ɜɹ", "ɫ": "l"}  # fmt: skip
"""Of the International Phonetic Alphabet as espeak-ng writes it; all else must be a phone of the
network."""
_MARKS = "ˈˌː\u0329\u0361\u200d_ \n"
"""Stress, length, syllables and ties: the network tells none of them."""


def word_ways(word: str) -> tuple[str, ...]:
    """Its pronunciations, the usual one first, at most `MOST_WAYS`; none where neither dictionary
    nor espeak-ng has any."""
    if phones := dictionary().get(word):
        letters = (_LETTERS.get(phone, (phone.lower(),)) for phone in phones)
        made = ["".join(each) for each in islice(product(*letters), MOST_WAYS)]
    else:
        made = [way for voice in _VOICES for way in _with_r(letters_of(ipa(word, voice)))]
    return tuple(dict.fromkeys(way for way in made if way and set(way) <= set(PHONES)))


def letters_of(spoken: str) -> str:
    """A pronunciation as espeak-ng writes it, in the letters of the network."""
    bare = "".join(letter for letter in spoken if letter not in _MARKS)
    for two, one in _TWO_LETTERS.items():
        bare = bare.replace(two, one)
    return "".join(_ONE_LETTER.get(letter, letter) for letter in bare)


def _with_r(way: str) -> tuple[str, ...]:
    """The vowel of "nurse", which espeak-ng writes alike in all accents, with its r and without."""
    return (way, way.replace("ɜɹ", "ɜ").replace("ɜ", "ɜɹ")) if "ɜ" in way else (way,)
