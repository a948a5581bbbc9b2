"""How often a person slips. Defaults after NUREG/CR-1278 (Swain and Guttmann, 1983).

The handbook's figures are given from memory (the tables are named, they were not read again)
and are medians for trained people in no hurry; the handbook itself gives an error factor of 3
to 10 each way. They were found in control rooms, not at milling machines: what counts is how
the columns compare, not what one of them says. Where no published figure is known, "judged".
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache


@dataclass(frozen=True)
class Rates:
    """Probabilities for one occasion each."""

    # Omission of a step that one does by oneself, from a short list without ticking off:
    # table 20-7, item 3.
    omit_alone: float = 0.003
    # The same when it is called out as the one thing to do now and has to be answered:
    # table 20-7, item 1 (ticked off); table 20-8 has the same for one spoken item.
    omit_called: float = 0.001
    # A turn too many or too few in a move of several: commission, nominal (0.003 stands in
    # several of the handbook's tables for a simple slip of the hand).
    miscount_turn: float = 0.003
    # A hole short or long between arms that are set: a limit to go by, table 20-11's figure for
    # a mark to check against. Without arms it is counted: 0.003.
    miss_hole_with_arms: float = 0.001
    miss_hole_counted: float = 0.003
    overshoot: float = 0.01  # judged: one move in a hundred
    no_slack_taken_up: float = 0.05  # judged: of those, brought back without taking up slack
    tells_of_overshoot: float = 0.8  # judged: of those, said to the assistant
    answer_first: float = 0.003  # judged: an answer given before the thing is done
    never_done: float = 0.1  # judged: of those, the thing is then left undone
    press_twice: float = 0.003  # judged: a foot that comes down again
    press_gap_s: float = 0.4  # judged: mean time to that second press
    stamp_s: float = 1.0  # judged: mean time of an answer given first, since its question began
    hands: float = 1.0  # judged: how many times the usual time this person's hands take
    react_s: float = 0.5  # judged: mean time from the thing done to the foot
    heeds: float = 0.5  # judged: does the thing now, when told that the answer came too soon
    sees_air: float = 0.9  # judged: notices that the cutter cuts no metal, in a cut made before
    called_away: float = 0.002  # judged: at each thing to do; once in ten small parts
    pauses_first: float = 0.5  # judged: of those, pauses the job before leaving
    loses_count: float = 0.5  # judged: in a move, not having paused
    knows_it: float = 0.8  # judged: notices that the count is lost
    # Two readings compared, with no hurry: table 20-10, reading a scale (0.003).
    misread: float = 0.003
    # A rule told once in the job and needed later: as an item of a short list left out, but from
    # memory; judged well above table 20-7.
    forgets_rule: float = 0.1
    sees_arms_off: float = 0.9  # judged: notices that the left arm is not at the pin
    # A check asked for at once, by the one who did it: table 20-22's 0.1 for a routine check.
    looks_and_misses: float = 0.1
    notices_pin: float = 0.997  # at the closing check; as `misread`
    # What the first account left out; nought unless asked for (`with_the_rest`). All judged.
    mishears: float = 0.0  # a figure that was spoken is heard as another
    sets_arms_wrong: float = 0.0  # for the whole job, by one space
    phantom: float = 0.0  # an answer is taken that nobody gave
    goes_back: float = 0.0  # says "go back one" at a lock, with no need
    turns_again: float = 0.05  # of those, makes a move once more that counts as made
    # Answers for lock and guard are said aloud (`lock_and_guard = "voice"`): so much of omissions,
    # things left undone and missed looks is left where they are asked for. 0.42: wrong reactions
    # when the thing is called, 1.0 of 100 for 2.38, 0.16 pointed at and called (railway trials of
    # 1994, figures from memory; the 85 percent of the latter read in several public pages).
    said_aloud: float = 1.0
    habituation: float = 1.0  # omissions and missed looks grow to so many times in one job


# What a person does wrong; the other rates are of what they do right.
SLIPS = (
    "omit_alone", "omit_called", "miscount_turn", "miss_hole_with_arms", "miss_hole_counted",
    "overshoot", "no_slack_taken_up", "answer_first", "never_done", "press_twice", "called_away",
    "loses_count", "misread", "forgets_rule", "looks_and_misses", "mishears", "sets_arms_wrong",
    "phantom", "goes_back", "turns_again",
)  # fmt: skip
LEFT_OUT = ("mishears", "sets_arms_wrong", "phantom", "goes_back")
_TIRING = ("omit_alone", "omit_called", "answer_first", "forgets_rule", "looks_and_misses")


def times(factor: float, rates: Rates | None = None) -> Rates:
    """Every slip so many times as likely, and never more than certain."""
    known = rates or Rates()
    return replace(known, **{name: min(1.0, factor * getattr(known, name)) for name in SLIPS})


def by_habit() -> Rates:
    """A person who answers by habit: one answer in twenty comes before the thing is done, and half
    of those things are never done; half of the looks see nothing. All judged. The steps that one
    does by oneself are left out as often as the handbook says for one under no check (0.01)."""
    return replace(
        Rates(), omit_alone=0.01, omit_called=0.01, answer_first=0.05, never_done=0.5,
        looks_and_misses=0.5, sees_air=0.5,
    )  # fmt: skip


def with_the_rest(rates: Rates | None = None) -> Rates:
    """With what the first account left out, but for habituation."""
    return replace(
        rates or Rates(), mishears=0.001, sets_arms_wrong=0.001, phantom=0.0003, goes_back=0.001
    )


@cache
def tired(rates: Rates, done: int, of: int) -> Rates:
    """The same person after so many cuts, where the job makes it a habit."""
    if rates.habituation == 1:
        return rates
    factor = 1 + (rates.habituation - 1) * done / of
    worn = {name: min(1.0, factor * getattr(rates, name)) for name in _TIRING}
    return replace(rates, **worn)


@cache
def aloud(rates: Rates) -> Rates:
    """The same person where the answer has to be said."""
    left = ("omit_called", "never_done", "looks_and_misses")
    return replace(rates, **{name: rates.said_aloud * getattr(rates, name) for name in left})


SOUND_AFTER_PRESS_S = 0.25  # a question begins to sound this long after a press is told
