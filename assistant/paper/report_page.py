"""The report as one HTML page that needs nothing else."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from importlib.resources import files

from assistant.paper import chart
from assistant.paper.history import Account, Answer, CutMade, Size, clock
from assistant.paper.inspection import kept, polar_chart


def report(told: Account) -> str:
    """Totals, charts, every cut, every size and everything else of note."""
    style = files("assistant.paper").joinpath("report.css").read_text("utf-8")
    title = told.reading.programme.title
    parts = [
        f"<h1>{escape(title)}</h1>",
        f"<p>{escape(_stand(told))}</p>",
        _totals(told),
        *_charts(told),
        "<h2>Cuts</h2>",
        _cuts(told.cuts),
        *_sizes(told),
        *_spacing(told),
        "<h2>Notes, refusals, devices</h2>",
        _remarks(told),
        '<p class="small">What was confirmed is what a person said or pressed; nothing here was '
        "seen or measured by the program itself.</p>",
    ]
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}: report</title>\n<style>\n{style}</style>\n</head>\n"
        "<body>\n<main>\n" + "\n".join(parts) + "\n</main>\n</body>\n</html>\n"
    )


def _stand(told: Account) -> str:
    job, state = told.reading.programme, told.reading.state
    begun = told.reading.about.get("started", "")[:16].replace("T", " ")
    ended = "given up as scrap" if state.scrapped else "finished"
    stand = ended if told.finished else f"not finished, in the step {state.step.value}"
    told_first = f"{job.head}, by {job.method} indexing. Begun {begun}; {stand}."
    return f"{told_first} {job.accuracy}".strip()


def _spacing(told: Account) -> Iterable[str]:
    """The part as it was inspected afterwards, where it was."""
    found = kept(told.reading.path)
    if found is None:
        return
    spacing, how = found
    k = spacing.usual_k
    yield "<h2>Spacing of the finished part</h2>"
    yield (
        f"<p>{len(spacing.index)} teeth, by {escape(how)}, in the unit of the readings "
        "(ISO 1328-1): "
        f"single pitch deviation {spacing.single:.4g}, cumulative over "
        f"{k} pitches {spacing.over(k):.4g}, total {spacing.total:.4g}.</p>"
    )
    yield f'<figure style="max-width: 30em">{polar_chart(spacing)}</figure>'


def _totals(told: Account) -> str:
    middle = told.median_seconds()
    entries = told.reading.entries
    whole = entries[-1].at - entries[0].at if entries else 0.0
    facts = [
        ("Cuts made", str(len(told.cuts))),
        ("From first to last record", minutes(whole)),
        ("Median time of a cut", "not known" if middle is None else f"{middle:.0f} s"),
        ("Overshoots", str(told.count("overshoot"))),
        ("Inputs refused", str(told.count("refused"))),
        ("Devices lost", str(told.count("device lost"))),
        ("Restarts", str(told.count("resumed"))),
        ("Notes", str(told.count("note"))),
        ("Confirmed by", ", ".join(f"{k} {n}" for k, n in told.sources().items()) or "nothing yet"),
    ]
    cells = "".join(f"<div><dt>{escape(n)}</dt><dd>{escape(v)}</dd></div>" for n, v in facts)
    return f'<dl class="totals">{cells}</dl>'


def minutes(seconds: float) -> str:
    """ "1 h 05 min", "4 min 10 s"; "not known" where the clock was set back between."""
    if seconds < 0:
        return "not known"
    hours, rest = divmod(round(seconds), 3600)
    if hours:
        return f"{hours} h {rest // 60:02d} min"
    return f"{rest // 60} min {rest % 60:02d} s"


def _charts(told: Account) -> Iterable[str]:
    if told.cuts:
        yield "<h2>Seconds for each cut</h2>"
        yield chart.bars([cut.seconds for cut in told.cuts], "Seconds for each cut, in order")
    if told.sizes:
        yield "<h2>Measured against wanted, mm</h2>"
        yield chart.sizes(told.sizes, "Measured sizes, expected sizes and finished sizes")
        yield "<p>Dot: measured. Line: expected then. Dashes: finished size.</p>"


def _cuts(cuts: list[CutMade]) -> str:
    heads = ("Stage", "Pass", "Cut", "Called", "Lock", "Guard", "Done", "Seconds", "Cutting",
             "Overshoots", "Refused")  # fmt: skip
    rows = [
        (
            str(cut.stage), str(cut.pass_number), str(cut.number), cut.label, _told(cut.lock),
            _told(cut.guard), _told(cut.done), seconds(cut.seconds), seconds(cut.cutting),
            str(cut.overshoots or ""), str(cut.refused or ""),
        )
        for cut in cuts
    ]  # fmt: skip
    return table(heads, rows, "No cut was made.")


def _told(answer: Answer | None) -> str:
    if answer is None:
        return "not asked"
    sure = "" if answer.confidence >= 1 else f" ({answer.confidence:.2f})"
    return f"{clock(answer.at)[11:19]} {answer.source}{sure}"


def seconds(value: float | None) -> str:
    return "" if value is None else f"{value:.1f}"


def _sizes(told: Account) -> Iterable[str]:
    if told.sizes:
        yield "<h2>Sizes</h2>"
        heads = ("Time", "What", "Measured, mm", "Expected then, mm", "Finished, mm", "Verdict")
        rows = [
            (clock(s.at)[11:19], s.what, "skipped" if s.size is None else f"{s.size:.3f}",
             f"{s.expected:.3f}", _finished(s), s.verdict)
            for s in told.sizes
        ]  # fmt: skip
        yield table(heads, rows, "")


def _finished(size: Size) -> str:
    if size.low is None or size.high is None:
        return f"{size.target:.3f}"
    return f"{size.low:.3f} to {size.high:.3f}"


def _remarks(told: Account) -> str:
    rows = [(clock(r.at).replace("T", " ")[:19], str(r.cut), r.kind, r.text) for r in told.remarks]
    return table(("Time", "Cut", "What", "Detail"), rows, "Nothing of note.")


def table(heads: tuple[str, ...], rows: Sequence[tuple[str, ...]], empty: str) -> str:
    if not rows:
        return f"<p>{escape(empty)}</p>"
    top = "".join(f'<th scope="col">{escape(h)}</th>' for h in heads)
    body = "\n".join(
        "<tr>" + "".join(f"<td>{escape(c)}</td>" for c in row) + "</tr>" for row in rows
    )
    return (
        f'<div class="wide" tabindex="0" role="region" aria-label="Table: {escape(heads[0])} and '
        f'more"><table><thead><tr>{top}</tr></thead>\n<tbody>\n{body}\n</tbody></table></div>'
    )
