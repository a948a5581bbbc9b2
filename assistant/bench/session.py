"""The session's one loop: compute, record, act. Devices reach it only through its queue."""

from __future__ import annotations

import queue
import time
from collections.abc import Callable, Set
from dataclasses import replace
from typing import Protocol

from assistant.bench.pedal_watch import PedalWatch
from assistant.engine import calling, own_time, presenting, requests, wording
from assistant.engine.allowed import is_for_lock_or_guard
from assistant.engine.answers import REACTION_S, understood_after
from assistant.engine.engine import (
    Announce,
    Effect,
    Refuse,
    Say,
    Signal,
    advance,
    cut_is_allowed,
    expected_commands,
)
from assistant.engine.events import (
    LONG_ENOUGH,
    Command,
    CommandGiven,
    Device,
    DeviceLost,
    DeviceReturned,
    DeviceTroubled,
    Event,
    Gesture,
    NoteWritten,
    PedalUsed,
    PhraseHeard,
    SessionLeft,
    SizeGiven,
    Tone,
    Trouble,
)
from assistant.engine.phases import ANSWERS, Step, phase_of
from assistant.engine.phrases import phrase_for
from assistant.engine.ports import Announcer, Display, Listener
from assistant.engine.state import State, part_is_made
from assistant.engine.view import NOTHING_HEARD, LastInput, Verdict, View
from assistant.job.programme import Programme
from assistant.journal.fault import JournalFault
from assistant.journal.writing import Journal
from assistant.words import moves
from assistant.words.language import mark, say, speaking
from assistant.words.plain_text import plain

SEEN_S = 1.5  # seconds after which a question on the screen counts as noticed


class Outlet(Protocol):
    """Where the effects go: the bench's devices, or a rehearsal's lines."""

    def perform(self, effect: Effect) -> None:
        """Carry out one effect. Must not block and must not raise."""

    def stand(self, programme: Programme, state: State, heard: LastInput) -> None:
        """The state after an event, once all its effects are under way."""


class Session:
    """One job being worked on. `handle` is the only way in which its state changes."""

    def __init__(
        self,
        programme: Programme,
        state: State,
        journal: Journal,
        outlet: Outlet,
    ) -> None:
        self.programme = programme
        self.state = state
        self._journal = journal
        self._outlet = outlet
        self._pedal = PedalWatch()

    def handle(self, event: Event) -> None:
        """Compute, record, act. Raises JournalFault when the event can't be recorded: then
        nothing has changed and nothing is acted on."""
        if not isinstance(event, PedalUsed):
            self._handle(event)
            return
        doubted = self._pedal.doubted
        with speaking(self.programme.language):
            stage = self.programme.stage(self.state.stage)
            needed = understood_after(stage, self.state)
            quick = own_time.is_too_quick(stage, self.state, event.took)
        careful = is_for_lock_or_guard(self.state)
        in_cut = own_time.is_in_cut(stage, self.state, event)
        event = self._pedal.judge(event, needed, careful=careful, quick=quick, in_cut=in_cut)
        self._handle(event)
        if self._pedal.doubted and not doubted:
            self._handle(DeviceTroubled(event.at, Device.PEDAL, Trouble.HASTY))

    def _handle(self, event: Event) -> None:
        new, effects = advance(self.programme, self.state, event)
        if not cut_is_allowed(
            self.programme, new
        ):  # the table is proven in tests; this is the belt to it
            raise AssertionError(f"a cut without lock and guard was refused: {new}")
        if effects or not isinstance(event, PhraseHeard):  # chatter is nobody's business
            self._journal.append(event, new, _ground(effects))
        self.state = new
        for effect in effects:
            self._outlet.perform(effect)
        with speaking(self.programme.language):
            heard = heard_of(event, effects)
        self._stand(heard)

    def handle_nothing(self) -> None:
        """Nothing happened: only say again where the job stands."""
        self._stand(NOTHING_HEARD)

    def _stand(self, heard: LastInput) -> None:
        if self._pedal.doubted:
            with speaking(self.programme.language):
                heard = replace(heard, notice=say(wording.NOT_BELIEVED))
        self._outlet.stand(self.programme, self.state, heard)

    def cannot_write(self, fault: JournalFault) -> None:
        """Nothing was recorded, so nothing has changed: say so. The question stays."""
        with speaking(self.programme.language):
            text = wording.cannot_write(self.programme.stage(self.state.stage), self.state)
            notice = say(wording.UNWRITTEN)
        self._outlet.perform(Signal(Tone.ATTENTION))
        self._outlet.perform(Say(text, "device"))
        self._outlet.stand(self.programme, self.state, LastInput(str(fault), Verdict.OTHER, notice))

    def give_up(self) -> None:
        """Nobody can answer: said, in case somebody can still hear or read it."""
        with speaking(self.programme.language):
            text = wording.nobody_answers()
        self._outlet.perform(Signal(Tone.ATTENTION))
        self._outlet.perform(Say(text, "device"))
        self._outlet.stand(self.programme, self.state, NOTHING_HEARD)

    @property
    def finished(self) -> bool:
        """The last part of the job is done and was closed."""
        return self.state.step is Step.FINISHED


def _ground(effects: list[Effect]) -> str:
    return next((effect.ground.value for effect in effects if isinstance(effect, Refuse)), "")


def heard_of(event: Event, effects: list[Effect]) -> LastInput:
    """What was heard or pressed, and whether it was taken, for the display."""
    match event:
        case PhraseHeard(heard=heard):
            what = say("“{phrase}”", phrase=heard)
        case CommandGiven(command=command):
            what = say("“{phrase}”", phrase=phrase_for(command))
        case PedalUsed(gesture=gesture, source=source):
            name = say(_SOURCES.get(source, source))
            what = say("{device}: {gesture}", device=name, gesture=say(_GESTURES[gesture]))
        case SizeGiven(size=size, unit=unit):
            what = say("“{phrase}”", phrase=f"{size} {unit}".strip())
        case _:
            return NOTHING_HEARD
    if any(isinstance(effect, Refuse) for effect in effects):
        return LastInput(say("{what}, refused", what=what), Verdict.REFUSED)
    if effects:
        return LastInput(say("{what}, taken", what=what), Verdict.TAKEN)
    return LastInput(say("{what}, none of my words", what=what), Verdict.OTHER)


_SOURCES = {"pedal": mark("pedal"), "keyboard": mark("keyboard"), "page": mark("page")}
_GESTURES = {
    Gesture.PRESS: mark("press"),
    Gesture.DOUBLE: mark("double"),
    Gesture.SHORT_HOLD: mark("short hold"),
    Gesture.HOLD: mark("hold"),
}


def view_of(
    programme: Programme, state: State, said: str = "", heard: LastInput = NOTHING_HEARD
) -> View:
    """The state in words and figures, for a display. `said` is all that was said just now."""
    with speaking(programme.language) as language:
        return replace(_view(programme, state, said, heard), language=language.code)


def _view(programme: Programme, state: State, said: str, heard: LastInput) -> View:
    programme = programme.stage(state.stage)
    moving = state.step in (Step.TRIAL_MOVE, Step.INDEX, Step.COME_UP, Step.CALL)
    move = programme.moves[state.place - 1] if moving else None
    return View(
        title=plain(programme.title),
        phase=phase_of(state.step).value,
        cut=state.cut(programme),
        of=state.due(programme),
        pass_number=state.pass_number,
        done=state.done,
        move=moves.move_words(move) if move else "",
        figures=moves.move_figures(move) if move else "",
        awaited=wording.awaited_words(programme, state.step),
        scale=wording.scale_figures(programme, state.place),
        said=plain(said or state.said),
        heard=replace(heard, words=plain(heard.words)),
        locked=state.locked,
        guarded=state.guarded,
        lost=tuple(device.value for device in state.lost),
        away=tuple(map(wording.device_name, state.lost)),
        cells=presenting.live_cells(programme, state),
        answer=_spoken_answer(programme, state),
        item=wording.item_words(programme, state) if state.step is Step.SET_UP else "",
        item_number=state.item + 1 if state.step is Step.SET_UP else 0,
        items=len(programme.items(state.part)),
        deaf=not calling.listened_to(state),
        part_number=state.part,
        parts=programme.parts,
        next_part=part_is_made(programme, state) and state.step is Step.CLOSING_CHECK,
        passes=programme.passes,
        label=presenting.label(programme, state),
        stage=programme.name,
        unlocked=programme.unlocked,
        acts=presenting.acts(programme, state),
        too_loud=state.too_loud,
        plate=presenting.plate_sight(programme, state),
        part=presenting.part_sight(programme, state),
        step=state.step.value,
        request=requests.request(programme, state),
        lock_is=requests.lock_is(programme, state),
        steady=presenting.steady_cells(programme, state),
        measured=presenting.what_is_measured(programme, state),
    )


def _spoken_answer(programme: Programme, state: State) -> str:
    counts = state.step in ANSWERS and calling.phrase_counts(programme, state)
    return wording.phrase(state.step) if counts else ""


class Bench:
    """The outlet at the machine: speech, tones and a display. `speed`: how many times the usual
    pace the voice speaks. `ways`: the devices that this bench has to answer by or to look at; none
    where that is not known."""

    def __init__(
        self,
        announcer: Announcer,
        display: Display,
        listeners: tuple[Listener, ...],
        speed: float = 1.0,
        ways: Set[Device] = frozenset(),
    ) -> None:
        self._speed = max(1.0, speed)
        self._announcer = announcer
        self._display = display
        self._listeners = listeners
        self._ways, self._lost = ways, frozenset[Device]()
        self._said: list[str] = []
        self._said_at = 0.0
        self._step: tuple[Step, int] | None = None
        self._step_since = 0.0

    def timed(self, event: Event) -> Event:
        """A press or a phrase with how long after its question it came, and with how long the step
        has been worked on; a loss with what is left; any other event as it is."""
        if isinstance(event, PedalUsed | PhraseHeard | CommandGiven) and self._step:
            event = replace(event, took=round(max(0.0, event.at - self._step_since), 2))
        match event:
            case PedalUsed(pressed_at=since) | PhraseHeard(began_at=since) if since:
                return replace(event, waited=self._waited(since))
            case DeviceLost(device=device) if self._ways:
                left = sorted(self._ways - self._lost - {device})
                return replace(event, left="+".join(left) or "none")
        return event

    def _waited(self, answered_at: float) -> float:
        began = self._announcer.began()
        if began is not None:
            return (answered_at - began) * self._speed
        # The question also stands on the screen: with no sound it has been read by then.
        since = answered_at - self._said_at - SEEN_S
        return LONG_ENOUGH if since >= REACTION_S else since

    def perform(self, effect: Effect) -> None:
        match effect:
            case Say(text=text, purpose=purpose, brief=brief):
                self._said.append(plain(text))
                # News that comes and comes keeps no answer from counting, and a question that
                # was answered too soon still stands where it stood.
                if purpose not in ("device", "refusal"):
                    self._said_at = time.time()
                self._announcer.say(plain(text), brief)
            case Signal(tone=tone):
                self._announcer.signal(tone)
            case Announce() | Refuse():
                pass  # the sentence that follows speaks it; the display shows it

    def _shown(self, state: State) -> str:
        """What was said just now; what is being asked is never hidden by news of a device."""
        news = " ".join(self._said)
        asked = plain(state.said)
        return news if asked in news else f"{news} {asked}".strip()

    def stand(self, programme: Programme, state: State, heard: LastInput) -> None:
        if (state.step, state.done) != self._step:
            self._step, self._step_since = (state.step, state.done), time.time()
        self._lost = frozenset(state.lost)
        wanted: frozenset[Command] = expected_commands(
            state, programme=programme.stage(state.stage)
        )
        for listener in self._listeners:
            listener.expect(wanted)
        self._display.show(view_of(programme, state, self._shown(state), heard))
        self._said.clear()
        for effect in next_question(programme, state):
            self._announcer.prepare(plain(effect.text), effect.brief)


def next_question(programme: Programme, state: State) -> list[Say]:
    """What is said when the present question is answered by a press: known before it is pressed."""
    if state.step is Step.FINISHED:
        return []
    _, effects = advance(programme, state, PedalUsed(0.0, Gesture.PRESS))
    return [effect for effect in effects if isinstance(effect, Say)]


WAKE_S = 0.5  # a signal is answered at the latest after this long
RETRY_S = 5.0  # between two attempts at a journal that can't be written


class NobodyAnswers(Exception):
    """No device is left that an answer could come from; the job is kept."""


def begin(
    session: Session,
    events: queue.SimpleQueue[Event],
    first: Callable[[], Event],
    start: Callable[[], None],
    retry_s: float = RETRY_S,
) -> bool:
    """Records the first event and lets the devices report by `start`. False when the person leaves
    before it could be recorded: a full disk is told aloud here too, and tried again every `retry_s`
    seconds."""
    try:
        session.handle(first())
    except JournalFault as fault:
        start()
        return _unwritten(session, events, fault, retry_s, first)
    start()
    return True


def work(
    session: Session,
    events: queue.SimpleQueue[Event],
    timed: Callable[[Event], Event],
    patience: Callable[[], float | None] = lambda: None,
    retry_s: float = RETRY_S,
) -> bool:
    """Handle events until the job is finished or the person leaves. True when finished.

    `patience` is how many seconds an answer may still be waited for, None while one can come.
    While the journal can't be written nothing counts: it is said, and tried again until it can.
    Raises NobodyAnswers when the patience is over.
    """
    while not session.finished:
        event = _within(events, patience())
        if event is None:
            if patience() is not None:
                session.give_up()
                raise NobodyAnswers
            continue
        try:
            session.handle(timed(event))
        except JournalFault as fault:
            if isinstance(event, SessionLeft) or not _unwritten(session, events, fault, retry_s):
                return False
            continue
        if isinstance(event, SessionLeft):
            return False
    return True


def _back() -> Event:
    return DeviceReturned(time.time(), Device.JOURNAL)


def _unwritten(
    session: Session,
    events: queue.SimpleQueue[Event],
    fault: JournalFault,
    retry_s: float,
    then: Callable[[], Event] = _back,
) -> bool:
    """Waits until the journal can be written again, with what is `then` to be recorded; False when
    the person leaves before."""
    session.cannot_write(fault)
    while True:
        event = _within(events, retry_s)
        if isinstance(event, SessionLeft):
            return False
        try:
            session.handle(then())
        except JournalFault as still:
            if isinstance(event, PedalUsed | PhraseHeard | CommandGiven | SizeGiven | NoteWritten):
                session.cannot_write(still)  # an answer that did not count is never met by silence
            continue
        return True


def _within(events: queue.SimpleQueue[Event], seconds: float | None) -> Event | None:
    """The next event; None when none has come in so many seconds.

    It waits in short pieces: the system may hand a signal to another thread, or just before the
    wait begins, and Python runs the handler only when this thread wakes. Somebody who leaves with
    Ctrl-C would be slept over.
    """
    end = float("inf") if seconds is None else time.monotonic() + seconds
    while True:
        rest = end - time.monotonic()
        try:
            return events.get(timeout=min(max(rest, 0.0), WAKE_S))
        except queue.Empty:
            if rest <= WAKE_S:
                return None
