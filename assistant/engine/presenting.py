"""Plate and part as numbers for a drawing, from the programme's exact moves."""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate

from assistant.engine import block_words, calling, wording
from assistant.engine.phases import Intent, Step
from assistant.engine.state import State
from assistant.engine.transitions import TABLE, row_for
from assistant.engine.view import PartSight, PlateSight
from assistant.job.measuring import Measurement
from assistant.job.programme import Programme
from assistant.job.units import Unit, bare_figure, millimetres_from_text, shown
from assistant.words.language import mark, say, say_n
from solver import Millimetres, Move

MINUTES_PER_TURN = 360 * 60
_MOVING = (Step.TRIAL_MOVE, Step.INDEX, Step.BACK_OFF, Step.COME_UP, Step.CALL)


class Track:
    """Where the pin and the spindle stand at every position: worked out once a programme."""

    def __init__(self, programme: Programme) -> None:
        self.programme = programme
        moves = accumulate(map(pin_turns, programme.moves), initial=_begins(programme))
        self.pins = tuple(place % 1 for place in moves)
        if is_dial(programme):
            self.pins = tuple(p * programme.worm_ratio % 1 for p in programme.positions)
        self.angles = tuple(map(float, programme.positions[: programme.cuts]))


def _begins(programme: Programme) -> Fraction:
    """Where over the plate the first cut is made, from the marked hole: a further setting may
    begin elsewhere. Where the plate turns too, that is not known, and it counts from there."""
    move = programme.moves[0]
    if programme.method == "differential" or any(each.plate_holes for each in programme.moves):
        return Fraction(0)
    turned = programme.positions[0] * (1 if move.direct_circle else programme.worm_ratio) % 1
    circle = move.direct_circle or move.circle
    return turned if circle and not turned * circle % 1 else Fraction(0)


def pin_turns(move: Move) -> Fraction:
    """What the pin goes over the plate in one move, in turns of the crank.

    The plate's own turning (back pin, change gears) carries the pin along and is not in it.
    """
    if move.direct_circle:
        return Fraction(move.direct_holes or 0, move.direct_circle)
    return move.turns + (Fraction(move.holes, move.circle) if move.circle else Fraction(0))


def is_dial(programme: Programme) -> bool:
    """The head is turned by a graduated handwheel, not by a crank with plates."""
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


_ACTS = {"figure": Intent.SIZE, "scrap": Intent.SCRAP, "trial": Intent.TRIAL}


def acts(programme: Programme, state: State) -> tuple[str, ...]:
    """What the session takes now beside answers: a figure to be typed, a part to be given up, the
    trial round to be called."""
    return tuple(n for n, intent in _ACTS.items() if row_for(TABLE, programme, state, intent))


def plate_sight(programme: Programme, state: State) -> PlateSight:
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
        pin=pins[_stands(state)],
        target=pins[state.place] if moving else None,
        turns=announced.turns if announced else 0,
        spaces=(announced.direct_holes or announced.holes) if announced else 0,
        arms=(programme.arms_spaces or move.holes) if programme.arms_used else 0,
        dial_minutes=_dial_minutes(programme),
        radii=programme.plate_radii if not move.direct_circle else (),
        setting=state.step is Step.SET_UP,
    )


def _stands(state: State) -> int:
    """The position to draw. A move that was gone back to counts as made until it is undone."""
    return state.place if state.step is Step.AT_PIN else state.settled


def _kind(programme: Programme) -> str:
    if is_dial(programme):
        return "dial"
    if block_words.by_block(programme):
        return "block"
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
    """The part from above: what is cut, what is due, and where the spindle stands, in turns."""
    return PartSight(
        angles=track_of(programme).angles,
        done=programme.cuts if state.step is Step.FINISHED else state.done - state.recut,
        due=None if _all_made(programme, state) else state.cut(programme) - 1,
        standing=float(programme.positions[_stands(state)]),
        drawing=programme.drawing,
        place=_stands(state) % programme.cuts,
        passed=state.pass_number - 1,
    )


def _all_made(programme: Programme, state: State) -> bool:
    return state.step is Step.FINISHED or (state.done == programme.cuts and not state.recut)


def label(programme: Programme, state: State) -> str:
    """How the cut being worked on is called, where the job names its cuts."""
    if state.trial:
        return say("trial round")
    cut = state.done - state.recut
    return programme.labels[cut] if cut < len(programme.labels) else ""


Cells = tuple[tuple[str, str], ...]
SIZED = (Step.MEASURE, Step.READ_BACK, Step.UNDERSIZE)
"""Here a size may be given."""
_CALLED = (Step.TRIAL_MOVE, Step.INDEX, Step.CALL)
"""Here the whole move is made: where one only comes up to the hole again, its figures would have
it made once more."""


def live_cells(programme: Programme, state: State) -> Cells:
    """The figures that matter now and change from cut to cut, each with its words."""
    if state.step in _CALLED and block_words.by_block(programme):
        return ((str(block_words.face_number(programme, state.place)), say("face up")),)
    if state.step in _CALLED:
        return figure_cells(programme.moves[state.place - 1])
    if state.step is Step.MEASURE and what_is_measured(programme, state):
        return wanted_cells(programme, state)
    if state.step in SIZED:
        return size_cells(programme, state)
    if state.step is Step.LOCK:
        return _scale_cell(programme, state)
    if state.step in (Step.GUARD, Step.CUT):
        depth = depth_cells(programme, state) if _own_depth(programme, state) else ()
        return (*_cut_cell(programme, state), *depth)
    return ()


def steady_cells(programme: Programme, state: State) -> Cells:
    """What the step needs to know in smaller figures: the depth of the pass, the stop to be set,
    how long this cut took last time."""
    first = state.step is Step.LOCK and not state.place
    stop = wording.stop_at(programme, state.place)
    if stop and (state.step in (Step.INDEX, Step.CALL) or first):
        return ((say("Stop at"), stop),)
    if first:
        return depth_cells(programme, state)
    if state.step not in (Step.GUARD, Step.CUT):
        return ()
    depth = () if _own_depth(programme, state) else depth_cells(programme, state)
    last = last_time_cells(programme, state) if state.step is Step.CUT else ()
    return (*depth, *last)


def _own_depth(programme: Programme, state: State) -> bool:
    """The depth of this very cut is another than that of its neighbours."""
    return state.recut or any(programme.deeper)


def _cut_cell(programme: Programme, state: State) -> Cells:
    """The cut's number, and how it is called: a line's length, a tooth space."""
    called = label(programme, state)
    if state.recut:
        called = say("again")
    of = say("of {total}", total=state.due(programme))
    return ((str(state.cut(programme)), called or of),)


def _scale_cell(programme: Programme, state: State) -> Cells:
    """What the degree scale should read, where the person is to look at it."""
    figure = wording.scale_figures(programme, state.place)
    looked = state.place and calling.scale_is_due(programme, state)
    return ((figure, say("on the scale")),) if figure and looked else ()


def wanted_cells(programme: Programme, state: State) -> Cells:
    """The finished size and its limits, in the unit of the job."""
    taken, unit = programme.measurements[state.measured], programme.unit
    wanted = ((bare_figure(taken.target, unit), say("{unit} finished", unit=unit)),)
    if not (limits := taken.limit_figures(unit)):
        return wanted
    return (*wanted, (limits, say("{unit}, the limits", unit=unit)))


def what_is_measured(programme: Programme, state: State) -> str:
    """What is measured, over which faces, while a size is wanted or read back."""
    wanted = state.step in (Step.MEASURE, Step.READ_BACK)
    if not wanted or state.measured >= len(programme.measurements):
        return ""
    return programme.measurements[state.measured].what


def figure_cells(move: Move) -> Cells:
    """The move in figures, each with its own words: ("4", "turns"), ("8", "holes on 18")."""
    if move.block:
        return ((str(move.direct_holes), say_n(move.direct_holes or 0, "face on", "faces on")),)
    if move.direct_circle:
        words = say("holes of {circle}, direct", circle=move.direct_circle)
        return ((str(move.direct_holes), words),)
    cells = [(str(move.turns), say_n(move.turns, "turn", "turns"))] if move.turns else []
    if move.holes:
        words = say_n(move.holes, "hole on {circle}", "holes on {circle}", circle=move.circle)
        cells.append((str(move.holes), words))
    if move.minutes:
        degrees, minutes = divmod(Fraction(move.minutes), 60)
        cells.append((f"{degrees}° {float(minutes):g}′", say("on the handwheel")))
    if move.plate_holes:
        figure = f"{move.plate_holes:+d}".replace("-", "−")
        cells.append((figure, _plate_cell(move.plate_holes, move.plate_circle or 0)))
    return tuple(cells) or (("0", say("turns")),)


def _plate_cell(holes: int, circle: int) -> str:
    if holes > 0:
        return say_n(
            holes,
            "plate and crank: hole forward on {circle}",
            "plate and crank: holes forward on {circle}",
            circle=circle,
        )
    return say_n(
        -holes,
        "plate and crank: hole backward on {circle}",
        "plate and crank: holes backward on {circle}",
        circle=circle,
    )


def size_cells(programme: Programme, state: State) -> Cells:
    """The size given, in the unit of the job, and whether it is in: ("19.05", "mm, in: ...")."""
    if not state.size:
        return ()
    taken, size = programme.measurements[state.measured], state.size_mm
    figure = bare_figure(size, programme.unit)
    return ((figure, _verdict(taken, size, programme.unit) or programme.unit),)


def _verdict(taken: Measurement, size: Millimetres, unit: Unit) -> str:
    limits = taken.limits_shown(unit)
    if taken.is_under(size):
        return say("under: {limits}", limits=limits or shown(taken.target, unit))
    if not limits:
        return ""
    if taken.remaining(size):
        return say("over: {limits}", limits=limits)
    return say("within: {limits}", limits=limits)


def last_time_cells(programme: Programme, state: State) -> Cells:
    """Seconds that the present cut took in the session that is done again; nothing else."""
    n = (state.pass_number - 1) * programme.cuts + state.done
    known = programme.last_seconds[n : n + 1]
    return ((f"{known[0]:.0f}", say("s last time")),) if known and known[0] else ()


def depth_cells(programme: Programme, state: State) -> Cells:
    """How deep this cut goes: ("5.4", "mm deep"), or ("0.31", "mm deeper") after a size.

    Nothing where the job gives no depth.
    """
    if state.recut:
        taken = programme.measurements[state.measured]
        left = taken.remaining(state.size_mm)
        return _cell(left, programme.unit, "across" if taken.sideways else "deeper")
    if calling.is_set(programme, state):
        return (("=", say("set as for the last cut")),)
    if more := calling.after_the_size(programme, state):
        return _cell(more, programme.unit, "deeper")
    if own := calling.own_depth(programme, state):
        return _cell(own, programme.unit, "deep")
    if len(programme.depths_mm) == programme.passes:
        return _cell(programme.depths_mm[state.pass_number - 1], programme.unit, "deep")
    return _cell(*millimetres_from_text(programme.depth), "deep") if programme.depth else ()


def _cell(size: Millimetres, unit: Unit, words: str) -> Cells:
    return ((bare_figure(size, unit), say(_DEPTH_WORDS[words], unit=unit)),)


_DEPTH_WORDS = {
    "deep": mark("{unit} deep"),
    "deeper": mark("{unit} deeper"),
    "across": mark("{unit} across"),
}
