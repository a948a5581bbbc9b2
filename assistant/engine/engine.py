"""The session engine: a pure function of programme, state and event.

`advance` looks only at its arguments: no clock, no device, no file. It returns the new
state and what is to be done about it. An event that makes no sense now changes nothing and
gets an answer.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from assistant.engine import own_time, pace, recall, wording
from assistant.engine.allowed import is_for_lock_or_guard, may_answer
from assistant.engine.answers import said_s, understood_after
from assistant.engine.asked import INTENTS, Use, used_as
from assistant.engine.events import (
    Command,
    CommandGiven,
    Device,
    DeviceLost,
    DeviceReturned,
    DeviceTroubled,
    Event,
    Gesture,
    Ground,
    NoteWritten,
    PartScrapped,
    PedalUsed,
    PhraseHeard,
    SessionResumed,
    SessionStarted,
    SizeGiven,
    Source,
    SpeechFailed,
    Tone,
    TrialWanted,
    TrustChanged,
)
from assistant.engine.phases import ANSWERS, ON_THE_WAY, Intent, Phase, Step, phase_of
from assistant.engine.phrases import CONFIRMATIONS, LOCK_AND_GUARD
from assistant.engine.state import State, replace
from assistant.engine.transitions import TABLE, Row, Transitions, row_for
from assistant.job.measuring import SizeVerdict
from assistant.job.programme import Programme
from assistant.job.units import MM_PER_INCH
from assistant.sureness import SURE_ENOUGH, SURE_FOR_LOCK_AND_GUARD
from assistant.words.language import say, speaking
from assistant.words.spoken import sentences
from solver import Millimetres, Move, Turns

PACE_CUTS = 5  # the time that is left is judged by so many cuts


@dataclass(frozen=True, slots=True)
class Say:
    """Speak this sentence; `purpose` is the phase or the question that it belongs to."""

    text: str
    purpose: str
    brief: bool = False  # known by rote: it may be said briskly


@dataclass(frozen=True, slots=True)
class Announce:
    """The move that the next sentence speaks: once for each move, however often it is repeated."""

    move: Move
    cut: int
    closing: bool


@dataclass(frozen=True, slots=True)
class Signal:
    """Play a short tone."""

    tone: Tone


@dataclass(frozen=True, slots=True)
class Refuse:
    """The event changed nothing, and why: the code for the journal, the words for the person."""

    ground: Ground
    reason: str


Effect = Say | Announce | Signal | Refuse
Outcome = tuple[State, list[Effect]]

_GESTURES = {
    Gesture.PRESS: Intent.CONFIRM,
    Gesture.DOUBLE: Intent.SAY_AGAIN,
    Gesture.SHORT_HOLD: Intent.SAY_AGAIN,
    Gesture.HOLD: Intent.PAUSE_AND_WHERE,
}
_ASKED_FOR: dict[type[Event], Intent] = {
    NoteWritten: Intent.NOTE,
    PartScrapped: Intent.SCRAP,
    TrialWanted: Intent.TRIAL,
}


def advance(
    programme: Programme, state: State, event: Event, table: Transitions = TABLE
) -> Outcome:
    """The state after the event, and what to do about it. Never raises for a person's slip."""
    with speaking(programme.language):
        stage = programme.stage(state.stage)
        new, effects = _advance(stage, state, event, table)
        new = own_time.with_own_time(stage, state, new, event)
        if new.part != state.part:
            new, effects = _begin_part(programme, new)
    new = pace.with_pace(programme.stage(new.stage), state, pace.cut_timed(state, new))
    return _paced(state, new, event.at), effects


def _advance(programme: Programme, state: State, event: Event, table: Transitions) -> Outcome:
    match event:
        case SessionStarted():
            return _greet(programme, state, event)
        case SessionResumed():
            return _resume(programme, state, event, table)
        case PedalUsed():
            return _press(programme, state, event, table)
        case PhraseHeard() | CommandGiven():
            return _hear(programme, state, event, table)
        case NoteWritten() | PartScrapped() | TrialWanted():
            return _want(programme, state, _ASKED_FOR[type(event)], table)
        case SizeGiven():
            return _size(programme, state, event, table)
        case DeviceLost() | DeviceReturned() | DeviceTroubled() | TrustChanged() | SpeechFailed():
            new, effects = _device(state, event)
            return _reworded(programme, state, new), effects
        case _:
            return state, []


def _begin_part(programme: Programme, state: State) -> Outcome:
    """Another part of the batch is asked for from the job's first stage on."""
    return _ask(programme, state, [Signal(Tone.ACCEPTED)])


def spindle(programme: Programme, state: State) -> Turns:
    """Turns of the spindle that the announced moves lead to, 0 or more and under 1."""
    return programme.stage(state.stage).positions[state.place]


def expected_commands(
    state: State, table: Transitions = TABLE, programme: Programme | None = None
) -> frozenset[Command]:
    """The commands that make sense now: the answer, and what the table has a row for.

    `programme` is the stage of `state`; without it the trial round counts as not offered.
    """
    wanted = {c for c, intent in INTENTS.items() if (state.step, intent) in table}
    if programme and row_for(table, programme, state, Intent.TRIAL):
        wanted.add(Command.CHECKED if state.trial else Command.RELEASED)
    if programme and not row_for(table, programme, state, Intent.NEXT_PART):
        wanted.discard(Command.NEXT_PART)
    answer = ANSWERS.get(state.step)
    return frozenset(wanted | {*ON_THE_WAY.get(state.step, ())} | ({answer} if answer else set()))


# --- one small function for each kind of event ------------------------------------------


def _greet(programme: Programme, state: State, event: SessionStarted) -> Outcome:
    state = replace(state, deaf=event.ears == "none", foot=event.foot)
    state, effects = _tell(state, wording.safety(programme), "safety")
    effects += [*_listening(event), Say(wording.greeting(programme), "greeting")]
    effects += _recalled(programme, None, state)
    return _ask(programme, state, effects)


def _resume(
    programme: Programme, state: State, event: SessionResumed, table: Transitions
) -> Outcome:
    row = row_for(table, programme, state, Intent.RESTART)
    # A new ear has no verdict yet on how loud it is.
    state = replace(state, lost=(), too_loud=False, deaf=event.ears == "none", foot=event.foot)
    new = _take(row, programme, state) if row else state
    effects: list[Effect] = [
        Signal(Tone.ATTENTION),
        Say(wording.safety(programme), "safety"),
        *_listening(event),
        Say(wording.welcome_back(programme), "greeting"),
    ]
    return _ask(programme, new, effects)


def _listening(event: SessionStarted | SessionResumed) -> list[Effect]:
    return [Say(wording.listening(event.ears), "hearing")] if event.ears else []


def _trust(state: State, event: TrustChanged) -> Outcome:
    """Said once at each change. What was asked stays what "say again" repeats."""
    if state.too_loud is not event.trusted:
        return state, []
    tone = Tone.ACCEPTED if event.trusted else Tone.ATTENTION
    text = say(wording.QUIET_AGAIN if event.trusted else wording.TOO_LOUD)
    return replace(state, too_loud=not event.trusted), [Signal(tone), Say(text, "hearing")]


def _device(
    state: State,
    event: DeviceLost | DeviceReturned | DeviceTroubled | TrustChanged | SpeechFailed,
) -> Outcome:
    match event:
        case TrustChanged():
            return _trust(state, event)
        case SpeechFailed():
            # The words stand on the screen; the tone calls the eyes there. That the speaker is gone
            # was told, and every sentence after it would only say so once more.
            told = Device.SPEAKER in state.lost
            return state, [] if told else [Signal(Tone.ATTENTION)]
        case DeviceReturned(device=Device.JOURNAL):
            # What was answered meanwhile did not count, and is asked again.
            again = Say(state.said, phase_of(state.step).value)
            return state, [Signal(Tone.ATTENTION), Say(wording.returned(event.device), "device"),
                           again]  # fmt: skip
        case DeviceReturned(device=device):
            lost = tuple(each for each in state.lost if each is not device)
            return replace(state, lost=lost), [Say(wording.returned(device), "device")]
        case DeviceLost(device=device, left=left):
            state = replace(state, lost=tuple(sorted({*state.lost, device})))
            text = wording.lost(state, device, left)
        case DeviceTroubled(device=device, trouble=trouble):
            text = wording.troubled(device, trouble)
    # What was asked stays what "say again" repeats.
    return state, [Signal(Tone.ATTENTION), Say(text, "device")]


def _reworded(programme: Programme, old: State, new: State) -> State:
    """What "say again" and the screen repeat names no phrase that nobody listens for."""
    asked, now = (sentences(old.before, wording.question(programme, each)) for each in (old, new))
    return replace(new, said=now) if old.said == asked else new


def _press(programme: Programme, state: State, event: PedalUsed, table: Transitions) -> Outcome:
    intent = _meant(programme, state, event.gesture, table)
    if intent is Intent.CONFIRM and not event.trusted:
        return _refuse(state, Ground.NOT_BELIEVED, wording.not_believed())
    if intent is Intent.CONFIRM and event.waited < understood_after(programme, state):
        return _refuse(state, Ground.TOO_SOON, wording.too_soon(programme, state))
    if intent is Intent.CONFIRM and not _counts(programme, state, event.source):
        return _refuse(state, Ground.NOT_FROM_THERE, wording.not_from_there(programme))
    hurried = state.doubted and own_time.is_hurried(event)
    if intent is Intent.CONFIRM and (
        hurried or own_time.is_too_quick(programme, state, event.took)
    ):
        return _refuse(state, Ground.TOO_QUICK, wording.too_quick(programme, state))
    return _want(programme, replace(state, took=event.took), intent, table)


def _meant(programme: Programme, state: State, gesture: Gesture, table: Transitions) -> Intent:
    """The short hold, which says again elsewhere, calls the trial round at its item, and leaves it
    from a pause. Two presses never do: a foot that is nervous makes them, too."""
    resting = state.step in (Step.SET_UP, Step.PAUSED)
    if gesture is Gesture.SHORT_HOLD and resting and row_for(table, programme, state, Intent.TRIAL):
        return Intent.TRIAL
    return _GESTURES[gesture]


def _counts(programme: Programme, state: State, source: Source) -> bool:
    """An answer from there counts for what is asked: any, but for lock and guard as chosen."""
    return not is_for_lock_or_guard(state) or may_answer(programme, state, source)


def _hear(
    programme: Programme, state: State, event: PhraseHeard | CommandGiven, table: Transitions
) -> Outcome:
    if isinstance(event, CommandGiven):
        return _command(programme, state, event, table)
    if event.command is None:
        return state, []
    if _drowned(state, event):
        return _refuse(state, Ground.TOO_LOUD, say(wording.TOO_LOUD))
    careful = event.command in LOCK_AND_GUARD
    if not event.accepted or event.confidence < (
        SURE_FOR_LOCK_AND_GUARD if careful else SURE_ENOUGH
    ):
        return _doubtful(programme, state, event, table)
    return _command(programme, state, event, table)


def _command(
    programme: Programme, state: State, event: PhraseHeard | CommandGiven, table: Transitions
) -> Outcome:
    command = event.command
    assert command is not None
    if command in ON_THE_WAY.get(state.step, ()):
        return state, [Signal(Tone.ACCEPTED)]
    intent = _intent(state, command)
    if intent is None:
        return _refuse(state, Ground.NOT_NOW, wording.not_now(programme, state))
    if intent is Intent.CONFIRM and not _counts(programme, state, event.source):
        return _refuse(state, Ground.NOT_FROM_THERE, wording.not_from_there(programme))
    if intent is Intent.CONFIRM and _unasked(programme, state, event):
        return _refuse(state, Ground.TOO_SOON, wording.too_soon(programme, state))
    if intent is Intent.CONFIRM and own_time.is_too_quick(programme, state, event.took):
        return _refuse(state, Ground.TOO_QUICK, wording.too_quick(programme, state))
    return _want(programme, replace(state, took=event.took), intent, table)


def _unasked(programme: Programme, state: State, event: PhraseHeard | CommandGiven) -> bool:
    """Said for lock, guard or cut before its question could be heard or read."""
    if isinstance(event, CommandGiven):
        return False
    if state.step is Step.CUT:
        return event.waited < said_s(programme, state)
    return is_for_lock_or_guard(state) and event.waited < understood_after(programme, state)


def _drowned(state: State, event: PhraseHeard) -> bool:
    """Spoken where it is too loud to trust the ear, and it would confirm lock or guard."""
    careful = event.command in LOCK_AND_GUARD
    asked = ANSWERS.get(state.step) is event.command
    return state.too_loud and careful and asked and event.source is Source.VOICE


def _doubtful(
    programme: Programme, state: State, event: PhraseHeard, table: Transitions
) -> Outcome:
    """Half a phrase that would make sense now is asked for again; any other is talk."""
    if event.command not in expected_commands(state, table, programme):
        return state, []
    return _refuse(state, Ground.NOT_SURE, wording.not_sure(event.heard))


def _size(programme: Programme, state: State, event: SizeGiven, table: Transitions) -> Outcome:
    row = row_for(table, programme, state, Intent.SIZE)
    if row is None:
        return _refuse(state, Ground.NOT_NOW, wording.not_now(programme, state))
    if phase_of(state.step) is Phase.CHECK_POSITION:
        return _cut_number(programme, state, event, row)
    millimetres = given_size(event.size, event.unit or programme.unit)
    if millimetres is None:
        return _refuse(state, Ground.NO_SIZE, wording.no_size(event.size))
    wanted = programme.measurements[state.measured]
    answer = wanted.answer(millimetres, programme.unit)
    if answer.verdict is SizeVerdict.IMPOSSIBLE:
        return _refuse(state, Ground.IMPOSSIBLE_SIZE, answer.text)
    given = replace(state, size=str(millimetres))
    return _move_on(programme, state, _take(row, programme, given), Intent.SIZE)


def _cut_number(programme: Programme, state: State, event: SizeGiven, row: Row) -> Outcome:
    """ "I am really at cut seven": read back before it counts."""
    given = event.size.strip()
    whole = re.fullmatch(r"\d{1,6}", given, re.ASCII) and not event.unit
    if not whole or not 1 <= int(given) <= state.due(programme):
        return _refuse(state, Ground.NO_CUT_NUMBER, wording.no_cut_number(programme, state, given))
    claimed = replace(state, claimed=int(given))
    return _move_on(programme, state, _take(row, programme, claimed), Intent.SIZE)


_IN_MM = {"in": MM_PER_INCH, "thou": MM_PER_INCH / 1000}


def given_size(size: str, unit: str) -> Millimetres | None:
    """The size in millimetres, or None for text that is no plain decimal figure over 0."""
    if not re.fullmatch(r"\d{1,6}(\.\d{0,6})?|\.\d{1,6}", size.strip(), re.ASCII):
        return None
    millimetres = Fraction(size.strip()) * _IN_MM.get(unit, Fraction(1))
    return Millimetres(millimetres) if millimetres else None


def _paced(old: State, new: State, at: float) -> State:
    """Seconds from cut to cut, for the time that is left; a break begins the count anew."""
    if new.step in (Step.PAUSED, Step.CHECK_POSITION) or new.pass_number != old.pass_number:
        return replace(new, last_cut_at=0.0) if new.last_cut_at else new
    if new.stage != old.stage or new.done != old.done + 1:
        return new
    took = at - old.last_cut_at if old.last_cut_at else 0.0
    pace = (*old.pace, round(took, 1))[-PACE_CUTS:] if took > 0 else old.pace
    return replace(new, last_cut_at=at, pace=pace)


def _intent(state: State, command: Command) -> Intent | None:
    """What the command means here. A confirmation counts only for the question it names."""
    if ANSWERS.get(state.step) is command:
        return Intent.CONFIRM
    if (state.step, command) == (Step.SET_UP, Command.RELEASED):
        return Intent.TRIAL  # what is asked for first, where the trial round is called
    if state.trial and command is Command.CHECKED:
        return Intent.TRIAL  # the answer to its item of the set-up: it is left
    if command in CONFIRMATIONS:
        return None
    return INTENTS[command]


def _want(programme: Programme, state: State, intent: Intent, table: Transitions) -> Outcome:
    row = row_for(table, programme, state, intent)
    if row is None:
        return _refuse(state, *_why_not(programme, state, intent))
    if intent in _ANSWERED_IN_PLACE:
        return _answer(programme, _take(row, programme, state), intent)
    return _move_on(programme, state, _take(row, programme, state), intent)


def _take(row: Row, programme: Programme, state: State) -> State:
    return replace(row.do(programme, state), step=row.leads_to(programme))


def _why_not(programme: Programme, state: State, intent: Intent) -> tuple[Ground, str]:
    if intent is Intent.GO_BACK:
        return Ground.NO_WAY_BACK, wording.no_way_back(programme, state)
    if intent is Intent.OVERSHOT and state.place == 0:
        return Ground.NO_MOVE_YET, wording.no_move_yet(programme, state)
    return Ground.NOT_NOW, wording.not_now(programme, state)


# --- answers that change nothing but the note count -------------------------------------

_ANSWERED_IN_PLACE = frozenset(INTENTS[each] for each in used_as(Use.QUESTION, Use.BESIDE))
_BESIDE = frozenset(INTENTS[each] for each in used_as(Use.BESIDE))
"""Said beside the question, which stays what "say again" repeats."""


def _answer(programme: Programme, state: State, intent: Intent) -> Outcome:
    text = wording.REPLIES[intent](programme, state)
    if intent in _BESIDE:
        return state, [Signal(Tone.ACCEPTED), Say(text, intent.value)]
    new, effects = _tell(state, text, intent.value)
    return new, [Signal(Tone.ACCEPTED), *effects]


# --- moving on --------------------------------------------------------------------------


def _move_on(programme: Programme, old: State, new: State, intent: Intent) -> Outcome:
    if new.part != old.part:
        return new, []  # told by `advance`, which knows the first stage
    if new.stage != old.stage and programme.then is not None:
        programme = programme.then
    look = new.step is Step.CHECK_POSITION or new.doubted
    tone = Tone.ATTENTION if look else Tone.ACCEPTED
    effects: list[Effect] = [Signal(tone)]
    if (old.step, new.step) in _ANNOUNCED or _next_in_trial(old, new):
        effects.append(_announcement(programme, new))
    settled = new.measured > old.measured and new.stage == old.stage
    if old.step is Step.READ_BACK and (settled or new.recut):
        left = wording.depth_after_size(programme, new)
        effects.append(Say(left, Phase.MEASURE.value))
    if intent is Intent.PAUSE_AND_WHERE:
        effects.append(Say(wording.where_it_stands(programme, old), Intent.WHERE_AM_I.value))
    effects += _recalled(programme, old, new)
    return _ask(programme, new, effects, _before_the_question(programme, old, new, intent))


def _recalled(programme: Programme, old: State | None, new: State) -> list[Effect]:
    """Told apart from the question, which stays what "say again" repeats."""
    text = recall.falls_due(programme, old, new)
    return [Say(text, "recall")] if text else []


def _before_the_question(programme: Programme, old: State, new: State, intent: Intent) -> str:
    """What has to be said first, once: where a move has just ended, and where one goes back."""
    if intent is Intent.GO_BACK:
        return wording.gone_back(programme, old, new)
    if old.trial and not new.trial and intent is Intent.CONFIRM:
        return say("The round is made, and it closed.")
    after_move = old.step in (Step.INDEX, Step.COME_UP)
    look = after_move and new.step in (Step.LOCK, Step.LEAVE_OFF)
    return wording.before_the_arms(programme, new.place) if look else ""


# With the lock confirmed off; or with the call that asks for it before it names the move.
_ANNOUNCED = ((Step.RELEASE, Step.INDEX), (Step.CUT, Step.CALL))


def _next_in_trial(old: State, new: State) -> bool:
    """Each move of the trial round, and no move that was called before."""
    return new.step is Step.TRIAL_MOVE and (new.place != old.place or old.step is not new.step)


def _announcement(programme: Programme, state: State) -> Announce:
    move = programme.moves[state.place - 1]
    return Announce(move, state.cut(programme), state.place == programme.cuts)


def _ask(programme: Programme, state: State, before: list[Effect], look: str = "") -> Outcome:
    text = sentences(look, wording.question(programme, state))
    purpose = Phase.INDEX if state.step is Step.CALL else phase_of(state.step)
    brief = pace.is_brief(programme, state) and not look
    return replace(state, said=text, before=look), [*before, Say(text, purpose.value, brief)]


def _tell(state: State, text: str, purpose: str) -> tuple[State, list[Effect]]:
    return replace(state, said=text, before=""), [Say(text, purpose)]


def _refuse(state: State, ground: Ground, reason: str) -> Outcome:
    """A refused event changes nothing at all, so that repeating it is harmless."""
    return state, [Signal(Tone.REFUSED), Refuse(ground, reason), Say(reason, "refusal")]


def cut_is_allowed(programme: Programme, state: State) -> bool:
    """The rule that stands behind every cut: lock and guard, both confirmed for this cut.

    In helical milling the head is driven while it cuts: there the lock must be off instead.
    """
    if phase_of(state.step) is not Phase.CUT:
        return True
    return state.guarded and state.locked != programme.stage(state.stage).unlocked
