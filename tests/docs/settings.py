"""The settings file that is shipped, from the settings themselves: `python -m tests.docs.settings`.

Headings, and what stands after the last section, are kept as they are.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import fields
from typing import Any

from assistant.files.sections import SECTIONS, remark
from tests.commands import ROOT

FILE = ROOT / "config" / "tallyhand.toml"
_WIDE = 28  # where remarks begin


def lines(section: type[Any]) -> Iterator[str]:
    """A line a setting: its default, what it is, what it may be."""
    for each in fields(section):
        first, *more = remark(each).split("\n")
        line = f"{each.name} = {json.dumps(each.default)}"
        yield f"{line:<{_WIDE - 1}} # {first}" if first else line
        yield from (f"{'':<{_WIDE}}# {text}" for text in more)


def filled() -> str:
    """The file with every section as it is today. Raises ValueError without its heading."""
    text = FILE.read_text("utf-8")
    for name, section in SECTIONS.items():
        old = re.search(rf"(?m)^(\[{name}\].*\n)((?:.+\n)*)", text)
        if old is None:
            raise ValueError(f"{FILE.name}: write a heading [{name}]")
        body = "".join(f"{line}\n" for line in lines(section))
        text = f"{text[: old.start()]}{old[1]}{body}{text[old.end() :]}"
    return text


if __name__ == "__main__":
    FILE.write_text(filled(), "utf-8")
