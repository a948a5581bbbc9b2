"""Reads a job file and checks it whole: every fault is found, each with its line and cure."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

from assistant.cli import Refusal
from assistant.toml_lines import TomlFault, line_of, parse
from solver import Refused, angle_from_text

MOST_CUTS = 100_000
KINDS = ("divisions", "angles")
_TOP = {"title", "head", "fitted", "work", "session"}
_WORK = {
    "divisions": {"kind", "count", "passes", "depth", "minutes_per_cut"},
    "angles": {"kind", "angles", "angle", "count", "passes", "depth", "minutes_per_cut"},
}
_SESSION = {"scale_every"}
_DEPTH = re.compile(r"^\d+(\.\d+)?\s*(mm|in|thou)$")


@dataclass(frozen=True, slots=True)
class Job:
    """A checked job. Exactly one of `divisions` and `angles` is given."""

    title: str
    head: str
    kind: str
    divisions: int | None
    angles: tuple[Fraction, ...] | None  # turns from the first cut, first one 0
    passes: int
    depth: str
    minutes_per_cut: Fraction | None
    fitted: str | None
    scale_every: int
    text: str
    where: str


class JobFaults(Refusal):
    """The file has faults; `faults` holds a line each, "FILE line N: what: cure"."""

    def __init__(self, faults: list[str]) -> None:
        super().__init__(faults[0] + (f" (and {len(faults) - 1} more)" if faults[1:] else ""))
        self.faults = faults


@dataclass
class _Reader:
    """Collects faults while the values are read."""

    text: str
    where: str
    faults: list[str] = field(default_factory=list)

    def fault(self, table: str, key: str, what: str) -> None:
        line = line_of(self.text, table, key)
        entry = f"{self.where} line {line}: {what}"
        if entry not in self.faults:
            self.faults.append(entry)

    def strangers(self, table: str, data: dict[str, Any], known: set[str]) -> None:
        for key in data:
            if key not in known:
                near = difflib.get_close_matches(key, known, 1)
                cure = f"did you mean {near[0]}?" if near else f"known here: {_listed(known)}"
                self.fault(table, key, f"unknown key {key!r}: {cure}")

    def whole(
        self, table: str, data: dict[str, Any], key: str, least: int, most: int, default: int | None
    ) -> int:
        value = data.get(key, default)
        if value is None:
            self.fault(table, key, f"{key} is missing: give a whole number, {least} to {most}")
        elif isinstance(value, bool) or not isinstance(value, int):
            self.fault(table, key, f"{key} = {value!r}: give a whole number, {least} to {most}")
        elif not least <= value <= most:
            self.fault(table, key, f"{key} = {value}: it must be {least} to {most}")
        else:
            return value
        return least

    def words(self, table: str, data: dict[str, Any], key: str, default: str | None) -> str:
        value = data.get(key, default)
        if isinstance(value, str) and (value.strip() or value == default):
            return value.strip()
        what = "is missing" if value is None else f"= {value!r}"
        self.fault(table, key, f"{key} {what}: give it as text in quotes")
        return ""


def read_job(path: Path) -> Job:
    """The checked job. Raises Refusal for a file that can't be read, JobFaults for its faults."""
    try:
        text = path.read_text("utf-8")
    except FileNotFoundError:
        raise Refusal(f"{path}: no such job file: give the path of a job's TOML file") from None
    except IsADirectoryError:
        raise Refusal(f"{path}: a folder, not a job file: name the TOML file in it") from None
    except UnicodeDecodeError:
        raise Refusal(f"{path}: not UTF-8 text: save the job file as UTF-8") from None
    except OSError as error:
        raise Refusal(f"{path}: can't be read ({error.strerror}): look at its rights") from None
    return job_from_text(text, str(path))


def job_from_text(text: str, where: str) -> Job:
    """The checked job in this text; `where` names it in faults. Raises JobFaults."""
    try:
        data = parse(text)
    except TomlFault as error:
        raise JobFaults([f"{where} line {error.line}: {error}: mend the TOML there"]) from None
    reader = _Reader(text, where)
    job = _job(reader, data)
    if reader.faults:
        raise JobFaults(sorted(reader.faults, key=_line_number))
    return job


def _job(reader: _Reader, data: dict[str, Any]) -> Job:
    reader.strangers("", data, _TOP)
    work = _table(reader, data, "work", needed=True)
    session = _table(reader, data, "session", needed=False)
    reader.strangers("session", session, _SESSION)
    kind = _kind(reader, work)
    divisions, angles = None, None
    if kind == "divisions":
        divisions = reader.whole("work", work, "count", 2, MOST_CUTS, None)
    elif kind == "angles":
        angles = _angles(reader, work)
    return Job(
        title=reader.words("", data, "title", None),
        head=reader.words("", data, "head", None),
        kind=kind,
        divisions=divisions,
        angles=angles,
        passes=reader.whole("work", work, "passes", 1, 20, 1),
        depth=_depth(reader, work),
        minutes_per_cut=_minutes(reader, work),
        fitted=reader.words("", data, "fitted", "") or None,
        scale_every=reader.whole("session", session, "scale_every", 1, MOST_CUTS, 3),
        text=reader.text,
        where=reader.where,
    )


def _table(reader: _Reader, data: dict[str, Any], name: str, *, needed: bool) -> dict[str, Any]:
    value = data.get(name, {})
    if isinstance(value, dict) and (value or not needed):
        return value
    reader.fault("", name, f"[{name}] is missing: add a table [{name}] with its kind")
    return {}


def _kind(reader: _Reader, work: dict[str, Any]) -> str:
    if not work:
        return ""
    kind = reader.words("work", work, "kind", None)
    if kind in KINDS:
        reader.strangers("work", work, _WORK[kind])
        return kind
    if kind:
        reader.fault("work", "kind", f"kind {kind!r} is not known: use {' or '.join(KINDS)}")
    return ""


def _angles(reader: _Reader, work: dict[str, Any]) -> tuple[Fraction, ...] | None:
    if "angles" in work and "angle" in work:
        reader.fault("work", "angle", "angle and angles: give one of the two")
    elif "angles" in work:
        return _angle_list(reader, work["angles"])
    elif "angle" in work:
        return _repeated(reader, work)
    else:
        reader.fault("work", "kind", 'angles are missing: give angles = ["0", "30", "75d30m"]')
    return None


def _repeated(reader: _Reader, work: dict[str, Any]) -> tuple[Fraction, ...] | None:
    step = _angle(reader, "angle", work["angle"])
    count = reader.whole("work", work, "count", 2, MOST_CUTS, None)
    if step is None:
        return None
    if step <= 0 or step * (count - 1) >= 1:
        reader.fault(
            "work", "angle", f"{count} cuts of {work['angle']} pass a full turn: fewer cuts"
        )
        return None
    return tuple(step * n for n in range(count))


def _angle_list(reader: _Reader, value: Any) -> tuple[Fraction, ...] | None:
    if not isinstance(value, list) or len(value) < 2:
        reader.fault("work", "angles", "angles: give a list of two or more, the first one 0")
        return None
    found = [_angle(reader, "angles", each) for each in value]
    angles = [each for each in found if each is not None]
    if len(angles) < len(found):
        return None
    if angles[0] != 0:
        reader.fault("work", "angles", f"angles begin with {value[0]}: the first cut is at 0")
        return None
    for before, after, text in zip(angles, angles[1:], value[1:], strict=False):
        if not before < after < 1:
            reader.fault("work", "angles", f"angle {text}: each must be larger, and under 360")
            return None
    return tuple(angles)


def _angle(reader: _Reader, key: str, value: Any) -> Fraction | None:
    if isinstance(value, bool) or not isinstance(value, str | int):
        reader.fault("work", key, f'angle {value!r}: write it as text, like "8d50m"')
        return None
    try:
        return angle_from_text(str(value))
    except Refused as error:
        reader.fault("work", key, str(error))
        return None


def _depth(reader: _Reader, work: dict[str, Any]) -> str:
    depth = reader.words("work", work, "depth", "")
    if depth and not _DEPTH.match(depth):
        reader.fault("work", "depth", f"depth {depth!r}: write a number and mm, in or thou")
    return depth


def _minutes(reader: _Reader, work: dict[str, Any]) -> Fraction | None:
    value = work.get("minutes_per_cut")
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value <= 600:
        reader.fault("work", "minutes_per_cut", f"minutes_per_cut = {value!r}: over 0, to 600")
        return None
    return Fraction(str(value))


def _listed(known: set[str]) -> str:
    return ", ".join(sorted(known))


def _line_number(fault: str) -> int:
    found = re.search(r" line (\d+): ", fault)
    return int(found.group(1)) if found else 0
