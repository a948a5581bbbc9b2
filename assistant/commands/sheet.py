"""`tallyhand sheet JOB`: the job on paper, enough to finish it by hand."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from assistant import errors
from assistant.commands import command_line
from assistant.commands.progress import bar
from assistant.files.settings import load_settings
from assistant.job.compiler import Stage, head_of, stages_of
from assistant.job.from_drawer import with_drawer
from assistant.job.job_file import Job, JobFaults, read_job
from assistant.job.which_head import as_set
from assistant.paper.sheet_page import LAYOUTS, Layout, layout_for, sheet_document
from assistant.words.language import on_paper
from solver import Head, Refused


def main(given: Namespace) -> int:
    """Writes the sheet as a page or a PDF, by the file's ending. Raises WrongUse for another one,
    Refusal for a job that can't be made.
    """
    path = Path(given.job)
    out = Path(given.out) if given.out else Path(f"{path.stem}-sheet.pdf")
    if out.suffix.lower() not in (".pdf", ".html"):
        raise errors.WrongUse(f"--out {given.out}: give a file that ends in .pdf or .html")
    try:
        settings = load_settings()
        job = with_drawer(as_set(read_job(path, settings.job.units), settings.job), settings)
        head = head_of(job)
        with on_paper():
            page = written(job, head, stages_of(job, head), given.paper, out)
    except JobFaults as faults:
        for fault in faults.faults:
            command_line.complain(fault)
        return command_line.REFUSED
    except Refused as error:
        raise errors.passed_on(error) from error
    save_sheet(out, page)
    print(f"Job sheet: {out}")
    return command_line.DONE


def written(job: Job, head: Head, stages: tuple[Stage, ...], paper: str, out: Path) -> str:
    """The whole sheet; for PDF each stage takes the most comfortable layout that one page holds."""
    if out.suffix.lower() == ".html":
        return sheet_document(job, head, stages, paper, [layout_for(stage) for stage in stages])
    each = bar(stages, len(stages), "Sheets", slow=True)
    return sheet_document(
        job, head, stages, paper, [_fitting(job, head, stage, paper) for stage in each]
    )


def _fitting(job: Job, head: Head, stage: Stage, paper: str) -> Layout:
    from assistant.paper.pdf import pages_of

    first = LAYOUTS.index(layout_for(stage))
    for layout in LAYOUTS[first:-1]:
        if pages_of(sheet_document(job, head, [stage], paper, [layout])) == 1:
            return layout
    return LAYOUTS[-1]


def save_sheet(out: Path, page: str) -> None:
    """The page as PDF or HTML, by the ending. Raises Refusal with the cure."""
    if out.suffix.lower() == ".pdf":
        from assistant.paper.pdf import pdf_of

        data = pdf_of(page)
    else:
        data = page.encode("utf-8")
    try:
        out.write_bytes(data)
    except OSError as error:
        raise errors.Refusal(
            f"{out}: can't write it ({error.strerror})", "choose another place", ": "
        ) from None
