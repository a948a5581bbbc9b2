"""Wheel and source archive: built, complete, and installed where there is no checkout."""

from __future__ import annotations

import email
import subprocess
import sys
import tarfile
import tomllib
import zipfile
from email.message import Message
from pathlib import Path

import pytest

from assistant.journal.names import VERSION
from tests.commands import ROOT

pytestmark = pytest.mark.slow
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder with both, built from the files that git knows, with the tools that are here."""
    source, out = tmp_path_factory.mktemp("source"), tmp_path_factory.mktemp("dist")
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT, capture_output=True, check=True,
    )  # fmt: skip
    for name in filter(None, listed.stdout.decode().split("\0")):
        if (ROOT / name).is_file():
            target = source / name
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes((ROOT / name).read_bytes())
    subprocess.run(
        [sys.executable, "-m", "build", "--no-isolation", "--outdir", str(out), str(source)],
        check=True, capture_output=True,
    )  # fmt: skip
    return out


@pytest.fixture(scope="module")
def installed(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A new environment with the wheel in it; what it depends on is taken from this one."""
    folder = tmp_path_factory.mktemp("venv")
    subprocess.run([sys.executable, "-m", "venv", str(folder)], check=True)
    (wheel,) = built.glob("*.whl")
    python = folder / "bin" / "python"
    subprocess.run(
        [str(python), "-m", "pip", "install", "--quiet", "--no-index", "--no-deps", str(wheel)],
        check=True, capture_output=True,
    )  # fmt: skip
    here = next(Path(each) for each in sys.path if each.endswith("site-packages"))
    (own,) = (folder / "lib").glob("python*/site-packages")
    # At the end of the path: the wheel's packages come first. The checkout's hook stays outside.
    (own / "dependencies.pth").write_text(f"{here}\n")
    return folder


def tallyhand(installed: Path, *words: str, given: str = "") -> subprocess.CompletedProcess[str]:
    folder = installed / "somewhere-else"
    folder.mkdir(exist_ok=True)
    return subprocess.run(
        [str(installed / "bin" / "tallyhand"), *words], input=given, cwd=folder, check=False,
        capture_output=True, text=True, timeout=120,
        env={"PATH": "/usr/bin:/bin", "HOME": str(folder), "LANG": "C.UTF-8"},
    )  # fmt: skip


def test_the_wheel_holds_everything_that_runs(built: Path) -> None:
    """Every module and data file of the packages, the heads, the jobs, the licence; no test."""
    (wheel,) = built.glob("*.whl")
    names = set(zipfile.ZipFile(wheel).namelist())
    for package in ("assistant", "solver"):
        for file in (ROOT / package).rglob("*"):
            if file.is_file() and "__pycache__" not in file.parts:
                assert file.relative_to(ROOT).as_posix() in names
    for file in (ROOT / "config").rglob("*"):
        data = file.suffix in (".toml", ".po", ".pot", ".mo")
        if file.is_file() and data and "__pycache__" not in file.parts:
            assert f"assistant/_config/{file.relative_to(ROOT / 'config').as_posix()}" in names
    assert any(name.endswith(".dist-info/licenses/LICENSE") for name in names)
    assert not any(name.endswith((".sh", ".lock", "packages.txt")) for name in names)
    assert not any(name.startswith(("tests/", "docs/")) for name in names)
    assert not any("__pycache__" in name for name in names)


def test_the_source_archive_can_build_and_be_tested(built: Path) -> None:
    """Licence, docs, tests and the lock files are in it, and nothing of a working folder."""
    (archive,) = built.glob("*.tar.gz")
    with tarfile.open(archive) as tar:
        names = {name.partition("/")[2] for name in tar.getnames()}
    for name in ("LICENSE", "README.md", "DEVELOPERS.md", "pyproject.toml", "docs/changelog.md",
                 "config/program.lock", "config/requirements.lock", "tests/run.sh",
                 "assistant/__main__.py", "solver/__init__.py"):  # fmt: skip
        assert name in names
    assert not any(".venv/" in name or "__pycache__" in name for name in names)


def test_the_metadata_is_complete(built: Path) -> None:
    """Name, version, summary, licence, Python, and what it needs, as the project says."""
    (wheel,) = built.glob("*.whl")
    with zipfile.ZipFile(wheel) as archive:
        (name,) = (each for each in archive.namelist() if each.endswith(".dist-info/METADATA"))
        found: Message = email.message_from_bytes(archive.read(name))
    assert (found["Name"], found["Version"]) == (PROJECT["name"], PROJECT["version"])
    assert found["Summary"] == PROJECT["description"]
    assert (found["License-Expression"], found["License-File"]) == ("Apache-2.0", "LICENSE")
    assert found["Requires-Python"] == PROJECT["requires-python"]
    assert found["Description-Content-Type"] == "text/markdown"
    needed = found.get_all("Requires-Dist") or []
    assert sum("extra ==" not in each for each in needed) == len(PROJECT["dependencies"])
    assert found.get_all("Classifier") and found["Keywords"]


def test_every_command_says_the_version_of_the_package(installed: Path) -> None:
    """`--version` is the version of the metadata and of the change log's newest release, and
    names the form of the journals that this version writes."""
    done = tallyhand(installed, "--version")
    told = f"{PROJECT['version']} (journal format {VERSION})"
    assert (done.returncode, done.stdout.strip()) == (0, told)
    log = (ROOT / "docs" / "changelog.md").read_text("utf-8")
    assert f"\n## {PROJECT['version']}\n" in log


def test_heads_and_jobs_are_found_without_a_checkout(installed: Path) -> None:
    """From another folder, with an empty home: plan, check, and a rehearsal of the demo."""
    for words in (
        ["plan", "--head", "two-sided-40", "--divisions", "54"],
        ["job", "check", "pinion"],
        ["sheet", "pinion", "--out", "pinion.html"],
    ):
        done = tallyhand(installed, *words)
        assert done.returncode == 0, (words, done.stderr)
    done = tallyhand(installed, "rehearse", "pinion", given='{"press": "main"}\n')
    assert done.returncode == 0 and "Cider mill pinion" in done.stdout
    where = tallyhand(installed, "rehearse", "no-such-job")
    assert where.returncode == 1 and "no such job file" in where.stderr


def test_the_set_up_works_without_a_checkout(installed: Path) -> None:
    """The commented settings come out of the package."""
    done = tallyhand(installed, "setup", "--silent", given="\n" * 20)
    assert done.returncode == 0, done.stderr
    file = installed / "somewhere-else" / ".config" / "tallyhand" / "tallyhand.toml"
    assert "# teach it once: tallyhand doctor --learn-pedal" in file.read_text("utf-8")
