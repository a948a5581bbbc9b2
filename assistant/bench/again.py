"""The same job as it was finally done: its programme, with what the session had to say put in.

All is taken from the journal, of whatever form: plate, order and moves are those that were
worked with; the depth is the one that came to size.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from assistant.engine.events import NoteWritten
from assistant.engine.recall import Moment, moment_of
from assistant.engine.state import State
from assistant.job.limits import called_finely
from assistant.job.measuring import least_room
from assistant.job.programme import Programme, Recall
from assistant.job.units import NO_LENGTH, said, shown
from assistant.journal.reading import Entry, JournalRecords
from assistant.paper.history import Account, told_from
from assistant.words.language import say, speaking
from solver import Millimetres

MOST_CORRECTED = Millimetres(
    Fraction(1, 2)
)  # mm: more than that was no correction, but another depth


def programme_again(reading: JournalRecords) -> Programme:
    """The programme of the journal with notes, sizes, depths and times of that session."""
    told = told_from(reading)
    with speaking(reading.programme.language):
        return _stage(reading.programme, 0, reading.entries, told)


def _stage(programme: Programme, number: int, entries: Sequence[Entry], told: Account) -> Programme:
    recalls = {(each.at, each.text): each for each in programme.recalls}
    states = _states(entries, number)
    more = _correction(programme, states, told)
    found = [*_notes(entries, number), *_sizes(programme, states)]
    if more:
        found.append(_corrected(programme, more))
    recalls |= {(at, text): Recall(at, text) for at, text in found}
    then = programme.then
    return replace(
        _deeper(programme, more),
        recalls=tuple(sorted(recalls.values(), key=lambda each: each.at)),
        last_seconds=_seconds(programme, number, told),
        then=_stage(then, number + 1, entries, told) if then else None,
    )


def _states(entries: Sequence[Entry], stage: int) -> list[tuple[State, State]]:
    """Each state of the stage with the one before it; of a batch those of its first part."""
    states = [State(), *(entry.state for entry in entries)]
    here = ((old, new) for old, new in pairwise(states) if old.stage == new.stage == stage)
    return [(old, new) for old, new in here if old.part == new.part == 1]


# --- notes --------------------------------------------------------------------------------


def _notes(entries: Sequence[Entry], stage: int) -> Iterator[tuple[Moment, str]]:
    for entry in entries:
        if isinstance(entry.event, NoteWritten) and entry.state.stage == stage:
            text = entry.event.text.strip().rstrip(".!")
            if text:
                yield moment_of(entry.state), text


# --- sizes, and the depth that came out of them -------------------------------------------


def _sizes(programme: Programme, states: list[tuple[State, State]]) -> Iterator[tuple[Moment, str]]:
    """What was measured where a size was asked for: the last one settled counts."""
    found: dict[int, tuple[Moment, str]] = {}
    for old, new in states:
        if new.measured == old.measured + 1 and new.size:
            asked = (old.pass_number, old.done, 1)
            text = say("it measured {size}", size=said(new.size_mm, programme.unit))
            found[old.measured] = (asked, text)
    yield from found.values()


def _correction(
    programme: Programme, states: list[tuple[State, State]], told: Account
) -> Millimetres:
    """How much deeper than called the last pass had to go, mm, by its own sizes; 0: not at all.

    Only where the part was finished, where a depth was corrected and not a move across, and where
    no earlier pass was measured: what comes after a size is reckoned from that size anew.
    """
    last = programme.passes
    if not told.finished or told.reading.state.scrapped or not programme.depths_mm:
        return NO_LENGTH
    if any(m.pass_number < last or m.sideways for m in programme.measurements):
        return NO_LENGTH
    more = Fraction(0)
    for old, new in states:
        if new.recut and not old.recut and new.pass_number == last and new.size:
            more += programme.measurements[old.measured].remaining(new.size_mm)
    return Millimetres(more) if more <= MOST_CORRECTED else NO_LENGTH


def _corrected(programme: Programme, more: Millimetres) -> tuple[Moment, str]:
    """Told where the depth of the last pass is set: nobody is to find a changed figure unasked."""
    called = programme.depths_mm[-1]
    text = say(
        "the depth came to size at {depth}, not at {called}",
        depth=_called(Millimetres(called + more), programme), called=_called(called, programme),
    )  # fmt: skip
    first = (1, -1, 0) if programme.passes == 1 else (programme.passes, 0, 2)
    return first, text


def _deeper(programme: Programme, more: Millimetres) -> Programme:
    """The last pass called at the depth that came to size."""
    if not more:
        return programme
    depth = programme.depths_mm[-1] + more
    unit = programme.unit
    return replace(
        programme,
        depths_mm=(*programme.depths_mm[:-1], Millimetres(depth)),
        depths=(*programme.depths[:-1], _called(Millimetres(depth), programme))
        if programme.depths
        else (),
        depth=shown(Millimetres(depth), unit) if programme.depth else "",
        checklist=tuple(
            _renamed(item, programme, Millimetres(depth)) for item in programme.checklist
        ),
    )


def _renamed(item: str, programme: Programme, depth: Millimetres) -> str:
    """The set-up names the depth too."""
    before = _called(programme.depths_mm[-1], programme)
    return item.replace(f"{before}.", f"{_called(depth, programme)}.")


def _called(depth: Millimetres, programme: Programme) -> str:
    """As finely as the limits of the job need it."""
    finely = called_finely(least_room(programme.measurements), programme.unit)
    return said(Millimetres(depth), programme.unit, finely=finely)


# --- times --------------------------------------------------------------------------------


def _seconds(programme: Programme, stage: int, told: Account) -> tuple[float, ...]:
    """One a cut, pass by pass; 0 where it is not known."""
    found = [0.0] * programme.cuts * programme.passes
    for cut in told.cuts:
        n = (cut.pass_number - 1) * programme.cuts + cut.number - 1
        if (cut.part, cut.stage) == (1, stage + 1) and cut.seconds is not None and n < len(found):
            found[n] = round(cut.seconds, 1)
    return tuple(found) if any(found) else ()
