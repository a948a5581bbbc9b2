"""Spacing by the definitions of ISO 1328-1 (from memory), worked by hand on a small part."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

from assistant.paper.inspection import (
    polar_chart,
    spacing_of,
    spacing_of_pins,
    spacing_of_spans,
)
from tests.commands import ROOT, one_line, tallyhand

SIX = "2\n5\n4\n-1\n0\n1\n"  # index 0 3 2 -3 -2 -1: pitches 3 -1 -5 1 1 1


def test_pitch_deviations_by_hand() -> None:
    """Pitches 3, -1, -5, 1, 1, 1 close to nought; over two: -6; from lowest to highest: 6."""
    spacing = spacing_of([2, 5, 4, -1, 0, 1])
    assert spacing.pitches == (3, -1, -5, 1, 1, 1)
    assert sum(spacing.pitches) == 0
    assert (spacing.single, spacing.over(2), spacing.total) == (5, 6, 6)
    assert spacing.over(5) == spacing.single  # five pitches of six leave the one between


def test_the_chart_has_a_corner_for_each_tooth() -> None:
    """A perfect part lies on the circle of 110; a flank that is too far on stands outside it."""
    flat = polar_chart(spacing_of([4.0, 4.0, 4.0, 4.0]))
    assert 'points="0.0,-110.0 110.0,-0.0 0.0,110.0 -110.0,0.0"' in flat
    assert "0.0,-110.0 170.0" in polar_chart(spacing_of([0.0, 1.0, 0.0, 0.0]))


def test_the_command(tmp_path: Path) -> None:
    """A reading a line; the chart to a file; faults get a line."""
    file, chart = tmp_path / "teeth.txt", tmp_path / "chart.svg"
    file.write_text("# wheel\n" + SIX, "utf-8")
    done = tallyhand("inspect", file, "--out", chart)
    assert done.returncode == 0, done.stderr
    assert "single pitch deviation: 5, from tooth 3 to 4" in done.stdout
    assert "cumulative over 2 pitches: 6" in done.stdout
    assert "total cumulative: 6" in done.stdout
    assert chart.read_text("utf-8").startswith("<svg")
    assert "from 1 to 5" in one_line(tallyhand("inspect", file, "--k", "6"), 2)
    file.write_text("1\nx\n2\n", "utf-8")
    assert "line 2" in one_line(tallyhand("inspect", file), 1)


# --- spans and pins ---------------------------------------------------------------------

Z = 17
OFF = [0.0, 12, -7, 3, 20, 5, -14, 8, 0, 31, -9, 2, 6, -22, 4, 10, -3]  # micrometres, made up


def between(k: int) -> list[float]:
    """How much further on the space after k teeth is than the one before them."""
    return [OFF[(n + k) % Z] - OFF[n] for n in range(Z)]


@pytest.mark.parametrize("k", [1, 2, 3, 5])
def test_spans_lead_to_every_tooth(k: int) -> None:
    """A part whose spaces lie where they lie; its spans are made from that, and lead back to it."""
    found = spacing_of_spans([32_000 + each for each in between(k)], k)
    assert found.index == pytest.approx(OFF, abs=1e-6)
    assert found.over(k) == pytest.approx(max(map(abs, between(k))))


@pytest.mark.parametrize("k", [1, 3, 5])
def test_pins_lead_to_every_tooth(k: int) -> None:
    """Pins on a circle of 60 mm: the true chord 2 r sin of half the angle between their spaces."""
    radius = 30_000.0
    chords = [2 * radius * math.sin(math.pi * k / Z + each / 2 / radius) for each in between(k)]
    assert spacing_of_pins(chords, k).index == pytest.approx(OFF, abs=0.05)


def test_what_spans_and_pins_can_not_tell(tmp_path: Path) -> None:
    """A common factor, pins nearly opposite, both at once: one line, and what would do."""
    file = tmp_path / "sizes.txt"
    file.write_text("1\n" * 18)
    assert "take 5" in one_line(tallyhand("inspect", file, "--span", "3"), 2)
    assert "nearly opposite" in one_line(tallyhand("inspect", file, "--pins", "8"), 2)
    assert "from 1 to 17" in one_line(tallyhand("inspect", file, "--span", "18"), 2)
    assert "one of them" in one_line(tallyhand("inspect", file, "--span", "5", "--pins", "5"), 2)
    assert "--teeth is missing" in one_line(tallyhand("inspect"), 2)


def test_typed_tooth_by_tooth_and_kept_for_the_report(tmp_path: Path) -> None:
    """A figure that is none is asked for again; the report of the job has it afterwards."""
    job = ROOT / "config" / "jobs" / "count-wheel.toml"
    tallyhand("rehearse", job, "--data", tmp_path, given='{"press": "main"}\n')
    words = ("inspect", "--teeth", "6", "--job", "count", "--data", tmp_path)
    done = tallyhand(*words, given="x\n" + SIX)
    assert done.returncode == 0, done.stderr
    assert "'x' is no figure" in done.stdout and "Tooth 6 of 6, indicator:" in done.stdout
    page = tmp_path / "report.html"
    tallyhand("report", "--data", tmp_path, "--out", page)
    text = page.read_text("utf-8")
    assert "an indicator at each tooth" in text and 'points="0.0,-110.0' in text
    assert re.search(
        r"single pitch deviation</dt><dd>5<.*total cumulative</dt><dd>6<", text, re.DOTALL
    )
    assert "ended too soon" in one_line(tallyhand(*words, given="1\n"), 1)
    assert "no job named" in one_line(tallyhand(*words[:3], "--job", "no-such",
                                                "--data", tmp_path, given=SIX), 1)  # fmt: skip


def test_it_asks_in_the_language_of_the_settings(tmp_path: Path) -> None:
    settings = tmp_path / "tallyhand.toml"
    settings.write_text('[speech]\nlanguage = "de"\n')
    env = {"TALLYHAND_CONFIG": str(settings)}
    done = tallyhand("inspect", "--teeth", "6", "--span", "5", given=SIX, env=env)
    assert "Zahnweite über 5 Zähne, der erste davon 1 von 6:" in done.stdout
    assert "Teilungs-Einzelabweichung" in done.stdout
