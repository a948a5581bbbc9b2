"""A head's file from its draft; read by the solver before it takes its place."""

from __future__ import annotations

import json
import time
from fractions import Fraction
from pathlib import Path

from assistant.errors import Refusal, passed_on
from assistant.setup.head_draft import Draft, plate_name
from solver import Head, Refused, number_from_text, parse_head


def as_text(draft: Draft) -> str:
    """The TOML of a draft that is answered to its end."""
    direct = draft.direct_circle or 0
    lines = [
        "# Written by `tallyhand setup`: a head described by counting the holes of its plates.",
        "format = 1",
        f"name = {json.dumps(draft.name)}",
        f"describe = {json.dumps(draft.describe or '', ensure_ascii=False)}",
        f"worm_ratio = {_ratio(draft.worm_ratio)}   # turns of the crank for one of the spindle",
        f"direct_circle = {[direct] if direct else []}   # holes of the plate on the spindle",
        f'plate_drive = "{draft.plate_drive or "fixed"}"',
        f"tilt_degrees = {draft.tilt_degrees or [0, 0]}",
        f"scale_degrees = {_ratio(draft.scale_degrees or '0')}   # smallest division; 0: none",
        f"change_gears = {draft.change_gears or []}",
        f"idlers_for_with = {1 if draft.idlers_for_with is None else draft.idlers_for_with}"
        "   # of a simple train, that turn the plate with the crank",
    ]
    for nth, circles in enumerate(draft.plates):
        lines += [
            "",
            "[[plate]]",
            f"name = {json.dumps(plate_name(draft, nth), ensure_ascii=False)}",
            f"circles = {circles}",
        ]
    return "\n".join(lines) + "\n"


def write_head(draft: Draft) -> tuple[Path, Head]:
    """The file and the head in it. An older file of that name is kept beside it.

    Raises Refusal when the solver's reader finds a fault, or the folder can't be written.
    """
    folder = draft.folder
    file = folder / f"{draft.name}.toml"
    try:
        text = as_text(draft)
        head = parse_head(text, str(file))
    except Refused as error:
        raise passed_on(error) from error
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if file.exists() and file.read_text("utf-8") != text:
            file.replace(file.with_name(f"{file.name}.before-{time.strftime('%Y%m%dT%H%M%S')}"))
        part = folder / f".{draft.name}.toml.part"
        part.write_text(text, "utf-8")
        part.replace(file)
    except OSError as error:
        raise Refusal(f"{file}: {error.strerror}", "make that folder writable") from error
    return file, head


def _ratio(text: str) -> str:
    """As TOML holds it exactly: a whole number bare, any other as text."""
    value: Fraction = number_from_text(text)
    return str(value) if value.denominator == 1 else f'"{value}"'
