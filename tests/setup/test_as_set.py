"""What the settings say of the person's own head: the plate that is on it, what a blank costs."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from assistant.commands.options import Given
from assistant.commands.plan_words import wishes
from assistant.errors import Refusal
from assistant.files import settings
from assistant.job.compiler import head_of, setups_of
from assistant.job.job_file import Job, job_from_text
from assistant.job.which_head import as_set
from solver.cost import MINUTE, usual_costs

HEAD = "three-plate-40"


def job(more: str = "", head: str = HEAD, count: int = 9) -> Job:
    work = f'[work]\nkind = "divisions"\ncount = {count}\n'
    return job_from_text(f'title = "Mill wheel"\nhead = "{head}"\n{more}\n{work}', "job.toml")


def first_plate(usual: settings.JobSettings, asked: Job) -> str | None:
    found = as_set(asked, usual)
    return setups_of(found, head_of(found))[0].plate


def test_the_plate_of_the_settings_is_kept_where_it_serves() -> None:
    """9 divisions are 4 turns and 4/9: circles 18 of A and 27 of B serve (any printed table for 40
    to 1). What a job says itself comes first, and another head is not spoken of."""
    usual = settings.JobSettings(head=HEAD, fitted="A")
    assert first_plate(settings.JobSettings(head=HEAD), job()) == "B"
    assert first_plate(usual, job()) == "A"
    assert first_plate(usual, job('fitted = "B"')) == "B"
    assert as_set(job(head="two-sided-40"), usual).fitted is None


def test_a_plate_that_the_head_has_not_is_refused() -> None:
    with pytest.raises(Refusal, match=r"fitted = 'Q': three-plate-40 has A, B, C"):
        as_set(job(), settings.JobSettings(head=HEAD, fitted="Q"))


def test_a_blank_of_the_settings_counts_unless_the_job_names_its_own() -> None:
    usual = settings.JobSettings(blank_minutes=480)
    assert as_set(job(), usual).blank_minutes == Fraction(480)
    assert as_set(job("blank_minutes = 5"), usual).blank_minutes == 5
    assert as_set(job(), settings.JobSettings()).blank_minutes is None
    assert usual_costs()["blank"] == settings.USUAL_BLANK * MINUTE


def test_plan_and_table_take_both_with_the_head_of_the_settings(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "tallyhand.toml"
    file.write_text(f'[job]\nhead = "{HEAD}"\nfitted = "A"\nblank_minutes = 480\n')
    monkeypatch.setenv("TALLYHAND_CONFIG", str(file))
    assert wishes(Given({})) == {"fitted": "A", "prefer": ["blank=480"]}
    named = wishes(Given({"--head": HEAD}))
    assert named == {"fitted": None, "prefer": []}
