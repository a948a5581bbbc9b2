"""What a question offers is what holds where the job says nothing, or what a standard has."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any

import pytest

from assistant.job.kinds.by_name import KINDS
from assistant.job.kinds.gear_questions import whole_depth
from assistant.job.part import Part
from assistant.job.question import ASKED, Answers, Question, Value, value_of
from assistant.job.reader import Faults, Table
from assistant.job.work import Work
from tests.commands import JOBS
from tests.work.shops import shop

OFFERED = {
    ("angular-clutch", "cutter_angle"): {"60d"},
    ("angular-clutch", "drives"): {"clockwise"},
    ("angular-clutch", "form"): {"saw-tooth"},
    ("bolt-circle", "holes"): {"6"},
    ("clutch", "teeth"): {"5"},
    ("flutes", "flutes"): {"6", "4"},
    ("flutes", "tool"): {"reamer"},
    ("helical-gear", "hand"): {"right"},
    ("helical-grooves", "grooves"): {"2"},
    ("helical-grooves", "hand"): {"right"},
    ("inner-ratchet", "tool_angle"): {"60d"},
    ("keyways", "keyways"): {"2"},
    ("plate-cam", "lobes"): {"3"},
    ("plate-cam", "rises"): {"clockwise"},
    ("plate-circle", "holes"): {"51"},
    ("polygon", "sides"): {"6"},
    ("ratchet", "cutter_angle"): {"60d"},
    ("splines", "splines"): {"6"},
    ("stepped-cam", "lobes"): {"2"},
    ("stepped-cam", "rises"): {"clockwise"},
    ("stepped-cam", "steps"): {"40"},
}
"""Where the drawing alone can say it, an example is offered: a hexagon, six holes, a cutter of 60
degrees, four flutes for a tap and six for a reamer, an odd number of teeth for a clutch whose
cutter goes through (common practice); 51 holes, which no usual plate has."""

WORKED_OUT = {("polygon", "bar"), ("keyways", "width"), ("keyways", "depth"), ("splines", "root"),
              ("splines", "width")}  # fmt: skip
"""From the other figures and a standard's table: `test_tables_are_offered`, and below."""

Asked = tuple[str, Question, Answers, str]


def works() -> Iterator[tuple[dict[str, Any], dict[str, Any]]]:
    """The work of every example, with what stands beside it."""
    for file in sorted(JOBS.glob("*.toml")):
        data = tomllib.loads(file.read_text("utf-8"))
        yield from ((work, data) for work in ([data["work"]] if "work" in data else data["ring"]))


def asked_of(work: dict[str, Any], data: dict[str, Any]) -> Iterator[Asked]:
    """Each question of the kind that offers something, with the answers but its own."""
    values: dict[tuple[str, str], Value] = {("work", key): work[key] for key in work}
    values |= {("", key): value for key, value in data.items() if isinstance(value, str)}
    values[ASKED, "pitch"] = "module" if "module" in work else "diametral_pitch"
    values[ASKED, "helix"] = "helix_angle" if "helix_angle" in work else "lead"
    for question in KINDS[work["kind"]].questions:
        answers = Answers({at: value for at, value in values.items() if at != question.place})
        told = question.key == "keyways" and "angles" in work  # each says how many there are
        if question.table == "work" and question.when(answers) and not told:
            offered = question.default(answers)
            if offered not in ("", "-"):  # "-": left open
                yield work["kind"], question, answers, offered


def read(kind: str, values: dict[tuple[str, str], Value]) -> tuple[Work, list[str]]:
    faults = Faults("", "")
    table = {key: value for (where, key), value in values.items() if where == "work"}
    return KINDS[kind].read(Table(faults, "work", table)), list(map(str, faults.found))


def as_cut(part: Part) -> object:
    return part.passes, part.rounds, part.figures, part.plan


EVERY = [asked for work, data in works() for asked in asked_of(work, data)]


def test_what_is_offered_holds_where_nothing_is_said() -> None:
    """Whoever presses Enter and whoever leaves the key out make the same part; what can't be left
    out is offered as `OFFERED` has it."""
    by_itself: dict[tuple[str, str], set[str]] = {}
    for kind, question, answers, offered in EVERY:
        given = {**answers.values, question.place: value_of(question, offered, answers.unit)}
        (left_out, missing), (taken, faults) = read(kind, dict(answers.values)), read(kind, given)
        assert not faults, (kind, question.key, offered)
        if missing:
            by_itself.setdefault((kind, question.key), set()).add(offered)
        elif left_out != taken:
            one, other = (as_cut(work.work_out(shop())) for work in (left_out, taken))
            assert one == other, (kind, question.key, offered)
    wanted = {at: offers for at, offers in by_itself.items() if at not in WORKED_OUT}
    assert wanted.keys() == OFFERED.keys()
    for at, offers in wanted.items():
        assert offers <= OFFERED[at], at


@pytest.mark.parametrize(
    ("given", "depth"),
    [
        ({"module": 1.25}, "2.25"),
        ({"module": 3}, "2.25"),
        ({"module": 1}, "2.4"),
        ({"module": 0.5}, "2.4"),
        ({"diametral_pitch": 10}, "2.157"),
        ({"diametral_pitch": 40}, "2.157"),
        ({"module": 3, "addendum": 0.8}, "2.05"),
    ],
)
def test_the_whole_depth_that_is_offered(given: dict[str, Value], depth: str) -> None:
    """2.25 m, finer than 1.25 2.4 m (a metric gears reference page); 2.157/DP (tooth parts,
    NAVEDTRA 14345, appendix III); a stub tooth of 0.8 as deep below the pitch line (from these)."""
    assert whole_depth(Answers({("work", key): value for key, value in given.items()})) == depth


@pytest.mark.parametrize(
    ("sides", "flats", "bar"),
    [(6, "24 mm", "28 mm"), (4, "17 mm", "24.5 mm"), (6, "1 in", "29.5 mm")],
)
def test_the_bar_that_is_offered(sides: int, flats: str, bar: str) -> None:
    """Over the corners: of a hexagon of 24 mm 27.713, of a square of 17 mm 24.042, of a
    hexagon of an inch 29.329 (the size / cos 30 or 45), and the next half millimetre."""
    (question,) = (each for each in KINDS["polygon"].questions if each.key == "bar")
    answers = Answers({("work", "sides"): sides, ("work", "across_flats"): flats})
    assert question.default(answers) == bar
