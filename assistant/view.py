"""What a display is given to show: plain strings and numbers, already worded."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class View:
    """The session at a glance."""

    title: str
    phase: str  # a phase of the contract: "index", "lock", ...
    cut: int  # the cut being worked on, 1 to `of`
    of: int
    pass_number: int
    done: int
    move: str  # "Four turns, then eight holes on the eighteen circle.", or ""
    figures: str  # the same in figures: "4 turns + 8 holes on 18", or ""
    awaited: str  # what the person is asked for
    scale: str  # "80°", or "" where the head has no scale
    said: str  # the last sentence spoken
    heard: str  # the last thing heard or pressed, and whether it was taken
    locked: bool
    guarded: bool
    lost: tuple[str, ...] = ()  # devices that are away
