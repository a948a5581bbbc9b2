"""From job file to moves: every example job, followed move by move by the published rule."""

from __future__ import annotations

import json
import re
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest

from assistant.drawing.outline import part_svg
from assistant.engine.wording import greeting
from assistant.errors import WrongUse
from assistant.job.compiler import head_of, joined_moves, programme_of, setups_of, stages_of
from assistant.job.job_file import JobFaults, job_from_text, read_job
from assistant.job.kinds.by_name import KINDS
from assistant.job.programme import Programme
from assistant.job.which_head import on_head, with_other_head
from solver import spindle_move
from tests.commands import JOBS, one_line, tallyhand
from tests.kinds import crafts
from tests.lanes import drawn

ALL = sorted(JOBS.glob("*.toml"))


def test_there_is_an_example_of_every_kind() -> None:
    """Every kind but a bare list of angles has a job that comes with the program."""
    kinds = {work.kind for path in ALL for work in read_job(path).works}
    assert kinds == set(KINDS) - {"angles"}


def _apart(one: Fraction, other: Fraction) -> Fraction:
    """In parts of a turn, the shorter way round."""
    return min((one - other) % 1, (other - one) % 1)


def _apart_along(one: Fraction, other: Fraction) -> Fraction:
    """The same along the table, where a whole turn more is another place."""
    return abs(one - other)


@pytest.mark.parametrize("path", ALL, ids=lambda path: path.stem)
def test_moves_lead_to_every_cut(path: Path) -> None:
    """Moves added up from a stage's first cut come to each cut's place and back: exactly, or where
    only a nearest hole leads there, by no more than the set-up tells (0 where it is exact). Along
    the table nothing comes round: the last move ends where the last cut is."""
    job = read_job(path)
    head = head_of(job)
    for stage in stages_of(job, head):
        along = stage.part.along is not None
        apart = _apart_along if along else _apart
        cuts = {cut.at for each in stage.part.rounds for cut in each.cuts}
        programme = stage.programme
        place: Fraction = programme.positions[0]
        seen = []
        for n, move in enumerate(programme.moves):
            assert programme.positions[n] == place % 1
            nearest = min(cuts, key=lambda cut: apart(cut, place))
            assert apart(nearest, place) <= stage.setup.worst_error
            seen.append(nearest)
            place += spindle_move(head, stage.setup, move)
        if along:
            assert apart(place, max(cuts)) <= stage.setup.worst_error
        else:
            assert place % 1 == programme.positions[0]
        assert len(set(seen)) == len(seen) == len(stage.labels) == len(stage.stamps)
        named = {cut.at: cut.label for each in stage.part.rounds for cut in each.cuts}
        assert [named[at] for at in seen] == list(stage.labels)


@pytest.mark.parametrize("path", ALL, ids=lambda path: path.stem)
def test_plan_and_numbers_are_given(path: Path) -> None:
    """At most three sentences are spoken, and one where a cutter of the set of fifteen serves
    better; the sheet and the JSON hold the rest."""
    finished = tallyhand("job", "check", path, "--json")
    assert finished.returncode == 0 and finished.stderr == ""
    record = json.loads(finished.stdout)
    for plan in record["plan"]:
        most = 3 + ("a set of fifteen" in plan)
        assert 1 <= len(re.findall(r"[.?!](?: |$)", plan)) <= most, plan
    for stage in record["stages"]:
        assert len(stage["labels"]) == len(stage["positions"]) - 1
        assert stage["checklist"]


@pytest.mark.parametrize("path", ALL, ids=lambda path: path.stem)
def test_the_programme_is_the_stages_in_order(path: Path) -> None:
    """What a session runs holds every stage, with its words, sizes and lock rule; and it is
    the same again after the journal has kept it."""
    job = read_job(path)
    head = head_of(job)
    programme = programme_of(job, head, setups_of(job, head)[0])
    stages = stages_of(job, head)
    assert programme.stages == len(stages)
    for n, stage in enumerate(stages):
        kept = programme.stage(n)
        assert kept.moves == stage.programme.moves
        assert kept.measurements == stage.measurements
        assert (kept.unlocked, kept.closed) == (stage.unlocked, stage.closed)
        assert kept.labels in ((), stage.labels)
        assert kept.depths in ((), stage.depths)
    assert Programme.from_record(json.loads(json.dumps(programme.to_record()))) == programme


@pytest.mark.slow
@pytest.mark.parametrize("path", drawn(ALL, 3, lambda path: path.stem))
def test_rehearsed_from_job_file_to_finished(path: Path) -> None:
    """Pressed through, every cut of every stage and pass is made once, at its own place, with
    the lock as that work needs it; and so for each part of a batch."""
    job = read_job(path)
    programme = programme_of(job, head := head_of(job), setups_of(job, head)[0])
    stages = [programme.stage(n) for n in range(programme.stages)]
    parts = range(1, programme.parts + 1)
    presses = sum(
        len(s.items(part)) + s.passes * (5 * s.cuts + 3) + len(s.measurements)
        for part in parts
        for s in stages
    )
    finished = tallyhand("rehearse", path, "--json", given='{"press": "main"}\n' * presses)
    assert finished.returncode == 0, finished.stderr
    lines = [json.loads(line) for line in finished.stdout.splitlines()]
    states = [line["state"] for line in lines if "state" in line]
    assert states[-1]["phase"] == "finished"
    assert states[-1].get("part", 1) == programme.parts
    cuts = [new for old, new in pairwise(states) if new["phase"] == "cut" != old["phase"]]
    wanted = [
        (str(place), not s.unlocked)
        for s in stages
        for _ in range(s.passes)
        for place in s.positions[: s.cuts]
    ]
    assert [(cut["spindle"], cut["locked"]) for cut in cuts] == wanted * programme.parts
    assert all(cut["guarded"] for cut in cuts)


def test_sizes_are_asked_for_and_answered() -> None:
    """The hexagon's size is asked for after two cuts of each pass, read back, and used."""
    script = [{"press": "main"}] * 10  # the set-up
    script += [{"press": "main"}] * 3 + [{"press": "main"}] * 5  # cut one, move, cut two
    script += [{"size": "24.6"}, {"press": "main"}, {"say": "what next"}]
    given = "".join(json.dumps(step) + "\n" for step in script)
    finished = tallyhand("rehearse", JOBS / "hexagon-plug.toml", "--json", given=given)
    said = [json.loads(line).get("said", "") for line in finished.stdout.splitlines()]
    assert any("measure across flats one and four" in text for text in said)
    assert any(text.startswith("Twenty-four point six millimetres.") for text in said)
    assert "Zero point three millimetres left to cut." in said


def test_work_that_turns_in_the_cut_says_so_and_is_marked() -> None:
    """Only what the table screw turns is unlocked, and its set-up says it out loud. Where the
    worm is out for a short lead, the direct plate alone counts."""
    for path in ALL:
        job = read_job(path)
        for stage in stages_of(job, head_of(job)):
            loose = crafts()[stage.work.kind].turns
            assert stage.unlocked == loose
            told = [item for item in stage.programme.checklist if "stays OFF" in item]
            assert len(told) == loose
            if loose:
                assert stage.setup.gearing is None
                short = "of the gear on the spindle" in " ".join(stage.programme.checklist)
                assert stage.setup.method == ("direct" if short else "plain")


@pytest.mark.parametrize("moves", [(1,), (1, 1), (2, 3, 4), (5,) * 13])
@pytest.mark.parametrize("name", ["hexagon-plug", "elevator-pinion", "bung-reamer"])
def test_moves_put_together_end_where_they_did(name: str, moves: tuple[int, ...]) -> None:
    """Several moves as one turn the spindle just as far."""
    job = read_job(JOBS / f"{name}.toml")
    head = head_of(job)
    setup = setups_of(job, head)[0]
    singles = [setup.moves[n % len(setup.moves)]._replace(times=1) for n in moves]
    one = joined_moves(head, singles)
    assert spindle_move(head, setup, one) == sum(
        (spindle_move(head, setup, move) for move in singles), Fraction(0)
    )


def test_a_drawing_shows_the_cut(tmp_path: Path) -> None:
    """The file holds the part with that cut highlighted and the ones before as done."""
    picture = tmp_path / "part.svg"
    job = JOBS / "elevator-pinion.toml"
    finished = tallyhand("job", "check", job, "--drawing", picture, "--cut", "5")
    assert finished.returncode == 0
    text = picture.read_text("utf-8")
    looks = dict(re.findall(r'class="(\w+)" data-cut="(\d+)"', text)[::-1])
    assert looks["now"] == "5"
    assert len(re.findall(r'class="done"', text)) == 4
    assert len(re.findall(r'class="open"', text)) == 16
    line = one_line(tallyhand("job", "check", job, "--drawing", picture, "--cut", "22"), 2)
    assert "1 to 21" in line
    line = one_line(tallyhand("job", "check", job, "--drawing", tmp_path), 1)
    assert "can't write the drawing" in line


@pytest.mark.parametrize("path", ALL, ids=lambda path: path.stem)
def test_every_drawing_is_well_formed(path: Path) -> None:
    """XML that parses, with a shape for every cut of the part, at any cut."""
    from xml.etree import ElementTree

    job = read_job(path)
    for stage in stages_of(job, head_of(job)):
        part = stage.part
        for now in (None, 0, part.cuts - 1):
            tree = ElementTree.fromstring(part_svg(part.draw(), now, now or 0, "Lock & pinion"))
            marks = [each.get("data-cut") for each in tree.iter() if each.get("data-cut")]
            least = len(part.rounds[0].cuts)
            assert {int(mark or 0) for mark in marks} >= set(range(1, least + 1))


def test_what_is_done_and_nothing_now() -> None:
    """Between two cuts the drawing shows the ones that are made, and no more."""
    job = read_job(JOBS / "elevator-pinion.toml")
    (stage,) = stages_of(job, head_of(job))
    text = part_svg(stage.part.draw(), None, 3)
    assert re.findall(r'class="done" data-cut="(\d+)"', text) == ["1", "2", "3"]
    assert 'class="now"' not in text


def test_a_fault_in_the_second_ring_names_its_line(tmp_path: Path) -> None:
    """Lines are counted in the ring that the fault is in, though the keys are alike."""
    job = tmp_path / "rings.toml"
    ring = '[[ring]]\nkind = "divisions"\ncount = {}\n'
    head = 'title = "Dial"\nhead = "three-plate-40"\n'
    job.write_text(head + ring.format(8) + ring.format(1), "utf-8")
    assert one_line(tallyhand("job", "check", job), 1).startswith(f"{job} line 8: count = 1")
    job.write_text(head + ring.format(0) + ring.format(9), "utf-8")
    assert one_line(tallyhand("job", "check", job), 1).startswith(f"{job} line 5: count = 0")


@pytest.mark.parametrize("name", ["dog-clutch", "hopper-flange"])
def test_face_work_needs_the_axis_upright(name: str) -> None:
    """A head that does not tilt to ninety degrees is refused, a flat rotary table is not."""
    job = read_job(JOBS / f"{name}.toml")
    head = head_of(job)
    short = head._replace(tilt_degrees=(Fraction(-5), Fraction(80)))
    with pytest.raises(JobFaults, match="needs the axis upright"):
        stages_of(job, short)
    flat = head._replace(tilt_degrees=(Fraction(0), Fraction(0)))
    assert stages_of(job, flat)


_UPRIGHT = {
    "bolt circle": 'kind = "bolt-circle"\nholes = 127\ncircle = "500 mm"\nhole = "5 mm"\n',
    "disc": 'kind = "graduations"\non = "disc"\nlines = 127\ndiameter = "90 mm"\n',
    "clutch": 'kind = "clutch"\nteeth = 53\noutside = "200 mm"\nbore = "140 mm"\n'
    'depth = "3 mm"\ncutter_width = "3 mm"\n',
    "bevel": 'kind = "bevel-gear"\nteeth = 53\nmate = 60\nmodule = 2\nface = "20 mm"\n',
}


@pytest.mark.parametrize("name", _UPRIGHT)
def test_change_gears_want_a_level_head(name: str) -> None:
    """The gears that drive the plate sit on the head's own spindle and on a bracket that
    stands level (common practice): no train is ordered where the axis stands upright or tilted."""
    text = 'title = "t"\nhead = "three-plate-40-geared"\n[work]\n' + _UPRIGHT[name]
    job = job_from_text(text, "job.toml")
    (first, *_) = stages = stages_of(job, head_of(job))
    assert not any(stage.setup.gearing for stage in stages)
    assert not any("Change gears" in item for item in first.programme.checklist)
    assert "change gears need a level head" in first.setup.why
    assert "the one above" not in first.setup.why
    level = job_from_text(text.split("kind")[0] + 'kind = "divisions"\ncount = 127\n', "job.toml")
    assert stages_of(level, head_of(level))[0].setup.gearing


def test_one_ring_upright_and_no_ring_is_geared() -> None:
    """All rings are cut as the work stands: 127 lines on the disc's rim as well."""
    text = 'title = "t"\nhead = "three-plate-40-geared"\n[[ring]]\n' + _UPRIGHT["bolt circle"]
    job = job_from_text(text + '[[ring]]\nkind = "divisions"\ncount = 53\n', "job.toml")
    assert not any(stage.setup.gearing for stage in stages_of(job, head_of(job)))


def test_a_ring_of_whole_turns_leaves_the_plate_and_the_next_asks_for_its_own() -> None:
    """20 divisions are two turns each on any plate; 21 need one, put on with the spindle locked."""
    text = (
        'title = "rings"\nhead = "three-plate-40"\norder = "given"\n'
        '[[ring]]\nkind = "divisions"\ncount = 20\n[[ring]]\nkind = "divisions"\ncount = 21\n'
    )
    job = job_from_text(text, "rings.toml")
    first, second = stages_of(job, head_of(job))
    assert any("Any plate and any hole" in item for item in first.programme.checklist)
    assert not any(item.startswith("Plate ") for item in first.programme.checklist)
    assert any("lock it while you change" in item for item in second.programme.checklist)


def test_a_job_may_be_taken_to_another_head() -> None:
    """Worked out anew for it, the plate of the first head forgotten; the log keeps the new head."""
    text = (
        'title = "count"\nhead = "three-plate-40"\nfitted = "A"\n'
        '[work]\nkind = "divisions"\ncount = 9\n'
    )
    job = job_from_text(text, "count.toml")
    other = on_head(job, "rotary-90")
    assert head_of(other).name == "rotary-90"
    assert 'head = "rotary-90"' in other.text
    assert "fitted" not in other.text
    setup = setups_of(other, head_of(other))[0]
    assert sum(spindle_move(head_of(other), setup, move) * move.times for move in setup.moves) == 1
    with pytest.raises(WrongUse, match="nowhere"):
        on_head(job, "nowhere")


def test_the_greeting_names_a_head_that_is_not_ones_own() -> None:
    """A job for another head says so in its first words; one for one's own does not."""
    job = read_job(JOBS / "pinion.toml")
    head = head_of(job)
    made = programme_of(job, head, setups_of(job, head)[0])
    assert greeting(with_other_head(made, head, "")) == greeting(made)
    assert greeting(with_other_head(made, head, "three-plate-40")) == greeting(made)
    other = with_other_head(made, head, "rotary-90")
    assert f"this is for the {head.describe}, which is not the head" in greeting(other)
    assert Programme.from_record(other.to_record()) == other


@pytest.mark.parametrize("path", ALL, ids=lambda path: path.stem)
def test_the_set_up_list_leaves_nothing_to_guess(path: Path) -> None:
    """The first hole is marked (the closing check rests on it), slides are clamped where a depth
    is cut, but for the one that feeds, a depth has a touch before it, and no point that is drawn
    turns (common practice). A block has no hole: it begins with face one up, the vice tight."""
    job = read_job(path)
    head = head_of(job)
    programme = stages_of(job, head)[0].programme
    words = " ".join(programme.checklist)
    handwheel = any(move.minutes is not None for move in programme.moves)
    marked = re.search(r"mark that hole|first hole\. Mark it", words)
    if head.plate_drive == "block":
        assert not marked and "face one up. Vice tight." in words
    else:
        assert handwheel or marked
    if programme.depth or programme.depths:
        assert re.search(r"Touch the (top|large end|highest point) of|touches the edges of", words)
    if "drawn through, not turned" in words:
        assert "turning cutter" not in words
    if "only the knee is fed" in words:
        assert "Table and saddle clamped" in words and "knee clamped" not in words
        return
    assert re.search(r"clamped in every cut", words), "no slide is told to be clamped"
    if " Depth: " in words or "Depth from the first touch" in words:
        if "the cross slide feeds" in words:
            assert "Knee clamped in every cut" in words and "addle" not in words
        else:
            assert "Saddle and knee clamped" in words
    assert ("Tailstock centre" in words) == ("Dog and carrier" in words)


def test_a_dear_blank_is_reckoned_with() -> None:
    """A job's own figure for a spoilt blank stands in the reckoning, and changes what leads."""
    text = (
        'title = "count"\nhead = "three-plate-40-geared"\nblank_minutes = {}\n'
        '[work]\nkind = "divisions"\ncount = 51\n'
    )
    leads = {}
    for blank in ("0", "60.5"):
        job = job_from_text(text.format(blank), "count.toml")
        first = setups_of(job, head_of(job))[0]
        assert first.reckoning
        assert first.reckoning.blank == Fraction(blank)
        leads[blank] = first.method
    assert leads == {"0": "compound", "60.5": "differential"}
    with pytest.raises(JobFaults, match="line 3: blank_minutes = -1"):
        job_from_text(text.format("-1"), "count.toml")
