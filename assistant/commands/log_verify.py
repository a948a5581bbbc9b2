"""`tallyhand log verify`: is each journal as it was written, and does each record follow?"""

from __future__ import annotations

import json
from argparse import Namespace
from pathlib import Path
from typing import Any, NamedTuple

from assistant import errors
from assistant.commands import command_line, data_folder
from assistant.commands.progress import bar
from assistant.journal.replay import first_stray
from assistant.journal.writing import (
    CHAINED_SINCE,
    JournalFault,
    JournalRecords,
    journals,
    read_journal,
)


def main(given: Namespace) -> int:
    """0 where every chain of hashes holds, 1 where one does not. Raises WrongUse where `--ends`
    does not go with one journal.
    """
    paths = [Path(name) for name in given.journal] or journals(data_folder.folder(given.data))
    if given.ends and len(paths) != 1:
        raise errors.WrongUse("--ends goes with one journal: name its file")
    each = bar(paths, len(paths), "Journals", slow=True)
    verified = [journal_verdict(path, given.ends or "") for path in each]
    if given.json:
        print(json.dumps({"journals": [one.verdict for one in verified]}))
    else:
        print("\n".join(map(verdict_line, verified)) or "No journals yet.")
    whole = all(one.verdict["whole"] for one in verified)
    return command_line.DONE if whole else command_line.REFUSED


class Verified(NamedTuple):
    """What can be said of one journal, as JSON-ready data; `named`: its `why` begins with the
    name."""

    verdict: dict[str, Any]
    named: bool = False


def journal_verdict(path: Path, ends: str = "") -> Verified:
    """`record` in the verdict is where the journal first breaks, None where it does not."""
    try:
        reading = read_journal(path)
    except JournalFault as fault:
        broken = {"journal": str(path), "whole": False, "record": fault.record, "why": str(fault)}
        return Verified(broken, fault.named == path)
    return Verified(_of_what_was_read(path, reading, ends))


def _of_what_was_read(path: Path, reading: JournalRecords, ends: str) -> dict[str, Any]:
    found: dict[str, Any] = {"journal": str(path), "whole": False, "record": None}
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


def verdict_line(verified: Verified) -> str:
    """One verdict in one line, which names the journal once."""
    verdict = verified.verdict
    if not verdict["whole"]:
        why: str = verdict["why"]
        return why if verified.named else f"{verdict['journal']}: {why}"
    chained = f" (chained later: {verdict['upgraded']})" if "upgraded" in verdict else ""
    told = f"; {verdict['older_rules']}" if "older_rules" in verdict else ""
    return (
        f"{verdict['journal']}: {verdict['records']} records, unbroken{chained}, "
        f"ends with {verdict['ends']}{told}"
    )
