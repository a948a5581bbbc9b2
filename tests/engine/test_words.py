"""What is said, as a machinist would say it, and a whole job played through in order."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

import pytest

from assistant.engine import wording
from assistant.engine.engine import Announce, Refuse, Say, Signal, advance
from assistant.engine.events import (
    Command,
    CommandGiven,
    Device,
    DeviceLost,
    DeviceReturned,
    DeviceTroubled,
    Event,
    Gesture,
    PedalUsed,
    PhraseHeard,
    SessionResumed,
    SessionStarted,
    SizeGiven,
    Source,
    SpeechFailed,
    Tone,
    Trouble,
    TrustChanged,
)
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.job.programme import Programme
from assistant.words import moves
from solver import Move
from tests.engine.jobs import programme, size

PRESS = PedalUsed(0.0, Gesture.PRESS)


def say(command: Command, confidence: float = 1.0) -> PhraseHeard:
    return PhraseHeard(0.0, command.value, command, confidence)


class Played:
    """A session played event by event, with everything that was said."""

    def __init__(self, job: Programme) -> None:
        self.job = job
        self.state = State()
        self.said: list[str] = []
        self.effects: list[object] = []
        self.feed(SessionStarted(0.0))

    def feed(self, *events: Event) -> str:
        for event in events:
            self.state, self.effects = advance(self.job, self.state, event)  # type: ignore[assignment]
            self.said += [effect.text for effect in self.effects if isinstance(effect, Say)]
        return self.said[-1]

    def to(self, step: Step) -> Played:
        for _ in range(200):
            if self.state.step is step:
                return self
            self.feed(PRESS)
        raise AssertionError(f"never came to {step}")


@pytest.mark.parametrize(
    ("move", "words", "figures"),
    [
        (
            Move(turns=4, holes=8, circle=18),
            "Four turns, then eight holes on the eighteen circle.",
            "4 turns + 8 holes on 18",
        ),
        (Move(turns=5, circle=20), "Five turns.", "5 turns"),
        (Move(turns=1, circle=20), "One turn.", "1 turn"),
        (Move(holes=1, circle=49), "One hole on the forty-nine circle.", "1 hole on 49"),
        (
            Move(direct_holes=4, direct_circle=24),
            "Four holes on the direct plate of twenty-four.",
            "4 of 24 direct",
        ),
        (
            Move(turns=1, minutes=Fraction(90)),
            "One turn, then one degree thirty minutes on the handwheel.",
            "1 turn + 1° 30′",
        ),
        (
            Move(holes=10, circle=15, plate_holes=2, plate_circle=17),
            "Ten holes on the fifteen circle. Then plate and crank together forward, two holes on "
            "the seventeen at the back pin.",
            "10 holes on 15 + plate +2 on 17",
        ),
    ],
)
def test_a_move_is_spoken_as_a_machinist_would(move: Move, words: str, figures: str) -> None:
    """Whole turns first, then holes and circle; what is nought is not mentioned."""
    assert moves.move_words(move) == words
    assert moves.move_figures(move) == figures


def test_a_whole_job_by_presses() -> None:
    """Set-up, then release, index, lock, guard, cut for each; the closing move; finished."""
    played = Played(programme(3, items=2))
    phases = [played.state.step]
    moves = 0
    while played.state.step is not Step.FINISHED:
        played.feed(PRESS)
        phases.append(played.state.step)
        moves += sum(isinstance(effect, Announce) for effect in played.effects)
    cut = [Step.LOCK, Step.GUARD, Step.CUT]
    move = [Step.RELEASE, Step.INDEX]
    assert phases == [
        Step.SET_UP, Step.SET_UP, *cut, *move, *cut, *move, *cut, *move,
        Step.CLOSING_CHECK, Step.FINISHED,
    ]  # fmt: skip
    assert moves == 3


def test_the_safety_words_come_first_and_at_each_start() -> None:
    """Once at the start of each session, also of a resumed one: what can't be seen or stopped."""
    played = Played(programme(3))
    assert played.said[0] == wording.SAFETY
    played.to(Step.CUT).feed(SessionResumed(1.0))
    assert played.said.count(wording.SAFETY) == 2


def test_an_overshoot_is_talked_through() -> None:
    """Half a turn back, then up again in the working direction, then the lock is asked for."""
    played = Played(programme(3)).to(Step.INDEX)
    assert "back half a turn" in played.feed(say(Command.OVERSHOT))
    assert "come up in the working direction" in played.feed(say(Command.BACKED_OFF))
    assert "Lock the spindle." in played.feed(say(Command.PINNED))


def test_on_a_handwheel_no_answer_speaks_of_a_hole() -> None:
    """Its steps are read on a dial: whatever is asked or done at any step, no hole, and no
    pin but in the phrases, which are names."""
    move = Move(turns=8, minutes=Fraction(240))
    dial = replace(
        programme(7),
        moves=(move,) * 7,
        method="nearest",
        worm_ratio=Fraction(60),
        plate="",
        arms_used=False,
    )
    step_by_step = Played(dial)
    for _ in range(24):
        for command in Command:
            _, effects = advance(dial, step_by_step.state, say(command))
            texts = [getattr(effect, "text", getattr(effect, "reason", "")) for effect in effects]
            words = re.sub(r"say (pin is home|went past the hole)", "", " ".join(texts))
            assert not re.search(r"\b(holes?|pin)\b", words), (command, texts)
        step_by_step.feed(PRESS)
    assert step_by_step.state.done > 2


def test_an_overshoot_seen_late_takes_the_lock_off_first() -> None:
    """The crank is never turned with the lock on."""
    played = Played(programme(3)).to(Step.INDEX).to(Step.CUT)
    assert "lock off first" in played.feed(say(Command.OVERSHOT))
    assert played.state.step is Step.FREE and played.state.locked
    played.feed(PRESS)
    assert played.state.step is Step.BACK_OFF and not played.state.locked


def test_a_lost_count_says_the_last_certain_place_and_the_scale() -> None:
    """It goes on only after an answer, from the last confirmed hole."""
    played = Played(programme(9)).to(Step.RELEASE).to(Step.INDEX).to(Step.CUT).to(Step.INDEX)
    words = played.feed(say(Command.LOST_COUNT))
    assert played.state.step is Step.CHECK_POSITION
    assert "the hole of cut two" in words
    assert "The scale should read forty degrees." in words
    refused, _ = advance(played.job, played.state, say(Command.PINNED))
    assert refused == played.state
    played.feed(say(Command.PLACE_RIGHT))
    assert played.state.step is Step.RELEASE


def test_a_count_lost_after_the_move_goes_back_to_the_last_cut() -> None:
    """The move just confirmed is in doubt; the cut before it can be tried with the cutter."""
    played = Played(programme(9)).to(Step.RELEASE).to(Step.GUARD)
    words = played.feed(say(Command.LOST_COUNT))
    assert "the hole of cut one" in words
    assert "Try the stopped cutter in the last cut." in words


def test_the_pin_is_looked_for_at_the_arm_right_after_a_move_only() -> None:
    """Once the arms have been swung on, the second arm shows nothing any more."""
    played = Played(programme(9)).to(Step.RELEASE).to(Step.LOCK)
    assert played.said[-1].startswith("Pin at the second arm? Swing the arms on to the pin.")
    played.feed(say(Command.PAUSE), PRESS)
    assert played.state.step is Step.LOCK and "second arm" not in played.said[-1]


def test_the_scale_is_called_where_it_pays() -> None:
    """After every move with whole turns; without them at every third cut and the last."""

    def called(job: Programme) -> list[int]:
        played, places = Played(job), []
        while played.state.step is not Step.FINISHED:
            words = played.feed(PRESS)
            if played.state.step is Step.LOCK and "scale should" in words:
                places.append(played.state.place)
        return places

    assert called(programme(9)) == [1, 2, 3, 4, 5, 6, 7, 8]
    few = replace(programme(9), moves=(Move(holes=4, circle=18),) * 9)
    assert called(few) == [3, 6, 8]


def test_the_scale_is_called_every_few_cuts_and_when_asked() -> None:
    """The degree scale is the witness for a miscounted turn."""
    played = Played(programme(9, scale_every=3))
    called = []
    while played.state.step is not Step.FINISHED:
        words = played.feed(PRESS)
        if played.state.step is Step.LOCK and "scale should read" in words:
            called.append(played.state.place)
    assert called == [3, 6, 8]
    asked = Played(programme(9)).to(Step.RELEASE).feed(say(Command.WHERE_AM_I))
    assert "scale should" in asked


def test_a_head_with_no_scale_speaks_of_none() -> None:
    """No reading is named that the person can't take."""
    job = replace(programme(9), scale_degrees=Fraction(0))
    played = Played(job)
    while played.state.step is not Step.FINISHED:
        played.feed(PRESS, say(Command.WHERE_AM_I))
    assert not any("scale" in words.lower() for words in played.said)


def test_what_next_names_no_figures_while_the_lock_is_on() -> None:
    """A move called while the spindle is locked would be turned against the lock."""
    played = Played(programme(9)).to(Step.CUT)
    words = played.feed(say(Command.WHAT_NEXT))
    assert "turns" not in words and "lock comes off" in words


def test_what_next_in_the_set_up_is_the_item_behind_this_one() -> None:
    """Asked at every item, it tells the one that comes, and at the last one the first cut."""
    played = Played(programme(9, items=3))
    items = played.job.items(1)
    for n, after in enumerate(items[1:]):
        assert played.state.item == n
        words = played.feed(say(Command.WHAT_NEXT))
        assert after in words and items[n] not in words
        played.feed(PRESS)
    assert played.feed(say(Command.WHAT_NEXT)).endswith("then cut one.")


@pytest.mark.parametrize("step", [Step.LOCK, Step.GUARD, Step.CUT, Step.INDEX, Step.RELEASE])
def test_the_wrong_confirmation_is_refused_with_what_is_awaited(step: Step) -> None:
    """A confirmation counts only for the question that it names."""
    played = Played(programme(9)).to(Step.RELEASE).to(step)
    before = played.state
    words = played.feed(say(Command.CHECKED))
    assert played.state == before
    assert words == f"Not now. I wait for {wording.awaited_words(played.job, step)}."
    assert Signal(Tone.REFUSED) in played.effects


@pytest.mark.parametrize(
    ("step", "command", "confidence", "taken"),
    [
        (Step.LOCK, Command.LOCKED, 0.89, False),
        (Step.LOCK, Command.LOCKED, 0.9, True),
        (Step.GUARD, Command.GUARDED, 0.89, False),
        (Step.GUARD, Command.GUARDED, 0.9, True),
        (Step.CUT, Command.CUT_DONE, 0.59, False),
        (Step.CUT, Command.CUT_DONE, 0.6, True),
    ],
)
def test_lock_and_guard_need_a_surer_ear(
    step: Step, command: Command, confidence: float, taken: bool
) -> None:
    """A half-heard phrase never confirms; lock and guard ask for more than the rest."""
    played = Played(programme(3)).to(step)
    played.feed(say(command, confidence))
    assert (played.state.step is not step) == taken
    assert any(isinstance(effect, Refuse) for effect in played.effects) != taken


@pytest.mark.parametrize(
    ("step", "waited", "taken"),
    [
        # Lock and guard: not before their question can have been said.
        *((Step.LOCK, waited, waited > 3) for waited in (-3.0, 0.0, 0.2, 1.0, 30.0)),
        # What is asked after every other question is known by then: a reaction's time.
        *((Step.RELEASE, waited, waited >= 0.2) for waited in (-3.0, 0.0, 0.19, 0.2, 30.0)),
    ],
)
def test_a_press_counts_only_after_its_question_was_heard(
    step: Step, waited: float, taken: bool
) -> None:
    """A press made before the question could be heard answers nothing; the question is repeated."""
    played = Played(programme(3)).to(step)
    words = played.feed(PedalUsed(9.0, Gesture.PRESS, waited=waited))
    assert (played.state.step is not step) == taken
    first = {Step.LOCK: "First hole, no move yet. Lock the spindle.", Step.RELEASE: "One done,"}
    assert words.startswith(f"Too soon. {first[step]}") != taken


def test_a_hold_and_a_double_count_at_any_time() -> None:
    """Pausing and asking again confirm nothing, so they need no question before them."""
    for gesture in (Gesture.DOUBLE, Gesture.HOLD):
        played = Played(programme(3)).to(Step.LOCK)
        played.feed(PedalUsed(9.0, gesture, waited=-1.0))
        assert not any(isinstance(effect, Refuse) for effect in played.effects)


def test_chatter_does_nothing() -> None:
    """Speech that is none of our phrases has no effect, no tone and no answer."""
    played = Played(programme(3)).to(Step.LOCK)
    before = played.state
    _, effects = advance(
        played.job, before, PhraseHeard(0.0, "pass the file", None, 0.9, accepted=False)
    )
    assert effects == []


def test_a_hold_says_where_and_pauses() -> None:
    """Holding the pedal: where am I, and the job is set aside until the person is back."""
    played = Played(programme(3)).to(Step.CUT)
    played.feed(PedalUsed(0.0, Gesture.HOLD))
    assert played.state.step is Step.PAUSED
    assert "Cut one of three" in played.said[-2] and "Paused" in played.said[-1]
    played.feed(say(Command.CARRY_ON))
    assert played.state.step is Step.LOCK and not played.state.locked


def test_a_half_made_move_is_not_trusted_after_a_pause() -> None:
    """Paused while cranking: the position is checked before anything goes on."""
    played = Played(programme(3)).to(Step.INDEX)
    played.feed(say(Command.PAUSE), PRESS)
    assert played.state.step is Step.CHECK_POSITION


def test_say_again_repeats_the_last_words() -> None:
    """Two presses, or the phrase: the last sentence once more, and nothing else changes."""
    played = Played(programme(9)).to(Step.INDEX)
    words = played.said[-1]
    before = played.state
    assert played.feed(PedalUsed(0.0, Gesture.DOUBLE)) == words
    assert played.state == before
    assert not any(isinstance(effect, Announce) for effect in played.effects)


def test_a_device_in_trouble_is_said() -> None:
    """A pedal that stays down, a contact that chatters, a cat on the keyboard."""
    played = Played(programme(3)).to(Step.LOCK)
    before = played.state.step
    assert "pedal stays down" in played.feed(DeviceTroubled(0.0, Device.PEDAL, Trouble.STUCK))
    assert "pedal chatters" in played.feed(DeviceTroubled(0.0, Device.PEDAL, Trouble.CHATTERING))
    words = played.feed(DeviceTroubled(0.0, Device.KEYBOARD, Trouble.LEANED_ON))
    assert "leans on the keyboard" in words
    assert played.state.step is before


def test_too_loud_is_said_once_and_leaves_lock_and_guard_to_the_foot() -> None:
    """From then on a voice, however sure, confirms neither; pedal and key do; all else goes on."""
    played = Played(programme(3)).to(Step.LOCK)
    loud = TrustChanged(0.0, trusted=False, noise=-21.0, snr=1.5)
    assert played.feed(loud) == wording.TOO_LOUD
    assert Signal(Tone.ATTENTION) in played.effects
    assert advance(played.job, played.state, loud) == (played.state, [])
    for command, step in ((Command.LOCKED, Step.LOCK), (Command.GUARDED, Step.GUARD)):
        assert played.state.step is step
        before = played.state
        assert played.feed(say(command, 1.0)) == wording.TOO_LOUD
        assert played.state == before
        played.feed(PRESS)
    played.feed(say(Command.CUT_DONE))
    assert played.state.step is Step.RELEASE
    played.to(Step.LOCK).feed(CommandGiven(0.0, Command.LOCKED, Source.KEYBOARD))
    assert played.state.step is Step.GUARD


def test_quiet_again_is_said_and_the_voice_counts() -> None:
    """Said once; "say again" repeats the question, not the news."""
    played = Played(programme(3)).to(Step.LOCK)
    quiet = TrustChanged(0.0, trusted=True)
    assert advance(played.job, played.state, quiet) == (played.state, [])
    played.feed(TrustChanged(0.0, trusted=False))
    assert played.feed(quiet) == wording.QUIET_AGAIN
    assert "Lock the spindle" in played.feed(say(Command.SAY_AGAIN))
    played.feed(say(Command.LOCKED))
    assert played.state.step is Step.GUARD


def test_too_loud_outlasts_a_stage_but_no_restart() -> None:
    """Another setting of the job is the same shop; a new ear has judged nothing yet."""
    job = programme(1, then=programme(2, name="the holes"))
    played = Played(job).to(Step.CLOSING_CHECK)
    played.feed(TrustChanged(0.0, trusted=False), PRESS)
    assert played.state.stage == 1 and played.state.too_loud
    played.feed(SessionResumed(0.0))
    assert not played.state.too_loud


def test_half_a_phrase_is_asked_again_only_where_it_makes_sense() -> None:
    """Talk that sounds a little like a phrase of another step gets no answer at all."""
    played = Played(programme(3)).to(Step.LOCK)
    doubtful = PhraseHeard(0.0, "spindle locked", Command.LOCKED, 0.7, accepted=False)
    assert played.feed(doubtful) == (
        "I am not sure that I heard spindle locked. Say it again, or press the pedal."
    )
    talk = PhraseHeard(0.0, "cut done", Command.CUT_DONE, 0.7, accepted=False)
    assert advance(played.job, played.state, talk) == (played.state, [])


@pytest.mark.parametrize(
    ("ears", "words"),
    [
        ("trained", "I listen with the built-in ear."),
        ("head", "I listen with the built-in ear."),
        ("vosk+head", "I listen with your Vosk model. Lock and guard count only when the "
         "built-in ear agrees."),
        ("none", "I am not listening. Answer by pedal or keyboard."),
    ],
)  # fmt: skip
def test_the_ear_is_named_at_the_start(ears: str, words: str) -> None:
    """Before the first question, at each start of the program; never in a rehearsal."""
    for first in (SessionStarted(0.0, ears), SessionResumed(0.0, ears)):
        _, effects = advance(programme(3), State(), first)
        said = [effect.text for effect in effects if isinstance(effect, Say)]
        assert words in said[1:-1]
    _, effects = advance(programme(3), State(), SessionStarted(0.0))
    assert not any("listen" in effect.text for effect in effects if isinstance(effect, Say))


def test_words_that_could_not_be_spoken_call_the_eyes() -> None:
    """A sentence that failed is on the screen; a tone, or its sign there, says look."""
    played = Played(programme(3)).to(Step.LOCK)
    played.feed(SpeechFailed(0.0, "Lock the spindle.", "no sound server"))
    assert played.effects == [Signal(Tone.ATTENTION)]


def test_a_speaker_that_is_gone_is_told_once() -> None:
    """Each sentence after it fails too, and none of them says look: the screen has the words."""
    played = Played(programme(3)).to(Step.LOCK)
    played.feed(DeviceLost(0.0, Device.SPEAKER, "no device is there"))
    played.feed(SpeechFailed(0.0, "Lock the spindle.", "no device is there"))
    assert played.effects == []
    played.feed(DeviceReturned(0.0, Device.SPEAKER))
    played.feed(SpeechFailed(0.0, "Lock the spindle.", "no sound server"))
    assert played.effects == [Signal(Tone.ATTENTION)]


def test_a_lost_device_is_said_and_forgotten_when_it_returns() -> None:
    """The session goes on with what is left, and says so."""
    played = Played(programme(3)).to(Step.INDEX)
    assert "microphone is gone" in played.feed(DeviceLost(0.0, Device.MICROPHONE, "unplugged"))
    assert played.state.lost == (Device.MICROPHONE,)
    assert played.state.step is Step.INDEX
    assert "microphone is back" in played.feed(DeviceReturned(0.0, Device.MICROPHONE))
    assert played.state.lost == ()


def test_what_is_asked_names_no_phrase_once_the_ear_is_gone() -> None:
    """What "say again" repeats is worded anew, with what was said before the question."""
    played = Played(programme(3)).to(Step.RELEASE)
    played.feed(say(Command.GO_BACK))
    first = "Cut one is open again: it counts as not cut. First hole, no move yet."
    assert played.state.said == f"{first} Lock the spindle. Press, or say spindle locked."
    played.feed(DeviceLost(0.0, Device.MICROPHONE, "unplugged"))
    assert played.state.said == f"{first} Lock the spindle. Press."
    played.feed(DeviceReturned(0.0, Device.MICROPHONE))
    assert played.state.said == f"{first} Lock the spindle. Press, or say spindle locked."


def test_an_answer_is_not_worded_anew_when_the_ear_is_gone() -> None:
    """Only what was asked last is."""
    played = Played(programme(3)).to(Step.LOCK)
    told = played.feed(say(Command.WHERE_AM_I))
    played.feed(DeviceLost(0.0, Device.MICROPHONE, "unplugged"))
    assert played.state.said == told


def test_the_closing_check_names_the_reading_of_its_own_first_hole() -> None:
    """A second setting may begin elsewhere than the first: its first reading is its own."""
    places = tuple((Fraction(1, 12) + Fraction(p, 3)) % 1 for p in range(4))
    played = Played(replace(programme(3), positions=places)).to(Step.CLOSING_CHECK)
    assert "The scale should read thirty degrees." in played.said[-1]


def test_a_driven_head_is_told_to_stay_unlocked() -> None:
    """In helical milling the words at the start do not ask for what would break the head."""
    played = Played(programme(3, unlocked=True))
    assert "Spindle locked for every cut" not in played.said[0]
    assert "leave the spindle lock off" in played.to(Step.LEAVE_OFF).said[-1]


def measured_job(passes: int, in_pass: int) -> Programme:
    return programme(3, passes, measurements=(size(2, in_pass),))


def test_a_size_is_read_back_and_gives_the_depth_left() -> None:
    """Nothing is done with a size before it was read back and confirmed."""
    played = Played(measured_job(2, 1)).to(Step.MEASURE)
    assert "Stop the cutter, and measure" in played.said[-1]
    words = played.feed(SizeGiven(0.0, "19.05"))
    assert words.startswith("Nineteen point zero five millimetres.")
    before = played.state
    played.feed(say(Command.CUT_DONE))
    assert played.state == before
    played.feed(say(Command.SIZE_RIGHT))
    assert "Zero point five two five millimetres left to cut." in played.said
    played.to(Step.CLOSING_CHECK).to(Step.LOCK)
    words = "Depth dial zero point five two five millimetres deeper than in the pass before."
    assert words in played.said[-1]


def test_an_impossible_size_is_questioned_and_changes_nothing() -> None:
    """More than there was before the cut; or a word that is no figure."""
    played = Played(measured_job(1, 1)).to(Step.MEASURE)
    before = played.state
    for wrong in ("25", "0", "-3", "nineteen", "1e9", "19,05", ""):
        words = played.feed(SizeGiven(0.0, wrong))
        assert played.state == before
        assert "Measure again" in words or "is no size" in words


def test_a_doubtful_size_is_questioned_before_it_counts() -> None:
    """Possible, and not what the depth should give: asked for again, but the person decides."""
    played = Played(measured_job(1, 1)).to(Step.MEASURE)
    assert "I expected about nineteen millimetres" in played.feed(SizeGiven(0.0, "21"))
    played.feed(SizeGiven(0.0, "19"), say(Command.SIZE_RIGHT))
    words = " ".join(played.said[-2:])
    assert "Set it, and cut this one again. To leave it as it is, say go back one." in words


def test_what_a_size_leaves_in_the_last_pass_is_cut_behind_the_guard() -> None:
    """At once; and the cuts made before it come again when it has gone round.

    Over two flats the first one is still too shallow: measured anew, the second would be cut
    too deep. Half of what is too much across is left on each (18.3 - 18 = 2 x 0.15).
    """
    played = Played(measured_job(1, 1)).to(Step.MEASURE)
    played.feed(SizeGiven(0.0, "18.3"), say(Command.SIZE_RIGHT))
    assert (played.state.step, played.state.guarded) == (Step.GUARD, False)
    assert (
        played.to(Step.CUT).said[-1]
        == "Lever tight, guard shut: cut two again, zero point one five millimetres deeper."
    )
    assert played.to(Step.RELEASE).state.done == 2
    assert played.to(Step.CUT).said[-1] == "Lever tight, guard shut: cut three of three."
    played.to(Step.CLOSING_CHECK).to(Step.LOCK)
    assert "The first cut comes again: it was made before the cutter was set" in played.said[-1]
    assert "Leave the depth dial as it is." in played.said[-1]
    assert played.to(Step.CUT).said[-1] == "Lever tight, guard shut: cut one of one."
    assert played.to(Step.FINISHED).state.done == 1


def test_a_size_that_rests_on_one_cut_is_taken_anew() -> None:
    """A keyway, a spline: cut again and measured again until it is reached."""
    played = Played(programme(3, measurements=(size(1),))).to(Step.MEASURE)
    for given in ("18.3", "18.1"):
        played.feed(SizeGiven(0.0, given), say(Command.SIZE_RIGHT))
        assert "cut one again" in played.to(Step.CUT).said[-1]
        played.to(Step.MEASURE)
    played.feed(SizeGiven(0.0, "18"), say(Command.SIZE_RIGHT))
    assert (played.state.done, played.state.again) == (1, 0)
    assert played.to(Step.CUT).said[-1] == "Lever tight, guard shut: cut two of three."
    assert "Leave the depth dial as it is." in played.feed(say(Command.WHERE_AM_I))
    assert played.to(Step.CLOSING_CHECK).to(Step.FINISHED).state.pass_number == 1


@pytest.mark.parametrize("second", [SizeGiven(0.0, "18"), None])
def test_once_the_last_pass_is_measured_its_setting_stands(second: SizeGiven | None) -> None:
    """After a rough size the dial reads something else than the drawing says: none is called."""
    sizes = (size(2, 1), size(2, 2))
    job = programme(3, 2, measurements=sizes, depths=("one millimetre", "two millimetres"))
    played = Played(job).to(Step.MEASURE)
    played.feed(SizeGiven(0.0, "19.1"), say(Command.SIZE_RIGHT))
    played.to(Step.CLOSING_CHECK)
    assert "deeper than in the pass before" in played.to(Step.LOCK).said[-1]
    played.to(Step.MEASURE)
    if second:
        played.feed(second, say(Command.SIZE_RIGHT))
    else:
        played.feed(PedalUsed(0.0, Gesture.PRESS))
    assert "Leave the depth dial as it is." in played.feed(say(Command.WHERE_AM_I))


def test_near_enough_is_left_as_it_is() -> None:
    """Going back from the second cut is the way to accept a size; nothing comes again then."""
    played = Played(measured_job(1, 1)).to(Step.MEASURE)
    played.feed(SizeGiven(0.0, "18.02"), say(Command.SIZE_RIGHT), say(Command.GO_BACK))
    assert played.state.step is Step.MEASURE
    played.feed(PedalUsed(0.0, Gesture.PRESS))
    assert played.to(Step.CLOSING_CHECK).to(Step.FINISHED).state.again == 0


def test_the_time_left_is_learned_from_the_cuts_made() -> None:
    """The median of the last cuts; a pause does not count."""
    played = Played(programme(9))
    at = 0.0
    while played.state.done < 4:
        at += 30.0
        played.feed(PedalUsed(at, Gesture.PRESS))
    assert "About twelve minutes" in played.feed(say(Command.HOW_MANY_LEFT))


def test_a_depth_is_spoken_in_words() -> None:
    """What a voice makes of "mm" is not left to it."""
    words = Played(programme(3, depth="5.4 mm")).to(Step.LOCK).said[-1]
    assert "Depth dial to five point four millimetres." in words


@pytest.mark.parametrize("unlocked", [False, True])
def test_pass_and_dial_are_called_before_the_guard(unlocked: bool) -> None:
    """Behind the guard no dial is turned: pass and depth come with the lock, and not after it."""
    depths = ("one millimetre", "two millimetres")
    job = programme(3, 2, depths=depths, unlocked=unlocked)
    played = Played(job)
    for words in ("Pass one of two. Depth dial to one millimetre.",
                  "Pass two of two. Depth dial to two millimetres."):  # fmt: skip
        before = len(played.said)
        played.to(Step.CUT)
        told = [n for n, text in enumerate(played.said[before:]) if words in text]
        guard = [n for n, text in enumerate(played.said[before:]) if "Guard closed" in text]
        assert len(told) == len(guard) == 1 and told < guard
        assert "millimetre" not in played.said[-1]
        assert words.partition(". ")[2] in played.feed(say(Command.WHERE_AM_I))
        played.to(Step.CLOSING_CHECK)


def test_cuts_of_different_depth_are_each_called_with_their_own() -> None:
    """Called with every cut, before its guard, beyond the depth of the pass."""
    deeper = (Fraction(0), Fraction("0.12"), Fraction("0.3"))
    job = programme(3, 2, deeper=deeper, depths_mm=(Fraction(1), Fraction(2)))
    played = Played(job)
    for n, wanted in enumerate(("one", "one point one two", "one point three",
                                "two", "two point one two", "two point three")):  # fmt: skip
        words = played.to(Step.LOCK).said[-1]
        assert f"Depth dial to {wanted} millimetre" in words
        assert words.index("Depth dial") < words.index("Lock the spindle.")
        assert played.to(Step.CUT).state.done == n % 3
        played.feed(PRESS)


def test_the_answer_to_a_move_is_told_before_the_first_move() -> None:
    """The move is called bare; a person who can't look must know the phrase by then."""
    played = Played(programme(3)).to(Step.RELEASE)
    assert "pin in, and press, or say pin is home" in played.said[-1]
    assert "pin is home" not in played.to(Step.INDEX).to(Step.RELEASE).said[-1]


def test_a_plate_that_comes_back_has_its_slack_taken_up() -> None:
    """Half a turn past, and up again; of a plate that goes on nothing is said."""
    back = Move(1, 3, 49, plate_holes=-4, plate_circle=47)
    assert moves.move_words(back).endswith(
        "Go half a turn past that hole, and come up to it again."
    )
    assert "half a turn" not in moves.move_words(back._replace(plate_holes=4))
