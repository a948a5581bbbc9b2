"""Long work shows how far it has come, on a terminal and nowhere else."""

from __future__ import annotations

import io
import os
import pty
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.commands import doctor, parsers, progress
from assistant.commands.progress import bar, progress_line
from assistant.files.settings import Settings
from assistant.setup.checks import Finding


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_a_bar_fills_and_goes() -> None:
    """Every item comes through; the bar is drawn, counts, and leaves a clean line."""
    out = Terminal()
    assert list(bar("abcd", 4, "Journals", slow=True, out=out)) == list("abcd")
    drawn = out.getvalue().split("\r")
    assert [text.split(", ")[-1] for text in drawn[1:5]] == [f"{n} of 4" for n in range(4)]
    assert drawn[-1] == "\x1b[K"
    assert [progress_line(n, 4, "x").count("#") for n in (0, 2, 4, 9)] == [0, 12, 24, 24]


def test_quick_work_and_pipes_are_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing in the first second, nothing where a program reads, and nothing is swallowed."""
    out = Terminal()
    assert list(bar(range(5), 5, "Divisions", out=out)) == list(range(5))
    pipe = io.StringIO()
    assert list(bar(range(5), 5, "Divisions", slow=True, out=pipe)) == list(range(5))
    assert out.getvalue() + pipe.getvalue() == ""
    monkeypatch.setattr(progress, "PATIENCE_S", 0.0)
    assert list(bar(range(5), 5, "Divisions", out=out)) == list(range(5))
    assert "Divisions [" in out.getvalue()


def test_a_table_tells_a_terminal_and_not_its_reader(tmp_path: Path) -> None:
    """The program itself: the bar goes to the terminal, the table to the file, whole."""
    ours, theirs = pty.openpty()
    table = tmp_path / "table.csv"
    with table.open("wb") as out:
        command = [sys.executable, "-c", _QUICK, "table", "--to", "300", "--csv"]
        done = subprocess.run(command, stdout=out, stderr=theirs, check=False)
    os.close(theirs)
    told = os.read(ours, 100_000).decode()
    os.close(ours)
    assert done.returncode == 0 and "Divisions [" in told and told.endswith("\x1b[K")
    rows = table.read_text("utf-8").splitlines()
    assert len(rows) == 300 and "\x1b" not in table.read_text("utf-8")


_QUICK = """
import sys
from assistant.commands import progress
from assistant.__main__ import main
progress.PATIENCE_S = 0.0
sys.exit(main([*sys.argv[1:], "--head", "three-plate-40"]))
"""


def test_the_doctor_tells_each_part_as_it_is_known(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """The microphone and the loudspeaker take seconds; nobody waits before an empty screen."""

    def parts(settings: Settings) -> Iterator[Finding]:
        yield Finding("microphone", False, "only silence", "unmute it")
        told = capsys.readouterr().out
        assert "NOT microphone" in told and "-> unmute it" in told
        yield Finding("speaker", True, "spoke")

    monkeypatch.setattr(doctor, "check_each", parts)
    (tmp_path / "tallyhand.toml").write_text("")
    _, given = parsers.read_command("doctor", ["--config", str(tmp_path / "tallyhand.toml")])
    assert doctor.main(given) == 1
    assert "ok  speaker" in capsys.readouterr().out
