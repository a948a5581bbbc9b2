"""A head of one's own, described plate by plate, in a process as a person would."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from solver import load_head
from tests.commands import ROOT, tallyhand

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
    assert own.direct_circle == () and "a gear you have twice" in told


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
