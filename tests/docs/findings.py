"""Makes docs/troubleshooting.md from the source of doctor's checks.

`python -m tests.docs.findings` writes it. Every sentence that `tallyhand doctor` can find wrong
is read from the code that says it; what it means is written in meanings.toml. A sentence without
a meaning, or a meaning without a sentence, stops it.
"""

from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from tests.commands import ROOT

PAGE = ROOT / "docs" / "troubleshooting.md"
MEANINGS = ROOT / "tests" / "docs" / "meanings.toml"
HOUSE = ROOT / "assistant"
Known = dict[str, ast.expr]
SLOT = "…"  # stands for what differs from case to case

# Which part a file's sentences are about; those of checks.py name it themselves.
PARTS = {
    "setup/checks.py": "",
    "devices/sound/streams.py": "microphone and speaker",
    "devices/sound/microphone.py": "microphone",
    "devices/speech/synth.py": "speaker",
    "hearing/opening.py": "recogniser",
    "hearing/recognisers/trained.py": "recogniser",
    "hearing/recognisers/grammar.py": "recogniser",
    "hearing/recognisers/vosk.py": "recogniser",
    "devices/pedal/evdev.py": "pedal",
    "devices/pedal/x11.py": "pedal",
    "devices/pedal/screen_keys.py": "pedal",
    "devices/pedal/binding.py": "pedal",
}
ORDER = ("microphone and speaker", "microphone", "speaker", "recogniser", "pedal", "paper")
_RAISED = {"EarUnusable", "NoSoundError", "NoSuchDevice", "SynthError"}
_WITH_CURE = {"Reason", "Refusal"}
_TOLD = {"lost", "fails", "checked_samples"}
# Functions whose strings are reasons, and names that hold one.
_REASONS = {
    "unreadable",
    "open_bound",
    "listen_keys",
    "_pedal_away",
    "_reason",
    "unknown",
    "_words",
}
_NAMES = {"why", "notes"}


@dataclass(frozen=True)
class Sentence:
    """What is found, with SLOT for what differs, and the cure that stands beside it in the code."""

    part: str
    what: str
    cure: str = ""


# --- read from the source -------------------------------------------------------------------


@cache
def sentences() -> tuple[Sentence, ...]:
    """Every sentence of every file, once, in the order of the parts."""
    found = dict.fromkeys(each for name, part in PARTS.items() for each in read(name, part))
    return tuple(sorted(found, key=lambda each: ORDER.index(each.part)))


def read(name: str, part: str) -> Iterator[Sentence]:
    tree = ast.parse((HOUSE / name).read_text("utf-8"))
    for function in (node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)):
        if name == "setup/checks.py":
            yield from _findings(function)
        for what, cure in _reasons(function):
            if what.strip(f"{SLOT} "):
                yield Sentence(part or _part_of(function), what, "" if cure == SLOT else cure)


def _part_of(function: ast.FunctionDef) -> str:
    return "pedal" if "pedal" in function.name else "speaker"


def _findings(function: ast.FunctionDef) -> Iterator[Sentence]:
    """The Finding(part, ok, what, cure) of a check that are not `ok`."""
    for node in ast.walk(function):
        if not (isinstance(node, ast.Call) and isinstance(node.func, ast.Name)):
            continue
        known = _assigned(function, node.lineno)
        if node.func.id != "Finding" or _is_true(node.args[1]):
            continue
        part = ast.literal_eval(node.args[0])
        cures = _texts(node.args[3], known) if len(node.args) > 3 else []
        for what in _texts(node.args[2], known):
            if what.strip(f"{SLOT} ") and not (len(node.args) > 3 and what in _good(function)):
                yield Sentence(part, what, next((cure for cure in cures if cure != SLOT), ""))


def _good(function: ast.FunctionDef) -> set[str]:
    """What a check says of a part that is well."""
    return {"key … of …"} if function.name == "check_pedal" else set()


def _is_true(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and node.value is True


def _assigned(function: ast.FunctionDef, before: int) -> Known:
    """Local names that are given a value: the last one before that line."""
    found = [node for node in ast.walk(function) if isinstance(node, ast.Assign)]
    pairs: Known = {}
    for node in sorted(found, key=lambda each: each.lineno):
        if node.lineno < before:
            pairs |= dict(_pairs(node.targets[0], node.value))
    return pairs


def _pairs(target: ast.expr, value: ast.expr) -> Iterator[tuple[str, ast.expr]]:
    if isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple):
        for one, it in zip(target.elts, value.elts, strict=True):
            yield from _pairs(one, it)
    elif isinstance(target, ast.Name):
        yield target.id, value


def _reasons(function: ast.FunctionDef) -> Iterator[tuple[str, str]]:
    """Sentences that are raised, told of a device, or returned as the reason, and their cures."""
    for node in ast.walk(function):
        known = _assigned(function, getattr(node, "lineno", 0))
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call):
            if _name(node.exc.func) in _RAISED and node.exc.args:
                cures = [_texts(each, known)[0] for each in node.exc.args[1:]]
                whats = _texts(node.exc.args[0], known)
                yield from ((what, cures[0] if cures else "") for what in whats)
        elif isinstance(node, ast.Call) and _name(node.func) in _TOLD and node.args:
            yield from _alone(node.args[-1], known)
        elif isinstance(node, ast.Return) and node.value and function.name in _REASONS:
            last = node.value.elts[-1] if _filled(node.value) else node.value
            yield from _alone(last, known)
        elif isinstance(node, ast.Assign) and _name(node.targets[0]) in _NAMES:
            yield from _alone(node.value, known)
        elif isinstance(node, ast.Return) and _name_returned(node) in _WITH_CURE:
            assert isinstance(node.value, ast.Call)
            yield from _alone(node.value, known)


def _alone(node: ast.expr, known: Known) -> Iterator[tuple[str, str]]:
    """A reason as a device tells it: a text without a cure, or a `Reason` that has one."""
    match node:
        case ast.Call(args=args) if _name(node.func) in _WITH_CURE:
            cure = _texts(args[1], known)[0] if args[1:] else ""
            yield from ((what, cure) for what in _texts(args[0], known))
        case ast.BoolOp(values=values):
            for value in values:
                yield from _alone(value, known)
        case ast.Name(id=name) if name in known:
            yield from _alone(known[name], {k: v for k, v in known.items() if k != name})
        case _:
            yield from ((what, "") for what in _texts(node, known))


def _filled(node: ast.expr) -> bool:
    return isinstance(node, ast.Tuple) and bool(node.elts)


def _name_returned(node: ast.Return) -> str:
    return _name(node.value.func) if isinstance(node.value, ast.Call) else ""


def _name(node: ast.expr) -> str:
    if isinstance(node, ast.Attribute):
        return node.attr
    return node.id if isinstance(node, ast.Name) else ""


def _texts(node: ast.expr, known: Known) -> list[str]:
    """The texts that an expression can be, SLOT for what only a run can tell."""
    match node:
        case ast.Constant(value=str(text)):
            return [text]
        case ast.JoinedStr(values=values):
            return ["".join(_texts(value, known)[0] for value in values)]
        case ast.FormattedValue(value=ast.Name(id=name)) if name in known:
            inner = _texts(known[name], {k: v for k, v in known.items() if k != name})
            return [inner[0] if inner else SLOT]
        case ast.Name(id=name) if name in known:
            return _texts(known[name], {k: v for k, v in known.items() if k != name})
        case ast.BoolOp(values=values):
            return [text for value in values for text in _texts(value, known)]
        case ast.IfExp(body=body, orelse=orelse):
            return [*_texts(body, known), *_texts(orelse, known)]
        case ast.Call(func=ast.Name(id="tuple"), args=[ast.GeneratorExp(elt=each)]):
            return _texts(each, known)
        case _:
            return [SLOT]


# --- the page ----------------------------------------------------------------------------------

HEAD = """# Troubleshooting

Made from the source of `tallyhand doctor` by `python -m tests.docs.findings`; a test holds the
two together.

`tallyhand doctor` looks at each part once and prints a line for it: `ok` where it can be used,
`NOT` where it can't, and the cure below. Its exit code is 0 when all is well, 1 when something is
not; `--json` gives the same to programs. During a session the same sentences are said of a device
that goes, and the session goes on with what is left: the keyboard's Enter answers every question.

Look below for the sentence that it prints; … stands for what differs from case to case. When the
trouble is a journal, see [the journal](journal.md#when-the-journal-is-refused); when it is a job
file, the message names its line and what would do, and [the job file](job-file.md) has the keys.
"""
_CODE = re.compile(r"tallyhand doctor --learn-pedal|\[\w+\] \w+( = \"\w+\")?")
_NO_CURE = "there are:"  # the names to choose from
ELSE = {
    "microphone and speaker": "Plug it in, or put a part of its name into `[sound]`.",
    "microphone": "Plug one in, or put a part of its name into `[sound] microphone`.",
    "speaker": "Plug one in, or put a part of its name into `[sound] speaker`.",
    "recogniser": "Use the pedal for these.",
    "pedal": "Plug it in and run `tallyhand doctor --learn-pedal`.",
}


def meanings() -> dict[tuple[str, str], tuple[str, str]]:
    """(part, sentence): what it means, and what to do where the code names no cure."""
    rows = tomllib.loads(MEANINGS.read_text("utf-8"))["finding"]
    return {(row["part"], row["what"]): (row["means"], row.get("do", "")) for row in rows}


def unexplained() -> list[str]:
    """What is said and not explained, or explained and not said."""
    said = {(each.part, each.what) for each in sentences()}
    known = set(meanings())
    missing = [f"no meaning for {pair} in {MEANINGS.name}" for pair in sorted(said - known)]
    return missing + [f"nothing says {pair} any more" for pair in sorted(known - said)]


def page() -> str:
    """The whole page."""
    known = meanings()
    lines = [HEAD]
    for part in ORDER:
        lines += [f"## {part[0].upper()}{part[1:]}", ""]
        for each in (each for each in sentences() if each.part == part):
            lines += _entry(each, *known[each.part, each.what])
    return "\n".join(lines).rstrip() + "\n"


def _entry(sentence: Sentence, means: str, do: str) -> list[str]:
    own = "" if sentence.cure.startswith(_NO_CURE) else _CODE.sub(r"`\g<0>`", sentence.cure)
    cure = f"{own[:1].upper()}{own[1:]}{'' if own.endswith('?') else '.'}" if own else ""
    cure = f"{cure} {do}".strip() or ELSE[sentence.part]
    return [f"### {sentence.what}", "", means, "", f"**Cure:** {cure}", ""]


def main() -> None:
    if found := unexplained():
        raise SystemExit("\n".join(found))
    PAGE.write_text(page(), "utf-8")


if __name__ == "__main__":
    main()
