"""What of a head's plates and change gears lies in the person's drawer."""

from __future__ import annotations

from dataclasses import dataclass

from solver import Head

_FEWEST_GEARS = 2  # a train has a driver and a driven


@dataclass(frozen=True, slots=True)
class Owned:
    """None: all that the head's file has. Gears may be there that the head came without."""

    plates: tuple[str, ...] | None = None
    gears: tuple[int, ...] | None = None

    def __bool__(self) -> bool:
        return self.plates is not None or self.gears is not None

    def of(self, head: Head) -> Head:
        """The head as it can be set up with these."""
        if self.plates is not None:
            kept = tuple(plate for plate in head.plates if plate.name in self.plates)
            head = head._replace(plates=kept)
        if self.gears is None or head.plate_drive != "geared":
            return head
        # A head whose gears are missing can still hold its plate by the back pin.
        if len(self.gears) < _FEWEST_GEARS:
            return head._replace(plate_drive="pinned", change_gears=())
        return head._replace(change_gears=self.gears)


ALL = Owned()
