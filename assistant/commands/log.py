"""`tallyhand log`: the finished and unfinished jobs, and what happened in each."""

from __future__ import annotations

import re
import time
from argparse import Namespace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assistant import errors
from assistant.commands import command_line, data_folder
from assistant.journal import finding
from assistant.journal.fault import JournalFault
from assistant.journal.finding import Search
from assistant.journal.index import Listed, listing
from assistant.words.plain_text import plain

if TYPE_CHECKING:  # a list needs no engine, and is to be there at once
    from assistant.journal.reading import JournalRecords

LONGEST = 80  # letters of a title in one line
_NO_SUCH = "No such job. All of them: tallyhand log"
_NONE = "No jobs yet. Begin one with: tallyhand run JOB"


def main(given: Namespace) -> int:
    """0 where all journals that are meant could be read, 1 where one could not. Raises Refusal for
    a folder that is not there.
    """
    wanted = _wanted(given)
    folders = [Path(each) for each in given.all] or [data_folder.folder(given.data)]
    faults = []
    for folder in folders:
        if given.all and not folder.is_dir():
            raise errors.Refusal(f"{folder}: no such folder", "name folders of journals", ": ")
    if given.json:
        faults = _as_json(folders, wanted)
    elif given.out:
        faults = _exported(folders, wanted, Path(given.out))
    else:
        faults = _as_lines(folders, wanted)
    for fault in faults:
        command_line.complain(fault)
    return command_line.REFUSED if faults else command_line.DONE


def _wanted(given: Namespace) -> Search:
    for name, day in (("--since", given.since), ("--until", given.until)):
        if day and not re.fullmatch(r"\d{4}(-\d\d(-\d\d)?)?", day, re.ASCII):
            raise errors.WrongUse(f"tallyhand log: {name} {day}: a day, like 2026-05-02")
    return Search(
        tuple(given.words), given.part or "", given.head or "", given.since or "", given.until or ""
    )


def _as_json(folders: list[Path], wanted: Search) -> list[str]:
    import json

    from assistant.journal.reading import read_journal

    found, faults = _jobs(folders, wanted)
    readings = []
    for folder, job in found:
        try:
            readings.append(read_journal(folder / job.name))
        except JournalFault as fault:
            faults.append(str(fault))
    print(json.dumps({"jobs": [log_record(reading) for reading in readings]}))
    return faults


def _as_lines(folders: list[Path], wanted: Search) -> list[str]:
    found, faults = _jobs(folders, wanted)
    if wanted.words:
        found, spoilt = _read_through(found)
        faults += spoilt
    several = len(folders) > 1
    lines = [
        f"{folder.name}  {log_line(job)}" if several else log_line(job) for folder, job in found
    ]
    print("\n".join(lines) or (_NO_SUCH if wanted else _NONE))
    return faults


def _jobs(folders: list[Path], wanted: Search) -> tuple[list[tuple[Path, Listed]], list[str]]:
    """The jobs that are meant, folder by folder, and what can't be read."""
    found, faults = [], []
    for folder in folders:
        jobs = listing(folder)
        faults += [job.fault for job in jobs if job.fault]
        good = [job for job in jobs if not job.fault]
        found += [(folder, job) for job in finding.found(good, wanted)]
    return found, faults


def _read_through(jobs: list[tuple[Path, Listed]]) -> tuple[list[tuple[Path, Listed]], list[str]]:
    """Those that are whole, and what is wrong with the others: the list knows their ends alone,
    and who asks for one by name is told of a change in its middle as well."""
    from assistant.journal.reading import standing

    whole, faults = [], []
    for folder, job in jobs:
        try:
            standing(folder / job.name)
            whole.append((folder, job))
        except JournalFault as fault:
            faults.append(str(fault))
    return whole, faults


def _exported(folders: list[Path], wanted: Search, out: Path) -> list[str]:
    """The list as a table of another program: CSV or Parquet, by the ending."""
    from assistant.paper.log_rows import write_log

    found, faults = _jobs(folders, wanted)
    write_log(out, [(str(folder), job) for folder, job in found])
    print(f"{out}: {len(found)} jobs")
    return faults


def log_line(job: Listed) -> str:
    """One job in one line."""
    stand = "scrap" if job.scrapped else "finished" if job.finished else _at(job)
    started = job.started[:16].replace("T", " ")
    title = plain(job.title, LONGEST)
    part = f" ({plain(job.part, LONGEST)})" if job.part else ""
    made = f"{job.done} of {job.cuts} cuts"
    if job.batch > 1:
        made = _of_batch(job, made)
    return f"{started}  {title}{part}: {made}, {stand}  [{job.identity}]"


def _of_batch(job: Listed, made: str) -> str:
    lost = f" ({job.given_up} given up)" if job.given_up else ""
    if job.finished:
        return f"{job.batch - job.given_up} of {job.batch} parts{lost}"
    return f"part {job.in_hand} of {job.batch}{lost}, {made}"


def _at(job: Listed) -> str:
    return f"at cut {job.cut}, {job.phase}"


def log_record(reading: JournalRecords) -> dict[str, Any]:
    """One job as JSON-ready data."""
    from assistant.bench.rehearsal import state_record
    from assistant.engine.events import to_record
    from assistant.engine.phases import Step

    return {
        "journal": str(reading.path),
        "title": reading.programme.title,
        "head": reading.programme.head,
        "started": reading.about.get("started"),
        "program": reading.about.get("program"),
        "finished": reading.state.step is Step.FINISHED,
        "scrapped": reading.state.scrapped,
        "state": state_record(reading.programme, reading.state),
        "events": [
            {
                "seq": entry.seq,
                "time": event_moment(entry.at),
                "event": to_record(entry.event),
                "refused": entry.refused,
                "state": state_record(reading.programme, entry.state),
                "link": entry.link,
            }
            for entry in reading.entries
        ],
    }


def event_moment(at: float) -> str:
    """The time of an event; a clock that is quite wrong gives its number instead."""
    try:
        return time.strftime("%Y-%m-%dT%H:%M:%S%z", time.localtime(at))
    except (OverflowError, ValueError, OSError):
        return f"{at:g} s"
