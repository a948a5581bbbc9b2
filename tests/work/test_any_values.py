"""Whatever stands in a job file, the answer is a plan or a refusal: never a traceback."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from assistant.drawing.outline import part_svg
from assistant.errors import Refusal, WrongUse
from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import job_from_text
from assistant.paper.sheet_text import sheet_lines
from solver import Refused
from tests.commands import JOBS

ALL = sorted(JOBS.glob("*.toml"))
LENGTHS = ["0.01 mm", "0.3 mm", "1 mm", "5 mm", "20 mm", "1 in", "750 thou", "60 mm", "9000 mm"]
ANGLES = ["0", "1d", "14d30m", "30d", "60d", "89d59m", "90d", "180d", "359d", "7/51 turn"]
HEADS = ["three-plate-40", "three-plate-40-geared", "two-sided-40", "rotary-90",
         "rotary-60-handwheel"]  # fmt: skip
VALUES = st.one_of(
    st.sampled_from([f'"{text}"' for text in (*LENGTHS, *ANGLES)]),
    st.integers(-2, 130).map(str),
    st.sampled_from(["0.3", "2.5", "24.0", "true", "[]", "{}", '""', '"wide"', "1e300", "nan"]),
)


@st.composite
def changed(draw: st.DrawFn, text: str) -> str:
    """The job with up to three values replaced, and perhaps on another head."""
    lines = text.splitlines()
    keys = [n for n, line in enumerate(lines) if re.match(r"\w+ = [^\[]", line)]
    for n in draw(st.lists(st.sampled_from(keys), max_size=3)):
        key = lines[n].split(" = ")[0]
        if key not in ("title", "head", "kind"):
            lines[n] = f"{key} = {draw(VALUES)}"
    head = draw(st.sampled_from(HEADS))
    return re.sub('head = ".*"', f'head = "{head}"', "\n".join(lines))


@pytest.mark.parametrize("path", ALL, ids=lambda path: path.stem)
@settings(
    deadline=None, max_examples=60,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)  # fmt: skip
@given(data=st.data())
def test_a_plan_or_a_refusal(path: Path, data: st.DataObject) -> None:
    """Each refusal is one line with its place; each plan can be printed and drawn."""
    text = data.draw(changed(path.read_text("utf-8")))
    try:
        job = job_from_text(text, "job.toml")
        head = head_of(job)
        stages = stages_of(job, head)
    except (Refusal, WrongUse, Refused) as error:
        assert "\n" not in str(error) and str(error).startswith("job.toml")
        return
    assert sheet_lines(job, head, stages)
    for stage in stages:
        assert part_svg(stage.part.draw(), 0)
        assert all(item.strip() and "None" not in item for item in stage.programme.checklist)
        assert "None" not in stage.part.plan
