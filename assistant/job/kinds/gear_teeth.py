"""The figures of involute gear teeth. Lengths in mm, module in mm, angles in radians.

Formulae from handbook practice: tooth parts (NAVEDTRA 14345, Machinery Repairman, appendix
III; Elements of Metric Gear Technology, sections 4 and 10), span and pins (the same,
section 10), numbers checked in the tests against their printed examples.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import acos, atan, cos, pi, sin, sqrt, tan

from assistant.job import standards
from assistant.job.part import Objection
from assistant.job.reader import Table
from assistant.job.units import MM_PER_INCH, Unit
from assistant.job.work import Work
from solver import Degrees, Millimetres

KEYS = ("module", "diametral_pitch", "pressure_angle", "whole_depth")

_USUAL_PRESSURE = Degrees(Fraction(20))
_FINE = Fraction(5, 4)  # module below which the deeper metric tooth is customary
BY_PITCH, BY_MODULE, BY_FINE_MODULE = Fraction("2.157"), Fraction("2.25"), Fraction("2.4")
"""The whole depth of full teeth in modules, by custom (a metric gears reference page; tooth parts
by diametral pitch: NAVEDTRA 14345, appendix III)."""


@dataclass(frozen=True, slots=True)
class Tooth:
    """Size and shape of a tooth. `module` in mm, exact; `whole_depth` and `addendum` in modules:
    1, or less for a stub tooth."""

    module: Millimetres
    pressure_degrees: Degrees = _USUAL_PRESSURE
    whole_depth: Fraction = Fraction(225, 100)
    by_dp: bool = False
    addendum: Fraction = Fraction(1)

    @property
    def pressure(self) -> float:
        """The pressure angle in radians."""
        return float(self.pressure_degrees) * pi / 180

    @property
    def depth(self) -> Millimetres:
        """Whole depth, mm."""
        return Millimetres(self.whole_depth * self.module)

    @property
    def dedendum(self) -> Millimetres:
        """Below the pitch line, mm: what the cutter reaches beyond it."""
        return Millimetres(self.depth - self.addendum * self.module)

    @property
    def diametral_pitch(self) -> Fraction:
        """Teeth for an inch of pitch diameter: 25.4 / module."""
        return MM_PER_INCH / self.module


def customary_depth(module: Millimetres | None, addendum: Fraction, *, by_dp: bool) -> Fraction:
    """Whole depth and `addendum` in modules, `module` in mm. A stub tooth is cut as deep below the
    pitch line as a full one, with the same cutters."""
    full = BY_FINE_MODULE if module is not None and module < _FINE else BY_MODULE
    return (BY_PITCH if by_dp else full) - 1 + addendum


def read(table: Table) -> Tooth:
    """Without a whole depth of its own a stub tooth is cut as deep as the usual cutter reaches."""
    given = table.one_of("module", "diametral_pitch")
    by_dp = given == "diametral_pitch"
    if by_dp:
        # The pitch is teeth to the inch: it decides before any length of the job.
        table.faults.systems.insert(0, "in")
    pitch = table.number(given, 0.1, 400) if given else Fraction(1)
    module = Millimetres(MM_PER_INCH / pitch if by_dp else pitch)
    addendum = table.number("addendum", 0.6, 1.2, "1")
    custom = customary_depth(module, addendum, by_dp=by_dp)
    return Tooth(
        module=module,
        pressure_degrees=table.degrees("pressure_angle", _USUAL_PRESSURE),
        whole_depth=table.number("whole_depth", 1.3, 2.6, str(float(custom))),
        by_dp=by_dp,
        addendum=addendum,
    )


def involute(angle: float) -> float:
    """inv a = tan a - a; both in radians."""
    return tan(angle) - angle


def angle_of_involute(value: float) -> float:
    """The angle in radians, 0 or more, whose involute this is (Newton's method)."""
    angle = min((3 * value) ** (1 / 3), 1.5) if value > 0 else 0.0
    for _ in range(60):
        slope = tan(angle) ** 2
        if slope < 1e-18:
            break
        angle -= (involute(angle) - value) / slope
    return angle


def half_angle(teeth: float, shift: float = 0.0, pressure: float = 0.0) -> float:
    """Half of what a tooth takes of the pitch circle, radians; `shift` in modules."""
    return pi / 2 / teeth + 2 * shift * tan(pressure) / teeth


def chordal_thickness(
    module: float, teeth: float, shift: float = 0.0, pressure: float = 0.0
) -> float:
    """Over the chord at the pitch line, mm as `module`: PD sin(90/N), more by a profile shift.
    `shift` in modules, `pressure` in radians, as in all that follow."""
    return module * teeth * sin(half_angle(teeth, shift, pressure))


def chordal_addendum(
    module: float, teeth: float, tip: float = 1.0, shift: float = 0.0, pressure: float = 0.0
) -> float:
    """From the top to that chord, mm: a + PD/2 (1 - cos(90/N)); `tip` in modules, with the
    shift."""
    sunk = teeth / 2 * (1 - cos(half_angle(teeth, shift, pressure)))
    return module * (tip + sunk)


def span_teeth(teeth: int, pressure: float, shift: float = 0.0) -> int:
    """How many teeth to span so that the jaws touch near the middle of the flank (Elements of
    Metric Gear Technology, section 10)."""
    f = shift / teeth
    root = sqrt(max(0.0, (1 + 2 * f) ** 2 - cos(pressure) ** 2))
    k = (root / cos(pressure) - involute(pressure) - 2 * f * tan(pressure)) / pi
    return max(2, min(teeth - 1, round(teeth * k + 0.5)))


def base_tangent(
    module: float, teeth: int, spanned: int, pressure: float, shift: float = 0.0
) -> float:  # fmt: skip
    """Base tangent length over k teeth, mm: m cos a (pi (k - 1/2) + z inv a) + 2 x m sin a."""
    plain = module * cos(pressure) * (pi * (spanned - 0.5) + teeth * involute(pressure))
    return plain + 2 * shift * module * sin(pressure)


def pin(module: float) -> float:
    """Van Keuren's pin for external gears, mm: 1.728 modules (handbook practice)."""
    return 1.728 * module


def shifted_pin(module: float, teeth: int, pressure: float, shift: float) -> float:
    """The pin, mm, that touches at the middle of a shifted flank, a shift above the pitch line
    (Elements of Metric Gear Technology, section 10)."""
    base = teeth * cos(pressure)
    touch = acos(min(1.0, base / (teeth + 2 * shift)))
    space = pi / 2 / teeth - involute(pressure) - 2 * shift * tan(pressure) / teeth
    return module * base * (involute(tan(touch) + space) + space)


def size_over_pins(
    module: float, teeth: int, pressure: float, diameter: float, shift: float = 0.0
) -> float:
    """Over two pins of this diameter, mm, in opposite spaces, or as opposite as odd teeth allow."""
    value = diameter / (module * teeth * cos(pressure)) + involute(pressure)
    value -= pi / 2 / teeth - 2 * shift * tan(pressure) / teeth
    centre = module * teeth * cos(pressure) / cos(angle_of_involute(value))
    return centre * (1 if teeth % 2 == 0 else cos(pi / 2 / teeth)) + diameter


def transverse(pressure: float, helix: float) -> float:
    """The pressure angle in the plane of rotation, radians: tan a / cos(helix)."""
    return atan(tan(pressure) / cos(helix))


def helical_span_teeth(teeth: int, pressure: float, helix: float, shift: float = 0.0) -> int:
    """How many teeth of a helical gear to span (Elements of Metric Gear Technology, section 10)."""
    f, square = shift / teeth, cos(helix) ** 2 + tan(pressure) ** 2
    root = sqrt(max(0.0, square * (1 / cos(helix) + 2 * f) ** 2 - 1))
    k = (1 + sin(helix) ** 2 / square) * root
    k -= involute(transverse(pressure, helix)) + 2 * f * tan(pressure)
    return max(2, min(teeth - 1, round(teeth * k / pi + 0.5)))


def helical_span(
    module: float, teeth: int, spanned: int, pressure: float, helix: float, shift: float = 0.0
) -> float:  # fmt: skip
    """Over k teeth, square to the helix: m cos a (pi (k - 1/2) + z inv a_t) + 2 x m sin a; `module`
    and `pressure` are the normal ones (the same)."""
    around = teeth * involute(transverse(pressure, helix))
    return module * cos(pressure) * (pi * (spanned - 0.5) + around) + (
        2 * shift * module * sin(pressure)
    )


def face_for_span(span_: float, pressure: float, helix: float) -> float:
    """The face that the jaws need, mm: W sin(base helix), sin b_b = sin b cos a."""
    return span_ * sin(helix) * cos(pressure)


def helical_over_pins(
    module: float, teeth: int, pressure: float, helix: float, diameter: float, shift: float = 0.0
) -> float:
    """Over two balls, or pins that lie along the teeth, as opposite as the number allows (the
    same). With no helix it is `size_over_pins`."""
    at = transverse(pressure, helix)
    value = diameter / (module * teeth * cos(pressure)) - pi / 2 / teeth
    value += involute(at) + 2 * shift * tan(pressure) / teeth
    centre = module * teeth * cos(at) / cos(helix) / cos(angle_of_involute(value))
    return centre * (1 if teeth % 2 == 0 else cos(pi / 2 / teeth)) + diameter


def fewest_without_undercut(pressure: float, reach: float = 1.0) -> float:
    """2 / sin(a)^2 teeth, addendum one module: 17.1 at 20 degrees, 31.9 at 14 1/2. `reach`: in
    modules, what the mate's tip comes below the pitch line: its addendum less the shift."""
    return 2 * reach / sin(pressure) ** 2


def space_width(radius: float, module: float, teeth: float, pressure: float) -> float:
    """Across a space, on the chord at this radius, mm; below the base circle its sides are
    radial, as form cutters are made (common practice)."""
    return 2 * radius * sin(pi / teeth - half_thickness(radius, module, teeth, pressure))


def half_thickness(
    radius: float, module: float, teeth: float, pressure: float, shift: float = 0.0
) -> float:
    """Half the angle (radians) that a tooth takes at this radius."""
    base = module * teeth / 2 * cos(pressure)
    at = acos(min(1.0, base / radius))
    return half_angle(teeth, shift, pressure) + involute(pressure) - involute(at)


class Toothed(Work):
    """Work whose teeth have a standard list of sizes."""

    __slots__ = ()

    tooth: Tooth

    def odd_size(self, unit: Unit) -> Objection | None:
        return odd_pitch(self.tooth)


def odd_pitch(tooth: Tooth) -> Objection | None:
    """A module or diametral pitch that is close to one of the standard list, but not it."""
    key, kept = "module", standards.standard_table("modules")
    wanted: Fraction = tooth.module
    if tooth.by_dp:
        key, wanted, kept = (
            "diametral_pitch",
            tooth.diametral_pitch,
            standards.standard_table("diametral-pitches"),
        )
    best = standards.nearest_size(wanted, kept.sizes)
    if best is None:
        return None
    said = key.replace("_", " ")
    return Objection(
        key, f"{said} {float(wanted):g}: the nearest of {kept.name} is {float(best):g}: look again"
    )
