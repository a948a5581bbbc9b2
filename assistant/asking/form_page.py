"""The questions of `job new` as one page: every question that applies, the figures and the section
that grow with the answers, and the plan. Nothing on it comes from outside.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from html import escape
from pathlib import Path

from assistant.asking.interview import HERE, Interview, bare
from assistant.asking.planned import plan_of
from assistant.drawing.outline import part_svg
from assistant.errors import Refusal
from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import Job, JobFaults, job_from_text
from assistant.job.question import Form, Place, Question, shown_value, value_of
from assistant.words.choice import Choice
from assistant.words.language import in_force, say
from solver import Refused

# Which keys a tablet shows: figures where the answer is one, letters where it may need them.
_KEYS = {
    Form.WHOLE: "numeric",
    Form.NUMBER: "decimal",
    Form.LENGTH: "decimal",
    Form.ANGLE: "decimal",
}
_LETTERS = (Form.LENGTH, Form.ANGLE)  # "24 h11", "8d50m": the other keys are one tap away
_STYLE = re.compile(r"<style>.*?</style>", re.DOTALL)


@dataclass(frozen=True, slots=True)
class FormResult:
    """What the answers come to so far: the plan with its section, or what is wrong or open."""

    open: tuple[Question, ...] = ()
    faults: Mapping[Place, str] = field(default_factory=dict)
    elsewhere: tuple[str, ...] = ()  # faults of no question
    plan: tuple[str, ...] = ()
    section: str = ""

    @property
    def good(self) -> bool:
        """There is a plan: the answers so far can be made."""
        return bool(self.plan)


def answers_shown(interview: Interview) -> FormResult:
    """With what is customary for answers that are still open."""
    trial, still = filled(interview)
    if still:
        return FormResult(open=still)
    try:
        job: Job = trial.taken(job_from_text(trial.text(), HERE))
        stages = stages_of(job, head_of(job))
        plan = tuple(plan_of(job, interview.settings))
    except JobFaults as faults:
        asked = {question.place for question in trial.questions()}
        told = {fault: faults.places.get(fault) for fault in faults.faults}
        mine = {place: bare(fault) for fault, place in told.items() if place in asked}
        others = tuple(bare(fault) for fault, place in told.items() if place not in asked)
        return FormResult(faults={p: text for p, text in mine.items() if p}, elsewhere=others)
    except (Refusal, Refused) as error:
        return FormResult(elsewhere=(str(error),))
    drawing = part_svg(stages[0].draw(), title=stages[0].programme.title)
    return FormResult(plan=plan, section=_STYLE.sub("", drawing))


def filled(interview: Interview) -> tuple[Interview, tuple[Question, ...]]:
    """A copy in which every needed question that custom answers has that answer, and the needed
    ones that are open all the same."""
    trial = Interview(
        interview.talk, interview.head, interview.units, dict(interview.values),
        interview.settings,
    )  # fmt: skip
    still: list[Question] = []
    for _ in range(2):  # an answer may open a question that stands before it
        still.clear()
        for question in trial.questions():
            if not question.needed or question.place in trial.values:
                continue
            default = question.default(trial.answers)
            if not default:
                still.append(question)
                continue
            trial.values[question.place] = value_of(question, default, trial.answers.unit)
    trial.order()
    return trial, tuple(still)


# --- the page ---------------------------------------------------------------------------


def form_document(
    interview: Interview,
    faults: Mapping[Place, str],
    token: str,
    written: Path | None,
    trouble: str,
    title: str,
) -> bytes:
    """`faults`: answers that were not taken, by their question. `written`: where the job is, once
    it is: then nothing more is asked. `trouble`: why it could not be written."""
    found = answers_shown(interview)
    wrong = {**found.faults, **faults}
    trial, _ = filled(interview)
    fields = "".join(_field(interview, trial, each, wrong) for each in trial.questions())
    main = (
        _ending(written) if written else f"<form>{fields}</form>{_aside(interview, found, trouble)}"
    )
    title, script = escape(title), escape(say("This page needs its own script."))
    return (
        f'<!doctype html><html lang="{escape(in_force().code)}"><head><meta charset="utf-8">'
        f'<meta name="viewport" content="width=device-width"><meta name="token" '
        f'content="{escape(token)}"><title>{title}</title><link rel="icon" href="/icon.svg">'
        '<link rel="stylesheet" href="/form.css"><script defer src="/form.js"></script></head>'
        f"<body><h1>{title}</h1><main>{main}</main>"
        f"<noscript><p>{script}</p></noscript>"
        "</body></html>"
    ).encode()


def _field(
    interview: Interview, trial: Interview, question: Question, wrong: Mapping[Place, str]
) -> str:
    name = escape(".".join(question.place))
    fault = wrong.get(question.place, "")
    told = f'<p class="fault" role="alert">{escape(fault)}</p>' if fault else ""
    means = f'<small id="{name}-means">{escape(_means(question))}</small>'
    label = f'<label for="{name}">{escape(say(question.ask))}</label>'
    return f"<div>{label}{means}{_input(interview, trial, question, name)}{told}</div>"


def _means(question: Question) -> str:
    """At a terminal Enter stands for no answer, in every language; here an empty field does."""
    return say(question.means).replace("Enter:", say("Empty:"))


def _input(interview: Interview, trial: Interview, question: Question, name: str) -> str:
    value = interview.values.get(question.place)
    default = question.default(trial.answers)
    says = f'id="{name}" name="{name}" aria-describedby="{name}-means"'
    if question.form in (Form.CHOICE, Form.FLAG):
        now = default if value is None else _key(value)
        choices = [*([] if now else [Choice("", say("choose"))]), *_choices(question)]
        options = "".join(_option(each, now) for each in choices)
        return f"<select {says}>{options}</select>"
    text = "" if value is None else shown_value(value)
    keys = _KEYS.get(question.form, "text")
    other = "<button type='button' data-letters>abc</button>" if question.form in _LETTERS else ""
    return (
        f'<input {says} value="{escape(text)}" placeholder="{escape(default)}" inputmode="{keys}" '
        'autocomplete="off" autocapitalize="off" spellcheck="false" enterkeyhint="next" '
        f'maxlength="200">{other}'
    )


def _key(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def _choices(question: Question) -> Iterator[Choice]:
    if question.form is Form.FLAG:
        yield from (Choice("no", say("no")), Choice("yes", say("yes")))
        return
    yield from (Choice(each.key, say(each.text)) for each in question.choices)


def _option(choice: Choice, now: str) -> str:
    chosen = " selected" if choice.key == now else ""
    return f'<option value="{escape(choice.key)}"{chosen}>{escape(choice.text)}</option>'


def _aside(interview: Interview, found: FormResult, trouble: str) -> str:
    figures = interview.figures_now()
    rows = "".join(f"<dt>{escape(n)}</dt><dd>{escape(text)}</dd>" for n, text in figures.items())
    lines = [*found.elsewhere, *_open(found), *([trouble] if trouble else [])]
    told = "".join(f'<p class="fault">{escape(line)}</p>' for line in lines)
    plan = f"<pre>{escape(chr(10).join(found.plan))}</pre>" if found.plan else ""
    off = "" if found.good else " disabled"
    label = escape(say("Write the job"))
    write = f"<button type='button' data-write{off}>{label}</button>"
    return f'<aside aria-live="polite">{found.section}{told}{plan}{write}<dl>{rows}</dl></aside>'


def _open(found: FormResult) -> Iterator[str]:
    if found.open:
        yield say("Still open: {question}", question=say(found.open[0].ask))


def _ending(written: Path) -> str:
    lines = (
        say("The job is in {file}", file=written),
        say("Next: tallyhand run {file}", file=written),
    )
    return "".join(f"<p>{escape(line)}</p>" for line in lines)
