"""The program run as at a desk, one answer at a time: what it says comes in, an answer goes out."""

from __future__ import annotations

import io
import json
import sys
from collections.abc import Callable, Iterator
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path
from typing import Any
from unittest import mock

Record = dict[str, Any]
Answer = Callable[[list[Record]], Record | None]


class Stuck(AssertionError):
    """The program refused what it had asked for, or never came to an end."""


class _Ear(io.StringIO):
    """Standard output of the program: JSON lines, taken as they come."""

    def __init__(self) -> None:
        super().__init__()
        self.records: list[Record] = []
        self._rest = ""

    def write(self, text: str) -> int:
        *lines, self._rest = (self._rest + text).split("\n")
        self.records += [json.loads(line) for line in lines if line]
        return len(text)

    def take(self) -> list[Record]:
        taken, self.records = self.records, []
        return taken


class _Mouth:
    """Standard input of the program: each answer is thought of when it is wanted."""

    def __init__(self, ear: _Ear, answer: Answer, most: int) -> None:
        self.ear, self.answer, self.most = ear, answer, most

    def isatty(self) -> bool:
        return False

    def __iter__(self) -> Iterator[str]:
        for _ in range(self.most):
            said = self.answer(self.ear.take())
            if said is None:
                return
            yield json.dumps(said)
        raise Stuck(f"no end after {self.most} answers")


def rehearse(job: Path, folder: Path, answer: Answer, most: int = 20_000) -> None:
    """`tallyhand rehearse JOB --json`, answered by `answer`, which ends it with None."""
    from assistant.__main__ import main

    ear, errors = _Ear(), io.StringIO()
    words = ["rehearse", str(job), "--json", "--language", "en", "--data", str(folder)]
    mouth = mock.patch.object(sys, "stdin", _Mouth(ear, answer, most))
    with mouth, redirect_stdout(ear), redirect_stderr(errors):
        code = main(words)
    if code:
        raise Stuck(f"{job.name}: {errors.getvalue().strip()}")


def job_check(job: Path) -> str:
    """What `tallyhand job check` prints; raises Refusal with its complaint."""
    from assistant.__main__ import main

    out, errors = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(errors):
        code = main(["job", "check", str(job)])
    if code:
        raise Refused(errors.getvalue() + out.getvalue())
    return out.getvalue()


class Refused(Exception):
    """The program says that this job can't be made so."""
