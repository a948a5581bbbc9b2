"""Plate and part as numbers for a drawing, from the programme's exact moves."""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate

from assistant.phases import Step
from assistant.programme import Programme
from assistant.state import State
from assistant.view import PartSight, PlateSight
from assistant.work.units import shown
from solver import Move

MINUTES_PER_TURN = 360 * 60
_MOVING = (Step.INDEX, Step.BACK_OFF, Step.COME_UP)


class Track:
    """Where the pin and the spindle stand at every position: worked out once a programme."""

    def __init__(self, programme: Programme) -> None:
        self.programme = programme
        moves = accumulate(map(pin_turns, programme.moves), initial=Fraction(0))
        self.pins = tuple(place % 1 for place in moves)
        if is_dial(programme):
            self.pins = tuple(p * programme.worm_ratio % 1 for p in programme.positions)
        self.angles = tuple(map(float, programme.positions[: programme.cuts]))


def pin_turns(move: Move) -> Fraction:
    """What the pin goes over the plate in one move, in turns of the crank.

    The plate's own turning (back pin, change gears) carries the pin along and is not in it.
    """
    if move.direct_circle:
        return Fraction(move.direct_holes or 0, move.direct_circle)
    return move.turns + (Fraction(move.holes, move.circle) if move.circle else Fraction(0))


def is_dial(programme: Programme) -> bool:
    return programme.moves[0].minutes is not None


_KEPT = 4
_tracks: list[Track] = []


def track_of(programme: Programme) -> Track:
    """The track of this very programme. The last few are kept: a long job must not be walked
    through at every event."""
    for track in _tracks:
        if track.programme is programme:
            return track
    track = Track(programme)
    _tracks.append(track)
    del _tracks[:-_KEPT]
    return track


def plate_sight(programme: Programme, state: State) -> PlateSight | None:
    """The plate as it stands. The move is in it only while it is announced."""
    pins = track_of(programme).pins
    moving = state.step in _MOVING and state.place > 0
    move = programme.moves[min(state.settled, programme.cuts - 1)]
    announced = programme.moves[state.place - 1] if moving else None
    return PlateSight(
        kind=_kind(programme),
        name=programme.plate,
        circles=_circles(programme, move),
        circle=move.direct_circle or move.circle or 0,
        pin=pins[state.settled],
        target=pins[state.place] if moving else None,
        turns=announced.turns if announced else 0,
        spaces=(announced.direct_holes or announced.holes) if announced else 0,
        arms=move.holes if programme.arms_used else 0,
        dial_minutes=_dial_minutes(programme),
        radii=programme.plate_radii if not move.direct_circle else (),
    )


def _kind(programme: Programme) -> str:
    if is_dial(programme):
        return "dial"
    return "direct" if programme.moves[0].direct_circle else "plate"


def _circles(programme: Programme, move: Move) -> tuple[int, ...]:
    """All circles of the plate; those that the move names, where the journal knows no plate."""
    if programme.plate_circles and not move.direct_circle:
        return programme.plate_circles
    named = (move.direct_circle, move.circle, move.plate_circle)
    return tuple(sorted({circle for circle in named if circle}))


def _dial_minutes(programme: Programme) -> Fraction:
    ratio = programme.worm_ratio
    return MINUTES_PER_TURN / ratio if ratio and is_dial(programme) else Fraction(0)


def part_sight(programme: Programme, state: State) -> PartSight:
    return PartSight(
        angles=track_of(programme).angles,
        done=state.done,
        due=state.done if state.done < programme.cuts else None,
        standing=float(programme.positions[state.settled]),
        drawing=programme.drawing,
        place=state.settled % programme.cuts,
        passed=state.pass_number - 1,
    )


def figure_cells(move: Move) -> tuple[tuple[str, str], ...]:
    """The move in figures, each with its own words: ("4", "turns"), ("8", "holes on 18")."""
    if move.direct_circle:
        return ((str(move.direct_holes), f"holes of {move.direct_circle}, direct"),)
    cells = [(str(move.turns), _plural("turn", move.turns))] if move.turns else []
    if move.holes:
        cells.append((str(move.holes), f"{_plural('hole', move.holes)} on {move.circle}"))
    if move.minutes:
        degrees, minutes = divmod(Fraction(move.minutes), 60)
        cells.append((f"{degrees}° {float(minutes):g}′", "on the handwheel"))
    if move.plate_holes:
        way = "forward" if move.plate_holes > 0 else "backward"
        on = f"{_plural('hole', abs(move.plate_holes))} {way} on {move.plate_circle}"
        cells.append((f"{move.plate_holes:+d}".replace("-", "−"), f"plate and crank: {on}"))
    return tuple(cells) or (("0", "turns"),)


def _plural(word: str, count: int) -> str:
    return word if count == 1 else f"{word}s"


def size_cells(size: str, unit: str) -> tuple[tuple[str, str], ...]:
    """A size given in exact mm, in the unit of the job: ("19.05", "mm")."""
    figure, _, words = shown(Fraction(size), unit).partition(" ") if size else ("", "", "")
    return ((figure, words),) if figure else ()


def depth_cells(depth: str) -> tuple[tuple[str, str], ...]:
    """ "5.4 mm" as ("5.4", "mm deep"); nothing where no depth is given."""
    figure, _, unit = depth.partition(" ")
    return ((figure, f"{unit} deep".strip()),) if depth else ()
