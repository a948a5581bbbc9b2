"""The questions of each kind, in the order in which its drawing is read."""

from __future__ import annotations

from assistant.asking import by_tables
from assistant.asking.question import ASKED, Answers, Form, Question
from assistant.setup.talk import Choice
from assistant.words.language import mark

_PASSES = Question(
    "work", "passes", mark("In how many passes?"),
    mark("Times round the work: two, where the last is to be a light one by the size measured."),
    Form.WHOLE, default=lambda _: "1",
)  # fmt: skip
_FINISH = Question(
    "work", "finish", mark("How much is left for the last pass?"),
    mark("On the depth. Custom leaves a quarter of a millimetre, or ten thou."), Form.LENGTH,
    default=lambda a: "0.25 mm" if a.unit == "mm" else "10 thou",
    when=lambda a: (a.whole("passes") or 1) > 1,
)  # fmt: skip


def _whole(key: str, ask: str, means: str, default: str = "") -> Question:
    return Question("work", key, ask, means, Form.WHOLE, default=lambda _: default)


def _length(key: str, ask: str, means: str, needed: bool = True) -> Question:
    return Question("work", key, ask, means, Form.LENGTH, needed=needed)


def _angle(key: str, ask: str, means: str, default: str = "") -> Question:
    return Question("work", key, ask, means, Form.ANGLE, default=lambda _: default)


# --- gears --------------------------------------------------------------------------------

_SYSTEM = Question(
    ASKED, "pitch", mark("How does the drawing give the size of the teeth?"),
    mark("Module is millimetres of pitch diameter a tooth, diametral pitch is teeth to the inch."),
    Form.CHOICE,
    (Choice("module", mark("by module")), Choice("diametral_pitch", mark("by diametral pitch"))),
    lambda a: "diametral_pitch" if a.unit == "in" else "module",
)  # fmt: skip


def _by(system: str, answers: Answers) -> bool:
    return answers.of("pitch", ASKED) == system


_TOOTH = (
    _SYSTEM,
    Question(
        "work", "module", mark("Which module?"),
        mark("Standard ones are 1, 1.25, 1.5, 2, 2.5, 3, 4, 5 and 6 (ISO 54, first series)."),
        Form.NUMBER, when=lambda a: _by("module", a),
    ),
    Question(
        "work", "diametral_pitch", mark("Which diametral pitch?"),
        mark("What is stamped on the cutter: a whole number as a rule, like 10 or 16."),
        Form.NUMBER, when=lambda a: _by("diametral_pitch", a),
    ),
    _angle(
        "pressure_angle", mark("Which pressure angle?"),
        mark("That of the cutter and of the mate: 20 degrees today, 14.5 on much old work."), "20d",
    ),
    Question(
        "work", "whole_depth", mark("Whole depth, in modules?"),
        mark("What is stamped on the cutter comes first; custom stands in brackets."),
        Form.NUMBER, default=by_tables.whole_depth,
    ),
)  # fmt: skip
_TEETH = _whole(
    "teeth", mark("How many teeth?"), mark("All the way round. They decide the cutter's number.")
)
_SPECIAL = Question(
    "work", "special_cutter", mark("Have you a cutter made for so few teeth?"),
    mark("The usual sets begin at twelve teeth."), Form.FLAG, default=lambda _: "no",
    when=lambda a: (a.whole("teeth") or 12) < 12,
)  # fmt: skip
_FACE = _length("face", mark("How wide is the gear?"), mark("Face width, along the teeth."))

_SPUR = (
    _TEETH,
    Question(
        "work", "addendum", mark("How high is a tooth above the pitch line, in modules?"),
        mark("One as a rule; 0.8 for stub teeth."), Form.NUMBER, default=lambda _: "1",
    ),
    *_TOOTH,
    _SPECIAL,
    Question(
        "work", "shift", mark("How far is the profile shifted, in modules?"),
        mark("Outward over nought, as the drawing has it. Nought: not shifted."), Form.NUMBER,
        default=lambda _: "0",
    ),
    Question(
        "work", "span_limits", mark("Limits of the size over teeth?"),
        mark("Two deviations from the size worked out, like -0.15 -0.05. Enter: none."),
        Form.DEVIATIONS, needed=False,
    ),
    Question(
        "work", "thickness_limits", mark("Limits of the thickness of a tooth, for backlash?"),
        mark("At the pitch line, two deviations, like -0.16 -0.06: cut deeper by it. Enter: none."),
        Form.DEVIATIONS, needed=False, when=lambda a: a.of("span_limits") is None,
    ),
    Question(
        "work", "blank", mark("What does the blank measure?"),
        mark("Its outside diameter as it is: a small one is cut less deep."), Form.LENGTH,
        default=by_tables.gear_blank,
    ),
    _PASSES,
    _FINISH,
)  # fmt: skip
_HANDS = (Choice("right", mark("right hand")), Choice("left", mark("left hand")))
_HELICAL = (
    _TEETH, *_TOOTH, _SPECIAL,
    _angle("helix_angle", mark("Which helix angle?"), mark("At the pitch line, from the axis.")),
    Question(
        "work", "hand", mark("Which hand?"),
        mark("Right: the teeth rise to the right when the axis stands upright before you."),
        Form.CHOICE, _HANDS, lambda _: "right",
    ),
    _FACE, _PASSES, _FINISH,
    Question(
        "machine", "table_screw", mark("Lead of the table screw?"),
        mark("How far one turn of its handle moves the table."), Form.LENGTH,
        default=lambda a: "5 mm" if a.unit == "mm" else "1/4 in",
    ),
)  # fmt: skip
_GROOVES = (
    _whole("grooves", mark("How many grooves?"), mark("Equally spaced, two or more."), "2"),
    _length("diameter", mark("Diameter of the work?"), mark("Outside, where the grooves begin.")),
    Question(
        ASKED, "helix", mark("How does the drawing give the helix?"),
        mark("The angle is taken at the outside, from the axis."), Form.CHOICE,
        (Choice("lead", mark("by its lead")), Choice("helix_angle", mark("by its angle"))),
        lambda _: "lead",
    ),
    Question(
        "work", "lead", mark("Which lead?"),
        mark("How far along the work one groove goes in a whole turn round it."), Form.LENGTH,
        when=lambda a: a.of("helix", ASKED) != "helix_angle",
    ),
    Question(
        "work", "helix_angle", mark("Which helix angle?"),
        mark("The angle is taken at the outside, from the axis."), Form.ANGLE,
        when=lambda a: a.of("helix", ASKED) == "helix_angle",
    ),
    Question(
        "work", "hand", mark("Which hand?"),
        mark("Right: the groove rises to the right when the axis stands upright before you."),
        Form.CHOICE, _HANDS, lambda _: "right",
    ),
    _length("length", mark("How long is a groove?"), mark("Along the axis, as the table goes.")),
    _length("width", mark("How wide is a groove?"), mark("Square to its own way.")),
    _length("depth", mark("How deep is a groove?"), mark("From the outside.")),
    Question(
        "work", "cutter_form", mark("Which cutter cuts it?"),
        mark("For a disc the table is swung, up to its stop. An end mill needs no swing."),
        Form.CHOICE,
        (
            Choice("end", mark("an end mill in the vertical spindle")),
            Choice("form", mark("a form cutter on the arbor")),
            Choice("side", mark("a side cutter on the arbor")),
        ),
        lambda _: "end",
    ),
    _PASSES, _FINISH,
    _HELICAL[-1],
)  # fmt: skip
_BEVEL = (
    _TEETH,
    _whole("mate", mark("How many teeth has the mate?"), mark("Both together give the cones.")),
    *_TOOTH, _SPECIAL,
    _angle("shaft_angle", mark("Angle between the shafts?"), mark("As a rule a right one."), "90d"),
    _FACE,
    _length(
        "cutter_thickness_large", mark("How thick is the cutter at the pitch line?"),
        mark("Measured a dedendum above its edge: the blank is rolled and set over by it."),
    ),
    _PASSES, _FINISH,
)  # fmt: skip

_WORM_WHEEL = (
    _TEETH,
    Question(
        "work", "module", mark("Which module?"), mark("That of the worm, along its axis."),
        Form.NUMBER,
    ),
    _angle(
        "pressure_angle", mark("Which pressure angle?"),
        mark("That of the cutter and of the mate: 20 degrees today, 14.5 on much old work."), "20d",
    ),
    _whole("starts", mark("How many starts has the worm?"), mark("One as a rule."), "1"),
    _length(
        "worm_diameter", mark("Which diameter has the worm?"),
        mark("At its pitch line: outside less two modules."),
    ),
    Question(
        "work", "hand", mark("Which hand has the worm?"), mark("The wheel's teeth lean alike."),
        Form.CHOICE, _HANDS, lambda _: "right",
    ),
    _length("face", mark("How wide is the hollow of the wheel?"), mark("From edge to edge.")),
    _length(
        "cutter_width", mark("How wide is the cutter for the gashes?"),
        mark("So narrow that the hob finds stock on both flanks."),
    ),
    _length(
        "leave", mark("How much is left for the hob?"),
        mark("On the floor. Enter: an eighth of the module."), needed=False,
    ),
    _PASSES, _FINISH,
)  # fmt: skip

# --- shafts -------------------------------------------------------------------------------

_POLYGON = (
    _whole("sides", mark("How many flats?"), mark("Four for a square, six for a hexagon."), "6"),
    _length(
        "across_flats", mark("Size across flats, with its limits?"),
        mark("Like 24, 24 h11, 24 -0.1 +0, or M12: a screw's head, with its standard's limits."),
    ),
    Question(
        "work", "bar", mark("Diameter of the bar?"),
        mark("In brackets the first one that gives sharp corners; less leaves them round."),
        Form.LENGTH, default=by_tables.sharp_bar,
    ),
    _PASSES, _FINISH,
)  # fmt: skip
_SPLINES = (
    _whole("splines", mark("How many splines?"), mark("Six, eight or ten in the standard."), "6"),
    _length("outside", mark("Outside diameter?"), mark("Of the shaft, over the splines.")),
    Question(
        "work", "root", mark("Diameter at the root?"),
        mark("In brackets where ISO 14 has such a shaft."), Form.LENGTH,
        default=lambda a: by_tables.spline(a, "root"),
    ),
    Question(
        "work", "width", mark("Width of a spline, with its limits?"),
        mark("Like 6, or 6 -0.05 -0.02. In brackets where ISO 14 has such a shaft."),
        Form.LENGTH, default=lambda a: by_tables.spline(a, "width"),
    ),
    _length(
        "cutter_width", mark("How wide is the cutter for the sides?"),
        mark("It has to fit between two splines down at the root."),
    ),
    _length(
        "root_saw", mark("How wide is the saw that makes the root round?"),
        mark("It is stepped round between the splines. Enter: none."), needed=False,
    ),
    _PASSES, _FINISH,
)  # fmt: skip
_KEYWAYS = (
    _whole("keyways", mark("How many keyways?"), mark("Equally spaced, two or more."), "2"),
    _length("shaft", mark("Diameter of the shaft?"), mark("The standard has a key for each.")),
    Question(
        "work", "width", mark("How wide is a keyway?"),
        mark("In brackets the standard key of this shaft."), Form.LENGTH,
        default=by_tables.key_width,
    ),
    Question(
        "work", "depth_from", mark("From where does the drawing count the depth?"),
        mark("The two differ by the height of the round over the slot."), Form.CHOICE,
        (Choice("crown", mark("from the top of the round")),
         Choice("side", mark("from the edge of the slot"))),
        by_tables.key_depth_from,
    ),
    Question(
        "work", "depth", mark("How deep, with its limits?"),
        mark("Like 5, or 5 -0 +0.1. In brackets the standard's."), Form.LENGTH,
        default=by_tables.key_depth,
    ),
    _PASSES, _FINISH,
)  # fmt: skip

# --- wheels -------------------------------------------------------------------------------

_CLUTCH = (
    _whole("teeth", mark("How many teeth?"), mark("Odd: one setting. Even: two."), "5"),
    _length("outside", mark("Outside diameter of the teeth?"), mark("Where they end.")),
    _length("bore", mark("Inside diameter of the teeth?"), mark("Where they begin.")),
    _length("depth", mark("How deep are the spaces?"), mark("From the face of the blank.")),
    _length(
        "cutter_width", mark("How wide is the cutter?"),
        mark("It must fit through a space at the inside diameter."),
    ),
    _angle(
        "clearance", mark("How much wider is a space than a tooth?"),
        mark("An angle, so that the halves engage. Nought: they fit without play."), "0d",
    ),
    _PASSES, _FINISH,
)  # fmt: skip
_ANGULAR_CLUTCH = (
    Question(
        "work", "form", mark("Which form have the teeth?"),
        mark("Saw teeth drive one way and slip the other, V teeth drive both ways."), Form.CHOICE,
        (Choice("saw-tooth", mark("saw teeth")), Choice("v", mark("like a V"))),
        lambda _: "saw-tooth",
    ),
    Question(
        "work", "drives", mark("Which way does this half push the other?"),
        mark("As you look at its face. The other half is cut alike."), Form.CHOICE,
        (Choice("clockwise", mark("clockwise")), Choice("anticlockwise", mark("anticlockwise"))),
        lambda _: "clockwise", when=lambda a: a.of("form") != "v",
    ),
    _whole("teeth", mark("How many teeth?"), mark("All the way round.")),
    _length("outside", mark("Outside diameter of the teeth?"), mark("Where they end.")),
    _length("bore", mark("Inside diameter of the teeth?"), mark("Where they begin.")),
    _angle(
        "cutter_angle", mark("Which angle has the cutter?"),
        mark("For saw teeth a single-angle cutter, for a V a double-angle one."), "60d",
    ),
    _length(
        "depth", mark("How deep are the teeth at the rim?"),
        mark("Along the axis. Enter: to sharp points."), needed=False,
    ),
    _PASSES, _FINISH,
)  # fmt: skip
_PLATE_CAM = (
    _whole("lobes", mark("How many lobes?"), mark("All the way round, all alike."), "3"),
    _length("outside", mark("Diameter over the points?"), mark("As the blank is turned.")),
    _length("rise", mark("How far does a lobe rise?"), mark("From its low place to its point.")),
    _angle("over", mark("Over which angle does it rise?"), mark("What is left is for the drop.")),
    Question(
        "work",
        "rises",
        mark("Which way round does it rise?"),
        mark("As you look at its face, from a low place to the point."),
        Form.CHOICE,
        (Choice("clockwise", mark("clockwise")), Choice("anticlockwise", mark("anticlockwise"))),
        lambda _: "clockwise",
    ),
    _length("thickness", mark("How thick is the blank?"), mark("The mill goes along it.")),
    _length(
        "mill",
        mark("Which diameter has the end mill?"),
        mark("A roller as large follows the cam truly."),
    ),
    _HELICAL[-1],  # the table screw drives the head here too
)
_RATCHET = (
    _whole("teeth", mark("How many teeth?"), mark("All the way round.")),
    _length("diameter", mark("Diameter of the wheel?"), mark("Over the points of the teeth.")),
    _length("depth", mark("How deep is a tooth?"), mark("Along its face.")),
    _angle(
        "cutter_angle", mark("Which angle has the cutter?"),
        mark("A single-angle cutter, between face and back of a tooth."), "60d",
    ),
    _angle(
        "rake", mark("How far does the face lean in?"),
        mark("So that the pawl is drawn in. Nought: the face points at the axis."), "0d",
    ),
    _PASSES, _FINISH,
)  # fmt: skip
_FLUTES = (
    Question(
        "work", "tool", mark("Which tool is it?"),
        mark("A tap's flutes stand equally, a reamer's unevenly, against chatter."), Form.CHOICE,
        (Choice("reamer", mark("a reamer")), Choice("tap", mark("a tap"))), lambda _: "reamer",
    ),
    Question(
        "work", "flutes", mark("How many flutes?"), mark("A tap has four as a rule."), Form.WHOLE,
        default=lambda a: "4" if a.of("tool") == "tap" else "6",
    ),
    _length("diameter", mark("Diameter of the tool?"), mark("Over its edges.")),
    _length("depth", mark("How deep is a flute?"), mark("From the edge.")),
    _angle(
        "cutter_angle", mark("Which angle has the cutter?"),
        mark("Between its flanks. Nought: a side cutter, or a form cutter for taps."), "0d",
    ),
    Question(
        "work", "lands", mark("How are the lands of the reamer to come out?"),
        mark("Alike: each flute gets a depth of its own. A form cutter can't do that."),
        Form.CHOICE,
        (
            Choice("alike", mark("all alike")),
            Choice("unequal", mark("as unequal as the spaces")),
        ),
        lambda _: "alike", when=lambda a: a.of("tool") == "reamer",
    ),
    _angle(
        "rake", mark("Which hook has the cutting face?"),
        mark("Nought: it points at the axis."), "0d",
    ),
    _PASSES, _FINISH,
)  # fmt: skip

# --- scales, holes, plain cuts ------------------------------------------------------------

_PATTERN = (
    Question(
        "work", "pattern", mark("Which lines are longer?"),
        mark("Like 10 long 8; 5 middle 6 for every tenth and every fifth. Enter: none."),
        Form.PATTERN, needed=False,
    ),
    _length(
        "line_length", mark("How long are all other lines?"), mark("Enter: by eye."), needed=False
    ),
    Question(
        "work", "number_every", mark("Every how many lines is a number stamped?"),
        mark("Enter: none."), Form.WHOLE, needed=False,
    ),
    _length("depth", mark("How deep are the lines?"), mark("Enter: by eye."), needed=False),
)  # fmt: skip
_GRADUATIONS = (
    _whole("lines", mark("How many spaces all the way round?"), mark("As many as lines.")),
    Question(
        "work", "on", mark("On what are they?"), mark("It decides how the head stands."),
        Form.CHOICE,
        (Choice("collar", mark("round a collar")), Choice("disc", mark("on the face of a disc"))),
        lambda _: "collar",
    ),
    _length(
        "diameter", mark("Diameter there?"), mark("For the spacing at the rim. Enter: not known."),
        needed=False,
    ),
    *_PATTERN,
)  # fmt: skip
_RULE = (
    _whole("lines", mark("How many lines?"), mark("With the first and the last.")),
    _length("spacing", mark("How far apart?"), mark("From line to line.")),
    _length("width", mark("How wide is the rule?"), mark("Enter: not known."), needed=False),
    *_PATTERN,
    _HELICAL[-1],
)  # fmt: skip
_BOLT_CIRCLE = (
    _whole("holes", mark("How many holes?"), mark("Equally spaced."), "6"),
    _length("circle", mark("Diameter of the circle?"), mark("Through the holes' centres.")),
    _length("hole", mark("Diameter of a hole?"), mark("As drilled.")),
    _length(
        "blank", mark("Outside diameter of the blank?"), mark("Enter: not known."), needed=False
    ),
)  # fmt: skip
_PLATE_CIRCLE = (
    _whole("holes", mark("How many holes?"), mark("Of the new circle."), "51"),
    *_BOLT_CIRCLE[1:],
)
_DIVISIONS = (
    _whole("count", mark("How many divisions?"), mark("Equal ones, all the way round.")),
    _length("depth", mark("How deep?"), mark("Called with the cut. Enter: not given."), False),
    _PASSES,
)  # fmt: skip
_ANGLES = (
    Question(
        "work", "angles", mark("At which angles?"),
        mark("In degrees from the first, which is 0, like 0 30 75d30m 180."), Form.ANGLES,
    ),
    _DIVISIONS[1],
    _PASSES,
)  # fmt: skip

QUESTIONS: dict[str, tuple[Question, ...]] = {
    "spur-gear": _SPUR,
    "helical-gear": _HELICAL,
    "helical-grooves": _GROOVES,
    "bevel-gear": _BEVEL,
    "worm-wheel": _WORM_WHEEL,
    "polygon": _POLYGON,
    "splines": _SPLINES,
    "keyways": _KEYWAYS,
    "clutch": _CLUTCH,
    "plate-cam": _PLATE_CAM,
    "angular-clutch": _ANGULAR_CLUTCH,
    "ratchet": _RATCHET,
    "flutes": _FLUTES,
    "graduations": _GRADUATIONS,
    "rule": _RULE,
    "bolt-circle": _BOLT_CIRCLE,
    "plate-circle": _PLATE_CIRCLE,
    "divisions": _DIVISIONS,
    "angles": _ANGLES,
}
"""By the kind's name in the job file."""
