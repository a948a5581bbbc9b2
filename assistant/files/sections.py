"""Every setting: its default, what it may be, and what is written beside it in the file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any

from assistant.sureness import SURE_ENOUGH, SURE_FOR_LOCK_AND_GUARD

USUAL_BLANK = 60  # minutes, as in config/order.toml

# `tells` is the remark beside the setting in the file that is shipped; {range} is what it may be.
# `before` holds in a journal that was begun when there was no such setting yet; `once` are words of
# an earlier version, each with today's.


def _one_of(
    default: str, *others: str, tells: str = "{range}", once: Mapping[str, str] | None = None
) -> Any:
    known = {"one_of": (default, *others), "tells": tells, "once": once or {}}
    return field(default=default, metadata=known)


def _between(
    default: float, least: float, most: float, tells: str = "{range}", before: Any = None
) -> Any:
    known = {"between": (least, most), "tells": tells, "before": before}
    return field(default=default, metadata=known)


def _any(default: str | bool, tells: str, before: Any = None) -> Any:
    """Any text, or yes or no."""
    return field(default=default, metadata={"tells": tells, "before": before})


@dataclass(frozen=True, slots=True)
class SpeechSettings:
    """How the program speaks: words a minute 80 to 400, loudness in per cent of the
    voice as it is.
    """

    engine: str = _one_of("auto", "espeak-ng", "pyttsx3", "none")
    language: str = _any("en", "en | de, or a folder of your own (docs/language.md)")
    voice: str = _any("en-us", "a voice of the speech engine; left as it is: the language's own")
    words_per_minute: int = _between(145, 80, 400)
    numbers: str = _one_of(
        "sure", "plain", "digits",
        tells='sure: "fifteen, one five" | plain: "fifteen" | digits: "one five"',
    )  # fmt: skip
    loudness: int = _between(100, 1, 200, "{range}; 100 is the voice as it is")
    brisk: float = _between(
        1.5, 1.0, 1.75, "{range}: so much faster the few words of a cut known by rote are said"
    )


@dataclass(frozen=True, slots=True)
class SoundSettings:
    """Parts of device names; empty: the system's own choice."""

    microphone: str = _any("", "a part of the device's name; empty: the system's own choice")
    speaker: str = _any("", "`tallyhand doctor` lists the names")


@dataclass(frozen=True, slots=True)
class EarSettings:
    """Who listens, and how sure it must be, 0 to 1: never less than what the engine asks for."""

    kind: str = _one_of(
        "auto", "trained", "grammar", "vosk", "none",
        tells="auto: vosk when a model is named, else trained\n| trained | grammar | vosk | none",
        once={"head": "trained"},
    )  # fmt: skip
    vosk_model: str = _any("", "the folder of a Vosk model that can take a grammar")
    accept: float = _between(SURE_ENOUGH, SURE_ENOUGH, 1.0, "how sure the ear must be, {range}")
    accept_lock_and_guard: float = _between(
        SURE_FOR_LOCK_AND_GUARD, SURE_FOR_LOCK_AND_GUARD, 1.0,
        'the same for "spindle locked" and "guard closed", {range}',
    )  # fmt: skip
    agree: bool = _any(False, "true: these two count only when a second ear heard the same")
    headset: bool = _any(
        False, "true: what you say over its voice counts; only with a headset on your ears"
    )
    opening_tone: bool = _any(
        True, "a soft tone when it has spoken and the ear opens, while you answer by voice"
    )


@dataclass(frozen=True, slots=True)
class PedalSettings:
    """How the pedal is read, and how its gestures are told apart."""

    kind: str = _one_of(
        "auto", "evdev", "x", "none",
        tells="auto: as it was taught | evdev | x | none\n"
        "teach it once: tallyhand doctor --learn-pedal",
    )  # fmt: skip
    gestures: str = _one_of(
        "hold", "double",
        tells='hold: a press counts at once; held 0.5 s "say again", 1.5 s pause\n'
        'double: two presses "say again", held 0.8 s pause; a press waits 0.38 s',
    )  # fmt: skip
    second: str = _one_of(
        "again", "pause", "none",
        tells="of a second pedal (tallyhand doctor --learn-second-pedal) a press says\n"
        "again, held 0.8 s it pauses | pause: the other way round | none",
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class KeyboardSettings:
    """Whether the terminal's keys answer."""

    use: bool = _any(True, "the terminal's keys")


@dataclass(frozen=True, slots=True)
class ScreenSettings:
    """Whether the whole screen is drawn, or lines are printed."""

    kind: str = _one_of(
        "auto", "full", "lines", tells="auto: full on a terminal, else lines | full | lines"
    )


@dataclass(frozen=True, slots=True)
class PageSettings:
    """The bench page for a browser; with `network` also for a tablet in the shop."""

    serve: bool = _any(True, "the bench page for a browser: http://127.0.0.1:8437/")
    port: int = _between(8437, 0, 65535, "{range}; 0: any free one")
    network: bool = _any(False, "true: served to the shop's network, for a tablet, with a key")
    address: str = _any(
        "", 'with network: this machine\'s address there; "": the one it uses itself'
    )


@dataclass(frozen=True, slots=True)
class PaceSettings:
    """How many words and answers a cut gets (docs/decisions/008-three-answers-a-cut.md). The
    session heeds all of it: it travels in the job's programme."""

    words: str = _one_of(
        "few", "whole",
        tells="few: three answers a cut, once the first cuts are made | whole: five",
    )  # fmt: skip
    whole_cuts: int = _between(
        3, 1, 100,
        "{range} first cuts in whole sentences, and one after what comes between", before=0,
    )  # fmt: skip
    remind_every: int = _between(
        100, 0, 1000, "0 to 1000: what does not change is said every so many cuts; 0: never",
        before=25,
    )  # fmt: skip
    trial_round: bool = _any(
        False, "true: the set-up of every job offers a trial round, not only where it is worth it"
    )


@dataclass(frozen=True, slots=True)
class AnswerSettings:
    """What may answer for lock and guard; the keys and the page count with the pedal. The session
    heeds all of it."""

    lock_and_guard: str = _one_of(
        "both", "pedal", "voice",
        tells="pedal: pedal, keys or page, no voice: the advised way | voice | both",
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class JobSettings:
    """What holds where a command or a job does not say: a head by name or file, units, and the
    names of person and machine for the record.

    `fitted` is the plate that is on that head now; `blank_minutes` what a spoilt blank costs.
    """

    head: str = _any("", "the head of `plan` and `table` where none is named: name or file")
    fitted: str = _any("", "the plate that is on that head now: kept where it serves")
    blank_minutes: int = _between(
        USUAL_BLANK, 0, 100_000,
        "what a spoilt blank costs you, {range} minutes: the dearer, the safer the way",
    )  # fmt: skip
    units: str = _one_of("auto", "mm", "in", tells="auto: as the job gives its lengths | mm | in")
    operator: str = _any("", "who works here, for the report")
    machine: str = _any("", "what the machine is called in the shop, for the report")


@dataclass(frozen=True, slots=True)
class MeasuredSettings:
    """What the set-up measured of the microphone, in its own words; nothing goes by it."""

    machine_off: str = ""
    machine_running: str = ""


SECTIONS: dict[str, type[Any]] = {
    "speech": SpeechSettings,
    "sound": SoundSettings,
    "ear": EarSettings,
    "pedal": PedalSettings,
    "keyboard": KeyboardSettings,
    "screen": ScreenSettings,
    "page": PageSettings,
    "pace": PaceSettings,
    "answers": AnswerSettings,
    "job": JobSettings,
    "measured": MeasuredSettings,
}


def as_it_was(section: type[Any]) -> dict[str, Any]:
    """The settings of a section as they were before there were any."""
    known = {each.name: each.metadata.get("before") for each in fields(section)}
    return {name: value for name, value in known.items() if value is not None}


def remark(setting: Any) -> str:
    """What is written beside a setting, one of a section's fields, in the file; "" for nothing."""
    choices = setting.metadata.get("one_of", ())
    least, most = setting.metadata.get("between", (0, 0))
    may_be = " | ".join(choices) if choices else f"{least:g} to {most:.10g}"
    return str(setting.metadata.get("tells", "")).replace("{range}", may_be)
