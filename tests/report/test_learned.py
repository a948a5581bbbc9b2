"""What the record says about a person and a head: told where it is more than chance, else not."""

from __future__ import annotations

import re
from dataclasses import replace
from html import unescape
from pathlib import Path

import pytest

from assistant.journal.writing import JournalRecords
from assistant.paper.history import Account, Confirmation, CutMade, Remark, Size
from assistant.paper.learned import Drift, advice, drift, learned_page
from tests.commands import one_line, tallyhand
from tests.engine.jobs import programme


def sizes(*off: float) -> list[Size]:
    return [Size(0, "across", 20 + each, 20, 19) for each in off]


def job(head: str, operator: str, seconds: float, remarks: int, off: tuple[float, ...]) -> Account:
    made = replace(programme(3), head=head)
    reading = JournalRecords(Path("x.journal"), made, {"operator": operator}, 0, None)
    cuts = [
        CutMade(1, 1, n, "", Confirmation(0, "pedal"), seconds=seconds + n) for n in (1, 2, 3)
    ]  # fmt: skip
    return Account(reading, cuts, sizes(*off), [Remark(0, "overshoot", "", 1)] * remarks)


def test_mean_and_spread_are_those_of_the_textbook() -> None:
    """Of 0.02, 0.04, 0.04, 0.06: mean 0.04, standard deviation with n - 1 sqrt(0.0008 / 3) =
    0.01633; skipped sizes don't count."""
    found = drift([*sizes(0.02, 0.04, 0.04, 0.06), Size(0, "across", None, 20, 19)])
    assert found is not None and found.count == 4
    assert found.mean == pytest.approx(0.04) and found.spread == pytest.approx(0.01633, abs=1e-5)
    assert drift([]) is None


@pytest.mark.parametrize(
    ("found", "says"),
    [
        (Drift(4, 0.03, 0.001), "too few"),
        (Drift(9, 0.03, 0.01), "0.03 mm over"),
        (Drift(9, -0.03, 0.01), "0.03 mm under"),
        (Drift(9, 0.03, 0.06), "about what was expected"),  # 1.5 standard errors
        (Drift(400, 0.005, 0.01), "about what was expected"),  # sure, and finer than a dial
    ],
)
def test_only_what_is_steady_and_large_enough_is_told(found: Drift, says: str) -> None:
    """Five sizes, a hundredth, two standard errors."""
    assert says in advice(found)


def test_a_part_for_each_head_with_its_own_figures() -> None:
    """Cuts, seconds, slips in a hundred cuts; the head with the most cuts first."""
    steady = (0.03, 0.031, 0.029, 0.03, 0.03)
    told = [job("small head", "Anna", 50, 1, ()), job("large head", "Bert", 20, 3, steady),
            job("large head", "Bert", 30, 0, ())]  # fmt: skip
    page = unescape(re.sub(r"<[^>]+>", " ", learned_page(told)))
    first, _, second = page.partition("small head")
    assert "large head" in first and "0.03 mm over" in first and "0.03 mm" not in second
    assert re.search(r"went past the hole\s+3\s+50\.0", first)
    assert re.search(r"went past the hole\s+1\s+33\.3", second)
    assert "27 s" in first and "52 s" in second  # medians of 21 22 23 31 32 33, and of 51 52 53


def test_the_command_writes_one_page(tmp_path: Path) -> None:
    """A page, and nothing but a page."""
    given = '{"press": "main"}\n' * 60
    done = tallyhand("rehearse", "count-wheel", "--data", tmp_path / "d", given=given)
    assert done.returncode == 0, done.stderr
    out = tmp_path / "learned.html"
    asked = ("report", "--learned", "--data", tmp_path / "d", "--out")
    assert tallyhand(*asked, out).returncode == 0
    text = out.read_text("utf-8")
    assert "What the record says" in text and "http" not in text and "<script" not in text
    assert ".html or .pdf" in one_line(tallyhand(*asked, tmp_path / "x.csv"), 2)
