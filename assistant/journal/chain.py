"""A chain of hashes over a journal: each record's hash takes in the hash of the one before.

Link 0 is the SHA-256 (FIPS 180-4) of the session's own data, link n that of link n - 1 and
record n. So the last link stands for the whole journal: one letter changed, one record taken
out, put in or moved, and every link from there on is another.

There is no secret in it. Who rewrites the whole journal can rewrite the chain as well, and
only a last link that was noted elsewhere (on the job card, say) shows that.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from json.encoder import encode_basestring_ascii as _quoted
from math import isfinite

_HEAD = b"tallyhand journal\n"


def first_link(about: Mapping[str, str]) -> str:
    """The link that stands for the session's own data, 64 hexadecimal digits."""
    return hashlib.sha256(_HEAD + _bytes(sorted(about.items()))).hexdigest()


def next_link(before: str, seq: int, at: float, event: str, state: str) -> str:
    """The link of a record; `event` and `state` are the very texts that are stored."""
    return hashlib.sha256(f"{before}\n{_text(seq, at, event, state)}".encode()).hexdigest()


def _text(seq: int, at: float, event: str, state: str) -> str:
    """What `_bytes` makes of a record, put together here where it is of the usual types: a long
    journal has a hundred thousand, a folder many journals."""
    if (type(seq), type(at), type(event), type(state)) != (int, float, str, str):
        return _bytes([seq, at, event, state]).decode("ascii")  # a spoilt one
    figure = float.__repr__(at) if isfinite(at) else json.dumps(at)
    return f"[{seq},{figure},{_quoted(event)},{_quoted(state)}]"


def _bytes(value: object) -> bytes:
    """JSON in plain ASCII: no two values give the same bytes."""
    return json.dumps(value, separators=(",", ":")).encode("ascii")
