"""The virtual bench itself: the head is right, the words are understood, the safeguards catch."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest

from assistant.engine import own_time, wording
from assistant.engine.engine import advance
from assistant.engine.events import Command, Gesture, PedalUsed, PhraseHeard, SessionStarted
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.job.programme import heeding
from tests.engine.shop import reachable
from tests.trust.head import DividingHead
from tests.trust.person import (
    ARMS_WRONG,
    MISHEARD,
    PHANTOM,
    RESET,
    SLACK,
    WENT_BACK,
    AssistedPerson,
    Hand,
    Slips,
)
from tests.trust.rates import LEFT_OUT, SLIPS, Rates, times, tired, with_the_rest
from tests.trust.spoken import Asked, NotUnderstood, asked, value
from tests.trust.study import (
    job,
    only,
    run,
    without_the_arm,
    without_the_count,
    without_the_cutter,
    without_the_lever,
    without_the_lever_seen,
    without_the_mark,
    without_the_rule,
    without_the_shut,
)

JOB = job()


def head() -> DividingHead:
    return DividingHead(Fraction(40), 21, 19)


def test_the_head_counts_as_the_handbooks_say() -> None:
    """40 turns of the crank are one of the spindle; one turn is 9 degrees (OD1644, p. 24)."""
    made = head()
    made.turn(Fraction(1))
    assert made.degrees() == 9
    for _ in range(39):
        made.turn(Fraction(1))
    assert made.degrees() == 0 and made.off(Fraction(0)) == 0


def test_slack_lies_where_it_lay_only_when_it_is_taken_up() -> None:
    """Straight back to the hole the spindle stays ahead; half a turn more and up again it does
    not (the one direction: Treatise on Milling, p. 184)."""
    straight, properly = head(), head()
    for made in (straight, properly):
        made.turn(Fraction(1) + Fraction(1, 21))
    straight.turn(Fraction(-1, 21))
    properly.turn(Fraction(-1, 21) - Fraction(1, 2))
    properly.turn(Fraction(1, 2))
    assert straight.crank == properly.crank == 1
    assert straight.off(Fraction(1)) == min(straight.slack, Fraction(1, 21))
    assert properly.off(Fraction(1)) == 0


def test_a_locked_head_does_not_turn() -> None:
    """The crank comes up against the lock, and that is counted."""
    made = head()
    made.locked = True
    assert not made.turn(Fraction(1))
    assert (made.crank, made.strained) == (0, 1)


EXPECTED = {
    Step.SET_UP: {"item"},
    Step.RELEASE: {"unlock"},
    Step.FREE: {"unlock"},
    Step.INDEX: {"move"},
    Step.AT_PIN: {"made already"},
    Step.BACK_OFF: {"back off"},
    Step.COME_UP: {"come up"},
    Step.LOCK: {"lock"},
    Step.GUARD: {"lever", "guard"},
    Step.LEAVE_OFF: {"leave off"},
    Step.CALL: {"unlock", "move", "lock"},
    Step.CUT: {"cut"},
    Step.MEASURE: {"measure"},
    Step.READ_BACK: {"read back"},
    Step.CLOSING_CHECK: {"closing"},
    Step.UNDERSIZE: {"too small"},
    Step.SPARE_PASS: {"spare pass"},
    Step.RECOUNT: {"next cut"},
    Step.PAUSED: {"paused"},
    Step.CHECK_POSITION: {"position"},
    Step.FINISHED: {"finished"},
}


def test_every_question_is_understood_by_its_words() -> None:
    """In every state of two whole jobs: what the step needs is asked for, and nothing that
    belongs to another step. Whoever changes a sentence learns here that people act on it."""
    extra = {"arms", "scale", "turn rule", "mark", "look at arm", "try cutter", "see guard"}
    extra |= {"see lever"}
    for made in (JOB, job("count-wheel")):
        for state in reachable(made):
            found = {each.what for each in asked(wording.question(made, state))}
            assert found - extra == EXPECTED[state.step], wording.question(made, state)


_NINE = Asked("turn rule", number=Fraction(9))


def test_moves_cuts_and_readings_are_understood_exactly() -> None:
    """Figures are read back from the words as they were meant."""
    shut = asked("Lever tight, guard shut: cut twelve of twenty-one, 5.4 mm deep.")
    assert shut == (Asked("see lever"), Asked("see guard"), Asked("cut", number=Fraction(12)))
    assert asked("Guard shut: cut.") == (Asked("see guard"), Asked("cut"))
    for text, meant in {
        "One turn, then nineteen holes on the twenty-one circle.": Asked("move", 1, 19, 21),
        "Five turns.": Asked("move", 5),
        "One hole on the forty-nine circle.": Asked("move", 0, 1, 49),
        "Cut twelve of twenty-one, 5.4 mm deep.": Asked("cut", number=Fraction(12)),
        "The scale should read seventeen point one degrees.": Asked(
            "scale", number=value("seventeen point one")
        ),
        "Pin two holes short of the mark.": Asked("mark", number=Fraction(-2)),
        "Pin one hole past the mark.": Asked("mark", number=Fraction(1)),
        "Pin in the marked hole.": Asked("mark"),
        "Nine degrees off, no more, no less, is one turn miscounted.": _NINE,
    }.items():
        assert asked(text) == (meant,)
    with pytest.raises(NotUnderstood):
        value("a few")


def test_what_is_set_for_a_cut_alone_hides_neither_move_nor_cut() -> None:
    """Lines of several lengths: the stop, and what is stamped, stand beside what the hands do."""
    eight = Asked("move", holes=8, circle=20)
    assert asked("Eight holes on the twenty circle. Set the stop: long line.") == (eight,)
    assert eight in asked("Lock off. Eight on twenty, long line. Arms, lock.")
    assert asked("Cut, long line, stamp ten.") == asked("Cut.") == (Asked("cut"),)


def test_a_collar_of_lines_of_several_lengths_is_cut_to_its_end() -> None:
    """The example job, in whole sentences and in few words: with no slip every line is right."""
    collar = job("press-collar")
    for made in (collar, heeding(collar, whole_cuts=3, remind_every=25)):
        tally = run(made, 2, rates=only())
        assert (tally.cuts, tally.missed, tally.scrap) == (200, 0, 0)


def test_without_slips_every_cut_is_right() -> None:
    """21 cuts in their places, locked and guarded; the crank never turned against the lock."""
    for made in (JOB, job("count-wheel"), job(passes=2), job(scale_every=1)):
        bench = head()
        bench.circle = made.moves[0].circle or 1
        bench.spaces = made.moves[0].holes
        hand = Hand(bench, only(), random.Random(1), Slips(), made)
        AssistedPerson(made, hand).work()
        assert [cut.number for cut in bench.cuts] == [*range(1, made.cuts + 1)] * made.passes
        assert hand.slips.spoilt.total() == hand.unguarded == bench.strained == 0
        assert bench.spindle == 40 * made.passes


def test_an_overshoot_told_is_talked_through_to_the_same_hole() -> None:
    """With every move overshot and every overshoot told, every cut is in its place."""
    tally = run(JOB, 5, rates=only(overshoot=1.0, tells_of_overshoot=1.0))
    assert tally.cuts == 5 * 21 and tally.scrap == 0


def test_an_overshoot_brought_straight_back_spoils_the_cut() -> None:
    """The slack is seen by nothing at the bench: docs/safety.md says so."""
    rates = only(overshoot=1.0, no_slack_taken_up=1.0)
    tally = run(JOB, 3, rates=rates)
    assert tally.slips.spoilt[SLACK] == 3 * 20
    assert tally.uncaught(SLACK) == tally.slips.made[SLACK]


def test_a_miscounted_turn_is_caught_before_the_third_cut_at_the_latest() -> None:
    """With the scale called at every third cut; called at every cut, before the next one."""
    rates = only(miscount_turn=0.01)
    for every, most in ((3, 2), (2, 1), (1, 0)):
        tally = run(job(scale_every=every), 250, rates=rates)
        caught = sum(
            tally.slips.caught["a turn miscounted", by]
            for by in ("scale check", "scale, whole turns")
        )
        assert caught == tally.slips.made["a turn miscounted"] > 30
        assert tally.slips.spoilt["a turn miscounted"] <= most * caught
        assert (tally.scrap == 0) == (every == 1)


def test_a_missed_hole_is_found_at_the_close_or_at_the_arm() -> None:
    """At the closing check it is too late; asked for at the arm, nine in ten are in time."""
    rates = only(miss_hole_with_arms=0.02, notices_pin=1.0, looks_and_misses=0.1)

    def bare(text: str) -> str:
        return without_the_arm(without_the_mark(text))

    as_is, asking = run(JOB, 60, rates=rates, reword=bare), run(JOB, 60, rates=rates)
    kind = "a hole short or long"
    assert as_is.slips.late[kind] + as_is.slips.caught[kind, "closing check"] > 0
    assert asking.slips.caught[kind, "pin at the second arm"] > 0.7 * asking.slips.made[kind]
    assert asking.scrap < as_is.scrap / 3


def test_a_second_press_answers_nothing_that_was_not_heard() -> None:
    """Soon after the first it is a double press or too soon; later it can slip through."""
    quick = run(JOB, 20, rates=only(press_twice=0.2, press_gap_s=0.05))
    caught = {by for kind, by in quick.slips.caught if kind == "pressed twice"}
    assert caught == {"double press: said again", "too soon: refused"}
    assert quick.uncaught("pressed twice") == 0 and quick.scrap == 0
    slow = run(JOB, 20, rates=only(press_twice=0.2, press_gap_s=2.0, never_done=1.0))
    assert slow.uncaught("pressed twice") > 0


def test_the_assistant_spoils_fewer_cuts_than_paper() -> None:
    """With the rates as they are, by more than three standard errors; fewer with the guard open."""
    paper, assistant = run(JOB, 2000, assisted=False), run(JOB, 800)
    difference = paper.scrap - assistant.scrap
    assert difference > 3 * (paper.error**2 + assistant.error**2) ** 0.5
    assert assistant.unguarded / assistant.cuts < paper.unguarded / paper.cuts


def test_paper_with_the_same_two_looks_is_the_fair_opponent() -> None:
    """The looks find what they can find by themselves, whoever takes them."""
    for rates, seen in ((only(miscount_turn=0.05), True), (only(omit_alone=0.05), False)):
        alone = run(JOB, 60, assisted=False, rates=rates)
        looked = run(JOB, 60, assisted=False, looks=True, rates=rates)
        assert alone.slips.spoilt.total() > 0
        assert (looked.slips.spoilt.total() == 0) is seen
    hole = only(miss_hole_with_arms=0.05)
    assert run(JOB, 60, assisted=False, looks=True, rates=hole).slips.spoilt.total() == 0
    blind = only(miss_hole_with_arms=0.05, looks_and_misses=1.0)
    assert run(JOB, 60, assisted=False, looks=True, rates=blind).slips.spoilt.total() > 0


def test_other_people_slip_as_they_are_said_to() -> None:
    """Twice as often is twice, never more than certain; what is done right is left alone."""
    twice, usual = times(2), Rates()
    assert twice.miscount_turn == 2 * usual.miscount_turn
    assert times(1000).looks_and_misses == 1
    assert twice.notices_pin == usual.notices_pin and twice.press_gap_s == usual.press_gap_s
    assert set(SLIPS) < set(Rates.__dataclass_fields__)


def test_the_same_seed_gives_the_same_figures() -> None:
    """A table can be made again."""
    first, again = run(JOB, 20, seed=7), run(JOB, 20, seed=7)
    assert first == again
    assert run(JOB, 60, seed=8).slips.made != run(JOB, 60, seed=7).slips.made


def test_the_pedal_pressed_by_itself_reaches_the_end() -> None:
    """The person of these trials does not do what the session would not take from a real one."""
    state, _ = advance(JOB, State(), SessionStarted(0.0))
    state, _ = advance(JOB, state, PhraseHeard(0.0, "spindle locked", Command.LOCKED))
    assert state.step is Step.SET_UP
    for _ in range(300):
        state, _ = advance(JOB, state, PedalUsed(0.0, Gesture.PRESS))
    assert state.step is Step.FINISHED


def test_a_place_set_by_the_scale_may_be_a_hole_off() -> None:
    """A finding of these trials: the scale tells turns, not holes. The stopped cutter in the
    last cut tells both."""
    rates = only(miscount_turn=0.02)

    def bare(text: str) -> str:
        return without_the_rule(without_the_cutter(without_the_mark(text)))

    as_is = run(job(scale_every=1), 100, rates=rates, reword=bare)

    def tried(text: str) -> str:
        return without_the_rule(without_the_mark(text))

    proved = run(job(scale_every=1), 100, rates=rates, reword=tried)
    assert as_is.slips.made[RESET] > 0
    assert proved.slips.spoilt[RESET] < as_is.slips.spoilt[RESET] / 2


def test_a_turn_put_right_in_whole_turns_keeps_its_hole() -> None:
    """Told with the first reading: hardly a place is found anew by the scale and a hole off."""
    rates = only(miscount_turn=0.02)
    told = run(JOB, 60, rates=rates, reword=without_the_mark)
    untold = run(JOB, 60, rates=rates, reword=lambda text: without_the_rule(without_the_mark(text)))
    assert told.slips.made[RESET] < untold.slips.made[RESET] / 3
    made, caught = told.slips.made, told.slips.caught
    assert caught["a turn miscounted", "scale, whole turns"] > 0.8 * made["a turn miscounted"] > 10
    assert told.scrap == 0


def test_a_wrong_hole_stays_wrong_when_whole_turns_are_put_right() -> None:
    """The scale does not show it, and the person of these trials is not told."""
    rates = only(miscount_turn=0.2, miss_hole_with_arms=0.1, looks_and_misses=1.0)
    tally = run(JOB, 30, rates=rates)
    assert tally.slips.spoilt["a hole short or long"] > 0


def test_rates_are_probabilities() -> None:
    """Each default is between 0 and 1, but for two times, and what is nought unless asked for."""
    values = {name: getattr(Rates(), name) for name in Rates.__dataclass_fields__}
    assert values.pop("press_gap_s") > 0 and values.pop("stamp_s") > 0
    assert values.pop("hands") == 1 and values.pop("react_s") > 0
    assert values.pop("habituation") == 1 == values.pop("said_aloud")
    for name in LEFT_OUT:
        assert values.pop(name) == 0 < getattr(with_the_rest(), name) < 1
    assert all(0 < each < 1 for each in values.values()) and Counter(values)


def test_the_marked_hole_finds_a_hole_missed_half_way() -> None:
    """Sooner than the closing check, and the pin goes back into its own hole."""
    rates = only(miss_hole_with_arms=0.01, looks_and_misses=0.0)

    def marked(text: str) -> str:
        return without_the_arm(text)

    def bare(text: str) -> str:
        return without_the_arm(without_the_mark(text))

    told, untold = (
        run(JOB, 150, rates=rates, reword=marked),
        run(JOB, 150, rates=rates, reword=bare),
    )
    kind = "a hole short or long"
    assert told.slips.caught[kind, "marked hole"] > 10
    assert told.scrap < 0.6 * untold.scrap


def test_the_marked_hole_shows_arms_that_are_set_wrong() -> None:
    """At the first move of the pinion, where nothing else does before some cuts are spoilt."""
    rates = only(sets_arms_wrong=1.0, sees_arms_off=1.0)
    told, untold = run(JOB, 10, rates=rates), run(JOB, 10, rates=rates, reword=without_the_mark)
    assert told.scrap == 0 and told.slips.caught[ARMS_WRONG, "marked hole"] == 10
    assert untold.scrap > 50


def test_a_place_that_is_found_anew_is_found_to_the_hole() -> None:
    rates = only(miscount_turn=0.02, forgets_rule=1.0)

    def bare(text: str) -> str:
        return without_the_cutter(without_the_mark(text))

    told = run(JOB, 60, rates=rates, reword=without_the_cutter)
    untold = run(JOB, 60, rates=rates, reword=bare)
    assert untold.slips.spoilt[RESET] > 5
    assert told.slips.caught[RESET, "marked hole"] > 0.8 * told.slips.made[RESET] > 5
    assert told.slips.spoilt[RESET] < untold.slips.spoilt[RESET] / 3


def test_a_forgotten_lock_is_found_at_its_lever() -> None:
    rates = only(omit_called=0.02, looks_and_misses=0.1)
    told, untold = run(JOB, 60, rates=rates), run(JOB, 60, rates=rates, reword=without_the_lever)
    assert untold.slips.spoilt["lock forgotten"] > 5
    assert told.slips.spoilt["lock forgotten"] < untold.slips.spoilt["lock forgotten"] / 3


def test_a_lock_that_both_looks_missed_is_seen_on_the_way_to_the_cut() -> None:
    rates = only(omit_called=0.05, looks_and_misses=0.5)
    told, untold = (
        run(JOB, 60, rates=rates, reword=words) for words in (str, without_the_lever_seen)
    )
    assert untold.slips.spoilt["lock forgotten"] > 15
    assert told.slips.spoilt["lock forgotten"] < 0.7 * untold.slips.spoilt["lock forgotten"]


def test_a_count_to_the_mark_finds_a_missed_hole_within_three_cuts() -> None:
    rates = only(miss_hole_with_arms=0.01, looks_and_misses=0.0)

    def counted(text: str) -> str:
        return without_the_arm(text)

    def near(text: str) -> str:
        return without_the_arm(without_the_count(text))

    told, untold = (run(JOB, 100, rates=rates, reword=words) for words in (counted, near))
    kind = "a hole short or long"
    assert untold.slips.spoilt[kind] > 2 * told.slips.spoilt[kind]
    assert told.slips.spoilt[kind] <= 2 * told.slips.made[kind]


def test_what_a_sentence_is_worth_is_told_by_its_silence_alone() -> None:
    """Who does not hear it is not asked again for having been quick; and where a place is found
    anew the holes are counted to the mark all the same."""
    few = heeding(JOB, whole_cuts=3)
    told, untold = (run(few, 1, rates=only(), reword=words) for words in (str, without_the_count))
    assert untold.letters < told.letters
    anew = "Check the position. Six counted as done. Pin six holes short of the mark."
    assert without_the_count(anew) == anew
    assert without_the_count("Arms. Pin six short of the mark. Lock.") == "Arms. Lock."


def test_a_cut_put_off_is_made_where_it_was_asked_for() -> None:
    """By the second press of a foot it is counted; the hands make it as the next call sounds, and
    the spindle stands where it stood."""
    rates = only(press_twice=0.3, press_gap_s=2.0)
    tally = run(heeding(JOB, whole_cuts=3), 30, rates=rates)
    assert tally.slips.caught["pressed twice", "done at the next question"] > 20
    assert tally.scrap == 0


def test_an_open_guard_is_seen_on_the_way_to_the_cut() -> None:
    rates = only(omit_called=0.02, looks_and_misses=0.1, react_s=0.5)
    told, untold = run(JOB, 60, rates=rates), run(JOB, 60, rates=rates, reword=without_the_shut)
    assert untold.unguarded > 10
    assert told.unguarded < untold.unguarded / 3


def test_who_stamps_is_asked_by_his_own_pace(monkeypatch: pytest.MonkeyPatch) -> None:
    """Half of what the hands usually take; who heeds it then does the thing."""
    stamps = only(answer_first=0.3, never_done=1.0, stamp_s=1.0, heeds=1.0, looks_and_misses=1.0)
    rates = replace(stamps, hands=1.0, react_s=0.5)
    few = heeding(JOB, whole_cuts=3, remind_every=0)
    measured = run(few, 60, rates=rates)
    monkeypatch.setattr(own_time, "SHARE", 0.0)
    not_measured = run(few, 60, rates=rates)
    assert not_measured.unguarded > 60
    assert measured.unguarded < not_measured.unguarded / 2


def test_an_answer_too_soon_is_refused_and_may_be_heeded() -> None:
    """Lock and guard can't be stamped before their question could be heard."""
    rates = only(answer_first=0.1, never_done=1.0, stamp_s=1.0, looks_and_misses=1.0)
    heeded, not_heeded = (run(JOB, 60, rates=replace(rates, heeds=p)) for p in (1.0, 0.0))
    assert heeded.slips.caught["answered first", "too soon: done now"] > 20
    assert heeded.unguarded < not_heeded.unguarded / 2


def test_what_was_left_out_is_there_when_asked_for() -> None:
    """A figure misheard, arms set wrong, an answer that nobody gave, going back."""
    many = replace(with_the_rest(only()), mishears=0.05, phantom=0.05, goes_back=0.05)
    tally = run(JOB, 30, rates=many)
    for kind in (MISHEARD, PHANTOM, WENT_BACK):
        assert tally.slips.made[kind] > 5, kind
    assert run(JOB, 30, rates=only()).slips.made.total() == 0


def test_a_day_makes_a_habit() -> None:
    assert tired(Rates(), 20, 21) == Rates()
    late = tired(replace(Rates(), habituation=3.0), 21, 21)
    assert late.omit_called == pytest.approx(3 * Rates().omit_called)
    assert late.miscount_turn == Rates().miscount_turn


def test_a_cut_in_the_air_is_seen() -> None:
    """The cutter in a cut that is made already meets no metal; unseen, the next is uncut."""
    rates = only(answer_first=0.1, never_done=1.0, stamp_s=100.0)
    seen, unseen = (run(JOB, 30, rates=replace(rates, sees_air=p)) for p in (1.0, 0.0))
    assert seen.slips.caught["answered first", "it cut no metal"] > 0
    assert seen.scrap < unseen.scrap
