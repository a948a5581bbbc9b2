"""`tallyhand plan` and `tallyhand table` as a person and a script use them."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import subprocess
import sys
from fractions import Fraction
from html.parser import HTMLParser
from pathlib import Path

import pytest

from tests.commands import uncovered

ROOT = Path(__file__).resolve().parents[2]


def run(*words: str, stdin: str = "") -> subprocess.CompletedProcess[str]:
    """The command in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "assistant", *words],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        input=stdin,
        capture_output=True,
        text=True,
        check=False,
    )


def answer(*words: str, stdin: str = "") -> str:
    done = run(*words, stdin=stdin)
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


def recomputed(head: dict[str, int], setup: dict[str, object]) -> list[Fraction]:
    """Positions from the JSON alone, by the contract's own formulae."""
    ratio, place, places = Fraction(head["worm_ratio"]), Fraction(0), []
    gearing = setup["gearing"]
    g = Fraction(0)
    if gearing:
        g = Fraction(1)
        for driver, driven in zip(gearing["drivers"], gearing["driven"], strict=True):  # type: ignore[index]
            g *= Fraction(driver, driven)
        g = g if gearing["plate"] == "with" else -g  # type: ignore[index]
    for move in setup["moves"]:  # type: ignore[attr-defined]
        if "direct_holes" in move:
            by = Fraction(move["direct_holes"], move["direct_circle"])
        else:
            crank = move["turns"] + Fraction(move["holes"], move["circle"])
            if move["plate_circle"]:
                crank += Fraction(move["plate_holes"], move["plate_circle"])
            by = crank / (ratio - g)
        for _ in range(move["times"]):
            place += by
            places.append(place)
    return places


@pytest.mark.parametrize("name", ["three-plate-40", "three-plate-40-geared", "two-sided-40"])
@pytest.mark.parametrize("divisions", [9, 21, 24, 51, 91, 127, 383])
def test_json_gives_moves_that_visit_every_division(name: str, divisions: int) -> None:
    """An outside reader of the JSON arrives at every division, as exactly as it is told."""
    told = json.loads(answer("plan", "--head", name, "--divisions", str(divisions), "--json"))
    assert told["head"] == name
    assert told["request"] == {"divisions": divisions}
    for setup in told["setups"]:
        places = recomputed({"worm_ratio": 40}, setup)
        off = [abs(p - Fraction(k * setup["every"], divisions)) for k, p in enumerate(places, 1)]
        assert len(places) == divisions
        assert max(off) * 1296000 == pytest.approx(setup["worst_error_arcsec"], abs=1e-9)
        assert setup["exact"] == (max(off) == 0)


def test_json_has_the_fields_of_the_contract() -> None:
    """Names and kinds of the fields stay what scripts rely on."""
    told = json.loads(
        answer("plan", "--head", "three-plate-40-geared", "--divisions", "127", "--json")
    )
    first = told["setups"][0]
    assert first["method"] == "differential"
    assert (first["plate"], first["circle"], first["sector_spaces"], first["every"]) == (
        "C",
        39,
        13,
        1,
    )
    assert first["exact"] is True and first["worst_error_arcsec"] == 0.0
    assert isinstance(first["why"], str) and "\n" not in first["why"]
    gearing = first["gearing"]
    assert (gearing["drivers"], gearing["driven"]) == ([56], [24])
    assert (gearing["idlers"], gearing["plate"]) == (2, "against")
    assert first["moves"] == [
        {
            "turns": 0,
            "holes": 13,
            "circle": 39,
            "plate_holes": 0,
            "plate_circle": None,
            "times": 127,
        }
    ]


def test_direct_and_handwheel_moves_in_json() -> None:
    """A direct move and a handwheel move have the fields of their own kind and no others."""
    direct = json.loads(answer("plan", "--head", "three-plate-40", "--divisions", "6", "--json"))
    assert direct["setups"][0]["moves"] == [{"direct_holes": 4, "direct_circle": 24, "times": 6}]
    dial = json.loads(
        answer("plan", "--head", "rotary-60-handwheel", "--divisions", "48", "--json")
    )
    assert dial["setups"][0]["moves"] == [{"turns": 1, "minutes": "90", "times": 48}]


def test_plain_text_is_read_at_a_glance() -> None:
    """The text names plate, circle, move, arms and reason, each on a short line of its own."""
    text = answer("plan", "--head", "three-plate-40", "--divisions", "21")
    assert "1 turn + 19 holes on 21   x 21" in text
    assert "sector arms: 19 spaces, 20 holes with the pin's own" in text
    assert max(map(len, text.splitlines())) <= 100


def test_an_angle_is_one_move() -> None:
    """8 degrees 50 minutes is one move, with the error said."""
    told = json.loads(answer("plan", "--head", "three-plate-40", "--angle", "8d50m", "--json"))
    assert told["request"] == {"angle": "8d50m", "turns": "53/2160"}
    assert [move["times"] for move in told["setups"][0]["moves"]] == [1]


def test_a_file_of_angles() -> None:
    """Angles from standard input or a file, with remarks, visited in order and closed."""
    angles = "0\n30\n75d30m  # the odd tooth\n\n1/2 turn\n"
    told = json.loads(
        answer(
            "plan", "--head", "two-sided-40", "--positions", "-", "--json", "--errors", stdin=angles
        )
    )
    first = told["setups"][0]
    reached = [Fraction(place["reached_turns"]) for place in first["positions"]]
    assert reached == recomputed({"worm_ratio": 40}, first)
    wanted = [Fraction(1, 12), Fraction(151, 720), Fraction(1, 2), Fraction(1)]
    assert [Fraction(place["target_turns"]) for place in first["positions"]] == wanted


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["--divisions", "0"], 2, "from 2 to 10000000"),
        (["--divisions", "1"], 2, "from 2 to 10000000"),
        (["--divisions", "twenty"], 2, "whole number"),
        (["--divisions", "10000001"], 2, "from 2 to 10000000"),
        (["--divisions", "9" * 5000], 2, "whole number"),
        (["--angle", "x"], 2, "is no angle"),
        (["--angle", "400"], 2, "at most 360"),
        (["--positions", "/no/such/file"], 1, "No such file"),
        (["--divisions", "9", "--fitted", "Q"], 2, "A, B, C"),
        (["--divisions", "9", "--tolerance", "0.02 mm"], 2, "radius"),
        (["--divisions", "9", "--most", "0"], 2, "one set-up or more"),
        (["--divisions", "9", "--most", "x"], 2, "whole number"),
        (["--divisions", "9", "--anlge", "8"], 2, "did you mean --angle?"),
        (["--divisions", "9", "--angle", "8"], 2, "give one of"),
        (["--rings", "9,x"], 2, "whole number"),
        (["--rings", "9,1"], 2, "from 2 to 10000000"),
        (["--divisions"], 2, "needs a value"),
        (["--json=1", "--divisions", "9"], 2, "takes no value"),
        (["9"], 2, "belongs to no option"),
        ([], 2, "give one of"),
    ],
)
def test_slips_get_one_line(words: list[str], code: int, says: str) -> None:
    """Bad input: one line on standard error that names it and the cure, and the right code."""
    done = run("plan", "--head", "three-plate-40", *words)
    assert done.returncode == code
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert says in done.stderr


def test_unknown_and_faulty_heads(tmp_path: Path) -> None:
    """An unknown head lists the known ones; a faulty file names its line."""
    unknown = run("plan", "--head", "four-plate", "--divisions", "9")
    assert (unknown.returncode, len(unknown.stderr.splitlines())) == (2, 1)
    assert "three-plate-40, three-plate-40-geared" in unknown.stderr
    mine = tmp_path / "mine.toml"
    mine.write_text('name = "mine"\nworm_ratio = 40\n[[plate]]\nname = "A"\ncircles = [0]\n')
    faulty = run("plan", "--head", str(mine), "--divisions", "9")
    assert (faulty.returncode, len(faulty.stderr.splitlines())) == (1, 1)
    assert f"{mine} line 5: circle 0: a circle has 2 or more holes" in faulty.stderr


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("0\n20\n10\n", "line 3: 10 is not past"),
        ("0\n20\n370\n", "line 3: 370 passes a full turn"),
        ("0\nx\n", "line 2: 'x' is no angle"),
        ("", "no angles in it"),
        ("0\n", "none past the start"),
    ],
)
def test_faulty_lists_of_angles(text: str, says: str) -> None:
    """A list that does not rise, passes a full turn or holds no angle: one line with its place."""
    done = run("plan", "--head", "three-plate-40", "--positions", "-", stdin=text)
    assert (done.returncode, done.stdout) == (1, "")
    assert len(done.stderr.splitlines()) == 1
    assert says in done.stderr


def test_errors_as_lengths() -> None:
    """--radius gives the arc beside the arc-seconds; --errors every position."""
    text = answer(
        "plan", "--head", "three-plate-40", "--divisions", "51", "--radius", "35 mm", "--errors"
    )
    assert '324.13" (0.0550 mm at 35 mm)' in text
    listed = [line.split() for line in text.partition("Every position")[2].splitlines()[1:]]
    assert [row[0] for row in listed] == [str(n) for n in range(1, 52)]
    assert [row[3] for row in listed[:1] + listed[-1:]] == ["-11/49980", "0"]


def test_rings_change_the_plate_once() -> None:
    """Three rings on two plates: one change, at the ring that needs it."""
    told = json.loads(
        answer("plan", "--head", "three-plate-40", "--rings", "20,16,60", "--fitted", "B", "--json")
    )
    assert [ring["plate_change"] for ring in told["rings"]] == [False, True, False]


def test_table_as_csv() -> None:
    """A row a division, as a printed table gives it: 2 to 50 are all exact on the three plates."""
    text = answer("table", "--head", "three-plate-40", "--to", "51", "--csv")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [int(row["divisions"]) for row in rows] == list(range(2, 52))
    assert [row["exact"] for row in rows] == ["yes"] * 49 + ["no"]
    for row in rows[:-1]:
        if row["method"] == "plain":
            turns = int(row["turns"]) + Fraction(int(row["holes"]), int(row["circle"]))
            assert turns == Fraction(40, int(row["divisions"]))
        else:
            assert Fraction(int(row["direct_holes"]), 24) == Fraction(1, int(row["divisions"]))


def test_table_as_json() -> None:
    """The same set-ups as plan gives first."""
    told = json.loads(
        answer("table", "--head", "rotary-90", "--from", "20", "--to", "30", "--json")
    )
    for row in told["rows"]:
        planned = answer(
            "plan", "--head", "rotary-90", "--divisions", str(row["divisions"]), "--json"
        )
        first = json.loads(planned)["setups"][0]
        assert row["moves"] == first["moves"]


class Cells(HTMLParser):
    """Collects the rows of a page's tables, and anything that would be fetched."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.fetched: list[str] = []
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag != "meta":
            self.open.append(tag)
        self.fetched += [value or "" for name, value in attrs if name in ("src", "href")]
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] in ("td", "th"):
            self.rows[-1][-1] += data


def page(path: Path) -> Cells:
    cells = Cells()
    cells.feed(path.read_text(encoding="utf-8"))
    assert cells.open == []
    assert cells.fetched == []
    return cells


def test_table_as_a_page(tmp_path: Path) -> None:
    """A well-formed page that needs nothing from anywhere, a row a division."""
    file = tmp_path / "table.html"
    answer(
        "table",
        "--head",
        "three-plate-40-geared",
        "--from",
        "50",
        "--to",
        "60",
        "--page",
        str(file),
    )
    rows = page(file).rows
    assert [row[0] for row in rows[1:]] == [str(n) for n in range(50, 61)]
    assert "differential" in rows[4][1]


def test_a_page_for_the_wall_from_the_users_own_head(tmp_path: Path) -> None:
    """The user's own name, plates and circles stand on it, whatever signs they hold."""
    mine = tmp_path / "mine.toml"
    mine.write_text(
        'name = "Mill <north> & shed"\nworm_ratio = 40\n'
        '[[plate]]\nname = "A"\ncircles = [15, 18]\n[[plate]]\nname = "B"\ncircles = [21]\n'
    )
    file = tmp_path / "wall.html"
    answer("table", "--head", str(mine), "--wall", str(file))
    text = file.read_text(encoding="utf-8")
    assert "Mill &lt;north&gt; &amp; shed" in text
    rows = page(file).rows
    assert ["B", "21: 0°25'42.86\""] in rows
    assert ["21", "plain", "B", "1 turn + 19 holes on 21", "19"] in rows


def test_a_page_that_cannot_be_written(tmp_path: Path) -> None:
    """A folder that is not there: one line and the cure."""
    done = run(
        "table", "--head", "rotary-90", "--to", "3", "--page", str(tmp_path / "no" / "x.html")
    )
    assert (done.returncode, len(done.stderr.splitlines())) == (1, 1)


@pytest.mark.parametrize("command", ["plan", "table"])
def test_help_has_an_example(command: str) -> None:
    """--help shows the options and an example that works."""
    text = answer(command, "--help")
    example = next(line for line in text.splitlines() if line.startswith("example: "))
    words = example.removeprefix("example: tallyhand ").split()
    if "--page" not in words:
        assert answer(*words)


def test_plan_starts_with_nothing_heavy() -> None:
    """A plain plan in text loads no device, no argument parser, no JSON, no other search."""
    code = (
        "import sys; from assistant.__main__ import main; "
        "main(['plan', '--head', 'three-plate-40', '--divisions', '21']); "
        "print(' '.join(sys.modules))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env=uncovered(),
        capture_output=True,
        text=True,
        check=True,
    )
    loaded = set(done.stdout.splitlines()[-1].split())
    heavy = {
        "argparse", "asyncio", "dataclasses", "inspect", "json", "pathlib", "sqlite3", "numpy",
        "sounddevice", "vosk", "pynput", "pyttsx3", "platformdirs", "assistant.engine.events",
        "solver.compound", "solver.differential", "solver.nearest", "solver.position_errors",
        "solver.text",
    }  # fmt: skip
    assert "solver.plain" in loaded
    assert loaded & heavy == set()


def test_the_reckoning_is_told_in_minutes_and_chances() -> None:
    """One line each way; with --reckoning each part of the first, and they add up."""
    done = run("plan", "--head", "three-plate-40-geared", "--divisions", "51", "--reckoning")
    told = re.findall(
        r"reckoned ([\d.]+) min: ([\d.]+) to set up, ([\d.]+) to move, ([\d.]+) for slips "
        r"\([\d.]+ % to spoil the blank\)",
        done.stdout,
    )
    assert len(told) == 4
    for total, once, moves, slips in told:
        assert abs(float(once) + float(moves) + float(slips) - float(total)) < 0.2
    parts = [float(m) for m in re.findall(r"^ +([\d.]+) min  ", done.stdout, re.MULTILINE)]
    assert abs(sum(parts) - float(told[0][0])) < 0.5
    assert "two change gears put on" in done.stdout


def test_a_person_may_prefer_otherwise() -> None:
    """`--prefer` names a method, or a figure; what is neither is refused with the cure."""
    wish = ("--divisions", "51", "--prefer")
    done = run("plan", "--head", "three-plate-40-geared", *wish, "compound")
    assert " 1. COMPOUND" in done.stdout
    odd = run("plan", "--head", "three-plate-40-geared", *wish, "patience=3")
    assert (odd.returncode, len(odd.stderr.splitlines())) == (2, 1)
    assert "no figure of the order" in odd.stderr
    row = run("table", "--head", "three-plate-40-geared", "--from", "51", "--to", "51",
                    "--prefer", "compound")  # fmt: skip
    assert "compound" in row.stdout


def test_a_table_names_no_plate_for_whole_turns() -> None:
    """20 divisions on three plates: any will do; 21 need plate B."""
    rows = run("table", "--head", "three-plate-40", "--from", "20", "--to", "21").stdout
    twenty, other = rows.splitlines()[1:]
    assert re.search(r"^20\s+plain\s+any\s", twenty)
    assert re.search(r"^21\s+plain\s+B\s", other)


def test_a_rounded_angle_is_asked_about() -> None:
    """8.8333 stays what it says, and the question stands under the heading and in the JSON."""
    done = run("plan", "--head", "three-plate-40", "--angle", "8.8333")
    assert "Do you mean 8°50'? 8.8333 is 0.12\" off that" in done.stdout
    asked = json.loads(
        run("plan", "--head", "three-plate-40", "--angle", "8.8333", "--json").stdout
    )
    assert asked["request"]["turns"] == "88333/3600000"
    assert "8°50'" in asked["request"]["question"]
    sure = run("plan", "--head", "three-plate-40", "--angle", "8:50:00")
    assert "Do you mean" not in sure.stdout


def test_how_far_it_looked_is_told_where_nothing_is_exact() -> None:
    """787 has no exact way on the geared head; the search is not what stops it."""
    done = run("plan", "--head", "three-plate-40-geared", "--divisions", "787", "--most", "1")
    assert "up to 12 divisions at a time" in " ".join(done.stdout.split())
    plain = run("plan", "--head", "three-plate-40", "--divisions", "787", "--most", "1")
    assert "no exact way was found on this head" in plain.stdout
    assert "at a time" not in plain.stdout


def test_a_tolerance_that_nothing_meets_is_told() -> None:
    """67 on a plate that stands still: a place is at worst 33/67 of a hole of 49 from the nearest,
    and a hole is 1296000 / (40 x 49) seconds: 325.7 (worked by hand)."""
    asked = ("plan", "--head", "three-plate-40", "--divisions", "67", "--most", "1")
    assert 'nothing found is within 60"' in run(*asked, "--tolerance", "60").stdout
    assert "nothing found is within" not in run(*asked, "--tolerance", "330").stdout
    assert "nothing found is within" not in run(*asked).stdout
