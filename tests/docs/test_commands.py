"""Every command on the pages does what the page says: each is run, in order, as a reader would.

Each page is worked through in a fresh copy of the repository with an empty home. Where a command
can't be run as it stands, `INSTEAD` says what is run in its place, and why.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.commands import ROOT
from tests.docs.pages import PAGES, Step, in_passing, steps

TIME_LIMIT_S = 240


class Instead(NamedTuple):
    """`run` takes the place of a command; empty: nothing is run. `codes` are its exit codes."""

    pattern: str
    run: str
    why: str
    codes: tuple[int, ...] = (0,)


NETWORK = "fetches packages for minutes; tests/newcomer acts as a newcomer and does it whole"
INSTEAD = [
    Instead(r"bash config/(demo|install|lock)\.sh.*", r"bash -n config/\1.sh", NETWORK),
    Instead(r"(?:\.venv/bin/)?(?:python -m )?pipx? install .*", "", NETWORK),
    Instead(r"python -m build", "python -m build --help", "tests/packaging builds"),
    Instead(r"python -m build", "python -m build --help", NETWORK),
    Instead(r"tallyhand inspect .*", "tallyhand inspect --help", "wants a measured part"),
    Instead(r"tallyhand setup errors .*", "tallyhand setup errors --help", "asks for readings"),
    Instead(r"tallyhand job (new|edit).*", r"tallyhand job \1 --help", "asks: tests/asking"),
    Instead(r"tallyhand setup ?(\w*)", r"tallyhand setup \1 --help", "asks: tests/setup answers"),
    Instead(r"bash tests/(run|cover)\.sh.*", r"bash -n tests/\1.sh", "would run these tests"),
    Instead(r"python -m tests\.mutation.*", "python -m tests.mutation --help", "takes an hour"),
    Instead(r"python -m pytest -s (\S+) .*", r"python -m pytest --collect-only \1", "a run apart"),
    Instead(r"(?:.*/)?tallyhand (run|resume|rehearse) ?((?:(?!--script)[^|])*)",
            r"echo q | tallyhand \1 \2", "q leaves: nobody is here to answer", (0, 1)),
    Instead(r"(?:.*/)?tallyhand doctor.*", r"\g<0>", "1 where a device is missing", (0, 1)),
    Instead(r"tallyhand voice learn.*", "tallyhand voice --help", "needs a person who speaks"),
    Instead(r"python -m assistant\.hearing\.training.*",
            "python -m assistant.hearing.training.train --help", "trains for up to an hour"),
]  # fmt: skip


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """The repository as a reader has it, with what the pages take for granted."""
    return copied(tmp_path / "tallyhand")


def copied(folder: Path) -> Path:
    """What git has or would take, the compiled program and this environment, in a new folder."""
    folder.mkdir()
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    for name in filter(None, listed.split("\0")):
        if (ROOT / name).is_file():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(ROOT / name, folder / name)
    for made in filter(Path.is_dir, (ROOT / "assistant", ROOT / "solver")):
        for file in made.rglob("__pycache__/*.pyc"):  # not compiled anew for each page
            there = folder / file.relative_to(ROOT)
            there.parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(file, there)
    (folder / ".venv").symlink_to(Path(sys.executable).parents[1])
    return folder


def run(command: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """In a shell, with an empty home, no sound server and no screen."""
    home = folder.parent / "home"
    home.mkdir(exist_ok=True)
    path = f"{Path(sys.executable).parent}:{os.environ['PATH']}"
    kept = {name: text for name, text in os.environ.items() if name.startswith(("LANG", "LC_"))}
    env = {**kept, "HOME": str(home), "PATH": path, "PYTHONPATH": str(folder),
           "PULSE_SERVER": "unix:/nowhere", "COLUMNS": "100"}  # fmt: skip
    return subprocess.run(
        ["bash", "-o", "pipefail", "-c", command], cwd=folder, env=env, stdin=subprocess.DEVNULL,
        capture_output=True, text=True, check=False, timeout=TIME_LIMIT_S,
    )  # fmt: skip


def fault(step: Step, folder: Path) -> str:
    """What is wrong with this step, or nothing."""
    if step.file:
        (folder / step.file).parent.mkdir(parents=True, exist_ok=True)
        (folder / step.file).write_text(step.text, "utf-8")
        return ""
    command, codes = step.command, (0,)
    for each in INSTEAD:
        if match := re.fullmatch(each.pattern, command):
            command, codes = match.expand(each.run), each.codes
            break
    done = run(command, folder) if command else None
    if done is None:
        return ""
    if done.returncode not in codes or "Traceback" in done.stderr:
        return f"line {step.line}: {command}: exit {done.returncode}: {done.stderr[-800:]}"
    if step.output is not None and done.stdout.rstrip() != step.output:
        return f"line {step.line}: {command}: it prints\n{done.stdout}"
    return ""


# Makes all that is made from code four times over: every day only what it writes is written.
RECIPES = ROOT / "docs" / "recipes.md"


def _worked() -> list[object]:
    """Every page with commands."""
    return [
        pytest.param(page, id=page.stem, marks=pytest.mark.release if page == RECIPES else ())
        for page in PAGES
        if steps(page)
    ]


@pytest.mark.parametrize("page", _worked())
def test_every_command_of_the_page(page: Path, copy: Path) -> None:
    """From the top down, in one folder: each does what the page says, and prints what it shows."""
    _ready(copy)
    faults = [found for step in steps(page) if (found := fault(step, copy))]
    assert not faults, "\n".join(faults)


def test_every_change_of_the_recipes_finds_its_place(copy: Path) -> None:
    """Each file is written and each edit changes its file, and what was changed is Python still."""
    for step in steps(RECIPES):
        changed = copy / (step.file or shlex.split(step.command)[-1])
        if changed.suffix == ".po" or not (step.file or step.command.startswith("sed -i")):
            continue  # a catalogue is begun by a command of the page
        before = changed.read_text("utf-8") if changed.is_file() else ""
        assert not fault(step, copy)
        after = changed.read_text("utf-8")
        assert after != before, step
        if changed.suffix == ".py":
            compile(after, str(changed), "exec")


def _ready(folder: Path) -> None:
    """What the reader has beside the repository: a recording, and a job that was begun."""
    assert not run('espeak-ng -w recording.wav "spindle locked"', folder).returncode
    begun = "echo q | tallyhand rehearse config/jobs/pinion.toml"
    assert not run(begun, folder).stderr


@cache
def help_of(*words: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "assistant", *words, "--help"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    return done.stdout if done.returncode == 0 else ""


def misnamed(command: str) -> str:
    """What is wrong with a command named in a sentence, or nothing."""
    program, *words = command.split()
    if program == "bash":
        return "" if (ROOT / words[0]).is_file() else f"no such script: {words[0]}"
    if program == "python":
        package = words[1].partition(".")[0]
        found = find_spec(package) and find_spec(words[1])
        return "" if found else f"no such module: {words[1]}"
    group = words[:2] if words[0] in ("job", "voice", "log", "setup") else words[:1]
    text = next((text for n in (2, 1) if (text := help_of(*group[:n]))), "")
    if words == ["--version"]:
        return ""
    if not text:
        return f"no such command: {words[0]}"
    unknown = [word for word in words if word.startswith("--") and word not in text]
    return f"{' '.join(group)} knows no {', '.join(unknown)}" if unknown else ""


@pytest.mark.parametrize(
    "page", [page for page in PAGES if in_passing(page)], ids=lambda page: page.stem
)
def test_commands_named_in_passing(page: Path) -> None:
    """What a sentence names between backticks is there: command, options, module, script."""
    faults = [f"{each}: {found}" for each in in_passing(page) if (found := misnamed(each))]
    assert not faults, "\n".join(faults)


def test_a_command_that_is_misnamed_is_found() -> None:
    """Each sort of name that leads nowhere."""
    for command in (
        "tallyhand plane",
        "tallyhand plan --heads",
        "bash x.sh",
        "python -m tests.such",
    ):
        assert misnamed(command), command
    assert not misnamed("tallyhand plan --head FILE")


def test_no_exemption_without_use_and_reason() -> None:
    """Each entry of the table takes the place of a command on some page, and says why."""
    commands = [step.command for page in PAGES for step in steps(page) if step.command]
    assert len(commands) > 40
    for each in INSTEAD:
        assert len(each.why) > 10
        assert any(re.fullmatch(each.pattern, command) for command in commands), each.pattern


def test_a_page_that_is_wrong_is_found(copy: Path) -> None:
    """A command that fails, one that prints something else, and one that is not there."""
    shown = "tallyhand plan --head three-plate-40 --divisions 21"
    assert "exit 2" in fault(Step(1, "tallyhand plan --head three-plate-40"), copy)
    assert "exit 127" in fault(Step(1, "tallyhands plan"), copy)
    assert "it prints" in fault(Step(1, shown, "four turns"), copy)
    assert not fault(Step(1, shown), copy)
