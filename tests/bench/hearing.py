"""How well the ears hear: one table, printed and written to docs/hearing-figures.md.

    python -m tests.bench.hearing --manners 2 --rivals 1 --hours hours.jsonl

Needs `pip install 'tallyhand[bench,train]'` and espeak-ng; TALLYHAND_DIGITS names the folder
of the open digit recordings. The false accepts are counted by hearing_hours.py beforehand.
"""

from __future__ import annotations

import argparse
import json
import resource
import time
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from assistant.devices.detector import Detector, silero
from assistant.devices.ear import Ear, Hearer
from assistant.devices.ear_grammar import GrammarEar
from assistant.devices.ear_head import HeadEar
from assistant.hearing.vocabulary import LOCK_AND_GUARD, built_in
from assistant.settings import Ear as EarSettings
from tests.bench import hearing_digits
from tests.bench.hearing_clips import CLEAN, Clip, Score, clips, conditions, hear, judge, spoilt
from tests.bench.hearing_hours import REPORT_S
from tests.bench.hearing_rivals import whisper

RIVALS_ON = {("clean", CLEAN), ("mill", 10.0), ("mill", 5.0), ("shop", 10.0), ("shop", 5.0)}
"""The others are slow: they hear these conditions only."""

OUT = Path(__file__).parents[2] / "docs" / "hearing-figures.md"


@dataclass
class Report:
    """Lines of the page, and the figures of every ear and condition."""

    lines: list[str] = field(default_factory=list)

    def say(self, line: str = "") -> None:
        print(line, flush=True)
        self.lines.append(line)


def score(ear: Ear, chosen: list[Clip], name: str, ratio: float, kind: Callable) -> Score:  # type: ignore[type-arg]
    """One ear over one condition; every clip through a chain of its own."""
    found = Score()
    for number, clip in enumerate(chosen):
        made = spoilt(clip, ratio, kind, number)
        hearer = Hearer(ear, Detector(silero()), EarSettings())
        judge(found, clip, made, hear(hearer, made))
    return found


def table(report: Report, ears: list[tuple[str, Ear, list[Clip]]]) -> list[float]:
    """A row a condition, a column an ear: hits / wrong, percent. Gives back the head's waits."""
    names = [f"{name} ({len(own)} clips)" for name, _, own in ears]
    report.say(f"| noise | dB | {' | '.join(names)} |")
    report.say(f"|---|---|{'---|' * len(ears)}")
    waits: list[float] = []
    weak: dict[str, list[int]] = defaultdict(list)
    totals = [Score() for _ in ears]
    for name, ratio, kind in conditions():
        cells = []
        for column, (_, ear, own) in enumerate(ears):
            if column and (name, ratio) not in RIVALS_ON:
                cells.append("-")
                continue
            made = score(ear, own, name, ratio, kind)
            cells.append(made.row())
            totals[column].clips += made.clips
            totals[column].wrong += made.wrong
            if not column:
                waits += made.waits
                for phrase, hits in made.by_phrase.items():
                    weak[phrase] += hits if 5 <= ratio <= 10 else []
        shown = "-" if ratio == CLEAN else f"{ratio:.0f}"
        report.say(f"| {name} | {shown} | {' | '.join(cells)} |")
    for (name, _, _), total in zip(ears, totals, strict=True):
        report.say()
        report.say(
            f"Wrong accepts, {name}: {total.wrong} of {total.clips} "
            f"({100 * total.wrong / total.clips:.2f} %)."
        )
    shares = sorted((float(np.mean(hits)), phrase) for phrase, hits in weak.items())
    worst = ", ".join(f"{phrase} {100 * share:.0f}" for share, phrase in shares[:6])
    report.say(f"\nWeakest phrases at 10 and 5 dB, percent taken: {worst}.")
    return waits


def latency(report: Report, waits: list[float]) -> None:
    """From the true end of the speech to the answer."""
    middle, late = np.percentile(waits, [50, 95]) * 1000
    report.say(
        f"\nAnswer after the true end of the speech, all conditions: median {middle:.0f} ms, "
        f"95th percentile {late:.0f} ms ({len(waits)} phrases)."
    )


def load(report: Report) -> None:
    """What listening costs: a shop, and one phrase after the other."""
    own = clips(1)[:21]
    hearer = Hearer(HeadEar(), Detector(silero()), EarSettings())
    _, ratio, kind = next(c for c in conditions() if c[:2] == ("shop", 20.0))
    begun, seconds = time.process_time(), 0.0
    used = 0.0
    for number, clip in enumerate(own):
        made = spoilt(clip, ratio, kind, number)
        begun = time.process_time()
        hear(hearer, made)
        used += time.process_time() - begun
        seconds += len(made.sound) / 16_000
    report.say(
        f"\nListening: {100 * used / seconds:.1f} % of one core while phrases follow each other."
    )


def memory() -> float:
    """Megabytes resident at most, of this process so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def digits(report: Report) -> None:
    """The number ear on real people."""
    place = hearing_digits.folder()
    if place is None or not place.exists():
        report.say("\nHuman digits: TALLYHAND_DIGITS names no folder; not measured in this run.")
        return
    cells = []
    for name, ratio, kind in hearing_digits.CONDITIONS:
        shown = name if ratio == CLEAN else f"{name} {ratio:.0f} dB"
        cells.append(f"{shown} {100 * hearing_digits.accuracy(place, ratio, kind):.1f}")
    report.say(f"\nHuman digits (no rejection), percent right: {', '.join(cells)}.")


def hours(report: Report, file: Path | None) -> None:
    """The false accepts that were counted beforehand."""
    if file is None or not file.exists():
        report.say("\nFalse accepts: no counts given; see hearing_hours.py.")
        return
    sums: dict[str, list[float]] = defaultdict(lambda: [0.0, 0.0, 0.0, 0.0])
    locks = {phrase for phrase, command in built_in().items() if command in LOCK_AND_GUARD}
    for line in file.read_text().splitlines():
        told = json.loads(line)
        total = sums[told["source"]]
        total[0] += told["hours"]
        total[1] += told["utterances"]
        total[2] += len(told["taken"])
        total[3] += sum(text in locks for text, _ in told["taken"])
    report.say("\n| sound | hours | utterances | false accepts | an hour | of lock and guard |")
    report.say("|---|---|---|---|---|---|")
    for source, (length, heard, taken, locked) in sums.items():
        report.say(
            f"| {source} | {length:.1f} | {heard:.0f} | {taken:.0f} | "
            f"{taken / length:.2f} | {locked:.0f} |"
        )
    report.say(f"\n(Counted in pieces of {REPORT_S // 60} minutes; voices never trained on.)")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--manners", type=int, default=2, help="ways in which each voice says each phrase"
    )
    parser.add_argument(
        "--rivals", type=int, default=1, help="the same for the other recognisers; 0: none"
    )
    parser.add_argument("--hours", type=Path, help="the file that hearing_hours.py wrote")
    parser.add_argument("--out", type=Path, default=OUT)
    given = parser.parse_args()
    report = Report()
    report.say("# How well the ears hear\n")
    report.say(
        "Written by `python -m tests.bench.hearing`. Percent taken / taken for another phrase.\n"
    )
    head = HeadEar()
    resident = memory()
    ears: list[tuple[str, Ear, list[Clip]]] = [("head", head, clips(given.manners))]
    if given.rivals:
        ears.append(("grammar (PocketSphinx)", GrammarEar(), clips(given.rivals)))
        other = whisper()
        if other is not None:
            ears.append((other.name, other, clips(given.rivals)))
    waits = table(report, ears)
    latency(report, waits)
    load(report)
    report.say(f"With the head, its networks and the detector the process holds {resident:.0f} MB.")
    digits(report)
    hours(report, given.hours)
    given.out.write_text("\n".join(report.lines) + "\n")


if __name__ == "__main__":
    main()
