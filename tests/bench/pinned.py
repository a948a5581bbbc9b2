"""Each process of a bench on a core of its own."""

from __future__ import annotations

import os
from multiprocessing import current_process


def pinned() -> None:
    """For the start of a process of a pool. A library below the ear starts a thread for each core,
    and they wait by spinning: 32 processes on 32 cores got nothing done in ten minutes until each
    was kept to one."""
    if hasattr(os, "sched_setaffinity"):
        cores = sorted(os.sched_getaffinity(0))
        number = current_process()._identity[0]  # type: ignore[attr-defined]
        os.sched_setaffinity(0, {cores[number % len(cores)]})
