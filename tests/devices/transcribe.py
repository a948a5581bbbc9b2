"""Writes down what the loudspeaker said, by a recogniser, out of a closed list of sentences."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path

from pocketsphinx import Decoder

from assistant.devices.sound.wavefile import read_wave
from assistant.engine.phrases import normalise
from tests.whole.transcript import stretches

SENTENCES = (
    "Three turns, then one hole on the sixteen circle.",
    "Six turns, then ten holes on the forty-three circle.",
    "Two turns, then six holes on the thirty-nine circle.",
    "Four turns, then eight holes on the eighteen circle.",
    "Lock the spindle, then tell me.",
    "Close the guard, hands clear, then tell me.",
    "The degree scale should read eighty.",
    "Three cuts are left.",
    "This is the voice that will tell you every move.",
    "Seven holes on the twenty circle.",
)

NOT_IN_THE_DICTIONARY = {"handwheel": "HH AE N D W IY L"}


def sentences_in(wav: Path, choices: tuple[str, ...] = SENTENCES) -> list[str]:
    """The sentences in a recording."""
    pcm = read_wave(wav.read_bytes()).mono16()
    parts = stretches(pcm, least=0.6)
    return [text for part in parts for text in sentences_of(part, choices)]


def sentences_of(pcm: bytes, choices: tuple[str, ...] = SENTENCES) -> list[str]:
    """The likeliest of the choices, one or more of them, in 16 kHz mono PCM.

    The list is closed and unlike in its words: on an espeak voice this recogniser takes
    "eight" for "nine" when every number is open to it.
    """
    by_words = {normalise(text).replace("-", " "): text for text in choices}
    decoder = _decoder(tuple(by_words))
    decoder.start_utt()
    decoder.process_raw(pcm, full_utt=True)
    decoder.end_utt()
    left = decoder.hyp().hypstr if decoder.hyp() else ""
    found = []
    while words := next((w for w in by_words if f"{left} ".startswith(f"{w} ")), ""):
        found.append(by_words[words])
        left = left[len(words) :].strip()
    return found


def known(texts: Sequence[str]) -> list[str]:
    """Those of which the recogniser knows every word."""
    decoder = Decoder(samprate=16000, loglevel="FATAL")
    return [
        text
        for text in texts
        if all(word in NOT_IN_THE_DICTIONARY or decoder.lookup_word(word)
               for word in normalise(text).replace("-", " ").split())
    ]  # fmt: skip


@cache
def _decoder(choices: tuple[str, ...]) -> Decoder:
    decoder = Decoder(
        samprate=16000, loglevel="FATAL", bestpath=False, beam=1e-90, pbeam=1e-90, wbeam=1e-60
    )
    for word, phones in NOT_IN_THE_DICTIONARY.items():
        decoder.add_word(word, phones)
    grammar = f"#JSGF V1.0; grammar s; public <all> = ({' | '.join(choices)})+ ;"
    decoder.add_jsgf_string("s", grammar)
    decoder.activate_search("s")
    return decoder
