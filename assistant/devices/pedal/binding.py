"""Which key of which device is the pedal, and the second one: taught once by pressing them.

The file is `pedal.toml` beside the settings, so that the person's own file keeps its words.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any, Literal

from assistant.errors import Refusal
from assistant.files.toml_lines import TomlFault, line_of, parse

FILE_NAME = "pedal.toml"
FIRST, SECOND = "pedal", "second"
"""The tables of the file."""


@dataclass(frozen=True, slots=True)
class KeyBinding:
    """`source` is "evdev" or "x". `key` is for people; `code` is what is compared: the code
    of the input event, or the key symbol under X. `device` and `ident` (vendor and product,
    "1209:0001") name the device under evdev, and are empty under X, which can't tell.
    `types` is the character that the key types, if any."""

    source: Literal["evdev", "x"]
    key: str
    code: int
    device: str = ""
    ident: str = ""
    types: str = ""


def pedal_file(settings_file: Path) -> Path:
    """Where the taught pedal is kept for these settings."""
    return settings_file.with_name(FILE_NAME)


def write_binding(file: Path, binding: KeyBinding, name: str = FIRST) -> None:
    """The other pedal stays as it is, unless it is this very key. Raises Refusal where the file
    can't be written."""
    both = {name: binding}
    other = SECOND if name == FIRST else FIRST
    try:
        if (kept := read_binding(file, other)) and kept != binding:
            both[other] = kept
    except Refusal:
        pass  # damaged: what is taught now is whole
    lines = ["# Written by `tallyhand doctor --learn-pedal` and `--learn-second-pedal`."]
    for table in sorted(both):
        lines.append(f"[{table}]")
        # A JSON string or number is a TOML one, too.
        lines += [f"{key} = {json.dumps(value)}" for key, value in asdict(both[table]).items()]
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    except OSError as error:
        raise Refusal(f"{file}: {error.strerror}", "make that folder writable") from error


def read_binding(file: Path, name: str = FIRST) -> KeyBinding | None:
    """The pedal; None when none was taught. Raises Refusal for a damaged file."""
    if not file.exists():
        return None
    try:
        text = file.read_text(encoding="utf-8")
        found = parse(text).get(name, {})
    except (OSError, UnicodeDecodeError, TomlFault) as error:
        line = error.line if isinstance(error, TomlFault) else 1
        raise _damaged(file, line, str(error)) from error
    if not found and name == SECOND:
        return None
    for field in fields(KeyBinding):
        _check(file, text, found, field.name, name)
    return KeyBinding(**{field.name: found[field.name] for field in fields(KeyBinding)})


def _check(file: Path, text: str, found: dict[str, Any], name: str, table: str) -> None:
    wanted = int if name == "code" else str
    if not isinstance(found.get(name), wanted):
        raise _damaged(file, line_of(text, table, name), f"no {name} that makes sense")
    if name == "source" and found[name] not in ("evdev", "x"):
        raise _damaged(file, line_of(text, table, name), f"source {found[name]!r}")


def _damaged(file: Path, line: int, what: str) -> Refusal:
    cure = "teach the pedal again: tallyhand doctor --learn-pedal"
    return Refusal(f"{file} line {line}: {what}", cure)
