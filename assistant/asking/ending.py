"""The end of the questions: the plan, a way back to every answer, and the file."""

from __future__ import annotations

from pathlib import Path

from assistant.asking.interview import Back, Interview, bare
from assistant.asking.planned import plan_of
from assistant.errors import Refusal
from assistant.job.job_file import Job, JobFaults, job_from_text
from assistant.job.question import Place, Question, shown_value
from assistant.words.language import say
from solver import Refused

BEGIN = "run"
LIST = "?"


def settle_plan(interview: Interview, path: Path, *, may_begin: bool = False) -> bool:
    """Shows the plan and changes answers until it is taken; True where the job is to begin at once.

    Raises Left.
    """
    while True:
        wrong = show_plan(interview, path)
        asked = interview.questions()
        _list(interview, asked, late=True)
        n = _which(interview, asked, wrong, may_begin=may_begin)
        if isinstance(n, bool):
            return n
        before = {question.place for question in interview.questions()}
        try:
            interview.ask(asked[n])
            _open_questions(interview, before)
        except Back:
            continue


def _given(interview: Interview, question: Question) -> bool:
    return question.place in interview.values


def _open_questions(interview: Interview, before: set[Place]) -> None:
    """What another answer has opened: a job of another kind has figures of its own."""
    for question in interview.questions():
        new = question.needed or question.place not in before
        if new and not question.late and not _given(interview, question):
            interview.ask(question)


def show_plan(interview: Interview, path: Path) -> Question | None:
    """The plan; where there is none the reason, and the question that it is about."""
    talk = interview.talk
    talk.show()
    talk.show(say("The plan:"))
    try:
        job: Job = interview.taken(job_from_text(interview.text(), str(path)))
        talk.show("\n".join(plan_of(job, interview.settings)))
    except JobFaults as faults:
        for fault in faults.faults:
            talk.show(f"  {bare(fault)}")
        places = [faults.places.get(fault) for fault in faults.faults]
        questions = {question.place: question for question in interview.questions()}
        return (
            next((questions[place] for place in places if place in questions), None)
            or (interview.questions()[0])
        )
    except (Refusal, Refused) as error:
        talk.show(f"  {error}")
        return next(each for each in interview.questions() if each.key == "head")
    return None


def _list(interview: Interview, asked: list[Question], *, late: bool) -> None:
    """All with their numbers; or those that were not asked in their turn."""
    interview.talk.show()
    for n, question in enumerate(asked, 1):
        value = interview.values.get(question.place)
        if late and not (question.late and value is None):
            continue
        answer = say("not known") if value is None else shown_value(value)
        interview.talk.show(f"  {n:>2}  {say(question.ask)} {answer}")


def _which(
    interview: Interview, asked: list[Question], wrong: Question | None, *, may_begin: bool
) -> int | bool:
    """The answer to change; or that it is good so, and whether the job begins at once."""
    begin = say("{run}: write it and begin; ", run=BEGIN) if may_begin else ""
    question = say("Write the job? (Enter; {begin}a number: change that answer; {list}: list all)",
                   begin=begin, list=LIST)  # fmt: skip
    default = ""
    if wrong is not None:
        _list(interview, asked, late=False)
        question = say("Which answer shall be changed? (its number)")
        places = [each.place for each in asked]
        default = str(places.index(wrong.place) + 1) if wrong.place in places else "1"
    while True:
        try:
            said = interview.talk.ask(question, default)
        except Back:
            said = str(len(asked))
        if wrong is None and (not said or (may_begin and said.lower() == BEGIN)):
            return bool(said)
        if said == LIST:
            _list(interview, asked, late=False)
            continue
        if said.isascii() and said.isdigit() and 1 <= int(said) <= len(asked):
            return int(said) - 1
        most = len(asked)
        line = say("{answer}: give a number from 1 to {most}.", answer=repr(said), most=most)
        interview.talk.show(f"  {line}")
