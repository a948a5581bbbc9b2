"""The list of what is held stays true: its tests are there, and what it breaks stands once."""

from __future__ import annotations

import re

import pytest

from tests.commands import ROOT
from tests.machinist import held
from tests.machinist.planted import PLANTED

LINES = held.lines()


@pytest.mark.release
@pytest.mark.parametrize("line", LINES, ids=lambda line: line.says)
def test_each_line_can_be_broken_and_has_its_test(line: held.Line) -> None:
    file, _, name = line.test.partition("::")
    tests = (ROOT / file).read_text("utf-8")
    assert not name or re.search(rf"^def {name}\(", tests, re.MULTILINE)
    if line.planted:
        assert [fault.name for fault in PLANTED].count(line.planted) == 1
    else:
        assert (ROOT / line.file).read_text("utf-8").count(line.old) == 1
        assert line.old != line.new


def test_the_page_is_the_list() -> None:
    """Written by `python -m tests.machinist.held` when every line was seen red."""
    assert held.PAGE.read_text("utf-8") == held.page()
