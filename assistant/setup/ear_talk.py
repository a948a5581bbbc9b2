"""The microphone: noise with the machine off and on, a phrase in each, and what to expect."""

from __future__ import annotations

import queue
import time
from dataclasses import dataclass
from datetime import date

from assistant.devices.availability import Availability
from assistant.devices.sound import loudness
from assistant.devices.sound.microphone import Microphone
from assistant.engine.events import Device, Event
from assistant.files.settings import Settings
from assistant.hearing.accuracy import Expectation, expected_accuracy, learned_share
from assistant.hearing.judging import Heard, Hearer
from assistant.hearing.levels import TOO_LOUD, WELL_AGAIN, clips, signal_to_noise
from assistant.hearing.opening import open_hearer
from assistant.hearing.recognisers.recogniser import EarUnusable
from assistant.setup.checks import device_names
from assistant.setup.program_voice import Voice
from assistant.setup.settings_text import SettingsText
from assistant.setup.talk import Talk
from assistant.words.choice import Choice

QUIET_S, WAIT_S = 3.0, 12.0
PHRASE = "spindle locked"
FAINT_VOICE_DB = -50.0
_SYSTEM = Choice("", "the system's own choice")


@dataclass(frozen=True, slots=True)
class Measured:
    """Decibels below full scale. `heard` is None when nothing was said, or understood as speech."""

    noise: float
    voice: float | None
    peak: float
    heard: Heard | None

    @property
    def snr(self) -> float | None:
        """Decibels of the voice over the noise."""
        return None if self.voice is None else signal_to_noise(self.voice, self.noise)


def choose_microphone(talk: Talk, file: SettingsText, voice: Voice) -> None:
    """Raises Left."""
    if voice.sound is None:
        talk.show(f"No microphone: {voice.why}. Pedal and keyboard answer everything.")
        return
    names = device_names()["microphones"]
    if not names:
        talk.show("No microphone is plugged in. Pedal and keyboard answer everything.")
        return
    choices = [_SYSTEM, *(Choice(name, name) for name in names)]
    present = file.settings.sound.microphone
    file.set("sound", "microphone", talk.choose("Which microphone?", choices, present))
    try:
        hearer = open_hearer(file.settings.ear)
    except EarUnusable as error:
        talk.show(f"No ear: {error}")
        return
    _measure_both(talk, file, voice, hearer)


def _measure_both(talk: Talk, file: SettingsText, voice: Voice, hearer: Hearer) -> None:
    settings = file.settings
    talk.tell("First with the machine off. Say nothing until I ask.")
    off = measure(talk, settings, voice, hearer)
    if off is None:
        return
    file.set("measured", "machine_off", trial_line(off, date.today()))
    for line in ear_verdict(hearer.name, off, "machine off"):
        talk.show(line)
    if not talk.yes(
        "Now with the machine running, nothing in the cut, guards closed. Is it running?", False
    ):
        talk.show("Not measured. Run `tallyhand setup microphone` when it runs.")
        return
    on = measure(talk, settings, voice, hearer)
    if on is None:
        return
    file.set("measured", "machine_running", trial_line(on, date.today()))
    lines = ear_verdict(hearer.name, on, "machine running")
    talk.tell(lines[0])
    for line in (*lines[1:], *help_for(hearer.name, on)):
        talk.show(line)


def measure(talk: Talk, settings: Settings, voice: Voice, hearer: Hearer) -> Measured | None:
    """Three seconds of the noise, then a phrase; None, with a line, when no sound comes."""
    assert voice.sound is not None
    voice.wait()
    told: queue.SimpleQueue[Event] = queue.SimpleQueue()
    availability = Availability(Device.MICROPHONE, told.put)
    microphone = Microphone(voice.sound, settings.sound.microphone, availability, voice.busy)
    try:
        noise = _blocks(microphone, availability, QUIET_S)
        if availability.away or not noise:
            talk.show(f"The microphone gives nothing: {availability.away or 'no samples came'}.")
            return None
        talk.tell(f"Now say: {PHRASE}.")
        voice.wait()
        talk.show("  listening ...")
        heard = _utterance(microphone, availability, hearer)
    finally:
        microphone.close()
    if heard is None:
        talk.show("No voice was heard.")
        return Measured(loudness.level(noise), None, loudness.SILENCE, None)
    return Measured(loudness.level(noise), heard.level, loudness.peak(heard.pcm), heard)


def _blocks(microphone: Microphone, availability: Availability, seconds: float) -> bytes:
    pcm = bytearray()
    end = time.monotonic() + 2 * seconds + 3
    while len(pcm) < seconds * 32000 and time.monotonic() < end and not availability.away:
        pcm += microphone.read(0.1) or b""
    return bytes(pcm)


def _utterance(microphone: Microphone, availability: Availability, hearer: Hearer) -> Heard | None:
    hearer.reset()
    end = time.monotonic() + WAIT_S
    while time.monotonic() < end and not availability.away:
        for heard in hearer.feed(microphone.read(0.1) or b""):
            if heard.pcm:
                return heard
    return None


def trial_line(found: Measured, day: date) -> str:
    """In a line, for doctor; levels in dB below full scale."""
    noise = f"noise {found.noise:.0f} dB"
    if found.snr is None:
        return f"{noise}, no voice ({day})"
    return f"voice {found.snr:.0f} dB over the noise; {noise}, voice {found.voice:.0f} dB ({day})"


def ear_verdict(ear: str, found: Measured, when: str) -> list[str]:
    """What was measured, and what the benchmark says of that."""
    if found.snr is None:
        return [f"With the {when}: noise {found.noise:.0f} dB, no voice."]
    lines = [
        f"With the {when} your voice stands {found.snr:.0f} dB over the noise.",
        f"  noise {found.noise:.0f} dB, voice {found.voice:.0f} dB below full scale",
        f"  {_understood(found.heard)}",
    ]
    if (expectation := expected_accuracy(ear, found.snr)) is not None:
        lines.append(f"  {benchmark_words(ear, expectation)}")
    if clips(found.peak):
        lines.append("  Your voice is at the microphone's limit: turn its level down.")
    elif found.voice is not None and found.voice < FAINT_VOICE_DB:
        lines.append("  Your voice is faint: turn the microphone's level up, or come nearer.")
    return lines


def _understood(heard: Heard | None) -> str:
    if heard is None:
        return "nothing was understood"
    if heard.accepted:
        return f"understood: {heard.text} ({heard.confidence:.2f} sure)"
    return f"not taken: {heard.text or 'no phrase'}, {heard.why}"


def benchmark_words(ear: str, found: Expectation) -> str:
    """ "In the benchmark the trained ear took 82 to 95 of 100 phrases ..." """
    low, high = round(found.low), round(found.high)
    taken = f"{low}" if low == high else f"{low} to {high}"
    wrong = "none for another phrase" if not found.wrong else f"{found.wrong:g} for another phrase"
    return (
        f"In the benchmark the {ear} ear took {taken} of 100 phrases of strangers in such noise, "
        f"{wrong}."
    )


def help_for(ear: str, found: Measured) -> list[str]:
    """What would help, the best first; nothing where it is heard well."""
    if found.snr is not None and found.snr >= 20:
        return []
    lines = ["What would help:"]
    if found.snr is None or found.snr < TOO_LOUD:
        lines.append("  - the pedal: so loud, the ear is not trusted with lock and guard at all")
    elif found.snr < WELL_AGAIN:
        lines.append("  - the pedal for lock and guard: the ear will often ask again")
    lines.append("  - a headset: at half the distance the voice is about 6 dB louder")
    before, after = learned_share()
    if ear == "trained" and before is not None and after is not None:
        lines.append(
            f"  - tallyhand voice learn: one voice in hard noise went from {before:g} to {after:g} "
            "of 100 phrases"
        )
    return lines
