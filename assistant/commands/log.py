"""`tallyhand log`: the finished and unfinished jobs, and what happened in each."""

from __future__ import annotations

import time
from typing import Any

from assistant import cli, data_folder
from assistant.events import to_record
from assistant.journal import JournalFault, Reading, journals, read
from assistant.phases import Step, phase_of
from assistant.plain_text import plain
from assistant.rehearsal import state_record

LONGEST = 80  # letters of a title in one line
_NONE = "No jobs yet. Begin one with: tallyhand run JOB"


def main(words: list[str]) -> int:
    if words[:1] == ["verify"]:
        from assistant.commands.log_verify import main as verify

        return verify(words[1:])
    parser = cli.Parser(
        "log",
        "The finished and unfinished jobs. `tallyhand log verify` checks that each journal is "
        "as it was written.",
        "tallyhand log --json",
    )
    parser.add_argument("--json", action="store_true", help="every job with its events, as JSON")
    data_folder.add_option(parser)
    given = parser.parse_args(words)
    readings, faults = _read_all(given.data)
    if given.json:
        import json

        print(json.dumps({"jobs": [record(reading) for reading in readings]}))
    else:
        print("\n".join(line(reading) for reading in readings) or _NONE)
    for fault in faults:
        cli.complain(str(fault))
    return cli.REFUSED if faults else cli.DONE


def _read_all(data: str | None) -> tuple[list[Reading], list[JournalFault]]:
    readings, faults = [], []
    for path in journals(data_folder.folder(data)):
        try:
            readings.append(read(path))
        except JournalFault as fault:
            faults.append(fault)
    return readings, faults


def line(reading: Reading) -> str:
    """One job in one line."""
    state, programme = reading.state, reading.programme
    finished = state.step is Step.FINISHED
    stand = "finished" if finished else f"at cut {state.cut(programme)}, {phase_of(state.step)}"
    started = reading.about.get("started", "")[:16].replace("T", " ")
    title = plain(programme.title, LONGEST)
    return f"{started}  {title}: {state.done} of {programme.cuts} cuts, {stand}"


def record(reading: Reading) -> dict[str, Any]:
    """One job as JSON-ready data."""
    return {
        "journal": str(reading.path),
        "title": reading.programme.title,
        "head": reading.programme.head,
        "started": reading.about.get("started"),
        "program": reading.about.get("program"),
        "finished": reading.state.step is Step.FINISHED,
        "state": state_record(reading.programme, reading.state),
        "events": [
            {
                "seq": entry.seq,
                "time": moment(entry.at),
                "event": to_record(entry.event),
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
