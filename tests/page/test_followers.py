"""A page that is closed, killed or hangs: a real Chromium, its processes stopped and killed."""

from __future__ import annotations

import os
import signal
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.engine.events import Device, DeviceLost, DeviceReturned
from assistant.page import followers
from assistant.page.display import PageDisplay
from assistant.page.server import BEAT_S
from tests.devices.told import Told
from tests.page.browser import CHROMIUM, FLAGS
from tests.page.test_server import ASKED, LATER, ask
from tests.whole.sound import wait_for

pytestmark = pytest.mark.live


class Browser:
    """Chromium as a group of processes that can be stopped and killed together."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._processes: list[subprocess.Popen[bytes]] = []

    def open(self, address: str) -> None:
        assert CHROMIUM
        profile = f"--user-data-dir={self._folder / str(len(self._processes))}"
        process = subprocess.Popen(
            [CHROMIUM, "--headless=new", *FLAGS, profile, address],
            start_new_session=True,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        self._processes.append(process)

    def send(self, number: signal.Signals) -> None:
        os.killpg(self._processes[-1].pid, number)

    def close(self) -> None:
        for process in self._processes:
            if process.poll() is None:
                os.killpg(process.pid, signal.SIGKILL)
                process.wait()


@pytest.fixture
def window(tmp_path: Path) -> Iterator[Browser]:
    window = Browser(tmp_path)
    yield window
    window.close()


@pytest.fixture
def told() -> Told:
    return Told()


@pytest.fixture
def page(told: Told) -> Iterator[PageDisplay]:
    display = PageDisplay(0)
    display.start(told)
    display.show(ASKED)
    yield display
    display.close()


def test_a_page_nobody_has_opened_is_not_lost(page: PageDisplay, told: Told) -> None:
    """Nothing is told before there was one."""
    page.show(LATER)
    assert not page.looked_at and told.so_far() == []


def test_a_page_that_hangs_is_told_and_so_is_its_return(
    page: PageDisplay, told: Told, window: Browser
) -> None:
    """Its connection stays open and takes what is sent: only that it does not answer shows it."""
    window.open(page.address)
    wait_for(lambda: page.looked_at, "the page", 60)
    window.send(signal.SIGSTOP)
    lost = told.wait(DeviceLost)
    assert (lost.device, page.looked_at) == (Device.PAGE, False)
    page.show(LATER)  # returns at once
    window.send(signal.SIGCONT)
    assert told.wait(DeviceReturned).device is Device.PAGE
    assert page.looked_at


def test_a_page_that_is_killed_and_opened_elsewhere(
    page: PageDisplay, told: Told, window: Browser
) -> None:
    """Another browser, another window: the page is back."""
    window.open(page.address)
    wait_for(lambda: page.looked_at, "the page", 60)
    window.send(signal.SIGKILL)
    assert told.wait(DeviceLost).device is Device.PAGE
    window.open(page.address)
    assert told.wait(DeviceReturned, 60).device is Device.PAGE


def test_only_a_page_of_ours_counts(page: PageDisplay, told: Told) -> None:
    """Another site can't pretend to be one."""
    kind = {"Content-Type": "application/json"}
    status, _, _ = ask(page, "/here", "POST", '{"token": "guessed"}', **kind)
    assert status == 403 and not page.looked_at


def test_a_loss_is_told_within_two_seconds() -> None:
    """The program's own bounds; a page answers each beat, so that one late answer is no loss."""
    assert followers.SILENT_S + followers.TICK_S < 2
    assert followers.SILENT_S > 3 * BEAT_S
