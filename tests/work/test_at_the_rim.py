"""An inexact indexing is weighed by what it comes to on the part; a useless one is refused."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise
from math import pi
from pathlib import Path

import pytest

from assistant.job.compiler import Stage, head_of, stages_of
from assistant.job.job_file import JobFaults, job_from_text
from assistant.job.kinds import at_the_rim
from solver import spindle_move
from solver.model import Head


def _stage(work: str, head: str = "three-plate-40") -> tuple[Stage, Head]:
    job = job_from_text(f'title = "t"\nhead = "{head}"\n[work]\n{work}', "job.toml")
    found = head_of(job)
    return stages_of(job, found)[0], found


def _warnings(work: str, head: str = "three-plate-40") -> list[str]:
    return [each.text for each in _stage(work, head)[0].part.warnings]


def _told(work: str) -> bool:
    return any("not exact on this head" in text for text in _warnings(work))


GEAR = 'kind = "spur-gear"\nteeth = {}\nmodule = {}\n'


def test_a_gear_that_is_off_between_teeth_is_questioned() -> None:
    """51 teeth of module 3 on a plain head without change gears: the moves, followed by the
    published rule (turns + holes / circle, over 40), are 0.14 mm off from tooth to tooth at the
    pitch line, and the warning says so."""
    stage, head = _stage(GEAR.format(51, 3))
    places, at = [Fraction(0)], Fraction(0)
    for move in stage.programme.moves:
        at += spindle_move(head, stage.setup, move)
        places.append(at)
    worst = max(abs(b - a - Fraction(1, 51)) for a, b in pairwise(places))
    millimetres = float(worst) * pi * 51 * 3
    assert millimetres == pytest.approx(0.14, abs=0.005)
    (text,) = [each for each in _warnings(GEAR.format(51, 3)) if "not exact" in each]
    assert f"from one tooth to the next it is up to {millimetres:.3f}".rstrip("0") in text


def test_each_kind_has_its_own_need() -> None:
    """Places near enough for a small dial of wide lines are too far off for a gear of module 3
    and for a large dial of fine lines; an exact indexing is never questioned."""
    dial = 'kind = "graduations"\nlines = 53\ndiameter = "{}"\nline_width = "{}"\n'
    assert _told(GEAR.format(51, 3))
    assert _told(dial.format("150 mm", "0.1 mm"))
    assert not _told(dial.format("20 mm", "0.4 mm"))
    assert not _told(GEAR.format(40, 3))


DIRECT_ALONE = """
name = "direct-alone"
describe = "a direct plate and nothing else"
worm_ratio = 40
direct_circle = [{}]
plate_drive = "fixed"
tilt_degrees = [0, 90]
scale_degrees = 1
change_gears = []
idlers_for_with = 1
"""
OTHERS = {
    "splines": 'splines = {}\nwidth = "5 mm"\noutside = "26 mm"\nroot = "21 mm"\n'
    'cutter_width = "4 mm"\nroot_saw = "1 mm"\n',
    "keyways": 'keyways = {}\nwidth = "6 mm"\nshaft = "40 mm"\ndepth = "3.5 mm"\n',
    "clutch": 'teeth = {}\noutside = "50 mm"\nbore = "36 mm"\ndepth = "3 mm"\n'
    'cutter_width = "7.75 mm"\n[cutter]\ndiameter = "20 mm"\n',
    "angular-clutch": 'form = "v"\nteeth = {}\noutside = "50 mm"\nbore = "36 mm"\n'
    'cutter_angle = "90d"\ndepth = "10 mm"\n',
    "ratchet": 'teeth = {}\ndiameter = "60 mm"\ndepth = "3 mm"\ncutter_angle = "60d"\n',
    "flutes": 'tool = "tap"\nflutes = {}\ndiameter = "70 mm"\ndepth = "5 mm"\n',
}


@pytest.mark.parametrize("kind", OTHERS)
def test_clutches_splines_keyways_ratchets_and_flutes_have_needs_of_their_own(
    kind: str, tmp_path: Path
) -> None:
    """Six or seven places on a plate of hundreds of holes: neighbours are off by some hundredths of
    their space, tenths of a millimetre here, and the warning says so; others come out even."""
    head = tmp_path / "direct.toml"
    # The root of splines is stepped round in smaller steps than a hundred holes have.
    head.write_text(DIRECT_ALONE.format(500 if kind == "splines" else 100), "utf-8")
    work = f'kind = "{kind}"\n{OTHERS[kind]}'
    uneven, even = (6, 4) if kind == "splines" else (7, 5)
    (text,) = [each for each in _warnings(work.format(uneven), str(head)) if "not exact" in each]
    assert re.search(r"it is up to \d\.\d+ mm off", text), text
    assert not [each for each in _warnings(work.format(even), str(head)) if "not exact" in each]


@pytest.mark.parametrize(("work", "told"), [(GEAR.format(51, 3), True), (GEAR.format(40, 3), False),
                         ('kind = "divisions"\ncount = 413\n', True)])  # fmt: skip
def test_an_error_that_matters_is_said_before_anything_is_set(work: str, told: bool) -> None:
    """By voice too, in the set-up: how far off, and what the part bears."""
    stage, _ = _stage(work)
    said = [item for item in stage.programme.checklist if "Not exact on this head" in item]
    assert len(said) == told
    if "spur-gear" in work and told:
        assert "From one tooth to the next: up to zero point one three nine" in said[0]
        assert stage.programme.checklist.index(said[0]) == 0
    if "divisions" in work:
        assert "percent of the space" in said[0]


def test_the_deviation_of_a_standard_gear() -> None:
    """Module 3, 150 mm, grade 5: 0.3 (3 + 0.4 sqrt 150) + 4 = 6.37 micrometres; grade 10 is
    sqrt 2 to the fifth of it, 36 (ISO 1328-1:1995, 6.1, as quoted in published programs for the
    design of gears; the standard was not read)."""
    assert at_the_rim.gear_need(3, 150) == pytest.approx(0.0360, abs=0.0001)


@pytest.mark.parametrize("count", [1500, 5000])
def test_what_can_not_be_told_apart_is_refused(count: int) -> None:
    """The finest place of three plates at 40 to 1 is a hole of 49: 1960 to a turn. With more
    divisions than that, moves would be no turn at all."""
    with pytest.raises(JobFaults, match="places can't be told apart on three-plate-40"):
        _stage(f'kind = "divisions"\ncount = {count}\n')


def test_divisions_of_which_nothing_is_known_go_by_their_space() -> None:
    """A tenth of the space is worth a word, less is not."""
    assert _told('kind = "divisions"\ncount = 413\n')
    assert not _told('kind = "divisions"\ncount = 53\n')


def test_several_at_a_time_and_uneven_places_are_followed_too() -> None:
    """Every place is compared with its own neighbour on the part, in whatever order it is cut."""
    stage, head = _stage('kind = "divisions"\ncount = 383\n', "three-plate-40-geared")
    assert stage.setup.every == 4
    places = [Fraction(n, 383) for n in range(383)]
    assert at_the_rim.uneven(head, stage.setup, stage.programme.moves, places).error == 0
    shifted = [*places[:5], places[5] + Fraction(1, 10_000), *places[6:]]
    off = at_the_rim.uneven(head, stage.setup, stage.programme.moves, shifted)
    assert off.error == Fraction(1, 10_000)
