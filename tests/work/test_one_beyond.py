"""Nearest holes with arms that stay set: they stand at the lowest count, "one beyond" is called,
on a head that was measured also "two beyond".

Whoever sets the arms once and does what is called comes to the nearest hole of every place; the
places are reckoned here, by rounding.
"""

from __future__ import annotations

import json
import re
from itertools import pairwise
from math import cos, pi, sin
from pathlib import Path

import pytest

from tests.commands import tallyhand
from tests.machinist.figures import in_figures

CIRCLE, RATIO = 49, 40
TURNS = r"(?:(\d+) turns?, (?:then )?)?"


def called(folder: Path, count: int, words: str, head: str = "three-plate-40") -> list[str]:
    """Everything said over a whole job with presses alone, numbers in figures."""
    job = folder / "job.toml"
    work = f'[work]\nkind = "divisions"\ncount = {count}\n'
    job.write_text(f'title = "Mill wheel"\nhead = "{head}"\n{work}')
    press = json.dumps({"press": "main"}) + "\n"
    done = tallyhand("rehearse", job, "--json", "--words", words, given=press * (6 * count + 40))
    records = [json.loads(line) for line in done.stdout.splitlines()]
    assert records[-1]["state"]["phase"] == "finished"
    return [in_figures(each["said"]).lower() for each in records if "said" in each]


def followed(said: list[str], move: str, beyond: str) -> list[int]:
    """Where the pin stands after each move of a person who goes by the arms: in holes."""
    arms = next(int(m[1]) for text in said if (m := re.search(r"so that (\d+) spaces lie", text)))
    at, found = 0, []
    for text in said:
        if made := re.search(move, text):
            more = re.search(beyond, text[made.end() :])
            spaces = arms + int(more[1] if more else 0)
            assert int(made[2]) == spaces, text
            at += int(made[1] or 0) * CIRCLE + spaces
            found.append(at)
    return found


@pytest.mark.parametrize("count", [53, 97])
def test_whole_sentences_lead_to_every_nearest_hole(tmp_path: Path, count: int) -> None:
    said = called(tmp_path, count, "whole")
    found = followed(said, TURNS + r"(\d+) holes on the 49 circle\.", r"^ (1) beyond the arms\.")
    assert found == [round(n * RATIO * CIRCLE / count) for n in range(1, count + 1)]
    low = min(b - a for a, b in pairwise([0, *found]))
    lower = [b - a == low for a, b in pairwise([0, *found[:-1]])]  # the last one has its own check
    text = " ".join(said)
    assert text.count("pin at the second arm?") == lower.count(True)
    assert text.count("pin 1 hole beyond the second arm?") == lower.count(False)


def test_the_short_call_has_it_too(tmp_path: Path) -> None:
    """After the first cuts: "thirty-seven on forty-nine, one beyond"."""
    said = called(tmp_path, 53, "few")
    short = [text for text in said if text.startswith("lock off. ") and "holes" not in text]
    assert len(short) > 40
    for text in short:
        made = re.search(TURNS + r"(\d+) on 49(, 1 beyond)?\.", text)
        assert made, text
        assert (int(made[2]) == 37) == bool(made[3])


def off(turns: float) -> float:
    """Arc-seconds too far, by the waves that `measured` writes."""
    worm, once, twice = 2 * pi * RATIO * turns, 2 * pi * turns, 4 * pi * turns
    wheel = 30 * cos(once) + 20 * sin(once) - 4 * cos(twice) + 3 * sin(twice)
    return 30 * cos(worm) - 20 * sin(worm) + wheel


def measured(folder: Path) -> str:
    """The three-plate head with errors as a calibration writes them."""
    head = (Path(__file__).parents[2] / "config/heads/three-plate-40.toml").read_text()
    waves = "worm_wave = [30, -20]\nwheel_waves = [30, 20, -4, 3]\nknown_within = 2\n"
    (folder / "mine.toml").write_text(f"{head}\n[errors]\n{waves}")
    return str(folder / "mine.toml")


@pytest.mark.parametrize("count", [53, 89])
def test_three_counts_on_a_measured_head_come_from_one_setting(tmp_path: Path, count: int) -> None:
    """Every hole is the nearest to the true place: the work is off by half a hole at the most."""
    said = called(tmp_path, count, "whole", measured(tmp_path))
    found = followed(said, TURNS + r"(\d+) holes on the 49 circle\.", r"^ ([12]) beyond the arms\.")
    counts = {b - a for a, b in pairwise([0, *found])}
    assert max(counts) - min(counts) == 2
    half = 1296000 / RATIO / CIRCLE / 2
    for n, hole in enumerate(found, 1):
        at = hole / RATIO / CIRCLE
        assert abs((at - n / count) * 1296000 + off(at) - off(0)) < half * 1.01
    text = " ".join(said)
    assert "go 1 hole or 2 beyond them" in text
    assert "pin 2 holes beyond the second arm?" in text


def test_arms_that_serve_every_move_call_nothing(tmp_path: Path) -> None:
    assert not any("beyond" in text for text in called(tmp_path, 21, "whole"))
