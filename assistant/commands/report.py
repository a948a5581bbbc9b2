"""`tallyhand report`: what happened in a job, as a page, as CSV, or into a database."""

from __future__ import annotations

import socket
from argparse import Namespace
from dataclasses import replace
from pathlib import Path

from assistant import errors
from assistant.bench.language_files import choose
from assistant.commands import command_line, data_folder
from assistant.commands.earlier import named
from assistant.commands.inspect_part import readings_in
from assistant.commands.progress import bar
from assistant.files.settings import load_settings, settings_file
from assistant.journal.index import listing
from assistant.journal.writing import JournalFault, JournalRecords, read_journal
from assistant.paper import tables
from assistant.paper.history import Account, told_from
from assistant.paper.inspection import Spacing, kept_inspection, spacing_of
from assistant.words.language import speaking

ENDINGS = (".html", ".pdf", ".csv", ".sqlite", ".parquet")


def main(given: Namespace) -> int:
    """Writes the report in the form of the file's ending. Raises WrongUse for another ending, or
    for options that don't go together.
    """
    out = Path(given.out or "report.html")
    if given.learned:
        return _learned(given, out)
    if out.suffix.lower() not in ENDINGS:
        raise errors.WrongUse(f"--out {given.out}: give a file that ends in {', '.join(ENDINGS)}")
    if given.all and (out.suffix.lower() in (".html", ".pdf") or given.job):
        raise errors.WrongUse(
            "--all is for CSV and SQLite (and Parquet), and without a job: drop one of the two"
        )
    chosen, faults = _chosen(data_folder.folder(given.data), given.job, given.all)
    for fault in faults:
        command_line.complain(fault)
    for reading in chosen:
        _learn(reading.programme.language)
    told = [told_from(reading) for reading in bar(chosen, len(chosen), "Jobs", slow=True)]
    spacing = (
        replace(spacing_of(readings_in(given.inspection)), unit=given.unit or "")
        if given.inspection
        else kept_inspection(told[0].reading.path)
    )
    _write(out, told, given.bench or socket.gethostname(), spacing)
    return command_line.REFUSED if faults else command_line.DONE


def _learned(given: Namespace, out: Path) -> int:
    """One page over all jobs: what the record says about people and heads."""
    from assistant.paper.learned import learned_page

    if out.suffix.lower() not in (".html", ".pdf"):
        raise errors.WrongUse(f"--learned is a page: --out {out} must end in .html or .pdf")
    chosen, faults = _chosen(data_folder.folder(given.data), given.job, every=True)
    told = [told_from(reading) for reading in bar(chosen, len(chosen), "Jobs", slow=True)]
    if given.operator:
        told = [each for each in told if each.reading.about.get("operator") == given.operator]
    settings = load_settings()
    with speaking(choose(settings.speech.language, settings.file).code):
        page = learned_page(told)
    _put(out, _pdf(page) if out.suffix.lower() == ".pdf" else page.encode("utf-8", "replace"))
    for fault in faults:
        command_line.complain(fault)
    return command_line.REFUSED if faults else command_line.DONE


def _learn(code: str) -> None:
    """A report is in the language of its session; in English where that is gone."""
    try:
        choose(code, settings_file())
    except errors.Refusal as error:
        command_line.complain(f"{error}; the report is in English")


def _chosen(folder: Path, part: str | None, every: bool) -> tuple[list[JournalRecords], list[str]]:
    """The journals asked for. Raises Refusal when there is none."""
    jobs = listing(folder)
    faults = [job.fault for job in jobs if job.fault]
    wanted = [job for job in jobs if not job.fault and (not part or named(job, part))]
    if not every:
        wanted = sorted(wanted, key=lambda job: job.last_worked)[-1:]
    found = []
    for job in bar(wanted, len(wanted), "Journals", slow=True):
        try:
            found.append(read_journal(folder / job.name))
        except JournalFault as fault:
            faults.append(str(fault))
    if not found:
        for line in faults:
            command_line.complain(line)
        which = f"no job named {part!r}" if part else "no job"
        raise errors.Refusal(f"{which} in {folder}", "tallyhand log lists what is there", ": ")
    return found, faults


def _pdf(page: str) -> bytes:
    from assistant.paper.pdf import pdf_of

    return pdf_of(page)


def _write(out: Path, told: list[Account], bench: str, spacing: Spacing | None) -> None:
    kind = out.suffix.lower()
    if kind == ".sqlite":
        from assistant.paper.report_rows import into_database

        count = into_database(out, told, bench)
        print(f"{out}: {count} cuts of {len(told)} jobs")
        return
    if kind in tables.ENDINGS:
        from assistant.paper import report_rows as rows

        # Two tables of different columns are two files: each goes together with its like.
        beside = out.with_stem(f"{out.stem}-set-up")
        tables.write_table(out, rows.COLUMNS, rows.all_cuts(told, bench), rows.KINDS)
        tables.write_table(beside, rows.ITEMS, rows.all_items(told, bench), rows.ITEM_KINDS)
        print(f"Report: {out}, its set-up: {beside}")
        return
    from assistant.paper.report_page import report_document

    page = report_document(told[0], spacing)
    data = _pdf(page) if kind == ".pdf" else page.encode("utf-8", "replace")
    _put(out, data)


def _put(out: Path, data: bytes) -> None:
    try:
        out.write_bytes(data)
    except OSError as error:
        raise errors.Refusal(
            f"{out}: can't write it ({error.strerror})", "choose another place", ": "
        ) from None
    print(f"Report: {out}")
