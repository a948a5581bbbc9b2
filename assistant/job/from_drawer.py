"""A job takes its cutter from the drawer, and is told what is missing there."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from assistant.errors import Refusal
from assistant.files.places import head_path
from assistant.files.settings import Settings
from assistant.job.compiler import Stage, head_of, stages_of
from assistant.job.cutter_fit import RIGHT, Fit, Wanted
from assistant.job.drawer import Drawer, drawer_of
from assistant.job.job_file import Job, JobFaults
from assistant.job.kept import Kept
from assistant.job.owned import ALL, Owned
from assistant.job.part import Cutter
from assistant.job.which_head import same_head
from assistant.words.language import say
from solver import Setup, load_head

_SIZES = ("diameter", "width", "teeth", "speed", "chip")


def with_drawer(job: Job, settings: Settings) -> Job:
    """The job with the cutter that it names, as sharpening left it, and with the plates and gears
    that the person has of their own head.

    Raises JobFaults, with lines, for a cutter that is not there or does not fit.
    """
    drawer = drawer_of(settings)
    found = replace(job, cutter=_cutter(job, drawer)) if job.cutter.name else job
    if not drawer.owned or not same_head(job, settings.job.head):
        return found
    check_owned(settings)
    return replace(found, owned=drawer.owned)


def check_owned(settings: Settings) -> Owned:
    """What is owned of the settings' own head. Raises JobFaults for a plate that it has not."""
    drawer = drawer_of(settings)
    if not settings.job.head:
        return drawer.owned
    plates = [plate.name for plate in load_head(head_path(settings.job.head)).plates]
    strange = [name for name in drawer.owned.plates or () if name not in plates]
    line = settings.drawer.line("plates")
    where = f"{settings.file} line {line}: plates"
    if strange:
        known = ", ".join(plates) or "none"
        raise Refusal(
            f"{where}: {strange[0]!r} is no plate of {settings.job.head}", f"it has {known}", ": "
        )
    fitted = settings.job.fitted
    if fitted in plates and drawer.owned.plates and fitted not in drawer.owned.plates:
        raise Refusal(
            f"{where}: {fitted!r} is fitted, by [job], and not in the drawer", "add it", ": "
        )
    return drawer.owned


# --- the cutter that the job names --------------------------------------------------------


def _cutter(job: Job, drawer: Drawer) -> Cutter:
    name = job.cutter.name
    kept = drawer.cutter(name)
    if kept is None and not drawer.cutters:
        return job.cutter  # the file may come from another shop; `drawer_lines` says so
    if kept is None:
        text = f"no cutter {name!r} in the drawer: {_cure(job, drawer)}"
        raise job.faults("cutter", [("name", text)])
    fits = [(each, each.judge(kept)) for each in _all_wanted(job)]
    if fits and not any(fit.does for _, fit in fits):
        each, fit = fits[0]
        what = f"{kept.name}: {fit.why}; wanted is {each.what}"
        raise job.faults("cutter", [("name", f"{what}: {_cure(job, drawer)}")])
    _same_size(job, kept)
    known = {key: getattr(kept.cutter, key) for key in _SIZES}
    given = {key: value for key, value in known.items() if value is not None}
    return replace(job.cutter, name=kept.name, material=kept.cutter.material, **given)


def _same_size(job: Job, kept: Kept) -> None:
    """Raises JobFaults where a work is reckoned with another size than the cutter has now: its
    settings would be wrong by as much."""
    for work in job.works:
        asked = work.work.wanted_cutter(job.unit)
        if asked and (fit := asked.judge(kept)).rewrite:
            raise job.faults(work.table, [(fit.rewrite, f"{kept.name} is {fit.why}")])


def _cure(job: Job, drawer: Drawer) -> str:
    choices = offers(job, drawer)
    if not choices:
        return f"it has none that would do: mend [drawer] in {drawer.file}, or leave name out"
    return "take " + " or ".join(_named(each) for each in choices)


def _named(offer: Offer) -> str:
    return f"{offer.kept.name} ({offer.fit.why})" if offer.fit.why else offer.kept.name


def _all_wanted(job: Job) -> list[Wanted]:
    found = (work.work.wanted_cutter(job.unit) for work in job.works)
    return [each for each in found if each is not None]


# --- what fits ----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Offer:
    """A cutter that fits the job, or would do."""

    kept: Kept
    fit: Fit


def offers(job: Job, drawer: Drawer) -> list[Offer]:
    """Those of the drawer that the job can be cut with: the right ones first."""
    asked = _all_wanted(job)
    found = [
        Offer(kept, min((each.judge(kept) for each in asked), key=_rank, default=RIGHT))
        for kept in drawer.cutters
    ]
    return sorted((each for each in found if each.fit.does), key=lambda each: _rank(each.fit))


def _rank(fit: Fit) -> int:
    return 0 if fit.right else 1 if fit.does else 2


# --- what is told of a job ----------------------------------------------------------------


def drawer_lines(job: Job, settings: Settings, stages: Iterable[Stage]) -> list[str]:
    """Which cutter is taken, what is missing and what would do instead, in lines."""
    return [*_cutter_told(job, drawer_of(settings)), *_owned_told(job, tuple(stages))]


def _cutter_told(job: Job, drawer: Drawer) -> Iterator[str]:
    if not drawer.cutters:
        if job.cutter.name:
            yield say("The job names the cutter {name}, and no drawer is kept in {file}.",
                      name=job.cutter.name, file=drawer.file)  # fmt: skip
        return
    if not (asked := _all_wanted(job)):
        return
    if job.cutter.name:
        yield from _taken_told(job, drawer, asked)
        return
    choices = offers(job, drawer)
    for each in choices:
        if each.fit.right:
            yield say("In the drawer: {name}.", name=each.kept.name)
    if any(each.fit.right for each in choices):
        return
    yield say("Missing in the drawer: {what}.", what=asked[0].what)
    for each in choices:
        yield say("Instead: {name}, {why}.", name=each.kept.name, why=each.fit.why)


def _taken_told(job: Job, drawer: Drawer, asked: list[Wanted]) -> Iterator[str]:
    kept = drawer.cutter(job.cutter.name)
    if kept is None:
        return
    fit = min((each.judge(kept) for each in asked), key=_rank)
    yield say("Taken from the drawer: {name}.", name=kept.name)
    if fit.why:
        yield say("Wanted is {what}; {name}: {why}.",
                  what=asked[0].what, name=kept.name, why=fit.why)  # fmt: skip


def _owned_told(job: Job, stages: tuple[Stage, ...]) -> Iterator[str]:
    """Plates and gears of the head's file that the best way would take and the drawer has not."""
    if not job.owned:
        return
    try:
        whole = replace(job, owned=ALL)
        best = stages_of(whole, head_of(whole))
    except (Refusal, JobFaults):
        return
    mine = {id(stage.part): stage.setup for stage in stages}
    wished = {id(stage.part): stage.setup for stage in best}
    for setup, instead in zip(wished.values(), mine.values(), strict=False):
        yield from missing(job.owned, setup, instead)


def missing(owned: Owned, best: Setup, instead: Setup) -> Iterator[str]:
    """What the best way takes that is not owned, and what is done instead."""
    lacks = [*_plates_lacking(owned, best), *_gears_lacking(owned, best)]
    if not lacks:
        return
    yield say("Missing in the drawer: {what}.", what=", ".join(lacks))
    yield say("Instead: {way}.", way=_way(instead))


def _way(setup: Setup) -> str:
    where = f", {setup.plate} {setup.circle}" if setup.plate and setup.circle else ""
    off = say("at most {n} arc-seconds off", n=f"{setup.worst_error_arcsec:.1f}")
    return f"{setup.method}{where}, {say('exact') if setup.exact else off}"


def _plates_lacking(owned: Owned, setup: Setup) -> list[str]:
    if owned.plates is None or not setup.plate or setup.any_plate or setup.plate in owned.plates:
        return []
    return [say("plate {name}, circle {holes}", name=setup.plate, holes=setup.circle)]


def _gears_lacking(owned: Owned, setup: Setup) -> list[str]:
    if owned.gears is None or setup.gearing is None:
        return []
    wished = Counter([*setup.gearing.drivers, *setup.gearing.driven])
    lacks = (wished - Counter(owned.gears)).elements()
    return [say("gear {teeth}", teeth=teeth) for teeth in sorted(lacks)]
