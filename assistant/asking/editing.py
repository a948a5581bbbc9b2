"""A job file that is there: its faults asked for, or any answer changed; its comments stay."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from assistant.asking import ending, form_page, job_text, of_every_job
from assistant.asking.interview import Interview, bare
from assistant.asking.one_ring import OneRing
from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import JobFaults, job_from_text
from assistant.job.kinds.by_name import KINDS
from assistant.job.question import ASKED, Place, Question, Value
from assistant.words.language import say


@dataclass
class Editing:
    """`text` is the file as it was found; `now` as the answers make it."""

    interview: Interview
    path: Path
    text: str
    ring: OneRing | None = None  # of a job of several, the one that is changed

    def __post_init__(self) -> None:
        if self.ring:
            self.interview.values, _ = self.ring.apart(self.interview.values)
        self._found = dict(self.interview.values)
        kind = of_every_job.kind_of(self.interview.answers)
        for question in kind.questions if kind else ():
            for way in question.choices if question.table == ASKED else ():
                if ("work", way.key) in self._found:
                    self.interview.values[question.place] = way.key

    @property
    def now(self) -> str:
        """The text of the file with the answers as they are: only lines that differ are touched."""
        values = self.interview.values
        new: dict[Place, Value | None] = {
            place: value for place, value in values.items() if self._found.get(place) != value
        }
        new |= {place: None for place in self._found if place not in values}
        if self.ring:
            new = {self.ring.home(place): value for place, value in new.items()}
        return job_text.changed(self.text, new) if new else self.text

    @property
    def several(self) -> bool:
        """A job of several rings."""
        return bool(self.ring) or any(
            table.startswith("ring") for table, _ in self.interview.values
        )

    def fill_what_is_missing(self) -> None:
        """Where the file can't do without an answer that custom has, it gets that."""
        filled, _ = form_page.filled(self.interview)
        faults = self._faults()
        for named in faults.places.values() if faults else ():
            place = self.ring.seen(named) if self.ring and named else named
            if place in filled.values:
                self.interview.values.setdefault(place, filled.values[place])

    def mend(self) -> bool:
        """Asks for what the faults name, then offers every answer. True when the job is good.

        Raises Left; what was answered stands.
        """
        while faults := self._faults():
            if not self._ask_for(faults):
                return False
        if self.several and not self.ring:
            return True  # each ring has questions of its own: only faults are asked for
        ending.settle_plan(self.interview, self.path)
        return True

    def wrong(self) -> str:
        """What is wrong with the whole file now, its first fault; "" where it is good."""
        faults = self._faults()
        return bare(faults.faults[0]) if faults else ""

    def _faults(self) -> JobFaults | None:
        try:
            job = self.interview.taken(job_from_text(self.now, str(self.path)))
            stages_of(job, head_of(job))
        except JobFaults as faults:
            return faults
        except Exception as error:
            return JobFaults([str(error)], {str(error): ("", "head")})
        return None

    def _ask_for(self, faults: JobFaults) -> bool:
        """False where a fault is about something that has no question."""
        talk = self.interview.talk
        asked = False
        for fault in sorted(faults.faults, key=lambda fault: self._order(faults, fault)):
            place = faults.places.get(fault)
            question = self._question(place) if place else None
            talk.show()
            talk.show(f"  {bare(fault)}")
            if question is None:
                talk.show("  " + say("Mend this in the file: {fault}", fault=fault))
                continue
            self.interview.ask(question)
            asked = True
        return asked

    def _order(self, faults: JobFaults, fault: str) -> int:
        """As the questions come; what has none comes last."""
        keys = [question.key for question in self.interview.questions()]
        key = faults.places.get(fault, ("", ""))[1]
        return keys.index(key) if key in keys else len(keys)

    def _question(self, place: Place) -> Question | None:
        """Of every question there is: a fault may name one that does not apply yet."""
        table, key = self.ring.seen(place) if self.ring else place
        kind = KINDS.get(str(self.interview.values.get((table, "kind"), "")))
        found = [*self.interview.questions(), *(kind.questions if kind else ())]
        wanted = "work" if table.startswith("ring[") else table
        best = next((each for each in found if each.place == (wanted, key)), None)
        return replace(best, table=table) if best else None
