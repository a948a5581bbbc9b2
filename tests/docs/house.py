"""The house as its folders and imports make it, drawn and counted: `python -m tests.docs.house`.

A room is what lies directly in `assistant/`: a folder, or a file by itself; `solver/` is one more.
An arrow goes from the room that imports to the one that is imported, imports in functions included.
A room stands one floor above the highest that it imports from. The same is reckoned inside every
folder. Graphviz lays the drawing out; arrows that only shorten a way that is drawn already are left
out of it (`tred`).
"""

from __future__ import annotations

import ast
import subprocess
from collections.abc import Iterator
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

from assistant.tools import diagram
from tests.commands import ROOT

PICTURE = ROOT / "docs" / "pictures" / "house.svg"
SESSION = ROOT / "docs" / "pictures" / "session.svg"
PAGE = ROOT / "docs" / "house.md"
BEGIN, END = "<!-- made by tests.docs.house -->", "<!-- so far -->"

Rooms = dict[str, set[str]]
"""Each room, and the rooms that it imports from."""


@cache
def modules(root: Path = ROOT) -> dict[str, Path]:
    """Dotted name and file of every module of the program; a package by its own name."""
    found = {}
    for package in ("assistant", "solver"):
        for file in sorted((root / package).rglob("*.py")):
            name = ".".join(file.relative_to(root).with_suffix("").parts)
            found[name.removesuffix(".__init__")] = file
    return found


@cache
def imports(root: Path = ROOT) -> Rooms:
    """Each module, and the modules of the program that it imports, also inside functions."""
    known = modules(root)
    found = {}
    for name, file in known.items():
        names = {module_of(other, known) for other in imported(file)}
        found[name] = {other for other in names if other} - {name}
    return found


def imported(file: Path) -> Iterator[str]:
    """Every dotted name that a file imports; of `from a import b` it is a.b."""
    for node in ast.walk(ast.parse(file.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0 and node.module, f"{file}: relative import"
            for alias in node.names:
                yield f"{node.module}.{alias.name}"


def module_of(name: str, known: dict[str, Path]) -> str:
    """The module that a dotted name stands in, or "" for one of another program."""
    while name and name not in known:
        name = name.rpartition(".")[0]
    return name


def folders(root: Path = ROOT) -> list[str]:
    """The dotted name of every folder of the program."""
    return [name for name, file in modules(root).items() if file.name == "__init__.py"]


def rooms(folder: str, root: Path = ROOT) -> Rooms:
    """What lies directly in a folder, and which of it imports from which."""
    found: Rooms = {}
    for name, others in imports(root).items():
        here = _room(name, folder)
        if here:
            there = {_room(other, folder) for other in others}
            found[here] = found.get(here, set()) | there - {here, ""}
    return found


def _room(module: str, folder: str) -> str:
    """The part of a folder that a module lies in, or "" for one that lies elsewhere."""
    if folder == "assistant" and f"{module}.".startswith("solver."):
        return "solver"
    inside = module.removeprefix(f"{folder}.")
    return inside.split(".")[0] if inside != module else ""


def floors(graph: Rooms) -> dict[str, int]:
    """The floor of each room, the lowest 1. Raises graphlib.CycleError for a circle."""
    found: dict[str, int] = {}
    for room in TopologicalSorter(graph).static_order():
        found[room] = 1 + max((found[other] for other in graph.get(room, ())), default=0)
    return found


def circles(graph: Rooms) -> list[set[str]]:
    """Rooms that reach each other, as sets of two or more."""
    reach = {room: reachable(graph, room) for room in graph}
    found: list[set[str]] = []
    for room in graph:
        ring = {other for other in reach[room] if room in reach[other]}
        if ring and ring not in found:
            found.append(ring)
    return found


def reachable(graph: Rooms, room: str) -> set[str]:
    found: set[str] = set()
    waiting = set(graph[room])
    while waiting:
        found.add(other := waiting.pop())
        waiting |= graph.get(other, set()) - found
    return found


def reached(folder: str) -> set[str]:
    """Every module that a folder's modules import, directly or by others; themselves included."""
    graph = imports()
    own = {name for name in graph if name == folder or name.startswith(f"{folder}.")}
    return own.union(*(reachable(graph, name) for name in own))


def counted(root: Path = ROOT) -> str:
    """Rooms, floors, arrows and circles at the top, as a row of the page's table."""
    graph = rooms("assistant", root)
    rings = circles(graph)
    # A circle has no floor: its rooms are taken as one for the count.
    whole = {room: f"ring {n}" for n, ring in enumerate(rings) for room in ring}
    merged: Rooms = {}
    for room, others in graph.items():
        name = whole.get(room, room)
        merged[name] = merged.get(name, set()) | {whole.get(each, each) for each in others} - {name}
    height = max(floors(merged).values())
    arrows = sum(map(len, graph.values()))
    return f"{len(graph)} | {height} | {arrows} | {len(rings)}"


def listed() -> str:
    """The floors of the house from the top down, for the page."""
    graph = rooms("assistant")
    stands = floors(graph)
    lines = ["| floor | rooms | import from |", "|---|---|---|"]
    for floor in sorted(set(stands.values()), reverse=True):
        here = sorted(room for room in graph if stands[room] == floor)
        below = sorted(set().union(*(graph[room] for room in here)), key=lambda r: (-stands[r], r))
        lines.append(f"| {floor} | {_code(here)} | {_code(below)} |")
    return "\n".join([*lines, "", f"Rooms, floors, arrows, circles: {counted()}"])


def _code(names: list[str]) -> str:
    return ", ".join(f"`{name}`" for name in names) or "–"


def page() -> str:
    """The page of the house with what is made from the folders put in."""
    text = PAGE.read_text("utf-8")
    before, _, rest = text.partition(BEGIN)
    return f"{before}{BEGIN}\n\n{listed()}\n\n{END}{rest.partition(END)[2]}"


def dot() -> str:
    """The drawing as Graphviz reads it."""
    graph = rooms("assistant")
    lines = [
        "digraph house {",
        '  graph [rankdir=TB, nodesep=0.35, ranksep=0.55, bgcolor="white"];',
        '  node [shape=box, style=filled, fillcolor="#f2efe6", color="#4b4438", fontname="DejaVu '
        'Sans", fontsize=12];',
        '  edge [color="#4b4438", arrowsize=0.7];',
    ]
    lines += [f'  "{room}";' for room in sorted(graph)]
    stands = floors(graph)
    for floor in sorted(set(stands.values())):
        here = "; ".join(f'"{room}"' for room in sorted(graph) if stands[room] == floor)
        lines.append(f"  {{ rank=same; {here}; }}")
    lines += [f'  "{one}" -> "{two}";' for one in sorted(graph) for two in sorted(graph[one])]
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
    PAGE.write_text(page(), "utf-8")
    PICTURE.write_text(drawn(reduced(dot())), "utf-8")
    SESSION.write_text(drawn(diagram.dot()), "utf-8")
