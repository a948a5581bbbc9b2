"""Writes the page of messages from the code: `python -m assistant.messages docs/messages.md`.

What a session says and shows comes from the catalogue of sentences (Babel); refusals, errors
and the doctor's findings from the calls that raise or print them.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

from assistant.catalogue import ROOT, sentences

_SPOKEN = ("wording.py", "set_up_steps.py", "work/", "language.py", "spoken.py")
_ERRORS = {
    "Refusal", "WrongUse", "Refused", "JournalFault", "EarUnusable", "SynthError", "NoSoundError",
    "FormatFault", "complain", "refuse", "warn", "fault", "faults", "tell",
}  # fmt: skip
_DOCTOR = {"Finding"}
_HEAD = """# Messages

Every sentence that the program can say or print, gathered from its code by
`python -m assistant.messages docs/messages.md`. What stands in {braces} is filled in.
Sentences that are said or shown in a session exist in German too (language-de.md); the command
line speaks English.
"""


def page() -> str:
    """The whole page; the same code gives the same page."""
    said, shown = _session()
    parts = [
        _HEAD,
        _section("Spoken in a session", said),
        _section("Shown in a session: terminal, bench page, first lines", shown),
        _section("Refusals and errors of the command line", _called(_ERRORS)),
        _section("Findings of tallyhand doctor", _called(_DOCTOR)),
        _section("Other lines that commands print", _called({"print"})),
    ]
    return "\n".join(parts)


def _session() -> tuple[dict[str, str], dict[str, str]]:
    """Sentence to file: what a session says, and what it shows besides."""
    said: dict[str, str] = {}
    shown: dict[str, str] = {}
    for file, _, text in sentences():
        name = file.removeprefix("assistant/")
        words = text if isinstance(text, str) else " | ".join(text)
        (said if name.startswith(_SPOKEN) else shown).setdefault(words, name)
    return said, {words: name for words, name in shown.items() if words not in said}


def _called(names: set[str]) -> dict[str, str]:
    """Sentence to file, from the calls of these names in the program and the solver."""
    found: dict[str, str] = {}
    for folder in (ROOT, ROOT.parent / "solver"):
        for file in sorted(folder.rglob("*.py")):
            name = file.relative_to(ROOT.parent).as_posix().removeprefix("assistant/")
            for text in _texts(ast.parse(file.read_text("utf-8")), names):
                found.setdefault(text, name)
    return found


def _texts(tree: ast.AST, names: set[str]) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and _name(node.func) in names:
            for argument in node.args:
                text = " ".join(_text(argument).split())
                # A key, a path or one word is no sentence.
                if text.count(" ") >= 2:
                    yield text


def _name(function: ast.expr) -> str:
    if isinstance(function, ast.Attribute):
        return function.attr
    return function.id if isinstance(function, ast.Name) else ""


def _text(node: ast.expr) -> str:
    """A literal with its braces; "" for anything that is none."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(
            str(part.value) if isinstance(part, ast.Constant) else "{" + _short(part) + "}"
            for part in node.values
        )
    return ""


def _short(part: ast.expr) -> str:
    """What is filled in, by the last name in its expression."""
    names = [n.attr if isinstance(n, ast.Attribute) else n.id for n in ast.walk(part)
             if isinstance(n, ast.Attribute | ast.Name)]  # fmt: skip
    return names[0] if names else "..."


def _section(title: str, found: dict[str, str]) -> str:
    lines = [f"## {title}", ""]
    for name in sorted(set(found.values())):
        lines += [f"### {name}", ""]
        texts = sorted(text for text, file in found.items() if file == name)
        lines += [f"- {_escaped(text)}" for text in texts]
        lines.append("")
    return "\n".join(lines)


def _escaped(text: str) -> str:
    """As it is, whatever a page's markup would make of it."""
    return f"`` {text} ``" if "`" in text else f"`{text}`"


def main(words: list[str]) -> int:
    Path(words[0]).write_text(page(), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
