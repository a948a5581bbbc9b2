"""The built-in ear: PocketSphinx with a grammar of our phrases, and a doubt of its own.

A grammar finds one of its phrases in anything. So a second decoder hears the same sounds as
free phones, and the phrase is believed only as far as its worst word explains the sound
nearly as well as free phones do (a likelihood ratio against a phone loop; Rohlicek and
others, "Continuous hidden Markov modeling for speaker-independent word spotting", 1989).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from assistant.engine.phrases import normalise
from assistant.errors import Refusal
from assistant.files.packages_here import not_here, to_install_python
from assistant.hearing import vocabulary
from assistant.hearing.pronunciation import ADDED
from assistant.hearing.recognisers.recogniser import EarUnusable, Guess
from assistant.hearing.vocabulary import Vocabulary

HALF_SURE = -0.356
STEEPNESS = 25.6
"""Log likelihood ratio a frame, in hundredths, of the worst word, to a confidence. Fitted so
that 0.6 stands at -0.34, where 95 of 100 clear phrases of natural synthetic voices pass and 3
to 5 of 100 other sentences, most of them near misses; and 0.9 at -0.27."""

LEAST = 2 * 16000 // 5
"""Bytes of a fifth of a second: on less the recogniser fails."""

Piece = tuple[str, int, int, float]  # word, first frame, last frame, log likelihood


class GrammarEar:
    """Needs no model beyond what its package brings. Raises EarUnusable."""

    name = "grammar"
    quick = False

    def __init__(self) -> None:
        try:
            from pocketsphinx import get_model_path
        except (ImportError, OSError) as error:
            raise EarUnusable(
                f"no recogniser: {not_here(error)}", to_install_python("pocketsphinx")
            ) from error
        model = Path(get_model_path("en-us"))
        self._phrases = _decoder(model, beam=1e-64, pbeam=1e-64, wbeam=1e-48)
        for word, phones in ADDED.items():
            self._phrases.add_word(word, phones)
        known, self.notes = self._known(listened_for())
        self._commands = known
        self._phrases.add_jsgf_string("phrases", phrase_grammar(known))
        self._phrases.activate_search("phrases")
        self._phones = _decoder(
            model, allphone=str(model / "en-us-phone.lm.bin"), lw=2.0, beam=1e-20, pbeam=1e-20
        )

    def _known(self, phrases: Vocabulary) -> tuple[Vocabulary, tuple[str, ...]]:
        """The phrases whose words are all in the dictionary, and a line for each other one."""
        lost = {phrase: self._lacks(phrase) for phrase in phrases}
        notes = (
            f"the dictionary has no word {words[0]!r}: {phrase!r} can't be said"
            for phrase, words in lost.items()
            if words
        )
        return {p: command for p, command in phrases.items() if not lost[p]}, tuple(notes)

    def _lacks(self, phrase: str) -> list[str]:
        return [word for word in phrase.split() if self._phrases.lookup_word(word) is None]

    def recognise(self, pcm: bytes) -> Guess:
        if len(pcm) < LEAST:
            return Guess("", None, 0.0)
        text, words = _decode(self._phrases, pcm)
        words = [piece for piece in words if piece[0][0] not in "<("]
        if not words:
            return Guess("", None, 0.0)
        _, phones = _decode(self._phones, pcm)
        return Guess(text, self._commands.get(normalise(text)), confidence(words, phones))


def listened_for() -> Vocabulary:
    """The program's phrases and the person's own. Raises EarUnusable."""
    try:
        return vocabulary.read_vocabulary()
    except Refusal as error:
        raise EarUnusable(error.what, error.cure) from error


def phrase_grammar(phrases: Iterable[str] | None = None) -> str:
    """Normalised phrases, by default the program's, as a grammar (JSpeech Grammar Format, W3C
    note of 2000)."""
    choices = " | ".join(vocabulary.built_in() if phrases is None else phrases)
    return f"#JSGF V1.0;\ngrammar phrases;\npublic <phrase> = {choices} ;\n"


def confidence(words: list[Piece], phones: list[Piece]) -> float:
    """0 to 1 from how far the worst word falls behind the phones over its frames."""
    ratios = [
        100 * (score - _over(phones, first, last)) / (last - first + 1)
        for _, first, last, score in words
    ]
    return 1 / (1 + math.exp(-STEEPNESS * (min(ratios) - HALF_SURE)))


def _over(phones: list[Piece], first: int, last: int) -> float:
    """The log likelihood of the phones between two frames, parts of a phone by their share."""
    total = 0.0
    for _, start, end, score in phones:
        shared = min(end, last) - max(start, first) + 1
        if shared > 0:
            total += score * shared / (end - start + 1)
    return total


def _decoder(model: Path, **settings: Any) -> Any:
    from pocketsphinx import Decoder

    try:
        return Decoder(
            hmm=str(model / "en-us"),
            dict=str(model / "cmudict-en-us.dict"),
            samprate=16000,
            lm=None,
            bestpath=False,
            # Scores of two decoders compare only if both looked at every sound.
            compallsen=True,
            loglevel="FATAL",
            **settings,
        )
    except (RuntimeError, ValueError, OSError) as error:
        raise EarUnusable(
            f"the recogniser's model can't be read: {error}", "install pocketsphinx anew"
        ) from error


def _decode(decoder: Any, pcm: bytes) -> tuple[str, list[Piece]]:
    """The best text, and its pieces. Each utterance stands by itself: the loudness and the
    colour of the sound are levelled over the whole of it, and nothing is carried on."""
    try:
        decoder.start_utt()
        try:
            decoder.process_raw(pcm, full_utt=True)
        finally:
            decoder.end_utt()
        best = decoder.hyp()
        pieces = decoder.seg() if best else None
    except RuntimeError as error:
        raise EarUnusable(f"the recogniser failed: {error}", "use the pedal meanwhile") from error
    found = [
        (s.word, s.start_frame, s.end_frame, math.log(s.ascore))
        for s in pieces or ()
        if s.ascore > 0
    ]
    return (best.hypstr if best else ""), found
