"""Flutes and ratchets cut from the words of their lists: face, hook, depth and lands as drawn.

The hook or rake of a tooth is the angle between its face and the radius through its edge
(definition); the land is what is left of the rim between two flutes.
"""

from __future__ import annotations

import re
from itertools import pairwise
from math import atan2, degrees, hypot, radians, sin, tan

import pytest
from shapely import affinity
from shapely.geometry import Point, Polygon

from assistant.job.compiler import Stage, head_of, stages_of
from assistant.job.job_file import JobFaults, job_from_text, read_job
from tests.commands import JOBS
from tests.work.hand import Hand, turned

REAMER = """title = "Reamer"
head = "three-plate-40"
[work]
kind = "flutes"
tool = "reamer"
flutes = {flutes}
diameter = "32 mm"
depth = "4 mm"
{more}
"""


def reamer(flutes: int, more: str) -> Stage:
    job = job_from_text(REAMER.format(flutes=flutes, more=more), "job.toml")
    (stage,) = stages_of(job, head_of(job))
    return stage


def angle_cutter(whole: float, face: float = 0.0) -> Polygon:
    """Its point at nought; the flank that cuts the face on the left."""
    high = 50.0
    return Polygon([(0, 0), (-high * tan(radians(face)), high),
                    (high * tan(radians(whole - face)), high)])  # fmt: skip


def cuts(stage: Stage, cutter: Polygon, radius: float) -> list[Polygon]:
    """By the list alone, and the depth of each by its dial: the work turns so that its top goes
    to the left, so that the next place comes up on the right, where the cutter came from."""
    hand = Hand(radius, 0.0, 0.001)
    hand.do(stage.programme.checklist)
    assert hand.nought is not None and hand.nought == pytest.approx(radius, abs=1e-3)
    programme = stage.programme
    dials = programme.deeper or (0,) * programme.cuts
    last = float(programme.depths_mm[-1])
    return [
        turned(affinity.translate(cutter, hand.x, hand.nought - last - float(less)), float(place))
        for less, place in zip(dials, programme.positions, strict=False)
    ]


def edges(taken: list[Polygon], radius: float) -> list[tuple[float, float]]:
    """Where each cut begins and ends at the rim, in turns clockwise from the top."""
    found = []
    for shape in taken:
        rim = [(radius * sin(a), radius * sin(radians(90) - a)) for a in
               (radians(k / 50) for k in range(18000))]  # fmt: skip
        ring = Polygon(rim).exterior.intersection(shape)
        points = [p for piece in getattr(ring, "geoms", [ring]) for p in piece.coords]
        middle = shape.intersection(Polygon(rim)).centroid
        at = atan2(middle.x, middle.y) / radians(360)
        angles = [(atan2(x, y) / radians(360) - at + 0.5) % 1 - 0.5 + at for x, y in points]
        found.append((min(angles) % 1, max(angles) % 1))
    return found


def lands(found: list[tuple[float, float]]) -> list[float]:
    following = [*found[1:], found[0]]
    return [((b[0] - a[1]) % 1) * 360 for a, b in zip(found, following, strict=True)]


@pytest.mark.parametrize(
    ("more", "angle", "face"),
    [
        ('cutter_angle = "80d"\nspread = "4d"', 80, 0),
        ('cutter_angle = "75d"\nspread = "3d"\nrake = "5d"', 75, 0),
        ('cutter_angle = "85d"\nface_angle = "12d"\nspread = "4d"', 85, 12),
        ('cutter_angle = "80d"\nspread = "4d"\nspacing = "paired"', 80, 0),
        ('cutter_angle = "90d"\nface_angle = "20d"\nspread = "2d"\nrake = "4d"', 90, 20),
    ],
)  # fmt: skip
def test_lands_stay_alike_with_uneven_spaces(more: str, angle: float, face: float) -> None:
    """Each flute is as deep as its space is wide; a face lies on the radius, or leans by its
    hook; none is deeper than the depth."""
    stage = reamer(6, more)
    cutter = angle_cutter(angle, face)
    taken = cuts(stage, cutter, 16.0)
    found = lands(edges(taken, 16.0))
    assert max(found) - min(found) < 0.15
    spaces = [float(b - a) for a, b in pairwise(stage.programme.positions)]
    assert max(spaces) - min(spaces) > 2 / 360
    hook = float(re.search(r'rake = "(\d+)d"', more)[1]) if "rake" in more else 0.0  # type: ignore[index]
    for shape, place in zip(taken, stage.programme.positions, strict=False):
        corner, edge = _face(turned(shape, -float(place)), face)
        lean = degrees(atan2(edge[0] - corner[0], edge[1] - corner[1]) - atan2(*edge))
        # Less deep, the face of a double-angle cutter leaves its line: half a degree at most.
        assert lean == pytest.approx(hook, abs=0.5 if face else 0.1)
        assert hypot(*corner) > 12 - 0.05 - 0.1 * hook
    deepest = min(Point(0, 0).distance(shape) for shape in taken)
    assert deepest == pytest.approx(12.0, abs=0.08)


def _face(shape: Polygon, lean: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """The flute's lowest corner, and where its face meets the rim."""
    x, y = min(shape.exterior.coords, key=lambda point: point[1])
    along, low, high = radians(-lean), 0.0, 30.0
    for _ in range(60):
        middle = (low + high) / 2
        point = (x + middle * sin(along), y + middle * sin(radians(90) + along))
        low, high = (middle, high) if hypot(*point) < 16 else (low, middle)
    return (x, y), (x + low * sin(along), y + low * sin(radians(90) + along))


def test_paired_edges_can_be_measured_across() -> None:
    """Every edge has one straight opposite; the spaces differ all the same."""
    places = reamer(8, 'cutter_angle = "80d"\nspacing = "paired"').programme.positions[:8]
    assert {(place + place.__class__(1, 2)) % 1 for place in places} == set(places)
    assert len({b - a for a, b in pairwise(places)}) > 2
    with pytest.raises(JobFaults, match="an even number of flutes"):
        reamer(7, 'spacing = "paired"')


def test_a_form_cutter_is_set_by_its_middle() -> None:
    """Half of the bar and half of the cutter: 6 + 4 mm; a side that cuts the face: 16 mm."""
    form = reamer(6, 'cutter_form = "form"\nlands = "unequal"\n[cutter]\nwidth = "8 mm"')
    assert "Move across twenty millimetres." in " ".join(form.programme.checklist)
    side = reamer(6, 'cutter_form = "side"\n[cutter]\nwidth = "12 mm"')
    words = " ".join(side.programme.checklist)
    assert "Move across sixteen millimetres: the upright side stands over the axis." in words


def test_the_ratchet_tooth_is_as_deep_along_its_face() -> None:
    """5 mm along a face that leans by 5 degrees, from the point on the rim (definition)."""
    job = read_job(JOBS / "press-ratchet.toml")
    (stage,) = stages_of(job, head_of(job))
    first = cuts(stage, angle_cutter(60), 45.0)[0]
    x, y = min(first.exterior.coords, key=lambda point: point[1])
    point = (45.0**2 - x**2) ** 0.5
    assert point - y == pytest.approx(5, abs=0.012)
    assert degrees(atan2(-x, point)) == pytest.approx(5, abs=0.02)


@pytest.mark.parametrize("path", sorted(JOBS.glob("*.toml")), ids=lambda path: path.stem)
def test_the_dial_is_set_to_nought_over_the_axis(path: object) -> None:
    """One rule for all kinds: the crown is touched while the cutter stands over the axis, and
    what moves it beside that comes after; a face, a flat or a bar along the table has no crown."""
    job = read_job(path)  # type: ignore[arg-type]
    stage = stages_of(job, head_of(job))[0]
    words = " ".join(stage.programme.checklist)
    before, touched, _ = words.partition("Touch the top of the ")
    if not touched or "Axis upright" in words or stage.part.along:
        return
    assert "Move on across" not in before and "past the axis" not in before
    assert re.search(r"over the axis|over the work's axis|on the centre line", before), words
