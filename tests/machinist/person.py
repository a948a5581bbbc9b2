"""A literal person: does what is said, in the order in which it is said, and nothing else.

What is left open is chosen by `Choices`; whoever judges tries all of them, since a word that is
not said can be taken either way.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from math import sqrt

from shapely.geometry import box

from tests.machinist import sentences
from tests.machinist.cutters import Cutter, concave, double_angle, single_angle, square
from tests.machinist.figures import degrees, in_figures, length
from tests.machinist.helix import slot
from tests.machinist.machine import Crash, Machine
from tests.machinist.sentences import Instruction, NotUnderstood, Turning
from tests.machinist.talk import Record, Stuck

READ = Fraction(1, 600)  # degrees: a tenth of a minute
MANDREL = 20.0  # mm, the person's own
_LOCKS = (
    r"lock the spindle|lock is on|lock off|take the lock off|(?:stop the cutter, then|cutter "
    r"stopped,) vice open|vice open first|vice tight\."
)
ROUNDED = 0.006  # mm: figures are said to a hundredth


@dataclass(frozen=True)
class Choices:
    """What a person may do either way where nothing is said: the side of the work that is touched
    first (+1: the far one), and how an indexing move turns the work (+1: its top goes away from the
    person). `slip`: how far the first touch was really off, in mm; `slack`: of the cross slide's
    screw, mm; `measures`: sizes are measured.
    """

    side: int = -1
    sense: int = 1
    slip: float = 0.0
    slack: float = 0.0
    measures: bool = False


Gauge = Callable[[Machine, str], float | None]


@dataclass
class Person:
    """`ratio`: crank turns of this head for one turn of the spindle. `gauge` takes a size that is
    asked for off the work, and None where it can't be taken there. `hears`: sentences of the kind
    that is cut, and what is done then; `own` is what the person keeps in mind by them."""

    machine: Machine
    ratio: Fraction
    choices: Choices
    gauge: Gauge
    hears: tuple[tuple[str, Callable[[Person, Instruction], None]], ...] = ()
    heard: list[str] = field(default_factory=list)
    own: dict[str, float] = field(default_factory=dict)
    sizes: list[float] = field(default_factory=list)
    unit: float = 1.0  # mm for one of the units that sizes are given in
    pin: int = 0
    direct: int = 0
    faces: int = 0  # of a collet block
    cutter_stopped: bool = False  # called, before a hand goes to the block
    gearing: Fraction = Fraction(0)
    first_hole: Fraction = Fraction(0)
    over_plate: Fraction = Fraction(0)  # turns of the crank past the plate, which may turn too
    began: Fraction = Fraction(0)  # where it stood so at the first cut of this round
    marked: Fraction = Fraction(0)  # where it stood so over the hole that bears the mark
    scale_from: Fraction | None = None
    touched: int = 0
    way: int = 0  # of the last move across
    pass_dial: float | None = None
    driven: bool = False
    form: int | None = None
    forms: Callable[[int], Cutter] | None = None
    nose: float = 0.0  # of the angle cutter that is at hand, mm
    swung: float = 0.0
    from_screw: Fraction | None = None  # turns of the head's screw shaft for one of the table's
    hand: str = ""
    tilted: float | None = None
    cuts_across: bool = False  # square to the table's travel
    seen_turning: str = ""  # the work, from line to line, on its free end
    faced: float | None = None
    from_high_side: bool = False  # of a tilted face
    looks_at_face: bool = False
    vertical: float = 0.0  # of the vertical spindle, out of the upright
    mill: float = 0.0
    mill_long: float = 0.0
    parting: int = 0  # how the work turns while it parts from the mill: +1 clockwise on its face
    fed_in: float | None = None  # by the table, from its touch at the rim
    outside: bool = False  # is indexed where the mill is clear
    begun_along: bool = False  # the table's dial is at nought where a groove begins
    in_the_middle: bool = False  # of the face
    hollow_touched: bool = False
    fed_along: float | None = None  # by the table, for a groove
    slack_out: bool = False  # before each cut
    lowered_to_return: bool = False
    plate_free: bool = False
    worm_out: bool = False
    first_gear: int = 0  # on the head's own spindle
    teeth_a_move: int = 0  # of the gear on the spindle, which is parted to index
    pin_out_to_cut: bool = False
    rolling: int = 0
    held: bool = False  # the tool is drawn through, not turned
    marks: bool = False  # only the places of the cuts count
    stop: str = ""
    stops: dict[str, float] = field(default_factory=dict)
    screw: float | None = None  # lead of the table screw, mm
    to_screw: Fraction | None = None  # turns of the screw for one of the head's spindle
    parts: int = 1  # of a batch, the one in hand

    def __post_init__(self) -> None:
        self._blank, self._first_cutter = self.machine.section, self.machine.cutter

    # --- the next part of a batch

    def next_blank(self, _: Instruction) -> None:
        """Nothing is cut in it and nothing touched; head and table stand as they were left. It is
        round: its nought is where the spindle stands now."""
        machine = self.machine
        self._nought_here()
        machine.section, machine.face = self._blank, None
        machine.zero = machine.dial = None
        machine.cuts.clear()
        self.sizes.clear()
        self.parts += 1

    def take_first_cutter(self, _: Instruction) -> None:
        """Stops that another setting needed are none of this one's."""
        self.stop = ""
        self.stops.clear()
        self.machine.cutter = self._first_cutter
        self.machine.swept = None

    def pin_to_the_mark(self, _: Instruction) -> None:
        self.machine.locked = False
        self.machine.turns = self.first_hole
        self.over_plate = self.marked
        self._nought_here()

    def pin_anywhere(self, said: Instruction) -> None:
        """A new blank may begin at any hole, and the head stands in one."""
        self.machine.locked = False
        self.start_here(said)
        self._nought_here()

    def _nought_here(self) -> None:
        turned = self.machine.turns
        self.first_hole -= turned
        if self.scale_from is not None:
            self.scale_from -= turned
        self.machine.turns = Fraction(0)

    # --- conversation

    def answer(self, records: list[Record]) -> Record | None:
        """What is said to what came since the last answer; None when the job is finished."""
        size: float | None = None
        for record in records:
            if "refused" in record:
                raise Stuck(record["refused"])
            if "said" in record:
                size = self._hear(record["said"], record["for"])
            if "state" in record and record["state"]["phase"] == "finished":
                return None
        if size is not None:
            self.sizes.append(size)
            return {"size": f"{size / self.unit:.4f}"}
        return {"press": "main"}

    def _hear(self, text: str, purpose: str) -> float | None:
        self.heard.append(text)
        words = in_figures(text).lower()
        if purpose == "set-up":
            for each in sentences.set_up(text, self.hears):
                self._do(each)
            return None
        if purpose == "index":
            self._turn(sentences.turning(text))
            return None
        if purpose == "measure":
            return self._measure(words)
        self._between_cuts(text, words, purpose)
        return None

    def _do(self, said: Instruction) -> None:
        if isinstance(said.does, str):
            getattr(self, said.does)(said)
        else:
            said.does(self, said)

    def _between_cuts(self, text: str, words: str, purpose: str) -> None:
        if stop := sentences.STOP.search(words):
            self.stop = stop[1]
        self._locks(words)
        if "wind back past the first cut, and come up to it again" in words:
            self.machine.turns, self.over_plate = self.first_hole, self.began
        self._scale(words)
        if purpose not in ("greeting", "safety"):
            for each in sentences.dials(text):
                getattr(self, each.does)(each)
        if purpose == "cut":
            self._cut(words)
        self._pin(words)
        astray = (self.machine.turns - self.first_hole) % 1
        if purpose == "closing-check" and "all the way round" in words and astray:
            raise Crash("all the way round, and the spindle is not where it began")
        if purpose == "closing-check" and "face 1 should be up" in words and astray:
            raise Crash("all the way round, and another face is up")

    def _pin(self, words: str) -> None:
        """A mark is a mark on the plate, whether the plate stands still or turns."""
        past = (self.over_plate - self.marked) % 1
        astray = (self.over_plate - self.began) % 1
        if re.search(r"pin should be in (?:its first hole|the hole of cut 1)\.", words) and astray:
            raise Crash(f"in its first hole, and the pin stands {astray * self.pin} holes past it")
        if "first hole" in words and "all the way round" in words and past:
            raise Crash("in its first hole, and that is not the one that was marked as the first")
        if found := re.search(
            r"pin (?:should be )?(\d+)(?: holes?)? (past|short of) the mark", words
        ):
            told = int(found[1]) if found[2] == "past" else -int(found[1])
            if (past * self.pin - told) % self.pin:
                raise Crash(f"{found.group()!r}, and it stands {past * self.pin} holes past it")
        if re.search(r"pin (?:in the marked hole|at the mark)\.", words) and past:
            raise Crash(f"at the mark, and the pin stands {past * self.pin} holes past it")
        if "mark the hole that the pin is in" in words:
            self.began = self.marked = self.over_plate

    def _locks(self, words: str) -> None:
        for found in re.finditer(_LOCKS, words):
            self.machine.locked = found.group() in ("lock the spindle", "lock is on", "vice tight.")
        if self.faces and "vice open" in words:
            self.cutter_stopped = "stop the cutter" in words or "cutter stopped" in words
        if "leave the spindle lock off" in words:
            self.driven = True

    def _scale(self, words: str) -> None:
        found = re.search(r"the scale should read (\d+(?:\.\d+)?) degrees", words)
        if found and self.scale_from is not None:
            stands = float((self.machine.turns - self.scale_from) % 1 * 360)
            if abs(stands - float(found[1])) > 0.06:
                raise Crash(f"{words!r}, and it reads {stands:.2f}")

    def _measure(self, words: str) -> float | None:
        if "no cut puts it back" in words:
            raise Crash(f"scrap: {words}")
        if not self.choices.measures or "and measure" not in words:
            return None
        return self.gauge(self.machine, words)

    # --- the head

    def _turn(self, move: Turning) -> None:
        if move.face:
            self._turn_block(move.face)
            return
        if move.direct_circle and move.direct_circle != self.direct:
            raise Crash(f"holes on a direct plate of {move.direct_circle}: {self.direct} is set")
        if any(circle != self.pin for circle in move.circles):
            raise Crash(f"holes on the circle {move.circles}: the pin stands on {self.pin}")
        spindle = move.direct + move.wheel_degrees / 360
        self.machine.index(spindle + move.crank / (self.ratio - self.gearing))
        self.over_plate += move.over_plate
        self.stop = move.stop or self.stop
        stands = (self.machine.turns - self.first_hole) % 1 * 360
        if move.reading is not None and abs(move.reading - stands) > READ:
            raise Crash(f"the dial is to read {float(move.reading)}, and stands at {float(stands)}")

    def _turn_block(self, face: int) -> None:
        if not 1 <= face <= self.faces:
            raise NotUnderstood(f"face {face}: the block has {self.faces}")
        if not self.cutter_stopped:
            raise Crash("a hand goes to the block, and nobody has had the cutter stopped")
        now = (self.machine.turns - self.first_hole) % 1
        self.machine.index((Fraction(face - 1, self.faces) - now) % 1)

    def take_block(self, said: Instruction) -> None:
        self.faces, self.direct, self.pin = int(said.words["faces"]), 0, 0
        if said.words["face"] != "1":
            raise NotUnderstood(f"{said.words.group()!r}: the first is another")
        self.start_here(said)

    def block_in_again(self, said: Instruction) -> None:
        self._turn_block(int(said.words["face"]))

    def set_pin(self, said: Instruction) -> None:
        self.pin, self.direct = int(said.words["circle"]), 0

    def take_direct_plate(self, said: Instruction) -> None:
        self.direct, self.pin = int(said.words["circle"]), 0
        self.start_here(said)

    def start_here(self, _: Instruction) -> None:
        self.first_hole = self.machine.turns
        self.began = self.marked = self.over_plate

    def put_gears_on(self, said: Instruction) -> None:
        gears = [re.findall(r"\d+", said.words[name]) for name in ("drivers", "driven")]
        self.gearing = Fraction(1)
        for driver, driven in zip(*gears, strict=True):
            self.gearing *= Fraction(int(driver), int(driven))

    def plate_turns(self, said: Instruction) -> None:
        self.gearing *= 1 if said.words["way"] == "with" else -1

    def turn_from_first_hole(self, said: Instruction) -> None:
        self.machine.locked = False
        self._turn(sentences.turning(said.words["move"]))
        self.first_hole, self.began = self.machine.turns, self.over_plate

    def scale_to_nought(self, _: Instruction) -> None:
        self.scale_from = self.machine.turns

    # --- the table

    def touch_side(self, said: Instruction) -> None:
        where = said.words["where"]
        side = self.choices.side
        if re.search(r"\b(left|right)\b", where) and not self.looks_at_face:
            raise NotUnderstood(f"{said.words.group()!r}: right or left, seen from where?")
        if "rising" in where or "coming" in where:
            side = -self.machine.sense  # the top goes over to the other side
        elif re.search(r"away from|far|right", where):
            side = 1
        elif re.search(r"towards?|near|left", where):
            side = -1
        self.touched = side
        if said.words["face"] == "upright side":
            # It is the upright side that looks at the work.
            looks_right = self.machine.cutter.right == 0
            if looks_right != (side < 0):
                self.machine.cutter = self.machine.cutter.mirrored()
        self.way = -side
        if said.words["of"] == "spline 1":
            self.machine.touch_upright_part(side)
        else:
            self.machine.touch_side(side)

    def lower(self, _: Instruction) -> None:
        """Clear of the work, so that the table can go across."""

    def move_across(self, said: Instruction) -> None:
        by = length(said.words, "size")
        if said.words["half"]:
            by += self.machine.cutter.width / 2
        self.way = self._inward()
        self.machine.move(self.way * by)

    def table_goes_away(self, said: Instruction) -> None:
        """So the cutter comes nearer to the person over the work."""
        if self.way != -1:
            raise Crash(f"{said.words.group()!r}: it went the other way")

    def move_on(self, said: Instruction) -> None:
        if not self.way:
            raise NotUnderstood(f"{said.words.group()!r}: which way?")
        self.machine.move(self.way * length(said.words, "size"))

    def move_back(self, said: Instruction) -> None:
        self.machine.move(-self.way * length(said.words, "size"), came_up=True)
        self.touched = -self.touched

    def touch_flank(self, _: Instruction) -> None:
        """Beside what stands at the top, a little below its crown."""
        work = self.machine.facing
        high = work.bounds[3]
        top = work.intersection(box(-high, high - 0.5, high, high))
        spline = min(getattr(top, "geoms", [top]), key=lambda piece: abs(piece.centroid.x))
        low, _, far, _ = spline.bounds
        cutter, self.touched = self.machine.cutter, self.choices.side
        self.machine.across = far - cutter.left if self.touched > 0 else low - cutter.right
        self.machine.going = -self.touched

    def _inward(self) -> int:
        """Across means over the work: from where the cutter stands towards the axis."""
        machine = self.machine
        middle = machine.across + (machine.cutter.left + machine.cutter.right) / 2
        if abs(middle) < ROUNDED:
            raise NotUnderstood("the cutter stands over the axis: across to which side?")
        return -1 if middle > 0 else 1

    def edges(self) -> tuple[float, float]:
        cutter = self.machine.cutter
        return self.machine.across + cutter.left, self.machine.across + cutter.right

    def check_nearer_edge(self, said: Instruction) -> None:
        nearer = min(self.edges(), key=abs) * -self.touched
        if abs(nearer - length(said.words, "edge")) > ROUNDED:
            raise Crash(f"{said.words.group()!r}, and it stands {nearer:.3f} mm past it")

    def check_inner_edge(self, said: Instruction) -> None:
        inner = min(map(abs, self.edges()))
        if abs(inner - length(said.words, "size")) > ROUNDED:
            raise Crash(f"{said.words.group()!r}, and it stands {inner:.3f} mm from it")

    def check_upright_side(self, said: Instruction) -> None:
        """The upright side leads on the way that the cutter came."""
        past = length(said.words, "size") if said.words["size"] else 0.0
        stands = max(edge * self.way for edge in self.edges())
        if abs(stands - past) > ROUNDED:
            raise Crash(f"{said.words.group()!r}, and it stands {stands:.3f} mm past it")

    def check_edge_on_centre(self, said: Instruction) -> None:
        if min(map(abs, self.edges())) > ROUNDED:
            raise Crash(f"{said.words.group()!r}, and the edges stand at {self.edges()}")

    def check_cutter_on_touched_side(self, said: Instruction) -> None:
        if not self.touched * sum(self.edges()) > 0:
            raise Crash(f"{said.words.group()!r}, and it stands at {self.edges()}")

    # --- a tilted face

    def look_at_the_face(self, _: Instruction) -> None:
        """Its high side at the top, the side towards the column on the right."""
        self.looks_at_face = True

    def cut_on_the_high_side(self, _: Instruction) -> None:
        self.from_high_side = True

    def feed_from_high(self, _: Instruction) -> None:
        if not self.from_high_side:
            raise NotUnderstood("feed from the high rim: which side is that?")

    def touch_rim(self, _: Instruction) -> None:
        """The lowest point of the cutter, over the axis, on the corner that stands highest."""
        if self.tilted is None or abs(self.machine.across + self._lowest()) > ROUNDED:
            raise Crash("the rim is touched beside its highest point")
        self.machine.slip = self.choices.slip
        self.machine.zero = self.choices.slip

    def _lowest(self) -> float:
        """From the cutter's own nought to its lowest point: that is 0 for all with a point."""
        _, low, _, _ = self.machine.cutter.outline.bounds
        points = [x for x, y in self.machine.cutter.outline.exterior.coords if y == low]
        return sum(points) / len(points)

    # --- a cam, fed by the table

    def take_end_mill(self, said: Instruction) -> None:
        self.mill, self.mill_long = length(said.words, "wide"), length(said.words, "long")
        self.machine.cutter = square(self.mill)

    def swing_vertical(self, said: Instruction) -> None:
        self.vertical = degrees(said.words, "angle")

    def prove_parting(self, said: Instruction) -> None:
        self.parting = 1 if said.words["way"] == "clockwise" else -1

    def touch_rim_by_table(self, _: Instruction) -> None:
        middle = self.machine.across + (self.machine.cutter.left + self.machine.cutter.right) / 2
        if abs(middle) > ROUNDED:
            raise Crash(f"the mill stands {middle:.3f} mm beside the axis")

    def feed_in(self, said: Instruction) -> None:
        self.fed_in = length(said.words, "size")

    # --- a worm wheel's gash

    def touch_mandrel(self, _: Instruction) -> None:
        """As thick as the person has one: both moves know it."""
        half = self.machine.cutter.width / 2
        self.machine.across = self.choices.side * (MANDREL / 2 + half)
        self.machine.going = -self.choices.side  # it came up to it the way that it then goes on

    def move_over_mandrel(self, said: Instruction) -> None:
        self.machine.move(self._inward() * (MANDREL / 2 + length(said.words, "size")))

    def find_middle(self, _: Instruction) -> None:
        """Once the table is swung: the swing carries the wheel along."""
        self.in_the_middle = bool(self.swung)

    def touch_hollow(self, _: Instruction) -> None:
        self.hollow_touched = True
        self.machine.slip = self.choices.slip
        self.machine.zero = self.choices.slip

    # --- a groove along a helix

    def take_groove_cutter(self, said: Instruction) -> None:
        self.machine.cutter = square(length(said.words, "size"))

    def swing_at_nought(self, _: Instruction) -> None:
        self.swung = 0.0

    def nought_along(self, _: Instruction) -> None:
        self.begun_along = True

    def feed_along(self, said: Instruction) -> None:
        if not self.begun_along:
            raise Crash("the table is fed by a dial that was set to nought nowhere")
        self.fed_along = length(said.words, "size")

    def take_slack_out(self, _: Instruction) -> None:
        self.slack_out = True

    def lower_to_return(self, _: Instruction) -> None:
        self.lowered_to_return = True

    def free_the_plate(self, _: Instruction) -> None:
        self.plate_free = True

    def take_worm_out(self, _: Instruction) -> None:
        self.worm_out = True

    def part_the_gears(self, said: Instruction) -> None:
        self.teeth_a_move = int(said.words["teeth"])

    def keep_pin_out(self, _: Instruction) -> None:
        self.pin_out_to_cut = True

    def index_outside(self, _: Instruction) -> None:
        self.outside = True

    # --- cutter and depth

    def take_even_double_angle(self, said: Instruction) -> None:
        angle = degrees(said.words, "angle")
        self.machine.cutter = double_angle(angle, angle / 2)

    def take_single_angle(self, said: Instruction) -> None:
        self.machine.cutter = single_angle(degrees(said.words, "angle"), nose=self.nose)

    def take_double_angle(self, said: Instruction) -> None:
        """The top goes over to the side that goes down, so the other one comes up."""
        self.machine.cutter = double_angle(
            degrees(said.words, "angle"), degrees(said.words, "lean"), self.nose
        )
        coming = -self.machine.sense
        self.way = -coming if said.words["looks"] == "away from" else coming
        if self.way < 0:
            self.machine.cutter = self.machine.cutter.mirrored()

    def point_over_axis(self, said: Instruction) -> None:
        self.machine.across, self.machine.going = 0.0, 0
        if end := said.words["end"]:
            self.machine.going = self.way if end == "leading" else -self.way

    def move_by_flank(self, said: Instruction) -> None:
        """The cutter goes the way in which the flank looks that leads."""
        way = self.way if said.words["end"] == "leading" else -self.way
        self.machine.move(way * length(said.words, "size"))

    def take_square(self, said: Instruction) -> None:
        self.machine.cutter = square(length(said.words, "size"))

    def take_concave(self, said: Instruction) -> None:
        self.machine.cutter = concave(length(said.words, "radius"), length(said.words, "size"))

    def stand_upright(self, _: Instruction) -> None:
        self.machine.upright = True

    def feed_through(self, _: Instruction) -> None:
        self.machine.stop = None

    def feed_to_bore(self, _: Instruction) -> None:
        """The middle of the cutter comes to where the far corner of its width leaves the wall."""
        bore = max(x for x, _ in self.machine.section.interiors[0].coords)
        self.machine.stop = sqrt(max(0.0, bore**2 - self.machine.cutter.width**2))

    def hold_the_tool(self, _: Instruction) -> None:
        self.held = True

    def touch_top(self, said: Instruction) -> None:
        if self.held and said.words["turning"] == "turning cutter":
            raise Crash(f"{said.words.group()!r}, and the tool is held, not turned")
        self.machine.slip = self.choices.slip
        self.machine.touch_top()

    def depth_of_every_pass(self, said: Instruction) -> None:
        self.machine.dial = length(said.words, "size")

    def depth_of_a_pass(self, said: Instruction) -> None:
        if int(said.words["number"]) == 1:
            self.machine.dial = length(said.words, "size")

    def dial_to(self, said: Instruction) -> None:
        self.machine.dial = self.pass_dial = length(said.words, "size")

    def dial_deeper_than_before(self, said: Instruction) -> None:
        if self.pass_dial is None:
            raise NotUnderstood(f"{said.words.group()!r}: no pass before it had a depth")
        self.machine.dial = self.pass_dial + length(said.words, "size")

    def dial_deeper(self, said: Instruction) -> None:
        assert self.machine.dial is not None
        self.machine.dial += length(said.words, "size")

    def move_further(self, said: Instruction) -> None:
        """On in the sense of the last move across, towards what is to be made narrower."""
        self.machine.move(self._inward() * length(said.words, "size"))

    def dial_stays(self, _: Instruction) -> None:
        pass

    def _cut(self, words: str) -> None:
        if not self.marks:
            self._sweep()
            self.machine.cut(words, driven=self.driven)
            return
        length = self.stops.get(self.stop or "line") if self.stops else None
        if self.stops and length is None:
            raise Crash(f"{words!r}: the stop is set to {self.stop!r}, and stops {self.stops}")
        if self.stop and self.stop not in words:
            raise Crash(f"{words!r}: the stop is set to {self.stop!r}")
        self.machine.mark(words, length, driven=self.driven)

    # --- gears

    def _sweep(self) -> None:
        """The head is driven: the work turns while the cutter passes."""
        machine = self.machine
        if machine.swept or not self.swung or self.from_screw is None or self.screw is None:
            return
        lead = float(self.ratio / self.from_screw) * self.screw
        machine.swept = slot(machine.cutter, self.swung, lead if self.hand == "right" else -lead)

    def take_form_cutter(self, said: Instruction) -> None:
        number = int(said.words["pitch"])
        if int(said.words["module"]) != 9 - number:
            raise Crash(f"{said.words.group()!r}: these are not the same cutter")
        self.form = number
        if self.forms is not None:
            self.machine.cutter = self.forms(number)

    def check_half_number(self, said: Instruction) -> None:
        """Between the whole number just said and the next one, for more teeth; both counts of a set
        of fifteen, 1 to 8 by halves, come to nine."""
        number, other = (int(said.words[name]) for name in ("pitch", "module"))
        if self.form is None or number != self.form - 1 or number + other != 8:
            raise Crash(f"{said.words.group()!r}: that is not the cutter beside {self.form}")

    def swing_table(self, said: Instruction) -> None:
        away = said.words["end"] == "goes away from you"
        away ^= said.words["which"] == "left"
        if away != (said.words["way"] == "anticlockwise"):
            raise Crash(f"{said.words.group()!r}: that is the other way")
        self.swung = degrees(said.words, "angle") * (1 if away else -1)

    def gear_head_to_screw(self, said: Instruction) -> None:
        words = said.words.groupdict()
        one, two, three, four = (Fraction(words.get(name, 1)) for name in
                                 ("one", "two", "three", "four"))  # fmt: skip
        self.from_screw = four / three * two / one

    def prove_hand(self, said: Instruction) -> None:
        if self.to_screw is not None and self.from_screw is None and not self.worm_out:
            raise Crash("the screw is to turn the spindle against a worm that is in mesh")
        self.hand = said.words["hand"]

    def cutter_across(self, _: Instruction) -> None:
        self.cuts_across = True

    def choose_the_way(self, said: Instruction) -> None:
        """Before the first line: the crank goes the way round that turns the work so."""
        self.seen_turning = said.words["way"]

    def tilt(self, said: Instruction) -> None:
        self.tilted = degrees(said.words, "angle")

    def face_angle(self, said: Instruction) -> None:
        self.faced = degrees(said.words, "angle")

    def offset_table(self, said: Instruction) -> None:
        """The table goes away from the person, so the cutter stands nearer to them on the work."""
        way = -1 if said.words["way"] == "away from you" else 1
        self.machine.move(way * length(said.words, "size"), came_up=bool(said.words["back"]))

    def roll_way(self, said: Instruction) -> None:
        self.rolling = -1 if said.words["way"] == "comes towards you" else 1

    def roll(self, said: Instruction) -> None:
        """An own turning of the blank, whichever way the crank does it."""
        move = sentences.turning(said.words["move"])
        if any(circle != self.pin for circle in move.circles):
            raise Crash(f"holes on the circle {move.circles}: the pin stands on {self.pin}")
        turns = move.crank / self.ratio
        if abs(float(turns) * 360 - degrees(said.words, "angle")) > 360 / float(self.ratio) / 15:
            raise Crash(f"{said.words.group()!r}: {float(turns) * 360:.3f} degrees")
        self.machine.locked = False
        self.machine.turns += turns * self.rolling * self.machine.sense
        self.start_here(said)

    # --- lines and holes

    def set_a_stop(self, said: Instruction) -> None:
        self.stops[said.words["name"]] = length(said.words, "size")

    def drill_out(self, said: Instruction) -> None:
        self.machine.across = 0.0
        self.machine.going = 1 if said.words["came"] and said.words["same"] else 0
        self.machine.move(length(said.words, "size"))

    def gear_to_screw(self, said: Instruction) -> None:
        train = said.words["train"]
        gears = [int(each) for each in re.findall(r"\d+", train)]
        if len(gears) not in (2, 4):
            raise NotUnderstood(f"{said.words.group()!r}: which drives which?")
        self.to_screw, self.first_gear = Fraction(1), gears[0]
        for driver, driven in zip(gears[::2], gears[1::2], strict=True):
            self.to_screw *= Fraction(driver, driven)

    def gear_equal(self, _: Instruction) -> None:
        self.to_screw = Fraction(1)

    def check_travel(self, said: Instruction) -> None:
        if self.screw is None or self.to_screw is None:
            raise NotUnderstood(f"{said.words.group()!r}: no gears, or no screw")
        goes = float(self.to_screw / self.ratio) * self.screw
        # Said to a thousandth of a millimetre, or to a tenth of a thou.
        off = 0.0006 if said.words["size_unit"].startswith("m") else 0.0013
        if abs(goes - length(said.words, "size")) > off:
            raise Crash(f"{said.words.group()!r}, and it goes {goes:.4f} mm")
