"""All kinds of work by the name that a job file gives them."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple, Protocol

from assistant.job.kinds import (
    angular_clutch,
    bevel_gear,
    bolt_circle,
    clutch,
    flutes,
    graduations,
    helical_gear,
    helical_grooves,
    keyways,
    plain_cuts,
    plate_cam,
    plate_circle,
    polygon,
    ratchet,
    rule,
    splines,
    spur_gear,
    worm_wheel,
)
from assistant.job.part import Part, Shop
from assistant.job.reader import Table


class Work(Protocol):
    """What a kind's `read` gives: the drawing's figures, ready to be worked out."""

    def work_out(self, shop: Shop) -> Part:
        """The part; where it can't be made, its refusals say why and what would do."""


class Kind(NamedTuple):
    """`keys` are the ones of its own that its table may hold."""

    keys: tuple[str, ...]
    read: Callable[[Table], Work]


_MODULES = (
    polygon,
    spur_gear,
    helical_gear,
    helical_grooves,
    angular_clutch,
    bevel_gear,
    worm_wheel,
    graduations,
    rule,
    splines,
    keyways,
    clutch,
    ratchet,
    flutes,
    bolt_circle,
    plate_cam,
    plate_circle,
)

KINDS: dict[str, Kind] = {
    plain_cuts.DIVISIONS: Kind(plain_cuts.DIVISIONS_KEYS, plain_cuts.read_divisions),
    plain_cuts.ANGLES: Kind(plain_cuts.ANGLES_KEYS, plain_cuts.read_angles),
    **{module.KIND: Kind(module.KEYS, module.read) for module in _MODULES},
}
