"""The report as one HTML page that needs nothing else; printed, it is the PDF."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from importlib.resources import files
from statistics import median

from assistant.engine.block_words import by_block
from assistant.engine.calling import by_handwheel
from assistant.job.programme import Programme
from assistant.job.units import Unit, in_unit
from assistant.paper import chart, report_facts
from assistant.paper.history import Account, Confirmation, CutMade, Size, clock
from assistant.paper.inspection import UNITS, Spacing, polar_chart
from assistant.words.language import known, mark, say, speaking
from assistant.words.spoken import sentences


def report_document(told: Account, spacing: Spacing | None = None) -> str:
    """Names, totals, set-up, every cut with its move, every size, scrap, everything else of note,
    and lines to sign. In the language of the session; `spacing` is what was inspected after it."""
    with speaking(told.reading.programme.language):
        return _page(told, spacing)


def _page(told: Account, spacing: Spacing | None) -> str:
    style = files("assistant.paper").joinpath("report.css").read_text("utf-8")
    title = told.reading.programme.title
    language = known(told.reading.programme.language).code
    name = say("report")
    parts = [
        f"<h1>{escape(title)}</h1>",
        f"<p>{escape(_stand(told))}</p>",
        fact_grid(report_facts.report_lines(told), "names"),
        *_drawn(told),
        _totals(told),
        *_scrap(told),
        *_parts(told),
        *_charts(told),
        *_set_up(told),
        report_heading(say("Cuts")),
        _cuts(told),
        *_moves(told),
        *_sizes(told),
        *_inspection(spacing),
        report_heading(say("Notes, refusals, devices")),
        _remarks(told),
        _signatures(),
        f'<p class="small">{escape(say(_UNSEEN))}</p>',
    ]
    return (
        f'<!doctype html>\n<html lang="{escape(language)}">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}: {escape(name)}</title>\n<style>\n{style}</style>\n"
        "</head>\n<body>\n<main>\n" + "\n".join(parts) + "\n</main>\n</body>\n</html>\n"
    )


_UNSEEN = mark(
    "What was confirmed is what a person said or pressed; nothing here was seen or measured by "
    "the program itself."
)


def report_heading(text: str) -> str:
    """Of a part of the page."""
    return f"<h2>{escape(text)}</h2>"


def _stand(told: Account) -> str:
    job, state = told.reading.programme, told.reading.state
    begun = told.reading.about.get("started", "")[:16].replace("T", " ")
    asked = ""
    if told.finished:
        stand = say("given up as scrap") if state.scrapped else say("finished")
    else:
        stand = say("not finished")
        asked = say("Asked last: {words}", words=state.said) if state.said else ""
    first = say("Begun {begun}; {stand}.", begun=begun, stand=stand)
    return sentences(first, asked, job.accuracy)


def _drawn(told: Account) -> Iterable[str]:
    """What the part was to be: the job's own keys, by which the job can be given again."""
    if lines := list(report_facts.drawn_lines(told.reading.about)):
        yield report_heading(say("As the job file has it"))
        yield fact_grid(lines, "names")


def _totals(told: Account) -> str:
    middle = told.median_seconds()
    entries = told.reading.entries
    whole = entries[-1].at - entries[0].at if entries else 0.0
    unknown = say("not known")
    facts = [
        (say("Cuts made"), str(len(told.cuts))),
        (say("From first to last record"), minutes(whole)),
        (say("Median time of a cut"), unknown if middle is None else f"{middle:.0f} s"),
        *_last_time(told),
        (say("Overshoots"), str(told.count("overshoot"))),
        (say("Inputs refused"), str(told.count("refused"))),
        (say("Devices lost"), str(told.count("device lost"))),
        (say("Restarts"), str(told.count("resumed"))),
        (say("Notes"), str(told.count("note"))),
        (
            say("Confirmed by"),
            ", ".join(f"{_source(k)} {n}" for k, n in told.sources().items()) or say("nothing yet"),
        ),
    ]
    return fact_grid(facts, "totals")


def _last_time(told: Account) -> Iterable[tuple[str, str]]:
    """The median of the session that was done again, beside this one's."""
    job = told.reading.programme
    known_ = [
        seconds for n in range(job.stages) for seconds in job.stage(n).last_seconds if seconds
    ]
    if known_:
        yield say("Median last time"), f"{median(known_):.0f} s"


def fact_grid(facts: Iterable[tuple[str, str]], kind: str) -> str:
    """Names and values; `kind` is "names" or "totals"."""
    cells = "".join(f"<div><dt>{escape(n)}</dt><dd>{escape(v)}</dd></div>" for n, v in facts)
    return f'<dl class="{kind}">{cells}</dl>'


def _scrap(told: Account) -> Iterable[str]:
    """That the part was given up, and over which size."""
    if told.reading.state.scrapped:
        why = [remark.text for remark in told.remarks if remark.kind == "undersize"]
        yield report_heading(say("Scrap"))
        reason = why[-1] if why else say("no reason was recorded")
        yield f"<p>{escape(reason)}</p>"


def _parts(told: Account) -> Iterable[str]:
    """Of a batch: what became of each part that is over."""
    if not _batch(told):
        return
    yield report_heading(say("Parts"))
    rows = [
        (str(each.number), say("given up as scrap") if each.given_up else say("made"),
         str(each.cuts), clock(each.at).replace("T", " ")[:19])
        for each in told.parts
    ]  # fmt: skip
    heads = (say("Part"), say("Outcome"), say("Cuts made"), say("Time"))
    yield report_table(heads, rows, say("No part is over."))


def _batch(told: Account) -> bool:
    return told.reading.programme.parts > 1


def _apart(told: Account, part: int | None = None) -> tuple[str, ...]:
    """The first column where parts are kept apart: its head, or the part's number."""
    if not _batch(told):
        return ()
    return (say("Part") if part is None else str(part),)


def _set_up(told: Account) -> Iterable[str]:
    """Every item as it was confirmed: by whom it was said or pressed, and when."""
    if told.set_up:
        yield report_heading(say("Set-up, as confirmed"))
        items = (
            f"<li>{escape(_of_part(told, i.part))}{escape(_of_setting(told, i.stage))}"
            f"{escape(i.text)} "
            f"<b>{escape(_told(i.answer))}</b></li>"
            for i in told.set_up
        )
        yield f"<ol>{''.join(items)}</ol>"


def _of_part(told: Account, part: int) -> str:
    return say("Part {n}: ", n=part) if _batch(told) else ""


def _of_setting(told: Account, number: int) -> str:
    """Whose name stands before its items, where there are several."""
    job = told.reading.programme
    name = job.stage(number - 1).name
    return f"{name}: " if job.stages > 1 and name else ""


def _setting(told: Account, number: int) -> str:
    """A stage by its number, from 1, and its name where it has one."""
    name = told.reading.programme.stage(number - 1).name
    return f"{number} {name}".strip()


def _inspection(spacing: Spacing | None) -> Iterable[str]:
    if spacing is not None:
        yield report_heading(say("Inspection of the spacing (ISO 1328-1)"))
        k = spacing.usual_k
        unit = UNITS.get(spacing.unit, "")
        yield fact_grid(
            (
                (say("teeth"), str(len(spacing.index))),
                (say("measured with"), _measured_with(spacing)),
                (say("unit of the figures"), unit or say("as the readings; not given")),
                (say("single pitch deviation"), f"{spacing.single:.4g} {unit}".strip()),
                (say("cumulative over {k} pitches", k=k), f"{spacing.over(k):.4g} {unit}".strip()),
                (say("total cumulative"), f"{spacing.total:.4g} {unit}".strip()),
            ),
            "names",
        )
        yield f'<figure style="max-width: 26em">{polar_chart(spacing)}</figure>'


def _measured_with(spacing: Spacing) -> str:
    if spacing.by == "span":
        return say("spans over {k} teeth", k=spacing.over_k)
    if spacing.by == "pins":
        return say("pins {k} spaces apart", k=spacing.over_k)
    return say("an indicator at each tooth")


def _signatures() -> str:
    lines = (say("Set up by"), say("Made by"), say("Inspected by"), say("Date"))
    return '<section class="signatures">' + "".join(
        f"<p><span></span>{escape(name)}</p>" for name in lines
    ) + "</section>"  # fmt: skip


def minutes(seconds: float) -> str:
    """ "1 h 05 min", "4 min 10 s"; "not known" where the clock was set back between."""
    if seconds < 0:
        return say("not known")
    hours, rest = divmod(round(seconds), 3600)
    if hours:
        return f"{hours} h {rest // 60:02d} min"
    return f"{rest // 60} min {rest % 60:02d} s"


def _charts(told: Account) -> Iterable[str]:
    if told.cuts:
        yield report_heading(say("Seconds for each cut"))
        name = say("Seconds for each cut, in order")
        yield chart.bars([cut.seconds for cut in told.cuts], name)
    if any(size.size is not None for size in told.sizes):
        unit = told.reading.programme.unit
        yield report_heading(say("Measured against wanted, {unit}", unit=unit))
        name = say("Measured sizes, expected sizes and finished sizes")
        yield chart.sizes(told.sizes, name, unit)
        legend = say("Dot: measured. Line: expected then. Dashes: finished size.")
        yield f"<p>{escape(legend)}</p>"


def _cuts(told: Account) -> str:
    block = by_block(told.reading.programme)
    heads = (
        *_apart(told),
        say("Setting"), say("Pass"), say("Cut"), say("Called"),
        say("Vice tight") if block else say("Lock"), say("Guard"),
        say("Done"), say("Seconds"), say("Of it cutting"), say("Overshoots"), say("Refused"),
    )  # fmt: skip
    rows = [
        (
            *_apart(told, cut.part), _setting(told, cut.stage), str(cut.pass_number),
            str(cut.number), cut.label, _told(cut.lock),
            _told(cut.guard), _told(cut.done), seconds(cut.seconds), seconds(cut.cutting),
            str(cut.overshoots or ""), str(cut.refused or ""),
        )
        for cut in told.cuts
    ]  # fmt: skip
    return report_table(heads, rows, say("No cut was made."))


def _moves(told: Account) -> Iterable[str]:
    """Where each cut stands, how the spindle came there, and what the dial was called at."""
    if not told.cuts:
        return
    yield report_heading(say("Moves and angles"))
    job = told.reading.programme
    block, unit = by_block(job), job.unit
    heads = (
        *_apart(told),
        say("Setting"), say("Pass"), say("Cut"), say("Move"), say("Spindle at"),
        say("Depth, {unit}", unit=unit),
        say("Vice open") if block else say("Lock off"), _in_place(job),
    )  # fmt: skip
    rows = [
        (
            *_apart(told, cut.part), _setting(told, cut.stage), str(cut.pass_number),
            str(cut.number), cut.move or _first_place(job),
            _angle(cut.degrees), "" if cut.depth is None else length_figure(cut.depth, unit),
            _moved(cut.released, cut), _moved(cut.pinned, cut),
        )
        for cut in told.cuts
    ]  # fmt: skip
    yield report_table(heads, rows, "")


def _in_place(job: Programme) -> str:
    """What was confirmed after a move."""
    if by_block(job):
        return say("Face up")
    return say("Dial set") if by_handwheel(job) else say("Pin in its hole")


def _first_place(job: Programme) -> str:
    """Where the first cut is, to which no move leads."""
    if by_block(job):
        return say("first face")
    return say("dial at nought") if by_handwheel(job) else say("first hole")


def _angle(degrees: float) -> str:
    return f"{degrees:.4f}".rstrip("0").rstrip(".") + "°"


def _moved(answer: Confirmation | None, cut: CutMade) -> str:
    """Before the first cut nothing is turned."""
    return "" if answer is None and cut.number == 1 else _told(answer)


def _told(answer: Confirmation | None) -> str:
    if answer is None:
        return say("not asked")
    sure = "" if answer.confidence >= 1 else f" ({answer.confidence:.2f})"
    return f"{clock(answer.at)[11:19]} {_source(answer.source)}{sure}"


_SOURCES = {"pedal": mark("pedal"), "voice": mark("voice"), "keyboard": mark("keyboard"),
            "page": mark("page")}  # fmt: skip


def _source(name: str) -> str:
    return say(_SOURCES.get(name, name))


def seconds(value: float | None) -> str:
    """To a tenth; "" where it is not known."""
    return "" if value is None else f"{value:.1f}"


def _sizes(told: Account) -> Iterable[str]:
    if told.sizes:
        yield report_heading(say("Sizes"))
        unit = told.reading.programme.unit
        heads = (
            *_apart(told), say("Time"), say("What"), say("Measured, {unit}", unit=unit),
            say("Expected then, {unit}", unit=unit), say("Finished, {unit}", unit=unit),
            say("Verdict"),
        )  # fmt: skip
        rows = [
            (*_apart(told, s.part), clock(s.at)[11:19], s.what,
             say("skipped") if s.size is None else length_figure(s.size, unit),
             length_figure(s.expected, unit), _finished(s, unit),
             say(_VERDICTS.get(s.verdict, s.verdict)))
            for s in told.sizes
        ]  # fmt: skip
        yield report_table(heads, rows, "")


_VERDICTS = {"in": mark("in"), "under": mark("under"), "over": mark("over")}


def _finished(size: Size, unit: Unit) -> str:
    if size.low is None or size.high is None:
        return length_figure(size.target, unit)
    low, high = length_figure(size.low, unit), length_figure(size.high, unit)
    return say("{low} to {high}", low=low, high=high)


def length_figure(size_mm: float, unit: Unit) -> str:
    """To a micrometre, or to a tenth of a thou, without its unit."""
    return f"{in_unit(size_mm, unit):.{3 if unit == 'mm' else 4}f}"


def _remarks(told: Account) -> str:
    rows = [
        (
            *_apart(told, r.part), clock(r.at).replace("T", " ")[:19], str(r.cut),
            say(_KINDS.get(r.kind, r.kind)), r.text,
        )
        for r in told.remarks
    ]  # fmt: skip
    heads = (*_apart(told), say("Time"), say("Cut"), say("What"), say("Detail"))
    return report_table(heads, rows, say("Nothing of note."))


_KINDS = {
    "refused": mark("refused"), "overshoot": mark("overshoot"), "undersize": mark("undersize"),
    "count set": mark("count set"), "pass left out": mark("pass left out"),
    "reopened": mark("reopened"), "note": mark("note"), "device lost": mark("device lost"),
    "device back": mark("device back"), "device troubled": mark("device troubled"),
    "hearing": mark("hearing"), "not spoken": mark("not spoken"), "resumed": mark("resumed"),
    "left": mark("left"), "trial round": mark("trial round"), "part made": mark("part made"),
    "part given up": mark("part given up"), "cut again": mark("cut again"),
}  # fmt: skip


def report_table(heads: tuple[str, ...], rows: Sequence[tuple[str, ...]], empty: str) -> str:
    """`empty` is said where there are no rows."""
    if not rows:
        return f"<p>{escape(empty)}</p>"
    top = "".join(f'<th scope="col">{escape(h)}</th>' for h in heads)
    body = "\n".join(
        "<tr>" + "".join(f"<td>{escape(c)}</td>" for c in row) + "</tr>" for row in rows
    )
    name = escape(say("Table: {first} and more", first=heads[0]))
    return (
        f'<div class="wide" tabindex="0" role="region" aria-label="{name}"><table><thead>'
        f"<tr>{top}</tr></thead>\n<tbody>\n{body}\n</tbody></table></div>"
    )
