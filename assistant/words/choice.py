"""One of several to choose from."""

from __future__ import annotations

from typing import NamedTuple


class Choice(NamedTuple):
    """`key` is what is kept, `text` what is shown."""

    key: str
    text: str
