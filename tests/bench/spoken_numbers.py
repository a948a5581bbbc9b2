"""How often a spoken number is taken for another in noise, and what the surer forms cost.

    python -m tests.bench.spoken_numbers [LANGUAGE] [quick]

Every count from 1 to 100 in a move, by espeak-ng at the program's settings, mixed with the
noise of a mill, written down by PocketSphinx with a grammar of these hundred sentences. A
recogniser is no person: it compares the forms, it does not tell how well one hears.
`quick` says only those that can be mistaken, at one pace; all hundred may be heard.
German is only measured in seconds: no German recogniser comes with a package.
"""

from __future__ import annotations

import statistics
import sys
from dataclasses import replace

import numpy as np
from pocketsphinx import Decoder

from assistant.bench import language_files
from assistant.bench.at_the_bench import settings_in_language
from assistant.devices.speech.clear_numbers import MANNERS, clearly, mistakable
from assistant.devices.speech.synth import EspeakSynth
from assistant.engine.phrases import normalise
from assistant.files.settings import Settings, SpeechSettings, settings_file
from assistant.hearing.training.noises import mill
from assistant.hearing.waves import RATE, Wave, from_pcm, mix, resample_sound, to_pcm
from assistant.words.language import number, say_n, speaking

COUNTS = range(1, 101)
SNRS = (10, 5, 0)
PACES = (145, 165)
QUICK = "quick" in sys.argv
SAID = [n for n in COUNTS if mistakable(n)] if QUICK else list(COUNTS)


def sentence(count: int, language: str) -> str:
    with speaking(language):
        return say_n(count, "one hole on the {circle} circle", "{count} holes on the {circle} "
                     "circle", circle=number(49))  # fmt: skip


def spoken(text: str, speech: SpeechSettings) -> Wave:
    made = EspeakSynth(speech).speak(text)
    return resample_sound(from_pcm(made.pcm), made.rate, RATE)


def decoder(sentences: list[str]) -> Decoder:
    listener = Decoder(samprate=RATE, loglevel="FATAL", bestpath=False,
                       beam=1e-60, pbeam=1e-60, wbeam=1e-40)  # fmt: skip
    choices = " | ".join(normalise(each).replace("-", " ") for each in sentences)
    grammar = f"#JSGF V1.0;\ngrammar counts;\npublic <move> = {choices} ;\n"
    listener.add_jsgf_string("counts", grammar)
    listener.activate_search("counts")
    return listener


def heard(listener: Decoder, sound: Wave) -> str:
    listener.start_utt()
    listener.process_raw(to_pcm(sound), full_utt=True)
    listener.end_utt()
    best = listener.hyp()
    return best.hypstr if best else ""


def in_noise(sound: Wave, snr: float, seed: int) -> Wave:
    padded = np.concatenate([np.zeros(RATE // 4, np.float32), sound, np.zeros(RATE // 4)])
    noise = mill(np.random.default_rng(seed), len(padded))
    return mix(padded.astype(np.float32), noise, snr)


def confusions(speech: SpeechSettings, manner: str, snr: float) -> tuple[int, int]:
    """Numbers taken for another, and those of them that are a teen for a ten or back."""
    texts = {n: clearly(sentence(n, "en"), manner, "en") for n in COUNTS}
    by_text = {normalise(text).replace("-", " "): n for n, text in texts.items()}
    listener = decoder(list(texts.values()))
    wrong = paired = 0
    for n in SAID:
        sound = in_noise(spoken(texts[n], speech), snr, n)
        found = by_text.get(heard(listener, sound), 0)
        wrong += found != n
        paired += found != n and mistakable(n) and mistakable(found)
    return wrong, paired


def seconds(speech: SpeechSettings, manner: str, language: str) -> float:
    """The middle length of the sentence over all counts."""
    lengths = [len(spoken(clearly(sentence(n, language), manner, language), speech)) / RATE
               for n in SAID]  # fmt: skip
    return statistics.mean(lengths)


def main() -> None:
    language = "de" if "de" in sys.argv else "en"
    known = language_files.load_language(language)
    settings = settings_in_language(Settings(settings_file()), known)
    for pace in PACES[:1] if QUICK else PACES:
        speech = replace(settings.speech, words_per_minute=pace)
        for manner in MANNERS:
            row = f"{pace} words a minute, {manner:7}{seconds(speech, manner, language):5.2f} s"
            if language == "en":
                found = [confusions(speech, manner, snr) for snr in SNRS]
                cells = [f"{snr:3} dB: {w:2} wrong, {p:2} teen/ten" for snr, (w, p) in
                         zip(SNRS, found, strict=True)]  # fmt: skip
                row += "   " + "   ".join(cells)
            print(row, flush=True)


if __name__ == "__main__":
    main()
