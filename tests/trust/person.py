"""Two people at the same head: one has a paper table and the arms, one follows spoken words.

Each slips as the rates say. The one who follows the words knows nothing but what is said.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction

from assistant.bench.pedal_watch import HASTY
from assistant.devices.pedal.gestures import SECOND_PRESS_S
from assistant.engine import answers, own_time
from assistant.engine.engine import Say, advance
from assistant.engine.events import (
    LONG_ENOUGH,
    Command,
    Event,
    Gesture,
    PedalUsed,
    PhraseHeard,
    SessionStarted,
)
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.job.programme import Programme
from tests.trust import timing
from tests.trust.head import DividingHead
from tests.trust.rates import SOUND_AFTER_PRESS_S, Rates, aloud, tired
from tests.trust.spoken import Asked, asked

ONE = Fraction(1)
SLACK = "slack not taken up"
NO_TURN = "taken for a whole turn"
RESET = "set again by the scale, a hole off"
ARMS_WRONG = "arms set wrong"
_HOLE = "a hole short or long"
MISHEARD = "a figure misheard"
PHANTOM = "an answer nobody gave"
WENT_BACK = "turned again after going back"
TOLERANCE = Fraction(1, 180)  # of a crank turn: 3 minutes of arc at 40 to 1


@dataclass
class Slips:
    """What went wrong, and what caught it. An open one has not been caught yet."""

    made: Counter[str] = field(default_factory=Counter)
    caught: Counter[tuple[str, str]] = field(default_factory=Counter)
    open: list[str] = field(default_factory=list)  # slips that left the spindle off its place
    spoilt: Counter[str] = field(default_factory=Counter)  # cuts, by the slip that spoilt them
    late: Counter[str] = field(default_factory=Counter)  # of the caught, only after a wrong cut

    def slip(self, kind: str, caught_by: str = "") -> None:
        self.made[kind] += 1
        if caught_by:
            self.caught[kind, caught_by] += 1

    def off_place(self, kind: str) -> None:
        self.made[kind] += 1
        self.open.append(kind)

    def found(self, by: str, *, late: bool) -> None:
        """Something showed that the spindle is off: every slip that put it there is known."""
        for kind in self.open:
            self.caught[kind, by] += 1
            self.late[kind] += late
        self.open.clear()


@dataclass
class Hand:
    """The moves of a hand at the head, with its slips; both people have the same hands."""

    head: DividingHead
    rates: Rates
    chance: random.Random
    slips: Slips
    job: Programme
    loose: str = "lock forgotten"  # why the lock is off, should it be off at a cut
    unguarded: int = 0
    arms_wrong: int = 0  # spaces too many between the arms, for the whole job

    def __post_init__(self) -> None:
        self._fresh = self.rates
        if self.happens(self.rates.sets_arms_wrong) and self.job.arms_used:
            self.arms_wrong = self.chance.choice((-1, 1))
            self.head.spaces += self.arms_wrong

    def mend_arms(self) -> None:
        """Something showed that the pin is in a wrong hole: are the arms set right?"""
        if self.arms_wrong and self.happens(self.rates.sees_arms_off):
            self.head.spaces -= self.arms_wrong
            self.arms_wrong = 0

    def cut(self, number: int, *, trial: bool = False) -> bool:
        """The cutter goes in, whatever stands where; `trial`: it only marks. True when it met no
        metal, in a cut that is made already, and that was seen: nothing is spoilt then."""
        self.rates = tired(self._fresh, number - 1, self.job.cuts)
        cut = self.head.cut(number)
        self.unguarded += not cut.guarded
        self.head.guarded = False
        if trial:
            self.head.cuts.pop()
        elif abs(self.head.off(self.place(number - 1))) > TOLERANCE:
            if self._in_air() and self.happens(self.rates.sees_air):
                self.head.cuts.pop()
                self.slips.found("it cut no metal", late=False)
                return True
            self.slips.spoilt[self.slips.open[0] if self.slips.open else SLACK] += 1
        elif not cut.locked:
            self.slips.spoilt[self.loose] += 1
        return False

    def _in_air(self) -> bool:
        """The spindle stands where an earlier cut was made."""
        if self.job.passes > 1:  # all cuts of a later pass are made before
            return False
        half = self.head.worm_ratio / 2
        *before, now = self.head.cuts
        off = ((now.at - each.at + half) % self.head.worm_ratio - half for each in before)
        return any(abs(each) <= TOLERANCE for each in off)

    def place(self, n: int) -> Fraction:
        """Where position `n` lies, in crank turns."""
        return self.job.positions[n % self.job.cuts] * self.head.worm_ratio

    def happens(self, probability: float) -> bool:
        return self.chance.random() < probability

    def turn(self, turns: int, holes: int, circle: int) -> bool:
        """One move, as well as it goes. True when the hole was overshot, and that was seen."""
        head, rates = self.head, self.rates
        by = Fraction(turns)
        if turns and self.happens(rates.miscount_turn):
            by += self.chance.choice((-1, 1))
            self.slips.off_place("a turn miscounted")
        if holes:
            by += Fraction(self._holes(holes), circle)
        if self.happens(rates.overshoot):
            beyond = Fraction(1, circle or 20)
            head.turn(by + beyond)
            return True
        head.turn(by)
        return False

    def _holes(self, holes: int) -> int:
        head, rates = self.head, self.rates
        if not head.arms_are_on and head.arms is not None:
            # The arms still lie where the last move began: the right one is at the pin.
            if self.happens(rates.sees_arms_off):
                self.slips.slip("arms not swung on", "seen at the next move")
                head.swing_arms()
            else:
                self.slips.off_place("arms not swung on")
                return 0
        if self.arms_wrong and ARMS_WRONG not in self.slips.open:
            self.slips.off_place(ARMS_WRONG)
        if self.happens(rates.miss_hole_with_arms):
            self.slips.off_place("a hole short or long")
            return holes + self.arms_wrong + self.chance.choice((-1, 1))
        return holes + self.arms_wrong

    def bring_back(self, circle: int, *, properly: bool) -> None:
        """After an overshoot: back to the hole, past it and up again, or straight back."""
        beyond = Fraction(1, circle or 20)
        locked, self.head.locked = self.head.locked, False
        if properly:
            self.head.turn(-beyond - ONE / 2)
            self.head.turn(ONE / 2)
        else:
            self.slips.slip(SLACK)
            self.head.turn(-beyond)
        self.head.locked = locked

    def set_by_scale(self, wanted: Fraction) -> None:
        """Bring the pin to the called reading.

        Whole turns too many or too few show as such and are undone; the pin keeps its hole.
        Anything else is set by the reading, to half a division: the hole may be the next one.
        """
        off = self.head.off(wanted)
        turns = round(off)
        by = Fraction(-turns)
        if abs(off - turns) * 360 / self.head.worm_ratio >= 1:
            reading = Fraction(self.chance.randint(-50, 50), 100) * self.head.worm_ratio / 360
            by = -off + Fraction(round(reading * self.head.circle), self.head.circle)
        self.head.turn(by - ONE / 2)
        self.head.turn(ONE / 2)

    def look_at_arm(self, *, surely: bool = False) -> None:
        """The pin should be at the second arm, while the arms still lie as in the move. What went
        wrong in an earlier move does not show there: the arms began from it."""
        head = self.head
        if head.arms_are_on:  # swung on already: asked for a second time
            return
        holes = (head.crank - head.arms) * head.circle - head.spaces
        off = (holes + head.circle // 2) % head.circle - head.circle // 2
        if surely or not off or self.happens(self.rates.looks_and_misses):
            return
        head.turn(-off / head.circle - ONE / 2)
        head.turn(ONE / 2)
        if _HOLE in self.slips.open:
            self.slips.open.reverse()  # the last one is the one that is put right
            self.slips.open.remove(_HOLE)
            self.slips.open.reverse()
            self.slips.caught[_HOLE, "pin at the second arm"] += 1

    def off_scale(self, degrees: Fraction) -> Fraction:
        """How far the scale stands from the reading wanted, in degrees, as it is seen: 0 for what
        can't be told by eye, and where it is misread."""
        half = Fraction(180)
        if not self.head.scale or self.happens(self.rates.misread):
            return Fraction(0)
        off = (self.head.degrees() - degrees + half) % 360 - half
        return off if abs(off) >= 1 else Fraction(0)

    def whole_turns(self, off: Fraction, rule: Fraction) -> int:
        """How many turns the reading seems to be off, 0 where it seems something else; `rule` is
        the degrees of one turn. It is read to half a division, as in `set_by_scale`."""
        if not rule:
            return 0
        read = off + Fraction(self.chance.randint(-50, 50), 100)
        turns = round(read / rule)
        # "No more, no less": what two turns would show is left to "lost my count".
        return turns if abs(turns) == 1 and abs(read - turns * rule) <= Fraction(1, 2) else 0

    def take_turns_back(self, turns: int, place: Fraction) -> None:
        """As many turns as the reading is off, and up to the same hole again. A slip that put
        the pin into another hole does not show, and stays."""
        head, late = self.head, self.cut_since()
        locked, head.locked = head.locked, False
        head.turn(-turns - ONE / 2)
        head.turn(ONE / 2)
        head.locked = locked
        left = bool(head.off(place))
        stays = [kind for kind in self.slips.open if left and kind in (_HOLE, RESET)]
        for kind in stays:
            self.slips.open.remove(kind)
        self.slips.found("scale, whole turns", late=late)
        self.slips.open += stays
        if left and not stays:
            self.slips.off_place(NO_TURN)

    def cut_since(self) -> bool:
        """The last cut is off its place: what is found now is found late."""
        head = self.head
        if not head.cuts:
            return False
        last, half = head.cuts[-1], head.worm_ratio / 2
        off = (last.at - self.place(last.number - 1) + half) % head.worm_ratio - half
        return abs(off) > head.slack


class PaperPerson:
    """A table on paper, the arms, and habits; the closing check is made too.

    `looks`: takes the same two looks as the words ask for, before the arms are swung on and at
    the scale after every move of whole turns, and knows what one turn is in degrees.
    """

    def __init__(self, job: Programme, hand: Hand, *, looks: bool = False) -> None:
        self.job, self.hand, self.looks = job, hand, looks

    def work(self) -> None:
        for n, move in enumerate(self.job.moves):
            self._cut(n + 1)
            self._move(move.turns, move.holes, move.circle or 1, n + 1)
        head = self.hand.head
        if head.off(Fraction(0)) and self.hand.happens(self.hand.rates.notices_pin):
            self.hand.slips.found("closing check", late=True)

    def _does(self, kind: str) -> bool:
        if self.hand.happens(self.hand.rates.omit_alone):
            self.hand.slips.slip(kind)
            return False
        return True

    def _cut(self, number: int) -> None:
        self.hand.head.locked = self._does("lock forgotten")
        self.hand.head.guarded = self._does("guard forgotten")
        if self.hand.cut(number):
            self.hand.set_by_scale(self.hand.place(number - 1))
            self.hand.cut(number)

    def _move(self, turns: int, holes: int, circle: int, place: int) -> None:
        hand, rates = self.hand, self.hand.rates
        hand.head.locked = False
        if hand.happens(rates.called_away) and hand.happens(rates.loses_count):
            if hand.happens(rates.knows_it):
                hand.slips.slip("called away in a move", "the person")
            else:
                hand.slips.off_place("called away in a move")
                hand.head.turn(Fraction(hand.chance.choice((-1, 1))))
        if hand.turn(turns, holes, circle):
            properly = not hand.happens(rates.no_slack_taken_up)
            hand.bring_back(circle, properly=properly)
        if self.looks and self.job.arms_used and self._does("arm not looked at"):
            hand.look_at_arm()
        if self.looks and turns and hand.head.scale and self._does("scale not looked at"):
            self._look_at_scale(hand.place(place))
        if self.job.arms_used and self._does("arms not swung on"):
            hand.head.swing_arms()
        elif self.job.arms_used:
            hand.slips.made["arms not swung on"] -= 1  # counted when the next move meets it

    def _look_at_scale(self, place: Fraction) -> None:
        hand, head = self.hand, self.hand.head
        off = hand.off_scale(place / head.worm_ratio * 360 % 360)
        if not off:
            return
        turns = hand.whole_turns(off, 360 / head.worm_ratio)
        if turns and not hand.happens(hand.rates.forgets_rule):
            hand.take_turns_back(turns, place)
            return
        hand.slips.found("scale", late=hand.cut_since())
        hand.mend_arms()
        hand.set_by_scale(place)
        if head.off(place):
            hand.slips.off_place(RESET)


SURE = Asked("sure")  # a look whether it was done
_SAID_ALOUD = {"lock", "guard"}  # where the answer has to be said
_CAN_WAIT = ("lock", "guard", "arms", "unlock", "move", "cut")
Reword = Callable[[str], str]


class Known:
    """What the engine, being pure, said before, and how long that takes: of one job, for many
    people."""

    def __init__(self) -> None:
        self.told: dict[tuple[State, Event], tuple[State, list[str]]] = {}
        self._by_state: dict[tuple[str, State], float] = {}
        self._heard: dict[str, float] = {}

    def by_state(
        self, what: Callable[[Programme, State], float], job: Programme, state: State
    ) -> float:
        """`what` of this state, reckoned once."""
        key = (what.__name__, state)
        if key not in self._by_state:
            self._by_state[key] = what(job, state)
        return self._by_state[key]

    def heard(self, text: str) -> float:
        """Seconds that it takes to hear it."""
        if text not in self._heard:
            self._heard[text] = timing.heard(text)
        return self._heard[text]


class AssistedPerson:
    """Does what is said, and answers with the pedal; says so when something went wrong."""

    def __init__(
        self,
        job: Programme,
        hand: Hand,
        reword: Reword = str,
        *,
        marks: bool = False,
        known: Known | None = None,
    ) -> None:
        self.known = known or Known()
        self.job, self.hand, self.reword = job, hand, reword
        self.marks = marks  # the first pass only marks the blank; a slip in it spoils nothing
        self.state = State()  # without the person's own times, which stand beside it
        self.times: own_time.Times = ()
        self.circle = next((move.circle for move in job.moves if move.circle), 1) or 1
        self.wrong = False  # something seen that has to be said
        self.overshot = False
        self.todo: list[Asked] = []  # answered but not done yet
        self.rule = Fraction(0)  # degrees of one turn, once they were told
        self.events = 0
        self.heard_s = 0.0  # seconds that the last words took
        # Of its own, so that the same slips are made however long things take.
        self.clock = random.Random(str(hand.chance.getstate()[1][:4]))
        self.scale_checks = 0
        self.letters = 0  # of all that was said
        self.last_move: Asked | None = None
        self.left_out: list[Asked] = []  # of what was asked last, and not known to be
        self.took = 0.0  # for what was asked last
        self.asked_again = False  # that was quick: how long it took in all is no measure

    def work(self) -> None:
        heard = self._tell(SessionStarted(0.0))
        while self.state.step is not Step.FINISHED:
            self._catch_up()
            heard = self._listen(heard)
            assert self.events < 100 * (self.job.cuts + 20) * self.job.passes, "it never ends"

    def _tell(self, event: Event) -> list[str]:
        """What is said to it. The person's own times, by which an answer is too quick or not, are
        kept beside what is known of all people: the engine gives them the same."""
        self.events += 1
        took = event.took if isinstance(event, PedalUsed) else 0.0
        if self._may_be_quick(took) and own_time.is_too_quick(self.job, self._timed(), took):
            after, said = self._advanced(self._timed(), event)
            assert after == self._timed(), "what is refused changes nothing"
            self.asked_again = True
        else:
            said = self._go_on(self._alike(event), took)
        # As the engine takes it, of a sentence left out too: its silence is no answer too quick.
        self.heard_s = sum(self.known.heard(text) for text in said)
        self.letters += sum(len(self.reword(text)) for text in said)
        return said

    def _go_on(self, event: Event, took: float) -> list[str]:
        known = self.known.told.get((self.state, event))
        if known is None:
            known = self._advanced(self.state, event)
            self.known.told[self.state, event] = known
        after, said = known
        if own_time.is_answered(self.state, after, took) and not self.asked_again:
            said_s = self.known.by_state(answers.said_s, self.job, self.state)
            self.times = own_time.noted(self.times, self.state.step, took - said_s)
        self.asked_again = self.asked_again and after.step is self.state.step
        self.state = after
        return said

    def _alike(self, event: Event) -> Event:
        """The same for all who answer in time, and for all who answer too soon."""
        if not isinstance(event, PedalUsed):
            return event
        if event.waited == LONG_ENOUGH:
            return PedalUsed(event.at, event.gesture)
        least = self.known.by_state(answers.understood_after, self.job, self.state)
        return replace(event, waited=LONG_ENOUGH if event.waited >= least else 0.0, took=0.0)

    def _timed(self) -> State:
        """As the engine would have it: with this person's own times."""
        return replace(self.state, answer_times=self.times)

    def _may_be_quick(self, took: float) -> bool:
        """Spares most of the reckoning: what the words took is more than they must take."""
        if took <= 0:
            return False
        times = dict(self.times).get(self.state.step.value, ())
        most = timing.heard(self.state.said) + own_time.SHARE * max(times, default=0.0)
        return took < most

    def _advanced(self, state: State, event: Event) -> tuple[State, list[str]]:
        after, effects = advance(self.job, state, event)
        return after, [each.text for each in effects if isinstance(each, Say)]

    def _say(self, command: Command) -> list[str]:
        return self._tell(PhraseHeard(0.0, command.value, command))

    # --- one question: do it, then answer

    def _listen(self, texts: list[str]) -> list[str]:
        wanted = [each for text in texts for each in asked(self.reword(text))]
        if self._away(wanted):
            return self._return(wanted)
        if self.hand.happens(self.hand.rates.answer_first) and self._can_wait(wanted):
            return self._answer_first(wanted)
        if self.hand.happens(self.hand.rates.phantom) and self._can_wait(wanted):
            self.hand.slips.slip(PHANTOM, self._put_off(wanted, PHANTOM))
            return self._tell(PedalUsed(0.0, Gesture.PRESS))
        if (
            self.state.step is Step.LOCK
            and self.state.place
            and (self.hand.happens(self.hand.rates.goes_back))
        ):
            return self._go_back()
        if self.marks and self.state.pass_number > 1 and self.state.step is Step.LOCK:
            self._see_mark()
        return self._answer_when_done(wanted)

    def _answer_when_done(self, wanted: list[Asked]) -> list[str]:
        self.left_out.clear()
        self.took = self.heard_s
        for each in wanted:
            self._do(each)
            if self.overshot and self.hand.happens(self.hand.rates.tells_of_overshoot):
                self.overshot = False
                return self._say(Command.OVERSHOT)
            self._bring_back()
        out = [each.what for each in self.left_out]
        self.took += timing.hands(wanted, out, self.hand.rates, self.clock)
        return self._answer()

    def _go_back(self) -> list[str]:
        """One step, with no need; the move that counts as made may be made once more."""
        heard = self._say(Command.GO_BACK)
        if self.last_move is None or not self.hand.happens(self.hand.rates.turns_again):
            self.hand.slips.slip(WENT_BACK, "told not to turn again")
            return heard
        self.hand.slips.off_place(WENT_BACK)
        move = self.last_move
        self.hand.head.turn(Fraction(move.turns) + Fraction(move.holes, move.circle or 1))
        return heard

    def _bring_back(self) -> None:
        """An overshoot that is not told: put right before anything else that was asked."""
        if self.overshot:
            self.overshot = False
            properly = not self.hand.happens(self.hand.rates.no_slack_taken_up)
            self.hand.bring_back(self.circle, properly=properly)

    def _answer(self) -> list[str]:
        if self.overshot and self.hand.happens(self.hand.rates.tells_of_overshoot):
            self.overshot = False
            return self._say(Command.OVERSHOT)
        self._bring_back()
        if self.wrong:
            self.wrong = False
            return self._say(Command.LOST_COUNT)
        return self._press()

    def _press(self) -> list[str]:
        heard = self._press_until_taken()
        if not self.hand.happens(self.hand.rates.press_twice):
            return heard
        gap = self.hand.chance.expovariate(1 / self.hand.rates.press_gap_s)
        return self._second_press(gap, heard)

    def _press_until_taken(self) -> list[str]:
        """Told that it was quick, one looks whether it was done, or presses once more."""
        before = self.state
        heard = self._tell(PedalUsed(0.0, Gesture.PRESS, took=self.took))
        while self.state == before:
            more = timing.foot(self.hand.rates, self.clock)
            if self.hand.happens(self.hand.rates.heeds):
                self._make_good()
                more += timing.hands([SURE], (), self.hand.rates, self.clock)
            self.took += self.heard_s + more
            heard = self._tell(PedalUsed(0.0, Gesture.PRESS, took=self.took))
        return heard

    def _make_good(self) -> None:
        for each in self.left_out:
            self._do(each, surely=True)
            self.hand.slips.caught[f"{each.what} forgotten", "that was quick"] += 1
        self.left_out.clear()

    def _second_press(self, gap: float, heard: list[str]) -> list[str]:
        """The foot came down again `gap` seconds after it went up."""
        if gap < SECOND_PRESS_S:
            self.hand.slips.slip("pressed twice", "double press: said again")
            return heard  # had it been told as a double, the first question would be repeated
        waited = gap - SECOND_PRESS_S - SOUND_AFTER_PRESS_S
        before = self.state
        undone = [self._numbered(each) for text in heard for each in asked(self.reword(text))]
        new = self._tell(PedalUsed(0.0, Gesture.PRESS, waited=waited, took=max(waited, 0.01)))
        if self.state == before:
            self.hand.slips.slip("pressed twice", "too soon: refused")
            return new
        self.hand.slips.slip("pressed twice", self._put_off(undone, "pressed twice"))
        return new

    def _numbered(self, each: Asked) -> Asked:
        """A cut that is put off is still that cut, also where the call names no number."""
        if each.what == "cut" and not each.number:
            return replace(each, number=Fraction(self.state.cut(self.job)))
        return each

    # --- answered before it was done

    @staticmethod
    def _can_wait(wanted: list[Asked]) -> bool:
        return any(each.what in _CAN_WAIT and each.what != "cut" for each in wanted)

    def _answer_first(self, wanted: list[Asked]) -> list[str]:
        """Once more is answered first again, or heard. Three too soon, and the pedal is believed
        no more for half a minute: whoever stands there then looks (judged)."""
        before, times, took = self.state, 0, 0.0
        while self.state == before:
            if times == HASTY or (times and self.hand.happens(self.hand.rates.heeds)):
                self.hand.slips.slip("answered first", "too soon: done now")
                return self._answer_when_done(wanted)
            waited = self.hand.chance.expovariate(1 / self.hand.rates.stamp_s)
            took += waited
            heard = self._tell(PedalUsed(0.0, Gesture.PRESS, waited=waited, took=took))
            times += 1
        self.hand.slips.slip("answered first", self._put_off(wanted, "answered first"))
        return heard

    def _put_off(self, wanted: list[Asked], kind: str) -> str:
        """The thing is done as the next question sounds, or never. What catches it."""
        whats = {each.what for each in wanted}
        if not whats & set(_CAN_WAIT):
            return "nothing was left undone"
        said = bool(whats & _SAID_ALOUD)
        rates = aloud(self.hand.rates) if said else self.hand.rates
        if self.hand.happens(rates.never_done):
            if "move" in whats:
                self.hand.slips.open.append(kind)
            if "lock" in whats:
                self.hand.loose = kind
            return ""
        for each in wanted:
            if each.what == "move":
                self._do(each)
        self.todo += [each for each in wanted if each.what in _CAN_WAIT and each.what != "move"]
        return "done at the next question"

    def _catch_up(self) -> None:
        for each in self.todo:
            self._do(each, surely=True)
        self.todo.clear()

    # --- called away

    def _away(self, wanted: list[Asked]) -> bool:
        return bool(wanted) and self.hand.happens(self.hand.rates.called_away)

    def _return(self, wanted: list[Asked]) -> list[str]:
        rates, in_move = self.hand.rates, any(each.what == "move" for each in wanted)
        kind = "called away in a move" if in_move else "called away"
        if self.hand.happens(rates.pauses_first):
            self.hand.slips.slip(kind, "the pause, and the words after it")
            self._tell(PedalUsed(0.0, Gesture.HOLD))
            return self._say(Command.CARRY_ON)
        if in_move and self.hand.happens(rates.loses_count):
            self.hand.head.turn(Fraction(self.hand.chance.choice((-1, 1))))
            if self.hand.happens(rates.knows_it):
                self.hand.slips.slip(kind, "lost my count")
                return self._say(Command.LOST_COUNT)
            self.hand.slips.off_place(kind)
        else:
            self.hand.slips.slip(kind, "where am I")
            self._say(Command.WHERE_AM_I)
        for each in wanted:
            self._do(each)
        return self._answer()

    # --- what each thing asked for means at the head

    def _do(self, each: Asked, *, surely: bool = False) -> None:
        looks: dict[str, Callable[[], None]] = {
            "position": lambda: self._find_place(each.number),
            "mark": lambda: self._see_marked_hole(int(each.number)),
            "lever": lambda: self._try_lever(aloud(self.hand.rates)),
            "see lever": lambda: self._try_lever(self.hand.rates),
            "see guard": self._see_guard,
            "try cutter": self._try_cutter,
            "look at arm": lambda: self.hand.look_at_arm(surely=surely),
            "closing": self._close,
        }
        if each.what in looks:
            looks[each.what]()
            return
        match each.what:
            case "move":
                self._move(each)
            case "scale" | "turn rule":
                self._scale(each)
            case "cut":
                trial = self.marks and self.state.pass_number == 1
                number = int(each.number) or self.state.cut(self.job)
                self.wrong = self.hand.cut(number, trial=trial) or self.wrong
            case "lock" | "guard" | "arms" | "unlock":
                self._set(each.what, surely=surely)
            case "back off" | "come up":
                half = ONE / 2 - Fraction(1, self.circle)
                self.hand.head.turn(half if each.what == "come up" else -ONE / 2)

    def _move(self, each: Asked) -> None:
        if self.hand.head.locked:
            self.hand.slips.slip("turned against the lock", "the lock holds the crank")
            self.hand.head.locked = False
        self.last_move, turns = each, each.turns
        if turns and self.hand.happens(self.hand.rates.mishears):
            self.hand.slips.off_place(MISHEARD)
            turns += self.hand.chance.choice((-1, 1))
        self.overshot = self.hand.turn(turns, each.holes, each.circle or 1)
        if self.marks and self.state.pass_number > 1 and self.state.step is Step.CALL:
            self._see_mark()

    def _set(self, what: str, *, surely: bool) -> None:
        head = self.hand.head
        rates = aloud(self.hand.rates) if what in _SAID_ALOUD else self.hand.rates
        left_out = not surely and self.hand.happens(rates.omit_called)
        if left_out and what != "arms":
            self.hand.slips.slip(f"{what} forgotten")
        if left_out:
            self.left_out.append(Asked(what))
            return
        match what:
            case "lock":
                head.locked = True
            case "unlock":
                head.locked = False
            case "guard":
                head.guarded = True
            case "arms":
                head.swing_arms()

    def _try_cutter(self) -> None:
        """A groove shows what the scale can't: that the pin is a hole off."""
        hand = self.hand
        if RESET in hand.slips.open and not hand.happens(hand.rates.looks_and_misses):
            self._put_right("cutter tried in the last cut")

    def _see_mark(self) -> None:
        """The cutter should stand at the trial mark of this cut."""
        hand, place = self.hand, self.hand.place(self.state.place)
        if hand.head.off(place) and not hand.happens(hand.rates.looks_and_misses):
            self._put_right("trial mark")

    def _put_right(self, by: str) -> None:
        head = self.hand.head
        head.locked = False
        head.turn(-head.off(self.hand.place(self.state.place)) - ONE / 2)
        head.turn(ONE / 2)
        self.hand.slips.found(by, late=self.hand.cut_since())

    def _try_lever(self, rates: Rates) -> None:
        """A lock that was forgotten, or answered for and not made, is found at its lever."""
        hand = self.hand
        if hand.head.locked or hand.happens(rates.looks_and_misses):
            return
        hand.head.locked = True
        hand.slips.caught[hand.loose, "lock lever"] += 1
        hand.loose = "lock forgotten"

    def _see_guard(self) -> None:
        hand = self.hand
        if hand.head.guarded or hand.happens(hand.rates.looks_and_misses):
            return
        hand.head.guarded = True
        hand.slips.caught["guard forgotten", "looked at before the cut"] += 1

    def _see_marked_hole(self, past: int) -> None:
        """So many holes past the one that was marked at the start, or short of it."""
        hand, head = self.hand, self.hand.head
        away = int(head.crank * head.circle) - past
        away = (away + head.circle // 2) % head.circle - head.circle // 2
        if abs(past) > 2 and hand.happens(hand.rates.miss_hole_counted):
            away += hand.chance.choice((-1, 1))
        if self.state.step is not Step.CHECK_POSITION:
            if away and not hand.happens(hand.rates.looks_and_misses):
                self.wrong = True
                hand.slips.found("marked hole", late=hand.cut_since())
                hand.mend_arms()
            return
        head.turn(Fraction(-away, head.circle) - ONE / 2)
        head.turn(ONE / 2)
        if RESET in hand.slips.open and not head.off(hand.place(self.state.place)):
            hand.slips.open.remove(RESET)
            hand.slips.caught[RESET, "marked hole"] += 1

    def _scale(self, each: Asked) -> None:
        if each.what == "turn rule":
            self.rule = each.number
        else:
            self.scale_checks += 1
            misheard = self.hand.happens(self.hand.rates.mishears)
            self._look_at_scale(each.number + (10 if misheard else 0))

    def _look_at_scale(self, degrees: Fraction) -> None:
        hand = self.hand
        off = hand.off_scale(degrees)
        if not off:
            return
        turns = hand.whole_turns(off, self.rule)
        if turns and not hand.happens(hand.rates.forgets_rule):
            hand.take_turns_back(turns, hand.place(self.state.place))
        else:
            self.wrong = True
            hand.slips.found("scale check", late=hand.cut_since())

    def _find_place(self, cut: Fraction) -> None:
        head = self.hand.head
        head.locked = False
        place = (int(cut) - 1) % self.job.cuts if cut else 0
        if head.scale or self.hand.happens(0.5):
            self.hand.set_by_scale(self.hand.place(place))
        if head.off(self.hand.place(place)) and not self.hand.slips.open:
            # What was seen is put right but for a hole, and nobody knows.
            self.hand.slips.off_place(RESET)

    def _close(self) -> None:
        """The pin in its first hole? With a scale the words ask for its reading too."""
        head = self.hand.head
        if head.off(Fraction(0)) % 1 and self.hand.happens(self.hand.rates.notices_pin):
            self.hand.slips.found("closing check", late=True)
            # What is cut is cut; the count starts again from the mark at the first hole.
            head.turn(-head.off(Fraction(0)) - ONE / 2)
            head.turn(ONE / 2)
