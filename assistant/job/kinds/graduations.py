"""Lines round a collar or on a disc, and the vernier that reads them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from math import cos, pi, radians, sin

from assistant.job.kinds import ask, common, lines
from assistant.job.kinds.lines import Pattern
from assistant.job.part import Figure, Findings, Part, Pass, Rim, Round, Shop
from assistant.job.question import Answers, Form, Question
from assistant.job.reader import Table
from assistant.job.shapes import Drawing, Shape, disc, polar, ring_anchors
from assistant.job.units import A_TURN, NO_ANGLE, Unit, angle_said, angle_shown, near, said, shown
from assistant.job.work import Kind, Work
from assistant.words.choice import Choice
from assistant.words.language import mark, say, say_n
from assistant.words.spoken import capital, sentences
from solver import Degrees, Millimetres, Turns, degrees_text, in_degrees

KEYS = (
    "lines", "on", "diameter", "bore", "face", "over", "vernier", "vernier_over", "cone_angle",
    "lengths_along", "rises", "number_side", "number_top", *lines.KEYS,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Graduations(Work):
    """`lines` spaces are one turn (or `over`, in turns). With `vernier` the part is the
    vernier: that many spaces over `vernier_over` spaces of such a scale. With `bore`, mm, they run
    outward from its edge, as beside a scale that lies inside."""

    lines: int
    pattern: Pattern
    on: str = "collar"
    diameter: Millimetres | None = None
    bore: Millimetres | None = None
    face: Millimetres | None = None
    over: Turns = A_TURN
    vernier: int = 0
    vernier_over: int = 0
    cone_degrees: Degrees = NO_ANGLE  # between the cone's side and its axis
    number_side: str = ""  # outer (free end, rim) | inner; "": not told
    number_top: str = "outer"
    rises: str = ""  # clockwise | anticlockwise, seen on the free end; "": as it comes

    def make(self, shop: Shop, found: Findings) -> Part | None:
        _check(self, found, shop.unit)
        if self.on == "disc":
            common.check_upright(shop, "on", found)
        if self.on == "cone":
            _check_cone(self, shop, found)
        if found.refusals:
            return None
        pattern = self.pattern
        cuts = tuple(pattern.cut(n, Turns(line_space(self) * n)) for n in range(line_count(self)))
        return Part(
            plan=_plan(self, shop),
            figures=_figures(self, shop),
            rounds=(Round(cuts),),
            passes=(Pass("", pattern.depth),),
            steps=_steps(self, shop),
            draw=partial(_draw, self),
            between_centres=self.on == "collar",
            level=self.on == "collar",
            rim=_rim(self),
            trial_moves=True,
        )


def read(table: Table) -> Graduations:
    """The figures of the table, lengths in mm: 2 to 100,000 lines over at most a turn; each fault
    goes into the table's list.
    """
    vernier = table.whole("vernier", 2, 1000) if table.has("vernier") else 0
    over = table.angle("over", table.data["over"]) if table.has("over") else None
    if over is not None and not 0 < over <= 1:
        table.fault("over", "over: give more than 0 and at most 360 degrees")
    on = table.choice("on", ("collar", "cone", "disc"), "collar")
    cone = _cone(table) if on == "cone" else NO_ANGLE
    pattern = lines.read(table)
    if on == "cone" and table.choice("lengths_along", ("side", "axis"), "side") == "axis":
        pattern = pattern.longer(near(1 / cos(radians(cone))))
    return Graduations(
        lines=table.whole("lines", 2, 100_000),
        pattern=pattern,
        on=on,
        cone_degrees=cone,
        number_side=_end(table, "number_side"),
        number_top=_end(table, "number_top") or "outer",
        rises=table.choice("rises", ("clockwise", "anticlockwise")) if table.has("rises") else "",
        diameter=table.maybe_length("diameter"),
        bore=table.maybe_length("bore"),
        face=table.maybe_length("face"),
        over=over or A_TURN,
        vernier=vernier,
        vernier_over=table.whole("vernier_over", 1, 10_000, max(1, vernier - 1)),
    )


def _end(table: Table, key: str) -> str:
    return table.choice(key, ("outer", "inner")) if table.has(key) else ""


def _cone(table: Table) -> Degrees:
    """The angle of the side with the axis, degrees; half of a cone's own angle."""
    angle = table.degrees("cone_angle")
    if not 5 <= angle <= 85:
        table.fault("cone_angle", "cone_angle: between the side and the axis, 5 to 85 degrees")
        return Degrees(Fraction(45))
    if not table.has("diameter"):
        table.fault("diameter", "diameter is missing: that of the cone's large end")
    return angle


# --- the figures ------------------------------------------------------------------------


def line_space(work: Graduations) -> Turns:
    """From line to line, in turns."""
    main = work.over / work.lines
    return Turns(main * work.vernier_over / work.vernier if work.vernier else main)


def whole_turn(work: Graduations) -> bool:
    """The lines go all the way round, so the last one stands a space before the first."""
    return work.over == 1 and not work.vernier


def line_count(work: Graduations) -> int:
    """A scale that does not close has a line at both ends."""
    if work.vernier:
        return work.vernier + 1
    return work.lines if whole_turn(work) else work.lines + 1


def reading(work: Graduations) -> Turns:
    """What a vernier reads to, in turns: one part of a main division."""
    return Turns(work.over / work.lines / work.vernier)


# --- the part ---------------------------------------------------------------------------


def _rim(work: Graduations) -> Rim | None:
    """A line that stands a quarter of its width aside is seen beside its neighbours, and read where
    the other scale lies."""
    if begin_on(work) is None:
        return None
    return Rim(
        float(begin_on(work) or 0), float(work.pattern.line_width) / 4,
        mark("a scale of such lines"), mark("from one line to the next"),
    )  # fmt: skip


def _check(work: Graduations, found: Findings, unit: Unit) -> None:
    count_lines = line_count(work)
    if work.vernier and work.vernier_over % work.vernier not in (1, work.vernier - 1):
        found.refuse(
            "vernier_over",
            f"{work.vernier} spaces over {work.vernier_over} can't be read as a vernier: "
            f"give {work.vernier - 1} or {work.vernier + 1}",
        )
    if line_space(work) * (count_lines - 1) >= 1:
        found.refuse("vernier_over", "this scale passes a full turn: fewer spaces")
    lines.check_pattern(work.pattern, count_lines, whole_turn(work), found)
    if begins := begin_on(work):
        gap = pi * float(begins) * float(line_space(work))
        least = 2 * float(work.pattern.line_width) / float(line_space(work)) / pi
        cure = f"a diameter of {shown(least, unit)} or more, or fewer lines"
        lines.spacing(work.pattern, gap, cure, "lines", found, unit)
    _check_bore(work, found, unit)
    if not found.refusals:
        _check_lengths(work, found, unit)
    if work.number_side and not work.pattern.number_every:
        found.warn("number_side", "no numbers are stamped: give number_every")
    _check_figures(work, found)
    if work.rises and work.vernier:
        found.warn("rises", "a vernier is read from its nought: look which way its scale rises")
    if work.pattern.depth is not None and work.pattern.depth > 1:
        found.warn("depth", f"{shown(work.pattern.depth, unit)} is deep for a line: look again")


def begin_on(work: Graduations) -> Millimetres | None:
    """The diameter at which the lines begin, mm: of the bore, where they run outward from it."""
    return work.bore or work.diameter


def _check_figures(work: Graduations, found: Findings) -> None:
    """Figures beyond the edge that the lines begin at would have nothing to stand on."""
    edge, ends = "rim", "outer"
    if work.on == "cone":
        edge, ends = "large end", "inner"
    elif work.bore is not None:
        edge, ends = "bore", "inner"
    if work.on != "collar" and work.number_side == ends:
        other = "inner" if ends == "outer" else "outer"
        found.warn("number_side", f"the lines begin at the {edge}: is there room for figures "
                   f'beyond it? else "{other}"')  # fmt: skip


def _check_bore(work: Graduations, found: Findings, unit: Unit) -> None:
    if work.bore is None:
        return
    if work.on != "disc":
        found.refuse("bore", 'lines run outward from a bore on a face alone: on = "disc"')
    elif work.diameter is not None and work.bore >= work.diameter:
        most = shown(work.diameter, unit)
        found.refuse("bore", f"the bore is as large as the disc: less than {most}")


def _check_lengths(work: Graduations, found: Findings, unit: Unit) -> None:
    longest = work.pattern.longest
    room = work.face
    if work.on == "disc" and work.diameter is not None:
        across = (work.diameter - (work.bore or 0)) / 2
        room = Millimetres(min(across, room or work.diameter))
    if longest and room and longest > room:
        found.refuse(
            "pattern",
            f"a line of {shown(longest, unit)} is longer than there is room: "
            f"{shown(room, unit)} or less",
        )


def _check_cone(work: Graduations, shop: Shop, found: Findings) -> None:
    least, most = (float(end) for end in shop.head.tilt_degrees)
    wanted = float(work.cone_degrees)
    if not least <= wanted <= most:
        found.refuse(
            "cone_angle",
            f"the head would have to be tilted to {angle_shown(wanted)}, and {shop.head.name} goes "
            f"from {least:g} to {most:g} degrees: a head that tilts so far",
        )
    longest = work.pattern.longest
    if work.diameter is None or not longest:
        return
    apex = float(work.diameter) / 2 / _sine(work)
    if float(longest) >= apex:
        found.refuse("pattern", f"a line of {shown(longest, shop.unit)} is longer than the cone's "
                     f"side: less than {shown(apex, shop.unit)}")  # fmt: skip
        return
    gap = pi * small_end_diameter(work) * float(line_space(work))
    lines.spacing(work.pattern, gap, "shorter lines, or fewer", "lines", found, shop.unit)


def _sine(work: Graduations) -> float:
    return sin(radians(work.cone_degrees))


def small_end_diameter(work: Graduations) -> float:
    """The cone's diameter where the longest line ends, mm; lines begin at the large end."""
    longest = float(work.pattern.longest or 0)
    return float(work.diameter or 0) - 2 * longest * _sine(work)


def _plan(work: Graduations, shop: Shop) -> str:
    total = say_n(line_count(work), "one line", "{count} lines")
    if work.vernier:
        spaces = say_n(work.vernier, "one space", "{count} spaces")
        what = say("A vernier of {spaces}, {lines}.", spaces=spaces, lines=total)
    elif work.on == "disc":
        what = say("{lines} on the disc.", lines=total)
    elif work.on == "cone":
        what = say(
            "{lines} on the cone, the head tilted to {angle}.",
            lines=total, angle=angle_said(work.cone_degrees),
        )  # fmt: skip
    else:
        what = say("{lines} on the collar.", lines=total)
    lengths = say("{lengths}.", lengths=lines.lengths_said(work.pattern, shop.unit))
    if work.pattern.number_every:
        call = say("I call each line by its length, and the number to stamp.")
    else:
        call = say("I call each line by its length.")
    return sentences(capital(what), capital(lengths), call)


def _figures(work: Graduations, shop: Shop) -> tuple[Figure, ...]:
    found = [
        Figure("lines", str(line_count(work))),
        Figure("from line to line", degrees_text(Turns(line_space(work)))),
        Figure("lengths", lines.lengths_shown(work.pattern, shop.unit)),
    ]
    if work.diameter is not None:
        gap = pi * float(work.diameter) * float(line_space(work))
        found.append(Figure("from line to line, at the rim", shown(gap, shop.unit)))
    if work.bore is not None:
        gap = pi * float(work.bore) * float(line_space(work))
        found.append(Figure("from line to line, at the bore", shown(gap, shop.unit)))
    if work.on == "cone":
        found += _cone_figures(work, shop.unit)
    stamps = [work.pattern.stamp(n) for n in range(line_count(work))]
    if any(stamps):
        found.append(Figure("stamped", ", ".join(stamp for stamp in stamps if stamp)))
    if work.vernier:
        found.append(Figure("reads to", degrees_text(reading(work))))
        whole = in_degrees(Turns(line_space(work) * work.vernier))
        found.append(Figure("whole vernier", angle_shown(whole)))
    return tuple(found)


def _cone_figures(work: Graduations, unit: Unit) -> list[Figure]:
    found = [Figure("tilt of the head", angle_shown(work.cone_degrees))]
    if longest := work.pattern.longest:
        along = float(longest) * cos(radians(work.cone_degrees))
        gap = pi * small_end_diameter(work) * float(line_space(work))
        found += [
            Figure("longest line, along the side", shown(longest, unit)),
            Figure("longest line, along the axis", shown(along, unit)),
            Figure("from line to line, at its inner end", shown(gap, unit)),
        ]
    return found


def _steps(work: Graduations, shop: Shop) -> tuple[str, ...]:
    return (
        *([common.upright()] if work.on == "disc" else []),
        *_held(work, shop),
        *([_outward(work, shop)] if work.bore else []),
        *(_turns(work) if work.rises else []),
        sentences(common.point_held(), say("Point of the cutter on the centre line of the work.")),
        lines.stops_said(work.pattern, shop.unit),
        *_stamping(work),
        common.touch_point(),
        sentences(lines.depth_said(work.pattern, shop.unit), _clamped(work)),
    )


def _outward(work: Graduations, shop: Shop) -> str:
    return say(
        "Lines begin at the edge of the bore, {size} across, and run outward. Stops count from "
        "that edge.",
        size=said(work.bore or 0, shop.unit),
    )


def _held(work: Graduations, shop: Shop) -> list[str]:
    """On a cone the indicator has the last word: the tilt's own scale is coarse."""
    if work.on != "cone":
        return [common.runs_true(work.diameter, shop)]
    return [
        say("Cone held by its large end, the small end free. Lines begin at the large end."),
        sentences(
            common.runs_true(None, shop),
            say("Its large end should measure {size} across.", size=said(work.diameter, shop.unit))
            if work.diameter
            else "",
        ),
        say("Head tilted to {angle}, and its bolts tight.", angle=angle_said(work.cone_degrees)),
        say(
            "Run the table under an indicator on the top of the cone. Its needle must stand still: "
            "mend the tilt by it."
        ),
    ]


_TURNS = {
    (False, True): mark("Seen on its free end the work must turn anticlockwise from line to line."),
    (False, False): mark("Seen on its free end the work must turn clockwise from line to line."),
    (True, True): mark("Seen on its face the work must turn anticlockwise from line to line."),
    (True, False): mark("Seen on its face the work must turn clockwise from line to line."),
}
"""By whether it is a disc, and whether the figures rise clockwise."""
_SIDES = {
    (False, "outer"): mark("at the free end of the lines"),
    (False, "inner"): mark("at the head's end of the lines"),
    (True, "outer"): mark("at the outer ends of the lines"),
    (True, "inner"): mark("at the inner ends of the lines"),
}
_TOPS = {
    (False, "outer"): mark("towards the free end"),
    (False, "inner"): mark("towards the head"),
    (True, "outer"): mark("towards the rim"),
    (True, "inner"): mark("towards the middle"),
}


def _stamping(work: Graduations) -> list[str]:
    """Where the figures stand, and which way up: a dial is read from one side."""
    if not work.number_side:
        return []
    disc_face = work.on == "disc"
    return [
        say(
            "Numbers will stand {side}, their tops {top}.",
            side=say(_SIDES[disc_face, work.number_side]),
            top=say(_TOPS[disc_face, work.number_top]),
        )
    ]


def _turns(work: Graduations) -> list[str]:
    """Lines that are drawn one after the other lie on the work against the way that it turns."""
    words = _TURNS[work.on == "disc", work.rises == "clockwise"]
    way = say(words)
    return [sentences(way, say("Try it. Every move goes the way that does it."))]


def _clamped(work: Graduations) -> str:
    """On a collar the table draws the line; on a disc the table or the saddle."""
    if work.on != "disc":
        return common.clamped()
    return say("Knee clamped in every cut, and the slide that does not draw the line.")


def _draw(work: Graduations) -> Drawing:
    radius = float(work.diameter or 50) / 2
    places = [float(line_space(work) * n) for n in range(line_count(work))]
    shapes = [disc(radius), *([disc(float(work.bore) / 2, "hole")] if work.bore else [])]
    for n, place in enumerate(places):
        length = _drawn(work, n, radius)
        if work.on == "cone":
            length *= _sine(work)  # as it is seen on the free end
        ends = (polar(radius * 0.97, place), polar(radius * 0.97 - length, place))
        if work.bore:
            inner = float(work.bore) / 2
            ends = (polar(inner, place), polar(inner + length, place))
        shapes.append(Shape(ends, cut=n, closed=False))
    return Drawing(tuple(shapes), ring_anchors(radius * 1.07, places), sized=bool(work.diameter))


def _drawn(work: Graduations, line: int, radius: float) -> float:
    """Length on the drawing; to scale where known, but never past the middle."""
    length = work.pattern.grade(line).length
    rank = work.pattern.grades.index(work.pattern.grade(line))
    wanted = float(length) if length else radius * (0.35 - 0.1 * rank)
    return max(0.05 * radius, min(wanted, 0.6 * radius))


# --- what is asked ----------------------------------------------------------------------

_ENDS = (Choice("outer", mark("outer")), Choice("inner", mark("inner")))


_UNTOLD = Choice("-", mark("not told"))  # as none of the drawer's cutters is chosen


def _numbered(answers: Answers) -> bool:
    return answers.of("number_every") is not None


QUESTIONS = (
    ask.whole("lines", mark("How many spaces all the way round?"), mark("As many as lines.")),
    Question(
        "work", "on", mark("On what are they?"), mark("It decides how the head stands."),
        Form.CHOICE,
        (
            Choice("collar", mark("round a collar")),
            Choice("cone", mark("round a conical collar, the head tilted")),
            Choice("disc", mark("on the face of a disc")),
        ),
        lambda _: "collar",
    ),
    Question(
        "work", "cone_angle", mark("Which angle has the cone's side with its axis?"),
        mark("Half of the cone's own angle. The head is tilted by it."), Form.ANGLE,
        when=lambda a: a.of("on") == "cone",
    ),
    ask.length(
        "diameter", mark("Diameter there?"), mark("For the spacing at the rim. Enter: not known."),
        needed=False,
    ),
    Question(
        "work", "bore", mark("Diameter of the bore that the lines begin at?"),
        mark("Enter: they begin at the rim and run inward."), Form.LENGTH, needed=False,
        when=lambda a: a.of("on") == "disc",
    ),
    Question(
        "work", "lengths_along", mark("How does the drawing give the lengths of the lines?"),
        mark("Seen from the side a line of a cone looks shorter than it is."), Form.CHOICE,
        (
            Choice("side", mark("along the side of the cone, as they are")),
            Choice("axis", mark("along the axis, as they are seen")),
        ),
        lambda _: "side", when=lambda a: a.of("on") == "cone",
    ),
    *lines.QUESTIONS,
    Question(
        "work", "rises", mark("Which way round do the figures rise?"),
        mark("Seen on the free end, or on the face. Enter: as it comes."), Form.CHOICE,
        (
            Choice("clockwise", mark("clockwise")), Choice("anticlockwise", mark("anticlockwise")),
            _UNTOLD,
        ),
        lambda _: _UNTOLD.key, needed=False, when=_numbered,
    ),
    Question(
        "work", "number_side", mark("At which ends of the lines do the figures stand?"),
        mark("Outer: the free end, or the rim. Enter: not told."), Form.CHOICE, (*_ENDS, _UNTOLD),
        lambda _: _UNTOLD.key, needed=False, when=_numbered,
    ),
    Question(
        "work", "number_top", mark("Where do the tops of the figures point?"),
        mark("Outer: to the free end, or to the rim."), Form.CHOICE, _ENDS,
        lambda _: "outer", when=lambda a: a.of("number_side") is not None,
    ),
)  # fmt: skip

KIND = Kind(
    "graduations",
    mark("lines round a collar or a dial"),
    rank=140,
    keys=KEYS,
    read=read,
    questions=QUESTIONS,
)
