"""What the record says about a person and a head: one page, from the journals alone.

Nothing here judges a person: it says where the next job could go better, with the number of cuts or
sizes that it rests on, and says nothing where they are too few.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from html import escape
from importlib.resources import files
from math import sqrt
from statistics import fmean, median, stdev

from assistant.paper import chart
from assistant.paper.history import Account, Size
from assistant.paper.report_page import fact_grid, report_heading, report_table
from assistant.words.language import mark, say

FEWEST = 5  # sizes, below which a mean says nothing
SURE = 2.0  # standard errors that a mean must stand off before it is told (about 95 %)
LEAST_MM = 0.01  # nobody sets a dial finer

SLIPS = {
    "overshoot": mark("went past the hole"),
    "refused": mark("answers refused"),
    "reopened": mark("cuts counted too soon"),
    "count set": mark("counts set anew"),
    "resumed": mark("restarts"),
}


@dataclass(frozen=True, slots=True)
class Drift:
    """How far the sizes of the last pass stand off what was expected of them, mm."""

    count: int
    mean: float
    spread: float

    @property
    def told(self) -> bool:
        """Too far and too steady for chance."""
        if self.count < FEWEST or abs(self.mean) < LEAST_MM:
            return False
        return abs(self.mean) > SURE * self.spread / sqrt(self.count)


def drift(sizes: Sequence[Size]) -> Drift | None:
    """Of what was measured; None for nothing measured."""
    off = [size.size - size.expected for size in sizes if size.size is not None]
    if not off:
        return None
    return Drift(len(off), fmean(off), stdev(off) if len(off) > 1 else 0.0)


def learned_page(told: Sequence[Account]) -> str:
    """The whole page, in the language in force; a part for each head, the most used first."""
    style = files("assistant.paper").joinpath("report.css").read_text("utf-8")
    title = say("What the record says")
    by_head: dict[str, list[Account]] = {}
    for each in told:
        by_head.setdefault(each.reading.programme.head, []).append(each)
    most = sorted(by_head.items(), key=lambda item: -sum(len(each.cuts) for each in item[1]))
    body = [line for head, jobs in most for line in _head(head, jobs)]
    return (
        '<!doctype html>\n<html>\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>\n{style}</style>\n</head>\n<body>\n<main>\n"
        f"<h1>{escape(title)}</h1>\n" + "\n".join(body) + "\n</main>\n</body>\n</html>\n"
    )


def _head(head: str, jobs: Sequence[Account]) -> Iterator[str]:
    cuts = [cut for each in jobs for cut in each.cuts]
    seconds = [cut.seconds for cut in cuts if cut.seconds is not None]
    people = {each.reading.about.get("operator", "") for each in jobs} - {""}
    yield report_heading(head)
    yield fact_grid(
        (
            (say("Jobs"), str(len(jobs))),
            (say("Operator"), ", ".join(sorted(people)) or say("not given")),
            (say("Cuts made"), str(len(cuts))),
            (say("Median time of a cut"), f"{median(seconds):.0f} s" if seconds else _unknown()),
            (say("Given up as scrap"), str(sum(map(_given_up, jobs)))),
        ),
        "totals",
    )
    medians = [each.median_seconds() for each in jobs]
    if len(jobs) > 1 and any(medians):
        name = say("Median seconds of a cut, job by job")
        yield f"<p>{escape(name)}</p>"
        yield chart.bars(medians, name, say("job"))
    yield from _slips(jobs, len(cuts))
    yield from _sizes(jobs)


def _given_up(told: Account) -> int:
    state = told.reading.state
    return len(state.scraps) + state.scrapped


def _unknown() -> str:
    return say("not known")


def _slips(jobs: Sequence[Account], cuts: int) -> Iterator[str]:
    """By kind, and how many in a hundred cuts."""
    rows = []
    for kind, name in SLIPS.items():
        count = sum(each.count(kind) for each in jobs)
        if count:
            rows.append((say(name), str(count), f"{100 * count / cuts:.1f}" if cuts else ""))
    heads = (say("Slips"), say("How often"), say("In a hundred cuts"))
    yield report_table(heads, rows, say("No slip is on record."))


def _sizes(jobs: Sequence[Account]) -> Iterator[str]:
    sizes = [size for each in jobs for size in each.sizes]
    found = drift(sizes)
    if found is None:
        return
    yield fact_grid(
        (
            (say("Sizes measured"), str(found.count)),
            (say("Off what was expected, on average"), f"{found.mean:+.3f} mm"),
            (say("Spread (standard deviation)"), f"{found.spread:.3f} mm"),
        ),
        "totals",
    )
    yield f"<p>{escape(advice(found))}</p>"
    name = say("Off what was expected, size by size, mm")
    yield f"<p>{escape(name)}</p>"
    yield chart.sizes([_off(size) for size in sizes if size.size is not None], name)


def _off(size: Size) -> Size:
    """Against nought: parts of all sizes stand side by side, and a drift is seen."""
    return replace(size, size=(size.size or 0.0) - size.expected, expected=0.0, target=0.0)


def advice(found: Drift) -> str:
    """What such a mean points at, and no more than that."""
    if found.count < FEWEST:
        return say("Fewer than {n} sizes: too few to say anything.", n=FEWEST)
    if not found.told:
        return say("The sizes stand about what was expected: nothing points at cutter or dial.")
    by = f"{abs(found.mean):.2f} mm"
    if found.mean > 0:
        return say(
            "Sizes come out {by} over, time after time: the first touch came too soon, a blunt "
            "cutter springs away, or the dial gives less than it says.",
            by=by,
        )
    return say(
        "Sizes come out {by} under, time after time: the first touch came too late, the cutter "
        "runs out, or the dial gives more than it says.",
        by=by,
    )
