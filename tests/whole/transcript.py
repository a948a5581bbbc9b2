"""What the loudspeaker said, written down by a recogniser: only the moves, by their grammar."""

from __future__ import annotations

import array
from functools import cache

from pocketsphinx import Decoder

RATE = 16000
_BLOCK = RATE // 50
_PAUSE_BLOCKS = 20  # 0.4 s: the pauses inside a move are shorter

_GRAMMAR = """#JSGF V1.0;
grammar moves;
<unit> = one | two | three | four | five | six | seven | eight | nine;
<teen> = ten | eleven | twelve | thirteen | fourteen | fifteen | sixteen | seventeen | eighteen
       | nineteen;
<tens> = twenty | thirty | forty;
<n> = <unit> | <teen> | <tens> [<unit>];
<turns> = <n> (turn | turns);
<holes> = <n> (hole | holes) on the <n> circle;
public <move> = <turns> [then <holes>] | <holes>;
"""


@cache
def _decoder() -> Decoder:
    decoder = Decoder(samprate=RATE, loglevel="FATAL", bestpath=False)
    decoder.add_jsgf_string("moves", _GRAMMAR)
    decoder.activate_search("moves")
    return decoder


def stretches(pcm: bytes, least: float = 1.2) -> list[bytes]:
    """The recording cut at its pauses, without the tones (shorter than `least` seconds)."""
    samples = array.array("h", pcm[: len(pcm) // 2 * 2])
    found: list[bytes] = []
    start, quiet = None, 0
    for at in range(0, len(samples), _BLOCK):
        block = samples[at : at + _BLOCK]
        if max(map(abs, block)) > 200:
            start = at if start is None else start
            quiet = 0
        elif start is not None:
            quiet += 1
            if quiet >= _PAUSE_BLOCKS:
                if at - start > least * RATE:
                    found.append(samples[max(0, start - _BLOCK * 5) : at].tobytes())
                start, quiet = None, 0
    return found


def heard_move(pcm: bytes) -> str:
    """The move that was most likely said in this stretch, in the recogniser's words, or ""."""
    decoder = _decoder()
    decoder.start_utt()
    decoder.process_raw(pcm, full_utt=True)
    decoder.end_utt()
    hypothesis = decoder.hyp()
    return hypothesis.hypstr if hypothesis else ""
