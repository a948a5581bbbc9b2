"""The install script leaves a checkout that somebody works on as it is."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
# Stands where the environment's own Python does: it keeps what pip was asked, and installs nothing.
PYTHON = f"""#!/bin/sh
case "$*" in
*"-m pip"*) echo "$*" >>"$PIP_LOG" ;;
*) exec {sys.executable} "$@" ;;
esac
"""


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    """A copy of what the script reads, and an environment that can only be watched."""
    if shutil.which("apt-get") is None:
        pytest.skip("the script's system packages are Debian's")
    shutil.copytree(ROOT / "config", tmp_path / "config")
    (tmp_path / "assistant").mkdir()
    (tmp_path / "solver").mkdir()
    python = tmp_path / ".venv" / "bin" / "python"
    python.parent.mkdir(parents=True)
    python.write_text(PYTHON)
    python.chmod(0o755)
    return tmp_path


def installed(
    checkout: Path, direct_url: dict[str, object] | None, answer: str = "-n", path: str = ""
) -> tuple[str, str]:
    """What the script prints, and what pip was asked, beside an install that came so; programs in
    the folder `path` come before the system's own."""
    place = checkout / "site"
    if direct_url is not None:
        about = place / "tallyhand-0.0.dist-info"
        about.mkdir(parents=True)
        (about / "METADATA").write_text("Metadata-Version: 2.1\nName: tallyhand\nVersion: 0.0\n")
        (about / "direct_url.json").write_text(json.dumps(direct_url))
    log = checkout / "pip.log"
    log.touch()
    done = subprocess.run(
        ["bash", str(checkout / "config" / "install.sh"), answer],
        env={**os.environ, "PYTHONPATH": str(place), "PIP_LOG": str(log),
             "PATH": f"{path}:{os.environ['PATH']}"},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout, log.read_text()


def test_an_editable_install_is_left_alone(checkout: Path) -> None:
    """Who works on the program runs the demo, and afterwards still runs what they edit."""
    url = {"url": checkout.as_uri(), "dir_info": {"editable": True}}
    said, asked = installed(checkout, url)
    assert "left as it is" in said
    assert asked == ""


def test_any_other_install_is_renewed(checkout: Path) -> None:
    """A checkout that moved on is installed anew: the demo runs what it holds."""
    said, asked = installed(checkout, {"url": checkout.as_uri(), "dir_info": {}})
    assert "left as it is" not in said
    assert asked.splitlines()[-1].endswith(" .")


def test_who_may_install_nothing_is_told_what_to_ask_for(checkout: Path) -> None:
    """No sudo for this user: the line for the administrator, and the program all the same."""
    there = checkout / "bin"
    there.mkdir()
    for name, does in {
        "id": "echo 1000", "dpkg-query": "exit 1", "sudo": "exit 1", "apt-get": "echo $* >&2",
    }.items():  # fmt: skip
        (there / name).write_text(f"#!/bin/sh\n{does}\n")
        (there / name).chmod(0o755)
    url = {"url": checkout.as_uri(), "dir_info": {}}
    said, asked = installed(checkout, url, "-y", str(there))
    assert "Ask the administrator for this, once:\n    apt-get install" in said
    assert "espeak-ng" in said and "Installing system packages" not in said
    assert asked.splitlines()[-1].endswith(" .")
