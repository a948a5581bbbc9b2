"""Ratchet teeth inside a ring: how they are planed and judged, and their figures."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import cos, degrees, pi, radians, sin, tan

import pytest
from shapely.geometry import Polygon

from assistant.job.kinds import inner_ratchet
from assistant.job.kinds.inner_ratchet import InnerRatchet
from tests.machinist import inner
from tests.machinist.craft import Craft, Fault, bar
from tests.machinist.machine import round_bar
from tests.work.shops import shop

CRAFT = Craft(
    "inner-ratchet",
    bar("outside"),
    inner.faults,
    marks=True,
    drawing=inner.ring,
    hears=inner.HEARS,
    figures={
        "bore": "60 mm",
        "outside": "80 mm",
        "depth": "2 mm",
        "drives": "anticlockwise",
        "tool_angle": "50d",
        "tool": "40 mm",
    },
    counts=("teeth", [12, 15, 20]),
    one_pass=True,
    example="winch-ring",
    told="Ratchet inside a ring, seen from above: the tool's form, as deep as it was fed, wherever "
    "a tooth was planed. Judged are face, depth, back and which way a pawl drives it, and that "
    "the tool is held and out of the ring before the head turns.",
    shows="The ring of the beam winch as it was planed, over its drawing",
    planted=(
        Fault("teeth inside that hold the other way", "winch-ring",
              "tool lies anticlockwise", "tool lies clockwise", seen="missing"),
        Fault("teeth inside deeper than drawn", "winch-ring",
              "outward four millimetres", "outward four point one millimetres", seen="missing"),
        Fault("the spindle with the planing tool left in gear", "winch-ring",
              r"The machine's spindle out of gear and held[^.]*\. It stays held[^.]*\.",
              "Look.", seen="can turn"),
        Fault("a planing tool that stays in the tooth as the head turns", "winch-ring",
              r"After each tooth: tool up[^.]*\. Slide back[^.]*\. Only then the next move\.",
              "Look.", seen="clear"),
    ),
)  # fmt: skip

# --- the figures ------------------------------------------------------------------------

WINCH = InnerRatchet(24, Fraction(80), Fraction(104), Fraction(4), Fraction(55), Fraction(45))


def _refused(work: InnerRatchet) -> list[str]:
    return [each.key for each in work.work_out(shop()).refusals]


@pytest.mark.parametrize(("teeth", "angle"), [(12, 45), (24, 55), (30, 60), (60, 70)])
def test_at_the_deepest_the_spaces_just_meet(teeth: int, angle: int) -> None:
    """The root, the point and the axis are a triangle (law of sines): a back that begins at the
    next point stands off the face by t with tan t = R sin p / (R + d - R cos p), p the pitch."""
    work = replace(WINCH, teeth=teeth, tool_degrees=Fraction(angle))
    pitch, radius = 2 * pi / teeth, 40.0
    wanted = radius * (sin(pitch) / tan(radians(angle)) + cos(pitch) - 1)
    assert inner_ratchet.deepest_in_bore(work) == pytest.approx(wanted, abs=1e-6)
    assert degrees(inner_ratchet.space_at_bore(work, wanted) * 2 * pi) == pytest.approx(360 / teeth)


def test_what_is_called_deepest_is_taken_and_a_hair_more_refused() -> None:
    """The depth that a refusal names is one that can be cut."""
    text = replace(WINCH, depth=Fraction(7)).work_out(shop()).refusals[0].text
    most = Fraction(text.split(": ")[1].split()[0])
    assert not _refused(replace(WINCH, depth=most))
    assert _refused(replace(WINCH, depth=most + Fraction(2, 1000))) == ["depth"]


def test_a_back_has_to_come_out_in_the_bore() -> None:
    """A straight line at an angle to the radius through the root passes the axis at (R + d) sin a,
    which must be less than R (geometry); else the tool cuts on without an end."""
    few = replace(WINCH, teeth=4, tool_degrees=Fraction(70))
    most = 40 / sin(radians(70)) - 40
    assert inner_ratchet.deepest_in_bore(few) == pytest.approx(most, abs=1e-6)
    assert not _refused(replace(few, depth=Fraction(int(most * 1000), 1000)))
    assert "stays in them" in few.work_out(shop()).refusals[0].text


def test_a_tool_that_can_not_be_drawn_back_is_refused() -> None:
    """79 mm in a bore of 80 mm has a millimetre to go back; more has not (common practice)."""
    assert not _refused(replace(WINCH, tool=Fraction(79)))
    assert _refused(replace(WINCH, tool=Fraction(791, 10))) == ["tool"]


def test_teeth_stay_within_the_ring() -> None:
    """12 mm of wall: a tooth of 12 mm leaves nothing of it."""
    assert inner_ratchet.wall(WINCH) == 8
    assert _refused(replace(WINCH, depth=Fraction(12))) == ["depth"]


def test_the_picture_is_what_the_drawing_office_has() -> None:
    """Root, face and back of the first tooth, on the side that the pawl comes from."""
    for drives, way in (("clockwise", -1), ("anticlockwise", 1)):
        shape = Polygon(inner_ratchet.cut_shape(replace(WINCH, drives=drives)))
        wanted = inner.space(44.0, 55.0, way).difference(round_bar(80.0))
        assert shape.symmetric_difference(wanted).area < 0.01 * wanted.area
