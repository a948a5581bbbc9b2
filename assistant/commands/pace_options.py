"""What the command line says about the pace of the cuts, over what the settings say."""

from __future__ import annotations

from typing import TYPE_CHECKING

from assistant.commands.argument_parser import Parser

if TYPE_CHECKING:
    from assistant.files.settings import PaceSettings
    from assistant.job.programme import Programme

FEW, WHOLE = "few", "whole"


def add_words_option(parser: Parser, why: str = "else as your settings say") -> None:
    """`--words`; `why` says what holds without it."""
    parser.add_argument(
        "--words",
        choices=(FEW, WHOLE),
        help=f"few: three answers a cut once the first cuts are made; whole: five; {why}",
    )


def called_at(programme: Programme, pace: PaceSettings, words: str) -> Programme:
    """The programme with its pace: `words` is "few" or "whole"."""
    from dataclasses import asdict

    from assistant.job.programme import heeding
    from assistant.job.trial_round import offered

    chosen = asdict(pace)
    del chosen["words"]  # it has become a number of cuts
    if chosen.pop("trial_round"):  # and this an item of the set-up
        programme = offered(programme)
    if words != FEW:
        chosen["whole_cuts"] = 0
    return heeding(programme, **chosen)
