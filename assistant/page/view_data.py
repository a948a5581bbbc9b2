"""A view as the JSON-ready data that the page shows. Only text and numbers: never markup."""

from __future__ import annotations

from typing import Any

from assistant.drawing import part_view, plate
from assistant.drawing.ink import to_records
from assistant.engine.view import View
from assistant.words.language import mark, say, speaking

PHASES = {
    "set-up": mark("Set up"),
    "release": mark("Unlock"),
    "index": mark("Turn"),
    "lock": mark("Lock"),
    "guard": mark("Guard"),
    "cut": mark("Cut"),
    "measure": mark("Measure"),
    "closing-check": mark("Closing check"),
    "finished": mark("Finished"),
    "paused": mark("Paused"),
    "check-position": mark("Check place"),
}

# Of steps that ask for something else than their phase does.
_HEADINGS = {
    "trial-clear": mark("Trial round"),
    "trial-move": mark("Trial round"),
    "at-pin": mark("Look"),
    "back-off": mark("Turn back"),
    "come-up": mark("Come up"),
    "leave-off": mark("Before the cut"),
    "call": mark("Turn"),
}
_LOCK_OFF = ("release", "trial-clear", "free", "leave-off")
"""Steps that ask for the lock to be off."""


def page_data(view: View) -> dict[str, Any]:
    """Everything on the page that changes from event to event."""
    with speaking(view.language):
        return _facts(view)


def _facts(view: View) -> dict[str, Any]:
    passes = say("Pass {n} of {total}", n=view.pass_number, total=view.passes)
    return {
        "title": f"{view.title}: {view.stage}" if view.stage else view.title,
        "phase": view.phase,
        "heading": say(_HEADINGS.get(view.step) or PHASES.get(view.phase, view.phase)),
        "tally": say("item") if view.item else say("cut"),
        "cut": view.item_number or view.cut,
        "of": view.items if view.item else view.of,
        "pass": passes if view.passes > 1 else "",
        "batch": batch(view),
        "press": say("Next part") if view.next_part else say("Done"),
        "done": view.done,
        "made": say("{done} of {total} made", done=view.done, total=view.of),
        "label": view.label,
        "cells": [list(cell) for cell in view.cells],
        "steady": [list(cell) for cell in view.steady],
        "needed": list(view.needed),
        "order": bool(view.request) and not view.item,
        "measured": view.measured,
        "entry": entry(view),
        "awaited": awaited_shown(view),
        "answer": view.answer,
        "acts": list(view.acts),
        "move": view.move,
        "scale": view.scale,
        "said": view.news,
        "heard": view.heard.words,
        "verdict": view.heard.verdict.value if view.heard.verdict else "",
        "lock": lock_shown(view),
        "guard": guard_shown(view),
        "warnings": warnings_shown(view),
        "plate": plate_overlay(view),
        "part": part_drawing(view),
    }


def batch(view: View) -> str:
    """Which part of a batch is in hand; "" for a single part."""
    if view.parts == 1:
        return ""
    return say("Part {n} of {total}", n=view.part_number, total=view.parts)


def awaited_shown(view: View) -> str:
    """What is asked for: an order in capitals, the set-up's item, or the session's words."""
    return view.item or view.request or view.awaited[:1].upper() + view.awaited[1:]


def warnings_shown(view: View) -> list[str]:
    """What is away, and why some answers do not count now."""
    away = say("Away: {devices}", devices=", ".join(view.absent)) if view.lost else ""
    loud = say("Too loud for my ear: press for lock and guard") if view.too_loud else ""
    return [each for each in (view.heard.notice, away, loud) if each]


def entry(view: View) -> dict[str, str] | None:
    """What may be typed on the page now, and whether a press would do without it."""
    if "figure" not in view.acts:
        return None
    size = view.phase == "measure"
    label = say("The size that you measured") if size else say("Another cut is next: its number")
    return {"label": label, "skips": "yes" if view.step == "measure" else ""}


def lock_shown(view: View) -> dict[str, str]:
    """The spindle lock as it was last confirmed, which in helical milling has to stay off."""
    if view.lock_is == "locked":
        return {"state": "yes", "words": say("locked")}
    if view.lock_is == "off":
        return {"state": "off", "words": say("stays off") if view.unlocked else say("off")}
    return {"state": "no", "words": say("off?")} if view.step in _LOCK_OFF else _not_yet()


def guard_shown(view: View) -> dict[str, str]:
    """The guard, as it was confirmed for this very cut."""
    return {"state": "yes", "words": say("closed")} if view.guarded else _not_yet()


def _not_yet() -> dict[str, str]:
    return {"state": "no", "words": say("not yet")}


def plate_overlay(view: View) -> dict[str, Any] | None:
    """What lies over the plate now, with its caption; None where no plate is shown."""
    if view.plate is None:
        return None
    return {"marks": to_records(plate.overlay(view.plate)), "caption": plate.caption(view.plate)}


def part_drawing(view: View) -> dict[str, Any] | None:
    """What lies over the part now, with its caption; None where no part is shown."""
    if view.part is None:
        return None
    return {
        "done": view.part.done,
        "rough": view.part.passed > 0,
        "marks": to_records(part_view.overlay(view.part)),
        "caption": part_view.caption(view.part),
    }
