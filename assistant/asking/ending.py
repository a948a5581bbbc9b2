"""The end of the questions: the plan, a way back to every answer, and the file."""

from __future__ import annotations

from pathlib import Path

from assistant.asking.interview import Back, Interview, bare
from assistant.asking.planned import plan_of
from assistant.errors import Refusal
from assistant.job.job_file import Job, JobFaults, job_from_text
from assistant.job.question import Question, shown_value
from assistant.words.language import say
from solver import Refused


def settle(interview: Interview, path: Path) -> None:
    """Shows the plan and changes answers until Enter takes it. Raises Left."""
    while True:
        wrong = show_plan(interview, path)
        asked = [each for each in interview.questions() if each.place in interview.values]
        _list(interview, asked)
        n = _which(interview, asked, wrong)
        if n is None:
            return
        try:
            interview.ask(asked[n])
            _open_questions(interview)
        except Back:
            continue


def _open_questions(interview: Interview) -> None:
    """What another answer has opened: a job of another kind has figures of its own."""
    for question in interview.questions():
        if question.needed and question.place not in interview.values:
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


def _list(interview: Interview, asked: list[Question]) -> None:
    interview.talk.show()
    for n, question in enumerate(asked, 1):
        value = interview.values[question.place]
        interview.talk.show(f"  {n:>2}  {say(question.ask)} {shown_value(value)}")


def _which(interview: Interview, asked: list[Question], wrong: Question | None) -> int | None:
    """The answer to change; None: it is good so."""
    question = say("Which answer shall be changed? (its number; Enter: none, write it)")
    default = ""
    if wrong is not None:
        question = say("Which answer shall be changed? (its number)")
        places = [each.place for each in asked]
        default = str(places.index(wrong.place) + 1) if wrong.place in places else "1"
    while True:
        try:
            said = interview.talk.ask(question, default)
        except Back:
            said = str(len(asked))
        if not said and wrong is None:
            return None
        if said.isascii() and said.isdigit() and 1 <= int(said) <= len(asked):
            return int(said) - 1
        most = len(asked)
        line = say("{answer}: give a number from 1 to {most}.", answer=repr(said), most=most)
        interview.talk.show(f"  {line}")
