"""Mutants of the engine's and the solver's own code: `python -m tests.mutation [engine|solver]`.

Cosmic Ray changes one place of the code at a time, in a copy of the last commit, and runs the
fast tests of that part. At every place one change is drawn (seeded), and `--places` of the
places; changes in annotations are left out, since nothing reads those while the program runs.
Prints what was killed, and every survivor. Needs `pip install -e .[measure]`.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import subprocess
import sys
import tempfile
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
PYTEST = "-x -q -p no:cacheprovider --hypothesis-seed=0"
TIME_LIMIT_S = 900  # for one mutant: an endless loop is killed by it


@dataclass(frozen=True)
class Part:
    """What is changed, and the tests that ought to notice: the quick ones first."""

    modules: tuple[str, ...]
    tests: str


PARTS = {
    "engine": Part(
        (
            "assistant/engine/engine.py",
            "assistant/engine/transitions.py",
            "assistant/engine/state.py",
        ),
        "tests/engine/test_state.py tests/engine/test_table.py tests/engine/test_words.py "
        "tests/engine/test_every_state.py "
        "tests/engine/test_mutants.py::test_the_table_does_what_the_shop_wants "
        "tests/engine/test_any_order.py",
    ),
    "solver": Part(
        ("solver",),
        "tests/solver/test_published.py tests/solver/test_ranking.py tests/solver/test_text.py "
        "tests/solver/test_proof.py tests/solver/test_errors.py tests/solver/test_heads.py "
        "tests/solver/test_misprints.py tests/solver/test_reference.py "
        "tests/solver/test_commands.py tests/solver/test_properties.py tests/solver/test_reach.py",
    ),
}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, prog="python -m tests.mutation")
    parser.add_argument("part", nargs="*", metavar="PART", help="engine, solver; else both")
    parser.add_argument("--places", type=int, default=120, help="how many of a part (default 120)")
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    for name in given.part or PARTS:
        with tempfile.TemporaryDirectory() as folder:
            _copy(Path(folder))
            _try(name, PARTS[name], Path(folder), given.places, given.seed)


def _copy(folder: Path) -> None:
    archive = subprocess.run(
        ["git", "archive", "HEAD"], cwd=ROOT, check=True, capture_output=True
    ).stdout
    subprocess.run(["tar", "-x", "-C", str(folder)], input=archive, check=True)


def _try(name: str, part: Part, folder: Path, places: int, seed: int) -> None:
    config, session = folder / "mutation.toml", folder / "mutation.sqlite"
    paths = ", ".join(f'"{module}"' for module in part.modules)
    config.write_text(
        f"[cosmic-ray]\nmodule-path = [{paths}]\ntimeout = {TIME_LIMIT_S}\n"
        f'test-command = "{sys.executable} -m pytest {PYTEST} {part.tests}"\n'
        'excluded-modules = []\n[cosmic-ray.distributor]\nname = "local"\n'
    )
    for step in (["init", config, session], ["baseline", config]):
        _cosmic_ray(folder, *step)
    chosen, of = _draw(folder, session, places, seed)
    print(f"{name}: one change at each of {chosen} places, of {of}; seed {seed}", flush=True)
    _cosmic_ray(folder, "exec", config, session)
    _report(name, session)


def _cosmic_ray(folder: Path, *words: str | Path) -> None:
    tool = Path(sys.executable).with_name("cosmic-ray")
    # In its profile for such runs Hypothesis takes no slow machine for a fault: no false kills.
    env = {**os.environ, "CI": "true"}
    subprocess.run([str(tool), *map(str, words)], cwd=folder, env=env, check=True)


def _draw(folder: Path, session: Path, places: int, seed: int) -> tuple[int, int]:
    """Leave one change at each chosen place; all others are put aside. (chosen, places in all)"""
    from cosmic_ray.work_db import WorkDB, use_db
    from cosmic_ray.work_item import WorkerOutcome, WorkResult

    drawn = random.Random(seed)
    with use_db(session, WorkDB.Mode.open) as db:
        at = defaultdict(list)
        for item in sorted(db.work_items, key=_order):
            spec = item.mutations[0]
            if not _in_annotation(folder / spec.module_path, spec.start_pos):
                at[spec.module_path, spec.start_pos, spec.end_pos].append(item.job_id)
        one_each = [drawn.choice(jobs) for jobs in at.values()]
        kept = set(drawn.sample(one_each, min(places, len(one_each))))
        aside = [item.job_id for item in db.work_items if item.job_id not in kept]
        db.set_multiple_results(aside, WorkResult(WorkerOutcome.SKIPPED))
    return len(kept), len(one_each)


def _order(item: Any) -> tuple[Any, ...]:
    spec = item.mutations[0]
    return str(spec.module_path), spec.start_pos, spec.operator_name, str(spec.operator_args)


_annotated: dict[Path, list[tuple[tuple[int, int], tuple[int, int]]]] = {}


def _in_annotation(file: Path, place: tuple[int, int]) -> bool:
    if file not in _annotated:
        found = _annotations(ast.parse(file.read_text("utf-8")))
        _annotated[file] = [
            ((node.lineno, node.col_offset), (node.end_lineno or 0, node.end_col_offset or 0))
            for node in found
        ]
    return any(start <= place < end for start, end in _annotated[file])


def _annotations(tree: ast.AST) -> Iterator[ast.expr]:
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and node.returns:
            yield node.returns
        elif isinstance(node, ast.arg | ast.AnnAssign) and node.annotation:
            yield node.annotation


def _report(name: str, session: Path) -> None:
    from cosmic_ray.work_db import WorkDB, use_db
    from cosmic_ray.work_item import TestOutcome, WorkerOutcome

    killed: Counter[str] = Counter()
    tried: Counter[str] = Counter()
    alive = []
    with use_db(session, WorkDB.Mode.open) as db:
        for item, result in db.completed_work_items:
            if result.worker_outcome is WorkerOutcome.SKIPPED:
                continue
            module = str(item.mutations[0].module_path)
            tried[module] += 1
            killed[module] += result.test_outcome != TestOutcome.SURVIVED
            if result.test_outcome == TestOutcome.SURVIVED:
                alive.append((item.mutations[0], result.diff or ""))
    for spec, diff in alive:
        changed = [line for line in diff.splitlines()[2:] if line.startswith(("-", "+"))]
        print(f"survived {spec.module_path}:{spec.start_pos[0]}", *changed, sep="\n    ")
    for module, times in sorted(tried.items()):
        print(f"{module:30} {killed[module]:4} of {times:4} killed")
    part = killed.total() / max(1, tried.total())
    print(f"{name}: {killed.total()} of {tried.total()} killed, {part:.1%}", flush=True)


if __name__ == "__main__":
    main()
