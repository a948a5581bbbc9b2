"""A library that would end the process takes no command along: one line, and another way is found.

Simulated: a stand-in for the library kills the process that loads it, as the real one does on ARM
where /sys is not mounted (seen there: SIGSEGV at the first window).
"""

from __future__ import annotations

import json
import os
import sys
import wave
from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.__main__ import main
from assistant.bench import open_devices
from assistant.files.settings import EarSettings, KeyboardSettings, Settings, SpeechSettings
from assistant.hearing import opening
from assistant.hearing.classifier import networks
from assistant.hearing.recognisers.recogniser import EarUnusable
from assistant.setup import checks

DIES = "import os, signal\nos.kill(os.getpid(), signal.SIGSEGV)\n"

pytestmark = pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="only Linux has what is looked for"
)


@pytest.fixture
def doomed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A system that tells too little, and a library that dies of it."""
    (tmp_path / "dies").mkdir()
    (tmp_path / "dies" / "pyopen_wakeword.py").write_text(DIES)
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(tmp_path / "dies"), *sys.path]))
    monkeypatch.setattr(networks, "PROCESSORS", tmp_path / "not-mounted")
    monkeypatch.setattr(networks, "_exported", lambda: False)
    networks._ending_of_a_trial.cache_clear()
    yield
    networks._ending_of_a_trial.cache_clear()


@pytest.fixture
def silence(tmp_path: Path) -> str:
    file = tmp_path / "silence.wav"
    with wave.open(str(file), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(16000)
        out.writeframes(bytes(32000))
    return str(file)


def settings_of(tmp_path: Path, kind: str) -> str:
    file = tmp_path / "tallyhand.toml"
    file.write_text(f'[ear]\nkind = "{kind}"\n')
    return str(file)


@pytest.mark.usefixtures("doomed")
def test_hear_ends_with_one_line_where_that_ear_was_asked_for(
    tmp_path: Path, silence: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["hear", "--json", "--config", settings_of(tmp_path, "trained"), silence]) == 1
    told = capsys.readouterr()
    assert told.out == ""
    assert "SIGSEGV" in told.err and "mount /sys" in told.err and told.err.count("\n") == 1


@pytest.mark.usefixtures("doomed")
def test_hear_says_which_ear_it_passes_over_and_goes_on_with_the_next(
    tmp_path: Path, silence: str, capsys: pytest.CaptureFixture[str]
) -> None:
    pytest.importorskip("pocketsphinx")
    assert main(["hear", "--json", "--config", settings_of(tmp_path, "auto"), silence]) == 0
    told = capsys.readouterr()
    assert "SIGSEGV" in told.err and told.err.count("\n") == 1
    assert [json.loads(line) for line in told.out.splitlines()] == []


@pytest.mark.usefixtures("doomed")
def test_the_bench_opens_another_ear_and_tells_before_the_session(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert opening.ears_chosen(EarSettings()) == ("grammar",)
    with pytest.raises(EarUnusable, match="SIGSEGV"):
        opening.open_ear(EarSettings(kind="trained"))
    monkeypatch.setattr("assistant.devices.sound.streams.Sound", NoSound)
    alone = Settings(
        Path("none.toml"),
        speech=SpeechSettings(engine="none"),
        keyboard=KeyboardSettings(use=False),
    )
    devices = open_devices.open_devices(alone, print)
    devices.close()
    assert any("SIGSEGV" in note and "mount /sys" in note for note in devices.notes)
    assert devices.ears == "grammar"


class NoSound:
    """Opens nothing and hears nothing."""

    def close(self) -> None:
        """Nothing is open."""


@pytest.mark.usefixtures("doomed")
def test_doctor_names_why_the_better_ear_is_not_the_one_that_listens() -> None:
    better = checks._better_ear(Settings(Path("none.toml")))
    assert "SIGSEGV" in better and "mount /sys" in better and "pip install" not in better


def test_where_the_system_tells_enough_nothing_is_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    """A start takes no longer for it."""
    monkeypatch.setattr(networks, "PROCESSORS", Path(__file__))
    monkeypatch.setattr(networks, "_ending_of_a_trial", lambda: pytest.fail("it was tried"))
    assert networks.fatal() == "" and networks.there()


def test_a_library_that_lives_without_it_is_used(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As on x86-64, where it asks the processor: the trial goes well, and the ear is the best."""
    monkeypatch.setattr(networks, "PROCESSORS", tmp_path / "not-mounted")
    networks._ending_of_a_trial.cache_clear()
    assert networks.fatal() == ""
    assert opening.ears_chosen(EarSettings()) == ("trained",)
