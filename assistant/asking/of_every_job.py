"""The questions that every job is asked: before its kind, and after it."""

from __future__ import annotations

from assistant.asking.question import Answers, Form, Question
from assistant.job.feeds import MATERIALS
from assistant.setup.talk import Choice
from assistant.words.language import mark

KIND = ("work", "kind")
CUTTER = ("cutter", "name")
NONE = "-"

_UNITS = (Choice("mm", mark("millimetres")), Choice("in", mark("inches and thou")))

KINDS = (
    Choice("spur-gear", mark("a gear with straight teeth")),
    Choice("helical-gear", mark("a gear with helical teeth")),
    Choice("helical-grooves", mark("grooves or flutes along a helix")),
    Choice("bevel-gear", mark("a bevel gear with straight teeth")),
    Choice("worm-wheel", mark("a worm wheel, gashed for the hob")),
    Choice("polygon", mark("flats on a round bar: a square, a hexagon")),
    Choice("splines", mark("splines on a shaft")),
    Choice("keyways", mark("keyways in a shaft")),
    Choice("clutch", mark("a dog clutch")),
    Choice("angular-clutch", mark("a clutch with saw teeth or V teeth")),
    Choice("plate-cam", mark("a plate cam that rises evenly")),
    Choice("ratchet", mark("a ratchet wheel")),
    Choice("flutes", mark("flutes of a reamer or a tap")),
    Choice("graduations", mark("lines round a collar or a dial")),
    Choice("rule", mark("lines along a flat rule")),
    Choice("bolt-circle", mark("holes on a circle")),
    Choice("plate-circle", mark("a circle of holes for a plate of the head")),
    Choice("divisions", mark("equal divisions of any form")),
    Choice("angles", mark("cuts at given angles")),
)

_MATERIALS = (
    Choice("mild-steel", mark("mild steel")),
    Choice("tool-steel", mark("tool steel")),
    Choice("stainless-steel", mark("stainless steel")),
    Choice("wrought-iron", mark("wrought iron")),
    Choice("cast-iron", mark("cast iron")),
    Choice("bronze", mark("bronze")),
    Choice("brass", mark("brass")),
    Choice("aluminium", mark("aluminium")),
)
assert {each.key for each in _MATERIALS} == set(MATERIALS)


def before(units: str) -> tuple[Question, ...]:
    """Title, numbers, how many, units, kind. `units` is what is customary here."""
    return (
        Question(
            "", "title", mark("What is it called?"),
            mark("As it stands on the drawing. It is shown and spoken."), Form.WORDS,
        ),
        Question(
            "", "part", mark("Its part number?"),
            mark("For the report. Enter: none."), Form.WORDS, needed=False,
        ),
        Question(
            "", "drawing", mark("The number of the drawing?"),
            mark("For the report, with its sheet and state. Enter: none."), Form.WORDS,
            needed=False,
        ),
        Question(
            "", "batch", mark("How many of them?"),
            mark("Made one after the other in one session. Enter: one."), Form.WHOLE,
            needed=False,
        ),
        Question(
            "", "units", mark("In which lengths is the drawing?"),
            mark("A bare number is taken so; 3/4 in and 12 mm are understood at any time."),
            Form.CHOICE, _UNITS, lambda _: units,
        ),
        Question(
            *KIND, mark("What kind of work is it?"),
            mark("By its number or its name. It decides what is asked next."), Form.CHOICE, KINDS,
        ),
    )  # fmt: skip


def after(head: str, drawer: tuple[Choice, ...] = ()) -> tuple[Question, ...]:
    """Material, cutter, length of cut, head. `head` is the one of the settings, `drawer` the
    cutters that fit, the best first."""
    return (
        Question(
            "", "material", mark("Which material?"),
            mark("For speed, feed and time: a first guess, to be mended at the machine."),
            Form.CHOICE, _MATERIALS, lambda _: "mild-steel",
        ),
        Question(
            *CUTTER, mark("Which cutter from the drawer?"),
            mark("By its number or its name. It counts as it measures now, after sharpening."),
            Form.CHOICE, (*drawer, Choice(NONE, mark("none of these"))),
            lambda _: _right(drawer), needed=False,
            when=lambda a: bool(drawer) or _taken(a),
        ),
        Question(
            "cutter", "diameter", mark("Diameter of the cutter?"),
            mark("Of the one in the drawer. For speed and time. Enter: not known."),
            Form.LENGTH, needed=False, when=lambda a: not _taken(a),
        ),
        Question(
            "cutter", "width", mark("Width of the cutter?"),
            mark("So that its way over the axis is one figure. Enter: not known."),
            Form.LENGTH, default=_cutter_width, needed=False, when=lambda a: not _taken(a),
        ),
        Question(
            "cutter", "teeth", mark("How many teeth has the cutter?"),
            mark("For feed and time. Enter: not known."), Form.WHOLE, needed=False,
            when=lambda a: a.length("diameter", "cutter") is not None and not _taken(a),
        ),
        Question(
            "work", "cut_length", mark("How long is a cut?"),
            mark("From it the time is worked out. Enter: not known."), Form.LENGTH, needed=False,
            default=_face, when=lambda a: a.of("teeth", "cutter") is not None or _taken(a),
        ),
        Question(
            "work", "minutes_per_cut", mark("About how many minutes does a cut take?"),
            mark("With its move. Enter: not known."), Form.NUMBER, needed=False,
            when=lambda a: a.of("cut_length") is None,
        ),
        Question(
            "work", "every", mark("How many spaces on does each cut come?"),
            mark("Seven, say, so that the heat does not add up. Enter: one after the other."),
            Form.WHOLE, needed=False, when=_in_blocks,
        ),
        Question(
            "", "head", mark("Which dividing head?"),
            mark("Its name, or the path of its file."), Form.WORDS, default=lambda _: head,
        ),
    )  # fmt: skip


_MANY = 30  # cuts: with fewer the work has cooled by the next one (judged)


def _in_blocks(answers: Answers) -> bool:
    """Equal spaces all the way round, and so many of them that heat adds up."""
    key = {"spur-gear": "teeth", "ratchet": "teeth", "divisions": "count"}
    count = answers.whole(key.get(str(answers.of(KIND[1])), ""))
    return count is not None and count >= _MANY


def _right(drawer: tuple[Choice, ...]) -> str:
    """The first, where it is the right one: of one that would only do there is more to be said."""
    return drawer[0].key if drawer and drawer[0].key == drawer[0].text else NONE


def _taken(answers: Answers) -> bool:
    """The cutter comes from the drawer, which knows its sizes."""
    return answers.of("name", "cutter") is not None


def _cutter_width(answers: Answers) -> str:
    """A cutter whose width the work names is that one."""
    width = answers.length("cutter_width")
    alike = answers.of(KIND[1]) in ("keyways", "helical-grooves")
    if width is None and alike and answers.of("cutter_form") != "form":
        width = answers.length("width")
    return "" if width is None else answers.shown(width)


def _face(answers: Answers) -> str:
    face = answers.length("face") or answers.length("length")
    return "" if face is None else answers.shown(face)
