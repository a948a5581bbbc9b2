"""The drawer: what a job takes from it, what is missing there, and what would do instead.

Numbers of cutters and their ranges: J. Rose, Modern Machine-Shop Practice (1887-88), gear-cutter
section, as in `assistant/job/kinds/cutters.py`. That a cutter made for fewer teeth would do, and
one for more would not, is common practice.
"""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import pytest

from assistant.commands.job import job_record
from assistant.errors import Refusal
from assistant.files import settings
from assistant.job.compiler import head_of, setups_of, stages_of
from assistant.job.drawer import Kept, drawer_of
from assistant.job.from_drawer import drawer_lines, offers, with_drawer
from assistant.job.job_file import Job, job_from_text
from tests.commands import JOBS, one_line, tallyhand

PINION = (
    'title = "Pinion"\nhead = "{head}"\n{cutter}\n[work]\nkind = "spur-gear"\nteeth = {teeth}\n'
    "module = 2.5\n"
)
CLUTCH = (
    'title = "Dog clutch"\nhead = "three-plate-40"\n[cutter]\nname = "six"\n[work]\n'
    'kind = "clutch"\nteeth = 5\noutside = "60 mm"\nbore = "30 mm"\ndepth = "8 mm"\n'
    'cutter_width = "{wide}"\n'
)
SIX = '[[drawer.cutter]]\nname = "six"\nform = "side"\nwidth = "6 mm"\nleft_width = "5.8 mm"\n'


def gear(name: str, number: float, pitch: str = "module = 2.5") -> str:
    return f'[[drawer.cutter]]\nname = "{name}"\nform = "gear"\n{pitch}\nnumber = {number:g}\n'


def kept(folder: Path, text: str, head: str = "three-plate-40-geared") -> settings.Settings:
    file = folder / "tallyhand.toml"
    file.write_text(f'[job]\nhead = "{head}"\n{text}', "utf-8")
    return settings.read_settings(file)


def pinion(teeth: int, name: str = "", head: str = "three-plate-40-geared") -> Job:
    cutter = f'[cutter]\nname = "{name}"' if name else ""
    return job_from_text(PINION.format(head=head, teeth=teeth, cutter=cutter), "pinion.toml")


# --- the cutters --------------------------------------------------------------------------


def test_a_cutter_counts_as_sharpening_left_it(tmp_path: Path) -> None:
    text = gear("old four", 4) + 'diameter = "65 mm"\nleft_diameter = "63.4 mm"\nteeth = 12\n'
    job = with_drawer(pinion(21, "Old Four"), kept(tmp_path, text))
    assert job.cutter.diameter == Fraction("63.4")
    assert (job.cutter.name, job.cutter.teeth) == ("old four", 12)


@pytest.mark.parametrize(
    ("teeth", "by_module", "by_pitch"),
    [(12, 1, 8), (13, 1, 8), (14, 2, 7), (17, 3, 6), (21, 4, 5), (25, 4, 5), (26, 5, 4), (34, 5, 4),
     (35, 6, 3), (54, 6, 3), (55, 7, 2), (134, 7, 2), (135, 8, 1)],
)  # fmt: skip
def test_the_right_number_is_offered_first(
    tmp_path: Path, teeth: int, by_module: int, by_pitch: int
) -> None:
    """Every border of the ranges; a set by module counts the other way."""
    every = "".join(gear(f"m{n}", n) for n in range(1, 9))
    same = "".join(gear(f"p{n}", n, "diametral_pitch = 10") for n in range(1, 9))
    drawer = drawer_of(kept(tmp_path, every + same))
    found = offers(pinion(teeth), drawer)
    assert [each.kept.name for each in found if each.fit.right] == [f"m{by_module}"]
    assert {each.kept.name for each in found} == {f"m{n}" for n in range(1, by_module + 1)}
    by_dp = job_from_text(
        PINION.format(head="three-plate-40", teeth=teeth, cutter="").replace(
            "module = 2.5", "diametral_pitch = 10"
        ),
        "pinion.toml",
    )
    assert offers(by_dp, drawer)[0].kept.name == f"p{by_pitch}"


@pytest.mark.parametrize(
    ("half", "least", "most"),
    [(1.5, 80, 134), (2.5, 42, 54), (3.5, 30, 34), (4.5, 23, 25), (5.5, 19, 20), (6.5, 15, 16),
     (7.5, 13, 13)],
)  # fmt: skip
def test_half_numbers_of_a_set_of_fifteen(
    tmp_path: Path, half: float, least: int, most: int
) -> None:
    """Their ranges as handbooks print them (from memory): offered in them, and never below, where
    the flanks would be too full. Above they are made for fewer teeth, and that is said."""
    drawer = drawer_of(kept(tmp_path, gear("half", 9 - half)))
    for teeth in (least, most):
        assert "fifteen" in offers(pinion(teeth), drawer)[0].fit.why
    assert not offers(pinion(least - 1), drawer)
    assert "fewer teeth" in offers(pinion(most + 1), drawer)[0].fit.why


def test_a_missing_cutter_is_told_with_what_would_do(tmp_path: Path) -> None:
    mine = kept(tmp_path, gear("three", 3) + gear("five", 5))
    job = pinion(21)
    lines = drawer_lines(job, mine, stages_of(job, head_of(job)))
    assert lines == [
        "Missing in the drawer: a gear cutter, module 2.5, number 4.",
        "Instead: three, made for fewer teeth: the tips come out a little thin.",
    ]


def test_a_cutter_that_is_not_there_is_refused_with_its_line(tmp_path: Path) -> None:
    mine = kept(tmp_path, gear("three", 3) + gear("five", 5))
    with pytest.raises(Refusal) as found:
        with_drawer(pinion(21, "four"), mine)
    assert str(found.value) == (
        "pinion.toml line 4: no cutter 'four' in the drawer: "
        "take three (made for fewer teeth: the tips come out a little thin)"
    )
    with pytest.raises(Refusal, match=r"line 4: five: made for more teeth.*wanted is"):
        with_drawer(pinion(21, "five"), mine)


def test_a_clutch_is_not_cut_with_another_width_than_it_is_reckoned_for(tmp_path: Path) -> None:
    """Its settings across are by the cutter's width: 0.2 mm less there spoils the fit."""
    mine = kept(tmp_path, SIX)
    wanted = r'line 11: six is 5.8 mm wide: write cutter_width = "5.8 mm"'
    with pytest.raises(Refusal, match=wanted):
        with_drawer(job_from_text(CLUTCH.format(wide="6 mm"), "clutch.toml"), mine)
    job = with_drawer(job_from_text(CLUTCH.format(wide="5.8 mm"), "clutch.toml"), mine)
    assert job.cutter.width == Fraction("5.8")


TOOLS = (
    '[[drawer.cutter]]\nname = "sixty"\nform = "angle"\nangle = "60d"\n'
    '[[drawer.cutter]]\nname = "seventy"\nform = "angle"\nangle = "70d"\n'
    '[[drawer.cutter]]\nname = "twelve"\nform = "end"\ndiameter = "12 mm"\n'
    '[[drawer.cutter]]\nname = "sixteen"\nform = "end"\ndiameter = "16 mm"\n'
    '[[drawer.cutter]]\nname = "two"\nform = "drill"\ndiameter = "2 mm"\n'
    '[[drawer.cutter]]\nname = "three"\nform = "drill"\ndiameter = "3 mm"\n'
)
WORKS = {
    "angular-clutch": 'teeth = 12\noutside = "60 mm"\nbore = "30 mm"\ncutter_angle = "60d"\n'
    'form = "saw-tooth"\ndrives = "clockwise"\n',
    "plate-circle": 'holes = 51\ncircle = "120 mm"\nhole = "3 mm"\n',
    "plate-cam": 'lobes = 3\noutside = "80 mm"\nrise = "6 mm"\nover = "90d"\nrises = "clockwise"\n'
    'thickness = "10 mm"\nmill = "12 mm"\n',
}


@pytest.mark.parametrize(
    ("kind", "right", "do"),
    [("angular-clutch", ["sixty"], []), ("plate-circle", ["three"], ["two"]),
     ("plate-cam", ["twelve"], ["sixteen"])],
)  # fmt: skip
def test_clutches_circles_and_cams_know_their_cutters(
    tmp_path: Path, kind: str, right: list[str], do: list[str]
) -> None:
    """The angle; the pin's fit, or less, reamed after; the mill that the roller is like."""
    text = f'title = "x"\nhead = "three-plate-40-geared"\n[work]\nkind = "{kind}"\n{WORKS[kind]}'
    found = offers(job_from_text(text, "job.toml"), drawer_of(kept(tmp_path, TOOLS)))
    assert [each.kept.name for each in found if each.fit.right] == right
    assert [each.kept.name for each in found if not each.fit.right] == do


def test_a_cam_is_not_cut_with_another_mill_than_it_is_reckoned_for(tmp_path: Path) -> None:
    text = (
        'title = "x"\nhead = "three-plate-40-geared"\n[cutter]\nname = "sixteen"\n'
        f'[work]\nkind = "plate-cam"\n{WORKS["plate-cam"]}'
    )
    with pytest.raises(
        Refusal, match=r'line 13: sixteen is 16 mm in diameter: write mill = "16 mm"'
    ):
        with_drawer(job_from_text(text, "job.toml"), kept(tmp_path, TOOLS))
    job = with_drawer(
        job_from_text(text.replace("12 mm", "16 mm"), "job.toml"), kept(tmp_path, TOOLS)
    )
    assert job.cutter.diameter == 16


def test_a_job_of_another_shop_keeps_its_own_figures(tmp_path: Path) -> None:
    text = PINION.format(
        head="three-plate-40", teeth=21, cutter='[cutter]\nname = "four"\ndiameter = "63 mm"'
    )
    job = job_from_text(text, "pinion.toml")
    mine = kept(tmp_path, "")
    assert with_drawer(job, mine).cutter.diameter == 63
    (line,) = drawer_lines(job, mine, stages_of(job, head_of(job)))
    assert "names the cutter four, and no drawer is kept" in line


FAULTS = [
    ('name = "x"\nform = "round"\n', r"line 5: form = 'round': use gear or"),
    ('name = "x"\nform = "gear"\nnumber = 9\nmodule = 2\n', "line 6: number = 9: it must be 1"),
    ('name = "x"\nform = "gear"\nnumber = 3.3\nmodule = 2\n', r"line 6: number = 3.3: 1 to 8, or"),
    ('name = "x"\nform = "gear"\n', r"line 3: module or diametral_pitch is missing"),
    ('name = "x"\nform = "side"\n', r"line 3: width is missing: a cutter of form side needs it"),
    ('name = "x"\nform = "angle"\n', r"line 3: angle is missing"),
    ('name = "x"\nform = "side"\nwidth = "6 mm"\nleft_width = "7 mm"\n',
     r"line 7: left_width 7 mm is more than width 6 mm: sharpening only takes off"),
    ('form = "form"\n', r"line 3: name is missing"),
    ('name = "x"\nform = "form"\ncolour = "red"\n', r"line 6: unknown key 'colour'"),
    ('name = "x"\nform = "form"\n[[drawer.cutter]]\nname = "X"\nform = "form"\n',
     r"line 7: name 'X' is there twice"),
]  # fmt: skip


@pytest.mark.parametrize(("rows", "fault"), FAULTS)
def test_a_fault_in_the_drawer_names_its_line(tmp_path: Path, rows: str, fault: str) -> None:
    with pytest.raises(Refusal, match=fault):
        drawer_of(kept(tmp_path, f"[[drawer.cutter]]\n{rows}"))


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("gears = [24, 1]\n", r"line 4: gears: list their teeth, 2 to 400"),
        ("plates = []\n", r'line 4: plates: list their names, like \["A", "B"\]'),
        ('plates = ["A", "D"]\n', r"line 4: plates: 'D' is no plate of three-plate-40-geared"),
        ("colour = 3\n", r"line 4: unknown key 'colour': known here: cutter, gears, plates"),
        ("cutter = 3\n", r"line 4: cutter: write each as a table of its own"),
    ],
)
def test_so_does_one_in_plates_and_gears(tmp_path: Path, text: str, fault: str) -> None:
    with pytest.raises(Refusal, match=fault):
        with_drawer(pinion(21), kept(tmp_path, f"[drawer]\n{text}"))


def test_a_plate_that_is_fitted_is_owned(tmp_path: Path) -> None:
    mine = kept(tmp_path, 'fitted = "C"\n[drawer]\nplates = ["A"]\n')
    with pytest.raises(Refusal, match="line 5: plates: 'C' is fitted"):
        with_drawer(pinion(21), mine)


# --- plates and gears ---------------------------------------------------------------------


def test_a_missing_plate_is_told_with_the_way_without_it(tmp_path: Path) -> None:
    """47 divisions at 40 to 1 are 40 holes on the 47 circle (any printed table), which is on plate
    C; without it change gears give them."""
    mine = kept(tmp_path, '[drawer]\nplates = ["A", "B"]\n')
    job = with_drawer(pinion(47), mine)
    lines = drawer_lines(job, mine, stages_of(job, head_of(job)))
    assert lines[0] == "Missing in the drawer: plate C, circle 47."
    assert lines[1].startswith("Instead: differential, ")
    assert lines[1].endswith(", exact.")
    assert {stage.setup.plate for stage in stages_of(job, head_of(job))} <= {"A", "B"}


def test_gears_that_are_not_owned_are_in_no_train(tmp_path: Path) -> None:
    owned = [24, 28, 32, 48]
    job = with_drawer(pinion(127), kept(tmp_path, f"[drawer]\ngears = {owned}\n"))
    for setup in setups_of(job, head_of(job)):
        if setup.gearing:
            assert {*setup.gearing.drivers, *setup.gearing.driven} <= set(owned)


def test_without_gears_the_plate_is_held_by_its_pin(tmp_path: Path) -> None:
    mine = kept(tmp_path, "[drawer]\ngears = []\n")
    job = with_drawer(pinion(127), mine)
    assert not any(setup.gearing for setup in setups_of(job, head_of(job)))
    lines = drawer_lines(job, mine, stages_of(job, head_of(job)))
    assert lines[0].startswith("Missing in the drawer: gear ")
    assert "arc-seconds off" in lines[1]


def test_another_head_has_all_its_plates(tmp_path: Path) -> None:
    mine = kept(tmp_path, '[drawer]\nplates = ["A"]\n')
    job = with_drawer(pinion(47, head="three-plate-40"), mine)
    assert setups_of(job, head_of(job))[0].plate == "C"


# --- at the command line ------------------------------------------------------------------


def test_job_check_and_plan_tell_of_the_drawer(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept(tmp_path, '[drawer]\nplates = ["A", "B"]\n' + gear("four", 4))
    monkeypatch.setenv("TALLYHAND_CONFIG", str(tmp_path / "tallyhand.toml"))
    checked = tallyhand("job", "check", JOBS / "elevator-pinion.toml")
    assert checked.stdout.splitlines()[-1] == "  drawer   In the drawer: four."
    found = tallyhand("job", "check", "--json", JOBS / "elevator-pinion.toml")
    assert json.loads(found.stdout)["drawer"] == ["In the drawer: four."]
    planned = tallyhand("plan", "--divisions", "47").stdout
    assert "Missing in the drawer: plate C, circle 47.\nInstead: differential" in planned
    asked = json.loads(tallyhand("plan", "--divisions", "47", "--json").stdout)
    assert asked["drawer"][0] == "Missing in the drawer: plate C, circle 47."
    assert all(setup["plate"] in ("A", "B") for setup in asked["setups"])


def test_a_fault_of_the_drawer_is_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    kept(tmp_path, gear("four", 44))
    monkeypatch.setenv("TALLYHAND_CONFIG", str(tmp_path / "tallyhand.toml"))
    done = tallyhand("job", "check", JOBS / "elevator-pinion.toml")
    assert "tallyhand.toml line 7: number = 44: it must be 1 to 8" in one_line(done, 1)


def test_without_a_drawer_a_job_is_as_before(tmp_path: Path) -> None:
    job = pinion(21)
    assert with_drawer(job, kept(tmp_path, "")) == job
    head = head_of(job)
    assert job_record(job, head, stages_of(job, head))["setup"]["plate"] == "B"


def test_every_form_says_what_it_is(tmp_path: Path) -> None:
    assert isinstance(drawer_of(kept(tmp_path, SIX)).cutter("SIX"), Kept)
