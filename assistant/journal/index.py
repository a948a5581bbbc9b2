"""The jobs of a data folder in a line each, without reading every journal anew.

What was found in a journal is kept in a file beside the journals, together with the sizes and
times of its files; it counts only while those are the same. It may be thrown away at any time,
and is made again from the journals. It is a table of contents and proves nothing: of a journal
only the ends are held against their hashes. `log verify`, `log JOB`, `resume` and `report` read
all of it.
"""

from __future__ import annotations

import json
import os
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assistant import __version__
from assistant.journal import witness
from assistant.journal.fault import JournalFault, cannot
from assistant.journal.names import ENDING, VERSION

if TYPE_CHECKING:
    from assistant.journal.reading import Standing

NAME = "contents.json"
_FORMAT = 4


@dataclass(frozen=True, slots=True)
class Listed:
    """One journal. Where `fault` is not empty nothing else is known but the name."""

    name: str
    title: str = ""
    started: str = ""
    cuts: int = 0
    done: int = 0
    cut: int = 0  # being worked on
    phase: str = ""
    finished: bool = False
    turn: int = 0
    last_at: float = 0.0
    fault: str = ""
    record: int | None = None  # the first that does not fit, where the fault knows it
    head: str = ""
    part: str = ""  # number of the part, of the drawing: as the job file gives them
    drawing: str = ""
    operator: str = ""
    machine: str = ""
    scrapped: bool = False
    batch: int = 1  # parts that are made one after the other
    in_hand: int = 1  # the part of the batch that is worked on
    given_up: int = 0  # parts of the batch

    @property
    def identity(self) -> str:
        """What stands for it on a command line: the part of its name that no other has."""
        pieces = Path(self.name).stem.split("-")
        return pieces[1] if len(pieces) > 3 and pieces[1].isdigit() else Path(self.name).stem

    @property
    def last_worked(self) -> tuple[int, float]:
        """Greatest for the job worked on last, whatever the clock did between."""
        return self.turn, self.last_at


def listing(folder: Path) -> list[Listed]:
    """Every journal of the folder, oldest first. Raises JournalFault where the folder itself
    can't be read; a journal that can't has its fault in its line."""
    kept = _kept(folder)
    found: dict[str, dict[str, Any]] = {}
    listed = []
    anew = False
    there = _names_in(folder)
    for name in sorted(name for name in there if name.endswith(ENDING)):
        marks = _marks(str(folder), name, there)
        row = kept.get(name)
        each = _listed(row) if row and row.get("marks") == marks else None
        if each is None or row is None:
            anew, each = True, _look(folder / name)
            row = {"marks": marks, **{field: getattr(each, field) for field in Listed.__slots__}}
        found[name] = row
        listed.append(each)
    if anew or len(found) != len(kept):
        _keep(folder, found)
    return listed


def _names_in(folder: Path) -> set[str]:
    """Every file's name, read once: what is not there need not be asked for one by one."""
    try:
        with os.scandir(folder) as entries:
            return {entry.name for entry in entries}
    except FileNotFoundError:
        return set()
    except OSError as error:
        raise cannot("read the data folder", folder, error) from error


def _look(path: Path) -> Listed:
    from assistant.journal.reading import ends  # the engine is not needed for what is kept

    try:
        return _line(ends(path))
    except JournalFault as fault:
        return Listed(path.name, fault=str(fault), record=fault.record)


def _line(found: Standing) -> Listed:
    from assistant.engine.phases import Step, phase_of

    state, job = found.state, found.programme
    turn, last_at = found.last_worked
    names = _names(found.about.get("job", ""))
    return Listed(
        name=found.path.name,
        title=job.title,
        started=found.about.get("started", ""),
        cuts=job.stage(state.stage).cuts,
        done=state.made(job.stage(state.stage)),
        cut=state.cut(job.stage(state.stage)),
        phase=phase_of(state.step).value,
        finished=state.step is Step.FINISHED,
        turn=turn,
        last_at=last_at,
        head=job.head,
        part=names.get("part", ""),
        drawing=names.get("drawing", ""),
        operator=found.about.get("operator", ""),
        machine=names.get("machine", "") or found.about.get("machine", ""),
        scrapped=state.scrapped,
        batch=job.parts,
        in_hand=state.part,
        given_up=len(state.scraps),
    )


def _names(text: str) -> dict[str, str]:
    """Numbers of part and drawing, and the machine, as far as the job's text gives them."""
    import tomllib

    try:
        top = tomllib.loads(text)
    except (ValueError, RecursionError):
        return {}
    machine = top.get("machine")
    found = {"part": top.get("part"), "drawing": top.get("drawing")}
    found["machine"] = machine.get("name") if isinstance(machine, dict) else None
    return {key: value for key, value in found.items() if isinstance(value, str)}


def _marks(folder: str, name: str, there: set[str]) -> list[list[int]]:
    """Sizes and times of all that a look at the journal rests on; []: no such file."""
    files = (name, f"{name}-wal", f"{name}{witness.ENDING}")
    return [_mark(f"{folder}{os.sep}{file}") if file in there else [] for file in files]


def _mark(file: str) -> list[int]:
    try:
        stat = os.stat(file)  # noqa: PTH116  # of ten thousand journals, three times each
    except OSError:
        return []
    return [stat.st_mtime_ns, stat.st_size, stat.st_ino]


def _kept(folder: Path) -> dict[str, dict[str, Any]]:
    """What was kept, by file name; nothing where it is of another program, or no such file."""
    try:
        record = json.loads((folder / NAME).read_bytes())
        if record["made_by"] != _made_by():
            return {}
        return {str(name): dict(row) for name, row in record["journals"].items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return {}


def _listed(row: dict[str, Any]) -> Listed | None:
    try:
        return Listed(**{name: value for name, value in row.items() if name != "marks"})
    except TypeError:
        return None


def _made_by() -> list[object]:
    return [_FORMAT, VERSION, __version__]


def _keep(folder: Path, found: dict[str, dict[str, Any]]) -> None:
    """Whole or not at all, and not at all where the folder can't be written."""
    fresh = folder / f"{NAME}.{os.getpid()}.new"
    try:
        handle = os.open(fresh, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(json.dumps({"made_by": _made_by(), "journals": found}))
        fresh.replace(folder / NAME)
    except (OSError, ValueError):
        with suppress(OSError):
            fresh.unlink()
