"""How well the ears hear: one table, printed and written to docs/hearing-figures.md.

    python -m tests.bench.hearing --manners 2 --rivals 1 --hours FOLDER

Needs `pip install 'tallyhand[bench,train]'` and espeak-ng; TALLYHAND_DIGITS names the folder
of the open digit recordings. FOLDER holds the hours that hearing_hours.py listened to beforehand.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import platform
import resource
import time
from collections import Counter, defaultdict
from concurrent.futures import Executor, ProcessPoolExecutor
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from itertools import chain
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import numpy as np

from assistant.engine.phrases import LOCK_AND_GUARD
from assistant.files.settings import EarSettings
from assistant.hearing import judging as ears
from assistant.hearing.endpointing import Detector, silero
from assistant.hearing.judging import Hearer
from assistant.hearing.recognisers.grammar import GrammarEar
from assistant.hearing.recognisers.recogniser import Recogniser
from assistant.hearing.recognisers.trained import TrainedEar
from assistant.hearing.vocabulary import built_in
from assistant.hearing.waves import RATE, to_pcm
from tests.bench import hearing_digits, hearing_hours, hearing_learned, hearing_words
from tests.bench.hearing_clips import (
    CLEAN,
    PLACES,
    Replay,
    Score,
    clips,
    conditions,
    expected_with,
    hear,
    judge,
    spoilt,
)
from tests.bench.hearing_hours import Once
from tests.bench.hearing_rivals import WhisperEar, whisper_is_here
from tests.bench.pinned import pinned

RIVALS_ON = (
    ("clean", CLEAN),
    *(("mill", ratio) for ratio in (20.0, 10.0, 5.0, 0.0)),
    *(("shop", ratio) for ratio in (10.0, 5.0)),
)
RIVALS_AT = "headset"
"""The others are slow: they hear these conditions only, and in the better place."""


GRAMMAR, WHISPER = "grammar (PocketSphinx)", WhisperEar.name


@dataclass(frozen=True)
class Task:
    """One ear, over the clips of so many manners, in one noise at one place."""

    ear: str
    manners: int
    noise: tuple[str, float]
    place: str


OUT = Path(__file__).parents[2] / "docs" / "hearing-figures.md"


@dataclass
class Report:
    """Lines of the page, and the figures of every ear and condition."""

    lines: list[str] = field(default_factory=list)
    weak: dict[str, Score] = field(default_factory=dict)

    def say(self, line: str = "") -> None:
        print(line, flush=True)
        self.lines.append(line)


def score(task: Task) -> tuple[Score, Score]:
    """One ear over one condition, every clip through a chain of its own: with every phrase
    possible, and with those that make sense in the clip's own step expected."""
    ear, (name, ratio), near = Once(_ear(task.ear)), task.noise, PLACES[task.place]
    kind = next(kind for known, _, kind in conditions() if known == name)
    always, now = Score(), Score()
    for number, clip in enumerate(_clips(task.manners)):
        made = spoilt(clip, ratio, kind, number, near)
        cut = Detector(silero()).feed(to_pcm(made.sound) + bytes(RATE))
        # The expected step first: what the other chain asks for again costs no time.
        for found, wanted in ((now, expected_with(built_in()[clip.phrase])), (always, None)):
            hearer = Hearer(ear, cast(Detector, Replay(cut)), EarSettings())
            hearer.expected = wanted
            judge(found, clip, made, hearer.feed(b""))
    return always, now


@cache
def _ear(name: str) -> Recogniser:
    # Other work runs on the machine: thinking is told in processor time.
    ears.time = SimpleNamespace(monotonic=time.thread_time)  # type: ignore[attr-defined]
    return {"trained": TrainedEar, GRAMMAR: GrammarEar, WHISPER: WhisperEar}[name]()


_clips = cache(clips)


def table(report: Report, pool: Executor, manners: int) -> dict[str, Score]:
    """A row a condition; gives back the sums of each place."""
    report.say(
        f"Percent taken / percent taken for another phrase; {len(_clips(manners))} clips a "
        "figure, voices never trained on.\n"
    )
    report.say(
        "| noise | dB | trained (headset) | trained (headset, step known) | trained (room) "
        "| trained (room, step known) |\n"
        "|---|---|---|---|---|---|"
    )
    sums = {f"{place}{known}": Score() for place in PLACES for known in ("", ", step known")}
    noises = [(name, ratio) for name, ratio, _ in conditions()]
    tasks = [Task("trained", manners, noise, place) for noise in noises for place in PLACES]
    made = iter(pool.map(score, tasks))
    for name, ratio in noises:
        cells = []
        for place in PLACES:
            for known, each in zip(("", ", step known"), next(made), strict=True):
                cells.append(each.row())
                sums[place + known].add(each)
                if ratio in (5.0, 10.0):
                    report.weak.setdefault(place + known, Score()).add(each)
        report.say(f"| {name} | {_db(ratio)} | {' | '.join(cells)} |")
    return sums


def _db(ratio: float) -> str:
    return "-" if ratio == CLEAN else f"{ratio:.0f}"


def rivals(report: Report, pool: Executor, names: list[str], manners: int) -> None:
    """The other recognisers beside ours, on the same clips, fewer of them and of the
    conditions: they are slow."""
    columns = ["trained", *names]
    titles = [f"{'built-in' if name == 'trained' else name}, {RIVALS_AT}" for name in columns]
    report.say(f"\n| noise | dB | {' | '.join(titles)} |\n|---|---|{'---|' * len(titles)}")
    sums = [Score() for _ in titles]
    tasks = [Task(name, manners, noise, RIVALS_AT) for noise in RIVALS_ON for name in columns]
    made = iter(pool.map(score, tasks))
    for noise, ratio in RIVALS_ON:
        cells = [next(made)[0] for _ in columns]
        report.say(f"| {noise} | {_db(ratio)} | {' | '.join(cell.row() for cell in cells)} |")
        for total, cell in zip(sums, cells, strict=True):
            total.add(cell)
    wrong = ", ".join(f"{n} {_wrong(t)}" for n, t in zip(titles, sums, strict=True))
    report.say(
        f"\n({len(_clips(manners))} clips a figure, every phrase possible.) "
        f"Taken for another phrase: {wrong}."
    )


def _wrong(total: Score) -> str:
    return f"{total.wrong} of {total.clips} ({100 * total.wrong / total.clips:.2f} %)"


def totals(report: Report, sums: dict[str, Score]) -> None:
    """Wrong accepts, where phrases are lost, how soon the answer comes."""
    report.say()
    for place, total in sums.items():
        report.say(f"- {place}: taken for another phrase {_wrong(total)}.")
        lost = ", ".join(
            f"{why} {100 * n / total.clips:.1f}" for why, n in total.lost.most_common()
        )
        report.say(f"  Not taken, percent of all clips: {lost}.")
        middle, late = np.percentile(total.waits, [50, 95]) * 1000
        report.say(
            f"  Answer after the true end of the speech: median {middle:.0f} ms, 95th "
            f"percentile {late:.0f} ms ({len(total.waits)} phrases; thinking in processor time)."
        )
    for place, total in report.weak.items():
        shares = sorted((float(np.mean(hits)), each) for each, hits in total.by_phrase.items())
        worst = ", ".join(f"{each} {100 * share:.0f}" for share, each in shares[:6])
        report.say(f"\nWeakest phrases at 10 and 5 dB, {place}, percent taken: {worst}.")


def load(report: Report) -> None:
    """What listening costs: a shop, and one phrase after the other."""
    own = clips(1)[:21]
    hearer = Hearer(TrainedEar(), Detector(silero()), EarSettings())
    _, ratio, kind = next(c for c in conditions() if c[:2] == ("shop", 20.0))
    begun, seconds = time.process_time(), 0.0
    used = 0.0
    for number, clip in enumerate(own):
        made = spoilt(clip, ratio, kind, number, near=True)
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
        right, wrong = hearing_digits.shares(place, ratio, kind)
        cells.append(f"{shown} {100 * right:.1f} / {100 * wrong:.1f}")
    report.say(
        "\nDigits of people, by classifier and phones, percent right / taken for another, the rest "
        f"asked for again: {', '.join(cells)}."
    )


def hours(report: Report, pool: Executor, folder: Path | None) -> None:
    """The false accepts in what was listened to beforehand."""
    if folder is None:
        report.say("\nFalse accepts: no hours were listened to; see hearing_hours.py.")
        return
    sums: dict[str, list[float]] = defaultdict(lambda: [0.0] * 5)
    taken_for: dict[str, Counter[str]] = defaultdict(Counter)
    locks = {phrase for phrase, command in built_in().items() if command in LOCK_AND_GUARD}
    for told in chain.from_iterable(pool.map(hearing_hours.judge, hearing_hours.places(folder))):
        taken, now = told["taken"], told["taken_at_step"]
        strict = sum(text in locks for text, _ in [*taken, *now])
        taken_for[told["source"]].update(text for text, _ in now)
        for n, more in enumerate(
            (told["seconds"] / 3600, told["utterances"], len(taken), len(now), strict)
        ):
            sums[told["source"]][n] += more
    report.say(
        "\n| sound | hours | utterances | false accepts | an hour | an hour, step known "
        "| of lock and guard |\n|---|---|---|---|---|---|---|"
    )
    for source, (length, heard, taken, now, locked) in sorted(sums.items()):
        report.say(
            f"| {source} | {length:.1f} | {heard:.0f} | {taken:.0f} | {taken / length:.2f} "
            f"| {now / length:.2f} | {locked:.0f} |"
        )
    report.say(
        f"\n(Counted in pieces of {hearing_hours.BLOCK_S // 60} minutes; voices never trained on. "
        "Our own announcer is counted as if the ear listened to it, and an unseen voice reads its "
        "sentences, which are made of the phrases' own words; at the bench the ear does not listen "
        "while the voice speaks.)"
    )
    for source, found in sorted(taken_for.items()):
        if found:
            which = ", ".join(f"{text} {n}" for text, n in found.most_common())
            report.say(f"\nTaken in {source}, step known: {which}.")


def learned(report: Report) -> None:
    """What a person's own recordings are worth."""
    report.say()
    for line in hearing_learned.table():
        report.say(line)


def _machine() -> str:
    cores = len(os.sched_getaffinity(0))
    return f"{platform.machine()}, {cores} cores, one thread"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--manners", type=int, default=2, help="ways in which each voice says each phrase"
    )
    parser.add_argument(
        "--rivals", type=int, default=1, help="the same for the other recognisers; 0: none"
    )
    parser.add_argument("--hours", type=Path, help="the folder that hearing_hours.py filled")
    parser.add_argument("--out", type=Path, default=OUT)
    given = parser.parse_args()
    report = Report()
    report.say("# How well the ears hear\n")
    report.say(
        f"Written by `python -m tests.bench.hearing` on {date.today():%d %B %Y}, {_machine()}; "
        "other work ran beside it.\n"
    )
    TrainedEar()
    resident = memory()
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # for the processes, as the program does
    os.environ.setdefault("OMP_THREAD_LIMIT", "1")
    # Started afresh, not forked: the networks' libraries do not survive a fork.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(len(os.sched_getaffinity(0)), context, pinned) as pool:
        totals(report, table(report, pool, given.manners))
        if given.rivals:
            rivals(report, pool, [GRAMMAR, *([WHISPER] if whisper_is_here() else [])], given.rivals)
        hours(report, pool, given.hours)
    load(report)
    report.say(
        f"With the classifier, its networks and the detector the process holds {resident:.0f} MB."
    )
    report.say("\n" + hearing_words.told(hearing_words.count(TrainedEar(), given.manners)))
    digits(report)
    learned(report)
    given.out.write_text("\n".join(report.lines) + "\n")


if __name__ == "__main__":
    main()
