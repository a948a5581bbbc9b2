"""A size that leaves nothing to cut, or is below the finished one, is acted on and recorded."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from assistant.engine import wording
from assistant.engine.events import Command, PartScrapped, SizeGiven
from assistant.engine.phases import Step
from assistant.job.measuring import Measurement
from assistant.job.programme import Programme
from tests.engine.jobs import programme, size
from tests.engine.test_words import PRESS, Played, say

ROUGH, FINE = size(2, 1), size(2, 2)  # 18 mm in the end
RIGHT = say(Command.SIZE_RIGHT)
ON = say(Command.CARRY_ON)


def two_passes(*sizes: Measurement) -> Programme:
    depths = {"depths": ("one millimetre", "two millimetres")}
    return programme(3, 2, measurements=sizes or (ROUGH, FINE), **depths)


def after(given: str, job: Programme | None = None) -> Played:
    """The size given at the first measurement, and confirmed as read back."""
    played = Played(job or two_passes()).to(Step.MEASURE)
    played.feed(SizeGiven(0.0, given), RIGHT)
    return played


# --- nothing left to cut -----------------------------------------------------------------


def test_nothing_left_means_the_same_dial_in_the_next_pass() -> None:
    """Measured at the finished size after roughing: the planned depth would be too deep."""
    played = after("18")
    assert "That is the finished size." in played.said
    played.to(Step.CLOSING_CHECK).feed(PRESS)
    assert played.state.step is Step.SPARE_PASS
    assert played.said[-1].startswith("By the size nothing is left to cut.")
    played.feed(PRESS)
    assert (played.state.pass_number, played.state.step) == (2, Step.LOCK)
    assert "Leave the depth dial as it is." in played.said[-1]
    assert "two millimetres" not in played.said[-1]


def test_the_pass_that_has_nothing_to_cut_can_be_left_out() -> None:
    """As the person chooses: then the job is finished, and says so."""
    played = after("18").to(Step.CLOSING_CHECK)
    played.feed(PRESS, ON)
    assert (played.state.step, played.state.pass_number) == (Step.FINISHED, 1)
    assert played.said[-1].startswith("Finished. Three cuts. The last pass was left out.")


def test_the_next_setting_follows_a_pass_that_was_left_out() -> None:
    job = replace(two_passes(), then=programme(2, name="the holes"))
    played = after("18", job).to(Step.CLOSING_CHECK)
    played.feed(PRESS, ON)
    assert (played.state.stage, played.state.step) == (1, Step.SET_UP)


def test_what_is_left_is_still_cut() -> None:
    """0.2 over: no pass is spare, and the last goes 0.1 deeper on each of two flats."""
    played = after("18.2").to(Step.CLOSING_CHECK)
    played.feed(PRESS)
    assert (played.state.step, played.state.pass_number) == (Step.LOCK, 2)
    assert "zero point one millimetres deeper" in played.said[-1]


# --- under the finished size -------------------------------------------------------------


def test_a_size_that_is_under_is_never_called_finished() -> None:
    """How far under, and a stop; a press too many asks for the size once more."""
    played = after("17.2", two_passes(FINE))
    assert played.state.step is Step.UNDERSIZE
    assert not any("finished size." in said and "under" not in said for said in played.said)
    words = played.said[-1]
    assert words.startswith("That is zero point eight millimetres under the finished size.")
    assert "No cut puts it back. Stop, and decide." in words
    assert "Measured wrong: press, or say go back one." in words
    assert "To go on with it all the same, say carry on now. Scrap: key s." in words
    assert played.state.measured == 0
    played.feed(PRESS)
    assert played.state.step is Step.MEASURE
    played.feed(SizeGiven(0.0, "18"), RIGHT)
    assert played.said[-2] == "That is the finished size."


def test_measured_wrong_the_new_size_can_be_given_at_once() -> None:
    played = after("17.2", two_passes(FINE))
    played.feed(SizeGiven(0.0, "18"))
    assert (played.state.step, played.state.size) == (Step.READ_BACK, "18")


def test_on_with_it_all_the_same() -> None:
    """The person decides; the size stands, and the next pass cuts nothing more off."""
    played = after("17.2")
    played.feed(ON)
    assert (played.state.step, played.state.measured) == (Step.RELEASE, 1)
    assert played.state.sizes == ("86/5",)
    played.to(Step.CLOSING_CHECK).feed(PRESS)
    assert played.state.step is Step.SPARE_PASS


def test_scrap_ends_the_job_and_says_so() -> None:
    played = after("17.2")
    words = played.feed(PartScrapped(0.0))
    assert (played.state.step, played.state.scrapped) == (Step.FINISHED, True)
    assert words.startswith("Given up as scrap. Two cuts in this pass.")
    assert played.state.sizes == ("86/5",)


def test_nothing_else_is_given_up() -> None:
    """An elbow on the key ends no sound part."""
    played = Played(two_passes()).to(Step.MEASURE)
    before = played.state
    played.feed(PartScrapped(0.0))
    assert played.state == before and "Not now" in played.said[-1]


# --- limits ------------------------------------------------------------------------------

LIMITED = replace(FINE, low=Fraction("17.9"), high=Fraction(18), target=Fraction("17.95"))


@pytest.mark.parametrize(
    ("given", "step", "words"),
    [
        ("17.9", Step.RELEASE, "That is within its limits."),
        ("18", Step.RELEASE, "That is within its limits."),
        ("17.89", Step.UNDERSIZE, "That is zero point zero one millimetres under the lower limit."),
        ("18.01", Step.GUARD, "Zero point zero three millimetres left to cut."),
    ],
)
def test_in_and_out_of_the_limits_are_said(given: str, step: Step, words: str) -> None:
    """18 -0.1 +0: both limits are in; over them the cutter goes to the middle, 17.95."""
    played = after(given, two_passes(LIMITED))
    played.to(step)
    assert played.state.step is step
    assert any(said.startswith(words) for said in played.said), played.said[-3:]


# --- "I am really at cut N" --------------------------------------------------------------


def lost(step: Step = Step.GUARD) -> Played:
    """At the second cut, in that step, unsure of the count."""
    played = Played(programme(9)).to(Step.RELEASE).to(Step.INDEX).to(step)
    played.feed(say(Command.LOST_COUNT))
    assert "If another cut is next, say its number." in played.said[-1]
    return played


def test_the_cut_that_is_really_next_is_asked_back_and_checked() -> None:
    """By the scale, by the metal, by counting; only then it is counted from."""
    played = lost()
    words = played.feed(SizeGiven(0.0, "5"))
    assert played.state.step is Step.RECOUNT and played.state.done == 1
    assert words.startswith("Cut five is next? Four cuts made. Count them on the work.")
    assert "bring the pin to the hole of cut five in the working direction" in words
    assert "The scale should read one hundred sixty degrees." in words
    assert "There the metal must stand uncut." in words
    played.feed(say(Command.PLACE_RIGHT))
    assert (played.state.done, played.state.place, played.state.settled) == (4, 4, 4)
    assert played.state.step is Step.LOCK and not played.state.locked
    assert (
        played.to(Step.GUARD)
        .to(Step.CUT)
        .said[-1]
        .startswith("Lever tight, guard shut: cut five of nine")
    )


@pytest.mark.parametrize(
    "step", [Step.LOCK, Step.GUARD, Step.CUT, Step.RELEASE, Step.INDEX], ids=lambda step: step.value
)
def test_it_can_be_said_at_any_time(step: Step) -> None:
    played = lost(step)
    played.feed(SizeGiven(0.0, "1"), say(Command.PLACE_RIGHT))
    assert (played.state.step, played.state.done, played.state.settled) == (Step.LOCK, 0, 0)


@pytest.mark.parametrize("given", ["0", "10", "2.5", "two", "-1", ""])
def test_a_number_that_is_no_cut_changes_nothing(given: str) -> None:
    played = lost()
    before = played.state
    words = played.feed(SizeGiven(0.0, given))
    assert played.state == before
    assert "is no cut of this pass: give a whole number, one to nine." in words


def test_a_wrong_number_is_given_again_or_dropped() -> None:
    played = lost()
    played.feed(SizeGiven(0.0, "5"), SizeGiven(0.0, "6"))
    assert (played.state.step, played.state.claimed) == (Step.RECOUNT, 6)
    played.feed(say(Command.GO_BACK))
    assert (played.state.step, played.state.claimed) == (Step.CHECK_POSITION, 0)


def test_a_size_that_was_passed_by_is_not_waited_for() -> None:
    """Counted on past the measurement: it is skipped, and the next pass asks for its own."""
    played = Played(two_passes()).to(Step.RELEASE)
    played.feed(say(Command.LOST_COUNT), SizeGiven(0.0, "3"), say(Command.PLACE_RIGHT))
    assert (played.state.measured, played.state.sizes) == (1, ("",))
    played.to(Step.CLOSING_CHECK).to(Step.MEASURE)
    assert played.state.pass_number == 2


def test_counted_back_a_size_is_asked_for_anew() -> None:
    played = after("18.4")
    played.feed(say(Command.LOST_COUNT), SizeGiven(0.0, "2"), say(Command.PLACE_RIGHT))
    assert (played.state.measured, played.state.sizes, played.state.size) == (0, (), "")
    assert played.to(Step.MEASURE).state.done == 2


def test_in_a_later_pass_the_cut_is_tried_in_its_own_space() -> None:
    played = Played(programme(3, 2)).to(Step.CLOSING_CHECK).to(Step.RELEASE)
    played.feed(say(Command.LOST_COUNT), SizeGiven(0.0, "3"))
    assert "The stopped cutter must drop into the cut of the pass before." in played.said[-1]
    assert wording.what_next(played.job, played.state).startswith("Now the cut that is next")
