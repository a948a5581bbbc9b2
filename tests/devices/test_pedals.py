"""Pedals: real key events through a real X server, and a recorded USB pedal through evdev."""

from __future__ import annotations

import errno
import json
import os
import select
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from assistant.devices.pedal import evdev
from assistant.devices.pedal.binding import (
    SECOND,
    KeyBinding,
    pedal_file,
    read_binding,
    write_binding,
)
from assistant.devices.pedal.contact import CHATTER_EDGES, Foot
from assistant.devices.pedal.evdev import EvdevPedal
from assistant.engine.events import (
    Device,
    DeviceLost,
    DeviceReturned,
    DeviceTroubled,
    Gesture,
    Trouble,
)
from tests.devices import mock_pedal
from tests.devices.mock_pedal import KEY_B, KEY_F13, Move, press, repeating
from tests.devices.told import Told
from tests.whole import screen as screens
from tests.whole.screen import Screen

pytestmark = pytest.mark.live

ROOT = Path(__file__).parents[2]
HERE = Path(__file__).parent
on_screen = pytest.mark.skipif(bool(screens.missing()), reason=f"not here: {screens.missing()}")
on_usb = pytest.mark.skipif(shutil.which("umockdev-run") is None, reason="not here: umockdev-run")
F9_X = KeyBinding("x", "f9", 65478)
F13_USB = KeyBinding("evdev", "F13", KEY_F13, mock_pedal.NAME, "1209:0001")


# --- under X ---


class Pedal:
    """A program of its own that listens to a pedal, since a process has one screen for life."""

    def __init__(self, binding: KeyBinding, folder: Path, env: dict[str, str]) -> None:
        file = folder / "pedal.toml"
        write_binding(file, binding)
        self.process = subprocess.Popen(
            [sys.executable, str(HERE / "pedal_program.py"), "60", str(file)],
            env={**env, "PYTHONPATH": str(ROOT)}, stdout=subprocess.PIPE, text=True,
            stderr=subprocess.PIPE,
        )  # fmt: skip

    def ready(self) -> Pedal:
        assert self.next()["kind"] == "ready"
        return self

    def next(self) -> dict[str, Any]:
        assert self.process.stdout
        record: dict[str, Any] = json.loads(self.process.stdout.readline())
        return record

    def tells(self) -> bool:
        """Something has been told that was not read."""
        return bool(select.select([self.process.stdout], [], [], 0)[0])

    def gesture(self) -> str:
        """The next gesture; every press is told at once when the foot goes down."""
        downs = 0
        while (record := self.next())["kind"] == "down":
            downs += 1
        assert downs, record
        return str(record.get("gesture", record["kind"]))


@pytest.fixture
def screen() -> Iterator[Screen]:
    with Screen() as screen:
        yield screen


@pytest.fixture
def pedal(screen: Screen, tmp_path: Path) -> Iterator[Pedal]:
    pedal = Pedal(F9_X, tmp_path, screen.env).ready()
    yield pedal
    pedal.process.kill()
    pedal.process.wait()


def doubled(pedal: Pedal, screen: Screen) -> bool:
    """Two quick presses are felt as one gesture. Where a busy machine lets too long pass between
    them they are two, and are made again."""
    for _ in range(5):
        screen.press("F9", 80, times=2)
        if pedal.gesture() == "double":
            return True
        assert pedal.gesture() == "press"
    return False


@on_screen
def test_x_gestures(pedal: Pedal, screen: Screen) -> None:
    """Press, double press and hold; the repeats of a held key are not presses; other keys are
    not the pedal."""
    screen.press("F8", 100)
    screen.press("F9", 120)
    assert pedal.gesture() == "press"
    assert doubled(pedal, screen)
    screen.press("F9", 2500)  # X repeats after 0.66 s
    assert pedal.gesture() == "hold"
    time.sleep(0.2)  # sooner than 30 ms after its release it would be a bounce
    screen.press("F9", 120)
    assert pedal.gesture() == "press"


@on_screen
def test_x_the_screen_goes_and_comes_back(pedal: Pedal, screen: Screen) -> None:
    """The listener dies without a word: told as lost, and taken up again."""
    screen.press("F9", 120)
    assert pedal.gesture() == "press"
    screen.stop()
    lost = pedal.next()
    assert (lost["kind"], lost["device"]) == ("DeviceLost", "pedal")
    screen.start()
    assert pedal.next()["kind"] == "DeviceReturned"
    screen.press_until("F9", pedal.tells)  # the first ones may be too soon for its new listener
    assert pedal.gesture() == "press"
    pedal.process.kill()
    assert pedal.process.stderr and pedal.process.stderr.read() == ""


@on_screen
def test_x_no_screen_at_all_is_one_line(tmp_path: Path) -> None:
    """The library fails already at its import: lost, with the reason, and no traceback."""
    env = {name: value for name, value in os.environ.items() if name != "DISPLAY"}
    pedal = Pedal(F9_X, tmp_path, env)
    lost = pedal.next()
    assert lost["kind"] == "DeviceLost" and "screen" in lost["why"] and "\n" not in lost["why"]
    pedal.process.kill()
    assert pedal.process.stderr and pedal.process.stderr.read() == ""


@on_screen
@pytest.mark.parametrize("key", ["F9", "b"])
def test_the_learn_step_under_x(key: str, screen: Screen, tmp_path: Path) -> None:
    """`doctor --learn-pedal` keeps the key that is pressed, and that key is then the pedal."""
    config = tmp_path / "tallyhand.toml"
    config.write_text("# my own words\n")
    learning = subprocess.Popen(
        [sys.executable, "-m", "assistant", "doctor", "--learn-pedal", "--config", str(config)],
        env=screen.env, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
    )  # fmt: skip
    while learning.poll() is None:
        screen.press(key, 60)
        time.sleep(0.4)
    assert learning.stdout
    assert learning.returncode == 0, learning.stdout.read()
    assert config.read_text() == "# my own words\n"
    binding = read_binding(pedal_file(config))
    assert binding and binding.source == "x"
    assert binding.types == ("b" if key == "b" else "")
    pedal = Pedal(binding, tmp_path, screen.env).ready()
    screen.press(key, 100)
    assert pedal.gesture() == "press"
    pedal.process.kill()


# --- a USB pedal under evdev ---


def run_usb(folder: Path, moves: list[Move], seconds: float) -> list[dict[str, Any]]:
    """Everything the pedal program tells while the recorded pedal makes these moves."""
    file = folder / "pedal.toml"
    write_binding(file, F13_USB)
    done = subprocess.run(
        mock_pedal.command(
            folder, moves, [str(HERE / "pedal_program.py"), str(seconds), str(file)]
        ),
        env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True, check=False,
        timeout=60,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return [json.loads(line) for line in done.stdout.splitlines()]


@on_usb
def test_usb_gestures(tmp_path: Path) -> None:
    """A recorded pedal: press, double with bounce, hold with repeats, and a key not taught."""
    moves = [
        *press(4.0, 0.1),
        *press(4.3, 0.1, KEY_B),
        *press(5.0, 0.005), *press(5.008, 0.1), *press(5.3, 0.1),
        *repeating(6.2, 1.6),
        *press(8.4, 0.15),
    ]  # fmt: skip
    told = run_usb(tmp_path, moves, 10)
    gestures = [r["gesture"] for r in told if r["kind"] == "PedalUsed"]
    assert gestures == ["press", "double", "hold", "press"]
    assert all(0 < r["pressed_at"] < r["at"] for r in told if r["kind"] == "PedalUsed")
    assert not any(r["kind"].startswith("Device") for r in told)


@on_usb
def test_usb_two_keys_of_one_device(tmp_path: Path) -> None:
    """A twin pedal is grabbed once; its second key says again and pauses, and answers nothing."""
    file = tmp_path / "pedal.toml"
    write_binding(file, KeyBinding("evdev", "B", KEY_B, mock_pedal.NAME, "1209:0001"), SECOND)
    moves = [*press(4.0, 0.1), *press(4.2, 0.1, KEY_B), *repeating(5.0, 1.2, KEY_B),
             *press(7.0, 0.1)]  # fmt: skip
    told = run_usb(tmp_path, moves, 9)
    gestures = [r["gesture"] for r in told if r["kind"] == "PedalUsed"]
    # Each foot is told apart by itself: a press waits for its own second press alone.
    assert sorted(gestures[:2]) == ["press", "short-hold"]
    assert gestures[2:] == ["hold", "press"]
    assert not any(r["kind"].startswith("Device") for r in told)


@on_usb
def test_usb_a_second_pedal_that_is_away_is_no_loss(tmp_path: Path) -> None:
    """It answers nothing: the session goes on by the pedal that does, and hears of no loss."""
    write_binding(
        tmp_path / "pedal.toml", KeyBinding("evdev", "F14", 184, "Other Pedal", "1209:2"), SECOND
    )
    told = run_usb(tmp_path, press(4.0, 0.1), 6)
    assert [r["kind"] for r in told] == ["down", "PedalUsed"]


def test_both_pedals_are_kept_in_one_file(tmp_path: Path) -> None:
    """Teaching one leaves the other, but for the same key: a press means one thing."""
    file, other = tmp_path / "pedal.toml", KeyBinding("x", "f8", 65477)
    write_binding(file, other, SECOND)
    write_binding(file, F9_X)
    assert (read_binding(file), read_binding(file, SECOND)) == (F9_X, other)
    write_binding(file, other)
    assert (read_binding(file), read_binding(file, SECOND)) == (other, None)


@on_usb
def test_usb_something_lies_on_the_pedal(tmp_path: Path) -> None:
    """Held for more than five seconds: told once, as stuck."""
    told = run_usb(tmp_path, repeating(3, 7.0), 10.5)
    kinds = [(r["kind"], r.get("gesture") or r.get("trouble")) for r in told]
    assert kinds == [("down", None), ("PedalUsed", "hold"), ("DeviceTroubled", "stuck")]


@on_usb
def test_usb_the_learn_step(tmp_path: Path) -> None:
    """The key, the device and its numbers are kept; `doctor` then finds the pedal."""
    config = tmp_path / "tallyhand.toml"
    config.touch()
    words = ["-m", "assistant", "doctor", "--learn-pedal", "--config", str(config)]
    env = {name: value for name, value in os.environ.items() if name != "DISPLAY"}
    done = subprocess.run(
        mock_pedal.command(tmp_path, [m for at in (3, 6, 9) for m in press(at, 0.1)], words),
        env=env, cwd=ROOT, capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert read_binding(pedal_file(config)) == F13_USB


@on_usb
def test_usb_another_device_is_not_the_pedal(tmp_path: Path) -> None:
    """The same key on a device of another name does nothing, and the pedal is told as lost."""
    file = tmp_path / "pedal.toml"
    write_binding(file, KeyBinding("evdev", "F13", KEY_F13, "Some Other Pedal", "1209:0001"))
    done = subprocess.run(
        mock_pedal.command(
            tmp_path, press(1, 0.1), [str(HERE / "pedal_program.py"), "2", str(file)]
        ),
        env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True, check=True,
    )  # fmt: skip
    (lost,) = [json.loads(line) for line in done.stdout.splitlines()]
    assert lost["kind"] == "DeviceLost" and "Some Other Pedal" in lost["why"]


class Unplugged:
    """An input device that goes while it is read. Only real hardware can do that otherwise."""

    name = mock_pedal.NAME

    def __init__(self) -> None:
        self.fd, self._in = os.pipe()
        os.write(self._in, b"x")

    def read(self) -> list[object]:
        os.read(self.fd, 1)
        raise OSError(errno.ENODEV, os.strerror(errno.ENODEV))

    def ungrab(self) -> None:
        raise OSError(errno.ENODEV, os.strerror(errno.ENODEV))

    def close(self) -> None:
        os.close(self.fd)
        os.close(self._in)


def test_usb_unplugged_in_the_middle_and_back(monkeypatch: pytest.MonkeyPatch) -> None:
    """Told as lost with the reason, tried again, told as returned."""
    opened = iter([([Unplugged()], ""), ([], "not plugged in"), ([Unplugged()], "")])
    monkeypatch.setattr(evdev, "open_bound", lambda binding: next(opened, ([], "gone")))
    monkeypatch.setattr(evdev, "RETRY_S", 0.05)
    told = Told()
    pedal = EvdevPedal(F13_USB, lambda: None)
    pedal.start(told)
    lost = told.wait(DeviceLost)
    assert lost.device is Device.PEDAL and "unplugged" in lost.why
    assert told.wait(DeviceReturned).device is Device.PEDAL
    told.wait(DeviceLost)
    pedal.close()


def test_a_chattering_contact_presses_nothing() -> None:
    """More edges than a foot can make: told once, and nothing counts until it is quiet."""
    told = Told()
    foot = Foot(told, lambda: None)
    for _ in range(CHATTER_EDGES):
        foot.down()
        foot.up()
        foot.tick()
    for _ in range(12):
        time.sleep(0.1)
        foot.tick()
    events = told.so_far()
    assert [type(event) for event in events] == [DeviceTroubled]
    assert events[0].trouble is Trouble.CHATTERING  # type: ignore[union-attr]
    foot.down()
    time.sleep(0.06)
    foot.tick()
    foot.up()
    for _ in range(10):
        time.sleep(0.05)
        foot.tick()
    assert [getattr(event, "gesture", None) for event in told.so_far()[1:]] == [Gesture.PRESS]
