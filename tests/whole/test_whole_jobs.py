"""Whole jobs on real sound and real key presses, the program as a process of its own."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.engine.events import Command, Gesture, PedalUsed, PhraseHeard
from assistant.engine.phases import Step
from assistant.words.moves import move_words
from tests.engine.monitor import total
from tests.whole import screen as screens
from tests.whole import sound as sounds
from tests.whole.person import Bench, Foot, Hearing, Speaker
from tests.whole.transcript import heard_move, plain, stretches

pytestmark = [
    pytest.mark.live,
    pytest.mark.apart,
    pytest.mark.skipif(bool(sounds.missing()), reason=f"not here: {sounds.missing()}"),
    pytest.mark.skipif(bool(screens.missing()), reason=f"not here: {screens.missing()}"),
]

CUTS = 4  # whole sentences for three, and one that is called in one
# As few as have a first cut, a like one and a last; the move between them has turns and holes.
SPOKEN_CUTS = 3
JOB = """
title = "Notches of the mill's strike"
head = "three-plate-40"
[work]
kind = "angles"
angle = "40d"
count = {cuts}
"""
SETTINGS = """
[speech]
words_per_minute = {pace}
[pedal]
kind = "{pedal}"
[keyboard]
use = false
[screen]
kind = "lines"
[pace]
words = "{words}"
"""


@pytest.fixture
def sound(tmp_path: Path) -> Iterator[sounds.SoundServer]:
    with sounds.SoundServer(tmp_path / "sound") as server:
        yield server


@pytest.fixture
def hearing(sound: sounds.SoundServer) -> Iterator[Hearing]:
    listening = Hearing(sound)
    yield listening
    listening.close()


@pytest.fixture
def screen() -> Iterator[screens.Screen]:
    with screens.Screen() as server:
        yield server


class Shop:
    """Starts, kills and resumes the program with one set of settings and one data folder."""

    def __init__(
        self, folder: Path, env: dict[str, str], pedal: str, pace: int = 145, words: str = "few",
        cuts: int = CUTS,
    ) -> None:  # fmt: skip
        self.folder, self.env = folder, env
        self.config = folder / "tallyhand.toml"
        self.config.write_text(SETTINGS.format(pedal=pedal, pace=pace, words=words))
        self.job = folder / "notches.toml"
        self.job.write_text(JOB.format(cuts=cuts))
        self.benches: list[Bench] = []

    def start(self, *words: str | Path) -> Bench:
        bench = Bench([*words, "--config", self.config], self.folder / "data", self.env)
        self.benches.append(bench)
        return bench

    def close(self) -> None:
        for bench in self.benches:
            bench.close()


def last_gesture(bench: Bench) -> Gesture | None:
    """What the foot did, where that was the last thing that happened."""
    event = bench.entries()[-1].event
    return event.gesture if isinstance(event, PedalUsed) else None


def moves_recorded(bench: Bench) -> list[str]:
    """The moves that were announced, from the journal."""
    reading = bench.reading()
    assert reading
    said = []
    before = Step.SET_UP
    for entry in reading.entries:
        if (before, entry.state.step) in ((Step.RELEASE, Step.INDEX), (Step.CUT, Step.CALL)):
            said.append(move_words(reading.programme.moves[entry.state.place - 1]))
        before = entry.state.step
    return said


def finished_once(bench: Bench, cuts: int = CUTS) -> None:
    """All cuts, each counted once, and the program left by itself."""
    reading = bench.reading()
    assert reading and reading.state.step is Step.FINISHED
    counts = [total(reading.programme, entry.state) for entry in reading.entries]
    assert counts == sorted(counts) and set(counts) == set(range(cuts + 1))
    assert bench.process.wait(60) == 0


@pytest.mark.slow(300)
def test_a_job_by_voice_alone(tmp_path: Path, sound: sounds.SoundServer, hearing: Hearing) -> None:
    """Every answer is spoken into the microphone; what the speaker said is what was recorded."""
    shop = Shop(tmp_path, sound.env, pedal="none", words="whole", cuts=SPOKEN_CUTS)
    bench = shop.start("run", shop.job)
    person = Speaker(bench, sound, hearing, voice="flite:slt")
    bench.wait_for_step(Step.SET_UP)
    person.work_to(Step.FINISHED)
    finished_once(bench, SPOKEN_CUTS)
    recorded = moves_recorded(bench)
    assert len(recorded) == SPOKEN_CUTS
    like = recorded[:-1]  # the last goes all the way home
    assert len(set(like)) == 1
    # A move of turns and holes takes four to five seconds to say; the rest is not looked at.
    long_enough = [each for each in stretches(hearing.kept, 3.5) if len(each) < 6 * 32000]
    heard = [text for stretch in long_enough if (text := heard_move(stretch))]
    wanted = plain(like[0])
    # The recogniser is the weaker side: on a busy machine it drops a word now and then.
    exact = sum(text == wanted for text in heard)
    same_turns_and_holes = sum(text.startswith(wanted.rsplit(" on ", 1)[0]) for text in heard)
    assert exact >= 1 and same_turns_and_holes >= len(like) - 1, heard
    answers = [
        entry.event
        for entry in bench.entries()
        if isinstance(entry.event, PhraseHeard) and entry.event.accepted
    ]
    assert sum(event.command is Command.LOCKED for event in answers) >= SPOKEN_CUTS
    print(f"{person.said} phrases said, {person.missed} not heard at the first try")
    shop.close()


@pytest.mark.slow(80)
def test_a_job_by_pedal_alone(
    tmp_path: Path, sound: sounds.SoundServer, hearing: Hearing, screen: screens.Screen
) -> None:
    """Every answer is a real key press through a real X server."""
    env = {**sound.env, "DISPLAY": screen.display, "XDG_CONFIG_HOME": str(tmp_path / "config")}
    shop = Shop(tmp_path, env, pedal="x")
    foot = Foot(screen, hearing, "F9")
    foot.teach(shop.config, env)
    bench = shop.start("run", shop.job)
    bench.wait_for_step(Step.SET_UP)
    foot.work_to(bench, Step.FINISHED)
    finished_once(bench)
    presses = [entry.event for entry in bench.entries() if isinstance(entry.event, PedalUsed)]
    assert all(event.gesture is Gesture.PRESS for event in presses)
    reading = bench.reading()
    assert reading
    items = len(reading.programme.checklist)
    # Lock, guard and cut each; lock off and pin for the second, the third and the way home, whose
    # close is an answer of its own: the fourth is called in one.
    assert items + CUTS * 3 + 3 * 2 + 1 <= len(presses) <= foot.presses
    shop.close()


@pytest.mark.slow(200)
def test_a_mixed_job_with_everything_that_happens(
    tmp_path: Path, sound: sounds.SoundServer, hearing: Hearing, screen: screens.Screen
) -> None:
    """Voice and pedal by turns, a pause, a say-again, an overshoot, and a kill in the middle."""
    env = {**sound.env, "DISPLAY": screen.display, "XDG_CONFIG_HOME": str(tmp_path / "config")}
    shop = Shop(tmp_path, env, pedal="x", pace=200)
    foot = Foot(screen, hearing, "F9")
    foot.teach(shop.config, env)
    bench = shop.start("run", shop.job)
    person = Speaker(bench, sound, hearing, voice="flite:slt")
    bench.wait_for_step(Step.SET_UP)
    foot.work_to(bench, Step.CUT)
    person.say("cut done")
    foot.work_to(bench, Step.INDEX)

    person.say("went past the hole")
    bench.wait_for_step(Step.BACK_OFF)
    person.say("half turn back")
    person.say("pin is home")
    bench.wait_for_step(Step.LOCK)

    person.say("say again")
    foot.say_again()
    bench.wait(lambda: last_gesture(bench) is Gesture.SHORT_HOLD, "say again")
    foot.hold()
    bench.wait_for_step(Step.PAUSED)
    person.say("carry on now")
    bench.wait_for_step(Step.LOCK)

    foot.work_to(bench, Step.CUT)
    before = bench.entries()
    bench.kill()
    assert [entry.seq for entry in bench.entries()] == [entry.seq for entry in before]

    again = shop.start("resume")
    again.wait_for_step(Step.CHECK_POSITION)
    assert total(again.reading().programme, again.entries()[-1].state) == 1  # type: ignore[union-attr]
    person.bench = again
    person.say("place is certain")
    again.wait_for_step(Step.LOCK)
    person.say("spindle locked")
    foot.work_to(again, Step.FINISHED)
    finished_once(again)
    shop.close()
