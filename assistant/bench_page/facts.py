"""A view as the JSON-ready data that the page shows. Only text and numbers: never markup."""

from __future__ import annotations

from typing import Any

from assistant.bench_page import part, plate
from assistant.bench_page.ink import to_records
from assistant.view import View

PHASES = {
    "set-up": "Set up",
    "release": "Lock off",
    "index": "Turn",
    "lock": "Lock on",
    "guard": "Guard",
    "cut": "Cut",
    "measure": "Measure",
    "closing-check": "Closing check",
    "finished": "Finished",
    "paused": "Paused",
    "check-position": "Check place",
}


# What is awaited, in as few words as can be read from afar; "said" has the whole sentence.
SHORT = {
    "release": "Cutter clear, lock off",
    "index": "Pin in its hole",
    "lock": "Spindle locked",
    "guard": "Guard closed, hands clear",
    "cut": "Cut, then clear",
    "measure": "Cutter stopped: size?",
    "closing-check": "Pin back in the first hole",
    "finished": "Cutter stopped",
    "paused": "Press to carry on",
    "check-position": "Pin to the last certain hole",
}


def facts(view: View) -> dict[str, Any]:
    """Everything on the page that changes from event to event."""
    return {
        "title": f"{view.title}: {view.stage}" if view.stage else view.title,
        "phase": view.phase,
        "heading": PHASES.get(view.phase, view.phase),
        "cut": view.cut,
        "of": view.of,
        "pass": f"Pass {view.pass_number} of {view.passes}" if view.passes > 1 else "",
        "done": view.done,
        "label": view.label,
        "cells": [list(cell) for cell in view.cells],
        "awaited": awaited(view),
        "answer": view.answer,
        "move": view.move,
        "scale": view.scale,
        "said": view.said,
        "heard": view.heard,
        "verdict": verdict(view.heard),
        "lock": lock(view),
        "guard": standing(view.guarded, view.phase == "guard", False, "closed"),
        "lost": list(view.lost),
        "tooLoud": view.too_loud,
        "plate": drawing(view),
        "part": part_drawing(view),
    }


def awaited(view: View) -> str:
    """What is asked for, short; the set-up's item; the session's own words for what is rare."""
    rare = (view.phase == "index" and not view.move) or (view.phase == "lock" and view.unlocked)
    short = "" if rare or (view.cells and view.phase == "measure") else SHORT.get(view.phase, "")
    return view.item or short or view.awaited[:1].upper() + view.awaited[1:]


def verdict(heard: str) -> str:
    """Whether the last thing heard or pressed was taken: the view's own closing words."""
    for words in ("refused", "taken"):
        if heard.endswith(f", {words}"):
            return words
    return "other" if heard else ""


def lock(view: View) -> dict[str, str]:
    """The spindle lock, which in helical milling has to stay off."""
    if view.unlocked:
        asked = view.phase in ("lock", "release")
        return (
            {"state": "asked", "words": "off?"} if asked else {"state": "no", "words": "stays off"}
        )
    return standing(view.locked, view.phase == "lock", view.phase == "release", "on")


def standing(confirmed: bool, asked: bool, asked_off: bool, words: str) -> dict[str, str]:
    """Lock or guard: what was answered, or that it is being asked now."""
    if asked_off:
        return {"state": "asked", "words": "off?"}
    if asked and not confirmed:
        return {"state": "asked", "words": f"{words}?"}
    return {"state": "yes", "words": words} if confirmed else {"state": "no", "words": "not yet"}


def drawing(view: View) -> dict[str, Any] | None:
    if view.plate is None:
        return None
    return {"marks": to_records(plate.overlay(view.plate)), "caption": plate.caption(view.plate)}


def part_drawing(view: View) -> dict[str, Any] | None:
    if view.part is None:
        return None
    return {
        "done": view.part.done,
        "rough": view.part.passed > 0,
        "marks": to_records(part.overlay(view.part)),
        "caption": part.caption(view.part),
    }
