"""On paper numbers and sizes stand in figures: they are read there, not heard."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from assistant.job.units import angle_said, digits, said
from assistant.words.language import number, on_paper, speaking
from assistant.words.spoken import decimal
from solver import number_from_text
from tests.commands import JOBS, tallyhand

SPELLED = re.compile(
    r"\b(two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|\w+teen|\w+ty(-\w+)?"
    r"|hundred|millimetres?|thou)\b"
)
# Numbers that belong to a fixed sentence, whatever the part.
PLAIN = {"two", "ninety"}  # "touch two sides"; the head set upright, to ninety degrees


@pytest.mark.parametrize("name", ["hexagon-plug", "press-ratchet", "gate-splines", "even-clutch"])
def test_a_sheet_spells_no_figure_out(name: str, tmp_path: Path) -> None:
    """The set-up list and the table of cuts: "25 mm", "tooth 17"."""
    out = tmp_path / "sheet.html"
    assert tallyhand("sheet", JOBS / f"{name}.toml", "--out", out).returncode == 0
    lists = re.findall(r'(?s)<ol class="checklist.*?</ol>|<table class="positions.*?</table>',
                       out.read_text("utf-8"))  # fmt: skip
    text = re.sub(r"<[^>]+>", " ", " ".join(lists))
    assert len(text) > 300
    spelled = {found[0] for found in SPELLED.finditer(text)} - PLAIN
    assert spelled == set()


def test_figures_are_for_this_thread_and_this_while() -> None:
    """What is said afterwards is in words again."""
    size = number_from_text("19.08")
    with on_paper():
        assert (number(25), decimal(size), said(size, "mm")) == ("25", "19.1", "19.08 mm")
        assert (digits("3.25"), angle_said(size)) == ("3.25", "19°5'")
        with speaking("en"):
            assert number(25) == "twenty-five"  # spoken inside of it after all
    assert number(25) == "twenty-five"
    assert said(size, "mm") == "nineteen point zero eight millimetres"
