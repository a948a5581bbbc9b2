"""A job made ready for the session: every move and every position, in order, as plain data.

The journal keeps the programme whole, so that a job goes on as it began even when the job
file or the head file has been changed or lost since.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass, fields, replace
from fractions import Fraction
from typing import Any

from assistant.files.sections import AnswerSettings, PaceSettings, as_it_was
from assistant.job.measuring import Measurement
from assistant.job.shapes import Drawing
from assistant.job.units import Unit
from solver import Degrees, Millimetres, Move, Turns

NO_SCALE = Degrees(Fraction(0))

# What a journal means that names none of them.
_PACE_BEFORE = PaceSettings(**as_it_was(PaceSettings))
_ANSWERS_BEFORE = AnswerSettings(**as_it_was(AnswerSettings))
_PACE = tuple(each.name for each in fields(PaceSettings))
_ANSWERS = tuple(each.name for each in fields(AnswerSettings))


@dataclass(frozen=True, slots=True)
class Recall:
    """What is told again from an earlier session of the same job, and when: `at` is pass, cuts
    made, and the place within the cut, as `assistant.engine.recall` reckons it."""

    at: tuple[int, ...]
    text: str


@dataclass(frozen=True, slots=True)
class Programme:
    """`moves[p]` leads from position p to position p + 1; the last one closes the circle.

    `positions` are in turns of the spindle from the first cut, 0 or more and under 1.
    `labels` name the cuts, `depths` the passes, as they are said. `unlocked`: the head is
    driven while it cuts, and the spindle must NOT be locked (helical milling). `drawing` is the
    whole part as this stage sees it, None where there is too much to draw. `pace` and
    `answers` are what the session heeds of the settings, as they were when the job was begun;
    `whole_cuts` 0 calls all cuts in whole sentences. `closed` is
    False where nothing leads back to the first cut. `recalls` and `last_seconds` (one a cut, pass
    by pass; 0: not known) are of the session that is done again. `then` is the next stage of the
    job, after another setting: a second ring, or the other side of a spline.
    """

    title: str
    head: str
    method: str
    checklist: tuple[str, ...]
    moves: tuple[Move, ...]
    positions: tuple[Turns, ...]
    passes: int = 1
    scale_degrees: Degrees = NO_SCALE  # 0: the head has no degree scale
    scale_every: int = 0  # the scale is called every so many cuts; 0: where it pays
    arms_used: bool = True
    arms_spaces: int = 0  # between arms that stay set where some moves go beyond; 0: none do
    depth: str = ""
    plate: str = ""  # the index plate to fit, "" where the moves need none
    plate_circles: tuple[int, ...] = ()  # all circles of that plate, for its drawing
    plate_radii: tuple[float, ...] = ()  # theirs, mm; none where the head file gives none
    worm_ratio: Fraction = Fraction(0)  # crank turns for one spindle turn, 0: not known
    name: str = ""  # of this stage
    labels: tuple[str, ...] = ()
    stops: tuple[str, ...] = ()  # what is set for each cut alone; told with its move
    stamped: tuple[str, ...] = ()  # what else each is called by, where there are stops: "stamp ten"
    depths: tuple[str, ...] = ()
    depths_mm: tuple[Millimetres, ...] = ()  # the same in mm, for the eye
    deeper: tuple[Millimetres, ...] = ()  # one a cut, mm beyond the depth of its pass; or none
    measurements: tuple[Measurement, ...] = ()  # in the order in which they fall due
    unit: Unit = "mm"  # sizes are said and given in mm or inches
    unlocked: bool = False
    closed: bool = True
    drawing: Drawing | None = None
    trial_item: int = -1  # which item of `checklist` is the trial round, from 0; -1: none is
    parts: int = 1  # of the batch: the whole job is done for each
    checklist_again: tuple[str, ...] = ()  # what is set up for the parts after the first
    pace: PaceSettings = _PACE_BEFORE
    cut_minutes: Fraction = Fraction(0)  # that a cut takes, by the job; 0: not given
    gears: str = ""  # change gears, to the plate or the table screw, for the eye; "": none
    recalls: tuple[Recall, ...] = ()
    last_seconds: tuple[float, ...] = ()
    then: Programme | None = None
    other_head: str = ""  # said in the greeting: the head meant, where it is not one's own
    answers: AnswerSettings = _ANSWERS_BEFORE
    accuracy: str = ""  # how far off the work may come, the head as it was measured; or nothing
    language: str = "en"  # that the texts above are in, and that the session speaks

    @property
    def cuts(self) -> int:
        """Cuts in one pass."""
        return len(self.moves)

    def beyond(self, place: int) -> int:
        """Holes that the move to this place (from 1) goes beyond the arms as they stand."""
        holes = self.moves[place - 1].holes
        return max(0, holes - self.arms_spaces) if self.arms_spaces else 0

    def items(self, part: int) -> tuple[str, ...]:
        """The set-up of the stage for that part of the batch, from 1."""
        return self.checklist_again if part > 1 else self.checklist

    @property
    def stages(self) -> int:
        """Stages of the job, from this one on."""
        return 1 + (self.then.stages if self.then else 0)

    def stage(self, number: int) -> Programme:
        """The stage of that number, 0 for this one. Raises IndexError past the last."""
        if number == 0:
            return self
        if self.then is None:
            raise IndexError("no such stage")
        return self.then.stage(number - 1)

    def to_record(self) -> dict[str, Any]:
        """JSON-ready data; equal moves that follow one another are written once."""
        return {
            "title": self.title,
            "head": self.head,
            "method": self.method,
            "checklist": list(self.checklist),
            "moves": [{**move.to_record(), "times": times} for move, times in runs(self.moves)],
            "positions": [str(place) for place in self.positions],
            "passes": self.passes,
            "scale_degrees": str(self.scale_degrees),
            "scale_every": self.scale_every,
            "arms_used": self.arms_used,
            **({"arms_spaces": self.arms_spaces} if self.arms_spaces else {}),
            "depth": self.depth,
            "plate": self.plate,
            "plate_circles": list(self.plate_circles),
            "plate_radii": list(self.plate_radii),
            "worm_ratio": str(self.worm_ratio),
            "name": self.name,
            "labels": list(self.labels),
            "stops": list(self.stops),
            **({"stamped": list(self.stamped)} if self.stamped else {}),
            "depths": list(self.depths),
            "depths_mm": [str(depth) for depth in self.depths_mm],
            "deeper": [str(depth) for depth in self.deeper],
            "measurements": [each.to_record() for each in self.measurements],
            "unit": self.unit,
            "unlocked": self.unlocked,
            "closed": self.closed,
            "drawing": self.drawing.to_record() if self.drawing else None,
            **({"other_head": self.other_head} if self.other_head else {}),
            **_heeded_in_record(self),
            **({"accuracy": self.accuracy} if self.accuracy else {}),
            "language": self.language,
            **({"gears": self.gears} if self.gears else {}),
            **self._last_time(),
            **({"trial_item": self.trial_item} if self.trial_item >= 0 else {}),
            **self._batch(),
            **({"cut_minutes": str(self.cut_minutes)} if self.cut_minutes else {}),
            "then": self.then.to_record() if self.then else None,
        }

    def _batch(self) -> dict[str, Any]:
        """Nothing for a single part."""
        if self.parts == 1:
            return {}
        return {"parts": self.parts, "checklist_again": list(self.checklist_again)}

    def _last_time(self) -> dict[str, Any]:
        """Nothing for a job that is done for the first time."""
        if not (self.recalls or self.last_seconds):
            return {}
        return {
            "recalls": [{"at": list(each.at), "text": each.text} for each in self.recalls],
            "last_seconds": list(self.last_seconds),
        }

    @classmethod
    def from_record(cls, record: dict[str, Any]) -> Programme:
        """The programme that `to_record` wrote. Raises ValueError when it does not fit."""
        known = dict(record)
        try:
            known["checklist"] = tuple(known["checklist"])
            known["moves"] = spread(Move.from_record(move) for move in known["moves"])
            known["positions"] = tuple(Turns(_fraction(p)) for p in known["positions"])
            known["scale_degrees"] = Degrees(Fraction(known["scale_degrees"]))
            known["plate_circles"] = tuple(known.get("plate_circles", ()))
            known["plate_radii"] = tuple(known.get("plate_radii", ()))
            known["worm_ratio"] = Fraction(known.get("worm_ratio", 0))
            known["labels"] = tuple(known.get("labels", ()))
            known["checklist_again"] = tuple(known.get("checklist_again", ()))
            known["stops"] = tuple(known.get("stops", ()))
            known["stamped"] = tuple(known.get("stamped", ()))
            known["depths"] = tuple(known.get("depths", ()))
            known["depths_mm"] = tuple(map(Fraction, known.get("depths_mm", ())))
            known["cut_minutes"] = Fraction(known.get("cut_minutes", 0))
            known["deeper"] = tuple(map(Fraction, known.get("deeper", ())))
            known["measurements"] = tuple(
                Measurement.from_record(each) for each in known.get("measurements", ())
            )
            known["recalls"] = tuple(
                Recall(tuple(map(int, each["at"])), str(each["text"]))
                for each in known.get("recalls", ())
            )
            known["last_seconds"] = tuple(map(float, known.get("last_seconds", ())))
            drawn = known.get("drawing")
            known["drawing"] = Drawing.from_record(drawn) if drawn else None
            known["then"] = cls.from_record(known["then"]) if known.get("then") else None
            heeded = {name: known.pop(name) for name in (*_PACE, *_ANSWERS) if name in known}
            return heeding(cls(**known), **heeded)
        except (KeyError, TypeError) as error:
            raise ValueError(f"programme does not fit: {error}") from error


def _fraction(written: Any) -> Fraction:
    """As Fraction reads it, and in a third of the time where it is digits: a journal has one for
    each place."""
    over, bar, under = written.partition("/") if isinstance(written, str) else ("", "", "")
    if over.isdecimal() and (under.isdecimal() or not bar):
        return Fraction(int(over), int(under or 1))
    return Fraction(written)


def _heeded_in_record(programme: Programme) -> dict[str, Any]:
    """What is otherwise than before there were such settings."""
    now = {**asdict(programme.pace), **asdict(programme.answers)}
    then = {**asdict(_PACE_BEFORE), **asdict(_ANSWERS_BEFORE)}
    return {name: value for name, value in now.items() if value != then[name]}


def heeding(programme: Programme, **settings: Any) -> Programme:
    """The same job in all its stages, its settings by these names as they are given.

    Raises TypeError for a setting that no session heeds.
    """
    pace = {name: value for name, value in settings.items() if name in _PACE}
    answers = {name: value for name, value in settings.items() if name not in _PACE}
    return replace(
        programme,
        pace=replace(programme.pace, **pace),
        answers=replace(programme.answers, **answers),
        then=programme.then and heeding(programme.then, **settings),
    )


def runs(moves: Iterable[Move]) -> list[tuple[Move, int]]:
    """Equal neighbours with their count."""
    found: list[tuple[Move, int]] = []
    for move in moves:
        if found and found[-1][0] == move:
            found[-1] = (move, found[-1][1] + 1)
        else:
            found.append((move, 1))
    return found


def spread(moves: Iterable[Move]) -> tuple[Move, ...]:
    """Each move as often as its `times` says, each with `times` 1."""
    return tuple(single for move in moves for single in [move._replace(times=1)] * move.times)
