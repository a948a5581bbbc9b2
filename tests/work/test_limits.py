"""Limits in a job file: read exactly, aimed at in the middle, told at every size."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import pytest

from assistant.job.compiler import head_of, programme_of, setups_of
from assistant.job.job_file import JobFaults, job_from_text
from assistant.job.measuring import Measurement
from assistant.job.tolerances import classes, limits_from_text
from solver import Refused
from tests.commands import JOBS, tallyhand

F = Fraction


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("24 mm -0.1 +0", "23.9", "24"),
        ("24 mm +0 -0.1", "23.9", "24"),
        ("24 mm -0.1 0", "23.9", "24"),
        ("24 mm ±0.05", "23.95", "24.05"),
        ("24 mm +-0.05", "23.95", "24.05"),
        ("24 mm -0.020 -0.041", "23.959", "23.98"),
        ("24 mm h11", "23.87", "24"),
        ("30 mm h9", "29.948", "30"),
        ("30.5 mm h9", "30.438", "30.5"),
    ],
)
def test_limits_are_read_exactly(text: str, low: str, high: str) -> None:
    """h11 is 0.130 over 18 to 30 mm, h9 is 0.052 there and 0.062 over 30 (ISO 286-2)."""
    limits, size, system = limits_from_text(text)
    assert limits is not None and system == "mm"
    assert (limits.low, limits.high) == (F(low), F(high))
    assert size == limits.middle == (F(low) + F(high)) / 2


def test_deviations_count_in_the_unit_of_the_size() -> None:
    limits, _, system = limits_from_text("3/4 in -0.002 +0")
    assert limits is not None and system == "in"
    assert (limits.low, limits.high) == (F("0.748") * F("25.4"), F("0.75") * F("25.4"))


def test_without_limits_it_is_the_size_itself() -> None:
    assert limits_from_text("24 mm") == (None, F(24), "mm")
    assert limits_from_text("3/4 in")[0] is None


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("24 mm k6", "known classes are h6, h7, h8, h9, h10, h11, h12"),
        ("24 mm H7", "known classes are"),
        ("400 mm h9", "h9 is known to 315 mm here: write the deviations"),
        ("24 mm +0 -0", "the limits are one size"),
        ("24 mm -30 +0", "the lower limit is nothing"),
        ("24 -0.1 +0", "write the unit with the size"),
        ("24", "write a number and mm, in or thou"),
    ],
)
def test_what_is_no_tolerance_is_told_with_its_cure(text: str, part: str) -> None:
    with pytest.raises(Refused, match=part):
        limits_from_text(text)


# Shaft tolerances of a tool holder's catalogue, p. 139 (mm under nought, h6 to h9).
CATALOGUE = {
    3: "006 010 014 025", 6: "008 012 018 030", 10: "009 015 022 036", 18: "011 018 027 043",
    30: "013 021 033 052", 50: "016 025 039 062", 80: "019 030 046 074", 120: "022 035 054 087",
    180: "025 040 063 100", 250: "029 046 072 115", 315: "032 052 081 130",
}  # fmt: skip


def test_the_classes_agree_with_a_second_table() -> None:
    """The program's own were read from a bar maker's table; this is another publisher's."""
    assert {row["to"] for row in classes()} == set(CATALOGUE)
    for row in classes():
        found = [row[key] for key in ("h6", "h7", "h8", "h9")]
        assert found == [int(each) for each in CATALOGUE[row["to"]].split()]


def test_five_grades_on_a_tolerance_is_ten_times_as_wide() -> None:
    """The standard's own rule from IT6 up (from memory); over 3 to 6 mm IT11 is rounded down."""
    for row in classes():
        assert row["h12"] == 10 * row["h7"]
        assert row["h11"] == (75 if row["to"] == 6 else 10 * row["h6"])


def measured(kind: str, old: str, new: str) -> tuple[Measurement, ...]:
    """All measurements of an example job with one line changed."""
    text = (JOBS / f"{kind}.toml").read_text("utf-8")
    assert old in text
    job = job_from_text(text.replace(old, new), "changed.toml")
    programme = programme_of(job, head_of(job), setups_of(job, head_of(job))[0])
    stages = map(programme.stage, range(programme.stages))
    return tuple(each for stage in stages for each in stage.measurements)


def test_a_hexagon_is_cut_to_the_middle_of_its_limits() -> None:
    """24 -0.1 +0 over opposite flats: 23.9 to 24, cut to 23.95."""
    for each in measured("hexagon-plug", '"24 mm"', '"24 mm -0.1 +0"'):
        assert (each.low, each.target, each.high) == (F("23.9"), F("23.95"), F(24))
        assert not each.is_under(F("23.9")) and each.is_under(F("23.899"))
        assert each.remaining(F(24)) == 0
        assert each.remaining(F("24.01")) == F("0.03")  # half of 0.06: two flats


def test_a_flat_and_the_far_side_show_half_of_the_tolerance() -> None:
    """One flat of three: half the size across flats, so half of 0.1 (geometry)."""
    text = '[work]\nkind = "polygon"\nsides = 3\nacross_flats = "24 mm -0.1 +0"\nbar = "40 mm"\n'
    job = job_from_text(f'title = "Cap"\nhead = "three-plate-40"\n{text}', "cap.toml")
    (each,) = programme_of(job, head_of(job), setups_of(job, head_of(job))[0]).measurements
    assert each.low is not None and each.high is not None
    assert each.high - each.low == F("0.05")


def test_a_keyway_and_a_spline_have_their_limits() -> None:
    """5 +0.2 -0 deep in 38: 32.8 to 33 over the shaft (38 - 5.2, 38 - 5). 6 h9: 5.97 to 6."""
    (key,) = measured("mill-keyways", 'depth = "5 mm"', 'depth = "5 mm +0.2 -0"')
    assert (key.low, key.high) == (F("32.8"), F(33))
    (spline,) = measured("gate-splines", 'width = "6 mm"', 'width = "6 mm h9"')
    assert (spline.low, spline.high) == (F("5.97"), F(6))


def test_the_span_of_a_gear_has_its_limits() -> None:
    """-0.15 to -0.05 of the span that is worked out, which the same job gives without limits."""
    plain = measured("elevator-pinion", "passes = 2", "passes = 2")
    limited = measured(
        "elevator-pinion", "passes = 2", 'passes = 2\nspan_limits = "-0.15 -0.05 mm"'
    )
    for one, other in zip(plain, limited, strict=True):
        assert other.target == one.target - F("0.1")
        assert (other.low, other.high) == (one.target - F("0.15"), one.target - F("0.05"))
    with pytest.raises(JobFaults, match="write two deviations and the unit"):
        measured("elevator-pinion", "passes = 2", 'passes = 2\nspan_limits = "0.1 mm"')


def test_limits_where_nothing_is_measured_are_a_fault() -> None:
    text = (JOBS / "hexagon-plug.toml").read_text("utf-8").replace('"30 mm"', '"30 mm h9"')
    with pytest.raises(JobFaults, match="bar '30 mm h9': write a number and mm"):
        job_from_text(text, "plug.toml")


def test_the_job_explained_and_its_data_tell_the_limits(tmp_path: Path) -> None:
    job = tmp_path / "plug.toml"
    text = (JOBS / "hexagon-plug.toml").read_text("utf-8")
    job.write_text(text.replace('"24 mm"', '"24 mm h11"'))
    shown = tallyhand("job", "check", job).stdout
    assert "23.87 to 24 mm (24 mm h11)" in shown
    found = json.loads(tallyhand("job", "check", job, "--json").stdout)
    sizes = json.dumps(found)
    assert '"low_mm": 23.87' in sizes and '"high_mm": 24.0' in sizes


def test_limits_of_the_thickness_are_those_of_the_span() -> None:
    """For backlash a drawing limits the tooth's thickness at the pitch line; the span's limits are
    those times cos a, 0.9397 at 20 degrees (ISO 21771, base tangent length; from memory)."""
    by_span = measured(
        "elevator-pinion", "passes = 2", 'passes = 2\nspan_limits = "-0.15 -0.05 mm"'
    )
    by_tooth = measured(
        "elevator-pinion", "passes = 2",
        f'passes = 2\nthickness_limits = "-{0.15 / 0.9396926:.6f} -{0.05 / 0.9396926:.6f} mm"',
    )  # fmt: skip
    for one, other in zip(by_span, by_tooth, strict=True):
        assert other.low is not None and one.low is not None
        assert abs(other.low - one.low) < Fraction(1, 100_000)
        assert abs(other.expected - one.expected) < Fraction(1, 100_000)
    both = 'passes = 2\nspan_limits = "-0.15 -0.05 mm"\nthickness_limits = "-0.1 -0.05 mm"'
    with pytest.raises(JobFaults, match="give one of them"):
        measured("elevator-pinion", "passes = 2", both)


@pytest.mark.parametrize(
    ("limits", "dial", "told"),
    [
        # 0.012 over two flats leaves 0.006 for each.
        ("24 mm -0.012 +0", "", "these limits leave the dial 0.006 mm, called to 0.001 mm"),
        ("24 mm h7", "", ""),  # 0.021 over 18 to 30 (ISO 286-2): 0.0105 for each
        ("24 mm h7", "0.02 mm", ""),  # half a division is judged by eye
        ("24 mm -0.012 +0", "0.01 mm", ""),
        (
            "24 mm h7", "0.05 mm",
            "these limits leave the dial 0.011 mm, and it is divided to 0.05 mm",
        ),
        ("24 mm ±0.009", "0.02 mm", "these limits leave the dial 0.009 mm, and it is divided"),
    ],
)  # fmt: skip
def test_limits_that_no_dial_holds_are_questioned(
    limits: str, dial: str, told: str, tmp_path: Path
) -> None:
    """Closer than half a division of the dial: it is said, with what to do."""
    job = tmp_path / "plug.toml"
    text = (JOBS / "hexagon-plug.toml").read_text("utf-8")
    text = text.replace('"24 mm"', f'"{limits}"')
    job.write_text(text + (f'[machine]\ndial = "{dial}"\n' if dial else ""), "utf-8")
    shown = " ".join(tallyhand("job", "check", job).stdout.split())
    assert told in shown and bool(told) == ("these limits" in shown)


@pytest.mark.parametrize(
    ("name", "old", "new", "called"),
    [
        # (30 - 23.9895) / 2; (30 - 23.95) / 2 with room enough.
        ("hexagon-plug", '"24 mm"', '"24 mm h7"', "three point zero zero five millimetres"),
        ("hexagon-plug", '"24 mm"', '"24 mm -0.1 +0"', "three point zero three millimetres"),
        ("mill-keyways", '"5 mm"', '"5 mm +0.015 +0"', "five point zero zero eight millimetres"),
    ],
)
def test_a_depth_is_called_as_finely_as_its_limits_need(
    name: str, old: str, new: str, called: str
) -> None:
    """By a hundredth the depth could be half of one off: too much of what there is (arithmetic)."""
    text = (JOBS / f"{name}.toml").read_text("utf-8").replace(old, new)
    job = job_from_text(text, "changed.toml")
    programme = programme_of(job, head_of(job), setups_of(job, head_of(job))[0])
    assert programme.depths[-1] == called
    assert any(f"{called}." in item for item in programme.checklist)
