"""The soft tone that tells that the ear opens: when it sounds; the ear itself does not hear it."""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from assistant.devices.sound.player import Player, Utterance
from assistant.devices.sound.samples import as_array
from assistant.devices.sound.streams import Format, Sound
from assistant.devices.sound.tones import OPENS, opens_samples, tick_samples, tone_samples
from assistant.devices.speech.announcer import VoiceAnnouncer
from assistant.devices.speech.synth import choose_synth
from assistant.engine.events import Tone
from assistant.files.settings import EarSettings, Settings
from assistant.hearing.listener import Hearing
from assistant.hearing.opening_tone import SENTENCES, OpeningTone
from tests.devices.told import Told
from tests.whole.sound import SoundServer, recorded_on, wait_for

RATE = 22050
HERTZ = OPENS[1].hertz


class NoSound:
    """Stands for the owner of the streams: the test calls for the samples itself."""

    def keep_open(self, line: Any) -> None:
        pass

    drop_buffered = let_go = keep_open


def heard_of(player: Player, seconds: float) -> bytes:
    """What the device is given, block by block."""
    out = b""
    while len(out) < 2 * RATE * seconds:
        block = bytearray(882)
        player._fill(block)
        out += bytes(block)
    return out


@pytest.fixture
def asked() -> list[bool]:
    """What the ear answers; each question takes one away."""
    return [True, True, True]


@pytest.fixture
def player(asked: list[bool]) -> Player:
    made = Player(NoSound(), "", 100, lambda why: None, lambda: None, lambda: asked.pop(0))  # type: ignore[arg-type]
    made._opened(Format(RATE, 1))
    return made


def say(player: Player, value: int) -> bytes:
    pcm = value.to_bytes(2, "little") * 3000
    player.play(Utterance(pcm, RATE, lambda end: None))
    return pcm


def test_it_follows_the_last_of_what_is_said(player: Player, asked: list[bool]) -> None:
    """Two sentences, and the tone once, behind the second without a gap in which the ear opens."""
    said = say(player, 1000) + say(player, 2000)
    tone = opens_samples(RATE)
    assert heard_of(player, 1).startswith(said + tone + bytes(2000))
    assert len(asked) == 2 and not any(heard_of(player, 1))


def test_it_does_not_sound_where_the_ear_does_not_open(player: Player, asked: list[bool]) -> None:
    """Nothing behind the sentence then, nor behind a tone by itself."""
    asked[0] = False
    said = say(player, 1000)
    assert heard_of(player, 1) == said + bytes(len(heard_of(player, 1)) - len(said))
    player.signal(Tone.REFUSED)
    assert heard_of(player, 1).startswith(tone_samples(Tone.REFUSED, RATE) + bytes(2000))
    assert len(asked) == 2


def test_a_press_takes_it_along(player: Player) -> None:
    """In the sentence and in the tone itself: a tick, and silence."""
    for before_s in (0.05, 3000 / RATE + 0.06):
        say(player, 1000)
        heard_of(player, before_s)
        player.tick()
        after = heard_of(player, 1)
        assert after.startswith(tick_samples(RATE) + bytes(2000)) and player._tone == b""


def test_it_is_soft_and_short() -> None:
    """Under a tenth of a second of sound, less than half as loud as the tone of an answer taken."""
    samples = as_array(opens_samples(RATE))
    loud = [at for at, each in enumerate(samples) if abs(each) > 200]
    assert 0.06 <= (loud[-1] - loud[0]) / RATE <= 0.08
    assert max(samples) < 0.5 * max(as_array(tone_samples(Tone.ACCEPTED, RATE)))


def test_who_answers_by_foot_is_spared_it() -> None:
    """After three cuts without a phrase it stays away; a phrase brings it back."""
    tone = OpeningTone()
    assert all(tone.due() for _ in range(SENTENCES)) and not tone.due()
    tone.heard()
    assert tone.due()


def _tone_in(pcm: bytes, rate: int) -> float:
    """The largest share of the tone's pitch in any 50 ms that is no silence, 0 to 1."""

    size = rate // 20
    turn = np.exp(-2j * np.pi * HERTZ * np.arange(size) / rate)
    found = 0.0
    for at in range(0, len(pcm) // 2 - size, size // 5):
        part = np.frombuffer(pcm, np.int16, size, 2 * at).astype(float)
        if (energy := float(part @ part)) > size * 300.0**2:
            found = max(found, float(2 * abs(part @ turn) ** 2 / (size * energy)))
    return found


@pytest.mark.sound
@pytest.mark.parametrize("open_ear", [False, True], ids=["shut", "open"])
def test_the_ear_does_not_hear_it(
    open_ear: bool, sound: Sound, server: SoundServer, settings: Settings, told: Told,
    tmp_path: Path,
) -> None:  # fmt: skip
    """The loudspeaker is played straight into the microphone: the tone sounds behind the sentence,
    and no block that the ear gets has it. With an ear that is always open it is found there."""
    loop = subprocess.check_output(
        ["pactl", "load-module", "module-loopback", "source=speaker.monitor", "sink=mic_feed",
         "latency_msec=40"], env=server.env, text=True,
    ).strip()  # fmt: skip
    synth = choose_synth(settings.speech)
    assert synth is not None
    announcer = VoiceAnnouncer(sound, synth, settings, told, lambda tone: None)
    own_voice = (lambda: False) if open_ear else announcer.busy
    hearing = Hearing(sound, Settings(settings.file, ear=EarSettings(kind="grammar")), own_voice)
    announcer.opens = hearing.opens
    given: list[bytes] = []
    hearing.on_block = given.append
    hearing.start(told)
    try:
        wait_for(lambda: given, "the ear", 60)
        sounded = reached_the_ear = None
        for turn in range(4):  # once more where a busy machine lost it, or was late with the loop
            given.clear()
            with server.recording(tmp_path / f"said{turn}.wav") as wav:
                announcer.say("Guard?")
                try:
                    wait_for(lambda: announcer.began() is not None, "speech", 30)
                except RuntimeError:
                    continue  # the loudspeaker was away: what is said then is never begun
                wait_for(lambda: not announcer.busy(), "silence", 60)
                recorded_on(wav, 1.5)
            sounded = _tone_in(wav.read_bytes()[44:], 16000) > 0.9
            reached_the_ear = _tone_in(b"".join(given), 16000) > 0.9
            if sounded and reached_the_ear is open_ear:
                break
        assert sounded
        assert reached_the_ear is open_ear
    finally:
        hearing.close()
        announcer.close()
        subprocess.run(["pactl", "unload-module", loop], env=server.env, check=True)
