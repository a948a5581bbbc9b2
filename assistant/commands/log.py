"""`tallyhand log`: the finished and unfinished jobs, and what happened in each."""

from __future__ import annotations

import time
from argparse import Namespace
from typing import Any

from assistant.bench.rehearsal import state_record
from assistant.commands import command_line, data_folder
from assistant.engine.events import to_record
from assistant.engine.phases import Step
from assistant.journal.index import Listed, listing
from assistant.journal.writing import JournalFault, Reading, journals, read
from assistant.words.plain_text import plain

LONGEST = 80  # letters of a title in one line
_NONE = "No jobs yet. Begin one with: tallyhand run JOB"


def main(given: Namespace) -> int:
    faults = _as_json(given.data) if given.json else _as_lines(given.data)
    for fault in faults:
        command_line.complain(fault)
    return command_line.REFUSED if faults else command_line.DONE


def _as_json(data: str | None) -> list[str]:
    import json

    readings, faults = _read_all(data)
    print(json.dumps({"jobs": [record(reading) for reading in readings]}))
    return list(map(str, faults))


def _as_lines(data: str | None) -> list[str]:
    jobs = listing(data_folder.folder(data))
    print("\n".join(line(job) for job in jobs if not job.fault) or _NONE)
    return [job.fault for job in jobs if job.fault]


def _read_all(data: str | None) -> tuple[list[Reading], list[JournalFault]]:
    readings, faults = [], []
    for path in journals(data_folder.folder(data)):
        try:
            readings.append(read(path))
        except JournalFault as fault:
            faults.append(fault)
    return readings, faults


def line(job: Listed) -> str:
    """One job in one line."""
    stand = "finished" if job.finished else f"at cut {job.cut}, {job.phase}"
    started = job.started[:16].replace("T", " ")
    title = plain(job.title, LONGEST)
    return f"{started}  {title}: {job.done} of {job.cuts} cuts, {stand}"


def record(reading: Reading) -> dict[str, Any]:
    """One job as JSON-ready data."""
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
                "time": moment(entry.at),
                "event": to_record(entry.event),
                "refused": entry.refused,
                "state": state_record(reading.programme, entry.state),
                "link": entry.link,
            }
            for entry in reading.entries
        ],
    }


def moment(at: float) -> str:
    """The time of an event; a clock that is quite wrong gives its number instead."""
    try:
        return time.strftime("%Y-%m-%dT%H:%M:%S%z", time.localtime(at))
    except (OverflowError, ValueError, OSError):
        return f"{at:g} s"
