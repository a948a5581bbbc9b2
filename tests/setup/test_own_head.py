"""A head of one's own, described plate by plate, in a process as a person would."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from solver import load_head
from tests.commands import ROOT, one_line, tallyhand

# The three plates of the program's own head, as a person counts them.
PLATES = ["y", "15 16 17 18 19 20", "", "y", "21 23 27 29 31 33", "", "y", "37 39 41 43 47 49", "",
          "n"]  # fmt: skip
BEGIN = ["40", "own", "mill-head", "head of the press house", "40"]
END = ["24", "fixed", "10", "90", "1"]


def describe(folder: Path, answers: list[str]) -> str:
    env = {"XDG_CONFIG_HOME": str(folder)}
    given = "\n".join(answers) + "\n"
    finished = tallyhand("setup", "head", "--silent", given=given, env=env)
    assert (finished.returncode, finished.stderr) == (0, ""), finished.stderr
    return finished.stdout


def head_file(folder: Path) -> Path:
    return folder / "tallyhand" / "heads" / "mill-head.toml"


def test_it_is_as_good_as_one_of_the_program(tmp_path: Path) -> None:
    """The same counts give the same head, found by its name, chosen, and good for a job."""
    describe(tmp_path, [*BEGIN, *PLATES, "21 1 19 21", "", *END])
    own, shipped = (
        load_head(head_file(tmp_path)),
        load_head(ROOT / "config" / "heads" / "three-plate-40.toml"),
    )
    assert own.plates == shipped.plates and own.worm_ratio == shipped.worm_ratio
    assert own.direct_circle == shipped.direct_circle and own.plate_drive == "fixed"
    assert (own.tilt_degrees, own.scale_degrees) == ((-10, 90), 1)
    env = {"XDG_CONFIG_HOME": str(tmp_path)}
    for words in (["--head", "mill-head"], []):
        finished = tallyhand("plan", *words, "--divisions", "51", "--json", env=env)
        assert finished.returncode == 0, finished.stderr
        assert json.loads(finished.stdout)["head"] == "mill-head"
    job = tmp_path / "job.toml"
    job.write_text('title = "Wheel"\nhead = "mill-head"\n[work]\nkind = "divisions"\ncount = 9\n')
    assert tallyhand("job", "check", job, env=env).returncode == 0
    finished = tallyhand("plan", "--head", "no-such", "--divisions", "9", env=env)
    assert "mill-head" in finished.stderr


def test_a_geared_head_with_its_gears(tmp_path: Path) -> None:
    """Gears held twice stay twice; the idlers are those that were seen."""
    end = ["0", "geared", "24 24 28 wheel", "24 24 28 32", "0", "0", "90", "0"]
    told = describe(tmp_path, [*BEGIN, *PLATES, "", *end])
    own = load_head(head_file(tmp_path))
    assert (own.plate_drive, own.change_gears, own.idlers_for_with) == (
        "geared", (24, 24, 28, 32), 0,
    )  # fmt: skip
    assert own.direct_circle == () and "a gear that you have twice written twice" in told


@pytest.mark.parametrize(
    ("answers", "parts"),
    [
        ([*BEGIN[:4], "36", "40", "40", *PLATES, ""], ["counted 36 turns"]),
        ([*BEGIN, "y", "15 16 16", "17 18 19 20", "", *PLATES[3:], ""], ["16 is on this plate"]),
        ([*BEGIN, "y", "15 16 1", "17 18 19 20", "", *PLATES[3:], ""], ["1 holes"]),
        (
            [*BEGIN, "y", "15 16 17 13", "n", "18 19 20", "", *PLATES[3:], ""],
            ["13 lies outside 17"],
        ),
        ([*BEGIN, "y", "15 61", "-", "16 17 18 19 20", "", *PLATES[3:], ""], ["So far 15 61"]),
        (
            [*BEGIN, *PLATES[:6], "n", "43 0 40 43", "plate", "y", *PLATES[7:], "43 0 40 43", ""],
            ["no plate has a circle of 43", "That agrees"],
        ),
        (
            [*BEGIN, *PLATES, "21 1 15 21", "row", "21 1 19 21", ""],
            ["fits a head of 36 to 1", "That agrees"],
        ),
        ([*BEGIN, *PLATES, "21 1 15 21", "row", "", "yes"], ["does not agree with what you"]),
        (
            ["36", *BEGIN[1:4], "36", *PLATES, "21 1 19 21", "ratio", "40", "40", "21 1 19 21", ""],
            ["fits a head of 40 to 1, not 36 to 1", "That agrees"],
        ),
        (
            [*BEGIN, *PLATES[:4], "22 23 27 29 31 33", *PLATES[5:], "21 1 19 21", "again", *PLATES,
             "21 1 19 21", ""],
            ["no plate has a circle of 21", "That agrees"],
        ),
    ],
)  # fmt: skip
def test_contradictions_are_found_and_mended(
    answers: list[str], parts: list[str], tmp_path: Path
) -> None:
    """Each is told in a line, and once it is mended the head comes out right."""
    told = describe(tmp_path, [*answers, *END])
    for part in parts:
        assert part in told
    own = load_head(head_file(tmp_path))
    shipped = load_head(ROOT / "config" / "heads" / "three-plate-40.toml")
    assert own.plates == shipped.plates and own.worm_ratio == 40


@pytest.mark.parametrize("count", range(3, len([*BEGIN, *PLATES, "", *END])))
def test_a_description_left_anywhere_goes_on(count: int, tmp_path: Path) -> None:
    """Leave after any answer, come back: only what was not answered yet is asked."""
    whole = [*BEGIN, *PLATES, "", *END]
    told = describe(tmp_path, [*whole[:count], "q"])
    assert "Left." in told and not head_file(tmp_path).exists()
    rest = whole[count:]
    # A question within a plate, or between two, is asked again as it stood.
    told = describe(tmp_path, ["y", *rest])
    assert "Go on with it?" in told
    own = load_head(head_file(tmp_path))
    assert own.plates == load_head(ROOT / "config" / "heads" / "three-plate-40.toml").plates
    assert own.direct_circle == (24,)
    assert not list(head_file(tmp_path).parent.glob("*.draft"))


def test_plates_are_called_as_they_are_stamped(tmp_path: Path) -> None:
    """One without a stamp gets a letter that no other has, and no two are called alike."""
    plates = ["I", "15 16 17", "", "yes", "21 23", "", "i", "A", "27 29", "", "no"]
    told = describe(tmp_path, [*BEGIN, *plates, "", *END])
    assert "'i' is another plate's" in told
    assert "Plate I:" in told and "Plate A: So far 27 29." in told
    own = load_head(head_file(tmp_path))
    assert [(plate.name, plate.circles) for plate in own.plates] == [
        ("I", (15, 16, 17)), ("B", (21, 23)), ("A", (27, 29)),
    ]  # fmt: skip


def test_describing_it_anew_keeps_the_old_file(tmp_path: Path) -> None:
    """The file as it was lies beside the new one."""
    describe(tmp_path, [*BEGIN, *PLATES, "", *END])
    before = head_file(tmp_path).read_text()
    anew = ["40", "own", "mill-head", "yes", "one plate only", "40", *PLATES[:3], "n", ""]
    describe(tmp_path, [*anew, *END])
    assert len(load_head(head_file(tmp_path)).plates) == 1
    (kept,) = head_file(tmp_path).parent.glob("mill-head.toml.before-*")
    assert kept.read_text() == before


def test_a_name_of_the_program_is_not_taken(tmp_path: Path) -> None:
    """One's own head never hides one that comes with the program, nor looks like a path."""
    names = ["three-plate-40", "../evil", "mill-head"]
    told = describe(tmp_path, ["40", "own", *names, *BEGIN[3:], *PLATES, "", *END])
    assert "is a head of the program" in told and "use letters" in told
    assert head_file(tmp_path).exists()


@pytest.mark.parametrize(
    ("answers", "end", "part"),
    [
        ([*BEGIN[:4], "lots", "", *PLATES, ""], END, "'lots' is no number"),
        ([*BEGIN, "y", "fifteen", *PLATES[1:], ""], END, "give whole numbers of holes"),
        ([*BEGIN, *PLATES, "21 and 19", ""], END, "give four numbers, divisions, whole turns"),
        ([*BEGIN, *PLATES, ""], ["1", *END], "a circle has 2 or more holes; 0 is for none"),
        ([*BEGIN, *PLATES, ""], [*END[:4], "fine", "1"], "'fine': give degrees, like 1, 0.5"),
        ([*BEGIN, *PLATES, ""], [*END[:4], "1/0", "1"], "'1/0': give degrees"),
        ([*BEGIN, *PLATES, ""], [*END[:4], "1e-1", "1"], "'1e-1': give degrees"),
        ([*BEGIN, *PLATES, ""], [*END[:4], "91", "1"], "'91': give degrees"),
    ],
)
def test_an_answer_that_will_not_do_is_asked_for_again(
    answers: list[str], end: list[str], part: str, tmp_path: Path
) -> None:
    """One line says what would do, nothing that was answered is lost, and the head comes out."""
    assert part in describe(tmp_path, [*answers, *end])
    own = load_head(head_file(tmp_path))
    shipped = load_head(ROOT / "config" / "heads" / "three-plate-40.toml")
    assert (own.plates, own.scale_degrees, own.direct_circle) == (shipped.plates, 1, (24,))


def test_a_plate_without_a_circle_is_none(tmp_path: Path) -> None:
    """Enter at the first circle: there was no such plate, and it is asked for once more."""
    told = describe(tmp_path, [*BEGIN, "y", "", *PLATES, "", *END])
    assert told.count("Is there a plate, or another side of one?") == 2
    assert len(load_head(head_file(tmp_path)).plates) == 3


def test_a_head_has_holes_somewhere(tmp_path: Path) -> None:
    """Neither plate nor direct plate: told at once, while it can be mended, not at the end."""
    answers = [*BEGIN, "n", "", "0", "y", "24 25", "", "n", "fixed", "0", "90", "1"]
    told = describe(tmp_path, answers)
    assert "there are no holes to index by" in told and "give a number" not in told
    assert "The head is described: 1 plate." in told
    own = load_head(head_file(tmp_path))
    assert [plate.circles for plate in own.plates] == [(24, 25)] and own.direct_circle == ()


def test_letters_that_no_file_can_hold(tmp_path: Path) -> None:
    """They are shown as ?, and the head is written all the same."""
    describe(tmp_path, [*BEGIN[:3], "head\x7f of the \x1b[31mpress", "40", *PLATES, "", *END])
    assert load_head(head_file(tmp_path)).describe == "head? of the ?[31mpress"


def test_a_name_that_is_taken_may_be_kept(tmp_path: Path) -> None:
    """Answered no, the head of that name stays, and another name is asked for."""
    describe(tmp_path, [*BEGIN, *PLATES, "", *END])
    before = head_file(tmp_path).read_bytes()
    other = ["40", "own", "mill-head", "no", "press-head", "the other", "40", *PLATES[:3], "n", ""]
    assert "mill-head is there. Describe it anew?" in describe(tmp_path, [*other, *END])
    assert head_file(tmp_path).read_bytes() == before
    assert len(load_head(head_file(tmp_path).with_name("press-head.toml")).plates) == 1


def test_heads_are_offered_by_their_ratio(tmp_path: Path) -> None:
    """At 60 to 1 the table with a handwheel is offered, read to one minute; a file of one's own
    that can't be read is passed over."""
    folder = head_file(tmp_path).parent
    folder.mkdir(parents=True)
    (folder / "broken.toml").write_text("worm_ratio = [")
    told = describe(tmp_path, ["60", ""])
    assert "rotary-60-handwheel: handwheel, 1′ a division" in told and "broken" not in told
    assert "three-plate-40" not in told


def test_a_description_may_be_left_for_another_head(tmp_path: Path) -> None:
    """Answered no, it stays for a later time, and the heads that are known are offered; one that
    can't be read any more is passed over."""
    describe(tmp_path, [*BEGIN, "y", "15 16", "q"])
    folder = head_file(tmp_path).parent
    (folder / "torn.draft").write_text('{"name": "torn", "wor')
    told = describe(tmp_path, ["n", "40", "two-sided-40"])
    assert "mill-head. Go on with it?" in told and "torn" not in told
    assert (folder / "mill-head.draft").exists()
    settings = (tmp_path / "tallyhand" / "tallyhand.toml").read_text()
    assert 'head = "two-sided-40"' in settings


def refused(folder: Path, answers: list[str]) -> str:
    env = {"XDG_CONFIG_HOME": str(folder)}
    given = "\n".join(answers) + "\n"
    return one_line(tallyhand("setup", "head", "--silent", given=given, env=env), 1)


def test_a_head_that_can_not_be_written_loses_no_answer(tmp_path: Path) -> None:
    """A folder in the way of the file, or a file in the way of the folder: one line with the cure,
    and once it is out of the way the description goes on from its end."""
    folder = head_file(tmp_path).parent
    folder.parent.mkdir(parents=True)
    folder.write_text("in the way")
    assert "make that folder writable" in refused(tmp_path, BEGIN)
    folder.unlink()
    head_file(tmp_path).mkdir(parents=True)
    answers = [*BEGIN[:3], "yes", *BEGIN[3:], *PLATES, "", *END]
    line = refused(tmp_path, answers)
    assert str(head_file(tmp_path)) in line and "make that folder writable" in line
    head_file(tmp_path).rmdir()
    describe(tmp_path, ["y", "1"])
    assert len(load_head(head_file(tmp_path)).plates) == 3


def test_a_draft_that_makes_no_head_is_refused(tmp_path: Path) -> None:
    """What somebody changed in the draft is found by the reader before a file is written."""
    describe(tmp_path, [*BEGIN, *PLATES, "", *END[:4], "q"])
    draft = head_file(tmp_path).with_suffix(".draft")
    record = json.loads(draft.read_text())
    draft.write_text(json.dumps({**record, "tilt_degrees": [90, 10]}))
    line = refused(tmp_path, ["y", "1"])
    assert "tilt_degrees: the lower end comes first" in line
    assert not head_file(tmp_path).exists() and draft.exists()


def test_a_geared_head_left_at_its_end_goes_on(tmp_path: Path) -> None:
    """Gears and idlers that were told are not asked for again."""
    end = ["0", "geared", "24 28", "2"]
    describe(tmp_path, [*BEGIN, *PLATES, "", *end, "q"])
    told = describe(tmp_path, ["y", "0", "90", "1"])
    assert "change gears, with spaces" not in told and "how many idlers" not in told
    own = load_head(head_file(tmp_path))
    assert (own.change_gears, own.idlers_for_with) == ((24, 28), 2)
