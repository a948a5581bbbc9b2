"""A journal read as an account: every cut with its confirmations, and everything else of note.

The journal holds facts, the states after them, and why a fact was refused. Before version 3 it
did not say why: there the fact is put to the engine again.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime
from fractions import Fraction
from statistics import median

from assistant.engine import calling
from assistant.engine.engine import Refuse, advance
from assistant.engine.events import (
    CommandGiven,
    DeviceLost,
    DeviceReturned,
    DeviceTroubled,
    Event,
    Gesture,
    Ground,
    NoteWritten,
    PedalUsed,
    PhraseHeard,
    SessionLeft,
    SessionResumed,
    SpeechFailed,
    Trouble,
    TrustChanged,
)
from assistant.engine.phases import Step, phase_of
from assistant.engine.phrases import phrase_for
from assistant.engine.state import State
from assistant.engine.wording import device_name
from assistant.job.measuring import Measurement
from assistant.job.programme import Programme
from assistant.job.units import NO_LENGTH, shown
from assistant.journal.writing import Entry, JournalRecords
from assistant.words.language import mark, on_paper, say, speaking
from assistant.words.moves import move_figures
from solver import Millimetres

_WENT_PAST = (Step.FREE, Step.BACK_OFF)


@dataclass(frozen=True, slots=True)
class Confirmation:
    """A confirmation: when, by which device, and how sure the ear was (1 for a press)."""

    at: float
    source: str
    confidence: float = 1.0


@dataclass(slots=True)
class CutMade:
    """One cut. `seconds` counts from the cut before (the first from the end of the set-up);
    None after a break, or where the clock was set back. `cutting` is from guard to done. `released`
    and `pinned` are the answers of its move, None for the first cut; `move` in figures, and the
    angle in degrees from the first cut to which it led."""

    stage: int
    pass_number: int
    number: int
    label: str
    done: Confirmation
    lock: Confirmation | None = None
    guard: Confirmation | None = None
    seconds: float | None = None
    cutting: float | None = None
    overshoots: int = 0
    refused: int = 0
    released: Confirmation | None = None
    pinned: Confirmation | None = None
    move: str = ""
    degrees: float = 0.0
    depth: float | None = None  # mm, that the dial was set to
    part: int = 1  # of a batch


@dataclass(frozen=True, slots=True)
class Confirmed:
    """An item of a set-up that was confirmed; the last time counts."""

    stage: int
    number: int
    text: str
    answer: Confirmation
    part: int = 1  # of a batch


@dataclass(frozen=True, slots=True)
class Size:
    """A measured size in mm beside the one expected then and the finished one; None: skipped.

    `low` and `high` are the limits of the finished size, None where the job states none;
    `verdict` is "in", "under" or "over", against them or, with none, against the finished size;
    "" before the last pass where something is left to cut.
    """

    at: float
    what: str
    size: float | None
    expected: float
    target: float
    low: float | None = None
    high: float | None = None
    verdict: str = ""
    after: int = 0  # cuts of the account that were made by then
    part: int = 1  # of a batch


@dataclass(frozen=True, slots=True)
class Remark:
    """Anything else worth reading: a note, a refusal, a device, an overshoot, a restart."""

    at: float
    kind: str
    text: str
    cut: int
    part: int = 1  # of a batch


@dataclass(frozen=True, slots=True)
class PartTold:
    """A part of a batch that is over: made, or given up with so many cuts."""

    number: int
    given_up: bool
    cuts: int
    at: float


@dataclass(slots=True)
class Account:
    """One job."""

    reading: JournalRecords
    cuts: list[CutMade] = field(default_factory=list)
    sizes: list[Size] = field(default_factory=list)
    remarks: list[Remark] = field(default_factory=list)
    set_up: list[Confirmed] = field(default_factory=list)
    parts: list[PartTold] = field(default_factory=list)  # of a batch, those that are over

    @property
    def finished(self) -> bool:
        """The job was done and closed."""
        return self.reading.state.step is Step.FINISHED

    def size_after(self, cut: int) -> Size | None:
        """The last size that was taken when so many cuts were made; None: none was."""
        found = [size for size in self.sizes if size.after == cut and size.size is not None]
        return found[-1] if found else None

    def count(self, kind: str) -> int:
        """How many remarks there are of that kind."""
        return sum(remark.kind == kind for remark in self.remarks)

    def sources(self) -> dict[str, int]:
        """How many confirmations of lock, guard and cut came from each device."""
        found: dict[str, int] = {}
        for cut in self.cuts:
            for answer in (cut.lock, cut.guard, cut.done):
                if answer is not None:
                    found[answer.source] = found.get(answer.source, 0) + 1
        return dict(sorted(found.items()))

    def median_seconds(self) -> float | None:
        """The median time of a cut, in seconds; None where no cut has one."""
        known = [cut.seconds for cut in self.cuts if cut.seconds is not None]
        return median(known) if known else None


def told_from(reading: JournalRecords) -> Account:
    """The whole job told from its journal, in the language of the session."""
    teller = _Teller(reading.programme)
    with speaking(reading.programme.language):
        for entry in reading.entries:
            teller.take(entry)
    set_up = [teller.set_up[key] for key in sorted(teller.set_up)]
    return Account(reading, teller.cuts, teller.sizes, teller.remarks, set_up, teller.parts)


class _Teller:
    """Walks through the entries, one fact and two states at a time."""

    def __init__(self, job: Programme) -> None:
        self._job = job
        self._state = State()
        self._lock: Confirmation | None = None
        self._guard: Confirmation | None = None
        self._since: float | None = None
        self._released: Confirmation | None = None
        self._pinned: Confirmation | None = None
        self._overshoots = self._refused = 0
        self._dial: float | None = None
        self._more = NO_LENGTH
        self.set_up: dict[tuple[int, int, int], Confirmed] = {}
        self.cuts: list[CutMade] = []
        self.sizes: list[Size] = []
        self.remarks: list[Remark] = []
        self.parts: list[PartTold] = []

    def take(self, entry: Entry) -> None:
        old, new, event = self._state, entry.state, entry.event
        self._state = new
        cut = new.cut(self._job.stage(new.stage))
        for kind, text in self._told(old, entry):
            self.remarks.append(Remark(entry.at, kind, text, cut, old.part))
        self._breaks(old, new, entry.at)
        self._confirmed(old, new, event)
        self._dial_is_set(old, new)
        if new.locked and not old.locked:
            self._lock = _answer(event)
        if new.guarded and not old.guarded:
            self._guard = _answer(event)
        same = (new.part, new.stage, new.pass_number) == (old.part, old.stage, old.pass_number)
        if same and new.done == old.done + 1:
            self._cut_made(old, event)
        settled = new.measured == old.measured + 1 or new.recut > old.recut
        if new.part != old.part:
            if old.step is Step.UNDERSIZE:  # given up: the size that decided it
                self._measured(old, old, entry.at)
        elif settled and new.stage == old.stage:
            self._measured(old, new, entry.at)
        self._part_over(old, new, entry.at)

    def _part_over(self, old: State, new: State, at: float) -> None:
        """Nothing for a job of a single part."""
        ended = new.step is Step.FINISHED and old.step is not Step.FINISHED
        if self._job.parts > 1 and (ended or new.part != old.part):
            given_up = len(new.scraps) > len(old.scraps)
            cuts = sum(cut.part == old.part for cut in self.cuts)
            self.parts.append(PartTold(old.part, given_up, cuts, at))

    def _confirmed(self, old: State, new: State, event: Event) -> None:
        """Items of the set-up, the lock off before a move, the pin in its hole after it."""
        if old.trial or new.trial:
            if old.trial and new.item == old.item + 1:
                self._item_confirmed(old, event)
            return
        if old.step is Step.SET_UP and (new.item == old.item + 1 or new.step is not Step.SET_UP):
            if new.step in (Step.PAUSED, Step.CHECK_POSITION):
                return
            self._item_confirmed(old, event)
        if old.step in (Step.RELEASE, Step.FREE) and not new.locked and new.place > old.settled:
            self._released = _answer(event)
        if new.settled == old.settled + 1 and (new.part, new.stage) == (old.part, old.stage):
            self._pinned = _answer(event)

    def _item_confirmed(self, old: State, event: Event) -> None:
        text = self._job.stage(old.stage).items(old.part)[old.item]
        item = Confirmed(old.stage + 1, old.item + 1, text, _answer(event), old.part)
        self.set_up[old.part, old.stage, old.item] = item

    def _breaks(self, old: State, new: State, at: float) -> None:
        """Where the time of a cut begins: at the end of the set-up; anew after a break."""
        if new.step in (Step.PAUSED, Step.CHECK_POSITION):
            self._since = None
        elif old.step is Step.SET_UP and new.step is not Step.SET_UP:
            self._since = at

    def _cut_made(self, old: State, event: Event) -> None:
        stage = self._job.stage(old.stage)
        done = _answer(event)
        self.cuts.append(
            CutMade(
                stage=old.stage + 1,
                pass_number=old.pass_number,
                number=old.done + 1,
                label=stage.labels[old.done] if old.done < len(stage.labels) else "",
                done=done,
                lock=None if stage.unlocked else self._lock,
                guard=self._guard,
                seconds=_between(self._since, done.at),
                cutting=_between(self._guard.at if self._guard else None, done.at),
                overshoots=self._overshoots,
                refused=self._refused,
                released=self._released,
                pinned=self._pinned,
                move=move_figures(stage.moves[old.done - 1]) if old.done else "",
                degrees=float(stage.positions[old.done] * 360),
                depth=self._dial,
                part=old.part,
            )
        )
        self._since, self._guard = done.at, None
        self._released = self._pinned = None
        self._overshoots = self._refused = 0

    def _dial_is_set(self, old: State, new: State) -> None:
        """What the depth dial reads, as it was called: by the job's figures, and after a size by
        what that left; a cut that is made again goes deeper by it."""
        stage = self._job.stage(old.stage)
        if new.recut and not old.recut:
            taken = stage.measurements[old.measured]
            self._more = NO_LENGTH if taken.sideways else taken.remaining(new.size_mm)
        if old.recut and not new.recut and new.deeper and self._dial is not None:
            self._dial += float(self._more)
        if new.step in (Step.CUT, Step.GUARD) and not new.recut:
            self._dial = _called(self._job.stage(new.stage), new, self._dial)

    def _measured(self, old: State, new: State, at: float) -> None:
        wanted = self._job.stage(old.stage).measurements[old.measured]
        size = float(new.size_mm) if new.size else None
        low, high = _in_mm(wanted.low), _in_mm(wanted.high)
        verdict = _verdict(wanted, new.size_mm) if new.size else ""
        target = float(wanted.target)
        expected = float(wanted.expected)
        made = len(self.cuts)
        self.sizes.append(
            Size(at, wanted.what, size, expected, target, low, high, verdict, made, old.part)
        )

    def _told(self, old: State, entry: Entry) -> Iterator[tuple[str, str]]:
        new, event = entry.state, entry.event
        why = _why(self._job, old, entry)
        if why:
            self._refused += 1
            yield "refused", f"{_input(event)}: {why}"
        if new.step in _WENT_PAST and old.step not in _WENT_PAST and not why:
            self._overshoots += 1
            yield "overshoot", say("went past the hole")
        if told := _decided(self._job, old, new):
            yield told
        if old.recut and not new.recut and new.deeper:
            yield "cut again", _deeper(self._job, old)
        plain = _plain(event)
        if plain:
            yield plain


def _called(stage: Programme, state: State, dial: float | None) -> float | None:
    """What the dial is set to for this cut; `dial` is what it reads. None where the job gives no
    depth."""
    if calling.is_set(stage, state):
        return dial
    if more := calling.after_the_size(stage, state):
        before = stage.depths_mm[state.pass_number - 2 :][:1]
        return float(before[0] + more) if before else None
    if state.pass_number > len(stage.depths_mm):
        return dial
    own = stage.deeper[state.done] if stage.deeper else NO_LENGTH
    return float(stage.depths_mm[state.pass_number - 1] + own)


def _in_mm(length: Fraction | None) -> float | None:
    return None if length is None else float(length)


def _verdict(wanted: Measurement, size: Millimetres) -> str:
    if wanted.is_under(size):
        return "under"
    if wanted.remaining(size):
        return "" if wanted.expected > wanted.target else "over"  # a pass is still to come
    return "in"


def _deeper(job: Programme, state: State) -> str:
    remaining = job.stage(state.stage).measurements[state.measured].remaining(state.size_mm)
    with on_paper():
        return say("cut {n}, {size} more", n=state.done, size=shown(remaining, job.unit))


def _decided(job: Programme, old: State, new: State) -> tuple[str, str] | None:
    """What the person decided where the count or the part was in doubt."""
    if old.step is Step.UNDERSIZE and new.step is not Step.PAUSED and new != old:
        wanted = job.stage(old.stage).measurements[old.measured]
        how = say(_WORDS_OF.get(new.step, _ALL_THE_SAME))
        with on_paper():
            size, target = shown(old.size_mm, job.unit), shown(wanted.target, job.unit)
        return "undersize", say("{what}: {size} for {target}: {how}",
                                what=wanted.what, size=size, target=target, how=how)  # fmt: skip
    if old.step is Step.RECOUNT and new.step in (Step.LOCK, Step.LEAVE_OFF):
        return "count set", say("cut {n} is next, by the person; counted were {done}",
                                n=new.done + 1, done=old.done)  # fmt: skip
    onward = new.step in (Step.SET_UP, Step.FINISHED)
    if old.step is Step.SPARE_PASS and onward:
        left = job.stage(old.stage).passes - old.pass_number
        return "pass left out", say("{n}: by the size nothing was left to cut", n=left)
    if old.trial and not new.trial:
        moves = job.stage(old.stage).cuts - (not job.stage(old.stage).closed)
        called = say("{n} moves called and made, and closed", n=moves)
        return "trial round", called if old.step is Step.CLOSING_CHECK else say("left out")
    if len(new.scraps) > len(old.scraps):
        return "part given up", say("part {n} of {total}, with {done} cuts made",
                                    n=old.part, total=job.parts, done=old.done)  # fmt: skip
    if new.part != old.part:
        return "part made", say("part {n} of {total}", n=old.part, total=job.parts)
    same = (old.stage, old.pass_number) == (new.stage, new.pass_number)
    if same and new.done < old.done:
        return "reopened", say("cut {n} was counted too soon", n=old.done)
    return None


_ALL_THE_SAME = mark("gone on with all the same")
_WORDS_OF = {
    Step.FINISHED: mark("given up as scrap"),
    Step.SET_UP: mark("given up as scrap"),
    Step.MEASURE: mark("measured again"),
    Step.READ_BACK: mark("measured again"),
    Step.CHECK_POSITION: mark("left, to look at the place"),
}


_GROUNDS = {
    Ground.TOO_SOON: mark("before its question could be understood"),
    Ground.TOO_QUICK: mark("far sooner than this person's usual answers to it"),
    Ground.NOT_BELIEVED: mark("the pedal answered as no foot does"),
    Ground.TOO_LOUD: mark("too loud to trust the ear with it"),
    Ground.NOT_SURE: mark("not heard well enough"),
    Ground.NOT_NOW: mark("it was not the answer to what was asked"),
    Ground.NOT_FROM_THERE: mark("lock and guard were to be answered another way"),
    Ground.NO_WAY_BACK: mark("there is no way back from there"),
    Ground.NO_MOVE_YET: mark("no move had been made"),
    Ground.NO_SIZE: mark("that is no length"),
    Ground.IMPOSSIBLE_SIZE: mark("that size can't be"),
    Ground.NO_CUT_NUMBER: mark("that is no number of a cut"),
}
_TOLD = {ground.value: text for ground, text in _GROUNDS.items()}


def _why(job: Programme, before: State, entry: Entry) -> str:
    """Why the event was refused, in words; "" where it was taken."""
    if entry.refused is None and entry.state == before:  # what is refused changes nothing
        code = refusal(job, before, entry.event)
    else:
        code = entry.refused or ""
    if code == Ground.NOT_NOW:
        return f"{say(_GROUNDS[Ground.NOT_NOW])} ({say(phase_of(before.step).value)})"
    return say(_TOLD[code]) if code in _TOLD else code


def refusal(job: Programme, state: State, event: Event) -> str:
    """The code of why the engine refuses this fact in that state; "" where it takes it."""
    effects = advance(job, state, event)[1]
    return next((effect.ground.value for effect in effects if isinstance(effect, Refuse)), "")


def _plain(event: Event) -> tuple[str, str] | None:
    """The facts that are remarks by themselves."""
    match event:
        case NoteWritten(text=text, source=source):
            return "note", f"{text} ({say(source.value)})"
        case DeviceLost() | DeviceReturned() | DeviceTroubled() | TrustChanged():
            return _device(event)
        case SpeechFailed(text=text, why=why):
            return "not spoken", f"{text} ({why})"
        case SessionResumed():
            return "resumed", say("the program was started again")
        case SessionLeft():
            return "left", say("the person left the session")
        case _:
            return None


_TROUBLES = {
    Trouble.STUCK: mark("stuck"), Trouble.CHATTERING: mark("chattering"),
    Trouble.HASTY: mark("hasty"), Trouble.LEANED_ON: mark("leaned-on"),
    Trouble.OVERHEARD: mark("overheard"),
    Trouble.CLIPPING: mark("clipping"), Trouble.SHORT_OF_WORDS: mark("short-of-words"),
}  # fmt: skip


def _device(
    event: DeviceLost | DeviceReturned | DeviceTroubled | TrustChanged,
) -> tuple[str, str]:
    match event:
        case DeviceLost(device=device, why=why):
            return "device lost", f"{device_name(device)}: {why}"
        case DeviceReturned(device=device):
            return "device back", device_name(device)
        case DeviceTroubled(device=device, trouble=trouble):
            return "device troubled", f"{device_name(device)}: {say(_TROUBLES[trouble])}"
        case TrustChanged(trusted=trusted, noise=noise, snr=snr):
            heard = say("trusted again") if trusted else say("too loud to trust")
            return "hearing", say("{heard}: noise {noise} dB, the voice {over} dB over it",
                                  heard=heard, noise=f"{noise:.0f}", over=f"{snr:.0f}")  # fmt: skip


def _answer(event: Event) -> Confirmation:
    """Lock, guard and cut are confirmed by a phrase or a press, and both name their source."""
    sure = event.confidence if isinstance(event, PhraseHeard) else 1.0
    return Confirmation(event.at, _source(event), sure)


_GESTURES = {
    Gesture.PRESS: mark("press"), Gesture.DOUBLE: mark("double"),
    Gesture.SHORT_HOLD: mark("short-hold"), Gesture.HOLD: mark("hold"),
}  # fmt: skip


def _input(event: Event) -> str:
    """What a person said, pressed or gave: "voice “cut done” (0.95)", "keyboard 19.05"."""
    if isinstance(event, PhraseHeard):
        return f"{say(event.source)} “{event.heard}” ({event.confidence:.2f})"
    if isinstance(event, CommandGiven):
        return f"{say(event.source)} “{phrase_for(event.command)}”"
    what = getattr(event, "size", "")
    if isinstance(event, PedalUsed):
        what = say(_GESTURES[event.gesture])
    return f"{say(_source(event))} {what}".strip()


def _source(event: Event) -> str:
    return str(getattr(event, "source", ""))


def _between(start: float | None, end: float) -> float | None:
    """Seconds; None where nothing is known, or where the clock was set back between."""
    return None if start is None or end < start else end - start


def clock(at: float) -> str:
    """A time (seconds since 1970) as this machine's clock shows it: 2026-05-02T14:03:21+02:00."""
    try:
        return datetime.fromtimestamp(at, UTC).astimezone().isoformat(timespec="seconds")
    except (OverflowError, ValueError, OSError):
        return ""
