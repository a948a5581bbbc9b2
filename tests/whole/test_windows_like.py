"""The program as a process that takes itself to be on Windows, as far as Python code can tell.

Taken away are the modules that Python's library reference calls Unix's own, the signals and
functions of `os` that it marks "Availability: Unix", and `select` on anything but sockets. The
libraries that we use are loaded before: it is our code that is tried, not theirs.
"""

from __future__ import annotations

import os
import subprocess
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from tests.commands import PROGRAM, ROOT, tallyhand

LIKE_WINDOWS = """
import sys
# The standard library asks for its system when it is imported, and so do these two.
import argparse, asyncio, concurrent.futures, csv, ctypes.util, http.server, importlib.metadata
import importlib.resources, json, locale, logging, mimetypes, multiprocessing, os, platform, queue
import secrets, select, selectors, shlex, shutil, signal, socket, socketserver, sqlite3, ssl
import subprocess, tempfile, threading, tomllib, types, urllib.request, uuid, webbrowser, zipfile
import filelock, platformdirs

for name in "termios tty fcntl resource pwd grp pty curses readline syslog".split():
    sys.modules[name] = None
for name in "fork getuid geteuid getgid sched_getaffinity getpgid killpg setsid statvfs".split():
    delattr(os, name)
for name in "SIGHUP SIGKILL SIGUSR1 SIGUSR2 SIGWINCH SIGALRM".split():
    delattr(signal, name)
whole = select.select

def sockets_only(readers, writers, troubled, patience=None):
    if not all(isinstance(each, socket.socket) for each in (*readers, *writers, *troubled)):
        raise OSError(10038, "An operation was attempted on something that is not a socket")
    return whole(readers, writers, troubled, patience)

select.select = sockets_only
sys.modules["msvcrt"] = types.ModuleType("msvcrt")
platform.system = lambda: "Windows"
sys.platform = "win32"
"""
QUIET = """
[speech]
engine = "none"
[ear]
kind = "none"
[pedal]
kind = "none"
[page]
serve = false
"""


@pytest.fixture
def windows(tmp_path: Path) -> dict[str, str]:
    place = tmp_path / "like-windows"
    place.mkdir()
    (place / "sitecustomize.py").write_text(LIKE_WINDOWS)
    (tmp_path / "quiet.toml").write_text(QUIET)
    return {**os.environ, "PYTHONPATH": str(place)}


def test_what_needs_no_bench(windows: dict[str, str], tmp_path: Path) -> None:
    """Plan, check, sheet, rehearsal, list and doctor end as they should, without a traceback."""
    data, quiet = ("--data", tmp_path / "data"), tmp_path / "quiet.toml"
    for words, given, codes in (
        (("plan", "--head", "three-plate-40", "--divisions", "21"), "", {0}),
        (("job", "check", "pinion"), "", {0}),
        (("sheet", "pinion", "--out", tmp_path / "pinion.html"), "", {0}),
        (("rehearse", "pinion", *data), '{"press": "main"}\n', {0}),
        (("log", *data), "", {0}),
        (("doctor", "--where"), "", {0}),
        (("doctor", "--config", quiet), "", {0, 1}),
        (("doctor", "--learn-pedal", "--config", quiet), "", {1}),
    ):
        done = tallyhand(*words, given=given, env=windows)
        assert done.returncode in codes and "Traceback" not in done.stderr, (words, done.stderr)


def test_a_session_answered_through_a_pipe(windows: dict[str, str], tmp_path: Path) -> None:
    """An empty line presses, q leaves, and the job is kept."""
    words = ["run", "pinion", "--config", tmp_path / "quiet.toml", "--data", tmp_path / "data"]
    output = tmp_path / "output.txt"
    with output.open("wb") as out:
        session = subprocess.Popen(
            [*PROGRAM, *map(str, words)], stdin=subprocess.PIPE, stdout=out, stderr=out,
            env=windows, cwd=ROOT,
        )  # fmt: skip
    said = partial(output.read_text, "utf-8")
    try:
        _wait(lambda: "Item one" in said(), session, said)
        # Again and again, as somebody does whose answer came too soon.
        while "Item two" not in said():
            _type(session, b"\n")
            assert session.poll() is None, said()
            time.sleep(2)
        _type(session, b"q\n")
        assert session.wait(60) == 0, said()
    finally:
        session.kill()
        session.wait()
    assert "The job is kept" in said()


def _type(session: subprocess.Popen[bytes], keys: bytes) -> None:
    assert session.stdin
    session.stdin.write(keys)
    session.stdin.flush()


def _wait(
    true: Callable[[], bool], session: subprocess.Popen[bytes], said: Callable[[], str]
) -> None:
    end = time.monotonic() + 120
    while not true():
        assert time.monotonic() < end and session.poll() is None, said()
        time.sleep(0.05)
