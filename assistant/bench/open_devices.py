"""Opens what the settings ask for, and a substitute for what is not to be had."""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from assistant.devices.pedal.binding import SECOND, KeyBinding, pedal_file, read_binding
from assistant.devices.pedal.gestures import Manner, calls_the_round
from assistant.devices.pedal.second import SecondPedal, TypingListener
from assistant.devices.speech.silent import SilentAnnouncer
from assistant.devices.terminal.drawing_thread import SteadyScreen
from assistant.devices.terminal.keyboard import Keyboard
from assistant.devices.terminal.screen import open_terminal
from assistant.engine.events import Command, Device
from assistant.engine.ports import Announcer, Listener, Post
from assistant.errors import Refusal
from assistant.files.packages_here import SPEECH, to_install
from assistant.files.settings import Settings
from assistant.words.language import in_force, mark, say, speaking

if TYPE_CHECKING:
    from assistant.devices.sound.streams import Sound
    from assistant.devices.speech.announcer import VoiceAnnouncer
    from assistant.hearing.over_own_voice import OverOwnVoice

NO_SPEECH = mark("no voice, the screen carries the words: install espeak-ng ({how})")
NO_EAR = mark(
    "no ear for {language}: answer by pedal or keyboard; docs/language.md tells how to get one"
)
NO_TRAINED_EAR = mark("the ear that hears best can't be used: {why}; {cure}")
NO_HEADSET = mark("[ear] headset = true does nothing here: it needs a voice and an ear")
NO_PEDAL = mark("no pedal: none was taught; plug it in and run tallyhand doctor --learn-pedal")


@dataclass
class Devices:
    """What a session talks to. `notes`: a plain line for each thing that is missing, with the
    cure, to be printed before the session begins. `ears`: the kinds that listen, joined by "+",
    or "none". `foot`: what of a pedal calls the trial round, as in `SessionStarted`."""

    announcer: Announcer
    listeners: list[Listener]
    display: SteadyScreen
    notes: list[str] = field(default_factory=list)
    answers: set[Device] = field(default_factory=set)  # what an answer can come from
    shows: set[Device] = field(default_factory=lambda: {Device.DISPLAY})  # what tells it, too
    ears: str = "none"
    foot: str = ""
    on_close: list[Callable[[], None]] = field(default_factory=list)

    def start(self, post: Post) -> None:
        """Let every listener begin to report."""
        for listener in self.listeners:
            listener.start(post)

    def expect(self, commands: frozenset[Command]) -> None:
        """Tell every listener which commands make sense now."""
        for listener in self.listeners:
            listener.expect(commands)

    def close(self) -> None:
        """Stop all of them, the screen last; never hangs."""
        for listener in self.listeners:
            listener.close()
        self.announcer.close()
        for close in self.on_close:
            close()
        self.display.close()


def open_devices(settings: Settings, post: Post) -> Devices:
    """Open all devices; nothing that is missing raises. Call `start` on what comes back."""
    with speaking(settings.speech.language):
        return _open_devices(settings, post)


def _open_devices(settings: Settings, post: Post) -> Devices:
    display = SteadyScreen(open_terminal(sys.stdout, settings.screen.kind), post)
    devices = Devices(SilentAnnouncer(display.signal), [], display)
    _open_sound(settings, post, devices)
    pedals = _open_pedal(settings, devices)
    if settings.keyboard.use:
        _open_keyboard(devices, pedals)
    return devices


def _open_sound(settings: Settings, post: Post, devices: Devices) -> None:
    speaks, hears = settings.speech.engine != "none", settings.ear.kind != "none"
    if settings.ear.headset and not (speaks and hears):
        devices.notes.append(say(NO_HEADSET))
    if not speaks and not hears:
        return
    from assistant.devices.sound.streams import NoSoundError, Sound
    from assistant.devices.speech.synth import choose_synth

    try:
        sound = Sound()
    except NoSoundError as error:
        devices.notes.append(say("{fault}; until then the screen carries the words", fault=error))
        if speaks and choose_synth(settings.speech) is None:
            devices.notes.append(say(NO_SPEECH, how=to_install(SPEECH)))
        return
    devices.on_close.append(sound.close)
    voice = _open_speech(sound, settings, post, devices) if speaks else None
    if hears:
        from assistant.hearing.listener import Hearing
        from assistant.hearing.opening import ears_chosen, passed_over

        kinds = ears_chosen(settings.ear)
        why, cure = passed_over(settings.ear)
        if why:
            devices.notes.append(say(NO_TRAINED_EAR, why=why, cure=cure))
        if not kinds:
            devices.notes.append(say(NO_EAR, language=in_force().name))
            return
        hearing = Hearing(sound, settings, devices.announcer.busy, over=_over(voice, settings))
        if voice is not None and settings.ear.headset:
            hearing.not_heard = voice.not_heard
        hearing.on_meter.append(devices.display.meter)
        hearing.on_hears.append(devices.display.hears)
        if voice is not None and settings.ear.opening_tone:
            voice.opens = hearing.opens
        devices.listeners.append(hearing)
        devices.ears = "+".join(kinds)
        devices.answers.add(Device.MICROPHONE)


def _over(voice: VoiceAnnouncer | None, settings: Settings) -> OverOwnVoice | None:
    """What holds the ear open over our own voice, with a headset."""
    if voice is None or not settings.ear.headset:
        return None
    from assistant.hearing.over_own_voice import FarEnd, OverOwnVoice

    far = FarEnd()
    voice.listen_in(far.take)
    return OverOwnVoice(far, voice.saying)


def _open_speech(
    sound: Sound, settings: Settings, post: Post, devices: Devices
) -> VoiceAnnouncer | None:
    from assistant.devices.speech.announcer import VoiceAnnouncer
    from assistant.devices.speech.synth import choose_synth

    synth = choose_synth(settings.speech)
    if synth is None:
        devices.notes.append(say(NO_SPEECH, how=to_install(SPEECH)))
        return None
    announcer = VoiceAnnouncer(sound, synth, settings, post, devices.display.signal)
    devices.announcer = announcer
    devices.shows.add(Device.SPEAKER)
    return announcer


def _open_pedal(settings: Settings, devices: Devices) -> list[TypingListener]:
    """The pedals as they were taught; none, with a note, where none was."""
    if settings.pedal.kind == "none":
        return []
    file = pedal_file(settings.file)
    try:
        binding = read_binding(file)
    except Refusal as error:
        devices.notes.append(str(error))
        return []
    if binding is None or settings.pedal.kind not in ("auto", binding.source):
        devices.notes.append(say(NO_PEDAL))
        return []
    second = _second(settings, devices)
    pedals = make_pedals(binding, second, devices.announcer.felt, settings.pedal.gestures)
    devices.foot = calls_the_round(Manner(settings.pedal.gestures), second[1] if second else None)
    devices.listeners += pedals
    devices.answers.add(Device.PEDAL)
    return pedals


def _second(settings: Settings, devices: Devices) -> tuple[KeyBinding, Manner] | None:
    """The second pedal and its manner; it answers nothing, so that it may be missing."""
    if settings.pedal.second == "none":
        return None
    try:
        binding = read_binding(pedal_file(settings.file), SECOND)
    except Refusal as error:
        devices.notes.append(str(error))
        return None
    pauses = settings.pedal.second == "pause"
    manner = Manner.SECOND_PAUSES if pauses else Manner.SECOND
    return (binding, manner) if binding else None


def make_pedals(
    binding: KeyBinding,
    second: tuple[KeyBinding, Manner] | None,
    on_down: Callable[[], None],
    gestures: str,
) -> list[TypingListener]:
    """The pedal's listener, and the second pedal's own where it is another device. Two keys of one
    device are one listener's: it can be grabbed only once."""
    manner = Manner(gestures)
    if second is None:
        return [make_pedal(binding, on_down, manner)]
    if binding.source == "evdev" and _one_device(binding, second[0]):
        from assistant.devices.pedal.evdev import EvdevPedal

        return [EvdevPedal(binding, on_down, manner, second)]
    beside = SecondPedal(make_pedal(second[0], on_down, second[1]))
    return [make_pedal(binding, on_down, manner), beside]


def _one_device(one: KeyBinding, other: KeyBinding) -> bool:
    return (one.source, one.device, one.ident) == (other.source, other.device, other.ident)


def make_pedal(
    binding: KeyBinding, on_down: Callable[[], None], manner: Manner = Manner.DOUBLE
) -> TypingListener:
    """The listener for a taught pedal."""
    if binding.source == "evdev":
        from assistant.devices.pedal.evdev import EvdevPedal

        return EvdevPedal(binding, on_down, manner)
    from assistant.devices.pedal.x11 import XPedal

    return XPedal(binding, on_down, manner)


def _open_keyboard(devices: Devices, pedals: list[TypingListener]) -> None:
    try:
        fd = sys.stdin.fileno()
    except (AttributeError, OSError, ValueError):
        devices.notes.append(say("no keyboard: the program was started without an input"))
        return

    def not_ours(key: str) -> bool:
        return any(pedal.types(key) for pedal in pedals)

    keyboard = Keyboard(fd, devices.announcer.hush, devices.display.typing, not_ours)
    devices.listeners.append(keyboard)
    devices.answers.add(Device.KEYBOARD)
