"""Answers as the text of a job file, with a comment beside each; and read again from one."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

import tomlkit
from tomlkit.items import Table

from assistant.files import file_format
from assistant.job.question import ASKED, Place, Question, Value
from assistant.words.language import say

_ORDER = ("", "work", "cutter", "machine", "session")


def text_of(values: Mapping[Place, Value], questions: Iterable[Question]) -> str:
    """The whole file; a comment says which question a line answers."""
    asked = {question.place: question for question in questions}
    first = say("Written by tallyhand job new; tallyhand job edit asks again.")
    lines = [f"# {first}", "format = 1"]
    for table in _ORDER:
        mine = [(key, value) for (where, key), value in values.items() if where == table]
        if not mine:
            continue
        lines += ["", f"[{table}]"] if table else []
        lines += [_line(key, value, asked.get((table, key))) for key, value in mine]
    return "\n".join(lines) + "\n"


def _line(key: str, value: Value, question: Question | None) -> str:
    written = f"{key} = {literal(value)}"
    return f"{written}   # {say(question.ask)}" if question else written


def literal(value: Any) -> str:
    """As TOML writes it, on one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {literal(each)}" for key, each in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(literal, value)) + "]"
    return json.dumps(value, ensure_ascii=False)


def values_in(data: Mapping[str, Any]) -> dict[Place, Value]:
    """What a job file holds, by table and key; a ring's table is called ring[2]."""
    found: dict[Place, Value] = {}
    for key, value in data.items():
        if isinstance(value, dict):
            found |= {(key, inner): each for inner, each in value.items()}
        elif key == "ring" and isinstance(value, list):
            for n, ring in enumerate(value, 1):
                rows = ring if isinstance(ring, dict) else {}
                found |= {(f"ring[{n}]", inner): each for inner, each in rows.items()}
        elif key != file_format.KEY:
            found["", key] = value
    return found


def changed(text: str, new: Mapping[Place, Value | None]) -> str:
    """The same text with these values in it; comments and order stay. None takes a line out."""
    document = tomlkit.parse(text)
    for (table, key), value in new.items():
        if table == ASKED:
            continue
        place: Any = _table(document, table)
        if value is None:
            place.pop(key, None)
        else:
            place[key] = _item(value)
    return tomlkit.dumps(document)


def _item(value: Value) -> Any:
    """A list of tables stays in its line."""
    return tomlkit.parse(f"x = {literal(value)}")["x"] if isinstance(value, list) else value


def _table(document: Any, name: str) -> Any:
    if not name:
        return document
    if name.startswith("ring["):
        return document["ring"][int(name[5:-1]) - 1]
    if name not in document:
        table: Table = tomlkit.table()
        document[name] = table
    return document[name]
