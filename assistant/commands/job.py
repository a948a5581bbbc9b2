"""`tallyhand job check FILE`: every fault with its line, or the whole job explained."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path
from typing import Any

from assistant import errors
from assistant.commands import command_line
from assistant.drawing.outline import part_svg
from assistant.files.settings import load_settings
from assistant.job.compiler import Stage, head_of, stages_of
from assistant.job.from_drawer import drawer_lines, with_drawer
from assistant.job.job_file import Job, JobFaults, read_job
from assistant.job.job_time import minutes_of
from assistant.job.programme import runs
from assistant.job.which_head import as_set
from assistant.paper.sheet_text import sheet_lines
from solver import Head, Refused


def main(given: Namespace) -> int:
    """0 where the file can be worked out and is explained, 1 with each fault in a
    line of its own. Raises Refusal where no set-up can make it.
    """
    try:
        settings = load_settings()
        job = as_set(read_job(Path(given.file), settings.job.units), settings.job)
        job = with_drawer(job, settings)
        head = head_of(job)
        stages = stages_of(job, head)
        drawer = drawer_lines(job, settings, stages)
    except JobFaults as faults:
        for fault in faults.faults:
            command_line.complain(fault)
        return command_line.REFUSED
    except Refused as error:
        raise errors.passed_on(error) from error
    if given.drawing:
        _draw(stages, Path(given.drawing), given.cut)
    if given.json:
        import json

        print(json.dumps({**job_record(job, head, stages), "drawer": drawer}, ensure_ascii=False))
    else:
        print(
            "\n".join([*sheet_lines(job, head, stages), *(f"  drawer   {line}" for line in drawer)])
        )
    return command_line.DONE


def _draw(stages: tuple[Stage, ...], path: Path, cut: int | None) -> None:
    """The part with the cuts of all stages, numbered in order. Raises WrongUse or Refusal."""
    cuts = sum(stage.programme.cuts for stage in stages)
    if cut is not None and not 1 <= cut <= cuts:
        raise errors.WrongUse(f"--cut {cut}: this part has cuts 1 to {cuts}")
    now = None if cut is None else cut - 1
    text = part_svg(stages[0].draw(), now, now or 0, stages[0].programme.title)
    try:
        path.write_text(text, "utf-8")
    except OSError as error:
        reason = error.strerror
        raise errors.Refusal(
            f"{path}: can't write the drawing ({reason})", "another path", ": "
        ) from None


# --- JSON -------------------------------------------------------------------------------


def job_record(job: Job, head: Head, stages: tuple[Stage, ...]) -> dict[str, Any]:
    """The explained job as JSON-ready data; the first stage's also at the top."""
    first = stages[0]
    minutes = minutes_of(job, stages)
    return {
        "title": job.title,
        "head": head.name,
        "kind": first.work.kind,
        "cuts": first.programme.cuts,
        "passes": first.programme.passes,
        "depth": first.programme.depth or None,
        "minutes": None if minutes is None else float(minutes),
        "setup": first.setup.to_record(),
        "checklist": list(first.programme.checklist),
        "units": job.unit,
        "plan": [part.plan for part in _parts(stages)],
        **(
            {"batch": job.batch, "checklist_again": list(first.programme.checklist_again)}
            if job.batch > 1
            else {}
        ),
        "warnings": [
            {"key": warning.key, "text": warning.text}
            for part in _parts(stages)
            for warning in part.warnings
        ],
        "stages": [_stage(stage) for stage in stages],
    }


def _parts(stages: tuple[Stage, ...]) -> list[Any]:
    """Each part once, in the order of the stages."""
    return list({id(stage.part): stage.part for stage in stages}.values())


def _stage(stage: Stage) -> dict[str, Any]:
    programme = stage.programme
    return {
        "name": stage.name,
        "kind": stage.work.kind,
        "unlocked": stage.unlocked,
        "closed": stage.closed,
        "figures": {figure.name: figure.shown for figure in stage.part.figures},
        "plate": stage.setup.plate,
        "circle": stage.setup.circle,
        "checklist": list(programme.checklist),
        "labels": list(stage.labels),
        "stamps": list(stage.stamps),
        "positions": [str(place) for place in programme.positions],
        "moves": [{**move.to_record(), "times": times} for move, times in runs(programme.moves)],
        "depths_mm": [None if each.depth is None else float(each.depth) for each in stage.passes],
        "measurements": [
            {
                "what": each.what,
                "pass": each.pass_number,
                "after": each.after,
                "expected_mm": float(each.expected),
                "target_mm": float(each.target),
                "low_mm": None if each.low is None else float(each.low),
                "high_mm": None if each.high is None else float(each.high),
            }
            for each in stage.measurements
        ],
    }
