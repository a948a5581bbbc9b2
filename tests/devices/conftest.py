"""One virtual sound server for all tests here; they run in this very process."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.devices.sound.streams import Sound
from assistant.devices.speech.announcer import VoiceAnnouncer
from assistant.devices.speech.synth import choose_synth
from assistant.files.settings import EarSettings, Settings
from assistant.hearing.listener import Hearing
from tests.devices.told import Told
from tests.whole.sound import SoundServer, missing


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[SoundServer]:
    if missing():
        pytest.skip(f"not here: {missing()}")
    with SoundServer(tmp_path_factory.mktemp("sound")) as server:
        before = {name: os.environ.get(name) for name in server.added}
        os.environ.update(server.added)
        yield server
        for name, value in before.items():
            os.environ.pop(name) if value is None else os.environ.update({name: value})


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    """The grammar ear, since it is the same on every platform."""
    return Settings(tmp_path / "tallyhand.toml", ear=EarSettings(kind="grammar"))


@pytest.fixture
def sound(server: SoundServer) -> Iterator[Sound]:
    sound = Sound()
    yield sound
    sound.close()


@pytest.fixture
def told() -> Told:
    return Told()


@pytest.fixture
def announcer(sound: Sound, settings: Settings, told: Told) -> Iterator[VoiceAnnouncer]:
    synth = choose_synth(settings.speech)
    assert synth is not None
    announcer = VoiceAnnouncer(sound, synth, settings, told, lambda tone: None)
    yield announcer
    announcer.close()


@pytest.fixture
def hearing(sound: Sound, settings: Settings, told: Told) -> Iterator[Hearing]:
    """A listener that never has to be deaf."""
    hearing = Hearing(sound, settings, lambda: False)
    hearing.start(told)
    yield hearing
    hearing.close()
