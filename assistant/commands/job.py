"""`tallyhand job check FILE`: every fault with its line, or the whole job explained."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Any

from assistant import cli, wording
from assistant.compile_job import head_of, programme_of, setups_of
from assistant.job_file import Job, JobFaults, read_job
from assistant.programme import Programme, runs
from solver import Head, Refused, Setup

NO_DEPTH = 'not given (depth = "4.3 mm")'


def main(words: list[str]) -> int:
    parser = cli.Parser(
        "job",
        "Check a job file and explain the job: set-up, moves, cuts, depth, time.",
        "tallyhand job check config/jobs/pinion.toml",
    )
    parser.add_argument("action", choices=["check"])
    parser.add_argument("file", metavar="FILE")
    parser.add_argument("--json", action="store_true", help="write JSON only")
    given = parser.parse_args(words)
    try:
        job = read_job(Path(given.file))
        head = head_of(job)
        setup = setups_of(job, head)[0]
    except JobFaults as faults:
        for fault in faults.faults:
            cli.complain(fault)
        return cli.REFUSED
    except Refused as error:
        raise cli.Refusal(str(error)) from error
    programme = programme_of(job, head, setup)
    if given.json:
        import json

        print(json.dumps(record(job, head, setup, programme), ensure_ascii=False))
    else:
        print("\n".join(explain(job, head, setup, programme)))
    return cli.DONE


def record(job: Job, head: Head, setup: Setup, programme: Programme) -> dict[str, Any]:
    """The explained job as JSON-ready data."""
    return {
        "title": job.title,
        "head": head.name,
        "kind": job.kind,
        "cuts": programme.cuts,
        "passes": programme.passes,
        "depth": programme.depth or None,
        "minutes": float(minutes(job, programme)) if job.minutes_per_cut else None,
        "setup": setup.to_record(),
        "checklist": list(programme.checklist),
    }


def minutes(job: Job, programme: Programme) -> Fraction:
    """Time at the machine, in minutes, from the job's own minutes_per_cut."""
    return (job.minutes_per_cut or Fraction(0)) * programme.cuts * programme.passes


def explain(job: Job, head: Head, setup: Setup, programme: Programme) -> list[str]:
    """The job in plain lines."""
    passes = f", {programme.passes} passes" if programme.passes > 1 else ""
    lines = [
        f"{job.title}",
        f"  head     {head.name}: {head.describe}",
        f"  set-up   {setup.method}: {setup.why}",
        f"  cuts     {programme.cuts}{passes}",
        f"  depth    {programme.depth or NO_DEPTH}",
        f"  time     {_time(job, programme)}",
        "  moves",
    ]
    lines += [
        f"    {times:>5} x  {wording.move_figures(move)}" for move, times in _moves(programme)
    ]
    if not setup.exact:
        lines.append(f"  error    at most {setup.worst_error_arcsec:.1f} arc-seconds")
    lines.append("  set up")
    lines += [f"    {n}. {item}" for n, item in enumerate(programme.checklist, 1)]
    return lines


def _moves(programme: Programme) -> list[tuple[Any, int]]:
    return runs(programme.moves)


def _time(job: Job, programme: Programme) -> str:
    if not job.minutes_per_cut:
        return "not known (minutes_per_cut = 3)"
    total = minutes(job, programme)
    return f"about {float(total):.0f} minutes, at {float(job.minutes_per_cut):g} a cut"
