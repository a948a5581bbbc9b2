"""The newest state for however many pages follow: writing never waits for a reader.

Only the newest message of each kind is kept. A slow page misses what came between and gets
the newest; it can hold up nobody.
"""

from __future__ import annotations

import json
import threading
from typing import Any


class Hub:
    """Holds the newest message of each kind, numbered, and wakes those who wait."""

    def __init__(self) -> None:
        self._changed = threading.Condition()
        self._newest: dict[str, tuple[int, str]] = {}
        self._number = 0
        self.closed = False

    def tell(self, kind: str, facts: dict[str, Any]) -> int:
        """Put a message in the place of the last one of its kind; its number comes back."""
        text = json.dumps(facts, ensure_ascii=True, separators=(",", ":"))
        with self._changed:
            self._number += 1
            self._newest[kind] = (self._number, text)
            self._changed.notify_all()
            return self._number

    def close(self) -> None:
        """Nothing more comes: every reader is let go."""
        with self._changed:
            self.closed = True
            self._changed.notify_all()

    def newer(self, seen: int, wait: float) -> tuple[list[tuple[int, str, str]], bool]:
        """Messages after number `seen`, oldest first, and whether more can come.

        Waits at most `wait` seconds; an empty list means that nothing is new.
        """
        with self._changed:
            if not self._after(seen) and not self.closed:
                self._changed.wait(wait)
            return self._after(seen), not self.closed

    def _after(self, seen: int) -> list[tuple[int, str, str]]:
        found = [(n, kind, text) for kind, (n, text) in self._newest.items() if n > seen]
        return sorted(found)
