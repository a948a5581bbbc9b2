"""A view as the JSON-ready data that the page shows. Only text and numbers: never markup."""

from __future__ import annotations

from typing import Any

from assistant.drawing import part_view, plate
from assistant.drawing.ink import to_records
from assistant.engine.view import View
from assistant.words.language import mark, say, speaking

PHASES = {
    "set-up": mark("Set up"),
    "release": mark("Lock off"),
    "index": mark("Turn"),
    "lock": mark("Lock on"),
    "guard": mark("Guard"),
    "cut": mark("Cut"),
    "measure": mark("Measure"),
    "closing-check": mark("Closing check"),
    "finished": mark("Finished"),
    "paused": mark("Paused"),
    "check-position": mark("Check place"),
}

# What is awaited, in as few words as can be read from afar; "said" has the whole sentence.
SHORT = {
    "release": mark("Cutter clear, lock off"),
    "index": mark("Pin in its hole"),
    "lock": mark("Spindle locked"),
    "guard": mark("Guard closed, hands clear"),
    "cut": mark("Cut, then clear"),
    "measure": mark("Cutter stopped: size?"),
    "closing-check": mark("Pin back in the first hole"),
    "finished": mark("Cutter stopped"),
    "paused": mark("Press to carry on"),
    "check-position": mark("Pin to the last certain hole"),
}


def facts(view: View) -> dict[str, Any]:
    """Everything on the page that changes from event to event."""
    with speaking(view.language):
        return _facts(view)


def _facts(view: View) -> dict[str, Any]:
    passes = say("Pass {n} of {total}", n=view.pass_number, total=view.passes)
    return {
        "title": f"{view.title}: {view.stage}" if view.stage else view.title,
        "phase": view.phase,
        "heading": say(PHASES.get(view.phase, view.phase)),
        "tally": say("item") if view.item else say("cut"),
        "cut": view.item_number or view.cut,
        "of": view.items if view.item else view.of,
        "pass": passes if view.passes > 1 else "",
        "done": view.done,
        "made": say("{done} of {total} made", done=view.done, total=view.of),
        "label": view.label,
        "cells": [list(cell) for cell in view.cells],
        "awaited": awaited(view),
        "answer": view.answer,
        "acts": list(view.acts),
        "move": view.move,
        "scale": view.scale,
        "said": view.said,
        "heard": view.heard,
        "verdict": verdict(view.heard),
        "lock": lock(view),
        "guard": standing(view.guarded, view.phase == "guard", False, say("closed")),
        "lost": list(view.absent),
        "tooLoud": view.too_loud,
        "plate": drawing(view),
        "part": part_drawing(view),
    }


def awaited(view: View) -> str:
    """What is asked for, short; the set-up's item; the session's own words for what is rare."""
    rare = (view.phase == "index" and not view.move) or (view.phase == "lock" and view.unlocked)
    known = "" if rare or (view.cells and view.phase == "measure") else SHORT.get(view.phase, "")
    short = say(known)
    return view.item or short or view.awaited[:1].upper() + view.awaited[1:]


def verdict(heard: str) -> str:
    """Whether the last thing heard or pressed was taken: the view's own closing words."""
    for words, sentence in _VERDICTS.items():
        before, _, after = say(sentence, what="\0").partition("\0")
        if heard.startswith(before) and heard.endswith(after):
            return words
    return "other" if heard else ""


_VERDICTS = {"refused": mark("{what}, refused"), "taken": mark("{what}, taken")}


def lock(view: View) -> dict[str, str]:
    """The spindle lock, which in helical milling has to stay off."""
    if view.unlocked:
        asked = view.phase in ("lock", "release")
        return (
            {"state": "asked", "words": say("off?")}
            if asked
            else {"state": "no", "words": say("stays off")}
        )
    return standing(view.locked, view.phase == "lock", view.phase == "release", say("on"))


def standing(confirmed: bool, asked: bool, asked_off: bool, words: str) -> dict[str, str]:
    """Lock or guard: what was answered, or that it is being asked now."""
    if asked_off:
        return {"state": "asked", "words": say("off?")}
    if asked and not confirmed:
        return {"state": "asked", "words": f"{words}?"}
    return {"state": "yes", "words": words} if confirmed else _not_yet()


def _not_yet() -> dict[str, str]:
    return {"state": "no", "words": say("not yet")}


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
        "marks": to_records(part_view.overlay(view.part)),
        "caption": part_view.caption(view.part),
    }
