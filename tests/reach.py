"""Runs the tests that a change can reach and the processor alone decides: `python -m tests.reach`.

A change is what differs from REV (HEAD: what is not committed). A test is reached where it imports
a changed module, however far away; a changed page or data file reaches the tests that hold those.
`--list` names the files of tests and runs nothing.
"""

from __future__ import annotations

import argparse
import re
import subprocess
import sys
from pathlib import Path

from tests.commands import ROOT
from tests.docs import house
from tests.lanes import QUICK

# What no import leads to: made pages, catalogues, settings, the page's own files.
BY_NAME = {
    "README.md": ("tests/engine/test_asked.py",),
    "docs/": ("tests/docs/test_manual.py", "tests/docs/test_findings.py",
              "tests/engine/test_asked.py", "tests/engine/test_table.py"),
    "config/language/": ("tests/language/test_catalogue_tool.py", "tests/language/test_german.py"),
    "config/heads/": ("tests/solver/test_heads.py",),
    "config/jobs/": ("tests/work/test_pages.py",),
    "config/standards/": ("tests/work/",),
    "assistant/page/": ("tests/page/test_server.py", "tests/engine/test_asked.py"),
    "pyproject.toml": ("tests/trust/test_lock.py",),
}  # fmt: skip


# A folder whose modules are found by themselves.
_FOUND = re.compile(r"iter_modules\((\w+)\.__path__")


def changed(since: str) -> list[str]:
    """Files that differ from the revision, new ones included."""
    differ = ["git", "diff", "--name-only", since]
    new = ["git", "ls-files", "--others", "--exclude-standard"]
    found = ""
    for command in (differ, new):
        found += subprocess.run(
            command, cwd=ROOT, capture_output=True, text=True, check=True
        ).stdout
    return sorted(set(found.split()))


def _graph() -> dict[str, set[str]]:
    """Each module of program and tests, and those that it imports."""
    known = dict(house.modules())
    for file in (ROOT / "tests").rglob("*.py"):
        known[".".join(file.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")] = (
            file
        )
    found = {}
    for name, file in known.items():
        names = {house.module_of(other, known) for other in house.imported(file)}
        found[name] = {other for other in names if other} - {name}
        for folder in _FOUND.findall(file.read_text("utf-8")):
            whole = next(other for other in names if other.endswith(f".{folder}"))
            found[name] |= {other for other in known if other.startswith(f"{whole}.")} - {name}
    return found


def reached(files: list[str]) -> list[str]:
    """The test files of the quick lane, and those held by name, that the files can reach."""
    graph = _graph()
    hit = {".".join(Path(file).with_suffix("").parts) for file in files if file.endswith(".py")}
    hit = {name.removesuffix(".__init__") for name in hit}
    found = set[str]()
    for name in graph:
        if name.rpartition(".")[2].startswith("test_") and hit & (
            house.reachable(graph, name) | {name}
        ):
            found.add(name.replace(".", "/") + ".py")
    quick = {file for file in found if file.removeprefix("tests/").startswith(QUICK)}
    for start, tests in BY_NAME.items():
        if any(file.startswith(start) for file in files):
            quick |= set(tests)
    return sorted(quick)


def main() -> int:
    reader = argparse.ArgumentParser(description=__doc__)
    reader.add_argument("--since", default="HEAD", metavar="REV")
    reader.add_argument("--list", action="store_true")
    given = reader.parse_args()
    tests = reached(changed(given.since))
    if given.list or not tests:
        print("\n".join(tests) or "no test of the quick lane is reached")
        return 0
    words = ["pytest", "-q", "-n", "auto", "-m", "not slow and not live and not release", *tests]
    return subprocess.run([sys.executable, "-m", *words], cwd=ROOT, check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
