"""Which tests run beside which, where pytest has several workers.

Tests that wait for real devices (marked `live`) have workers of their own. All the others run
niced, so that a sound server or a browser gets the processor when it asks for it.
"""

from __future__ import annotations

import os
from typing import Any

from xdist.scheduler import LoadScopeScheduling

LIVE_WORKERS = 3  # they mostly wait
LIVE = "live "  # leads the name of a group of them


def workers() -> int:
    """As many as keep the processor busy, and those for the live tests."""
    return LIVE_WORKERS + len(os.sched_getaffinity(0))


def number(worker: str) -> int:
    """gw3 -> 3"""
    return int(worker.removeprefix("gw"))


def is_live(worker: str) -> bool:
    return number(worker) < LIVE_WORKERS


class Beside(LoadScopeScheduling):  # type: ignore[misc]
    """Whole files, and named groups, each on one worker; live ones on live workers.

    The order is that of the collection: what comes first there is begun first.
    """

    def __init__(self, config: Any, log: Any = None) -> None:
        config.option.loadscopereorder = False
        super().__init__(config, log)

    def _split_scope(self, nodeid: str) -> str:
        """The group that stands behind a test's name, else its file."""
        group = nodeid.rfind("@")
        if group > nodeid.rfind("]"):  # else the sign is part of a parameter
            return nodeid[group + 1 :]
        return nodeid.split("::", 1)[0]

    def _assign_work_unit(self, node: Any) -> None:
        """The next group of the worker's own sort; of the other sort when there is none left."""
        own = is_live(node.gateway.id)
        for scope in self.workqueue:
            if scope.startswith(LIVE) == own:
                self.workqueue.move_to_end(scope, last=False)
                break
        super()._assign_work_unit(node)
