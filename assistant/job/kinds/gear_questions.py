"""What is asked of every gear, and what is customary there."""

from __future__ import annotations

from fractions import Fraction

from assistant.job.kinds import ask
from assistant.job.kinds.gear_teeth import customary_depth
from assistant.job.question import ASKED, Answers, Form, Question
from assistant.job.units import MM_PER_INCH
from assistant.words.choice import Choice
from assistant.words.language import mark
from solver import Millimetres


def module_of(answers: Answers) -> Millimetres | None:
    """In mm, by module or by diametral pitch."""
    pitch, module = answers.number("diametral_pitch"), answers.number("module")
    if pitch:
        module = MM_PER_INCH / pitch
    return None if module is None else Millimetres(module)


def addendum(answers: Answers) -> Fraction:
    """In modules; one where it was not answered."""
    return answers.number("addendum") or Fraction(1)


def whole_depth(answers: Answers) -> str:
    """In modules, by custom: what holds where the job says nothing."""
    by_dp = bool(answers.number("diametral_pitch"))
    custom = customary_depth(module_of(answers), addendum(answers), by_dp=by_dp)
    return f"{float(custom):g}"


def _by(system: str, answers: Answers) -> bool:
    return answers.of("pitch", ASKED) == system


_SYSTEM = Question(
    ASKED, "pitch", mark("How does the drawing give the size of the teeth?"),
    mark("Module is millimetres of pitch diameter a tooth, diametral pitch is teeth to the inch."),
    Form.CHOICE,
    (Choice("module", mark("by module")), Choice("diametral_pitch", mark("by diametral pitch"))),
    lambda a: "diametral_pitch" if a.unit == "in" else "module",
)  # fmt: skip
PRESSURE_ANGLE = ask.angle_question(
    "pressure_angle", mark("Which pressure angle?"),
    mark("That of the cutter and of the mate: 20 degrees today, 14.5 on much old work."), "20d",
)  # fmt: skip
TOOTH = (
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
    PRESSURE_ANGLE,
    Question(
        "work", "whole_depth", mark("Whole depth, in modules?"),
        mark("What is stamped on the cutter comes first; custom stands in brackets."),
        Form.NUMBER, default=whole_depth,
    ),
)  # fmt: skip
TEETH = ask.whole(
    "teeth", mark("How many teeth?"), mark("All the way round. They decide the cutter's number.")
)
SPECIAL = Question(
    "work", "special_cutter", mark("Have you a cutter made for so few teeth?"),
    mark("The usual sets begin at twelve teeth."), Form.FLAG, default=lambda _: "no",
    when=lambda a: (a.whole("teeth") or 12) < 12,
)  # fmt: skip
FACE = ask.length("face", mark("How wide is the gear?"), mark("Face width, along the teeth."))
