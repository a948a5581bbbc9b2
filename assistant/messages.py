"""Writes the page of messages from the code: `python -m assistant.messages docs/messages.md`.

What a session says and shows comes from the catalogue of sentences (Babel); refusals, errors
and the doctor's findings from the calls that raise or print them; what a line is put together
from, from the texts in the code of three words or more that are neither its own nor markup.
"""

from __future__ import annotations

import ast
import re
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
_BELIEFS = {"AssertionError", "AttributeError"}
_HELP = {"Parser", "add_argument", "add_option"}
# Files whose texts are shapes, sounds, phrases to learn from, or pages for those who work on it.
_NO_WORDS = (
    "devices/digits.py", "hearing/phrase_check.py", "hearing/sounds.py", "hearing/training/",
    "hearing/spoken_numbers.py", "diagram.py", "messages.py", "catalogue.py", "phrases.py",
)  # fmt: skip
_PRINTED = (
    "sheet/", "report/", "table_page.py", "table_rows.py", "wall_page.py", "page.py",
    "job_sheet.py", "plan_text.py", "error_text.py", "solver/ranking.py", "solver/errors.py",
    "work/", "commands/plan.py", "commands/plan_rings.py",
)  # fmt: skip
_MARKUP = re.compile(
    r"[<>\\]|^(?:SELECT|INSERT|UPDATE|DELETE|CREATE|ALTER|PRAGMA|BEGIN)\b|^event: |^[.:#]|#JSGF"
    r"|\(utt\.|^[^a-z]*$"
)
_HEAD = """# Messages

Every sentence that the program can say or print, gathered from its code by
`python -m assistant.messages docs/messages.md`. What stands in {braces} is filled in.
Sentences that are said or shown in a session exist in German too (language-de.md); the command
line speaks English. Under "parts of" stands what longer lines are put together from.
"""


def page() -> str:
    """The whole page; the same code gives the same page."""
    said, shown = _session()
    errors, findings, printed = _called(_ERRORS), _called(_DOCTOR), _called({"print"})
    usage = _called(_HELP)
    rest = _rest({**said, **shown, **errors, **findings, **printed, **usage})
    setup = _of({**errors, **rest}, ("setup/", "devices/lesson.py", "devices/learn.py"))
    errors = {text: file for text, file in errors.items() if text not in setup}
    papers = _of(rest, _PRINTED)
    others = {text: file for text, file in rest.items() if text not in {**setup, **papers}}
    parts = [
        _HEAD,
        _section("Spoken in a session", said),
        _section("Shown in a session: terminal, bench page, first lines", shown),
        _section("Asked and told by tallyhand setup and voice, spoken too", setup),
        _section("Refusals and errors of the command line", errors),
        _section("Findings of tallyhand doctor", findings),
        _section("Other lines that commands print", printed),
        _section("Parts of plans, tables, sheets and reports", papers),
        _section("Parts of errors, findings and other lines", others),
        _section("Help of the commands", usage),
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
    for name, tree in _modules():
        for text in _texts(tree, names):
            found.setdefault(text, name)
    return found


def _modules() -> Iterator[tuple[str, ast.AST]]:
    for folder in (ROOT, ROOT.parent / "solver"):
        for file in sorted(folder.rglob("*.py")):
            name = file.relative_to(ROOT.parent).as_posix().removeprefix("assistant/")
            yield name, ast.parse(file.read_text("utf-8"))


def _texts(tree: ast.AST, names: set[str]) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and _name(node.func) in names:
            for argument in [*node.args, *(each.value for each in node.keywords)]:
                text = " ".join(_text(argument).split())
                # A key, a path or one word is no sentence.
                if text.count(" ") >= 2:
                    yield text


def _of(found: dict[str, str], places: tuple[str, ...]) -> dict[str, str]:
    return {text: file for text, file in found.items() if file.startswith(places)}


def _rest(before: dict[str, str]) -> dict[str, str]:
    """Sentence to file: every other text of three words or more that a person may read."""
    found: dict[str, str] = {}
    known = {part for text in before for part in text.split(" | ")}
    for name, tree in _modules():
        if not name.startswith(_NO_WORDS):
            for text in _free(tree):
                if text not in known:
                    found.setdefault(text, name)
    return found


def _free(tree: ast.AST) -> Iterator[str]:
    """Texts that are no docstring, no part of a longer text, no markup and no belief of ours."""
    passed = set[int]()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            passed.add(id(node.value))
        elif isinstance(node, ast.JoinedStr):
            passed |= {id(part) for part in ast.walk(node) if part is not node}
        elif isinstance(node, ast.Call) and _name(node.func) in _BELIEFS:
            passed |= {id(part) for part in ast.walk(node)}
    for node in ast.walk(tree):
        if id(node) not in passed and isinstance(node, ast.Constant | ast.JoinedStr):
            text = " ".join(_text(node).split())
            if text.count(" ") >= 2 and _is_language(re.sub(r"\{[^{}]*\}", "", text)):
                yield text


def _is_language(text: str) -> bool:
    return len(re.findall("[a-z]{2,}", text)) >= 2 and not _MARKUP.search(text)


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
