"""What a literal person makes of each sentence: the one place that knows the program's words.

A sentence of the set-up that holds a figure, a side or a sense and is not understood stops the
work (`NotUnderstood`): a person would ask. Words without any of these are only read.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from tests.machinist.figures import ANGLE, LENGTH, in_figures

Does = str | Callable[[Any, Any], None]
Patterns = Sequence[tuple[str, Does]]


class NotUnderstood(AssertionError):
    """A literal person stops here and asks."""


@dataclass(frozen=True)
class Instruction:
    """What is to be done: the name of a `Person` method, or what the kind brings itself, and the
    words that say it."""

    does: Does
    words: re.Match[str]


def _length(name: str = "size") -> str:
    return LENGTH.format(name)


_WORK = r"the (?:work|bar|blank|shaft|round)"
_CUTTER_SIDE = (
    r"(?: with (?:the side of )?the (?:turning )?cutter(?:'s (?P<face>upright side|[a-z]+ side))?)?"
)

SET_UP = [
    (rf"touch (?P<where>one side|the side(?: (?:away from|towards?) you)?|"
     rf"the (?:near|far|left|right|rising|coming)(?:-hand)? side) of (?P<of>{_WORK}|spline 1)"
     rf"{_CUTTER_SIDE}", "touch_side"),
    (r"after each cut lower the table clear before you run it back", "lower_to_return"),
    (r"(?<!after each cut )lower the table clear", "lower"),
    (rf"move (?:the table )?across (?!\S+ \w+, the flank){_length()}"
     r"(?P<half> and half the cutter's width)?"
     r"(?P<over>, the cutter over the spline to its other side)?", "move_across"),
    (rf"move on across {_length()}, the same way", "move_on"),
    (rf"wind the table back across(?:, over the spline)?, {_length()} and 1 turn more\. "
     r"then 1 turn on, the first way again", "move_back"),
    (rf"the upright side is {_length()} past the axis", "check_inner_edge"),
    (r"its edge stands on the centre line", "check_edge_on_centre"),
    (r"the upright side stands over the axis", "check_edge_on_centre"),
    (rf"the cutter's nearer edge is {_length()} past the axis", "check_inner_edge"),
    (rf"(?:saw|cutter) of {_length()} in place of the cutter", "take_square"),
    (rf"concave cutter of radius {_length('radius')}, {_length()} wide, in place of the cutter",
     "take_concave"),
    (r"at the first hole touch the side of spline 1 with the side of the cutter", "touch_flank"),
    (r"touch the top of spline 1 with the turning cutter, and set the depth dial to nought",
     "touch_top"),
    (rf"the upright side (?:stands over|is {_length()} past) the axis", "check_upright_side"),
    (rf"its inner edge then stands {_length()} from the axis", "check_inner_edge"),
    (r"so that the cutter's other edge is on the centre line", "check_edge_on_centre"),
    (r"the cutter on the side that it touched", "check_cutter_on_touched_side"),
    (rf"then {_length()} more, past the axis(?:, for the hook)?", "move_on"),
    (r"touch the top of (?:the work|the blank|the bar|the shaft|spline 1) with the "
     r"(?P<turning>turning cutter|point|tool), "
     r"and set the depth dial to nought", "touch_top"),
    (rf"(?:line )?depth:? {_length()}", "depth_of_every_pass"),
    (rf"pass (?P<number>\d+), {_length()}", "depth_of_a_pass"),
    (rf"(?:every (?P<every>\d+) an?|all others an?|every) (?P<name>[a-z]+ line|line) "
     rf"{_length()}(?: long)?", "set_a_stop"),
    (r"spindle of the machine over the axis of the head"
     r"(?P<came>\. come up to it the way that you then go out)?[.,] "
     rf"then {_length()} out(?P<same>, the same way)?", "drill_out"),
    (r"change gears: (?P<train>\d+ on the head's spindle[^.]*"
     r"(?:\. beside it on the stud [^.]*)?)\.", "gear_to_screw"),
    (r"equal gears on the head's spindle and the table screw", "gear_equal"),
    (rf"turn the crank once and measure how far the table goes: {_length()}", "check_travel"),
    (r"its axis lies along the table, so that the cross slide feeds it through the bar",
     "cutter_across"),
    (r"cutter (?P<pitch>\d) by diametral pitch, or cutter (?P<module>\d) by module",
     "take_form_cutter"),
    (r"of a set of 15 better (?P<pitch>\d) and a half, or by module (?P<module>\d) and a half",
     "check_half_number"),
    (rf"head tilted to {ANGLE.format('angle')}, and its bolts tight", "tilt"),
    (rf"blank turned to a face angle of {ANGLE.format('angle')}", "face_angle"),
    (r"touch the large end of the blank with the (?P<turning>turning cutter), "
     r"and set the depth dial to nought",
     "touch_top"),
    (rf"(?:offset|bring) the table {_length()} (?P<way>away from you|towards you)"
     r"(?P<back> and 1 turn more\. then 1 turn back, away from you)?", "offset_table"),
    (r"the table going away from you", "table_goes_away"),
    (r"the blank is then rolled so that its top (?P<way>comes towards you|goes away from you)",
     "roll_way"),
    (rf"lock off\. roll the blank {ANGLE.format('angle')}: (?P<move>[^:]*?)\.(?= |$)", "roll"),
    (rf"now swing the table {ANGLE.format('angle')} (?P<way>clockwise|anticlockwise) seen from "
     r"above: its (?P<which>left|right) end (?P<end>comes towards you|goes away from you)",
     "swing_table"),
    (r"change gears: (?P<one>\d+) on the head, an idler, (?P<four>\d+) on the table screw",
     "gear_head_to_screw"),
    (r"change gears: (?P<one>\d+) on the head, meshing with (?P<two>\d+) on the stud\. beside it "
     r"on the stud (?P<three>\d+), meshing with (?P<four>\d+) on the table screw",
     "gear_head_to_screw"),
    (r"the work must turn as a (?P<hand>right|left)-hand screw", "prove_hand"),
    (r"cutter spindle stopped and held: the point is drawn through, not turned", "hold_the_tool"),
    (r"axis upright", "stand_upright"),
    (rf"single-angle cutter of {ANGLE.format('angle')}, its upright side towards the face of the "
     r"tooth", "take_single_angle"),
    (rf"double-angle cutter of {ANGLE.format('angle')}\. its flank that leans "
     rf"{ANGLE.format('lean')} cuts the face\. it looks (?P<looks>away from|towards) the side that "
     r"comes up as the work turns", "take_double_angle"),
    (r"point of the cutter over the axis, by the tailstock centre"
     rf"(?:\. come up to it with the flank of {ANGLE.format('leaning')} "
     r"(?P<end>leading|trailing))?", "point_over_axis"),
    (rf"move across {_length()}, the flank of {ANGLE.format('lean')} (?P<end>leading|trailing)",
     "move_by_flank"),
    (r"feed right through, over both sides", "feed_through"),
    (r"set a stop: feed from the rim into the bore and back, never across", "feed_to_bore"),
    (r"cut on the high side only", "cut_on_the_high_side"),
    (r"look at the face with its low side nearest you", "look_at_the_face"),
    (r"set a stop: feed from the high rim into the bore and back, never across", "feed_from_high"),
    (rf"double-angle cutter of {ANGLE.format('angle')}, the same on both flanks",
     "take_even_double_angle"),
    (rf"end mill of {_length('wide')}, its edges {_length('long')} long or more", "take_end_mill"),
    (rf"vertical spindle swung {ANGLE.format('angle')} out of the upright, parallel to the work",
     "swing_vertical"),
    (r"turn the table screw by hand so that work and mill part\. seen on its face, the work must "
     r"turn (?P<way>clockwise|anticlockwise)", "prove_parting"),
    (r"bring the table in until the turning mill touches the rim\. set the table's dial to nought",
     "touch_rim_by_table"),
    (rf"every lobe: feed the table in {_length()} by its dial\. then run it out the same way",
     "feed_in"),
    (r"index outside only: run the table out, 2 turns of its screw beyond 0\. come in 1 turn, "
     r"and index there", "index_outside"),
    (rf"(?P<form>end mill|form cutter|side cutter) {_length()} wide"
     r"(?: at the top)?"
     r"(?: on the arbor, running the right way| in the vertical spindle, running true)",
     "take_groove_cutter"),
    (r"touch one side of the mandrel with the side of the cutter", "touch_mandrel"),
    (rf"move across half the mandrel and {_length()}", "move_over_mandrel"),
    (r"run the table along until the cutter stands over the middle of the face", "find_middle"),
    (r"raise the wheel until the turning cutter touches the edges of its hollow on both sides\. "
     r"set the depth dial to nought", "touch_hollow"),
    (r"table square, its swing at nought, and clamped", "swing_at_nought"),
    (r"bring the table to where the grooves begin, in the direction of the cut\. set the table's "
     r"dial to nought there", "nought_along"),
    (rf"every groove: feed the table {_length()} by its dial", "feed_along"),
    (r"run back 2 turns of the screw beyond the start\. come up to the start in the direction of "
     r"the cut", "take_slack_out"),
    (r"back pin out, so that the plate is free to turn", "free_the_plate"),
    (r"worm out of mesh before the gears go on", "take_worm_out"),
    (r"index with the table at its start: direct pin in, swing the gears out of mesh\. then the "
     r"move\. it is (?P<teeth>\d+) teeth of the gear on the spindle", "part_the_gears"),
    (r"the direct pin is out whenever the table moves", "keep_pin_out"),
    (r"touch the highest point of the rim with the (?P<turning>turning cutter), "
     r"and set the depth dial to nought", "touch_rim"),
    (r"number the faces of the block: (?P<faces>\d+), clockwise as seen on its free end\. "
     r"block in the vice, down on a parallel, its end against a stop, face (?P<face>\d+) up\. "
     r"vice tight",
     "take_block"),
    (r"block down on its parallel, end to the stop, face (?P<face>\d+) up\. vice tight",
     "block_in_again"),
    (r"seen on its (?P<where>free end|face) the work must turn (?P<way>clockwise|anticlockwise) "
     r"from line to line", "choose_the_way"),
    (r"crank pin set to the (?P<circle>\d+) circle", "set_pin"),
    (r"worm out of mesh\. direct plate of (?P<circle>\d+) holes, its pin in a hole: that is the "
     r"first hole", "take_direct_plate"),
    (r"change gears\. drivers?, from the spindle: (?P<drivers>[^.]*)\. "
     r"driven, at the plate: (?P<driven>[^.]*)\.", "put_gears_on"),
    (r"it must turn (?P<way>with|against) the crank", "plate_turns"),
    (r"lock off\. from the (?:first hole|hole that it is in): (?P<move>[^:]*?)\.(?= |$)",
     "turn_from_first_hole"),
    (r"degree scale: set it to nought(?: again)?", "scale_to_nought"),
    (r"pin in the first hole", "start_here"),
    (r"the part out, chips brushed away, the next blank in", "next_blank"),
    (r"the cutter of the first setting on again, if another took its place", "take_first_cutter"),
    (r"(?:pin in the marked hole|table and dial at 0), come up to in the working direction",
     "pin_to_the_mark"),
    (r"pin in a hole, come up to in the working direction\. mark that hole, and wipe off every "
     r"other mark", "pin_anywhere"),
]  # fmt: skip

# Figures and sides that ask for nothing to be done with table, cutter or dial.
ONLY_READ = [
    r"(?:as far out of it|out by as much) as the one before",
    r"if not, put 1 idler more between the gears, or 1 fewer",
    rf"its (?:diameter|throat) should measure {_length()}",
    rf"its large end should measure {_length()} across",
    r"right arm so that (?:one|\d+) spaces? lies? between\. that is \d+ holes with the one",
    r"left arm against the pin",
    r"they stay so\. where i call it, go 1 hole (or 2 )?beyond them",
    r"(?:trial marks|trial round): [^.]*\d+\. only then cut(?: to depth)?",
    r"trial marks: a light touch on every face, and count them: \d+\. stop the cutter before each "
    r"turn of the block; vice tight again\. only then cut to depth",
    r"i can call the round: stop the cutter, clear of the work, lock off\. then say lock is off",
    r"or (?:hold the pedal for 1 second|press the second pedal)\.",
    r"if it is made, or left out,(?: press)?",
    r"at the first hole",
    r"the cuts come \d+ spaces apart, \d+ times round",  # each move is called by itself
    r", over the spline",
    r"the same depths again, from the same first touch",
    r"head tilted to 90 degrees",
    rf"tailstock centre {_length()} above the table",
    r"turn the crank the way you will always turn it",
    r", over the spline",
    r"cutter (?:beside the spline|over the axis|edge on the centre line|set over the work's axis)",
    r"\d+ idlers?",
    r"for each move: crank first",
    r"back pin (?:in|out)[^.]*",
    r"where that goes against the working direction, go half a turn past it and come up again",
    r": as far on the other side of the middle",
    r"that is as far on the other side of the middle",
    r"square to the cutter's travel(?:, its end against a stop)?",
    r"the crank is turned one way only",
    r"write down its (?:new )?reading",
    r"come up to its 0 that way",
    r"guard over the gears",
    r"it cuts against the feed, never with it",
    rf"from one [a-z]+ to the next: up to {_length()} off",
    r"from one cut to the next: up to \d+ percent of the space off",
    rf"[a-z ]+ bears {_length()}",
    r"on the arbor, running the right way",
    r"bar clamped along the table, its top level, its side along the travel, its end against a "
    r"stop",
    r"clamped as the one before, its end against the same stop",
    r"on the rack attachment",
    r"the crank turned the way that it always will be",
    r"bring the cutter over the first space",
    r"numbers will stand at the (?:free|head's) end of the lines, their tops towards the "
    r"(?:free end|head)",
    r"numbers will stand at the (?:outer|inner) ends of the lines, their tops towards the "
    r"(?:rim|middle)",
]  # fmt: skip

DIALS = [
    (rf"depth dial to {_length()}", "dial_to"),
    (rf"depth dial {_length()} deeper than in the pass before", "dial_deeper_than_before"),
    (rf"again, {_length()} deeper", "dial_deeper"),
    (rf"again, {_length()} further across", "move_further"),
    (r"leave the depth dial as it is|go round once more at the same dial", "dial_stays"),
]  # fmt: skip
STOP = re.compile(r"set the stop: ([^.]*)\.")
# That of the handwheel, which is set by the call of the move.
_HANDWHEEL = re.compile(r"dial at its reading|table and dial should be at (?:0|nought)")
_DIAL = re.compile(rf"\bdial\b|{_length()} (?:deep|across|further)")

_ASKS = re.compile(
    r"\d|\b(towards?|away|left|right|near|far|past|across|against|over|opposite|behind|in front|"
    r"backwards?|forwards?|clockwise|anticlockwise)\b"
)
_ITEM = re.compile(r"^(?:part \d+ of \d+\. )?(?:next, .*?\. )?item \d+ of \d+\. ")
_PRESS = re.compile(r" ?press(?:, or say [a-z ]+)?\.$")


def item_of(text: str) -> str:
    """A set-up item as it was meant, without its number and how to answer it."""
    return _PRESS.sub("", _ITEM.sub("", in_figures(text).lower()))


def set_up(text: str, own: Patterns = ()) -> list[Instruction]:
    """Everything that an item tells to do, in its order; `own` are sentences of one kind alone."""
    item = item_of(text)
    found, rest = _taken(item, [*SET_UP, *own])
    for pattern in ONLY_READ:
        rest = re.sub(pattern, " ", rest)
    if asks := _ASKS.search(rest):
        raise NotUnderstood(f"{item!r}: what of {asks.group()!r} in {' '.join(rest.split())!r}?")
    return found


def dials(text: str) -> list[Instruction]:
    """What is to be set between two cuts. Raises NotUnderstood for a dial that is not known."""
    found, rest = _taken(_HANDWHEEL.sub("", in_figures(text).lower()), DIALS)
    if asks := _DIAL.search(rest):
        raise NotUnderstood(f"{text!r}: what of {asks.group()!r}?")
    return found


def _taken(text: str, patterns: Patterns) -> tuple[list[Instruction], str]:
    found = [Instruction(name, words) for pattern, name in patterns
             for words in re.finditer(pattern, text)]  # fmt: skip
    found.sort(key=lambda each: each.words.start())
    rest = list(text)
    for each in found:
        rest[each.words.start() : each.words.end()] = " " * len(each.words.group())
    return found, "".join(rest)


# --- moves ------------------------------------------------------------------------------

_TURNS = re.compile(r"(\d+) turns?")
_HOLES = re.compile(r"(\d+) holes? on the (\d+) circle")
_DIRECT = re.compile(r"(\d+) holes? on the direct plate of (\d+)")
_PLATE = re.compile(
    r"plate and crank together (forward|backward), (\d+) holes? on the (\d+) at the back pin"
)
_FACE = re.compile(r"face (\d+) up, end to the stop\.")
_WHEEL = re.compile(rf"{ANGLE.format('wheel')} on the handwheel")
_READING = re.compile(
    rf"to (?:0|nought|{ANGLE.format('table')}), dial at (?:0|nought|{ANGLE.format('dial')})\."
)
_BEYOND = re.compile(r"[12] beyond the arms\.")  # the holes are called besides
_FILLING = re.compile(r"\b(then|no turn at all)\b|[,. ]")


@dataclass(frozen=True)
class Turning:
    """A move as heard: of the crank in turns, of these `over_plate` without the plate, of the
    direct plate in turns of the spindle, of a handwheel in degrees; `circles` are those that the
    crank's pin must be set to. `reading`: where table and dial of a handwheel stand after it, in
    degrees. `stop` is set for the cut after it.
    """

    crank: Fraction = Fraction(0)
    over_plate: Fraction = Fraction(0)
    direct: Fraction = Fraction(0)
    wheel_degrees: Fraction = Fraction(0)
    circles: tuple[int, ...] = ()
    direct_circle: int = 0
    reading: Fraction | None = None
    stop: str = ""
    face: int = 0  # of a block, that is to lie up


def turning(text: str) -> Turning:
    """Raises NotUnderstood for words that are no move."""
    move = in_figures(text).lower()
    rest, crank, direct, wheel = move, Fraction(0), Fraction(0), Fraction(0)
    circles, plate, stop, reading, face = [], 0, "", None, 0
    for found in _matches(_FACE, rest):
        face = int(found[1])
    rest = _FACE.sub("", rest)
    for found in _matches(STOP, rest):
        stop = found[1]
    rest = STOP.sub("", rest)
    for found in _matches(_READING, rest):
        reading = _turned(found, "table") + _turned(found, "dial")
    rest = _READING.sub("", rest)
    rest = _BEYOND.sub("", rest)
    together = Fraction(0)
    for found in _matches(_PLATE, rest):
        sign = 1 if found[1] == "forward" else -1
        together += Fraction(sign * int(found[2]), int(found[3]))
    rest = _PLATE.sub("", rest)
    for found in _matches(_DIRECT, rest):
        direct, plate = Fraction(int(found[1]), int(found[2])), int(found[2])
    rest = _DIRECT.sub("", rest)
    for found in _matches(_HOLES, rest):
        crank += Fraction(int(found[1]), int(found[2]))
        circles.append(int(found[2]))
    rest = _HOLES.sub("", rest)
    for found in _matches(_TURNS, rest):
        crank += int(found[1])
    rest = _TURNS.sub("", rest)
    for found in _matches(_WHEEL, rest):
        wheel = _turned(found, "wheel")
    rest = _WHEEL.sub("", rest)
    if left := _FILLING.sub("", rest):
        raise NotUnderstood(f"{move!r}: no move of the crank: {left!r}")
    turned = crank + together
    return Turning(turned, crank, direct, wheel, tuple(circles), plate, reading, stop, face)


def _turned(found: re.Match[str], name: str) -> Fraction:
    return Fraction(found[f"{name}_d"] or 0) + Fraction(found[f"{name}_m"] or 0) / 60


def _matches(pattern: re.Pattern[str], text: str) -> Iterator[re.Match[str]]:
    return pattern.finditer(text)
