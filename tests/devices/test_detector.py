"""The detector cuts sound into utterances. Its judge of voice is given, so as to be exact."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from assistant.hearing.endpointing import (
    CHUNK,
    CHUNK_S,
    MOST_S,
    RUN_UP_S,
    TRAIL_S,
    Detector,
    Ending,
    Segment,
)


def play(pattern: list[float]) -> list[Segment]:
    """Chunks whose probability of voice is given; each holds its own number in its samples."""
    judged = iter(pattern)
    detector = Detector(lambda chunk: next(judged))
    found: list[Segment] = []
    for number in range(len(pattern)):
        found += detector.feed(number.to_bytes(2, "little") * CHUNK)
    return found


def chunks(seconds: float) -> int:
    return round(seconds / CHUNK_S)


def numbers(segment: Segment) -> list[int]:
    pcm = segment.pcm
    return [int.from_bytes(pcm[at : at + 2], "little") for at in range(0, len(pcm), 2 * CHUNK)]


QUIET, VOICE, FAINT = 0.05, 0.9, 0.37


def test_an_utterance_has_its_run_up_and_no_gap() -> None:
    """Half a second before the voice is in it, and every chunk after that."""
    pattern = [QUIET] * chunks(2) + [VOICE] * chunks(1) + [QUIET] * chunks(1)
    whole = [s for s in play(pattern) if s.kind is Ending.WHOLE]
    assert len(whole) == 1
    seen = numbers(whole[0])
    assert seen == list(range(seen[0], seen[-1] + 1))
    assert chunks(2) - seen[0] >= RUN_UP_S / CHUNK_S
    assert (whole[0].start_s, whole[0].end_s) == (
        chunks(2) * CHUNK_S,
        (chunks(2) + chunks(1)) * CHUNK_S,
    )


def test_a_short_break_does_not_cut_a_phrase() -> None:
    """Two words with a quarter of a second between them are one utterance, looked at early."""
    gap = [QUIET] * chunks(0.25)
    pattern = [VOICE] * 15 + gap + [VOICE] * 15 + [QUIET] * chunks(TRAIL_S + 0.1)
    kinds = [s.kind for s in play(pattern)]
    assert kinds.count(Ending.WHOLE) == 1 and kinds[-1] is Ending.WHOLE
    assert set(kinds[:-1]) == {Ending.EARLY}


def test_faint_sounds_go_on_but_do_not_begin() -> None:
    """It begins at 0.4 and goes on down to 0.35."""
    assert play([FAINT] * 100) == []
    pattern = [VOICE] * 10 + [FAINT] * 20 + [QUIET] * 20
    (whole,) = [s for s in play(pattern) if s.kind is Ending.WHOLE]
    assert whole.end_s == 30 * CHUNK_S


def test_talk_and_clicks_are_refused_once() -> None:
    """Five seconds of voice is no phrase, nor is a tenth of one."""
    long = [VOICE] * chunks(MOST_S + 3) + [QUIET] * 30
    assert [s.kind for s in play(long)] == [Ending.TOO_LONG]
    assert [s.kind for s in play([VOICE] * 3 + [QUIET] * 30)] == [Ending.TOO_SHORT]


def test_forgetting_leaves_nothing_of_what_was_heard() -> None:
    """After a reset in the middle of a phrase its beginning is gone."""
    pattern = [VOICE] * 20 + [QUIET] * 20
    judged = iter(pattern)
    detector = Detector(lambda chunk: next(judged))
    for _ in range(20):
        detector.feed(b"\1\0" * CHUNK)
    detector.reset()
    assert not detector.speaking()
    assert detector.feed(b"\2\0" * CHUNK * 20) == []


@given(st.lists(st.integers(1, 3000), min_size=1, max_size=60))
def test_the_size_of_the_pieces_changes_nothing(sizes: list[int]) -> None:
    """A device may give blocks of any length."""
    data = bytes(range(256)) * 300
    pattern = ([QUIET] * 5 + [VOICE] * 15 + [QUIET] * 15) * 5

    def cut(pieces: list[bytes]) -> list[Segment]:
        judged = iter(pattern)
        detector = Detector(lambda chunk: next(judged))
        return [segment for piece in pieces for segment in detector.feed(piece)]

    pieces, at = [], 0
    for size in sizes:
        pieces.append(data[at : at + 2 * size])
        at += 2 * size
    pieces.append(data[at:])
    assert cut(pieces) == cut([data])
