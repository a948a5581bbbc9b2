"""With a headset: what is said over the program's own voice is heard, and that voice never is.

The real ear, the program's own voice and synthetic ones; mixed, no headset was recorded.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from assistant.devices.sound.loudness import level
from assistant.devices.sound.streams import LATENCY_S, Format
from assistant.engine.engine import Refuse, Say, advance
from assistant.engine.events import Command, Gesture, Ground, PedalUsed, PhraseHeard, SessionStarted
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.hearing import over_own_voice
from assistant.hearing.over_own_voice import OURS, FarEnd, likeness, stems
from assistant.hearing.waves import read_sound, to_pcm
from assistant.job.programme import heeding
from tests.engine.jobs import programme
from tests.hearing.headset import RATE, Desk, as_it_says, at_level
from tests.whole.sound import missing, speech

pytestmark = pytest.mark.skipif(bool(missing()), reason=f"not here: {missing()}")

LONG = "Pin at the second arm? Swing the arms on to the pin. Lock the spindle."
CALL = "Lock off. Eight on twenty, middle line. Arms. Pin at the mark. Scale eighteen. Lock."


@cache
def of_lock_guard_and_cut() -> tuple[tuple[str, bool], ...]:
    """Every sentence of a job that names one of them, and whether it is said briskly."""
    job = heeding(programme(9), whole_cuts=3, remind_every=0)
    state, found = State(), dict[tuple[str, bool], None]()
    state, effects = advance(job, state, SessionStarted(0.0))
    while state.step is not Step.FINISHED:
        for each in effects:
            if isinstance(each, Say) and {"lock", "guar", "cut", "tigh"} & stems(each.text):
                found[each.text, each.brief] = None
        state, effects = advance(job, state, PedalUsed(0.0, Gesture.PRESS))
    return tuple(found)


@pytest.mark.parametrize("leak", [-40.0, -20.0])
def test_a_phrase_over_our_own_voice_is_heard(leak: float, tmp_path: Path) -> None:
    """By three voices, early and late in the sentence, and nothing else is."""
    desk = Desk(tmp_path, leak).known()
    asked = (("where am I", Command.WHERE_AM_I), ("how many left", Command.HOW_MANY_LEFT))
    for voice, after_s in (("flite:slt", 0.3), ("flite:awb", 0.8), ("espeak:en-us+f3", 0.6)):
        for phrase, command in asked:
            heard = [each.command for each in desk.say(LONG, phrase, after_s, voice)]
            assert heard == [command], (voice, phrase)
            assert desk.over.stands_out(desk.hearer)


@pytest.mark.parametrize("leak", [-40.0, -20.0, -10.0])
def test_our_own_voice_confirms_nothing(leak: float, tmp_path: Path) -> None:
    """Every sentence that names lock, guard or cut, faint and loud at the microphone: no command
    comes of it, taken or not. The loudest leaves the ear shut."""
    desk = Desk(tmp_path, leak).known()
    assert desk.over.stands_out(desk.hearer) is (leak < -10)
    sentences = of_lock_guard_and_cut()
    assert len(sentences) >= 20 and ("Tight and shut: cut.", True) in sentences
    for text, brief in sentences:
        heard = desk.say(text, brief=brief)
        assert not [each for each in heard if each.command or each.accepted], text


@pytest.mark.parametrize("leak", [-10.0, 6.0])
@pytest.mark.parametrize("by", ["sound", "words"])
def test_a_headset_that_is_taken_off(
    by: str, leak: float, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Our own voice is loud all at once, in a voice that the ear understands best, and says the
    phrases themselves: its sound alone gives it away, and so do its words alone."""
    if by == "words":
        monkeypatch.setattr(over_own_voice, "ALIKE", 2.0)
    desk = Desk(tmp_path, -40.0).known()
    known, desk.leak = list(desk.over._own), leak
    for phrase in ("spindle locked", "guard closed", "cut done", "lock is off", "pin is home"):
        desk.over._own.extend(known)  # as if it were for the first time
        own = at_level(read_sound(speech(phrase, "flite:slt", tmp_path)), 0.0)
        desk.saying = [phrase]
        heard = desk.say(phrase if by == "words" else "Nothing.", own=own)
        assert OURS in [each.why for each in heard], phrase
        assert not [each for each in heard if each.command or each.accepted], phrase


def test_a_loudspeaker_in_place_of_a_headset_is_told(tmp_path: Path) -> None:
    """Once five sentences are known; with a headset it never is."""
    for leak, told in ((-10.0, True), (-40.0, False)):
        desk = Desk(tmp_path, leak).known()
        assert not desk.over.too_like(desk.hearer)
        desk.say(LONG)
        desk.say(LONG)
        assert desk.over.too_like(desk.hearer) is told


def test_it_is_shut_until_both_voices_are_known(tmp_path: Path) -> None:
    """Nothing is heard over our own voice before, nor where nobody knows how loud we are."""
    desk = Desk(tmp_path)
    assert desk.say(LONG, "where am I") == [] and not desk.over.stands_out(desk.hearer)
    for phrase in ("how many left", "what is next", "where am I"):
        assert [each.accepted for each in desk.person(phrase)] == [True]
    assert desk.say(LONG, "where am I") == [] and not desk.over.stands_out(desk.hearer)


def test_an_answer_in_the_words_that_are_being_said_is_not_taken(tmp_path: Path) -> None:
    """ "Guard closed" over the sentence that asks for the guard; what else is said counts."""
    desk = Desk(tmp_path).known()
    asked = "Lock lever tight? Guard closed, hands clear?"
    assert [each.why for each in desk.say(asked, "guard closed")] == [OURS]
    assert [each.command for each in desk.say(asked, "cut done")] == [Command.CUT_DONE]


def test_who_speaks_over_each_sentence_is_not_learned_as_our_own_voice(tmp_path: Path) -> None:
    """Refused for its words or taken: the next is heard as well as the first."""
    desk = Desk(tmp_path).known()
    for _ in range(4):
        assert [each.why for each in desk.say(LONG, "spindle locked")] == [OURS]
        assert [each.accepted for each in desk.say(LONG, "say again")] == [True]
    assert max(desk.over._own) < -40


def test_a_shop_does_not_seem_quiet_for_what_is_left_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In the place of our own voice the ear gets noise as loud as the shop's."""
    desk = Desk(tmp_path, -40.0, noise=-25.0).known()
    before = desk.hearer.noise
    assert before is not None and desk.over.stands_out(desk.hearer)
    given: list[bytes] = []
    monkeypatch.setattr(desk.hearer, "feed", lambda pcm: given.append(pcm) or [])
    desk.say(CALL)
    pcm = b"".join(given)
    levels = [level(pcm[at : at + 3200]) for at in range(0, len(pcm) - 3200, 3200)]
    assert len(levels) > 40 and min(levels) > before - 3.0


def test_the_shop_does_not_seem_louder_with_each_sentence(tmp_path: Path) -> None:
    """What stands for the shop while we speak is not measured as the shop."""
    desk = Desk(tmp_path, -40.0, noise=-25.0).known()
    before = desk.hearer.noise
    for _ in range(10):
        desk.say(CALL, "say again", 1.5)
    assert before is not None and desk.hearer.noise == pytest.approx(before, abs=2.0)
    assert desk.over.stands_out(desk.hearer)


def test_what_we_played_is_put_together_without_gaps() -> None:
    """Pieces come early and late; silence between two sentences stays."""
    far, tone = FarEnd(), as_it_says("Two done.")[: RATE // 2]
    for n in range(25):
        piece = to_pcm(tone[n * 320 : (n + 1) * 320])
        far.take(piece, Format(RATE, 1), 10.0 + 0.02 * n + (0.015 if n % 3 else 0.0) - LATENCY_S)
    assert likeness(tone, far.between(9.5, 11.0)) > 0.99
    assert not far.between(11.0, 12.0).any() and not far.between(8.0, 9.9).any()
    assert far.between(9.5, 11.0)[: RATE // 2 - 10].max() == 0.0


def test_an_answer_for_the_cut_before_its_question_is_told() -> None:
    """Said over the sentence that asks for it: too soon, for a voice as for lock and guard."""
    job = programme(9)
    state, _ = advance(job, State(), SessionStarted(0.0))
    while state.step is not Step.CUT:
        state, _ = advance(job, state, PedalUsed(0.0, Gesture.PRESS))
    done = PhraseHeard(0.0, "cut done", Command.CUT_DONE, began_at=5.0, waited=0.8)
    after, effects = advance(job, state, done)
    assert after.step is Step.CUT and after.done == state.done
    assert [each.ground for each in effects if isinstance(each, Refuse)] == [Ground.TOO_SOON]
    after, _ = advance(job, state, PhraseHeard(0.0, "cut done", Command.CUT_DONE))
    assert after.done == state.done + 1


def test_words_are_told_by_how_they_begin() -> None:
    assert stems("Lock lever tight?") & stems("spindle locked")
    assert not stems("Eight on twenty.") & stems("where am I")
    assert likeness(np.zeros(10, np.float32), np.zeros(10, np.float32)) == 0.0
