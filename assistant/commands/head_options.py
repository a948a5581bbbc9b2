"""The options by which a command takes a job on another head than the one that it names."""

from __future__ import annotations

from argparse import Namespace
from typing import TYPE_CHECKING

from assistant.commands.argument_parser import Parser

if TYPE_CHECKING:
    from assistant.job.job_file import Job


def add_head_options(parser: Parser) -> None:
    """`--head` and `--own-head`, for a command that can work a job out for another head."""
    parser.add_argument(
        "--head", metavar="HEAD", help="work the job out anew for this head: a name or a file"
    )
    parser.add_argument(
        "--own-head", action="store_true", help="for the head of your settings, where there is one"
    )


def with_chosen_head(job: Job, given: Namespace, own: str) -> Job:
    """The job for the head that was asked for; as it is where none was. Raises WrongUse."""
    name = given.head or (own if given.own_head else "")
    if not name:
        return job
    from assistant.job.which_head import on_head

    return on_head(job, name)
