"""`tallyhand inspect`: the spacing of a finished part, from a file, typed or told by voice."""

from __future__ import annotations

import math
import sys
from argparse import Namespace
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from assistant import errors
from assistant.bench.language_files import choose
from assistant.commands import command_line, data_folder
from assistant.commands.earlier import named
from assistant.files.settings import Settings, load_settings
from assistant.journal.index import listing
from assistant.paper.inspection import (
    UNITS,
    Spacing,
    keep_inspection,
    polar_chart,
    spacing_of,
    spacing_of_pins,
    spacing_of_spans,
)
from assistant.words.language import mark, number, say, speaking
from assistant.words.spoken import sentences

_MOST_TEETH = 1000
_ROUND = mark("Stop the cutter, and go round the part the way it was cut.")


def main(given: Namespace) -> int:
    """Asks for the readings or reads them, in the language of the settings, and
    tells the spacing.
    """
    settings = load_settings(Path(given.config) if given.config else None)
    with speaking(choose(settings.speech.language, settings.file).code):
        return _inspect(given, settings)


def _inspect(given: Namespace, settings: Settings) -> int:
    if given.span is not None and given.pins is not None:
        raise errors.WrongUse("tallyhand inspect: --span and --pins: give one of them")
    journal = _journal(given) if given.job else None
    sizes = _sizes(given, settings)
    spacing = replace(_spacing(sizes, given), unit=given.unit or "")
    teeth = len(sizes)
    k = spacing.usual_k if given.k is None else given.k
    if not 1 <= k < teeth:
        raise errors.WrongUse(f"tallyhand inspect: --k {k}: from 1 to {teeth - 1}")
    print("\n".join(deviations_told(spacing, k)))
    if given.out:
        _write(Path(given.out), polar_chart(spacing))
    if journal:
        _keep(journal, spacing)
    return command_line.DONE


def _sizes(given: Namespace, settings: Settings) -> list[float]:
    if given.readings:
        if given.voice:
            raise errors.WrongUse("tallyhand inspect: --voice and a file: give one of them")
        return readings_in(given.readings)
    teeth = _teeth(given)
    return _told(given, teeth, settings) if given.voice else list(_asked(given, teeth))


def _spacing(sizes: list[float], given: Namespace) -> Spacing:
    """Raises WrongUse for a span or pins from which the teeth can't be told."""
    k = given.span or given.pins
    if k is None:
        return spacing_of(sizes)
    option = "--span" if given.span else "--pins"
    if not 1 <= k < len(sizes):
        raise errors.WrongUse(f"tallyhand inspect: {option} {k}: from 1 to {len(sizes) - 1}")
    try:
        return (spacing_of_spans if given.span else spacing_of_pins)(sizes, k)
    except ValueError as fault:
        cure = (
            "the pins lie nearly opposite and hardly show the spacing: take fewer spaces between"
            if str(fault) == "opposite"
            else f"{k} and {len(sizes)} teeth have a common factor: take {_prime_to(k, len(sizes))}"
        )
        raise errors.WrongUse(f"tallyhand inspect: {option} {k}: {cure}") from fault


def _prime_to(k: int, teeth: int) -> int:
    """The next number that leads to every tooth."""
    for n in range(k, teeth):
        if math.gcd(n, teeth) == 1:
            return n
    return 1


# --- readings ---------------------------------------------------------------------------


def readings_in(name: str) -> list[float]:
    """A figure a line. Raises Refusal with the line and the cure."""
    try:
        lines = Path(name).read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise errors.Refusal(
            f"{name}: {error}", "give a text file, a reading a line", ": "
        ) from error
    found = []
    for at, line in enumerate(lines, 1):
        if bare := line.partition("#")[0].strip():
            if (value := _figure(bare)) is None:
                what = "write one figure, like -3.5"
                raise errors.Refusal(f"{name} line {at}: {bare[:30]!r}: {what}", "")
            found.append(value)
    if len(found) < 3:
        raise errors.Refusal(
            f"{name}: {len(found)} readings", "one for each tooth, 3 or more", ": "
        )
    return found


def _figure(text: str) -> float | None:
    try:
        value = float(text.strip().replace(",", "."))
    except ValueError:
        return None
    return value if abs(value) < 1e9 else None


def _teeth(given: Namespace) -> int:
    """How many. Raises WrongUse where it is not said, or can't be."""
    teeth: int | None = given.teeth
    if teeth is None or not 3 <= teeth <= _MOST_TEETH:
        what = "--teeth is missing" if teeth is None else f"--teeth {teeth}"
        raise errors.WrongUse(
            f"tallyhand inspect: {what}: give a file of readings, or --teeth (3 to {_MOST_TEETH}) "
            "to be asked for each"
        )
    return teeth


def _asked(given: Namespace, teeth: int) -> Iterator[float]:
    """Typed, tooth by tooth. Raises Refusal where they end early."""
    print(say(_ROUND))
    for n in range(1, teeth + 1):
        yield _answer(_question(n, teeth, given))


def _told(given: Namespace, teeth: int, settings: Settings) -> list[float]:
    """By voice, each read back. Raises Refusal where nothing can be heard."""
    from assistant.setup.readings_aloud import readings

    above = (
        "" if given.span or given.pins
        else say("Set the indicator so that it shows no figure below nought.")
    )  # fmt: skip
    questions = tuple(_short_question(n, teeth, given) for n in range(1, teeth + 1))
    return readings(questions, sentences(say(_ROUND), above), settings, _show)


def _show(words: str) -> None:
    print(words, flush=True)


def _short_question(n: int, teeth: int, given: Namespace) -> str:
    if given.span:
        return say("Span from tooth {n}.", n=number(n))
    if given.pins:
        other = (n + given.pins - 1) % teeth + 1
        return say("Pins in spaces {n} and {other}.", n=number(n), other=number(other))
    return say("Tooth {n}.", n=number(n))


def _question(n: int, teeth: int, given: Namespace) -> str:
    if given.span:
        return say("Span over {k} teeth, the first of them {n} of {teeth}:",
                   k=given.span, n=n, teeth=teeth)  # fmt: skip
    if given.pins:
        other = (n + given.pins - 1) % teeth + 1
        return say("Over pins in spaces {n} and {other} of {teeth}:", n=n, other=other, teeth=teeth)
    return say("Tooth {n} of {teeth}, indicator:", n=n, teeth=teeth)


def _answer(question: str) -> float:
    while True:
        print(question, flush=True)
        line = sys.stdin.readline()
        if not line:
            raise errors.Refusal(
                "readings: they ended too soon", "begin anew, or give a file", ": "
            )
        if (value := _figure(line)) is not None:
            return value
        print(say("{text} is no figure: give it like -3.5", text=repr(line.strip()[:30])))


# --- what is told -----------------------------------------------------------------------


def deviations_told(spacing: Spacing, k: int) -> Iterator[str]:
    """The deviations of ISO 1328-1 in lines, in the unit of the readings where that is known; `k`
    pitches for the partial cumulative one.
    """
    pitches = spacing.pitches
    worst = max(range(len(pitches)), key=lambda n: abs(pitches[n]))
    following = (worst + 1) % len(pitches) + 1
    unit = UNITS.get(spacing.unit, "")
    yield (
        say("{n} teeth (ISO 1328-1)", n=len(pitches)) if unit else
        say("{n} teeth; all figures in the unit of the readings (ISO 1328-1)", n=len(pitches))
    )  # fmt: skip

    def size(value: float) -> str:
        return f"{value:.4g} {unit}".strip()

    yield say("single pitch deviation: {size}, from tooth {a} to {b}",
              size=size(spacing.single), a=worst + 1, b=following)  # fmt: skip
    yield say("cumulative over {k} pitches: {size}", k=k, size=size(spacing.over(k)))
    yield say("total cumulative: {size}", size=size(spacing.total))


def _write(out: Path, chart: str) -> None:
    try:
        out.write_text(chart, "utf-8")
    except OSError as error:
        raise errors.Refusal(f"{out}: {error.strerror}", "name another file", ": ") from error
    print(say("{file} is written: the deviations round the part.", file=out))


# --- beside a job -----------------------------------------------------------------------


def _journal(given: Namespace) -> Path:
    """Raises Refusal for a job that the log has not."""
    folder = data_folder.folder(given.data)
    found = [job for job in listing(folder) if not job.fault and named(job, given.job)]
    if not found:
        raise errors.Refusal(
            f"no job named {given.job!r} in {folder}", "tallyhand log lists them", ": "
        )
    return folder / max(found, key=lambda job: job.last_worked).name


def _keep(journal: Path, spacing: Spacing) -> None:
    try:
        keep_inspection(journal, spacing)
    except OSError as error:
        raise errors.Refusal(
            f"{journal.parent}: {error.strerror}: can't be kept there", ""
        ) from error
    print(say("Kept with the job: tallyhand report shows it."))
