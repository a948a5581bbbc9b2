"""What all tests share: the lane that is run, the profiles of the property tests, and who runs
beside whom.

Property tests judge what is right, never how long it takes on a busy machine. Those of every day
are the same at each run; at full length they look for new examples.
"""

from __future__ import annotations

import gc
import os
import socket
import sys
from collections import Counter
from collections.abc import Generator, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, is_hypothesis_test, settings

from tests import beside, lanes

PATIENT: dict[str, Any] = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow]}
settings.register_profile("day", max_examples=15, derandomize=True, **PATIENT)
settings.register_profile("full", max_examples=400, print_blob=True, **PATIENT)

TESTS = Path(__file__).parent
# A test with one of these has a sound server, a screen or a browser of its own.
LIVE_FIXTURES = {"server", "sound", "screen", "browser"}


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """One Chromium for all tests of a process: its driver can't be started a second time there."""
    from tests.page.browser import chromium

    with chromium() as running:
        yield running


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--lane", choices=lanes.LANES, default=os.environ.get(lanes.NAME, "day"),
        help="which tests, and at which length (tests/lanes.py)",
    )  # fmt: skip


def pytest_configure(config: pytest.Config) -> None:
    os.environ[lanes.NAME] = config.getoption("--lane")
    # As the program has it, before numpy is loaded: a second thread is only waited for.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    os.environ.setdefault("OMP_THREAD_LIMIT", "1")
    # Hundreds of processes are started: each would compile the whole program anew.
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    sys.dont_write_bytecode = False
    settings.load_profile("full" if lanes.in_full() else "day")
    if not _is_worker(config):
        beside.open_ears()
    elif not beside.is_live(os.environ["PYTEST_XDIST_WORKER"]):
        os.nice(10)


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """A file of which the lane has nothing is not even loaded."""
    try:
        file = collection_path.relative_to(TESTS).as_posix()
    except ValueError:
        return None
    of_no_lane = config.getoption("--lane") == "quick" and not file.startswith(lanes.QUICK)
    return True if file.endswith(".py") and of_no_lane else None


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Generator[None, object, object]:
    """What is collected stays to the end: the garbage collector need not look through it, neither
    while it is made nor at each test."""
    gc.disable()
    try:
        return (yield)
    finally:
        gc.freeze()
        gc.enable()


def _is_worker(config: pytest.Config) -> bool:
    return hasattr(config, "workerinput")


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    return beside.workers(live=config.getoption("--lane") != "quick")


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    return beside.Beside(config, log)


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    kept: list[pytest.Item] = []
    left_out: list[pytest.Item] = []
    for item in items:
        _mark(item)
        marks = {mark.name for mark in item.iter_markers()}
        file = _file(item).removeprefix("tests/")
        of_lane = lanes.wanted(config.getoption("--lane"), marks, file)
        (kept if of_lane else left_out).append(item)
    items[:] = kept
    if _is_worker(config):
        _answered_at_once(config)
        items[:] = _longest_first(kept)
        beside.tell({item.nodeid: _group(item) for item in items})
    if left_out:
        config.hook.pytest_deselected(items=left_out)


def _answered_at_once(config: pytest.Config) -> None:
    """Before each test that may be tried again, its worker asks the first process how often it
    was; two short messages one after the other wait 40 ms on a socket that gathers them."""
    asks = getattr(getattr(config, "failures_db", None), "sock", None)
    if isinstance(asks, socket.socket):
        asks.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)


def _mark(item: pytest.Item) -> None:
    """What a test's own make says of it: whether it is a property test, whether it is live."""
    if is_hypothesis_test(getattr(item, "obj", None)):
        item.add_marker("longer")
    if item.get_closest_marker("sound") or LIVE_FIXTURES & set(getattr(item, "fixturenames", ())):
        item.add_marker("live")
    # On a machine that stands still for a second, a loudspeaker or a browser really fails. What
    # was tried again is named at the end of the run (-rR in pyproject.toml), as a defect.
    if item.get_closest_marker("live") or _file(item).startswith(lanes.WAITING):
        item.add_marker(pytest.mark.flaky(reruns=1))


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """How each test failed that was tried again: who mends the defect has to see it."""
    for report in terminalreporter.stats.get("rerun", ()):
        terminalreporter.section(f"tried again: {report.nodeid}")
        terminalreporter.line(report.longreprtext)


def _file(item: pytest.Item) -> str:
    return item.nodeid.split("::", 1)[0]


def _group(item: pytest.Item) -> str:
    """Its file, or itself where it is marked `apart`; live ones are told from the others."""
    group = _file(item)
    if item.get_closest_marker("apart"):
        group = item.nodeid
    return f"{beside.LIVE}{group}" if item.get_closest_marker("live") else group


def _longest_first(items: list[pytest.Item]) -> list[pytest.Item]:
    """By group: at the end of a run no worker is alone with a long one."""
    seconds: Counter[str] = Counter()
    for item in items:
        slow = item.get_closest_marker("slow")
        seconds[_group(item)] += (slow.args or (10,))[0] if slow else 0
    return sorted(items, key=lambda item: -seconds[_group(item)])
