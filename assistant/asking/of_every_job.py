"""The questions that every job is asked: before its kind, and after it."""

from __future__ import annotations

from assistant.job.feeds import MATERIALS
from assistant.job.kinds.by_name import KINDS
from assistant.job.question import Answers, Form, Question
from assistant.job.work import Kind
from assistant.words.choice import Choice
from assistant.words.language import mark

KIND = ("work", "kind")
CUTTER = ("cutter", "name")
NONE = "-"

_UNITS = (Choice("mm", mark("millimetres")), Choice("in", mark("inches and thou")))

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


def questions_before(units: str) -> tuple[Question, ...]:
    """Title, numbers, how many, units, kind. `units` is what is customary here."""
    return (
        Question(
            "", "title", mark("What is it called?"),
            mark("As it stands on the drawing. It is shown and spoken."), Form.WORDS,
        ),
        Question(
            "", "part", mark("Its part number?"),
            mark("For the report. Enter: none."), Form.WORDS, needed=False, late=True,
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
            mark("By its number or its name. It decides what is asked next."), Form.CHOICE,
            tuple(Choice(kind.name, kind.title) for kind in KINDS.values()),
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
            mark("For feed and time. Enter: not known."), Form.WHOLE, needed=False, late=True,
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
            when=lambda a: a.of("cut_length") is None, late=True,
        ),
        Question(
            "work", "every", mark("How many spaces on does each cut come?"),
            mark("Seven, say, so that the heat does not add up. Enter: one after the other."),
            Form.WHOLE, needed=False, when=_in_blocks, late=True,
        ),
        Question(
            "", "head", mark("Which dividing head?"),
            mark("Its name, or the path of its file."), Form.WORDS, default=lambda _: head,
        ),
    )  # fmt: skip


def kind_of(answers: Answers) -> Kind | None:
    """The kind of work that was chosen; None while none is."""
    return KINDS.get(str(answers.of(KIND[1])))


_MANY = 30  # cuts: with fewer the work has cooled by the next one (judged)


def _in_blocks(answers: Answers) -> bool:
    """Equal spaces all the way round, and so many of them that heat adds up."""
    kind = kind_of(answers)
    count = answers.whole(kind.counts) if kind else None
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
    kind = kind_of(answers)
    if width is None and kind and kind.as_wide and answers.of("cutter_form") != "form":
        width = answers.length("width")
    return "" if width is None else answers.shown(width)


def _face(answers: Answers) -> str:
    face = answers.length("face") or answers.length("length")
    return "" if face is None else answers.shown(face)
