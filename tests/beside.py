"""Which tests run beside which, where pytest has several workers.

Tests that wait for real devices (marked `live`) have workers of their own. All the others run
niced, so that a sound server or a browser gets the processor when it asks for it.
"""

from __future__ import annotations

import atexit
import json
import os
import tempfile
from pathlib import Path
from typing import Any

from xdist.scheduler import LoadScopeScheduling

LIVE_WORKERS = 3  # they mostly wait
LIVE = "live "  # leads the name of a group of them


def workers(*, live: bool) -> int:
    """As many as keep the processor busy, and those for the live tests where there are any."""
    return LIVE_WORKERS * live + len(os.sched_getaffinity(0))


def tell(groups: dict[str, str]) -> None:
    """From a worker, which sees the tests, to the scheduler, which knows their names alone.

    Every worker tells the same, so it does not matter whose is read.
    """
    file = Path(os.environ[_TOLD])
    mine = file.with_name(f"{file.name}.{os.getpid()}")
    mine.write_text(json.dumps(groups), "utf-8")
    mine.replace(file)


_TOLD = "TALLYHAND_TEST_GROUPS"  # the file in which they tell it


def open_ears() -> None:
    """Called before the workers start: they inherit the place."""
    folder = tempfile.TemporaryDirectory(prefix="tallyhand-tests-")
    atexit.register(folder.cleanup)
    os.environ[_TOLD] = str(Path(folder.name, "groups.json"))


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
        self._groups: dict[str, str] = {}

    def _split_scope(self, nodeid: str) -> str:
        """The group of a test, as the workers tell it."""
        if not self._groups:
            self._groups = json.loads(Path(os.environ[_TOLD]).read_text("utf-8"))
        return self._groups[nodeid]

    def _assign_work_unit(self, node: Any) -> None:
        """The next group of the worker's own sort; of the other sort when there is none left."""
        own = is_live(node.gateway.id)
        for scope in self.workqueue:
            if scope.startswith(LIVE) == own:
                self.workqueue.move_to_end(scope, last=False)
                break
        super()._assign_work_unit(node)
