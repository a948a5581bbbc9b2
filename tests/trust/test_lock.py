"""The lock file: every package pinned to one version, with hashes, and no address in it."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from importlib import metadata
from pathlib import Path

import pytest
from packaging.markers import Marker
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.commands import ROOT

LOCK = ROOT / "config" / "requirements.lock"
_PIN = re.compile(r"([a-z0-9][a-z0-9-]*)==(\S+?)(?: ; (.+?))? \\")
_HASH = re.compile(r" {4}--hash=sha256:[0-9a-f]{64}( \\)?")


def pins() -> dict[str, str]:
    """Name and version of every package in the lock, of those that are for this Python."""
    found = (_PIN.fullmatch(line) for line in LOCK.read_text("utf-8").splitlines())
    here = [pin for pin in found if pin and (pin[3] is None or Marker(pin[3]).evaluate())]
    return {pin[1]: pin[2] for pin in here}


def faults(text: str) -> list[str]:
    """What is wrong with a lock's lines."""
    found, hashes, last = list[str](), 1, ""
    for line in text.splitlines():
        if line.startswith("#"):
            continue
        if _PIN.fullmatch(line):
            found += [f"{last}: no hash"] * (not hashes)
            hashes, last = 0, line
        elif _HASH.fullmatch(line):
            hashes += 1
        else:
            found.append(f"{line}: neither a pin nor a hash")
    return found + [f"{last}: no hash"] * (not hashes)


def test_every_line_is_a_pin_or_a_hash() -> None:
    """One version each, with the hashes of its files; no option, no address, no file."""
    text = LOCK.read_text("utf-8")
    assert faults(text) == []
    assert len(pins()) > 30
    assert not re.search(r"https?:|://|@ |--(extra-)?index-url|--find-links|--trusted-host", text)


@pytest.mark.parametrize(
    "line",
    ["numpy", "numpy>=2", "--index-url x", "numpy @ file:///x.whl", "-e .", "numpy==2.4.6"],
)
def test_a_loose_line_is_found(line: str) -> None:
    """Each way of leaving the version or the file open is a fault."""
    assert faults(f"{LOCK.read_text('utf-8')}{line}\n")


def test_what_the_project_asks_for_is_in_it() -> None:
    """Every requirement of the program and of its tests, at a version that fits."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    wanted = [*project["dependencies"], *project["optional-dependencies"]["test"]]
    locked = pins()
    for each in map(Requirement, wanted):
        if each.marker is None or each.marker.evaluate():
            version = locked.get(canonicalize_name(each.name))
            assert version, f"{each.name} is not locked: renew the lock"
            assert each.specifier.contains(version), f"{each.name} {version}: renew the lock"


def test_what_those_need_in_turn_is_in_it() -> None:
    """Nothing would be fetched that the lock does not name (as far as it is installed here)."""
    locked = pins()
    for name in locked:
        try:
            needed = metadata.requires(name) or []
        except metadata.PackageNotFoundError:
            continue
        for each in map(Requirement, needed):
            if each.marker is None or each.marker.evaluate({"extra": ""}):
                assert canonicalize_name(each.name) in locked, f"{name} needs {each.name}"


def test_a_file_with_another_hash_is_refused(tmp_path: Path) -> None:
    """The installer does look: a package whose hash differs is not installed."""
    package = tmp_path / "tally-0.1.tar.gz"
    package.write_bytes(b"not what it says")
    lock = tmp_path / "lock"
    lock.write_text(f"tally==0.1 \\\n    --hash=sha256:{'0' * 64}\n")
    finished = subprocess.run(
        [sys.executable, "-m", "pip", "install", "--no-index", "--find-links", str(tmp_path),
         "--require-hashes", "--no-deps", "--dry-run", "-r", str(lock)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert finished.returncode != 0
    assert "DO NOT MATCH THE HASHES" in finished.stderr
