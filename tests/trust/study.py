"""Many jobs at the virtual bench, with a fixed seed: how many cuts are spoilt, and by what."""

from __future__ import annotations

import random
import re
from dataclasses import dataclass, field, replace
from fractions import Fraction

from assistant.job.compiler import head_of, programme_of, setups_of
from assistant.job.job_file import read_job
from assistant.job.programme import Programme, heeding
from tests.commands import JOBS
from tests.trust.head import DividingHead
from tests.trust.person import AssistedPerson, Hand, Known, PaperPerson, Reword, Slips
from tests.trust.rates import Rates

NORMAL = Rates()


@dataclass
class Tally:
    """What came of a number of jobs."""

    jobs: int = 0
    cuts: int = 0
    spoilt_jobs: int = 0
    squares: int = 0  # of the spoilt cuts of each job
    unguarded: int = 0
    missed: int = 0  # cuts left out
    scale_checks: int = 0
    letters: int = 0  # of all that was said
    slips: Slips = field(default_factory=Slips)

    @property
    def scrap(self) -> float:
        """Cuts spoilt, of a thousand."""
        return 1000 * self.slips.spoilt.total() / self.cuts

    @property
    def error(self) -> float:
        """Standard error of `scrap`: jobs are independent, cuts of one job are not."""
        mean = self.slips.spoilt.total() / self.jobs
        variance = max(0.0, self.squares / self.jobs - mean**2)
        return float(1000 * (variance / self.jobs) ** 0.5 * self.jobs / self.cuts)

    def of(self, kind: str) -> float:
        """Cuts spoilt by this kind of slip, of a thousand."""
        return 1000 * self.slips.spoilt[kind] / self.cuts

    def uncaught(self, kind: str) -> int:
        caught = sum(n for (each, by), n in self.slips.caught.items() if each == kind and by)
        return self.slips.made[kind] - caught


def job(name: str = "pinion", *, whole_cuts: int = 0, **changes: object) -> Programme:
    """One of the cider mill's jobs, worked out for the three-plate head; in three answers a cut
    after so many in whole sentences, 0: in five, always."""
    made = read_job(JOBS / f"{name}.toml")
    head = head_of(made)
    programme = programme_of(made, head, setups_of(made, head)[0])
    programme = heeding(programme, whole_cuts=whole_cuts)
    return replace(programme, **changes)  # type: ignore[arg-type]


def run(  # noqa: PLR0913 (each is one thing that a line of the tables differs in)
    programme: Programme,
    jobs: int,
    *,
    assisted: bool = True,
    seed: int = 1,
    rates: Rates = NORMAL,
    reword: Reword = str,
    marks: bool = False,
    looks: bool = False,
) -> Tally:
    """`jobs` jobs, each with a bench and a chance of its own."""
    tally = Tally()
    known = Known()
    for n in range(jobs):
        move = programme.moves[0]
        head = DividingHead(Fraction(40), move.circle or 1, move.holes)
        head.scale = bool(programme.scale_degrees)
        hand = Hand(head, rates, random.Random(f"{seed}-{n}"), Slips(), programme)
        if assisted:
            person = AssistedPerson(programme, hand, reword, marks=marks, known=known)
            person.work()
            tally.scale_checks += person.scale_checks
            tally.letters += person.letters
        else:
            PaperPerson(programme, hand, looks=looks).work()
        _count(tally, hand, programme.cuts * (1 if marks else programme.passes))
    return tally


def _count(tally: Tally, hand: Hand, wanted: int) -> None:
    spoilt = hand.slips.spoilt.total()
    tally.jobs += 1
    tally.cuts += len(hand.head.cuts)
    tally.spoilt_jobs += spoilt > 0
    tally.squares += spoilt**2
    tally.unguarded += hand.unguarded
    tally.missed += wanted - len(hand.head.cuts)
    for mine, its in (
        (tally.slips.made, hand.slips.made),
        (tally.slips.spoilt, hand.slips.spoilt),
        (tally.slips.late, hand.slips.late),
    ):
        mine.update(its)
    tally.slips.caught.update(hand.slips.caught)


# --- the wording without its witnesses: what each of these sentences is worth

_ARM = "Pin at the second arm? "
_ARMS = "Swing the arms on to the pin. "
_MARK = re.compile(
    r"Pin (?:in the marked hole|at the mark|[\w-]+(?: holes?)? (?:past|short of) the mark)\. ",
    re.IGNORECASE,
)
_CUTTER = "Try the stopped cutter in the last cut. "
_RULE = re.compile(
    r"\w+ degrees off, no more, no less, is one turn miscounted: .+? to the same hole\. "
)


def without_the_arm(text: str) -> str:
    """The pin is not looked at while the arms still lie as in the move."""
    return text.replace(_ARM, "")


def arms_before_cuts_only(text: str) -> str:
    """The arms are not called where no cut follows the move: at a new pass, after a check."""
    text = text.replace(f"no move yet. {_ARMS}", "no move yet. ")
    return text.replace(f"{_ARMS}When it", "When it")


def without_the_cutter(text: str) -> str:
    """After a lost count only the scale's reading is taken."""
    return text.replace(_CUTTER, "")


def without_the_rule(text: str) -> str:
    """A reading that is off by whole turns is no more than off: the place is found anew."""
    return _RULE.sub("", text)


def without_the_mark(text: str) -> str:
    """The hole that was marked at the start is not looked at."""
    return _MARK.sub("", text)


def without_the_lever(text: str) -> str:
    """The lock is asked for once, and not tried at its lever."""
    text = without_the_lever_seen(text)
    return text.replace("Lock lever tight? ", "").replace("Lever, guard?", "Guard?")


def without_the_shut(text: str) -> str:
    """Lock and guard are not looked at on the way to the cut."""
    return re.sub(rf"{_BEGINS}{_SEEN}: c", r"\1C", text)


def without_the_lever_seen(text: str) -> str:
    """Only the guard is looked at on the way to the cut."""
    return re.sub(rf"{_BEGINS}{_SEEN}: c", r"\1Guard shut: c", text)


_BEGINS = r"^((?:Too soon\. |That was quick\. )?)"
_SEEN = r"(?:Lever tight, guard shut|Tight and shut|Guard shut)"


_COUNTED = re.compile(r"Pin (?!one |two )[\w-]+(?: holes)? (?:past|short of) the mark\. ")


_ANEW = ("Check the position.", "is next?")


def without_the_count(text: str) -> str:
    """The marked hole is looked at only where it is near, and where a place is found anew."""
    return text if any(words in text for words in _ANEW) else _COUNTED.sub("", text)


def wording_before(text: str) -> str:
    """Without the three looks that came last."""
    return without_the_shut(without_the_lever(without_the_mark(text)))


def bare_wording(text: str) -> str:
    before = wording_before(text)
    return without_the_rule(without_the_cutter(arms_before_cuts_only(without_the_arm(before))))


SECONDS_FOR_A_SCALE_CHECK = 6.0  # judged: three to hear it, three to look


def only(**kept: float) -> Rates:
    """No slip but the named ones."""
    none = Rates(**dict.fromkeys(Rates.__dataclass_fields__, 0.0))
    return replace(replace(none, habituation=1.0, said_aloud=1.0), **kept)
