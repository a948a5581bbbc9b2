"""The table of positions: for every cut where it is, how the pin gets there, and what shows it."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from assistant.engine.block_words import face_number
from assistant.engine.calling import by_handwheel
from assistant.engine.presenting import Track, figure_cells
from assistant.job.compiler import Stage, places_of
from solver import Degrees, Move, Turns, degrees_text

ARCSEC_PER_TURN = 360 * 60 * 60


@dataclass(frozen=True, slots=True)
class PositionRow:
    """One cut. `move` leads to it from the cut before; the last row leads back to the first."""

    cut: str  # its number, "back" for the way back
    label: str
    angle: str
    move: str
    hole: str  # the pin's hole on the circle in use, the first one 0; a handwheel's dial
    scale: str  # what the degree scale should read
    error: str  # arc-seconds, "0" where exact


def position_rows(stage: Stage) -> list[PositionRow]:
    """A row a cut, in the order of the work, and one for the way back where there is one."""
    programme = stage.programme
    pins = Track(programme).pins
    errors = _Errors(stage)
    found = []
    for place in range(programme.cuts + stage.closed):
        position = programme.positions[place]
        move = programme.moves[place - 1] if place else None
        back = place == programme.cuts
        found.append(
            PositionRow(
                cut="back" if back else str(place + 1),
                label="" if back else _label(stage, place),
                angle=degrees_text(position),
                move=move_cell(move) if move else "start",
                hole=_dial(position, programme.worm_ratio)
                if by_handwheel(programme)
                else str(face_number(programme, place))
                if programme.moves[0].block
                else _hole(move or programme.moves[0], pins[place]),
                scale=_scale(programme.scale_degrees, position),
                error=errors.text(position),
            )
        )
    return found


def move_cell(move: Move) -> str:
    """ "4 + 8/18": whole turns, then holes on the circle; short enough for a table."""
    if move.block:
        return " ".join(figure_cells(move)[0])
    if move.direct_circle:
        return f"{move.direct_holes}/{move.direct_circle}"
    if move.minutes is not None:
        return _by_dial(move)
    holes = f"{move.holes}/{move.circle}" if move.holes else ""
    text = " + ".join(part for part in (str(move.turns) if move.turns else "", holes) if part)
    if move.plate_holes:
        text += f" plate {move.plate_holes:+d}/{move.plate_circle}"
    return text or "0"


def _by_dial(move: Move) -> str:
    """ "1 turn 1° 30′": on the one graduated handwheel, which need not be named."""
    *turns, (last, words) = figure_cells(move)
    last = last if move.minutes else f"{last} {words}"
    return " ".join([*(f"{figure} {words}" for figure, words in turns), last])


def _label(stage: Stage, place: int) -> str:
    """As the cut is called, what is stamped at it too."""
    return stage.labels[place] if place < len(stage.labels) else ""


def _hole(move: Move, pin: Fraction) -> str:
    circle = move.direct_circle or move.circle
    return str(round(pin * circle) % circle) if circle else ""


def _dial(position: Turns, worm_ratio: Fraction) -> str:
    """What the dial of a handwheel reads, nought at the first cut: what is past whole turns."""
    return degrees_text(Turns(position % (1 / Fraction(worm_ratio))))


def _scale(division: Degrees, position: Turns) -> str:
    """Read to a tenth of the smallest division at best: one place of decimals of a degree."""
    if not division:
        return ""
    return f"{float(round(position * 360, 1)):.1f}°"


class _Errors:
    """How far each position is from the place where it should be."""

    def __init__(self, stage: Stage) -> None:
        self._own = dict(zip(stage.programme.positions, stage.own_errors, strict=False))
        self._exact = stage.setup.exact and not self._own
        self._along = stage.part.along is not None
        self._worst = stage.setup.worst_error_arcsec
        self._places = [*places_of(stage.part), Fraction(1)] if not self._along else []

    def text(self, position: Turns) -> str:
        """Signed arc-seconds of the spindle; plus is past the place."""
        if self._exact:
            return "0"
        if self._along:
            return f"≤ {ceil(self._worst)}"
        n = bisect_left(self._places, position)
        near = min(self._places[max(0, n - 1) : n + 1], key=lambda place: abs(place - position))
        error = float((position - near + self._own.get(position, 0)) * ARCSEC_PER_TURN)
        return (
            "0"
            if round(error) == 0 and (self._own or not error)
            else f"{error:+.0f}".replace("-", "−")
        )
