"""The command line and the files that it is given: help, slips, pipes that close, Ctrl-C."""

from __future__ import annotations

import json
import math
import re
import signal
import subprocess
from pathlib import Path

import pytest

from assistant.__main__ import COMMANDS
from assistant.engine.events import Command
from tests.commands import COUNT_WHEEL, JOBS, PROGRAM, ROOT, one_line, tallyhand, uncovered

JOB = """title = "Wheel"
head = "three-plate-40"
[work]
kind = "divisions"
count = 9
"""


HELPS = [
    *(f"{name} --help" for name in COMMANDS),
    *(f"{name} --help" for name in ("job new", "job edit", "setup errors", "log verify")),
]


def test_without_a_command_the_commands_are_listed() -> None:
    """Asked for: exit 0. Nothing said: the same list, and exit 2."""
    asked, bare = tallyhand("--help"), tallyhand()
    assert (asked.returncode, bare.returncode) == (0, 2)
    assert asked.stdout == bare.stdout and "example: tallyhand plan" in asked.stdout
    listed = re.findall(r"(?m)^  (\S+)", asked.stdout)
    assert {"setup", "plan", "run", "resume", "doctor"} <= set(listed)
    for name in listed:
        assert tallyhand(name, "--help").returncode == 0, name


def test_help_and_slips_import_nothing_to_work_with() -> None:
    """Words are parsed first: no command waits for journal, engine, job, devices or NumPy then."""
    commands = re.findall(r"(?m)^  (\S+)", tallyhand("--help").stdout)
    code = (
        "import contextlib, sys; from assistant.__main__ import main\n"
        "for name in sys.argv[1:]:\n"
        "    for slip in ('--help', '--no-such-option'):\n"
        "        with contextlib.suppress(SystemExit): main([name, slip])\n"
        "print(*sorted(sys.modules))"
    )
    done = subprocess.run([*PROGRAM[:1], "-c", code, *commands], capture_output=True, text=True,
                          cwd=ROOT, env=uncovered(), check=True)  # fmt: skip
    loaded = set(done.stdout.splitlines()[-1].split())
    assert "assistant.commands.parsers" in loaded and done.stderr.count("\n") == len(commands)
    rooms = ("bench", "devices", "drawing", "engine", "hearing", "job", "journal", "page")
    heavy = {f"assistant.{room}" for room in rooms} | {"numpy", "sqlite3", "tomlkit"}
    assert loaded & heavy == set()
    assert not {name for name in loaded if name.startswith("assistant.commands.log")}


@pytest.mark.parametrize("words", HELPS)
def test_help_imports_little_more_than_the_parser(words: str) -> None:
    """Beside the bare interpreter, Python's own parser is most of what it waits for. Each of these
    modules was once among what took `--help` over four times the start of the interpreter."""
    code = (
        "import contextlib, sys; from assistant.__main__ import main\n"
        "with contextlib.suppress(SystemExit): main(sys.argv[1:])\n"
        "print(*sorted(sys.modules))"
    )
    done = subprocess.run([*PROGRAM[:1], "-S", "-c", code, *words.split()], capture_output=True,
                          text=True, cwd=ROOT, env=uncovered(), check=True)  # fmt: skip
    loaded = set(done.stdout.splitlines()[-1].split())
    assert f"example: tallyhand {words.split(maxsplit=1)[0]}" in done.stdout
    slow = {"solver", "fractions", "decimal", "datetime", "tomllib", "dataclasses", "inspect",
            "shutil", "pathlib", "urllib", "json", "num2words", "platformdirs", "email",
            "subprocess", "assistant.words.language", "assistant.files"}  # fmt: skip
    assert loaded & slow == set()
    assert ("argparse" in loaded) is (words.split(maxsplit=1)[0] not in ("plan", "table"))


@pytest.mark.parametrize(
    ("words", "parts"),
    [
        (["plan", "--head", " ", "--divisions", "9"], ["no head named", "three-plate-40"]),
        (["plan", "--divisions", "9", "--divisions", "10"], ["--divisions is given twice"]),
        (["plan", "--divisoins", "9"], ["did you mean --divisions?"]),
        (["plan", "--json=yes", "--divisions", "9"], ["--json takes no value"]),
        (["plan", "--divisions"], ["--divisions needs a value"]),
        (["table", "--head", "three-plate-40", "--csv", "--json"], ["--wall, not several"]),
        (
            ["table", "--head", "three-plate-40", "--from", "60", "--to", "2"],
            ["from 60 to 2", "the smaller one first"],
        ),
        (
            ["table", "--head", "three-plate-40", "--to", "9", "--fitted", "Z"],
            ["tallyhand table: ", "'Z'"],
        ),
        (["run", str(COUNT_WHEEL), "--no-page", "--network"], ["give one of the two"]),
        (["run", str(COUNT_WHEEL), "--port", "70000"], ["--port 70000", "1 to 65535"]),
        (
            ["job", "check", str(COUNT_WHEEL), "--drawing", "x.svg", "--cut", "10"],
            ["--cut 10", "cuts 1 to 9"],
        ),
        (["hear", "--expecting", "lunch", "x.wav"], ["'lunch'", "lock"]),
        (["voice", "learn", "--phrase", "good morning"], ["'good morning'", "spindle locked"]),
        (["log", "verify", "a", "b", "--ends", "0f"], ["--ends goes with one journal"]),
    ],
)
def test_wrong_use_is_one_line(words: list[str], parts: list[str], tmp_path: Path) -> None:
    """Exit 2, what was wrong, and what would be right."""
    line = one_line(tallyhand(*words, env={"TALLYHAND_DATA": str(tmp_path)}), 2)
    for part in parts:
        assert part in line


@pytest.mark.parametrize(
    ("old", "new", "line", "part"),
    [
        ('kind = "divisions"\ncount = 9', "", 3, "[work] is missing"),
        ('[work]\nkind = "divisions"\ncount = 9', "work = 3", 3, "write it as a table, [work]"),
        ('[work]\nkind = "divisions"\ncount = 9', "ring = 3", 3, "a table of its own, [[ring]]"),
        ("[work]", '[[ring]]\nkind = "divisions"\ncount = 8\n[work]', 6, "give one work, or rings"),
        ("count = 9", "count = 9\nminutes_per_cut = 0", 6, "over 0, to 600"),
        ("count = 9", "count = 9\nminutes_per_cut = true", 6, "over 0, to 600"),
        ("count = 9", "count = 9\n[machine]\nspeeds = [60, 0]", 7, "turns a minute"),
        ("count = 9", f"count = {'[' * 5000}", 5, "without end: mend the TOML there"),
    ],
)
def test_more_faults_of_a_job_file(
    old: str, new: str, line: int, part: str, tmp_path: Path
) -> None:
    """File, line and cure."""
    job = tmp_path / "job.toml"
    job.write_text(JOB.replace(old, new))
    done = tallyhand("job", "check", job)
    assert done.returncode == 1
    assert [told for told in done.stderr.splitlines() if part in told], done.stderr
    assert done.stderr.startswith(f"{job} line {line}: "), done.stderr


def test_files_that_are_no_job(tmp_path: Path) -> None:
    """A folder, letters of another time, a file that the system will not give."""
    latin = tmp_path / "old.toml"
    latin.write_bytes('title = "Mühle"\n'.encode("latin-1"))
    for name, part in (
        (tmp_path, "a folder, not a job file: name the TOML file in it"),
        (latin, "not UTF-8 text: save the job file as UTF-8"),
        (Path("/proc/self/mem"), "can't be read (Input/output error)"),
    ):
        line = one_line(tallyhand("job", "check", name), 1)
        assert line.startswith(f"{name}: ") and part in line
    line = one_line(tallyhand("rehearse", COUNT_WHEEL, "--script", latin), 1)
    assert line == f"{latin}: not UTF-8 text: save the script as UTF-8"
    line = one_line(tallyhand("plan", "--head", "three-plate-40", "--positions", latin), 1)
    assert "no text file: give one angle a line" in line


def test_a_job_that_can_not_be_worked_out(tmp_path: Path) -> None:
    """A fault of the head's own file, and a drawing that can't be put where it was wanted."""
    own, job = tmp_path / "own.toml", tmp_path / "job.toml"
    own.write_text('name = "own"\nworm_ratio = 40\n[[plate]]\nname = "A"\ncircles = [1]\n')
    job.write_text(JOB.replace("three-plate-40", "own.toml"))
    line = one_line(tallyhand("job", "check", job), 1)
    assert line.startswith(f"{own} line 5: ")
    place = tmp_path / "no" / "part.svg"
    line = one_line(tallyhand("job", "check", COUNT_WHEEL, "--drawing", place), 1)
    assert line.startswith(f"{place}: can't write the drawing")


def test_the_time_of_a_job_is_its_cuts() -> None:
    """21 cuts of 4 minutes are 84 minutes; where the job tells no time, how to tell it."""
    told = tallyhand("job", "check", JOBS / "pinion.toml").stdout
    assert "time     about 84 minutes, at 4 a cut" in told
    told = tallyhand("job", "check", COUNT_WHEEL).stdout
    assert "time     not known (minutes_per_cut = 3)" in told


def test_the_budget_of_a_head_that_states_its_errors(tmp_path: Path) -> None:
    """51 divisions to the nearest hole, on a head that states 30" for the worm and 800" for
    the plate, which the worm of 40 to 1 makes 20" of the spindle: at worst all three add up; as
    uncertainties their squares do (JCGM 100:2008, 5.1.2)."""
    own = tmp_path / "own.toml"
    shipped = (ROOT / "config" / "heads" / "three-plate-40.toml").read_text("utf-8")
    bare = tallyhand("plan", "--head", "three-plate-40", "--divisions", "51", "--most", "1").stdout
    assert "The head's own errors come on top" in bare and "with the head's own" not in bare
    own.write_text(shipped + "\n[errors]\nworm_arcsec = 30\nplate_arcsec = 800\n")
    told = tallyhand("plan", "--head", own, "--divisions", "51", "--most", "1").stdout
    found = re.search(r'own errors: ([\d.]+)" at the very worst, ([\d.]+)" as root', told)
    worst = re.search(r'error: worst position ([\d.]+)"', told)
    assert found and worst
    position = float(worst[1])
    assert float(found[1]) == pytest.approx(position + 50, abs=0.06)
    assert float(found[2]) == pytest.approx(math.hypot(position, 30, 20), abs=0.06)
    assert "come on top" not in told


def test_a_reader_that_goes_away_ends_it_quietly() -> None:
    """`tallyhand table ... | head -1`: the first line, and no complaint."""
    words = [*PROGRAM, "table", "--head", "three-plate-40", "--to", "400"]
    with subprocess.Popen(
        words, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT
    ) as process:
        assert process.stdout and process.stderr
        assert process.stdout.readline().startswith("Divisions")
        process.stdout.close()
        assert process.stderr.read() == ""
        assert process.wait(60) == 0


def test_ctrl_c_ends_a_long_table() -> None:
    """130, as shells have it for an interrupt (POSIX: more than 128, and bash adds the signal's
    own number, 2), and no traceback."""
    words = ["table", "--head", "three-plate-40", "--to", "1000000", "--csv"]
    listening = ["env", "--default-signal=INT", *PROGRAM]
    with subprocess.Popen(
        [*listening, *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT
    ) as process:
        assert process.stdout and process.stderr
        process.stdout.readline()
        process.send_signal(signal.SIGINT)
        told = process.communicate(timeout=60)[1]
    assert process.returncode == 128 + signal.SIGINT and "Traceback" not in told


def test_the_usual_places(tmp_path: Path) -> None:
    """Without --data the journals are in the user's own folder (XDG Base Directory), and heads of
    one's own lie beside the settings that TALLYHAND_CONFIG names."""
    env = {"XDG_DATA_HOME": str(tmp_path), "TALLYHAND_DATA": ""}
    told = tallyhand("log", env=env)
    assert (told.returncode, told.stdout) == (
        0, "No jobs yet. Begin one with: tallyhand run JOB\n",
    )  # fmt: skip
    given = json.dumps({"press": "main"}) + "\n"
    place = tmp_path / "tallyhand" / "journals"
    assert tallyhand("rehearse", COUNT_WHEEL, "--data", place, given=given).returncode == 0
    assert "Count wheel" in tallyhand("log", env=env).stdout
    folder = tmp_path / "mine" / "heads"
    folder.mkdir(parents=True)
    shipped = (ROOT / "config" / "heads" / "two-sided-40.toml").read_text("utf-8")
    (folder / "press-head.toml").write_text(shipped.replace('"two-sided-40"', '"press-head"'))
    settings = tmp_path / "mine" / "tallyhand.toml"
    settings.write_text('[job]\nhead = "press-head"\n')
    env = {"TALLYHAND_CONFIG": str(settings)}
    told = tallyhand("plan", "--divisions", "66", "--json", env=env)
    assert json.loads(told.stdout)["head"] == "press-head"
    line = one_line(tallyhand("plan", "--head", "no-such", "--divisions", "9", env=env), 2)
    assert "press-head" in line


def test_no_journals_is_no_fault(tmp_path: Path) -> None:
    """Nothing to check is said, and counts as checked."""
    done = tallyhand("log", "verify", "--data", tmp_path)
    assert (done.returncode, done.stdout) == (0, "No journals yet.\n")
    done = tallyhand("log", "verify", "--json", "--data", tmp_path)
    assert json.loads(done.stdout) == {"journals": []}


def test_phrases_are_listed_and_suggested(tmp_path: Path) -> None:
    """A line for each command: what is listened for, and what could be added, none of it twice."""
    env = {"XDG_CONFIG_HOME": str(tmp_path)}
    listed, suggested = (
        {line[:14].strip(): line[14:].strip() for line in done.stdout.splitlines()}
        for done in (tallyhand("phrases", word, env=env) for word in ("list", "suggest"))
    )
    assert listed["locked"] == "spindle locked" and listed["guarded"] == "guard closed"
    assert listed.keys() == suggested.keys() == {command.value for command in Command}
    known = {phrase for line in listed.values() for phrase in line.split(", ")}
    new = [phrase for line in suggested.values() for phrase in line.split(", ") if phrase]
    assert new and len(set(new)) == len(new) and not known & set(new)


def test_every_journal_is_told_in_its_own_line(tmp_path: Path) -> None:
    """`log` as text and as JSON, and `log verify` of one file against its noted end."""
    given = json.dumps({"press": "main"}) + "\n"
    for job in (COUNT_WHEEL, JOBS / "pinion.toml"):
        tallyhand("rehearse", job, "--data", tmp_path, given=given * 12)
    lines = tallyhand("log", "--data", tmp_path).stdout.splitlines()
    assert "Count wheel of the cider mill: 1 of 9 cuts, at cut 2, release" in lines[0]
    assert "Cider mill pinion: 1 of 21 cuts, at cut 2, release" in lines[1]
    jobs = json.loads(tallyhand("log", "--json", "--data", tmp_path).stdout)["jobs"]
    end = jobs[0]["events"][-1]["link"]
    done = tallyhand("log", "verify", jobs[0]["journal"], "--ends", end[:8].upper())
    assert done.returncode == 0 and done.stdout.endswith(f"unbroken, ends with {end}\n")
    done = tallyhand("log", "verify", jobs[1]["journal"], "--ends", end)
    assert done.returncode == 1 and "it is not the journal of that note" in done.stdout
