"""Whole jobs on real sound: by voice, by pedal and mixed, in whole sentences and in few words.

    python -m tests.bench.whole [WAY ...]      # "few,voice" "whole,mixed" ...; all six without

The program as a process of its own, a sound server with null sinks, phrases of a synthetic voice
played into its microphone, real key events. A job of five cuts, two of them in whole sentences.
Prints how each ended, its answers in all and for each cut behind these two, presses and phrases,
what was not heard at the first try, records that changed nothing, and the load of the machine.
docs/pace.md shows what came out.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from itertools import cycle, pairwise
from pathlib import Path

from assistant.engine.events import PedalUsed, PhraseHeard
from assistant.engine.phases import Step
from assistant.journal.writing import Entry
from tests.whole.person import Bench, Foot, Hearing, Speaker
from tests.whole.screen import Screen
from tests.whole.sound import SoundServer

WAYS = tuple((words, by) for words in ("few", "whole") for by in ("pedal", "voice", "mixed"))
CUTS, WHOLE_CUTS = 5, 2
JOB = f"""
title = "Notches of the mill's strike"
head = "three-plate-40"
[work]
kind = "angles"
angle = "40d"
count = {CUTS}
"""
SETTINGS = """
[pedal]
kind = "x"
[keyboard]
use = false
[screen]
kind = "lines"
[page]
serve = false
[pace]
words = "{words}"
whole_cuts = {whole}
"""


def one(server: SoundServer, screen: Screen, words: str, by: str, folder: Path) -> None:
    config, job = folder / "tallyhand.toml", folder / "notches.toml"
    config.write_text(SETTINGS.format(words=words, whole=WHOLE_CUTS))
    job.write_text(JOB)
    env = {**os.environ, **server.env, "DISPLAY": screen.display,
           "XDG_CONFIG_HOME": str(folder / "config")}  # fmt: skip
    hearing = Hearing(server)
    foot = Foot(screen, hearing, "F9")
    foot.teach(config, env)
    bench = Bench(["run", job, "--config", config], folder / "data", env)
    person = Speaker(bench, server, hearing, "flite:slt")
    began, load = time.monotonic(), os.getloadavg()[0]
    try:
        bench.wait_for_step(Step.SET_UP, 120)
        answered(bench, foot, person, by)
        report(f"{words} words, {by}", bench, foot, person, time.monotonic() - began, load)
    finally:
        bench.close()
        hearing.close()


def answered(bench: Bench, foot: Foot, person: Speaker, by: str) -> None:
    """To the end: the set-up by the foot, and each answer of the cuts by its way in turn."""
    turn = cycle({"pedal": (True,), "voice": (False,), "mixed": (True, False)}[by])
    while bench.step is not Step.FINISHED:
        if by != "voice" and (bench.step is Step.SET_UP or next(turn)):
            foot.answer(bench)
        else:
            person.answer()


def report(name: str, bench: Bench, foot: Foot, person: Speaker, took: float, load: float) -> None:
    entries = bench.entries()
    last = entries[-1].state
    answers = [e for e in entries if isinstance(e.event, PedalUsed | PhraseHeard)]
    refused = sum(before.state == now.state for before, now in pairwise(entries))
    print(f"| {name} | {last.done} | {last.step.value} | {len(answers)} | {per_cut(entries):.1f} "
          f"| {foot.presses} | {person.said} | {person.missed} | {refused} | {took / 60:.1f} "
          f"| {load:.0f} |", flush=True)  # fmt: skip


def per_cut(entries: list[Entry]) -> float:
    """Answers for each cut behind the whole sentences, the last one's way home left out."""
    counted = [e for e in entries if WHOLE_CUTS <= e.state.done < CUTS
               and isinstance(e.event, PedalUsed | PhraseHeard)]  # fmt: skip
    return len(counted) / (CUTS - WHOLE_CUTS)


def main(words: list[str]) -> None:
    ways = [(each.split(",")[0], each.split(",")[1]) for each in words] or list(WAYS)
    print("| way | cuts | ended | answers | a cut | presses | phrases | not heard at first "
          "| changed nothing | minutes | load |")  # fmt: skip
    print("|---|---:|---|---:|---:|---:|---:|---:|---:|---:|---:|")
    with (
        tempfile.TemporaryDirectory() as folder,
        Screen() as screen,
        SoundServer(Path(folder)) as server,
    ):
        for n, (few_or_whole, by) in enumerate(ways):
            own = Path(folder) / str(n)
            own.mkdir()
            one(server, screen, few_or_whole, by, own)


if __name__ == "__main__":
    main(sys.argv[1:])
