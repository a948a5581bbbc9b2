"""Makes a checked job into what a session needs: for each stage the moves and the set-up.

A stage is a stretch of cuts between two changes of the setting: a ring, or one side of a
spline. The stages' programmes, one after the other, are what a session runs.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from itertools import accumulate
from pathlib import Path

from assistant.errors import WrongUse, passed_on
from assistant.files.places import head_file
from assistant.job import blocks
from assistant.job.job_file import Job, JobWork
from assistant.job.kinds import at_the_rim
from assistant.job.measuring import Measurement
from assistant.job.narrow import narrow_limits
from assistant.job.part import Along, Cut, Part, Pass, Round, Shop, depths_said
from assistant.job.programme import Programme, spread
from assistant.job.ring_setups import fewest_changes
from assistant.job.set_up_steps import (
    OnHead,
    accuracy_words,
    arms_spaces,
    checklist,
    first_setting_again,
    left_on,
    lower_count,
    next_part_items,
    next_round_items,
    next_setting_again,
    next_work_items,
    trial_item,
)
from assistant.job.shapes import Drawing, for_stage, one_part
from assistant.job.units import shown
from assistant.words.language import in_force, mark, say
from solver import (
    ArcMinutes,
    Head,
    Move,
    Refused,
    Setup,
    Turns,
    load_head,
    off_at,
    plan,
    spindle_move,
)

_IN_A_BLOCK = ("angles", "divisions", "keyways", "polygon")
MOST_DRAWN = 400  # cuts of a job whose drawing goes with the session


@dataclass(frozen=True, slots=True)
class Stage:
    """One stretch of cuts, ready for the session.

    `order` are the cuts by their places in the part's own list. `labels` and `stamps` are one
    a cut, `depths` one a pass (as said), all in the order of the programme. `unlocked`: the
    spindle must stay unlocked while it cuts. `closed` is False where nothing leads back to the
    first cut: the last move is then no move at all.
    `draw` gives the whole part, all rings on it, its cuts numbered in the order of the job.
    `own_errors`: how much too far the head itself is at each position, turns; empty: not measured.
    """

    name: str
    work: JobWork
    part: Part
    setup: Setup
    programme: Programme
    labels: tuple[str, ...]
    order: tuple[int, ...]
    stamps: tuple[str, ...]
    passes: tuple[Pass, ...]
    depths: tuple[str, ...]
    measurements: tuple[Measurement, ...]
    unlocked: bool
    closed: bool
    draw: Callable[[], Drawing] = Drawing
    own_errors: tuple[Turns, ...] = ()


def head_of(job: Job) -> Head:
    """The head that the job names, by name or by a path from the job file's own folder, with what
    of its plates and gears the person has. Raises JobFaults where there is no such head."""
    beside = Path(job.where).parent / job.head
    try:
        path = beside if job.head.endswith(".toml") and beside.exists() else head_file(job.head)
    except WrongUse as error:
        raise job.faults("", [("head", str(error))]) from None
    return job.owned.of(load_head(path))


def shop_of(job: Job, head: Head) -> Shop:
    """What the job's kinds are worked out on: head, lengths, machine and cutter."""
    return Shop(head, job.unit, job.machine, job.cutter)


def worked_part(job: Job, head: Head, work: JobWork) -> Part:
    """The work worked out. Raises JobFaults, with lines, where it can't be made."""
    part = work.work.work_out(shop_of(job, head))
    if part.refusals:
        found = [(refusal.key, refusal.text) for refusal in part.refusals]
        raise job.faults(work.table, found)
    odd = work.work.odd_size(job.unit)
    asked = (*((odd,) if odd else ()), *narrow_limits(part, job.machine.dial))
    return replace(part, warnings=(*part.warnings, *asked))


def setups_of(job: Job, head: Head) -> tuple[Setup, ...]:
    """All set-ups for the job's first work, best first. Raises Refusal where there is none."""
    parts = [worked_part(job, head, work) for work in job.works]
    return _setups(job, head, job.works[0], parts[0], _level(parts))


def _level(parts: Sequence[Part]) -> bool:
    """One work that stands upright or tilted, and the head is level for none of the job."""
    return all(part.level for part in parts)


def _setups(job: Job, head: Head, work: JobWork, part: Part, level: bool) -> tuple[Setup, ...]:
    if head.plate_drive == "block" and (work.kind not in _IN_A_BLOCK or not level):
        text = f"a block in a vice serves {', '.join(_IN_A_BLOCK)}: {work.kind} needs a head"
        raise job.faults(work.table, [("kind", text)])
    if part.along:
        return (_along_setup(job, head, part.along),)
    usable = _usable(head, part, level)
    wanted = places_of(part)
    equal = all(place == Fraction(n, len(wanted)) for n, place in enumerate(wanted))
    worth = () if job.blank_minutes is None else (f"blank={job.blank_minutes}",)
    try:
        found = (
            plan(usable, divisions=len(wanted), fitted=job.fitted, prefer=worth)
            if equal
            else plan(usable, positions=wanted, fitted=job.fitted, prefer=worth)
        )
    except Refused as error:
        if head.plate_drive == "block":
            raise job.faults(work.table, [("kind", str(error))]) from error
        raise passed_on(error, str(job.where)) from error
    allowed = tuple(setup for setup in found if _allowed(part, setup))
    if not allowed:
        ways = " or ".join(part.methods)
        text = f"{work.kind} is indexed {ways} only, and this head can't: use one with plates"
        raise job.faults(work.table, [("kind", text)])
    if _off(allowed[0]):
        _judge(job, head, work, allowed[0], wanted)
    if head.plate_drive == "geared" and not level and not allowed[0].exact:
        allowed = tuple(
            setup._replace(reasons=(*setup.reasons, "change gears need a level head"))
            for setup in allowed
        )
    return allowed


def _judge(job: Job, head: Head, work: JobWork, best: Setup, places: Sequence[Turns]) -> None:
    """Raises JobFaults where even the best set-up can't tell the places apart."""
    off = at_the_rim.uneven(head, best, spread(best.moves), places)
    if text := at_the_rim.useless(off, len(places), head.name):
        raise job.faults(work.table, [("kind", text)])


def _off(setup: Setup) -> bool:
    """The moves are not exact, or the head was measured and is not."""
    return not setup.exact or bool(setup.true_error)


def _questioned(part: Part, head: Head, setup: Setup) -> Part:
    """The part with a word on what an inexact set-up comes to at its rim."""
    if not _off(setup) or part.along:
        return part
    off = at_the_rim.uneven(head, setup, spread(setup.moves), places_of(part), _judged(part))
    found = at_the_rim.finding(off, part.rim, part.unit)
    if found is None:
        return part
    doubt = at_the_rim.uneven_spoken(off, part.rim, part.unit)
    return replace(part, warnings=(*part.warnings, found), doubt=doubt)


def _with_errors(part: Part, head: Head, setup: Setup) -> Part:
    """The part with the figures that follow from what each place is off by."""
    if part.figures_of_errors is None:
        return part
    off = at_the_rim.places_off(head, setup, spread(setup.moves), places_of(part))
    return replace(part, figures=(*part.figures, *part.figures_of_errors(head, setup, off)))


def _judged(part: Part) -> frozenset[Turns] | None:
    """The places whose errors are felt; None: all."""
    if part.rim is None or not part.rim.first_round:
        return None
    return frozenset(cut.at for cut in part.rounds[0].cuts)


def _in_this_order(part: Part, work: JobWork, setup: Setup) -> Part:
    """Without the figures that hold only where the cuts follow each other round."""
    if setup.every == work.every == 1:
        return part
    return replace(part, figures=tuple(each for each in part.figures if not each.one_by_one))


def _usable(head: Head, part: Part, level: bool) -> Head:
    """The head with what this work leaves of it, so that the reasons speak of nothing else.

    Change gears drive the plate on a level head only; a plate that the table screw drives
    can't be held by the back pin.
    """
    ways = part.methods or ("direct", "compound", "differential")
    if head.plate_drive == "geared" and not (level and "differential" in ways):
        head = head._replace(plate_drive="pinned", change_gears=())
    if head.plate_drive == "pinned" and "compound" not in ways:
        head = head._replace(plate_drive="fixed")
    only_direct = not (head.plates or head.handwheel)
    return head if "direct" in ways or only_direct else head._replace(direct_circle=())


def _allowed(part: Part, setup: Setup) -> bool:
    if not part.methods:
        return True
    two_circles = any(move.plate_holes for move in setup.moves)
    return setup.method in part.methods and (not two_circles or "compound" in part.methods)


def places_of(part: Part) -> list[Turns]:
    """Every place of every round, once each, rising, in turns."""
    return sorted({cut.at for each in part.rounds for cut in each.cuts})


# --- stages -----------------------------------------------------------------------------


def stages_of(job: Job, head: Head) -> tuple[Stage, ...]:
    """All stages in the order in which they are done, with the fewest plate changes.

    Raises Refusal or JobFaults.
    """
    parts = [worked_part(job, head, work) for work in job.works]
    level = _level(parts)
    choices = [_setups(job, head, w, p, level) for w, p in zip(job.works, parts, strict=True)]
    chosen = fewest_changes(choices, job.fitted, job.free_order)
    found: list[Stage] = []
    for n, setup in zip(chosen.order, chosen.setups, strict=True):
        before = found[-1] if found else None
        part = _with_errors(_questioned(parts[n], head, setup), head, setup)
        parts[n] = _in_this_order(part, job.works[n], setup)
        found += _stages(job, head, job.works[n], parts[n], setup, before)
    return _drawn(_again(job, head, found))


def _stages(
    job: Job, head: Head, work: JobWork, part: Part, setup: Setup, before: Stage | None
) -> list[Stage]:
    if work.every > 1 and (text := blocks.fault(part, work.every, setup.every)):
        raise job.faults(work.table, [("every", text)])
    route = _Route(head, setup, places_of(part))
    stages: list[Stage] = []
    first = Turns(Fraction(0))
    # The spindle, at the first hole: by the holes, not by what was wanted.
    stands = Turns(Fraction(0))
    for n, each in enumerate(part.rounds):
        cuts = _order(work, route, each)
        moves = _moves(work, route, each, cuts)
        shop = shop_of(job, head)
        if n:
            start = None if first == cuts[0].at else route.move(first, cuts[0].at)
            if start is not None:
                stands = Turns(stands + spindle_move(head, setup, start))
            arms = (stages[-1].programme.moves, moves)
            items = next_round_items(head, setup, part.rounds[n - 1], each, start, arms)
        elif before is None:
            items = checklist(shop, setup, moves, part)
        else:
            items = next_work_items(shop, setup, moves, part, before.setup)
        if work.every > 1 and not n:
            items.append(blocks.block_step(work.every))
        first = cuts[0].at
        stands = stands if n else first
        programme = replace(
            _programme(job, head, setup, moves, stands),
            checklist=tuple(items),
            parts=job.batch,
            trial_item=-1 if n else trial_item(items, part),
            passes=len(each.passes or part.passes),
            depth=_one_depth(part, each),
            cut_minutes=work.minutes_per_cut or Fraction(0),
            gears=_gears(setup) or part.gears,
        )
        stage = _stage(work, part, setup, each, programme, cuts, n)
        stages.append(replace(stage, own_errors=_own_errors(head, setup, programme)))
    return stages


def _again(job: Job, head: Head, stages: list[Stage]) -> list[Stage]:
    """The stages with what each part of a batch after the first needs set up."""
    if job.batch == 1:
        return stages
    shop = shop_of(job, head)
    return [
        replace(stage, programme=replace(stage.programme, checklist_again=tuple(
            _set_up_again(shop, stages, n))))
        for n, stage in enumerate(stages)
    ]  # fmt: skip


def _set_up_again(shop: Shop, stages: list[Stage], n: int) -> list[str]:
    """The last setting stands before the first one: it is what the part before ended with."""
    stage = stages[n]
    if len(stages) == 1:
        return next_part_items(shop, stage.setup, stage.part)
    now, before = _left_on(stage), _left_on(stages[n - 1])
    if n == 0:
        return first_setting_again(shop, stage.setup, now.moves, stage.part, before)
    trial = stage.programme.trial_item
    items = [item for at, item in enumerate(stage.programme.checklist) if at != trial]
    return next_setting_again(shop, items, now, before)


def _left_on(stage: Stage) -> OnHead:
    return left_on(stage.part, stage.setup, stage.programme.moves)


def _order(work: JobWork, route: _Route, each: Round) -> tuple[Cut, ...]:
    if each.own_order:
        return each.cuts
    return blocks.order(each, work.every) if work.every > 1 else route.in_order(each.cuts)


def _own_errors(head: Head, setup: Setup, programme: Programme) -> tuple[Turns, ...]:
    if setup.true_error is None:
        return ()
    return tuple(off_at(head, place) for place in programme.positions)


def _drawn(stages: Sequence[Stage]) -> tuple[Stage, ...]:
    """The stages with their drawings: what is made when each begins, and what comes after."""

    @cache
    def draw() -> Drawing:
        return _in_order(stages)

    found = tuple(replace(stage, draw=draw) for stage in stages)
    if sum(stage.programme.cuts for stage in stages) > MOST_DRAWN:
        return found
    first, drawn = 0, []
    for stage in found:
        own = range(first, first + stage.programme.cuts)
        picture = for_stage(draw(), own, range(first))
        drawn.append(replace(stage, programme=replace(stage.programme, drawing=picture)))
        first = own.stop
    return tuple(drawn)


def _in_order(stages: Sequence[Stage]) -> Drawing:
    """All parts on one, the cuts numbered as the job comes to them."""
    parts = list({id(stage.part): stage.part for stage in stages}.values())
    whole = one_part([(part.draw(), part.cuts) for part in parts])
    first, start = 0, {}
    for part in parts:
        start[id(part)] = first
        first += part.cuts
    order = [start[id(stage.part)] + cut for stage in stages for cut in stage.order]
    return for_stage(whole, order, ())


def _moves(work: JobWork, route: _Route, each: Round, cuts: Sequence[Cut]) -> tuple[Move, ...]:
    if not each.closed:
        return (*spread(route.setup.moves), Move(circle=route.setup.circle))
    following = [*cuts[1:], cuts[0]]
    return tuple(route.move(a.at, b.at) for a, b in zip(cuts, following, strict=True))


def _programme(
    job: Job, head: Head, setup: Setup, moves: tuple[Move, ...], start: Turns
) -> Programme:
    ends = accumulate((spindle_move(head, setup, move) for move in moves), initial=start)
    return Programme(
        title=job.title,
        head=head.describe or head.name,
        method=setup.method,
        checklist=(),
        moves=moves,
        positions=tuple(Turns(end % 1) for end in ends),
        scale_degrees=head.scale_degrees,
        scale_every=job.scale_every,
        arms_used=arms_spaces(moves) > 0,
        arms_spaces=lower_count(moves),
        plate=setup.plate or "",
        plate_circles=circles_of(head, setup.plate),
        plate_radii=radii_of(head, setup.plate),
        worm_ratio=head.worm_ratio,
        language=in_force().code,
        accuracy=accuracy_words(setup),
    )


def _gears(setup: Setup) -> str:
    """ "48 / 24, 1 idler, with the crank": drivers over driven, from the spindle."""
    if setup.gearing is None:
        return ""
    gearing = setup.gearing
    pairs = zip(gearing.drivers, gearing.driven, strict=True)
    train = " x ".join(f"{driver} / {driven}" for driver, driven in pairs)
    idlers = say("idlers: {n}", n=gearing.idlers)
    return f"{train}; {idlers}; {say(_TURNS[gearing.plate])}"


_TURNS = {"with": mark("plate with the crank"), "against": mark("plate against the crank")}


def circles_of(head: Head, plate: str | None) -> tuple[int, ...]:
    """All circles of the plate of that name; none where no plate is named."""
    return next((each.circles for each in head.plates if each.name == plate), ())


def radii_of(head: Head, plate: str | None) -> tuple[float, ...]:
    """The radii of those circles, mm; none where the head file gives none."""
    found = next((each.radii_mm for each in head.plates if each.name == plate), ())
    return tuple(map(float, found))


def _one_depth(part: Part, each: Round) -> str:
    """The depth where one holds for every cut; several are for the stage to tell."""
    if part.as_written is not None:
        return part.as_written
    passes = each.passes or part.passes
    depth = passes[0].depth
    return shown(depth, part.unit) if len(passes) == 1 and depth is not None else ""


def _sizes(part: Part, number: int, order: tuple[int, ...]) -> tuple[Measurement, ...]:
    """The sizes of this round, each wanted when what it is measured over is cut.

    Several divisions at a time the cuts are made in another order than the part counts them.
    """
    if part.sizes_in is not None and order != tuple(range(len(order))):
        return tuple(m for m in part.sizes_in(order) if m.round_number == number)
    made = {place: n for n, place in enumerate(order, 1)}
    return tuple(
        replace(m, after=max(made[place] for place in range(m.after)))
        for m in part.measurements
        if m.round_number == number
    )


def _stage(
    work: JobWork, part: Part, setup: Setup, each: Round, programme: Programme,
    cuts: Sequence[Cut], number: int,
) -> Stage:  # fmt: skip
    before = sum(len(earlier.cuts) for earlier in part.rounds[:number])
    labels = tuple(cut.label for cut in cuts)
    passes = each.passes or part.passes
    depths = depths_said(passes, part.unit)
    first = {cut: n for n, cut in reversed(tuple(enumerate(each.cuts)))}
    own_order = tuple(first[cut] for cut in cuts)
    sizes = _sizes(part, number, own_order)
    name = ", ".join(name for name in (work.name, each.name) if name)
    own = part.as_written is not None
    programme = replace(
        programme,
        name=name,
        labels=labels if any(labels) else (),
        stops=tuple(cut.stop for cut in cuts) if any(cut.stop for cut in cuts) else (),
        stamped=tuple(cut.stamped for cut in cuts) if any(cut.stop for cut in cuts) else (),
        depths=() if own or not all(depths) else depths,
        deeper=tuple(cut.deeper for cut in cuts) if any(cut.deeper for cut in cuts) else (),
        depths_mm=tuple(each.depth for each in passes if each.depth is not None),
        measurements=tuple(sorted(sizes, key=lambda m: (m.pass_number, m.after))),
        unit=part.unit,
        unlocked=each.unlocked,
        closed=each.closed,
    )
    return Stage(
        name=name,
        work=work,
        part=part,
        setup=setup,
        programme=programme,
        labels=labels,
        order=tuple(before + place for place in own_order),
        stamps=tuple(cut.stamp for cut in cuts),
        passes=passes,
        depths=depths,
        measurements=programme.measurements,
        unlocked=each.unlocked,
        closed=each.closed,
    )


def programme_of(job: Job, head: Head, setup: Setup) -> Programme:
    """The session's programme: its first stage, with the others after it.

    `setup` is the one for the work, where there is only one; rings have a plan of their own.
    """
    if len(job.works) > 1:
        return chained(stages_of(job, head))
    work = job.works[0]
    part = _in_this_order(_questioned(worked_part(job, head, work), head, setup), work, setup)
    return chained(_drawn(_again(job, head, _stages(job, head, work, part, setup, None))))


def chained(stages: Sequence[Stage]) -> Programme:
    """Each stage's programme with the next one after it. Raises ValueError for no stages."""
    following: Programme | None = None
    for stage in reversed(stages):
        following = replace(stage.programme, then=following)
    if following is None:
        raise ValueError("no stages: a job has one or more")
    return following


# --- moves between any two places -------------------------------------------------------


class _Route:
    """The moves of a set-up put together, from any of its places to any other."""

    def __init__(self, head: Head, setup: Setup, places: Sequence[Turns]) -> None:
        self.head, self.setup = head, setup
        self.singles = spread(setup.moves)
        total = len(places)
        self.visited = [places[n * setup.every % total] for n in range(total)]
        self.index = {place: n for n, place in enumerate(self.visited)}

    def in_order(self, cuts: Sequence[Cut]) -> tuple[Cut, ...]:
        """The cuts as the set-up comes to them."""
        return tuple(sorted(cuts, key=lambda cut: self.index[cut.at]))

    def move(self, start: Turns, end: Turns) -> Move:
        """One move onward from one place to another."""
        here, there = self.index[start], self.index[end]
        steps = (there - here) % len(self.visited)
        if steps == 1:
            return self.singles[here]
        ring = [self.singles[(here + n) % len(self.singles)] for n in range(steps)]
        return joined_moves(self.head, ring)


def joined_moves(head: Head, moves: Sequence[Move]) -> Move:
    """Several moves as one, with the same end."""
    first = moves[0]
    if first.direct_circle is not None:
        holes = sum(move.direct_holes or 0 for move in moves)
        return Move(direct_holes=holes, direct_circle=first.direct_circle, block=first.block)
    if first.minutes is not None:
        a_turn = 21600 / head.worm_ratio
        minutes = sum(move.turns * a_turn + (move.minutes or 0) for move in moves)
        turns, rest = divmod(minutes, a_turn)
        return Move(turns=int(turns), minutes=ArcMinutes(Fraction(rest)))
    circle = first.circle or 1
    turns, holes = divmod(sum(move.turns * circle + move.holes for move in moves), circle)
    return Move(
        turns=turns,
        holes=holes,
        circle=first.circle,
        plate_holes=sum(move.plate_holes for move in moves),
        plate_circle=next((move.plate_circle for move in moves if move.plate_circle), None),
    )


def _along_setup(job: Job, head: Head, along: Along) -> Setup:
    """The crank moves the table, as a set-up."""
    plates = [plate.name for plate in head.plates if along.circle in plate.circles]
    off = "errors never add up"
    return Setup(
        method="nearest" if along.worst else "plain",
        plate=job.fitted if job.fitted in plates else plates[0],
        circle=along.circle,
        sector_spaces=along.moves[0].holes if len(set(along.moves)) == 1 else None,
        every=1,
        worst_error=along.worst,
        reasons=("along the rule", off) if along.worst else ("exact along the rule",),
        gearing=None,
        moves=along.moves,
    )
