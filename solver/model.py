"""The plain data of indexing: a head, a move, a set-up. Angles are exact, in spindle turns."""

from fractions import Fraction
from typing import Any, NamedTuple, NewType

ARCSEC_PER_TURN = 360 * 60 * 60
MINUTES_PER_TURN = 360 * 60
BEYOND = 2  # holes beyond arms that stay set, at the most: more would be counting again


Turns = NewType("Turns", Fraction)
"""An angle in whole turns, of the spindle where nothing else is said; exact."""
Degrees = NewType("Degrees", Fraction)
ArcMinutes = NewType("ArcMinutes", Fraction)
"""Minutes of arc at the spindle."""
Millimetres = NewType("Millimetres", Fraction)
"""A length; inches are made into it where they are read."""


def in_degrees(angle: Turns) -> Degrees:
    """360 to a turn."""
    return Degrees(angle * 360)


def in_turns(angle: ArcMinutes) -> Turns:
    """A turn has 21,600 minutes of arc."""
    return Turns(angle / MINUTES_PER_TURN)


def in_arc_minutes(angle: Turns) -> ArcMinutes:
    """21,600 to a turn."""
    return ArcMinutes(angle * MINUTES_PER_TURN)


class Refused(ValueError):
    """What was asked makes no sense: `what`, with its place, and the `cure`, "" where the one says
    the other; shown in one line, with `between` between them."""

    def __init__(self, what: str, cure: str = "", between: str = ": ") -> None:
        super().__init__(f"{what}{between}{cure}" if cure else what)
        self.what, self.cure, self.between = what, cure, between


class Plate(NamedTuple):
    """An index plate, or one face of a two-faced plate: circles of equally spaced holes.

    `radii_mm` are the circles' radii, one each, for drawings alone; empty: not given.
    """

    name: str
    circles: tuple[int, ...]
    radii_mm: tuple[Fraction, ...] = ()


class Handwheel(NamedTuple):
    """A graduated handwheel; the smallest step read on it, in minutes of the SPINDLE."""

    division_minutes: ArcMinutes


class HeadErrors(NamedTuple):
    """What the head's own papers state, each a bound (plus or minus), in arc-seconds.

    `worm` is seen at the spindle; `plate` is the place of a hole seen from the plate's
    centre (the worm divides it by its ratio); `direct` the same for the direct plate.
    None: not stated. The waves are what a calibration found (docs/head-errors.md), cosine and
    sine by turns from the nought of the degree scale: `worm_wave` once a turn of the crank,
    `wheel_waves` once and twice a turn of the spindle; empty: never measured. `known_within` is
    how far the truth may still lie from them.
    """

    worm_arcsec: Fraction | None = None
    plate_arcsec: Fraction | None = None
    direct_arcsec: Fraction | None = None
    worm_wave: tuple[Fraction, ...] = ()
    wheel_waves: tuple[Fraction, ...] = ()
    known_within: Fraction | None = None


class Head(NamedTuple):
    """A dividing head or rotary table.

    `worm_ratio` is crank turns for one spindle turn. `plate_drive` is `fixed`, `pinned`
    (the plate can be turned against a back pin) or `geared` (change gears can drive it;
    with the gears off, its back pin holds it as on a pinned head), or `block`: no head, but a
    collet block in a vice, its faces counted by `direct_circle`. `idlers_for_with` is how
    many idlers of a simple train turn the plate with the crank. `scale_degrees` is the
    smallest division of the spindle's degree scale, 0 where there is none.
    """

    name: str
    describe: str
    worm_ratio: Fraction
    direct_circle: tuple[int, ...] = ()
    plate_drive: str = "fixed"
    tilt_degrees: tuple[Degrees, Degrees] = (Degrees(Fraction(0)), Degrees(Fraction(0)))
    scale_degrees: Degrees = Degrees(Fraction(0))
    change_gears: tuple[int, ...] = ()
    idlers_for_with: int = 1
    plates: tuple[Plate, ...] = ()
    handwheel: Handwheel | None = None
    errors: HeadErrors = HeadErrors()


class Gearing(NamedTuple):
    """Change gears between spindle and plate.

    `drivers` and `driven` count from the spindle side: the first driver sits on the
    spindle, the last driven on the plate's shaft. `plate` is `with` or `against` the crank.
    `orders` are the ways to arrange the train that clear each other, best first, each
    written as it is met from the spindle to the plate.
    """

    drivers: tuple[int, ...]
    driven: tuple[int, ...]
    idlers: int
    plate: str
    orders: tuple[tuple[int, ...], ...] = ()

    def to_record(self) -> dict[str, Any]:
        """As JSON-ready data, the counts of teeth as lists."""
        return {
            "drivers": list(self.drivers),
            "driven": list(self.driven),
            "idlers": self.idlers,
            "plate": self.plate,
            "orders": [list(order) for order in self.orders],
        }

    @classmethod
    def from_record(cls, record: dict[str, Any]) -> "Gearing":
        """What `to_record` wrote; KeyError where a count is missing."""
        return cls(
            drivers=tuple(record["drivers"]),
            driven=tuple(record["driven"]),
            idlers=record["idlers"],
            plate=record["plate"],
            orders=tuple(tuple(order) for order in record.get("orders", ())),
        )


class Move(NamedTuple):
    """One call to the person, done `times` times over.

    On the crank: `turns` whole turns, then `holes` on `circle`; then `plate_holes` on
    `plate_circle`, plate and crank together against the back pin (minus is backwards).
    On the direct plate: `direct_holes` of `direct_circle`; `block`: these are faces of a collet
    block. On a handwheel: `turns`, then
    `minutes` of the spindle read on its dial.
    """

    turns: int = 0
    holes: int = 0
    circle: int | None = None
    plate_holes: int = 0
    plate_circle: int | None = None
    times: int = 1
    direct_holes: int | None = None
    direct_circle: int | None = None
    minutes: ArcMinutes | None = None
    block: bool = False

    def to_record(self) -> dict[str, Any]:
        """The move as JSON-ready data, only with the fields of its own kind."""
        if self.direct_circle is not None:
            return {
                "direct_holes": self.direct_holes,
                "direct_circle": self.direct_circle,
                "times": self.times,
                **({"block": True} if self.block else {}),
            }
        if self.minutes is not None:
            return {"turns": self.turns, "minutes": str(self.minutes), "times": self.times}
        return {
            "turns": self.turns,
            "holes": self.holes,
            "circle": self.circle,
            "plate_holes": self.plate_holes,
            "plate_circle": self.plate_circle,
            "times": self.times,
        }

    @classmethod
    def from_record(cls, record: dict[str, Any]) -> "Move":
        """The move that `to_record` wrote. Raises ValueError or TypeError for anything else."""
        fields = dict(record)
        if fields.get("minutes") is not None:
            fields["minutes"] = ArcMinutes(Fraction(fields["minutes"]))
        return cls(**fields)


class CostLine(NamedTuple):
    """One line of a reckoning: `minutes` in all, and `slips` to expect that spoil a blank.

    `once`: it belongs to the set-up, not to the moves.
    """

    what: str
    times: int
    minutes: Fraction
    slips: Fraction
    once: bool = False

    def to_record(self) -> dict[str, Any]:
        """As JSON-ready data: minutes and slips as floats to read, and exact as
        texts beside them.
        """
        exact = {"exact_minutes": str(self.minutes), "exact_slips": str(self.slips)}
        numbers = {"minutes": float(self.minutes), "slips": float(self.slips)}
        return {**self._asdict(), **numbers, **exact}

    @classmethod
    def from_record(cls, record: dict[str, Any]) -> "CostLine":
        """What `to_record` wrote, from its exact texts."""
        minutes, slips = Fraction(record["exact_minutes"]), Fraction(record["exact_slips"])
        return cls(record["what"], record["times"], minutes, slips, record["once"])


class Reckoning(NamedTuple):
    """What a set-up is reckoned to cost (`config/order.toml`); `blank`: minutes of a blank."""

    lines: tuple[CostLine, ...]
    blank: Fraction

    @property
    def minutes(self) -> Fraction:
        """Minutes to set up and to move; the cuts themselves are alike in every way."""
        return sum((line.minutes for line in self.lines), Fraction(0))

    @property
    def slips(self) -> Fraction:
        """How many slips that spoil a blank are to be expected over the whole job."""
        return sum((line.slips for line in self.lines), Fraction(0))

    @property
    def cost(self) -> Fraction:
        """Minutes in all, what slips spoil counted in."""
        return self.minutes + self.slips * self.blank

    def to_record(self) -> dict[str, Any]:
        """As JSON-ready data, all in minutes; the sums are there to be read, the lines count."""
        return {
            "minutes": float(self.minutes),
            "slips": float(self.slips),
            "blank_minutes": float(self.blank),
            "cost_minutes": float(self.cost),
            "lines": [line.to_record() for line in self.lines],
        }

    @classmethod
    def from_record(cls, record: dict[str, Any]) -> "Reckoning":
        """What `to_record` wrote, from its lines and the price of a blank."""
        lines = tuple(CostLine.from_record(line) for line in record["lines"])
        return cls(lines, Fraction(str(record["blank_minutes"])))


class Setup(NamedTuple):
    """One way to do the whole request, with the moves in order.

    `circle` is the crank's circle (the direct circle when `method` is `direct`), None on a
    handwheel. `sector_spaces` is the spaces between the sector arms: one hole more than that
    lies between them; None where the arms are of no use. `reasons` is why it stands where it
    does. `every` is how many divisions each move goes on: the work goes round `every` times.
    `worst_error` is the largest distance of any position from where it should be, in turns, 0
    when `exact`. `reckoning` is what the order is made by; None where a set-up had no rivals.
    `true_error` is the largest distance with the measured errors of the head counted, None
    where they are not known; `corrected`: the moves are off on purpose, so that the work comes
    out nearer.
    """

    method: str
    plate: str | None
    circle: int | None
    sector_spaces: int | None
    every: int
    worst_error: Turns
    reasons: tuple[str, ...]
    gearing: Gearing | None
    moves: tuple[Move, ...]
    reckoning: Reckoning | None = None
    true_error: Turns | None = None
    corrected: bool = False

    @property
    def why(self) -> str:
        """Its reasons in one line."""
        return "; ".join(self.reasons)

    @property
    def any_plate(self) -> bool:
        """Whole turns on the crank: any plate and any hole will do."""
        whole = not any(m.holes or m.plate_circle or m.minutes for m in self.moves)
        return self.plate is not None and self.circle is not None and whole

    @property
    def exact(self) -> bool:
        """No position is off by anything."""
        return self.worst_error == 0

    @property
    def worst_error_arcsec(self) -> float:
        """Arc-seconds, for people and files; the exact figure is `worst_error`."""
        return float(self.worst_error * ARCSEC_PER_TURN)

    def to_record(self) -> dict[str, Any]:
        """The set-up as JSON-ready data."""
        return {
            "method": self.method,
            "plate": self.plate,
            "circle": self.circle,
            "sector_spaces": self.sector_spaces,
            "every": self.every,
            "exact": self.exact,
            "worst_error_arcsec": self.worst_error_arcsec,
            "worst_error_turns": str(self.worst_error),
            "why": self.why,
            "reasons": list(self.reasons),
            "gearing": self.gearing.to_record() if self.gearing else None,
            "any_plate": self.any_plate,
            "moves": [move.to_record() for move in self.moves],
            "reckoning": self.reckoning.to_record() if self.reckoning else None,
            **self._measured(),
        }

    def _measured(self) -> dict[str, Any]:
        """Only where the head was measured."""
        if self.true_error is None:
            return {}
        return {
            "true_error_arcsec": float(self.true_error * ARCSEC_PER_TURN),
            "true_error_turns": str(self.true_error),
            "corrected": self.corrected,
        }

    @classmethod
    def from_record(cls, record: dict[str, Any]) -> "Setup":
        """The set-up that `to_record` wrote. Raises KeyError or ValueError for anything else."""
        true = record.get("true_error_turns")
        gearing, reckoned = record["gearing"], record.get("reckoning")
        return cls(
            method=record["method"],
            plate=record["plate"],
            circle=record["circle"],
            sector_spaces=record["sector_spaces"],
            every=record["every"],
            worst_error=Turns(Fraction(record["worst_error_turns"])),
            reasons=tuple(record.get("reasons") or (record["why"],)),
            gearing=Gearing.from_record(gearing) if gearing else None,
            moves=tuple(Move.from_record(move) for move in record["moves"]),
            reckoning=Reckoning.from_record(reckoned) if reckoned else None,
            true_error=None if true is None else Turns(Fraction(true)),
            corrected=record.get("corrected", False),
        )
