"""The version of a TOML file: `format = 1` at its top says for which form it was written.

A file without the key is of the first form. A newer one is refused before anything else in it
is looked at, since its other lines may mean something this program does not know.
"""

from __future__ import annotations

from typing import Any

KEY = "format"
KNOWN = 1
"""The newest form of settings, phrases and job files that this program reads."""


class FormatFault(ValueError):
    """The file's form is not known here; one line with the cure."""


def take(data: dict[str, Any]) -> None:
    """Remove the key from `data`. Raises FormatFault for a form that is not known here."""
    found = data.pop(KEY, KNOWN)
    if type(found) is not int or found < 1:
        raise FormatFault(f"{KEY} = {found!r}: write {KEY} = {KNOWN}, or leave the line out")
    if found > KNOWN:
        raise FormatFault(
            f"{KEY} = {found}: written for a newer tallyhand, this one reads up to {KNOWN}; "
            "update tallyhand (the file is left as it is)"
        )
