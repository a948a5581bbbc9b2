"""Faults as a program could have them: each alters what is said on its way to the ear, and the
judge of the finished part has to see it."""

from __future__ import annotations

import re
from dataclasses import dataclass

from tests.machinist.workshop import JOBS, Choices, in_inches, swapped


@dataclass(frozen=True)
class Fault:
    """`words` (a pattern) are replaced by `instead`, everywhere or the first `times` times.
    `measured`: with sizes taken, after a first touch that was 0.1 mm off; `slack` of the cross
    slide's screw, mm. `size` and `limited`: a line of the job and what it is instead; `inches`:
    every length in inches. `seen`: what the judge has to say, where one of its checks is meant."""

    name: str
    job: str
    words: str
    instead: str
    times: int = 0
    measured: bool = False
    slack: float = 0.0
    size: str = ""
    limited: str = ""
    inches: bool = False
    seen: str = ""

    def written(self) -> str:
        """The job's text."""
        path = JOBS / f"{self.job}.toml"
        text = swapped(path, self.size, self.limited) if self.size else path.read_text("utf-8")
        return in_inches(text) if self.inches else text

    @property
    def choices(self) -> Choices:
        known = {"slip": 0.1, "measures": True} if self.measured else {}
        return Choices(**known, slack=self.slack)


class Twist:
    """Alters the sentences of one session, and counts how often."""

    def __init__(self, fault: Fault) -> None:
        self.fault, self.done = fault, 0

    def __call__(self, text: str) -> str:
        if self.fault.times and self.done >= self.fault.times:
            return text
        most = self.fault.times - self.done if self.fault.times else 0
        twisted, times = re.subn(self.fault.words, self.fault.instead, text, count=most)
        self.done += times
        return twisted


_TOUCH = r"Touch the top of the work with the turning cutter, and set the depth dial to nought\."

PLANTED = [
    Fault("half the cutter's width is forgotten", "mill-keyways",
          "Move across twenty-four", "Move across nineteen"),
    Fault("the depth counts from the slot's edge, the dial from the crown", "mill-keyways",
          "Depth dial to five", "Depth dial to four point three three"),
    Fault("nothing is touched and set to nought", "mill-keyways", _TOUCH, "Look at the work."),
    Fault("the second pass is no deeper than the first", "hexagon-plug",
          "Depth dial to three millimetres", "Depth dial to two point seven five millimetres"),
    Fault("the whole depth for half of it", "hexagon-plug",
          r"Depth dial to three millimetres", "Depth dial to six millimetres"),
    Fault("what is left over both flats is taken off each", "hexagon-plug",
          r"Depth dial zero point three five", "Depth dial zero point seven", measured=True),
    Fault("another face of the block is called", "tap-square",
          "Face three up, end", "Face two up, end"),
    Fault("a hand at the block under a turning cutter", "tap-square",
          "Stop the cutter, then vice open", "Vice open", seen="nobody has had the cutter stopped"),
    Fault("the vice is not called to be tightened", "tap-square",
          r"Vice tight\.", "Good.", seen="loose"),
    Fault("a hexagon cut to the size of another screw", "clamp-screw",
          "Depth dial to one point five seven", "Depth dial to one point zero seven"),
    Fault("the cone lies as if it were a cylinder", "gauge-cone",
          r"Head tilted to thirty degrees, and its bolts tight\.", "Head level.",
          seen="tilted"),
    Fault("the lengths of the drawing, not those on the cone's side", "gauge-cone",
          "nine point two four", "eight", seen="mm long"),
    Fault("figures that rise the wrong way round", "gauge-cone",
          "must turn anticlockwise", "must turn clockwise", seen="don't rise clockwise"),
    Fault("one hole too many in one move", "elevator-pinion",
          "then nineteen holes", "then twenty holes", times=1),
    Fault("one turn too few in one move", "count-wheel",
          "Four turns, then", "Three turns, then", times=1),
    Fault("the cutter of the next range", "elevator-pinion",
          "Cutter five by diametral pitch, or cutter four by module",
          "Cutter four by diametral pitch, or cutter five by module"),
    Fault("a set by module numbered as one by diametral pitch", "elevator-pinion",
          "cutter four by module", "cutter five by module"),
    Fault("a gear not sunk to its whole depth", "elevator-pinion",
          "Depth dial to five point six three", "Depth dial to five point three nine"),
    Fault("the cutter's middle where its face belongs", "gate-splines",
          r"Move on across five millimetres, the same way\. [^.]*axis\.",
          "Move on across three millimetres, the same way."),
    Fault("touched beside the crown", "gate-splines",
          rf"{_TOUCH}|(Lower the table clear\. Move on across [^.]*\.)",
          r"\1 Touch the top of the work with the turning cutter, "
          "and set the depth dial to nought."),
    Fault("the root is left standing between the splines", "gate-splines",
          r"Depth dial to two point five millimetres", "Depth dial to one millimetre"),
    Fault("the second side of a spline stays on the first", "gate-splines",
          r"Wind the table back across, over the spline, ten millimetres and one turn more\. "
          r"Then one turn on, the first way again: the slack lies as it did\.",
          "Leave the table where it is."),
    Fault("the second setting of a clutch is left out", "even-clutch",
          r"Lower the table clear\. Move on across[^.]*\.", "Leave the table where it is."),
    Fault("a clutch turned on too little for its second setting", "even-clutch",
          "From the first hole: two holes", "From the first hole: one hole"),
    Fault("a saw-tooth clutch with the head half a degree off", "screw-clutch",
          "eighty-one degrees six minutes", "eighty-one degrees thirty-six minutes"),
    Fault("a saw-tooth clutch that stands upright", "screw-clutch",
          "Head tilted to eighty-one degrees six minutes",
          "Head tilted to ninety degrees zero minutes"),
    Fault("a saw-tooth clutch that drives the other way", "screw-clutch",
          "Touch the right side", "Touch the left side"),
    Fault("the depth along the axis on the dial of a tilted head", "screw-clutch",
          "Pass two, six point nine two|Depth dial to six point nine two",
          "Depth dial to seven point zero zero"),
    Fault("the cutter's middle where a saw tooth's upright side belongs", "screw-clutch",
          "Move across twenty-five millimetres", "Move across twenty-four millimetres"),
    Fault("cut on either side of a tilted face", "screw-clutch",
          r"The tilted face has a high side and a low side\. Cut on the high side only\.",
          "Mind the tilted face."),
    Fault("a cam's work turns the wrong way", "feed-cam",
          "the work must turn anticlockwise", "the work must turn clockwise"),
    Fault("the vertical spindle not parallel to a cam's axis", "feed-cam",
          "swung twenty-three degrees", "swung twenty degrees"),
    Fault("the rise itself fed by the table of an inclined cam", "feed-cam",
          "in nine point seven eight millimetres", "in nine millimetres"),
    Fault("a cam indexed with the mill in the work", "feed-cam",
          r"Index outside only: run[^.]*\.[^.]*\. So the slack lies alike\.", "Then index."),
    Fault("a cam's drivers and driven gears changed about", "feed-cam",
          "thirty-two on the head, meshing with seventy-two",
          "seventy-two on the head, meshing with thirty-two"),
    Fault("the table is offset the wrong way for trimming", "crusher-bevel",
          r"millimetres away from you, out of", "millimetres towards you, out of"),
    Fault("the roll without the offset", "crusher-bevel",
          r"Offset the table \S+(?: \S+)*? millimetres", "Offset the table zero millimetres"),
    Fault("a bevel gear's second side trimmed from beside the middle", "crusher-bevel",
          r"Bring the table one point one one", "Bring the table one point zero five",
          seen="off its middle"),
    Fault("a bevel gear's blank rolled a hole too little for its second side", "crusher-bevel",
          "twenty holes on the forty-nine", "nineteen holes on the forty-nine",
          seen="off its middle"),
    Fault("the table swung for the other hand", "pump-helical",
          r"anticlockwise seen from above: its right end goes away from you",
          "clockwise seen from above: its right end comes towards you"),
    Fault("the table swung three degrees too little", "pump-helical",
          "Now swing the table twenty degrees", "Now swing the table seventeen degrees",
          seen="thick at the pitch line"),
    Fault("drivers and driven gears changed about", "pump-helical",
          r"seventy-two on the head, meshing with twenty-eight",
          "twenty-eight on the head, meshing with seventy-two"),
    Fault("a groove's gears changed about", "press-auger",
          "fifty-six on the head, meshing with twenty-four",
          "twenty-four on the head, meshing with fifty-six"),
    Fault("a left-hand groove proven as a right-hand one", "press-auger",
          "must turn as a left-hand screw", "must turn as a right-hand screw"),
    Fault("the table swung for the floor of a groove, not for its top", "press-auger",
          "swing the table thirty degrees",
          "swing the table twenty-two degrees thirty-four minutes"),
    Fault("a groove cut with the slack of screw and gears in it", "bush-oil-grooves",
          r"Run back two turns of the screw beyond the start\. ", ""),
    Fault("the cutter left in its groove on the way back", "bush-oil-grooves",
          "After each cut lower the table clear before you run it back", "After each cut go back"),
    Fault("a plate that the back pin holds while the screw drives it", "bush-oil-grooves",
          "Back pin out, so that the plate is free to turn", "Mind the plate"),
    Fault("the screw turned against a worm in mesh", "cloth-winder",
          "Worm out of mesh before the gears go on: the table screw turns the spindle itself",
          "The table screw turns the spindle itself"),
    Fault("the direct pin in while the table drives the spindle", "cloth-winder",
          "The direct pin is out whenever the table moves", "Mind the direct pin"),
    Fault("one hole too many between two starts", "cloth-winder",
          "Eight holes", "Nine holes", times=1),
    Fault("the teeth of another gear counted", "cloth-winder",
          "twenty-four teeth of the gear", "eight teeth of the gear"),
    Fault("a groove that begins nowhere in particular", "cloth-winder",
          r"Set the table's dial to nought there\. ", ""),
    Fault("the groove half as long", "cloth-winder",
          "feed the table thirty-six", "feed the table eighteen"),
    Fault("a shifted gear cut to the depth of its drawing by a cutter of plain teeth",
          "sieve-pinion", "Depth dial to seven millimetres",
          "Depth dial to six point seven five millimetres", seen="the drawing allows"),
    Fault("a shifted gear with the cutter of its own number", "sieve-pinion",
          "Cutter eight by diametral pitch, or cutter one by module",
          "Cutter seven by diametral pitch, or cutter two by module", seen="the drawing allows"),
    Fault("a stub gear cut to the whole depth of full teeth", "grate-wheel",
          "Depth dial to eight point two", "Depth dial to nine"),
    Fault("a worm wheel gashed without the way from the touch to the throat",
          "scratter-worm-wheel", "seven point nine five", "six point four five"),
    Fault("the table of a worm wheel swung for the other hand", "scratter-worm-wheel",
          r"anticlockwise seen from above: its right end goes away from you",
          "clockwise seen from above: its right end comes towards you"),
    Fault("a worm wheel's gashes beside the axis", "scratter-worm-wheel",
          "half the mandrel and one millimetre", "half the mandrel and two millimetres"),
    Fault("one hole too many between two gashes", "scratter-worm-wheel",
          "then thirteen holes", "then fourteen holes", times=1),
    Fault("every flute as deep as the deepest", "bung-reamer",
          r"Depth dial to three point [a-z ]+ millimetres", "Depth dial to four millimetres"),
    Fault("the cutter's middle where its upright side belongs", "bung-reamer",
          r"Move across sixteen millimetres: the upright side stands over the axis\.",
          "Move across sixteen millimetres and half the cutter's width."),
    Fault("the point of a double-angle cutter moved to the wrong side", "spigot-reamer",
          "the flank of twelve degrees leading", "the flank of twelve degrees trailing"),
    Fault("the leaning flank turned about", "spigot-reamer",
          "It looks away from the side that comes up", "It looks towards the side that comes up"),
    Fault("every flute of a double-angle cutter as deep as the deepest", "spigot-reamer",
          r"Depth dial to two point [a-z ]+ millimetres",
          "Depth dial to three point three eight millimetres"),
    Fault("one edge of a pair a hole off", "spigot-reamer",
          "then thirty-two holes", "then thirty-three holes", times=1),
    Fault("the offset of a rake to the wrong side", "press-ratchet",
          r"Lower the table clear\. Move on across three point nine two millimetres, "
          r"the same way\. [^.]*axis\.",
          "Wind the table back across, three point nine two millimetres and one turn more. "
          "Then one turn on, the first way again."),
    Fault("a raked ratchet touched beside the crown", "press-ratchet",
          rf"{_TOUCH}|(Lower the table clear\. Move on across [^.]*\.[^.]*axis\.)",
          r"\1 Touch the top of the work with the turning cutter, "
          "and set the depth dial to nought."),
    Fault("a diameter for a radius", "hopper-flange",
          "Then sixty millimetres out", "Then one hundred twenty millimetres out"),
    Fault("the slack of the cross slide is not taken up before it goes out", "hopper-flange",
          r" Come up to it the way that you then go out\.", "", slack=0.3, seen="from the axis"),
    Fault("the slack is not taken up for a bevel gear's second side", "crusher-bevel",
          r" and one turn more\. Then one turn back, away from you: the slack lies as it did\.",
          ".", slack=0.3, seen="off its middle"),
    Fault("any plate will do for a blank that is rolled by holes", "crusher-bevel",
          r"Plate . on the head, its screws tight|Crank pin set to the forty-nine circle",
          "Any plate and any hole will do", seen="the pin stands on"),
    Fault("a plate's circle on its diameter for its radius", "mill-plate",
          "Then seventy-five millimetres out", "Then one hundred fifty millimetres out"),
    Fault("a hole short, and so all that follow", "mill-plate",
          "hirty-eight holes", "hirty-seven holes", times=1),
    Fault("a long line where a short one is drawn", "cask-rule",
          r"Six turns\. Set the stop: short line", "Six turns. Set the stop: long line", times=1),
    Fault("a point that is drawn touches off as a turning cutter", "press-collar",
          "Touch the top of the work with the point,",
          "Touch the top of the work with the turning cutter,", seen="is held, not turned"),
    Fault("a notch's depth is called and nothing was touched", "pinion", _TOUCH, "Look at it.",
          seen="nothing was touched"),
    Fault("notches not as deep as the job has them", "pinion", "Depth dial to five point four",
          "Depth dial to four point five", seen="deep for"),
    Fault("the wrong figure to stamp", "cask-rule", "stamp twenty", "stamp thirty"),
    # Too little for the section over its drawing: only the limits see them.
    Fault("flats cut to the drawing's figure, above the middle of their limits", "hexagon-plug",
          "Depth dial to three point zero three", "Depth dial to two point nine nine",
          size='"24 mm"', limited='"24 mm -0.1 +0"', seen="the drawing allows"),
    Fault("a keyway a hundredth under its lower limit", "mill-keyways",
          "Depth dial to five point one", "Depth dial to four point nine nine",
          size='depth = "5 mm"', limited='depth = "5 mm +0.2 +0"', seen="the drawing allows"),
    Fault("splines as wide as their figure, over their upper limit", "gate-splines",
          "over the spline, nine point nine six", "over the spline, ten",
          size='width = "6 mm"', limited='width = "6 mm -0.06 -0.02"', seen="the drawing allows"),
    Fault("a span cut to the figure without its limits", "elevator-pinion",
          "Depth dial to five point seven four", "Depth dial to five point six four",
          size="passes = 2", limited='passes = 2\nspan_limits = "-0.15 -0.05 mm"',
          seen="the drawing allows"),
    Fault("a span thinned twice for its limits", "elevator-pinion",
          "Depth dial to five point seven four", "Depth dial to five point eight four",
          size="passes = 2", limited='passes = 2\nspan_limits = "-0.15 -0.05 mm"',
          seen="the drawing allows"),
    Fault("a thou too little on a flat", "hexagon-plug",
          "Depth dial to one hundred eighteen point one", "Depth dial to one hundred seventeen",
          inches=True),
    Fault("a keyway's floor a thou too deep", "mill-keyways",
          "Depth dial to one hundred ninety-six point nine",
          "Depth dial to one hundred ninety-seven point nine", inches=True),
    Fault("a figure of millimetres called in thou", "hexagon-plug",
          "Depth dial to one hundred eighteen point one", "Depth dial to three hundred",
          inches=True),
    Fault("cut with the spindle loose", "hexagon-plug", r"Lock the spindle\.", "Ready."),
]  # fmt: skip
