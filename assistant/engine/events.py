"""What happened (facts, past tense) and what is to be done (effects, imperative).

Facts come from the edge of the program with the time at which they happened; the engine
has no clock of its own. Every fact is plain data, so that the journal can write it down
and read it back unchanged (`to_record`, `from_record`).
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from enum import StrEnum
from typing import Any

from assistant.engine.asked import Command as Command  # noqa: PLC0414  the facts name it


class Gesture(StrEnum):
    """What the foot did: told apart by `assistant.devices.pedal.gestures`."""

    PRESS = "press"  # the answer to what was just asked
    DOUBLE = "double"  # say again
    SHORT_HOLD = "short-hold"  # say again, where a press is not to wait for a second one
    HOLD = "hold"  # pause, and where am I


class Tone(StrEnum):
    """The three short tones."""

    ACCEPTED = "accepted"
    REFUSED = "refused"
    ATTENTION = "attention"


class Device(StrEnum):
    """The devices that can be lost and return while a session runs."""

    MICROPHONE = "microphone"
    EAR = "ear"
    SPEAKER = "speaker"
    PEDAL = "pedal"
    KEYBOARD = "keyboard"
    DISPLAY = "display"
    PAGE = "page"
    JOURNAL = "journal"  # it can't be written while the disk is full, gone or read-only


class Trouble(StrEnum):
    """A device that is there but can't be believed, or not in all that it says."""

    STUCK = "stuck"  # the pedal stays down
    CHATTERING = "chattering"  # its contact opens and closes faster than a foot can
    HASTY = "hasty"  # the pedal answers sooner than its questions can be heard
    LEANED_ON = "leaned-on"  # many keys at once: something lies or walks on the keyboard
    CLIPPING = "clipping"  # the microphone gives more than it can carry
    OVERHEARD = "overheard"  # the headset's microphone has our own voice, or the shop, too loud
    SHORT_OF_WORDS = "short-of-words"  # the ear can't know some of the phrases


class Source(StrEnum):
    """Where an answer or a command comes from."""

    PEDAL = "pedal"
    VOICE = "voice"
    KEYBOARD = "keyboard"
    PAGE = "page"


class Ground(StrEnum):
    """Why an event was refused. The value is the code in the journal."""

    TOO_SOON = "too-soon"  # before its question could have been understood
    TOO_QUICK = "too-quick"  # far under the person's own time for this question
    NOT_BELIEVED = "not-believed"  # the pedal answers as no foot does
    TOO_LOUD = "too-loud"  # for the ear to be trusted with lock and guard
    NOT_SURE = "not-sure"  # the ear heard it, but not well enough
    NOT_NOW = "not-now"  # it makes no sense at this step
    NOT_FROM_THERE = "not-from-there"  # lock and guard were to be answered another way
    NO_WAY_BACK = "no-way-back"
    NO_MOVE_YET = "no-move-yet"
    NO_SIZE = "no-size"  # what was given is no length
    IMPOSSIBLE_SIZE = "impossible-size"
    NO_CUT_NUMBER = "no-cut-number"


LONG_ENOUGH = 60.0  # seconds: no question is answered too soon after that


# --- facts ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class SessionStarted:
    """`ears` are the kinds of ear that listen, joined by "+", "none" where none does, ""
    where that is not known. `rules` is the number of the rules from here on
    (`transitions.RULES`; 1 where it was not yet kept). `foot` is what of a pedal calls the trial
    round: "hold" a short hold, "second" a press of the second pedal, "" nothing, or not known."""

    at: float
    ears: str = ""
    rules: int = 1
    foot: str = ""


@dataclass(frozen=True, slots=True)
class SessionResumed:
    """The program was started again on an unfinished journal; the rest as above."""

    at: float
    ears: str = ""
    rules: int = 1
    foot: str = ""


@dataclass(frozen=True, slots=True)
class PedalUsed:
    """A finished gesture of the pedal, or of the key that stands in for it.

    `pressed_at` is when the foot went down (0 when the device can't tell). `waited` is how
    many seconds after the question had begun to sound that was; less than 0: before it.
    `trusted` is False while the pedal answers as no foot does (`bench.pedal_watch`). `still` is for
    how many seconds its contact had not moved before this. `took` is how many seconds the step has
    been worked on, 0 where that is not known.
    """

    at: float
    gesture: Gesture
    source: Source = Source.PEDAL
    pressed_at: float = 0.0
    waited: float = LONG_ENOUGH
    trusted: bool = True
    still: float = LONG_ENOUGH
    took: float = 0.0


@dataclass(frozen=True, slots=True)
class PhraseHeard:
    """An utterance. `command` is None when it is none of ours.

    `accepted` is the ear's own verdict (false for noise, chatter, too low a score);
    `confidence` is 0 to 1; `why` says why it was not accepted. `began_at` is when the voice began
    (0 where that is not known), `waited` as with the pedal, `took` too.
    """

    at: float
    heard: str
    command: Command | None
    confidence: float = 1.0
    accepted: bool = True
    why: str = ""
    source: Source = Source.VOICE
    took: float = 0.0
    began_at: float = 0.0
    waited: float = LONG_ENOUGH


@dataclass(frozen=True, slots=True)
class CommandGiven:
    """A key or a button that names its command: nothing in it can be misheard. `took` as in
    `PedalUsed`."""

    at: float
    command: Command
    source: Source
    took: float = 0.0


@dataclass(frozen=True, slots=True)
class NoteWritten:
    """The person wrote, or spoke, a note of their own."""

    at: float
    text: str
    source: Source = Source.KEYBOARD


@dataclass(frozen=True, slots=True)
class PartScrapped:
    """The person gives the part up: it is below its finished size."""

    at: float
    source: Source = Source.KEYBOARD


@dataclass(frozen=True, slots=True)
class TrialWanted:
    """The trial round is to be called: cutter stopped and clear, spindle lock off."""

    at: float
    source: Source = Source.KEYBOARD


@dataclass(frozen=True, slots=True)
class SizeGiven:
    """A figure, spoken or typed: a measured size ("19.05"); while the place is checked, the
    number of the cut that is really next ("7").

    `unit` is "mm", "in", "thou", or "" for the unit of the job.
    """

    at: float
    size: str
    source: Source = Source.KEYBOARD
    unit: str = ""


@dataclass(frozen=True, slots=True)
class DeviceLost:
    """`left` are the devices that are still there to answer by or to look at, joined by "+", "none"
    where there are none, "" where that is not known."""

    at: float
    device: Device
    why: str
    left: str = ""


@dataclass(frozen=True, slots=True)
class DeviceReturned:
    """A device that was lost is there again."""

    at: float
    device: Device


@dataclass(frozen=True, slots=True)
class DeviceTroubled:
    """Told once when the trouble begins."""

    at: float
    device: Device
    trouble: Trouble


@dataclass(frozen=True, slots=True)
class TrustChanged:
    """The shop has become too loud to trust the ear, or quiet again.

    `noise` is the noise in dB under full scale, `snr` how many dB the person's usual voice
    stands over it: both for the record.
    """

    at: float
    trusted: bool
    noise: float = 0.0
    snr: float = 0.0


@dataclass(frozen=True, slots=True)
class SpeechFailed:
    """A sentence that was to be spoken was not: the words must reach the person another way."""

    at: float
    text: str
    why: str


@dataclass(frozen=True, slots=True)
class SessionLeft:
    """The person chose to leave; the job stays unfinished and can be resumed."""

    at: float


Event = (
    SessionStarted
    | SessionResumed
    | PedalUsed
    | PhraseHeard
    | CommandGiven
    | NoteWritten
    | PartScrapped
    | TrialWanted
    | SizeGiven
    | DeviceLost
    | DeviceReturned
    | DeviceTroubled
    | TrustChanged
    | SpeechFailed
    | SessionLeft
)

_KINDS: dict[str, type[Any]] = {
    cls.__name__: cls
    for cls in (
        SessionStarted,
        SessionResumed,
        PedalUsed,
        PhraseHeard,
        CommandGiven,
        NoteWritten,
        PartScrapped,
        TrialWanted,
        SizeGiven,
        DeviceLost,
        DeviceReturned,
        DeviceTroubled,
        TrustChanged,
        SpeechFailed,
        SessionLeft,
    )
}
_ENUMS: dict[str, type[StrEnum]] = {
    "command": Command,
    "gesture": Gesture,
    "device": Device,
    "trouble": Trouble,
    "source": Source,
}


def to_record(event: Event) -> dict[str, Any]:
    """The fact as JSON-ready data, its kind under `kind`."""
    return {"kind": type(event).__name__, **asdict(event)}


_MEMBERS = {name: {each.value: each for each in enum} for name, enum in _ENUMS.items()}


def _known(name: str, enum: type[StrEnum], value: Any) -> StrEnum:
    try:
        return _MEMBERS[name].get(value) or enum(value)  # sooner found than by the enum itself
    except (ValueError, TypeError):
        # A damaged record may hold anything, of any length.
        raise ValueError(f"{name} {repr(value)[:60]} is none that is known here") from None


def from_record(record: dict[str, Any]) -> Event:
    """The fact that `to_record` wrote. Raises ValueError for a kind or a value unknown here."""
    fields = dict(record)
    kind = fields.pop("kind", None)
    if not isinstance(kind, str) or kind not in _KINDS:
        raise ValueError(f"event of unknown kind {repr(kind)[:60]}")
    for name, enum in _ENUMS.items():
        if fields.get(name) is not None:
            fields[name] = _known(name, enum, fields[name])
    try:
        event: Event = _KINDS[kind](**fields)
    except TypeError as error:
        raise ValueError(f"event {kind} does not fit: {error}") from error
    return event
