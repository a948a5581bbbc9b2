"""Collet blocks: faces index the work, the vice is the lock; heads of screws by their thread."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import pytest

from assistant.drawing import plate
from assistant.engine import block_words
from assistant.engine.phases import Step
from assistant.engine.presenting import live_cells, plate_sight
from assistant.engine.state import State
from assistant.job import standards
from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import JobFaults, job_from_text, read_job
from assistant.job.screw_heads import screw_heads
from assistant.paper import sheet_facts
from assistant.paper.position_rows import position_rows
from solver import Move, Refused, load_head, parse_head, plan, spindle_move
from tests.commands import JOBS, ROOT, tallyhand

HEADS = ROOT / "config" / "heads"
BLOCK = 'name = "mine"\nplate_drive = "block"\ndirect_circle = [{}]\n'


def faces_of(job: Path) -> list[int]:
    (stage,) = stages_of(read_job(job), head_of(read_job(job)))
    programme = stage.programme
    return [block_words.face_number(programme, n) for n in range(programme.cuts + 1)]


# --- the head -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("faces", "divisions", "on"),
    [(4, 4, 1), (4, 2, 2), (6, 6, 1), (6, 3, 2), (6, 2, 3)],
)
def test_the_faces_that_serve(faces: int, divisions: int, on: int) -> None:
    """A square block gives squares and two flats, a hexagon block hexagons, triangles and two flats
    (common practice): faces / divisions on each time."""
    head = parse_head(BLOCK.format(faces))
    (setup,) = plan(head, divisions=divisions)
    assert setup.exact and setup.moves == (
        Move(direct_holes=on, direct_circle=faces, times=divisions, block=True),
    )
    assert spindle_move(head, setup, setup.moves[0]) == Fraction(1, divisions)


@pytest.mark.parametrize(("faces", "divisions"), [(4, 3), (4, 6), (6, 4), (6, 5), (6, 12)])
def test_what_the_faces_do_not_give_is_refused(faces: int, divisions: int) -> None:
    """Nothing is nearest on a block: the nearest face would be dozens of degrees off."""
    with pytest.raises(Refused, match=f"a block of {faces} faces gives"):
        plan(parse_head(BLOCK.format(faces)), divisions=divisions)


def test_a_block_has_faces_and_nothing_else() -> None:
    """Its file needs no ratio; plates, a dial or a second circle are a slip."""
    assert parse_head(BLOCK.format(8)).worm_ratio == 1
    for more in ('[[plate]]\nname = "A"\ncircles = [15]\n', "[handwheel]\ndivision_minutes = 1\n"):
        with pytest.raises(Refused, match="a block has faces and nothing else"):
            parse_head(BLOCK.format(6) + more)
    with pytest.raises(Refused, match="a block has faces and nothing else"):
        parse_head(BLOCK.format("4, 6"))


def test_the_move_of_a_block_is_kept_in_the_journal() -> None:
    """A move that is read back still speaks of faces; one of an earlier journal of holes."""
    move = Move(direct_holes=3, direct_circle=6, block=True)
    assert Move.from_record(move.to_record()) == move
    earlier = Move(direct_holes=3, direct_circle=6).to_record()
    assert "block" not in earlier and not Move.from_record(earlier).block


def test_the_table_of_a_block_has_the_rows_that_serve() -> None:
    done = tallyhand("table", "--head", "hexagon-block", "--from", "2", "--to", "12")
    assert [line.split()[0] for line in done.stdout.splitlines()[1:]] == ["2", "3", "6"]


# --- the job ------------------------------------------------------------------------------


def test_faces_are_called_by_their_number() -> None:
    """Opposite flats first, so that they can be measured; back to face one at the end."""
    assert faces_of(JOBS / "tap-square.toml") == [1, 3, 4, 2, 1]
    assert faces_of(JOBS / "clamp-screw.toml") == [1, 4, 5, 6, 2, 3, 1]


@pytest.mark.parametrize("kind", ["bolt-circle", "spur-gear", "splines"])
def test_other_kinds_are_refused_with_what_would_do(kind: str) -> None:
    text = (JOBS / f"{_EXAMPLE[kind]}.toml").read_text("utf-8")
    text = re.sub(r"(?m)^head = .*$", 'head = "hexagon-block"', text)
    job = job_from_text(text, "job.toml")
    with pytest.raises(JobFaults) as faults:
        stages_of(job, head_of(job))
    assert "block" in str(faults.value) and "head" in str(faults.value)


_EXAMPLE = {"bolt-circle": "hopper-flange", "spur-gear": "pinion", "splines": "gate-splines"}


def test_nothing_that_is_said_speaks_of_a_pin_or_a_hole(tmp_path: Path) -> None:
    """There is none: the whole session, with a pause, an overshoot and a lost count."""
    asked = ['{"say": "went past the hole"}', '{"say": "lost my count"}', '{"say": "where am I"}',
             '{"say": "what is next"}', '{"say": "go back one"}', '{"say": "pause the job"}',
             '{"press": "main"}', '{"press": "main"}']  # fmt: skip
    lines = [line for n in range(120) for line in ['{"press": "main"}', asked[n % len(asked)]]]
    script = tmp_path / "script"
    script.write_text("\n".join([*['{"press": "main"}'] * 9, *lines]), "utf-8")
    done = tallyhand("rehearse", str(JOBS / "tap-square.toml"), "--json", "--script", str(script),
                     "--data", str(tmp_path / "log"))  # fmt: skip
    said = re.findall(r'"said": "(.*?)", "for"', done.stdout)
    named = "|".join(("pin is home", "went past the hole", "spindle locked", "lock is off"))
    spoken = [re.sub(named, "", each, flags=re.IGNORECASE) for each in said]
    odd = [each for each in spoken if re.search(r"\b(pin|holes?|crank|plate|worm)\b", each)]
    assert not odd and any("Face three up" in each for each in said)


# --- what is seen -------------------------------------------------------------------------


def test_the_page_shows_the_face_that_is_called() -> None:
    (stage,) = stages_of(read_job(JOBS / "tap-square.toml"), load_head(HEADS / "square-block.toml"))
    state = State(step=Step.INDEX, place=1, settled=0)
    sight = plate_sight(stage.programme, state)
    assert live_cells(stage.programme, state) == (("3", "face up"),)
    assert plate.caption(sight) == "Block: face one up, next face three"
    shown = [mark for mark in plate.base(sight) if "face" in dict(mark.data)]
    assert len(shown) == 4


def test_the_sheet_speaks_of_faces() -> None:
    job = read_job(JOBS / "tap-square.toml")
    (stage,) = stages_of(job, head_of(job))
    table = position_rows(stage)
    assert [row.hole for row in table] == ["1", "3", "4", "2", "1"]
    assert [row.move for row in table] == ["start", "2 faces on", "1 face on", "2 faces on",
                                           "3 faces on"]  # fmt: skip
    assert dict(sheet_facts.set_up(job, head_of(job), stage))["Faces"].startswith("4,")
    words = " ".join([*sheet_facts.habits(stage), *sheet_facts.warnings(stage)])
    assert "Vice tight" in words and "pin" not in words.split()


# --- heads of screws ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("thread", "across", "least"),
    [("M5", "8", "7.78"), ("M8", "13", "12.73"), ("M16", "24", "23.67"), ("M20", "30", "29.67"),
     ("M24", "36", "35.38")],
)  # fmt: skip
def test_heads_of_another_source(thread: str, across: str, least: str) -> None:
    """s max and min of ISO 4014, product grade A (a data handbook's table; from memory)."""
    limits = screw_heads()[thread].limits
    assert (limits.high, limits.low) == (Fraction(across), Fraction(least))


def test_heads_are_h13_and_their_corners_those_of_the_least_head() -> None:
    """Two rules that the table was not read from: across flats h13 to 30 mm and h14 above (ISO
    4759-1; from memory), with IT13 and IT14 of ISO 286-1 (from memory); and the least corners are
    1.13 times the least across flats (ISO 4014's own note; from memory)."""
    grades = {6: 180, 10: 220, 18: 270, 30: 330}
    for head in screw_heads().values():
        across, low = head.limits.high, head.limits.low
        room = next((v for most, v in grades.items() if across <= most), 620)
        assert (across - low) * 1000 == room, head.thread
        assert float(head.corners) == pytest.approx(1.13 * float(low), abs=0.02), head.thread


def test_widths_of_the_heads_are_those_of_the_hexagons() -> None:
    """Both tables name ISO 272's widths."""
    sizes = set(standards.standard_table("hexagons").sizes)
    assert {head.limits.nominal for head in screw_heads().values()} <= sizes


def test_a_head_is_cut_within_its_limits() -> None:
    """The middle of 17.73 and 18 is 17.865: (21 - 17.865) / 2 = 1.5675 deep."""
    (stage,) = stages_of(read_job(JOBS / "clamp-screw.toml"),
                         head_of(read_job(JOBS / "clamp-screw.toml")))  # fmt: skip
    last = stage.programme.measurements[-1]
    assert (last.low, last.high) == (Fraction("17.73"), Fraction(18))
    assert stage.programme.depths_mm[-1] == Fraction("1.5675")
