"""Goes through the questions, back and forth, and looks at every answer before the next one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from assistant.asking import job_text, of_every_job
from assistant.errors import Refusal, WrongUse
from assistant.files.places import head_path
from assistant.files.settings import Settings
from assistant.job.compiler import head_of, worked_part
from assistant.job.drawer import EMPTY, Drawer, drawer_of
from assistant.job.from_drawer import offers, with_drawer
from assistant.job.job_file import Job, JobFaults, job_from_text
from assistant.job.question import (
    ASKED,
    Answers,
    Form,
    Place,
    Question,
    Value,
    shown_value,
    value_of,
)
from assistant.job.reader import Fault
from assistant.setup.talk import Talk
from assistant.words.choice import Choice
from assistant.words.language import say
from solver import Refused

HERE = "job"  # how the text is named in faults, which are told without it


class Back(Exception):
    """The person wants the question before this one again."""


class Asking(Talk):
    """A talk in which "<" leads back."""

    def ask(self, question: str, default: str = "") -> str:
        """Raises Back, or Left."""
        answer = super().ask(question, default)
        if answer == "<":
            raise Back
        return answer


@dataclass
class Interview:
    """`values` are the answers so far, in the order of the file. `head` and `units` are what is
    customary here; the drawer is that of the settings."""

    talk: Asking
    head: str
    units: str
    values: dict[Place, Value] = field(default_factory=dict)
    settings: Settings | None = None
    _figures: dict[str, str] = field(default_factory=dict)
    _offered: tuple[str, tuple[Choice, ...]] = ("", ())

    @property
    def answers(self) -> Answers:
        """What was answered so far, by table and key."""
        return Answers(self.values)

    def questions(self) -> list[Question]:
        """Those that apply by what is answered, in their order."""
        kind = of_every_job.kind_of(self.answers)
        every = (
            *of_every_job.questions_before(self.units),
            *(kind.questions if kind else ()),
            *(of_every_job.after(self.head, self._drawer()) if kind else ()),
        )
        return [question for question in every if question.when(self.answers)]

    def taken(self, job: Job) -> Job:
        """With what it takes from the drawer. Raises JobFaults."""
        return with_drawer(job, self.settings) if self.settings else job

    def _drawer(self) -> tuple[Choice, ...]:
        """The cutters of the drawer that fit the answers so far."""
        drawer = drawer_of(self.settings) if self.settings else EMPTY
        if not drawer.cutters:
            return ()
        figures = {place: value for place, value in self.values.items() if place[0] in ("", "work")}
        text = job_text.text_of({("", "title"): "x", ("", "head"): self.head, **figures}, ())
        if self._offered[0] != text:
            self._offered = (text, _choices(text, drawer))
        return self._offered[1]

    def walk(self) -> None:
        """Every question once, in order; "<" leads back. Raises Left."""
        met: list[Place] = []
        while question := self._next(met):
            try:
                self.ask(question)
                met.append(question.place)
            except Back:
                if met:
                    met.pop()

    def _next(self, met: Iterable[Place]) -> Question | None:
        done = set(met)
        return next(
            (each for each in self.questions() if each.place not in done and not each.late), None
        )

    def ask(self, question: Question) -> None:
        """Until the answer will do; it is kept. Raises Back or Left."""
        self.talk.show()
        self.talk.show(f"  {say(question.means)}")
        default = self._default(question)
        while True:
            text = self._answer(question, default)
            if not text and not question.needed:
                self.values.pop(question.place, None)
                return
            if fault := self._taken(question, text):
                self.talk.tell(f"  {fault}")
                continue
            break
        self.order()
        self._show_figures()

    def _answer(self, question: Question, default: str) -> str:
        if question.form is Form.CHOICE:
            choices = [Choice(each.key, say(each.text)) for each in question.choices]
            chosen = self.talk.choose(say(question.ask), choices, default)
            return "" if chosen == of_every_job.NONE else chosen
        text = self.talk.ask(say(question.ask), default)
        return "" if text == "-" and not question.needed else text

    def _default(self, question: Question) -> str:
        value = self.values.get(question.place)
        if value is None:
            return question.default(self.answers)
        return str(value) if question.form is Form.CHOICE else shown_value(value)

    def take(self, question: Question, text: str) -> str:
        """An answer given by itself: what is wrong with it, or "". Nothing, where it is not needed
        or custom has an answer, takes back the one that was there."""
        if text in ("", of_every_job.NONE) and (
            not question.needed or question.default(self.answers)
        ):
            self.values.pop(question.place, None)
            return ""
        fault = self._taken(question, text)
        self.order()
        return fault

    def _taken(self, question: Question, text: str) -> str:
        """What is wrong with the answer, or "": then it is kept."""
        try:
            value = value_of(question, text, self.answers.unit)
        except Refused as error:
            return str(error)
        before = dict(self.values)
        self.values[question.place] = value
        if fault := self._fault(question):
            self.values = before
            return fault
        if question.place == of_every_job.CUTTER:
            self._take_width(text)
        if question.place == of_every_job.KIND and before.get(question.place) != value:
            self._forget_other_kinds()
        return ""

    def _take_width(self, name: str) -> None:
        """A work that is reckoned with the width of its cutter gets that of the one chosen."""
        kept = drawer_of(self.settings).cutter(name) if self.settings else None
        wide = kept.across if kept else None
        if wide is not None and ("work", "cutter_width") in self.values:
            self.values["work", "cutter_width"] = self.answers.shown(wide)

    def _fault(self, question: Question) -> str:
        """By the reader of job files, which alone knows what may be."""
        if question.place == ("", "head"):
            try:
                head_path(str(self.values["", "head"]))
            except WrongUse as error:
                return str(error)
        if question.table == ASKED:
            return ""
        if self.values.get(question.place, "x") in ("", []):  # nought and no are answers
            return say("An answer is needed here; q leaves.")
        try:
            job_from_text(self.text(), HERE)
        except JobFaults as faults:
            mine = [bare(f) for f in faults.faults if faults.places.get(f) == question.place]
            return mine[0] if mine else ""
        return ""

    def _forget_other_kinds(self) -> None:
        """Figures of another kind say nothing here."""
        known = {question.place for question in self.questions()}
        self.values = {
            place: value
            for place, value in self.values.items()
            if place in known or place[0] not in ("work", ASKED)
        }

    def order(self) -> None:
        """As the questions come, so that the file reads as the drawing does; others stay last."""
        order = {question.place: n for n, question in enumerate(self.questions())}
        rank = sorted(self.values, key=lambda place: order.get(place, len(order)))
        self.values = {place: self.values[place] for place in rank}

    def text(self) -> str:
        """The job file that the answers make."""
        kept = {place: value for place, value in self.values.items() if place[0] != ASKED}
        return job_text.text_of(kept, self.questions())

    # --- the figures that grow with the answers -----------------------------------------

    def _show_figures(self) -> None:
        """Those that this answer has made or changed."""
        found = self.figures_now()
        for name, shown in found.items():
            if self._figures.get(name) != shown:
                self.talk.show(f"    = {name}  {shown}")
        self._figures = found or self._figures

    def figures_now(self) -> dict[str, str]:
        """With customary answers for what is still open; nothing while they don't make a job."""
        if of_every_job.KIND not in self.values:
            return {}
        trial = Interview(self.talk, self.head, self.units, dict(self.values))
        for question in trial.questions():
            if question.needed and question.place not in trial.values:
                default = question.default(trial.answers)
                if not default:
                    return {}
                trial.values[question.place] = value_of(question, default, trial.answers.unit)
        try:
            job = job_from_text(trial.text(), HERE)
            job = self.taken(job)
            part = worked_part(job, head_of(job), job.works[0])
        except (Refusal, Refused):
            return {}
        return {figure.name: figure.shown for figure in part.figures}


def _choices(text: str, drawer: Drawer) -> tuple[Choice, ...]:
    try:
        found = offers(job_from_text(text, HERE), drawer)
    except Refusal:
        return ()
    shown = ((each.kept.name, each.fit.why) for each in found)
    return tuple(Choice(name, f"{name} ({why})" if why else name) for name, why in shown)


def bare(fault: str) -> str:
    """A fault without its place: "FILE line 3: count = 1: ..." begins with "count"."""
    return fault.what if isinstance(fault, Fault) else fault
