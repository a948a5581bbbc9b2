"""A job by question and answer: TOML that `job check` reads, and a way back to all of it."""

from __future__ import annotations

import io
import re
import tomllib
from argparse import Namespace
from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.asking import ending, job_text
from assistant.asking.interview import Asking, Interview
from assistant.bench import language_files
from assistant.commands import job_new, parsers, run
from assistant.commands.job import job_record
from assistant.files import settings
from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import job_from_text
from assistant.job.kinds.by_name import KINDS
from assistant.job.question import ASKED, Form, Place, Question, Value, shown_value
from assistant.setup.talk import Left
from assistant.words.language import say, speaking
from tests.commands import JOBS, ROOT, one_line, tallyhand

# Keys that no question is asked for: a person writes them, or `job edit` leaves them be.
UNASKED = {("work", "spread"), ("work", "vernier"), ("machine", "speeds"),
           ("machine", "centre_height"), ("work", "number_step")}  # fmt: skip


class Person:
    """Answers from a job file: the line that was last asked says which."""

    def __init__(self, values: dict[Place, Value]) -> None:
        self.out = io.StringIO()
        self.interview = Interview(Asking(self.lines(), self.out), "three-plate-40", "mm")
        self.values = values
        self.told: set[Place] = set()

    def lines(self) -> Iterator[str]:
        while True:
            asked = self.out.getvalue().splitlines()[-1]
            yield self.answer(asked)

    def answer(self, asked: str) -> str:
        for question in self.interview.questions():
            if asked.startswith(say(question.ask)):
                value = self.values.get(question.place)
                if value is None:
                    return "" if question.default(self.interview.answers) else "-"
                return str(value) if question.form is Form.CHOICE else shown_value(value)
        return self.still()  # the plan is good

    def still(self) -> str:
        """The number of a question that was not asked in its turn, and that the file answers."""
        for n, question in enumerate(self.interview.questions(), 1):
            mine = question.late and question.place in self.values
            if mine and question.place not in self.told:
                self.told.add(question.place)
                return str(n)
        return ""


def of_file(name: str) -> dict[Place, Value]:
    values = job_text.values_in(tomllib.loads((JOBS / f"{name}.toml").read_text("utf-8")))
    system = "module" if ("work", "module") in values else "diametral_pitch"
    helix = "helix_angle" if ("work", "helix_angle") in values else "lead"
    return {**values, (ASKED, "pitch"): system, (ASKED, "helix"): helix}


def checked(text: str) -> dict[str, object]:
    job = job_from_text(text, str(JOBS / "x.toml"))
    return job_record(job, head_of(job), stages_of(job, head_of(job)))


ASKABLE = sorted(
    file.stem
    for file in JOBS.glob("*.toml")
    if "[[ring]]" not in file.read_text("utf-8") and not UNASKED & of_file(file.stem).keys()
)


@pytest.mark.parametrize("name", ASKABLE)
def test_the_answers_make_the_same_job_as_the_file(name: str) -> None:
    """Cuts, moves, depths, sizes and set-up: nothing is lost between question and file."""
    person = Person(of_file(name))
    person.interview.walk()
    ending.settle_plan(person.interview, Path("x.toml"))
    made = checked(person.interview.text())
    wanted = checked((JOBS / f"{name}.toml").read_text("utf-8"))
    loose = {"minutes"}  # the answers add a material, and with it a first guess of the time
    assert {k: v for k, v in made.items() if k not in loose} == {
        k: v for k, v in wanted.items() if k not in loose
    }


def test_what_no_drawing_says_is_offered_with_the_plan(folder: Path) -> None:
    """Not asked in its turn; by its number it is, and opens what follows from it."""
    code, told = asked(*HEXAGON, *TEETH, "", folder=folder)
    assert code == 0
    before, plan = told.split("The plan:", 1)
    assert "How many teeth has the cutter?" not in before and "part number" not in before
    assert "15  How many teeth has the cutter? not known" in plan
    assert "How long is a cut? " in plan and "time         about" in plan
    text = (folder / "job.toml").read_text("utf-8")
    assert "teeth = 4" in text and 'cut_length = "15 mm"' in text


def test_the_list_of_all_answers_comes_when_it_is_wanted(folder: Path) -> None:
    code, told = asked(*HEXAGON, "?", "", folder=folder)
    plan, listed = told.split("Write the job?")[:2]
    line = "What is it called? Plug of the press"
    assert code == 0 and f" 1  {line}" in listed and f" 1  {line}" not in plan


def test_the_job_can_begin_at_once(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """ "run" at the plan does what `tallyhand run FILE --config FILE` does, without being typed."""
    begun: list[Namespace] = []
    monkeypatch.setattr(run, "main", lambda given: begun.append(given) or 0)
    answers = folder / "answers.txt"
    answers.write_text("\n".join([*HEXAGON, "run"]), "utf-8")
    own = ["--config", str(folder / "tallyhand.toml")]
    words = ["--out", str(folder / "job.toml"), "--answers", str(answers), *own]
    assert job_new.main(parsers.job_new().parse_args(words)) == 0
    assert begun == [parsers.run().parse_args([str(folder / "job.toml"), *own])]
    assert (folder / "job.toml").exists()


def test_how_many_are_made_is_asked_and_is_the_batch_of_the_file(folder: Path) -> None:
    """Twelve: the file says so, and the plan at the end; one is not written."""
    code, told = asked(*HEXAGON[:2], "12", *HEXAGON[3:], "", folder=folder)
    assert code == 0
    assert "batch = 12   # How many of them?" in (folder / "job.toml").read_text("utf-8")
    assert "12 parts" in told.split("The plan:")[1]
    code, told = asked(*HEXAGON[:2], "0", "1001", *HEXAGON[2:], "", folder=folder)
    assert told.count("it must be 1 to 1000") == 2
    assert "batch" not in (folder / "job.toml").read_text("utf-8")


def test_nought_and_no_are_answers() -> None:
    """A shift of 0 and a special cutter that is not there: taken, and not asked for again."""
    values = {**of_file("pinion"), ("work", "teeth"): 11, ("work", "shift"): 0}
    person = Person({**values, ("work", "special_cutter"): False})
    asked = iter(range(60))
    person.answer = lambda line, plain=person.answer: (next(asked), plain(line))[1]  # type: ignore[method-assign, misc]
    person.interview.ask(_question("shift", person))
    assert person.interview.values["work", "shift"] == 0
    person.interview.ask(_question("special_cutter", person))
    assert person.interview.values["work", "special_cutter"] is False


def _question(key: str, person: Person) -> Question:
    """The one of a spur gear, with what was answered before it."""
    person.interview.values |= {("work", "kind"): "spur-gear", ("work", "teeth"): 11}
    return next(each for each in person.interview.questions() if each.key == key)


def test_every_kind_is_asked_for() -> None:
    """Each kind's file that is there can be chosen, and its questions are keys that it has."""
    files = (ROOT / "assistant" / "job" / "kinds").glob("*.py")
    made = {
        name for file in files for name in re.findall(r"= Kind\(\s*\"(.+?)\"", file.read_text())
    }
    assert made == set(KINDS)
    for name, kind in KINDS.items():
        own = {question.key for question in kind.questions if question.table == "work"}
        assert kind.questions and own <= set(kind.keys), name
        assert len({question.place for question in kind.questions}) == len(kind.questions)
        assert kind.counts in (*kind.keys, "") and (not kind.as_wide or "width" in own)


HEXAGON = ["Plug of the press", "14 sheet 2", "", "", "polygon", "6", "24 h11", "28", "2", "",
           "bronze", "20", "20", ""]  # fmt: skip
TEETH = ["15", "4", "15"]  # at the plan: the cutter's teeth, and how long a cut is, which they open


def asked(*lines: str, folder: Path, **more: str) -> tuple[int, str]:
    """The exit code, and what was printed, of `job new` with these answers."""
    done = tallyhand(
        "job", "new", "--out", folder / "job.toml", given="".join(f"{line}\n" for line in lines),
        env={"TALLYHAND_CONFIG": str(folder / "tallyhand.toml"), **more},
    )  # fmt: skip
    assert "Traceback" not in done.stderr, done.stderr
    return done.returncode, done.stdout


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "tallyhand.toml").write_text("format = 1\n", "utf-8")
    return tmp_path


def test_through_a_pipe_to_a_file_that_checks(folder: Path) -> None:
    """Scripted by standard input; every line of the file says which question it answers."""
    code, told = asked(*HEXAGON, "", folder=folder)
    assert code == 0
    text = (folder / "job.toml").read_text("utf-8")
    assert 'across_flats = "24 mm h11"   # Size across flats, with its limits?' in text
    assert tallyhand("job", "check", folder / "job.toml").returncode == 0
    for part in ("set-up", "time", "risk", "not exact", "over the corners"):
        assert part in told


@pytest.mark.parametrize(
    ("answer", "line"),
    [
        ("two", "'two': give a whole number, like 21"),
        ("1", "sides = 1: it must be 2 to 400"),
        ("6.5", "'6.5': give a whole number, like 21"),
    ],
)
def test_a_bad_answer_gets_one_line_and_the_question_again(
    folder: Path, answer: str, line: str
) -> None:
    """The line says what would do; what comes after it is the question as it was."""
    code, told = asked(*HEXAGON[:5], answer, *HEXAGON[5:], "", folder=folder)
    assert code == 0
    lines = told.splitlines()
    at = next(n for n, each in enumerate(lines) if line in each)
    assert lines[at - 1].endswith(answer)
    assert lines[at + 1].startswith("How many flats?")


def test_the_way_back(folder: Path) -> None:
    """ "<" goes to the question before, which offers what was answered; at the end each has a
    number."""
    code, told = asked(*HEXAGON[:7], "<", "25 h11", *HEXAGON[7:], "9", "30", "", folder=folder)
    assert code == 0
    assert "[24 mm h11]" in told
    text = (folder / "job.toml").read_text("utf-8")
    assert 'across_flats = "25 mm h11"' in text and 'bar = "30 mm"' in text


def test_what_can_not_be_made_is_asked_for_again(folder: Path) -> None:
    """Flats that leave nothing to cut are refused in the plan's place, and their number offered."""
    code, told = asked(*HEXAGON[:7], "20", *HEXAGON[8:], "", "17", "", folder=folder)
    assert code == 0
    assert told.count("leave nothing to cut") == 1
    assert "(its number) [8]" in told
    assert 'across_flats = "17 mm"' in (folder / "job.toml").read_text("utf-8")


def test_a_head_that_can_not_do_it_is_asked_for_again(folder: Path) -> None:
    """A helix on a head without gears: the number of the question for the head is offered, not one
    of the drawing's, and the next head will do."""
    grooves = ["Auger", "", "", "1", "3", "3", "30 mm", "1", "240 mm", "2", "80 mm", "5 mm", "3 mm",
               "1", "1", "5 mm", "1", "", "", "three-plate-40"]  # fmt: skip
    code, told = asked(*grooves, "", "three-plate-40-geared", "", folder=folder)
    assert told.count("has no change gears") == 1
    assert code == 0, told
    assert 'head = "three-plate-40-geared"' in (folder / "job.toml").read_text("utf-8")


def test_who_leaves_goes_on_with_edit_where_only_the_rest_is_asked(folder: Path) -> None:
    """What was answered is on the disk; edit asks for what the file lacks and for nothing else."""
    code, told = asked(*HEXAGON[:6], "q", folder=folder)
    assert code == 1 and "To go on: tallyhand job edit" in told
    done = tallyhand("job", "edit", folder / "job.toml", given="24 h11\n28\n\n\n",
                     env={"TALLYHAND_CONFIG": str(folder / "tallyhand.toml")})  # fmt: skip
    assert "How many flats?" not in done.stdout.split("The plan:")[0]
    assert "Size across flats" in done.stdout and "Diameter of the bar?" in done.stdout
    assert done.returncode == 0, done.stdout + done.stderr
    assert tallyhand("job", "check", folder / "job.toml").returncode == 0


def test_edit_leaves_the_comments_and_asks_for_what_a_fault_names(folder: Path) -> None:
    """A file of one's own keeps its words; one fault, one question."""
    text = (JOBS / "hexagon-plug.toml").read_text("utf-8").replace("sides = 6", "sides = 1")
    (folder / "job.toml").write_text(text, "utf-8")
    done = tallyhand("job", "edit", folder / "job.toml", given="6\n\n")
    assert done.returncode == 0, done.stdout + done.stderr
    assert done.stdout.split("The plan:")[0].count("?") == 1
    assert (folder / "job.toml").read_text("utf-8") == text.replace("sides = 1", "sides = 6")


def test_what_is_no_toml_is_told_in_a_line(folder: Path) -> None:
    """Nothing is asked about a file that can't be read."""
    (folder / "job.toml").write_text("title = \n", "utf-8")
    assert "line 1" in one_line(tallyhand("job", "edit", folder / "job.toml"), 1)


def test_tables_are_offered() -> None:
    """DIN 6885-1 has a key of 10 x 8 for shafts over 30 to 38, its keyway 5 deep; ISO 14 (light)
    has 6 x 23 x 26 with splines 6 wide; both as read into config/standards."""
    keys = Interview(Asking(iter(()), io.StringIO()), "three-plate-40", "mm")
    keys.values = {("work", "kind"): "keyways", ("work", "shaft"): "38 mm"}
    offered = {q.key: q for q in keys.questions() if q.table == "work"}
    assert offered["width"].default(keys.answers) == "10 mm"
    keys.values["work", "width"] = "10 mm"
    assert offered["depth"].default(keys.answers) == "5 mm"
    keys.values = {
        ("work", "kind"): "splines",
        ("work", "splines"): 6,
        ("work", "outside"): "26 mm",
    }
    offered = {q.key: q for q in keys.questions() if q.table == "work"}
    assert offered["root"].default(keys.answers) == "23 mm"
    assert offered["width"].default(keys.answers) == "6 mm"


def test_german_to_the_end() -> None:
    """Questions, meanings, choices and the plan's own words, in the language of the settings."""
    language_files.load_language("de")
    with speaking("de"):
        person = Person(of_file("hexagon-plug"))
        person.interview.walk()
        ending.settle_plan(person.interview, Path("x.toml"))
        told = person.out.getvalue()
        for question in person.interview.questions():
            assert say(question.ask) in told
            assert question.ask not in told and question.means not in told
        assert "Der Plan:" in told and f"  {say('set-up')} " in told


def test_leaving_before_anything_is_known_writes_nothing(folder: Path) -> None:
    """No empty file lies about."""
    code, told = asked("q", folder=folder)
    assert code == 1 and "nothing was written" in told
    assert not (folder / "job.toml").exists()
    with pytest.raises(Left):
        Interview(Asking(iter(("q",)), io.StringIO()), "three-plate-40", "mm").walk()


def test_a_cutter_that_fits_is_offered_from_the_drawer(tmp_path: Path) -> None:
    """21 teeth of module 2.5 take number 4 of a set by module; its sizes are not asked again."""
    file = tmp_path / "tallyhand.toml"
    row = '[[drawer.cutter]]\nname = "{}"\nform = "gear"\nmodule = 2.5\nnumber = {}\nteeth = 12\n'
    file.write_text(row.format("five", 5) + row.format("three", 3) + row.format("four", 4))
    person = Person(of_file("elevator-pinion"))
    person.interview.settings = settings.read_settings(file)
    person.values = {place: v for place, v in person.values.items() if place[0] != "cutter"}
    person.values["cutter", "name"] = "four"
    person.interview.walk()
    ending.settle_plan(person.interview, tmp_path / "x.toml")
    shown = person.out.getvalue()
    assert "* 1  four\n   2  three (made for fewer teeth" in shown
    assert "five" not in shown.replace("fifteen", "")
    assert "Diameter of the cutter?" not in shown
    assert "drawer       Taken from the drawer: four." in shown
    assert 'name = "four"' in person.interview.text()


def test_one_that_would_only_do_is_not_taken_unasked(tmp_path: Path) -> None:
    file = tmp_path / "tallyhand.toml"
    file.write_text('[[drawer.cutter]]\nname = "three"\nform = "gear"\nmodule = 2.5\nnumber = 3\n')
    person = Person(of_file("elevator-pinion"))
    person.interview.settings = settings.read_settings(file)
    person.interview.walk()
    shown = person.out.getvalue()
    assert "* 2  none of these" in shown
    assert ("cutter", "name") not in person.interview.values
    assert "Diameter of the cutter?" in shown
