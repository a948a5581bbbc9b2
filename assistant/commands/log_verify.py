"""`tallyhand log verify`: is each journal as it was written, and does each record follow?"""

from __future__ import annotations

import json
from argparse import Namespace
from pathlib import Path
from typing import Any

from assistant import errors
from assistant.commands import command_line, data_folder
from assistant.commands.progress import bar
from assistant.journal.replay import first_stray
from assistant.journal.writing import CHAINED_SINCE, JournalFault, journals, read_journal


def main(given: Namespace) -> int:
    """0 where every chain of hashes holds, 1 where one does not. Raises WrongUse where `--ends`
    does not go with one journal.
    """
    paths = [Path(name) for name in given.journal] or journals(data_folder.folder(given.data))
    if given.ends and len(paths) != 1:
        raise errors.WrongUse("--ends goes with one journal: name its file")
    each = bar(paths, len(paths), "Journals", slow=True)
    verdicts = [journal_verdict(path, given.ends or "") for path in each]
    if given.json:
        print(json.dumps({"journals": verdicts}))
    else:
        print("\n".join(map(verdict_line, verdicts)) or "No journals yet.")
    return command_line.DONE if all(each["whole"] for each in verdicts) else command_line.REFUSED


def journal_verdict(path: Path, ends: str = "") -> dict[str, Any]:
    """What can be said of one journal, as JSON-ready data; `record` is where it first breaks."""
    found: dict[str, Any] = {"journal": str(path), "whole": False, "record": None}
    try:
        reading = read_journal(path)
    except JournalFault as fault:
        return {**found, "record": fault.record, "why": str(fault)}
    records, last = len(reading.entries), reading.last_link
    found |= {"records": records, "version": reading.version, "ends": last}
    if reading.version < CHAINED_SINCE:
        return {**found, "why": f"version {reading.version} has no chain: resume it to add one"}
    if not last.startswith(ends.strip().lower()):
        why = f"it ends with {last[:16]}, not with {ends[:64]}: it is not the journal of that note"
        return {**found, "why": why}
    stray = first_stray(reading)
    if stray:
        program = reading.about.get("program", "?")
        why = f"record {stray.record} does not follow from the one before ({stray.what})"
        if stray.judged:
            return {**found, "record": stray.record, "why": f"{why}: no session wrote it"}
        found["older_rules"] = f"{why} by the rules of today; it was written by {program}"
    upgraded = reading.about.get("upgraded")
    return {**found, "whole": True, **({"upgraded": upgraded} if upgraded else {})}


def verdict_line(verdict: dict[str, Any]) -> str:
    """One verdict in one line."""
    if not verdict["whole"]:
        named = verdict["why"].startswith(verdict["journal"])
        return verdict["why"] if named else f"{verdict['journal']}: {verdict['why']}"
    chained = f" (chained later: {verdict['upgraded']})" if "upgraded" in verdict else ""
    told = f"; {verdict['older_rules']}" if "older_rules" in verdict else ""
    return (
        f"{verdict['journal']}: {verdict['records']} records, unbroken{chained}, "
        f"ends with {verdict['ends']}{told}"
    )
