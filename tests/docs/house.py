"""Draws the house from its imports, and the session from its table: `python -m tests.docs.house`.

Graphviz lays them out. Rooms are packages, and the modules at the top of `assistant`; an arrow goes
from who imports to what is imported, also inside functions. Arrows that only shorten a way that
is drawn already are left out (`tred`).
"""

from __future__ import annotations

import ast
import subprocess
from collections.abc import Iterator
from pathlib import Path

from assistant.tools import diagram
from tests.commands import ROOT

PICTURE = ROOT / "docs" / "pictures" / "house.svg"
SESSION = ROOT / "docs" / "pictures" / "session.svg"

# Which room a module at the top of `assistant` stands in; packages are rooms of their own.
ROOMS: dict[str, tuple[str, ...]] = {
    "commands": ("__main__", "argument_parser", "options", "page_options", "progress"),
    "session": ("session", "bench", "rehearsal", "sight"),
    "engine": ("engine", "transitions", "state", "wording", "diagram"),
    "facts and ports": ("events", "phases", "phrases", "programme", "spoken", "ports", "view"),
    "journal": (
        "journal", "journal_fault", "journal_reading", "journal_upgrade", "chain", "witness",
        "write_ahead",
    ),
    "the job": ("job_file", "compile_job", "job_sheet", "job_time", "set_up_steps"),
}  # fmt: skip
_ROOM_OF = {module: room for room, modules in ROOMS.items() for module in modules}
_WITH = {"setup": "commands"}  # a package that is drawn as part of another room
_LEARNS = ("training", "train", "adapting", "lesson")  # makes an ear, and is not needed to hear
_SIZES = ("measuring", "shapes", "units")  # facts, whatever the kind of work
SHARED = "small helpers"  # text, places, settings: used from everywhere, and drawn as no room


def room_of(name: str) -> str:
    """The room of a dotted module name."""
    parts = name.split(".")
    if parts[0] == "solver":
        return "solver"
    if len(parts) == 1:
        return SHARED
    if parts[1] in ("hearing", "devices") and parts[2:3] and parts[2] in _LEARNS:
        return "training"
    if parts[1:2] == ["work"] and parts[2:3] and parts[2] in _SIZES:
        return "facts and ports"
    packaged = (ROOT / "assistant" / parts[1]).is_dir()
    return _WITH.get(parts[1], parts[1]) if packaged else _ROOM_OF.get(parts[1], SHARED)


def modules() -> Iterator[tuple[str, Path]]:
    for package in ("solver", "assistant"):
        for file in sorted((ROOT / package).rglob("*.py")):
            name = ".".join(file.relative_to(ROOT).with_suffix("").parts)
            yield name.removesuffix(".__init__"), file


def arrows() -> set[tuple[str, str]]:
    """Which room imports from which."""
    known = dict(modules())
    found = set()
    for name, file in known.items():
        for other in _imported(file):
            target = other if other in known else other.rpartition(".")[0]
            if target in known and target != "assistant":
                found.add((room_of(name), room_of(target)))
    return {(one, two) for one, two in found if one != two and SHARED not in (one, two)}


def _imported(file: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(file.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            for alias in node.names:
                yield f"{node.module}.{alias.name}"


def counted() -> dict[str, int]:
    """How many modules each room has."""
    rooms: dict[str, int] = {}
    for name, _ in modules():
        rooms[room_of(name)] = rooms.get(room_of(name), 0) + 1
    return {room: count for room, count in sorted(rooms.items()) if room != SHARED}


def dot() -> str:
    """The drawing as Graphviz reads it."""
    lines = [
        "digraph house {",
        '  graph [rankdir=TB, nodesep=0.35, ranksep=0.55, bgcolor="white"];',
        '  node [shape=box, style=filled, fillcolor="#f2efe6", color="#4b4438", fontname="DejaVu '
        'Sans", fontsize=12];',
        '  edge [color="#4b4438", arrowsize=0.7];',
    ]
    lines += [
        f'  "{room}" [label="{room}\\n{count} modules"];' for room, count in counted().items()
    ]
    lines += [f'  "{one}" -> "{two}";' for one, two in sorted(arrows())]
    return "\n".join([*lines, "}"]) + "\n"


def drawn(source: str) -> str:
    """Graphviz' SVG of a drawing."""
    return _run("dot", "-Tsvg", source=source)


def reduced(source: str) -> str:
    """The drawing without arrows that only shorten a way that is drawn already."""
    return _run("tred", source=source)


def _run(*words: str, source: str) -> str:
    return subprocess.run(words, input=source, capture_output=True, text=True, check=True).stdout


if __name__ == "__main__":
    PICTURE.write_text(drawn(reduced(dot())), "utf-8")
    SESSION.write_text(drawn(diagram.dot()), "utf-8")
