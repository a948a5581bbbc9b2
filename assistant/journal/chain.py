"""A chain of hashes over a journal: each record's hash takes in the hash of the one before.

Link 0 is the SHA-256 (FIPS 180-4) of the session's own data, link n that of link n - 1 and
record n. So the last link stands for the whole journal: one letter changed, one record taken
out, put in or moved, and every link from there on is another.

There is no secret in it. Who rewrites the whole journal can rewrite the chain as well, and
only a last link that was noted elsewhere (on the job card, say) shows that.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from hashlib import sha256 as _sha256
from json.encoder import encode_basestring_ascii as _quoted
from math import isfinite

_HEAD = b"tallyhand journal\n"


def first_link(about: Mapping[str, str]) -> str:
    """The link that stands for the session's own data, 64 hexadecimal digits."""
    return _sha256(_HEAD + _bytes(sorted(about.items()))).hexdigest()


def next_link(before: str, seq: int, at: float, event: str, state: str) -> str:
    """The link of a record, made at `at` (seconds since 1970); `event` and `state` are the very
    texts that are stored."""
    # What `_bytes` makes of it, put together here where it is of the usual types: a long journal
    # has a hundred thousand records, a folder many journals.
    usual = type(seq) is int and type(at) is float and type(event) is type(state) is str
    if usual and isfinite(at):
        text = f"{before}\n[{seq},{at!r},{_quoted(event)},{_quoted(state)}]".encode()
    else:
        text = f"{before}\n".encode() + _bytes([seq, at, event, state])  # a spoilt one
    return _sha256(text).hexdigest()


def _bytes(value: object) -> bytes:
    """JSON in plain ASCII: no two values give the same bytes."""
    return json.dumps(value, separators=(",", ":")).encode("ascii")
