"""Reads the pages for people: their commands with the output shown, and the files they give."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from tests.commands import ROOT

PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").rglob("*.md"))]
_SHELLS = {"sh", "bash", "console", "shell"}
_FENCE = re.compile(r"^(?P<indent> *)(?P<ticks>`{3,})(?P<kind>[^`\s]*)\s*$")
_SAVED = re.compile(r"\bas `(?P<name>[^`\s]+)`:$")
_PROGRAMS = (
    "tallyhand", "python", "bash", "pip", "pipx", "mkdocs", "sudo", "apt", "git", "uv", "cp", "sed",
    "export", "espeak-ng", "cosmic-ray", "coverage", ".venv/bin/", "TALLYHAND_",
)  # fmt: skip


@dataclass(frozen=True)
class Step:
    """A command with the output that is shown under it (None: none is shown), or a file."""

    line: int
    command: str = ""
    output: str | None = None
    file: str = ""
    text: str = ""


def steps(page: Path) -> list[Step]:
    """What a reader of this page is told to do, in order."""
    lines = page.read_text("utf-8").splitlines()
    found: list[Step] = []
    n = 0
    while n < len(lines):
        fence = _FENCE.match(lines[n])
        if fence is None:
            found += _indented(lines, n)
            n += 1
            continue
        end = next(m for m in range(n + 1, len(lines)) if lines[m].strip() == fence["ticks"])
        block = [line.removeprefix(fence["indent"]) for line in lines[n + 1 : end]]
        if fence["kind"] in _SHELLS:
            found += _commands(block, n + 2)
        elif saved := _SAVED.search(_above(lines, n)):
            found.append(Step(n + 2, file=saved["name"], text="\n".join(block) + "\n"))
        n = end + 1
    return found


def _above(lines: list[str], n: int) -> str:
    """The paragraph above a fence, in one line."""
    end = n
    while end and not lines[end - 1].strip():
        end -= 1
    start = end
    while start and lines[start - 1].strip():
        start -= 1
    return " ".join(line.strip() for line in lines[start:end])


def _indented(lines: list[str], n: int) -> Iterator[Step]:
    """A command in an indented block, behind an empty line or another such line."""
    text = lines[n]
    above = lines[n - 1] if n else ""
    if re.match(r" {4}\S", text) and (not above.strip() or above.startswith("    ")):
        command = text.strip()
        if command.startswith(_PROGRAMS):
            yield Step(n + 1, _without_remark(command))


def _commands(block: list[str], line: int) -> Iterator[Step]:
    """With "$ " before them, commands and their output; else a command a line."""
    if not any(each.startswith("$ ") for each in block):
        joined = ""
        for n, text in enumerate(block):
            joined += text.strip()
            if joined.endswith("\\"):
                joined = joined[:-1]
            elif command := _without_remark(joined):
                yield Step(line + n, command)
                joined = ""
            else:
                joined = ""
        return
    for n, text in enumerate(block):
        if text.startswith("$ "):
            rest = block[n + 1 :]
            shown = next((m for m, each in enumerate(rest) if each.startswith("$ ")), len(rest))
            output = "\n".join(rest[:shown]).rstrip()
            yield Step(line + n, _without_remark(text[2:]), output or None)


def _without_remark(command: str) -> str:
    return re.sub(r"(^|\s+)#\s.*$", "", command).strip()


def in_passing(page: Path) -> list[str]:
    """Commands named within a sentence, between backticks."""
    text = re.sub(r"(?ms)^ *```.*?^ *```", "", page.read_text("utf-8"))
    # "tallyhand plan: ..." is what the program answers, not a command.
    found = re.findall(r"`((?:tallyhand(?! [^ `]*:)|python -m|bash) [^`]+)`", text)
    return sorted(
        {" ".join(each.split()) for each in found} - {"tallyhand journal"}
    )  # a hash's text
