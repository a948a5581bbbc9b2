"""The drawings against the solver's numbers and the rules of the dividing head."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from fractions import Fraction
from math import atan2, hypot, tau
from pathlib import Path

import pytest

from assistant.bench.session import view_of
from assistant.drawing import notches, part_view, plate
from assistant.drawing.ink import Mark
from assistant.engine.phases import Step
from assistant.engine.presenting import MINUTES_PER_TURN, part_sight, plate_sight
from assistant.engine.state import State
from assistant.engine.view import PlateSight
from assistant.files.places import head_file, known_heads
from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import read_job
from assistant.job.programme import Programme
from solver import Refused, load_head, parse_head
from tests.commands import JOBS as FOLDER
from tests.page.browser import programme

JOBS = sorted(FOLDER.glob("*.toml"))

# Coordinates are rounded to 1/10000 of a unit: at the innermost circle 2e-6 of a turn.
CLOSE = 2e-6


def turns(mark: Mark) -> float:
    """Where a circle's centre stands, in turns clockwise from the top."""
    return turn_of(float(mark.numbers["cx"]), float(mark.numbers["cy"]))


def turn_of(x: float, y: float) -> float:
    return atan2(x, -y) / tau % 1


def apart(a: float, b: float) -> float:
    return abs((a - b + 0.5) % 1 - 0.5)


def plates() -> list[tuple[str, tuple[int, ...]]]:
    heads = [load_head(head_file(name)) for name in known_heads()]
    return [(f"{h.name}-{p.name}", p.circles) for h in heads for p in h.plates]


@pytest.mark.parametrize(("name", "circles"), plates())
def test_every_hole_stands_at_its_angle(name: str, circles: tuple[int, ...]) -> None:
    """Hole n of a circle of h holes stands n/h of a turn from the first; none is left out."""
    marks = plate.base(PlateSight("plate", "A", circles, circles[0], Fraction(0)))
    for holes in circles:
        drawn = [m for m in marks if m.data.get("circle") == str(holes) and "hole" in m.data]
        assert [int(m.data["hole"]) for m in drawn] == list(range(holes))
        radii = {round(hypot(float(m.numbers["cx"]), float(m.numbers["cy"])), 3) for m in drawn}
        assert len(radii) == 1
        for mark in drawn:
            assert apart(turns(mark), float(Fraction(int(mark.data["hole"]), holes))) < CLOSE


@pytest.mark.parametrize(("name", "circles"), plates())
def test_circles_lie_in_order_and_holes_never_touch(name: str, circles: tuple[int, ...]) -> None:
    """More holes lie further out, and between any two holes there is metal."""
    sight = PlateSight("plate", "A", circles, circles[0], Fraction(0))
    radii = [plate.radius_of(sight, holes) for holes in circles]
    assert radii == sorted(radii) and len(set(radii)) == len(radii)
    assert radii[-1] < plate.RIM - plate.hole_radius(sight, circles[-1])
    for holes, radius in zip(circles, radii, strict=True):
        size = plate.hole_radius(sight, holes)
        assert tau * radius / holes > 2 * size
        assert all(abs(radius - other) > 2 * size for other in radii if other != radius)


def job(head: str, count: int) -> str:
    return f'title = "t"\nhead = "{head}"\n[work]\nkind = "divisions"\ncount = {count}\n'


PLAIN = [("three-plate-40", 21), ("three-plate-40", 9), ("two-sided-40", 66), ("rotary-90", 14)]


@pytest.mark.parametrize(("head", "count"), PLAIN)
def test_the_pin_follows_the_worm(head: str, count: int) -> None:
    """On a plate that stands still the crank has turned worm ratio times what the spindle has.

    The formula is that of every handbook (OD 1644, p. 24-27: one turn of the crank is 1/40 of
    the spindle's); the targets are n/N of a turn, not the solver's positions.
    """
    work = programme(job(head, count))
    ratio = load_head(head_file(head)).worm_ratio
    for place in range(1, work.cuts + 1):
        moving = State(step=Step.INDEX, place=place, settled=place - 1)
        sight = plate_sight(work, moving)
        assert sight and sight.target is not None
        spindle = [Fraction(n, count) for n in (place - 1, place)]
        assert [sight.pin, sight.target] == [turn * ratio % 1 for turn in spindle]
        marks = {m.data["role"]: m for m in plate.overlay(sight) if "role" in m.data}
        assert apart(turns(marks["pin"]), float(sight.pin)) < CLOSE
        assert apart(turns(marks["target"]), float(sight.target)) < CLOSE


def test_the_pin_follows_the_gears() -> None:
    """With the plate geared the pin goes (ratio - g) times the spindle over the plate.

    The published rule of a differential move: (turns + holes/circle) / (ratio - g).
    """
    work = programme(job("three-plate-40-geared", 127))
    assert work.method == "differential"
    step = work.moves[0].turns + Fraction(work.moves[0].holes, work.moves[0].circle or 1)
    for place in (0, 1, 63, 126, 127):
        sight = plate_sight(work, State(step=Step.LOCK, place=place, settled=place))
        assert sight and sight.pin == step * place % 1 and sight.target is None


def test_the_arms_hold_one_hole_more_than_spaces() -> None:
    """Between the arms lie the spaces to count and one hole more, the pin's own.

    Common practice: the hole that the pin is in counts as nought.
    """
    for head, count in [*PLAIN, ("three-plate-40", 49), ("three-plate-40", 33)]:
        work = programme(job(head, count))
        for place in range(3):
            sight = plate_sight(work, State(step=Step.LOCK, place=place, settled=place))
            assert sight
            if not sight.arms:
                continue
            assert sight.arms == work.moves[0].holes
            ends = {m.data["arm"]: m.numbers for m in plate.overlay(sight) if "arm" in m.data}
            left, right = (
                turn_of(float(ends[arm]["x2"]), float(ends[arm]["y2"])) for arm in ("left", "right")
            )
            embraced = [
                n for n in range(sight.circle) if (n / sight.circle - left) % 1 < (right - left) % 1
            ]
            assert len(embraced) == sight.arms + 1
            assert plate.hole_of(sight, sight.pin) in embraced


def test_the_holes_to_count_end_before_the_next_hole() -> None:
    """Eight holes to count: seven marked on the way and the eighth is the next hole itself."""
    work = programme(job("three-plate-40", 9))
    sight = plate_sight(work, State(step=Step.INDEX, place=1, settled=0))
    assert sight
    counted = [m for m in plate.overlay(sight) if "count" in m.data]
    assert len(counted) == work.moves[0].holes - 1
    assert sight.target == Fraction(work.moves[0].holes, work.moves[0].circle or 1)
    for mark in counted:
        expected = Fraction(int(mark.data["count"]), sight.circle)
        assert apart(turns(mark), float(expected)) < CLOSE


def test_no_next_hole_while_the_lock_is_on() -> None:
    """The move is never shown before the lock is asked off, as it is never said. The short call
    asks for it in front of the move, and no lock counts as on from there."""
    work = programme(job("three-plate-40", 9))
    for step in set(Step) - {Step.TRIAL_MOVE, Step.INDEX, Step.COME_UP, Step.BACK_OFF, Step.CALL}:
        view = view_of(work, State(step=step, place=1, settled=1, done=1))
        assert view.plate and view.plate.target is None, step
        assert not view.move and "hole" not in str(view.cells), step
        assert not [m for m in plate.overlay(view.plate) if m.data.get("role") == "target"], step


def test_a_dial_reads_what_the_handwheel_reads() -> None:
    """At 60 to 1 a turn of the handwheel is 6 degrees of the work (360/60)."""
    work = programme(job("rotary-60-handwheel", 7))
    for place in range(8):
        sight = plate_sight(work, State(step=Step.LOCK, place=place, settled=place))
        assert sight and sight.kind == "dial" and sight.dial_minutes == MINUTES_PER_TURN // 60
        read = sight.pin * sight.dial_minutes
        assert read == work.positions[place] * MINUTES_PER_TURN % sight.dial_minutes
    lines = [m for m in plate.base(sight) if "line" in m.data]
    assert len(lines) == 36  # six degrees by ten minutes
    for mark in lines:
        drawn = turn_of(float(mark.numbers["x2"]), float(mark.numbers["y2"]))
        assert apart(drawn, int(mark.data["line"]) / 36) < CLOSE


@pytest.mark.parametrize(("head", "count"), [*PLAIN, ("three-plate-40", 240)])
def test_every_cut_of_the_part_stands_at_its_angle(head: str, count: int) -> None:
    """Where no shape is known, cut n of N is a notch n/N of a turn from the first."""
    work = replace(programme(job(head, count)), drawing=None)
    state = State(step=Step.LOCK, place=3, settled=3, done=3)
    sight = part_sight(work, state)
    marks = list(notches.cut_marks(sight))
    assert len(marks) == count
    for mark in marks:
        expected = float(Fraction(int(mark.data["last"]), count))
        assert apart(float(mark.data["angle"]), expected) < 1e-8
    due = next(m for m in part_view.overlay(sight) if "due" in m.data)
    assert due.data["due"] == "3"
    assert apart(turn_of(float(due.numbers["x2"]), float(due.numbers["y2"])), 3 / count) < CLOSE


def test_thousands_of_cuts_share_the_marks() -> None:
    """No more marks than a screen can show; a mark is made when the last of its cuts is."""
    count = 40 * 49  # a hole of the largest circle for each: as many as the head has exactly
    work = programme(job("three-plate-40", count))
    marks = list(notches.cut_marks(part_sight(work, State())))
    assert len(marks) == notches.MOST_MARKS
    lasts = sorted(int(mark.data["last"]) for mark in marks)
    assert lasts[-1] == count - 1
    for done in (0, 28, count // 2, count):
        made = sum(last < done for last in lasts)
        assert abs(made - done * notches.MOST_MARKS / count) <= 1.1


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_the_part_itself_is_drawn(path: Path) -> None:
    """Every cut of every stage has its shape; the marked one is that of the spindle's place.

    The places are the programme's (from the solver's moves), the shapes the part's own.
    """
    job = read_job(path)
    way = -1 if cut_against_the_clock(path) else 1
    for stage in stages_of(job, head_of(job)):
        work = stage.programme
        off = 2 * float(stage.setup.worst_error)  # a nearest hole stands where it stands
        marks = part_view.base(part_sight(work, State()))
        lasts = {int(mark.data["last"]) for mark in marks if mark.look == "cut"}
        assert lasts == set(range(work.cuts))
        for cut in {0, 1, work.cuts // 2, work.cuts - 1}:
            state = State(step=Step.LOCK, place=cut, settled=cut, done=cut)
            over = part_view.overlay(part_sight(work, state))
            due = [mark for mark in over if mark.data.get("due") == str(cut)]
            own = [mark for mark in marks if mark.data.get("last") == str(cut)]
            assert [mark.numbers for mark in due] == [mark.numbers for mark in own]
            assert str(cut + 1) in [mark.words for mark in over]
            stands = way * float(work.positions[cut] - work.positions[0])
            if work.drawing and not work.drawing.flat:
                assert apart(middle(work, cut), middle(work, 0) + stands) < 1e-4 + off, cut
            arrow = next(mark for mark in over if mark.data.get("role") == "cutter")
            tip = str(arrow.numbers["d"])[1:].split("L")[0].split()
            if work.drawing and not work.drawing.flat and not path.stem.endswith("bevel"):
                where = turn_of(*map(float, tip))
                assert apart(where, stands + first(work)) < 1e-4 + off, cut


def cut_against_the_clock(path: Path) -> bool:
    """A cam whose steps follow its rise, drawn as it is seen on its free end."""
    work = tomllib.loads(path.read_text("utf-8")).get("work", {})
    return work.get("kind") == "stepped-cam" and work["rises"] == "anticlockwise"


def middle(work: Programme, cut: int) -> float:
    """Which way from the axis the middle of a cut's shape lies, in turns."""
    assert work.drawing
    points = next(each.points for each in work.drawing.shapes if each.cut == cut)
    x, y = (sum(values) / len(points) for values in zip(*points, strict=True))
    return turn_of(x, -y)


def first(work: Programme) -> float:
    """Where the first cut of a stage stands on the drawing: later stages may begin elsewhere."""
    assert work.drawing
    x, y = work.drawing.anchor(0)
    return turn_of(x, -y)


def test_what_other_stages_cut_is_drawn_too() -> None:
    """The dial: its holes are made when its lines are cut, and its lines still to come before."""
    job = read_job(next(path for path in JOBS if path.stem == "dial-and-holes"))
    holes, lines = stages_of(job, head_of(job))
    looks = [
        [mark.look for mark in part_view.base(part_sight(stage.programme, State()))]
        for stage in (holes, lines)
    ]
    assert (looks[0].count("later"), looks[0].count("was")) == (100, 0)
    assert (looks[1].count("later"), looks[1].count("was")) == (0, 8)


MEASURED = """
name = "mine"
worm_ratio = 40
[[plate]]
name = "A"
circles = [24, 15, 20]
radii_mm = [60, 38.5, 51]
"""


def test_circles_stand_at_the_radii_of_the_head_file() -> None:
    """Measured radii are drawn to scale, whatever the order; without them it is written beside."""
    assert parse_head(MEASURED).plates[0].circles == (15, 20, 24)
    radii = tuple(map(float, parse_head(MEASURED).plates[0].radii_mm))
    sight = PlateSight("plate", "A", (15, 20, 24), 20, Fraction(0), radii=radii)
    drawn = [plate.radius_of(sight, holes) for holes in sight.circles]
    assert drawn == pytest.approx([plate.OUTSIDE * r / 60 for r in (38.5, 51, 60)])
    told = [
        any("not to scale" in mark.words for mark in plate.base(each))
        for each in (sight, replace(sight, radii=()))
    ]
    assert told == [False, True]


@pytest.mark.parametrize(
    ("radii", "words"),
    [
        ("[60, 38.5]", "2 radii for 3 circles"),
        ("[60, 38.5, 0]", "each over 0"),
        ("[60, 60, 51]", "lie on one another"),
        ('"60"', "list the circles' radii"),
    ],
)
def test_radii_that_cannot_be_are_refused(radii: str, words: str) -> None:
    """Too few, none, twice the same, no list: the line, what is wrong, the cure."""
    with pytest.raises(Refused, match=rf"line 7: .*{words}"):
        parse_head(MEASURED.replace("[60, 38.5, 51]", radii))
