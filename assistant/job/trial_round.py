"""The trial round as an item of the set-up of a job that has none of its own."""

from __future__ import annotations

from dataclasses import replace

from assistant.job.kinds.common import trial_moves
from assistant.job.programme import Programme
from assistant.words.language import speaking


def offered(programme: Programme) -> Programme:
    """The job with a trial round as the last item of its first set-up, before anything is cut;
    as it is where it has one, or where no move leads from one cut to another."""
    moves = programme.cuts - (not programme.closed)
    if programme.trial_item >= 0 or moves < 1:
        return programme
    with speaking(programme.language):
        item = trial_moves(programme.cuts)
    items = (*programme.checklist, item)
    return replace(programme, checklist=items, trial_item=len(items) - 1)
