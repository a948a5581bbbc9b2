"""`tallyhand report`: what happened in a job, as a page, as CSV, or into a database."""

from __future__ import annotations

import socket
from pathlib import Path

from assistant import cli, data_folder
from assistant.journal import JournalFault, Reading, read
from assistant.journal_index import Listed, listing
from assistant.progress import bar
from assistant.report.account import Account, account

ENDINGS = (".html", ".csv", ".sqlite")


def main(words: list[str]) -> int:
    parser = cli.Parser(
        "report",
        "What happened in a job: every cut with its times and confirmations, sizes, overshoots, "
        "refusals, notes, devices. HTML, CSV or SQLite, by the ending of the file.",
        "tallyhand report --out pinion.html",
    )
    parser.add_argument(
        "job", nargs="?", metavar="JOB", help="part of a journal's name or title (the last worked)"
    )
    parser.add_argument("--all", action="store_true", help="every job (CSV and SQLite)")
    parser.add_argument("--out", metavar="FILE", help=".html, .csv or .sqlite (report.html)")
    parser.add_argument(
        "--bench", metavar="NAME", help="name of this bench in the rows (the host's)"
    )
    data_folder.add_option(parser)
    given = parser.parse_args(words)
    out = Path(given.out or "report.html")
    if out.suffix.lower() not in ENDINGS:
        raise cli.WrongUse(f"--out {given.out}: give a file that ends in {', '.join(ENDINGS)}")
    if given.all and (out.suffix.lower() == ".html" or given.job):
        raise cli.WrongUse("--all is for CSV and SQLite, and without a job: drop one of the two")
    chosen, faults = _chosen(data_folder.folder(given.data), given.job, given.all)
    for fault in faults:
        cli.complain(fault)
    told = [account(reading) for reading in bar(chosen, len(chosen), "Jobs", slow=True)]
    _write(out, told, given.bench or socket.gethostname())
    return cli.REFUSED if faults else cli.DONE


def _chosen(folder: Path, part: str | None, every: bool) -> tuple[list[Reading], list[str]]:
    """The journals asked for. Raises Refusal when there is none."""
    jobs = listing(folder)
    faults = [job.fault for job in jobs if job.fault]
    wanted = [job for job in jobs if not job.fault and (not part or _named(job, part))]
    if not every:
        wanted = sorted(wanted, key=lambda job: job.last_worked)[-1:]
    found = []
    for job in bar(wanted, len(wanted), "Journals", slow=True):
        try:
            found.append(read(folder / job.name))
        except JournalFault as fault:
            faults.append(str(fault))
    if not found:
        for line in faults:
            cli.complain(line)
        which = f"no job named {part!r}" if part else "no job"
        raise cli.Refusal(f"{which} in {folder}: tallyhand log lists what is there")
    return found, faults


def _named(job: Listed, part: str) -> bool:
    return part.lower() in f"{Path(job.name).stem} {job.title}".lower()


def _write(out: Path, told: list[Account], bench: str) -> None:
    kind = out.suffix.lower()
    if kind == ".sqlite":
        from assistant.report.rows import into_database

        count = into_database(out, told, bench)
        print(f"{out}: {count} cuts of {len(told)} jobs")
        return
    if kind == ".csv":
        from assistant.report.rows import csv_text

        data = csv_text(told, bench).encode("utf-8-sig")
    else:
        from assistant.report.page import report

        data = report(told[0]).encode("utf-8", "replace")
    try:
        out.write_bytes(data)
    except OSError as error:
        raise cli.Refusal(
            f"{out}: can't write it ({error.strerror}): choose another place"
        ) from None
    print(f"Report: {out}")
