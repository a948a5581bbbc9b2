"""Looks at each device once, and says what is wrong and what to do about it.

What needs NumPy is imported where it is used: where that is missing, this says so.
"""

from __future__ import annotations

import platform
import queue
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from assistant.devices.availability import Availability
from assistant.devices.pedal.binding import SECOND, KeyBinding, pedal_file, read_binding
from assistant.devices.sound import loudness
from assistant.devices.sound.samples import loudest
from assistant.devices.sound.streams import NoSoundError, Sound, load_sounddevice, sound_devices
from assistant.devices.speech.synth import choose_synth
from assistant.engine.events import Device, DeviceLost, Event, SpeechFailed, Tone
from assistant.errors import Refusal
from assistant.files.packages_here import (
    PAPER,
    SPEECH,
    to_install,
    to_install_python,
    without_numpy,
)
from assistant.files.settings import Settings
from assistant.hearing.model_files import (
    base_classifier,
    learned_classifier,
    learned_sound,
    recordings,
)
from assistant.setup.ear_trial import tried

LISTEN_S = 2.0
SPEAK_S = 12.0
FAINT_DB = -70.0
LOUD_PEAK = 32000
NARROW = 1e-3
"""Power above 5 kHz over that from 2 to 3.5: a live microphone hisses far more than that."""
SENTENCE = "This is the voice that will tell you every move."


@dataclass(frozen=True, slots=True)
class Finding:
    """One part: whether it can be used, what was found, and what to do where that is not so."""

    part: str
    ok: bool
    what: str
    cure: str = ""


def check_each(settings: Settings) -> Iterator[Finding]:
    """Microphone, speaker, recogniser, pedal, paper: each as soon as it is known, for the first two
    take seconds."""
    try:
        sound = Sound()
    except NoSoundError as error:
        yield Finding("microphone", False, error.what, error.cure)
        yield Finding("speaker", False, error.what, error.cure)
        yield from check_speech(settings)
    else:
        try:
            yield check_microphone(sound, settings)
            yield check_speaker(sound, settings)
        finally:
            sound.close()
    yield check_ear(settings)
    yield from check_voice(settings)
    yield check_pedal(settings)
    yield check_paper()


def device_names() -> dict[str, list[str]]:
    """The names that [sound] in the settings may hold a part of."""
    try:
        sd = load_sounddevice()
        microphones, speakers = sound_devices(sd, False), sound_devices(sd, True)
    except NoSoundError:
        return {"microphones": [], "speakers": []}
    return {"microphones": list(microphones.values()), "speakers": list(speakers.values())}


def check_microphone(sound: Sound, settings: Settings) -> Finding:
    """Listens for two seconds."""
    from assistant.devices.sound.microphone import Microphone

    told: queue.SimpleQueue[Event] = queue.SimpleQueue()
    availability = Availability(Device.MICROPHONE, told.put)
    microphone = Microphone(sound, settings.sound.microphone, availability, lambda: False)
    pcm = bytearray()
    end = time.monotonic() + 2 * LISTEN_S
    while len(pcm) < LISTEN_S * 32000 and time.monotonic() < end and not availability.away:
        pcm += microphone.read(0.1) or b""
    away = availability.away
    microphone.close()
    if away or not pcm:
        cure = "plug a microphone in, or put a part of its name into [sound] microphone"
        return Finding("microphone", False, away or "no samples came", cure)
    return judge_level(bytes(pcm))


def check_voice(settings: Settings) -> list[Finding]:
    """Whether the built-in ear has learned this person; nothing where it does not listen."""
    if without_numpy():
        return []
    from assistant.hearing.opening import ears_chosen

    if "trained" not in ears_chosen(settings.ear):
        return []
    if learned_classifier().exists():
        return [_learned_voice()]
    return [Finding("voice", True, "not learned yet", "to teach it: tallyhand voice learn")]


def _learned_voice() -> Finding:
    """A classifier that learned in an earlier version lacks what later ones hear with."""
    from assistant.hearing.classifier import classifier
    from assistant.hearing.person.learned_sound import of_this_person
    from assistant.hearing.phones.network import shipped

    knows = "the ear knows yours"
    try:
        newer = (
            classifier.load_classifier(base_classifier()).networks
            and not classifier.load_classifier(learned_classifier()).networks
        ) or not (learned_sound().exists() and of_this_person().fits(shipped()))
    except Refusal:
        return Finding("voice", True, knows)  # the ear itself will tell what is wrong with it
    if not newer:
        return Finding("voice", True, knows)
    cure = f"to learn anew from your recordings: tallyhand voice learn --from {recordings()}"
    return Finding("voice", True, f"{knows}, but as an earlier version heard", cure)


def judge_level(pcm: bytes) -> Finding:
    """Too faint, too loud, or right: levels in dB under full scale."""
    from assistant.hearing.levels import meter

    level, peak = loudness.level(pcm), loudest(pcm)
    what = f"level {level:.0f} dB"
    if peak == 0:
        return Finding("microphone", False, "only silence", "unmute it; is its switch on?")
    if level < FAINT_DB:
        return Finding("microphone", False, f"{what}, too faint", "turn its level up")
    if peak >= LOUD_PEAK:
        return Finding("microphone", False, f"{what}, too loud", "turn its level down")
    if narrow(pcm):
        cure = "choose another microphone, or a headset's better mode"
        return Finding("microphone", False, f"{what}, nothing above 4000 Hz", cure)
    return Finding("microphone", True, f"{what}; {meter(level, _over(level))}")


def _over(noise: float) -> float | None:
    """How far the person's voice, as it was recorded, stands over this noise, in dB."""
    from assistant.hearing.person.recordings import usual_level

    voice = usual_level(recordings())
    return None if voice is None else voice - noise


def narrow(pcm: bytes) -> bool:
    """True for sound that came at 8 kHz: a telephone's band, and digital silence above it."""
    import numpy as np

    from assistant.hearing.waves import from_pcm

    sound = from_pcm(pcm)
    spectrum = np.abs(np.fft.rfft(sound * np.hanning(len(sound)))) ** 2
    eighth = len(spectrum) // 8  # 1 kHz
    upper, middle = spectrum[5 * eighth :], spectrum[2 * eighth : 7 * eighth // 2]
    return float(upper.sum()) < NARROW * float(middle.sum())


def check_speaker(sound: Sound, settings: Settings) -> Finding:
    """Says a sentence. Whether it was heard only the person knows."""
    if settings.speech.engine == "none":
        return Finding("speaker", True, "speech is off in the settings")
    from assistant.devices.speech.announcer import VoiceAnnouncer

    synth = choose_synth(settings.speech)
    if synth is None:
        return _no_speech()
    told: queue.SimpleQueue[Event] = queue.SimpleQueue()
    announcer = VoiceAnnouncer(sound, synth, settings, told.put, lambda tone: None)
    announcer.signal(Tone.ATTENTION)
    announcer.say(SENTENCE)
    _until(lambda: not announcer.busy() or not told.empty(), SPEAK_S)
    spoken = announcer.began() is not None and told.empty()
    announcer.close()
    if spoken:
        return Finding("speaker", True, f"spoke through {synth.name}: did you hear it?")
    cure = "plug a speaker in, or put a part of its name into [sound] speaker"
    return Finding("speaker", False, _reason(told), cure)


def check_speech(settings: Settings) -> list[Finding]:
    """The speech engine by itself, where nothing can be played: all that is missing at once."""
    missing = settings.speech.engine != "none" and choose_synth(settings.speech) is None
    return [_no_speech()] if missing else []


def _no_speech() -> Finding:
    cure = f"install espeak-ng: {to_install(SPEECH)}"
    return Finding("speaker", False, "no speech engine", cure)


def check_paper() -> Finding:
    """Whether a PDF can be made."""
    from assistant.paper.pdf import unable

    why = unable()
    if why:
        cure = f"install Pango: {to_install(PAPER)}; until then: tallyhand sheet --out sheet.html"
        return Finding("paper", False, f"no PDF: {why}", cure)
    return Finding("paper", True, "the job sheet comes as a PDF")


def check_ear(settings: Settings) -> Finding:
    """Runs an utterance through the recogniser that the settings ask for, in another process."""
    if settings.ear.kind == "none":
        return Finding("recogniser", True, "hearing is off in the settings")
    trial = tried(settings.file)
    if trial.fault:
        return Finding("recogniser", False, trial.fault, trial.cure or _without(settings))
    if trial.notes:
        return Finding("recogniser", False, "; ".join(trial.notes), "use the pedal for these")
    better = _better_ear(settings)
    return Finding("recogniser", True, f"{trial.name} ear, ready{better and '; ' + better}")


def _without(settings: Settings) -> str:
    """What to do where a recogniser dies."""
    from assistant.hearing.opening import ears_chosen

    if ears_chosen(settings.ear)[:1] == ("trained",):
        return 'set [ear] kind = "grammar" and look again; or kind = "none", and use the pedal'
    return 'set [ear] kind = "none", and use the pedal'


def _better_ear(settings: Settings) -> str:
    """Why the ear that hears best is not the one that listens; nothing where it is, or where
    another was asked for."""
    from assistant.hearing.opening import ears_chosen, passed_over

    if settings.ear.kind != "auto" or ears_chosen(settings.ear)[:1] != ("grammar",):
        return ""
    why, cure = passed_over(settings.ear)
    if why:
        return f"the trained ear hears better and can't be used: {why}; {cure}"
    here = f"{platform.system()} on {platform.machine()}, Python {platform.python_version()}"
    return (
        f"the trained ear hears better and is not here, since its networks are not: try "
        f"{to_install_python('pyopen-wakeword')} (not published for every system; this is {here})"
    )


def check_pedal(settings: Settings) -> Finding:
    """Whether a pedal was taught, and is there."""
    teach = "plug it in and run tallyhand doctor --learn-pedal"
    if settings.pedal.kind == "none":
        return Finding("pedal", True, "off in the settings; the keyboard's Enter does the same")
    try:
        binding = read_binding(pedal_file(settings.file))
        read_binding(pedal_file(settings.file), SECOND)
    except Refusal as error:
        return Finding("pedal", False, str(error), teach)
    if binding is None:
        return Finding("pedal", False, "none was taught", teach)
    if settings.pedal.kind not in ("auto", binding.source):
        what = f"taught as {binding.source}, but the settings ask for {settings.pedal.kind}"
        return Finding("pedal", False, what, 'set [pedal] kind = "auto"')
    why = _pedal_away(binding)
    what = f"key {binding.key} of {binding.device or 'any keyboard'}"
    if why:
        return Finding("pedal", False, why, teach)
    return _check_second(settings, what)


def _check_second(settings: Settings, what: str) -> Finding:
    """The same with the second pedal, where one was taught and is used."""
    second = read_binding(pedal_file(settings.file), SECOND)
    if second is None or settings.pedal.second == "none":
        return Finding("pedal", True, what)
    if away := _pedal_away(second):
        cure = "plug it in, or run tallyhand doctor --learn-second-pedal"
        return Finding("pedal", False, f"the second pedal: {away}", cure)
    return Finding("pedal", True, f"{what}; the second: key {second.key}")


def _pedal_away(binding: KeyBinding) -> str:
    """Why the taught pedal can't be used now, or nothing."""
    why: str
    if binding.source == "evdev":
        from assistant.devices.pedal import evdev

        opened, why = evdev.open_bound(binding)
        for device in opened:
            evdev.release_device(device)
        return "" if opened else why
    from assistant.devices.pedal import screen_keys

    listener, why = screen_keys.start_listener(lambda edge: None)
    if listener is not None:
        time.sleep(0.3)
        why = "" if listener.is_alive() else "the screen (X server) is gone"
        screen_keys.stop_listener(listener)
    return why


def _until(true: Callable[[], bool], seconds: float) -> None:
    end = time.monotonic() + seconds
    while not true() and time.monotonic() < end:
        time.sleep(0.02)


def _reason(told: queue.SimpleQueue[Event]) -> str:
    while not told.empty():
        match told.get():
            case DeviceLost(why=why) | SpeechFailed(why=why):
                return why
    return "nothing was played"
