"""Limits that are closer than a dial can be set: the dial alone can't hold them."""

from __future__ import annotations

from assistant.job.limits import CALLED, FINELY
from assistant.job.measuring import least_room
from assistant.job.part import Objection, Part
from assistant.job.units import shown
from solver import Millimetres


def narrow_limits(part: Part, dial: Millimetres | None) -> tuple[Objection, ...]:
    """One question for a part, about the size whose limits leave a dial the least room.

    `dial`: what the machine's dials are divided to, mm; None: not known.
    """
    closest = least_room(part.measurements)
    if closest is None:
        return ()
    leaves = f"these limits leave the dial {shown(closest, part.unit)}"
    if dial is None and closest < CALLED[part.unit]:
        text = (
            f"{leaves}, called to {shown(FINELY[part.unit], part.unit)}: measure in every pass, "
            'and give what the dial is divided to, like [machine] dial = "0.02 mm"'
        )
    elif dial is not None and closest < dial / 2:  # half a division is judged by eye
        text = (
            f"{leaves}, and it is divided to {shown(dial, part.unit)}: "
            "measure in every pass, or widen them"
        )
    else:
        return ()
    return (Objection(part.limited, text),)
