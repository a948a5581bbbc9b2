"""What a display is given to show: plain strings and numbers, already worded."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from assistant.job.shapes import Drawing


@dataclass(frozen=True, slots=True)
class PlateSight:
    """Index plate, direct plate, the handwheel's dial or the faces of a block, as it stands.

    Places are exact parts of a turn, 0 or more and under 1, clockwise from the first hole;
    with the crank pin they are places on the plate itself, whether the plate turns or not.
    """

    kind: str  # "plate" | "direct" | "dial" | "block"
    name: str  # the plate's own name, "" where it has none
    circles: tuple[int, ...]  # holes of every circle, rising
    circle: int  # holes of the circle in use; 0 on a dial
    pin: Fraction  # where the pin (or the dial) was last confirmed
    target: Fraction | None = None  # where the announced move leads; None when none is announced
    turns: int = 0  # whole turns of the announced move
    spaces: int = 0  # holes to count after them
    arms: int = 0  # spaces between the sector arms, which stand at the pin; 0: not used
    dial_minutes: Fraction = Fraction(0)  # minutes of the spindle in one turn of a dial
    radii: tuple[float, ...] = ()  # of the circles, mm; none where the head file gives none
    setting: bool = False  # the arms are being set: what they embrace is shown, and no move


@dataclass(frozen=True, slots=True)
class PartSight:
    """The part, seen along its axis. Cut n (from 0) is made at `angles[n]`."""

    angles: tuple[float, ...]  # turns of the spindle, in the order of the cuts
    done: int  # cuts made in this pass: the first `done` of them
    due: int | None  # the cut to be made next, None when all are made
    standing: float  # where the spindle was last confirmed, in turns
    drawing: Drawing | None = None  # the part itself, where the job tells its shape
    place: int = 0  # the cut at which the spindle was last confirmed
    passed: int = 0  # passes finished before this one


class Verdict(StrEnum):
    """What became of the last thing heard or pressed."""

    TAKEN = "taken"
    REFUSED = "refused"
    OTHER = "other"  # none of the words that mean something


@dataclass(frozen=True, slots=True)
class LastInput:
    """The last thing heard or pressed, worded for a display, and what became of it."""

    words: str = ""
    verdict: Verdict | None = None
    notice: str = ""  # why some answers, or all of them, do not count now


NOTHING_HEARD = LastInput()


# What each phase needs to be seen beside its question. What can't matter now is not shown.
NEEDED = {
    "set-up": ("plate",),
    "release": ("lock", "part"),
    "index": ("lock", "plate", "scale"),
    "lock": ("lock", "plate", "scale"),
    "guard": ("lock", "guard", "part"),
    "cut": ("lock", "guard", "part"),
    "measure": ("part",),
    "closing-check": ("plate", "scale"),
    "finished": ("part",),
    "paused": ("part",),
    "check-position": ("plate", "scale"),
}


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
    heard: LastInput  # what of it is new: nothing where only something else has changed
    locked: bool
    guarded: bool
    lost: tuple[str, ...] = ()  # devices that are away
    cells: tuple[tuple[str, str], ...] = ()  # the figures apart: ("4", "turns"), ("8", "holes")
    answer: str = ""  # the phrase that answers what is awaited
    item: str = ""  # the set-up item being asked
    item_number: int = 0  # which one, from 1, of `items`; 0 when the set-up is done
    items: int = 0
    passes: int = 1
    label: str = ""  # how this cut is called: "tooth space four"
    stage: str = ""  # the stage of the job, where it has several
    unlocked: bool = False  # the head is driven in the cut: the lock must stay off
    language: str = "en"  # of the words above, and of the display's own
    away: tuple[str, ...] = ()  # the devices that are away, as they are called
    acts: tuple[str, ...] = ()  # what can be given beside answers: "figure", "scrap"
    too_loud: bool = False  # to trust the ear: lock and guard by pedal and key alone
    plate: PlateSight | None = None
    part: PartSight | None = None
    step: str = ""  # of the table: "index", "come-up", ...
    request: str = ""  # what is asked of the hands, in capitals: "LOCK THE SPINDLE"
    lock_is: str = ""  # as last confirmed: "locked", "off"; "" where nothing is certain
    steady: tuple[tuple[str, str], ...] = ()  # figures that this step needs and no cut changes
    measured: str = ""  # what is to be measured, over which faces
    deaf: bool = False  # nothing that is said is heard: no ear, or it is away
    part_number: int = 1  # which part of the batch, of `parts`
    parts: int = 1
    next_part: bool = False  # the answer to what is asked now leads to another part

    @property
    def absent(self) -> tuple[str, ...]:
        """The devices that are away, as they are called; else by the names of the record."""
        return self.away or self.lost

    @property
    def needed(self) -> tuple[str, ...]:
        """What is shown beside the question. Where the lock alone is asked for, a reading that is
        to be looked at stands large among the figures, and no other matters."""
        scale = self.scale and self.step != "lock"
        return tuple(each for each in NEEDED.get(self.phase, ()) if each != "scale" or scale)

    @property
    def news(self) -> str:
        """What was said; the set-up's item stands by itself, and not twice."""
        rest = self.said.replace(self.item, "", 1).strip() if self.item else ""
        return rest or self.said
