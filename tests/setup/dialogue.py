"""The set-up as a process whose questions are read and answered one by one."""

from __future__ import annotations

import select
import subprocess
import time
from pathlib import Path

from tests.commands import PROGRAM, ROOT


class Dialogue:
    """`told` is everything printed so far."""

    def __init__(self, words: list[str | Path], env: dict[str, str]) -> None:
        self.process = subprocess.Popen(
            [*PROGRAM, "setup", *map(str, words)],
            env=env, cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
        )  # fmt: skip
        self.told = ""
        self._read_to = 0

    def wait_for(self, text: str, seconds: float = 60) -> None:
        """Until this was printed, after what was waited for last."""
        assert self.process.stdout
        end = time.monotonic() + seconds
        while text not in self.told[self._read_to :]:
            assert time.monotonic() < end, f"{text!r} was not said:\n{self.told}"
            if select.select([self.process.stdout], [], [], 0.2)[0]:
                data = self.process.stdout.read1(65536)  # type: ignore[attr-defined]
                assert data, f"{text!r} was not said before the end:\n{self.told}"
                self.told += data.decode()
        self._read_to = self.told.index(text, self._read_to) + len(text)

    def answer(self, question: str, line: str) -> None:
        self.wait_for(question)
        assert self.process.stdin
        self.process.stdin.write(f"{line}\n".encode())
        self.process.stdin.flush()

    def end(self) -> int:
        """Its exit code; the rest of what it printed is in `told`."""
        assert self.process.stdin and self.process.stdout
        self.process.stdin.close()
        self.told += self.process.stdout.read().decode()
        return self.process.wait(60)

    def close(self) -> None:
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
