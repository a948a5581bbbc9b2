"""Racks: where each space was cut along the table, by which cutter, how deep."""

from __future__ import annotations

import re
from fractions import Fraction
from math import pi, radians, sin, tan

import pytest

from assistant.job.kinds import rack, rule
from assistant.job.kinds.gear_teeth import Tooth
from assistant.job.units import MM_PER_INCH
from tests.kinds.marks import RULE
from tests.machinist import cutters
from tests.machinist.craft import Craft, Fault, Made
from tests.machinist.drawings import SAID, DrawnJob
from tests.machinist.figures import MM
from tests.machinist.machine import Machine, round_bar
from tests.machinist.person import Person
from tests.work.shops import shop as work_shop


def _depth(job: DrawnJob) -> float:
    """Whole depth: 2.25 modules, 2.157 over the pitch, 2.4 for fine teeth (custom)."""
    work = job.works[0]
    by_pitch = "diametral_pitch" in work
    module = 25.4 / work["diametral_pitch"] if by_pitch else work["module"]
    full = 2.157 if by_pitch else 2.25 if module >= 1.25 else 2.4
    return float(work.get("whole_depth", full) * module)


def _begin(_job: DrawnJob, _machine: Machine, person: Person) -> None:
    person.forms = lambda _number: cutters.point()


def _faults(made: Made) -> list[str]:
    found = [each for each in RULE.faults(made) if "are made" not in each]
    if made.person.form != 1:
        found.append(f"cutter {made.person.form} by diametral pitch, a rack takes the first")
    if not made.person.cuts_across:
        found.append("the cutter cuts along the table")
    last: dict[float, float] = {}
    for cut in made.machine.cuts:
        last[float(cut.turns)] = cut.depth or 0.0
    wanted = _depth(made.job)
    found += [f"a space {depth} mm deep for {wanted:g}" for depth in last.values()
              if abs(depth - wanted) > SAID]  # fmt: skip
    return found + _over_pin(made)


def _over_pin(made: Made) -> list[str]:
    """H - p / (4 tan a) + d/2 (1 + 1 / sin a) (Elements of Metric Gear Technology, section 10: m =
    1, H = 14, d = 1.7 give 15.1774; from memory)."""
    job = made.job
    if not job.has("height"):
        return []
    told = [re.search(rf"^ +{name} +([\d.]+) (mm|in)$", made.printed, re.MULTILINE)
            for name in ("pin", "from the back over the pin")]  # fmt: skip
    pin, over = (float(each[1]) * MM[each[2]] if each else 0.0 for each in told)
    module, angle = float(job.works[0]["module"]), radians(job.degrees("pressure_angle", 20.0))
    wanted = job.mm("height") - module - pi * module / 4 / tan(angle)
    wanted += pin / 2 * (1 + 1 / sin(angle))
    off = abs(wanted - over)
    return [f"{over:.3f} mm is told over a pin of {pin:g}, for {wanted:.3f}"] if off > 0.003 else []


RACK = Craft(
    "rack",
    blank=lambda _: round_bar(50.0),
    faults=_faults,
    cutter=lambda _: cutters.point(),
    begin=_begin,
    marks=True,
    planted=(
        Fault(
            "the pitch of another module", "sluice-rack", "Eighteen turns, then", "Six turns, then"
        ),
        Fault(
            "the cutter of the smallest gear",
            "sluice-rack",
            "Cutter one by diametral pitch, or cutter eight",
            "Cutter eight by diametral pitch, or cutter one",
            seen="a rack takes the first",
        ),
        Fault(
            "as deep as the addendum alone",
            "sluice-rack",
            "Depth dial to six point seven five",
            "Depth dial to three",
            seen="deep for",
        ),
        Fault(
            "cut along the table",
            "sluice-rack",
            r"Its axis lies along the table[^.]*\.",
            "Look.",
            seen="along the table",
        ),
    ),
)


# --- the figures, held against the handbook -------------------------------------------------


def test_over_a_pin_as_it_is_printed() -> None:
    """m = 1, 20 degrees, 14 mm to the pitch line: ideal pin 1.6716, with 1.7 mm 15.1774 (Elements
    of Metric Gear Technology, section 10, racks; from memory)."""
    work = rack.Rack(10, Tooth(Fraction(1)), height=Fraction(15))
    assert rack.pin_of(work) == Fraction("1.7")
    assert rack.over_pin(work) == pytest.approx(15.1774, abs=5e-5)
    # Cut a quarter less deep, the whole form stands a quarter higher.
    shallow = rack.over_pin(work, work.tooth.depth - Fraction(1, 4))
    assert shallow - rack.over_pin(work) == pytest.approx(0.25)


@pytest.mark.parametrize(
    ("pitch", "linear"), [(10, 0.3142), (8, 0.3927), (16, 0.1963), (4, 0.7854)]
)
def test_linear_pitch_is_the_circular_one(pitch: int, linear: float) -> None:
    """Circular pitch of 10, 8, 16 and 4 diametral pitch: .3142, .3927, .1963, .7854 inches (the
    table of tooth parts that handbooks print; from memory)."""
    work = rack.Rack(10, Tooth(MM_PER_INCH / pitch, by_dp=True))
    assert float(rack.pitch(work) / MM_PER_INCH) == pytest.approx(linear, abs=5e-5)


def test_no_space_is_off_by_more_than_is_told() -> None:
    """Each at its own nearest hole, over two metres: travel = screw x gears / 40 for a turn
    (Practical Treatise on Milling and Milling Machines, 1914, p. 183)."""
    work = rack.Rack(200, Tooth(Fraction(3)))
    shop = work_shop("three-plate-40-geared")
    gearing = rule.best(rack.as_lines(work), shop.head, Fraction(5))
    assert gearing is not None
    travel = rack.pitch(work) / gearing.turns / gearing.circle
    off = [abs(float(holes * travel) - n * 3 * pi) for n, holes in enumerate(gearing.holes)]
    assert max(off) <= float(gearing.worst) + 1e-6 < 0.006
