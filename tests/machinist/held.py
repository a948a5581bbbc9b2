"""Every line that the finished part rests on, with its test: broken, and seen to fail.

`python -m tests.machinist.held` works on a copy: it breaks the program as `held.toml` says, one
line at a time, runs the line's test there, which has to fail, and writes docs/held.md when all did.
`python -m tests.machinist.held WORD...` does so for the lines that have these words, and writes
nothing. A planted fault alters words and not the program: its test passes when the judge saw it.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from tests.commands import ROOT

PAGE = ROOT / "docs" / "held.md"
_LISTED = Path(__file__).with_name("held.toml")
_FAILED = 1  # how pytest ends when a test failed, and not when it found none or could not start

TOP = """# What the finished part rests on

Each line of this table is a fault that the program once had, or could have had, between the figure
and the metal. Beside it stands the test that holds it. A test that never failed proves nothing, so
each was seen to fail: the program was broken as the third column says, in a copy, and the test run
there. A planted fault is a sentence altered on its way to the [literal person](cut-sections.md), as
a faulty program would say it: the part that came off must not pass.

`python -m tests.machinist.held` does it anew and writes this page; it takes some minutes.

| what is held | by | seen red when |
|---|---|---|
"""


@dataclass(frozen=True)
class Line:
    """`test` is a file, or one test of it; `pick` narrows it (pytest -k). `old` stands once in
    `file` and becomes `new`; or `planted` is the name of a planted fault."""

    says: str
    test: str
    pick: str = ""
    file: str = ""
    old: str = ""
    new: str = ""
    planted: str = ""

    @property
    def row(self) -> str:
        how = f"planted: {self.planted}"
        if self.old:
            becomes = f"is `{_short(self.new)}`" if self.new else "is left out"
            how = f"`{_short(self.old)}` in `{self.file}` {becomes}"
        return f"| {self.says} | `{self.test.partition('tests/')[2]}` | {how} |"


def _short(code: str) -> str:
    """On one line of a table; nothing in it ends a cell."""
    return " ".join(code.split()).replace("|", "/").replace("`", "'")


def lines() -> list[Line]:
    return [Line(**each) for each in tomllib.loads(_LISTED.read_text("utf-8"))["line"]]


def page() -> str:
    return TOP + "".join(f"{line.row}\n" for line in lines())


def copied(folder: Path) -> Path:
    """The files that are kept, as they stand now, in a folder where they may be broken."""
    listed = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard"], cwd=ROOT, capture_output=True, text=True,
        check=True,
    ).stdout  # fmt: skip
    for name in listed.splitlines():
        if (ROOT / name).is_file():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy2(ROOT / name, folder / name)
    return folder


def fails(line: Line, copy: Path) -> bool:
    """The test of this line sees the fault."""
    if line.planted:
        return _run(line.test, line.planted, copy) == 0
    broken = copy / line.file
    whole = broken.read_text("utf-8")
    try:
        broken.write_text(whole.replace(line.old, line.new), "utf-8")
        return _run(line.test, line.pick, copy) == _FAILED
    finally:
        broken.write_text(whole, "utf-8")


def _run(test: str, pick: str, copy: Path) -> int:
    command = [sys.executable, "-m", "pytest", "-q", "-n0", "-x", "-p", "no:cacheprovider", test]
    if pick and "::" not in test and test.endswith("test_planted.py"):
        command[-1] = f"{test}::test_the_fault_is_seen[{pick}]"
    elif pick:
        command += ["-k", pick]
    return subprocess.run(command, cwd=copy, capture_output=True, check=False).returncode


def wanted(words: list[str]) -> Iterator[Line]:
    yield from (line for line in lines() if all(w.lower() in line.says.lower() for w in words))


def main() -> int:
    unseen = 0
    with tempfile.TemporaryDirectory() as name:
        copy = copied(Path(name))
        for line in wanted(sys.argv[1:]):
            seen = fails(line, copy)
            unseen += not seen
            print(f"{'red' if seen else 'NOT SEEN'}: {line.says}", flush=True)
    if not unseen and not sys.argv[1:]:
        PAGE.write_text(page(), "utf-8")
    return 1 if unseen else 0


if __name__ == "__main__":
    raise SystemExit(main())
