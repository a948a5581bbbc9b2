"""How well the few words of a cut are understood in noise when they are said faster.

    python -m tests.bench.brisk [CALLS]     # so many calls at each pace (100)

Calls of the short cycle with every count of holes on every circle of the plates, by espeak-ng at
the program's settings and at several values of `[speech] brisk`, with the pauses as the program
cuts them, mixed with the noise of a mill at 20 and 10 dB. PocketSphinx writes them down with a
grammar in which every count may stand on every circle. A recogniser is no person: it compares the
paces, it does not tell how well one hears. Nobody was asked. What came out stands in
docs/decisions/791-half-as-fast-again.md.
"""

from __future__ import annotations

import random
import sys

from pocketsphinx import Decoder

from assistant.devices.speech import synth
from assistant.devices.speech.clear_numbers import clearly
from assistant.engine.phrases import normalise
from assistant.files.settings import SpeechSettings
from assistant.hearing.waves import RATE, Wave, from_pcm, resample_sound
from assistant.words.language import number
from tests.bench.spoken_numbers import heard, in_noise

CIRCLES = (15, 16, 17, 18, 19, 20, 21, 23, 27, 29, 31, 33, 37, 39, 41, 43, 47, 49)
SNRS = (20, 10)
PACES = ((1.5, 1.5, 0.1), (1.5, 1.75, 0.1), (1.5, 2.0, 0.1), (1.65, 1.65, 0.1), (1.0, 1.0, 0.4))
"""`brisk`, the most for what is known by rote, and the longest pause that is left, seconds."""
OF_EACH = 20
SHORT = ("lever, guard?", "tight and shut: cut.", "tight and shut: cut, long line.")


def words_of(count: int) -> str:
    """As the voice says it, with nothing that a grammar can't hold."""
    return plain(clearly(f"{number(count)}.", "sure", "en"))


def plain(text: str) -> str:
    return normalise(text.replace(",", " ")).replace("-", " ")


def calls(many: int) -> list[str]:
    chance = random.Random(1)
    counted = [(n, circle) for circle in CIRCLES for n in range(1, circle)]
    return [f"Lock off. {number(n)} on {number(circle)}. Arms, lock."
            for n, circle in chance.sample(counted, many)]  # fmt: skip


def decoder() -> Decoder:
    """Every count on every circle, and the other few words."""
    listener = Decoder(samprate=RATE, loglevel="FATAL", bestpath=False,
                       beam=1e-48, pbeam=1e-48, wbeam=1e-30)  # fmt: skip
    counts = " | ".join(words_of(n) for n in range(1, max(CIRCLES)))
    circles = " | ".join(words_of(n) for n in CIRCLES)
    others = " | ".join(plain(each) for each in SHORT)
    listener.add_jsgf_string("cut", "#JSGF V1.0;\ngrammar cut;\n"
                             f"<count> = {counts} ;\n<circle> = {circles} ;\n"
                             "<call> = lock off <count> on <circle> arms lock ;\n"
                             f"public <said> = <call> | {others} ;\n")  # fmt: skip
    listener.activate_search("cut")
    return listener


def spoken(text: str, speech: SpeechSettings, rote: float, pause: float) -> Wave:
    synth.ROTE_MOST, synth.PAUSE_S = rote, pause
    made = synth.EspeakSynth(speech).speak(clearly(text, "sure", "en"), brief=pause < 0.4)
    return resample_sound(from_pcm(made.pcm), made.rate, RATE)


def main(many: int) -> None:
    listener, said = decoder(), calls(many)
    print(
        "| brisk | by rote | longest pause, s | s a call | wrong of "
        f"{many} calls at {' / '.join(map(str, SNRS))} dB | other words of {OF_EACH * len(SHORT)} |"
    )
    print("|---:|---:|---:|---:|---:|---:|")
    for brisk, rote, pause in PACES:
        speech = SpeechSettings(brisk=brisk)
        sounds = {text: spoken(text, speech, rote, pause) for text in said}
        wrong = [
            sum(
                heard(listener, in_noise(sound, snr, n)) != plain(clearly(text, "sure", "en"))
                for n, (text, sound) in enumerate(sounds.items())
            )
            for snr in SNRS
        ]
        short = [(text, in_noise(spoken(text, speech, rote, pause), 10, n))
                 for text in SHORT for n in range(OF_EACH)]  # fmt: skip
        lost = sum(heard(listener, sound) != plain(text) for text, sound in short)
        length = sum(map(len, sounds.values())) / RATE / many
        print(f"| {brisk} | {rote} | {pause} | {length:.2f} "
              f"| {' / '.join(map(str, wrong))} | {lost} |", flush=True)  # fmt: skip


if __name__ == "__main__":
    main(int(sys.argv[1]) if sys.argv[1:] else 100)
