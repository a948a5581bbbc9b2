"""What the loudspeaker said, written down by a recogniser: only the moves, by their grammar."""

from __future__ import annotations

import array
import re
from collections import Counter
from functools import cache

from pocketsphinx import Decoder

from assistant.engine.phrases import normalise

RATE = 16000
LOUD = 60  # of 32767: our loudspeaker is digital, so silence is exact
_BLOCK = RATE // 200  # 5 ms
_PAUSE_S = 0.4  # the pauses inside a move are shorter

# The circles are those of the three-plate head: no other can be called.
_GRAMMAR = """#JSGF V1.0;
grammar moves;
<unit> = one | two | three | four | five | six | seven | eight | nine;
<teen> = ten | eleven | twelve | thirteen [one three] | fourteen [one four] | fifteen [one five]
       | sixteen [one six] | seventeen [one seven] | eighteen [one eight] | nineteen [one nine];
<tens> = thirty [three zero] | forty [four zero];
<n> = <unit> | <teen> | twenty | <tens> | (twenty | thirty | forty) <unit>;
<turns> = <n> (turn | turns);
<circle> = fifteen [one five] | sixteen [one six] | seventeen [one seven] | eighteen [one eight]
         | nineteen [one nine] | twenty | twenty one
         | twenty three | twenty seven | twenty nine | thirty one | thirty three | thirty seven
         | thirty nine | forty one | forty three | forty seven | forty nine;
<holes> = <n> (hole | holes) on the <circle> circle;
public <move> = <turns> [then <holes>] | <holes>;
"""


@cache
def _decoder() -> Decoder:
    wide = {"beam": 1e-80, "pbeam": 1e-80, "wbeam": 1e-60}
    decoder = Decoder(samprate=RATE, loglevel="FATAL", bestpath=False, **wide)
    decoder.add_jsgf_string("moves", _GRAMMAR)
    decoder.activate_search("moves")
    return decoder


def stretches(pcm: bytes, least: float = 1.2) -> list[bytes]:
    """The recording cut at its pauses, each piece without the short tone that leads it."""
    samples = array.array("h", pcm[: len(pcm) // 2 * 2])
    groups: list[list[tuple[int, int]]] = []
    for start, end in _bursts(samples):
        if groups and start - groups[-1][-1][1] < _PAUSE_S * RATE:
            groups[-1].append((start, end))
        else:
            groups.append([(start, end)])
    found = []
    for group in groups:
        words = _without_tone(group)
        if words and words[-1][1] - words[0][0] > least * RATE:
            found.append(_padded(samples[words[0][0] : words[-1][1]]))
    return found


def _bursts(samples: array.array[int]) -> list[tuple[int, int]]:
    """Stretches of sound; a silence of 15 ms ends one."""
    found: list[tuple[int, int]] = []
    for at in range(0, len(samples), _BLOCK):
        if max(map(abs, samples[at : at + _BLOCK])) <= LOUD:
            continue
        if found and at - found[-1][1] <= _BLOCK * 2:
            found[-1] = (found[-1][0], at + _BLOCK)
        else:
            found.append((at, at + _BLOCK))
    return found


def _without_tone(group: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """The notes of the tones are shorter than any word that leads a sentence."""
    first = next((n for n, (start, end) in enumerate(group) if end - start > 0.13 * RATE), None)
    return [] if first is None else group[first:]


def _padded(samples: array.array[int]) -> bytes:
    """A little silence round the words, as the recogniser expects."""
    silence = bytes(2 * RATE // 4)
    return silence + samples.tobytes() + silence


def heard_move(pcm: bytes) -> str:
    """The move that was most likely said in this stretch, or "".

    The recogniser's frames fall differently on each recording of the same words, which at
    times turns "twelve" into "two": it listens at several offsets, and they vote.
    """
    heard = Counter(_decode(bytes(2 * offset) + pcm) for offset in range(0, 160, 32))
    return heard.most_common(1)[0][0]


def _decode(pcm: bytes) -> str:
    decoder = _decoder()
    decoder.start_utt()
    decoder.process_raw(pcm, full_utt=True)
    decoder.end_utt()
    hypothesis = decoder.hyp()
    return plain(hypothesis.hypstr) if hypothesis else ""


def plain(text: str) -> str:
    """Numbers and nouns as the grammar writes them: "turns" and "turn" sound alike."""
    words = normalise(text).replace("holes", "hole").replace("turns", "turn").split()
    return _SURE.sub(r"\1", " ".join(words))


# The voice says the digits of a number that could be mistaken after it: they are one number.
_SURE = re.compile(
    "(thirteen|fourteen|fifteen|sixteen|seventeen|eighteen|nineteen|thirty|forty) "
    "(?:one (?:three|four|five|six|seven|eight|nine)|three zero|four zero)"
)
