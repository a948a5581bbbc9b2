"""Spacing by the definitions of ISO 1328-1 (from memory), worked by hand on a small part."""

from __future__ import annotations

from pathlib import Path

from assistant.paper.inspection import polar_chart, spacing_of
from tests.commands import one_line, tallyhand

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
