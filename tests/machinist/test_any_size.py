"""Random sizes of every kind: whatever the program accepts comes out as drawn; what can't be made
so it has to refuse."""

from __future__ import annotations

import random
import re
import tempfile
from math import asin, pi, radians, sin, tan
from pathlib import Path

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from tests.lanes import length
from tests.machinist.talk import Refused, job_check
from tests.machinist.workshop import every_reading, make

# Numbers that a head with three plates indexes exactly.
COUNTS = st.sampled_from([2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 15])
FEW = settings(
    max_examples=length(3, 8), deadline=None, derandomize=True,
    phases=(Phase.generate,),  # what fails is small enough: looking for less takes minutes
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)  # fmt: skip


def tenths(low: int, high: int) -> st.SearchStrategy[float]:
    """Sizes to a tenth of a millimetre, as drawings have them."""
    return st.integers(10 * low, 10 * high).map(lambda n: n / 10)


def job(kind: str, extra: str = "", **keys: object) -> str:
    lines = [f"{key} = {value}" if isinstance(value, int) else f'{key} = "{value}"'
             for key, value in keys.items()]  # fmt: skip
    return "\n".join(
        [
            'title = "Any size"',
            'head = "three-plate-40"',
            "[work]",
            f'kind = "{kind}"',
            *lines,
            extra,
        ]
    )


def comes_out(text: str) -> None:
    """The readings take turns: each example tries one of them."""
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "job.toml"
        path.write_text(text, "utf-8")
        try:
            job_check(path)
        except Refused as refused:
            # Where it says what would do, that is done.
            cure = re.search(r'(root_saw) = "([\d.]+ mm)"', str(refused))
            if cure and cure[1] not in text:
                comes_out(f'{text}\n{cure[1]} = "{cure[2]}"')
            return
        reading = random.Random(text).choice(every_reading())
        made = make(path, reading)
        assert not made.faults, (made.faults, reading, text)


@FEW
@given(COUNTS, tenths(8, 60), st.integers(30, 97), st.integers(1, 3))
def test_flats(sides: int, bar: float, share: int, passes: int) -> None:
    flats = round(bar * share / 100, 2)
    comes_out(job("polygon", sides=sides, across_flats=f"{flats} mm", bar=f"{bar} mm",
                  passes=passes))  # fmt: skip


@FEW
@given(st.sampled_from([(4, 4), (4, 2), (6, 6), (6, 3), (6, 2)]), tenths(8, 40),
       st.integers(40, 95), st.integers(1, 2))  # fmt: skip
def test_flats_in_a_block(faces: tuple[int, int], bar: float, share: int, passes: int) -> None:
    block = {4: "square-block", 6: "hexagon-block"}[faces[0]]
    flats = round(bar * share / 100, 1)
    text = job("polygon", sides=faces[1], across_flats=f"{flats} mm -0.1 +0", bar=f"{bar} mm",
               passes=passes)  # fmt: skip
    comes_out(text.replace("three-plate-40", block))


# As a drawing writes them, also closer than a depth that is called to a hundredth.
LIMITS = st.sampled_from(
    ["-0.1 +0", "-0.05 +0.03", "±0.02", "-0.08 -0.02", "h9", "h10", "h11", "h7", "h6", "±0.004"]
)


@FEW
@given(COUNTS, tenths(8, 60), st.integers(40, 95), LIMITS, st.integers(1, 2))
def test_flats_within_limits(sides: int, bar: float, share: int, limits: str, passes: int) -> None:
    flats = round(bar * share / 100, 1)
    comes_out(job("polygon", sides=sides, across_flats=f"{flats} mm {limits}", bar=f"{bar} mm",
                  passes=passes))  # fmt: skip


@FEW
@given(COUNTS, tenths(20, 80), st.integers(6, 12), LIMITS, st.sampled_from(["crown", "side"]))
def test_keyways_within_limits(
    count: int, shaft: float, deep: int, limits: str, depth_from: str
) -> None:
    depth = round(shaft * deep / 100, 1)
    comes_out(job("keyways", keyways=count, width=f"{round(shaft / 6, 1)} mm", shaft=f"{shaft} mm",
                  depth=f"{depth} mm {limits}", depth_from=depth_from))  # fmt: skip


@FEW
@given(COUNTS, tenths(10, 80), st.integers(5, 40), st.integers(5, 24), st.sampled_from(
    ["crown", "side"]), st.integers(1, 2))  # fmt: skip
def test_keyways(
    count: int, shaft: float, wide: int, deep: int, depth_from: str, passes: int
) -> None:
    width, depth = round(shaft * wide / 100, 1), round(shaft * deep / 100, 2)
    comes_out(job("keyways", keyways=count, width=f"{width} mm", shaft=f"{shaft} mm",
                  depth=f"{depth} mm", depth_from=depth_from, passes=passes))  # fmt: skip


@FEW
@given(st.lists(st.integers(2, 22), min_size=1, max_size=5, unique=True), tenths(20, 80),
       st.integers(5, 24), st.integers(1, 3))  # fmt: skip
def test_keyways_at_angles(steps: list[int], shaft: float, deep: int, passes: int) -> None:
    """At multiples of fifteen degrees, which every direct plate of 24 holes has."""
    angles = ", ".join(f'"{15 * each}d"' for each in [0, *sorted(steps)])
    comes_out(job("keyways", f"angles = [{angles}]", width=f"{round(shaft / 7, 1)} mm",
                  shaft=f"{shaft} mm", depth=f"{round(shaft * deep / 100, 1)} mm",
                  passes=passes))  # fmt: skip


@FEW
@given(st.sampled_from([4, 6, 8, 10]), tenths(12, 80), st.integers(78, 90), st.integers(70, 110))
def test_splines(count: int, outside: float, root: int, wide: int) -> None:
    """As wide as half the pitch at the root or so, the cutter as wide as half the space."""
    inner = round(outside * root / 100, 1)
    width = round(inner * pi / count / 2 * wide / 100, 1)
    cutter = round((inner * sin(pi / count) - width) / 2, 1)
    comes_out(job("splines", splines=count, width=f"{width} mm", outside=f"{outside} mm",
                  root=f"{inner} mm", cutter_width=f"{cutter} mm"))  # fmt: skip


@FEW
@given(st.sampled_from([8, 10, 12, 16, 20, 24, 30, 40]), tenths(30, 120), st.integers(1, 9),
       st.sampled_from([45, 60, 70]), st.just(0), st.integers(1, 2))  # fmt: skip
def test_upright_ratchets(
    teeth: int, diameter: float, deep: int, angle: int, rake: int, passes: int
) -> None:
    ratchet(teeth, diameter, deep, angle, rake, passes)


@FEW
@given(st.sampled_from([8, 10, 12, 16, 20, 24, 30, 40]), tenths(30, 120), st.integers(1, 9),
       st.sampled_from([45, 60, 70]), st.integers(4, 12), st.integers(1, 2))  # fmt: skip
def test_raked_ratchets(
    teeth: int, diameter: float, deep: int, angle: int, rake: int, passes: int
) -> None:
    ratchet(teeth, diameter, deep, angle, rake, passes)


def ratchet(teeth: int, diameter: float, deep: int, angle: int, rake: int, passes: int) -> None:
    depth = round(diameter * 2 / teeth * deep / 10, 2)
    comes_out(job("ratchet", teeth=teeth, diameter=f"{diameter} mm", depth=f"{depth} mm",
                  cutter_angle=f"{angle}d", rake=f"{rake}d", passes=passes))  # fmt: skip


@FEW
@given(st.sampled_from(["saw-tooth", "v"]), st.sampled_from([4, 5, 6, 8, 10, 12, 15, 18, 24]),
       tenths(30, 120), st.integers(40, 80), st.integers(6, 10), st.booleans())  # fmt: skip
def test_clutches_with_sloping_teeth(
    form: str, teeth: int, outside: float, angle: int, share: int, clockwise: bool
) -> None:
    """As deep as a share of sharp points, by the planes of their flanks."""
    half = pi / teeth / (2 if form == "v" else 1)
    sharp = outside * tan(
        asin(min(0.9, tan(half) / tan(radians(angle / (2 if form == "v" else 1)))))
    )
    way = {} if form == "v" else {"drives": "clockwise" if clockwise else "anticlockwise"}
    comes_out(job("angular-clutch", form=form, teeth=teeth, outside=f"{outside} mm",
                  bore=f"{round(outside * 0.6, 1)} mm", cutter_angle=f"{angle}d",
                  depth=f"{sharp * share / 10:.2f} mm", **way))  # fmt: skip


@FEW
@given(COUNTS, tenths(20, 90), st.integers(65, 85), st.integers(85, 100))
def test_clutches(teeth: int, outside: float, bore: int, wide: int) -> None:
    clutch(teeth, outside, bore, wide, "0")


# That the head indexes exactly together with half a degree: 40 x 18 holes in a turn.
WITH_CLEARANCE = st.sampled_from([3, 4, 5, 6, 8, 9, 10, 12])


@FEW
@given(WITH_CLEARANCE, tenths(20, 90), st.integers(65, 85), st.integers(85, 100))
def test_clutches_with_clearance(teeth: int, outside: float, bore: int, wide: int) -> None:
    clutch(teeth, outside, bore, wide, "1d")


@FEW
@given(WITH_CLEARANCE, tenths(20, 90), st.integers(40, 70), st.integers(50, 90),
       st.sampled_from(["0", "1d"]))  # fmt: skip
def test_clutches_with_islands(
    teeth: int, outside: float, bore: int, wide: int, clearance: str
) -> None:
    """A cutter too narrow for the spaces: it is told, and what stands is what it can't reach."""
    clutch(teeth, outside, bore, wide, clearance)


def clutch(teeth: int, outside: float, bore: int, wide: int, clearance: str) -> None:
    """The cutter as wide as the mouth of a space at the bore, or less."""
    inner = round(outside * bore / 100, 1)
    cutter = round(inner / 2 * sin(min(pi / teeth, pi / 2)) * wide / 100, 1)
    comes_out(job("clutch", "[cutter]\ndiameter = \"30 mm\"", teeth=teeth,
                  outside=f"{outside} mm", bore=f"{inner} mm", depth="3 mm",
                  cutter_width=f"{max(cutter, 0.5)} mm", clearance=clearance))  # fmt: skip


# That a head with three plates indexes exactly: what an inexact one does is weighed elsewhere.
TEETH = st.sampled_from([*range(12, 35), 36, 39, 40, 41, 45, 49, 52, 54, 56, 60, 66])


@FEW
@given(TEETH, st.sampled_from([1, 1.5, 2, 2.5, 3]), st.integers(1, 3),
       st.sampled_from(["14d30m", "20d"]))  # fmt: skip
def test_spur_gears(teeth: int, module: float, passes: int, pressure: str) -> None:
    comes_out(job("spur-gear", f"module = {module}\nwhole_depth = 2.25", teeth=teeth, passes=passes,
                  pressure_angle=pressure))  # fmt: skip


@FEW
@given(
    st.sampled_from([12, 14, 17, 21, 26, 35, 55]),
    st.sampled_from([1.5, 2, 3]),
    st.integers(1, 2),
    st.sampled_from(["-0.15 -0.05 mm", "-0.1 -0.04 mm", "-0.03 +0.03 mm"]),
)
def test_spur_gears_within_limits(teeth: int, module: float, passes: int, span: str) -> None:
    """Of the fewest teeth of each cutter, whose form is true: to size also if nobody measures."""
    extra = f'module = {module}\nwhole_depth = 2.25\nspan_limits = "{span}"'
    comes_out(job("spur-gear", extra, teeth=teeth, passes=passes))


@FEW
@given(st.sampled_from([15, 18, 20, 24, 26, 30, 40]), st.sampled_from([1.5, 2, 3]),
       st.sampled_from([-0.2, 0.15, 0.3, 0.4]), st.sampled_from([1, 0.8]))  # fmt: skip
def test_shifted_and_stub_gears(teeth: int, module: float, shift: float, addendum: float) -> None:
    """The span comes out as drawn, by the dial alone, whatever the flanks of the cutter do."""
    extra = f"module = {module}\nshift = {shift}\naddendum = {addendum}"
    comes_out(job("spur-gear", extra, teeth=teeth))


GEARED = '\n[machine]\ntable_screw = "5 mm"'


@FEW
@given(st.sampled_from([2, 3, 4, 6, 8]), tenths(15, 80), st.integers(2, 900),
       st.sampled_from(["end", "form"]), st.sampled_from(["right", "left"]))  # fmt: skip
def test_grooves_by_their_lead(
    count: int, diameter: float, lead: int, form: str, hand: str
) -> None:
    """Through the worm, or with a gear on the spindle where the lead is short."""
    text = job("helical-grooves", GEARED, grooves=count, diameter=f"{diameter} mm",
               lead=f"{lead} mm", hand=hand, length="50 mm",
               width=f"{min(4.0, round(lead / count / 3, 2))} mm", depth=f"{diameter / 20:.2f} mm",
               cutter_form=form)  # fmt: skip
    comes_out(text.replace("three-plate-40", "three-plate-40-geared"))


@FEW
@given(st.sampled_from([20, 24, 30, 36, 40, 60]), st.sampled_from([1.5, 2, 3]),
       st.integers(1, 4), st.integers(12, 18), st.sampled_from(["right", "left"]))  # fmt: skip
def test_worm_wheels(teeth: int, module: float, starts: int, size: int, hand: str) -> None:
    """A worm of so many modules; the cutter a little smaller than its hob."""
    worm = size * module
    extra = f'module = {module}\n[cutter]\ndiameter = "{worm + 2 * module:.1f} mm"'
    comes_out(job("worm-wheel", extra, teeth=teeth, starts=starts, worm_diameter=f"{worm} mm",
                  hand=hand, face=f"{0.55 * worm:.1f} mm",
                  cutter_width=f"{0.5 * module:.2f} mm"))  # fmt: skip


@FEW
@given(TEETH, st.sampled_from([8, 10, 12, 16, 20]), st.integers(1, 2))
def test_spur_gears_by_diametral_pitch(teeth: int, pitch: int, passes: int) -> None:
    comes_out(job("spur-gear", "whole_depth = 2.157", teeth=teeth, diametral_pitch=pitch,
                  passes=passes))  # fmt: skip


@FEW
@given(st.integers(14, 40), st.sampled_from([1.5, 2, 3]), st.integers(8, 35),
       st.sampled_from(["right", "left"]))  # fmt: skip
def test_helical_gears(teeth: int, module: float, helix: int, hand: str) -> None:
    more = f'module = {module}\nwhole_depth = 2.25\n[machine]\ntable_screw = "5 mm"'
    text = job("helical-gear", more, teeth=teeth, helix_angle=f"{helix}d", hand=hand, face="20 mm")
    comes_out(text.replace("three-plate-40", "three-plate-40-geared"))


@FEW
@given(st.integers(16, 40), st.integers(16, 60), st.sampled_from([2, 3, 4]), st.integers(15, 30))
def test_bevel_gears(teeth: int, mate: int, module: int, share: int) -> None:
    """The face a part of the cone's length, up to the third that is customary; the cutter thin
    enough for the small end."""
    part = share / 100
    thick = module * (pi / 2 * (1 - part) + 0.85 * part)
    cone = module * (teeth**2 + mate**2) ** 0.5 / 2
    sizes = {"face": f"{cone * part:.1f} mm", "cutter_thickness_large": f"{thick:.2f} mm"}
    comes_out(job("bevel-gear", "whole_depth = 2.25", teeth=teeth, mate=mate, module=module,
                  **sizes))  # fmt: skip


@FEW
@given(st.sampled_from([24, 36, 48, 60, 100, 120]), st.booleans(), st.integers(4, 12))
def test_graduations(lines: int, vernier: bool, spaces: int) -> None:
    """Full round with lines of three lengths, or the vernier to it."""
    pattern = (
        'pattern = [{ every = 10, name = "long", length = "8 mm" }, '
        '{ every = 5, name = "middle", length = "6 mm" }]\nline_length = "4 mm"'
    )
    extra = f"vernier = {spaces}" if vernier else pattern
    text = job("graduations", extra, lines=lines, diameter="80 mm", number_every=10)
    comes_out(text.replace("three-plate-40", "three-plate-40-geared"))


@FEW
@given(st.integers(5, 40), st.integers(5, 60), st.sampled_from(["", '\ndepth = "0.2 mm"']))
def test_rules(lines: int, tenths_of_a_space: int, depth: str) -> None:
    comes_out(
        job("rule", f'line_length = "6 mm"{depth}\n[machine]\ntable_screw = "5 mm"', lines=lines,
            spacing=f"{tenths_of_a_space / 10} mm", width="25 mm")
        .replace("three-plate-40", "three-plate-40-geared")
    )  # fmt: skip


@FEW
@given(st.integers(3, 30), st.integers(10, 40), st.integers(1, 3))
def test_racks(teeth: int, tenths_of_a_module: int, passes: int) -> None:
    extra = f'module = {tenths_of_a_module / 10}\n[machine]\ntable_screw = "5 mm"'
    comes_out(
        job("rack", extra, teeth=teeth, height="25 mm", passes=passes)
        .replace("three-plate-40", "three-plate-40-geared")
    )  # fmt: skip


@FEW
@given(st.integers(1, 30), st.sampled_from([0.8, 1, 1.5, 2, 3, 5]), st.booleans(),
       st.integers(1, 2), st.sampled_from(["14d30m", "20d"]))  # fmt: skip
def test_racks_of_either_angle(
    teeth: int, module: float, over_pin: bool, passes: int, pressure: str
) -> None:
    """Each space at its own nearest hole, as deep as its module asks for."""
    height = {"height": f"{round(6 * module, 1)} mm"} if over_pin else {}
    text = job("rack", f"module = {module}{GEARED}", teeth=teeth, passes=passes,
               pressure_angle=pressure, **height)  # fmt: skip
    comes_out(text.replace("three-plate-40", "three-plate-40-geared"))


@FEW
@given(st.integers(1, 30), st.sampled_from([4, 6, 8, 10, 16]), st.integers(1, 2))
def test_racks_by_diametral_pitch(teeth: int, pitch: int, passes: int) -> None:
    text = job("rack", GEARED, teeth=teeth, diametral_pitch=pitch, passes=passes)
    comes_out(text.replace("three-plate-40", "three-plate-40-geared"))


@FEW
@given(st.integers(2, 24), tenths(40, 200), st.sampled_from(["", 'depth = "12 mm"']))
def test_bolt_circles(holes: int, circle: float, depth: str) -> None:
    comes_out(job("bolt-circle", depth, holes=holes, circle=f"{circle} mm", hole="4 mm"))


@FEW
@given(st.integers(3, 60), tenths(160, 240))
def test_circles_of_a_plate(holes: int, circle: float) -> None:
    """Most of them to the nearest hole, as the head has them."""
    comes_out(job("plate-circle", holes=holes, circle=f"{circle} mm", hole="5 mm"))


@FEW
@given(st.lists(st.integers(1, 359), min_size=1, max_size=12, unique=True))
def test_angles(degrees: list[int]) -> None:
    angles = ", ".join(f'"{each}d"' for each in [0, *sorted(degrees)])
    comes_out(job("angles", f"angles = [{angles}]"))


@FEW
@given(st.integers(1, 3), st.integers(60, 120), st.integers(4, 30), st.sampled_from([60, 72, 90]),
       st.sampled_from([18, 24, 36]), st.integers(6, 30),
       st.sampled_from(["clockwise", "anticlockwise"]))  # fmt: skip
def test_stepped_cams(
    lobes: int, outside: int, share: int, over: int, steps: int, roller: int, rises: str
) -> None:
    """A cutter as wide as the roller, so that most can be made."""
    comes_out(job("stepped-cam", lobes=lobes, outside=f"{outside} mm", over=f"{over}d",
                  rise=f"{outside * share / 200:.1f} mm", steps=steps, rises=rises,
                  roller=f"{roller} mm", width=f"{roller + 6} mm"))  # fmt: skip


@FEW
@given(st.integers(2, 120), st.integers(1, 2))
def test_divisions(count: int, passes: int) -> None:
    comes_out(job("divisions", count=count, passes=passes))


@FEW
@given(st.integers(3, 8), tenths(16, 50), st.integers(8, 20), st.sampled_from([60, 70, 80]),
       st.sampled_from([0, 0, 5, 8]), st.sampled_from(["equal", "unequal"]))  # fmt: skip
def test_flutes(
    flutes: int, diameter: float, deep: int, angle: int, rake: int, spacing: str
) -> None:
    fluted(flutes, diameter, deep, f'cutter_angle = "{angle}d"', rake, spacing)


@FEW
@given(st.sampled_from([4, 5, 6, 8, 10]), tenths(16, 50), st.integers(8, 16),
       st.sampled_from([75, 85, 90]), st.sampled_from([8, 12, 15, 20]), st.sampled_from([0, 3, 6]),
       st.sampled_from(["unequal", "paired"]))  # fmt: skip
def test_flutes_by_a_double_angle_cutter(
    flutes: int, diameter: float, deep: int, angle: int, face: int, rake: int, spacing: str
) -> None:
    """The leaning face goes less deep elsewhere: the lands come out alike all the same."""
    cutter = f'cutter_angle = "{angle}d"\nface_angle = "{face}d"'
    fluted(flutes, diameter, deep, cutter, rake, spacing)


@FEW
@given(st.sampled_from([4, 5, 6, 8]), tenths(20, 50), st.integers(12, 16),
       st.sampled_from([(70, 0), (75, 3), (75, 12), (85, 0), (85, 15)]), st.sampled_from([0, 3, 6]),
       st.integers(1, 25), st.sampled_from(["equal", "unequal", "paired"]))  # fmt: skip
def test_flutes_by_an_angle_cutter_with_a_nose(
    flutes: int, diameter: float, deep: int, flanks: tuple[int, int], rake: int, nose: int,
    spacing: str,
) -> None:  # fmt: skip
    """It touches the crown with its round, and the flute is as deep as drawn at the round."""
    angle, face = flanks
    cutter = f'cutter_angle = "{angle}d"\nnose = "{diameter * deep * nose / 10000:.2f} mm"'
    if face:
        cutter += f'\nface_angle = "{face}d"'
    fluted(flutes, diameter, deep, cutter, rake, spacing)


@FEW
@given(st.sampled_from([4, 5, 6]), tenths(16, 50), st.integers(8, 14), st.integers(0, 40),
       st.sampled_from([0, 3, 6]), st.sampled_from(["unequal", "paired"]))  # fmt: skip
def test_flutes_by_a_side_cutter(
    flutes: int, diameter: float, deep: int, more: int, rake: int, spacing: str
) -> None:
    """Wide enough that its floor runs out, or hardly: then it is refused, and a width named."""
    width = diameter * (deep / 100 - deep**2 / 10000) ** 0.5 * (0.9 + more / 100)
    fluted(flutes, diameter, deep, f'[cutter]\nwidth = "{width:.1f} mm"', rake, spacing)


def fluted(flutes: int, diameter: float, deep: int, cutter: str, rake: int, spacing: str) -> None:
    spread = "" if spacing == "equal" else f'spread = "{100 / flutes**2:.1f}d"\n'
    comes_out(job("flutes", spread + cutter, tool="reamer", flutes=flutes,
                  diameter=f"{diameter} mm", depth=f"{round(diameter * deep / 100, 1)} mm",
                  rake=f"{rake}d", spacing=spacing))  # fmt: skip
