"""What slips and faults do, in one table: run it by hand.

    python -m tests.bench.trust [JOBS] [--faults | --people [WORDS] [--seed N] | --goal | --worth]

JOBS (4000) are worked at the virtual bench for each line of the slips' tables, with fixed
seeds. --faults adds the journal's: 10,000 power cuts, a kill at each system call, every byte
and 20,000 bits of each file; --people makes the table of paper with the same two looks alone
(of WORDS: the rows that bear them; in parts, by their seeds), --goal its first row alone,
with the part of each slip, --worth what the last looks are worth.
docs/safety.md shows what it prints.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from dataclasses import replace
from fractions import Fraction

from assistant.engine import own_time
from tests.commands import ROOT
from tests.trust.person import Reword
from tests.trust.rates import Rates, by_habit, times, with_the_rest
from tests.trust.study import (
    SECONDS_FOR_A_SCALE_CHECK,
    Tally,
    arms_before_cuts_only,
    bare_wording,
    job,
    only,
    run,
    without_the_arm,
    without_the_count,
    without_the_cutter,
    without_the_lever,
    without_the_lever_seen,
    without_the_mark,
    without_the_rule,
    without_the_shut,
    wording_before,
)

RATE_OF = {
    "a turn miscounted": "miscount_turn",
    "a hole short or long": "miss_hole_with_arms",
    "arms not swung on": "omit_called",
    "slack not taken up": "no_slack_taken_up",
    "lock forgotten": "omit_called",
    "guard forgotten": "omit_called",
    "unlock forgotten": "omit_called",
    "called away": "called_away",
    "called away in a move": "called_away",
    "answered first": "answer_first",
    "pressed twice": "press_twice",
    "turned against the lock": "",
    "set again by the scale, a hole off": "",
    "taken for a whole turn": "",
}


def ways(jobs: int) -> tuple[Tally, Tally, Tally]:
    print(f"\n## Paper and assistant: {jobs} pinions of 21 cuts each\n")
    print("| way | cuts spoilt of 1000 | parts spoilt of 1000 | cuts with the guard open of 1000 |")
    print("|---|---:|---:|---:|")
    paper = run(job(), jobs, assisted=False)
    row("a paper table and the sector arms alone", paper)
    bare = run(job(scale_every=3), jobs, reword=bare_wording)
    row("the assistant, scale at every third cut, without the sentences below", bare)
    steps: list[tuple[str, Reword]] = [
        ("scale called at every cut", bare_wording),
        (
            "and the pin looked for at the second arm",
            lambda t: without_the_rule(
                without_the_cutter(arms_before_cuts_only(wording_before(t)))
            ),
        ),
        (
            "and the arms called wherever the pin was moved",
            lambda t: without_the_rule(without_the_cutter(wording_before(t))),
        ),
        (
            "and the stopped cutter tried after a lost count",
            lambda t: without_the_rule(wording_before(t)),
        ),
        ("and a miscounted turn put right in whole turns", wording_before),
        (
            "and the pin looked at from the marked hole, where it is near",
            lambda t: without_the_count(without_the_shut(without_the_lever(t))),
        ),
        ("and the lock tried at its lever", lambda t: without_the_count(without_the_shut(t))),
        (
            "and the guard seen shut on the way to the cut",
            lambda t: without_the_count(without_the_lever_seen(t)),
        ),
        ("and holes counted to the mark", without_the_lever_seen),
    ]
    for name, reword in steps:
        row(name, run(job(scale_every=1), jobs, reword=reword))
    as_is = run(job(), jobs)
    row("and the lever seen tight with the guard: the assistant as it is", as_is)
    return paper, bare, as_is


KNOWN_AFTER = own_time.TO_KNOW
WHOLE_CUTS = 3  # called in whole sentences before the short cycle, as in the settings
PEOPLE = {
    "as the rates say": Rates(),
    "every slip half as often": times(0.5),
    "every slip twice as often": times(2),
    "with what was left out": with_the_rest(),
    "the same, three times as careless at the end": replace(with_the_rest(), habituation=3.0),
    "by habit": by_habit(),
}


def sensitivity(jobs: int, words: str = "", seed: int = 1) -> None:
    """The fair opponent: a paper table, the arms, and the same two looks as the words ask for."""
    print(f"\n## Paper with the same two looks, and other people: {jobs} pinions each\n")
    heads = ["paper alone", "paper and the two looks", "the assistant, five answers", "three",
             "guard open, paper", "guard open, five", "guard open, three"]  # fmt: skip
    print(f"| people | {' | '.join(heads)} |")
    print(f"|---|{'---:|' * len(heads)}")
    for name, rates in PEOPLE.items():
        if words not in name:
            continue
        alone = run(job(), jobs, rates=rates, assisted=False, seed=seed)
        fair = run(job(), jobs, rates=rates, assisted=False, looks=True, seed=seed)
        ours = run(job(), jobs, rates=rates, seed=seed)
        short = run(job(whole_cuts=WHOLE_CUTS), jobs, rates=rates, seed=seed)
        all_of_them = (alone, fair, ours, short)
        cells = [f"{each.scrap:.1f} ± {each.error:.1f}" for each in all_of_them]
        cells += [f"{1000 * each.unguarded / each.cuts:.1f}" for each in all_of_them[1:]]
        print(f"| {name} | {' | '.join(cells)} |", flush=True)
        for way, tally in (("five", ours), ("three", short)):
            print(f"<!-- {way}: {_parts(tally)} -->", flush=True)


def _parts(tally: Tally) -> str:
    """What spoilt the cuts, of a thousand."""
    spoilt = tally.slips.spoilt.most_common()
    return "; ".join(f"{kind} {tally.of(kind):.2f}" for kind, _ in spoilt)


def goal(jobs: int) -> None:
    """The program as it is beside the fair opponent, and what is left by each slip."""
    print(f"\n## The goal: {jobs} pinions each\n")
    fair = run(job(), jobs, assisted=False, looks=True)
    print("| way | cuts spoilt of 1000 | parts spoilt of 1000 | cuts with the guard open of 1000 |")
    print("|---|---:|---:|---:|")
    row("paper and the two looks", fair)
    short = run(job(whole_cuts=WHOLE_CUTS), jobs)
    row("the assistant, three answers a cut", short)
    for way, tally in (("paper", fair), ("assistant", short)):
        print(f"\n{way}: {_parts(tally)}")


def worth(jobs: int) -> None:
    """What each of the last looks is worth, the measure by one's own pace, and what it costs."""
    print(f"\n## What the last looks are worth: three answers, {jobs} pinions each\n")
    print("| way | as the rates say | with what was left out | by habit | guard open | left out "
          "| by habit | letters a part |")  # fmt: skip
    print("|---|---:|---:|---:|---:|---:|---:|---:|")
    words: dict[str, Reword] = {
        "as it is": str,
        "without the marked hole": without_the_mark,
        "without the lever": without_the_lever,
        "without lever and guard seen on the way to the cut": without_the_shut,
        "without the lever seen with it": without_the_lever_seen,
        "without holes counted to the mark": without_the_count,
        "without all of these": wording_before,
        "as it is, not measured by one's own pace": str,
    }
    programme = job(whole_cuts=WHOLE_CUTS)
    for name, reword in words.items():
        own_time.TO_KNOW = 10**9 if "pace" in name else KNOWN_AFTER
        found = [
            run(programme, jobs, rates=rates, reword=reword)
            for rates in (Rates(), with_the_rest(), by_habit())
        ]
        cells = [f"{each.scrap:.1f} ± {each.error:.1f}" for each in found]
        cells += [f"{1000 * each.unguarded / each.cuts:.1f}" for each in found]
        quiet = run(programme, 1, rates=only(), reword=reword).letters
        print(f"| {name} | {' | '.join(cells)} | {quiet} |", flush=True)


def row(name: str, tally: Tally) -> None:
    print(
        f"| {name} | {tally.scrap:.1f} ± {tally.error:.1f} "
        f"| {1000 * tally.spoilt_jobs / tally.jobs:.0f} "
        f"| {1000 * tally.unguarded / tally.cuts:.1f} |"
    )


def slips(paper: Tally, bare: Tally, as_is: Tally) -> None:
    print("\n## Slip by slip (cuts spoilt of 1000; counts are of all the jobs)\n")
    print(
        "| slip | rate | paper | without | as it is | made | in time | late | never | caught by |"
    )
    print("|---|---:|---:|---:|---:|---:|---:|---:|---:|---|")
    for kind, rate in RATE_OF.items():
        made, late = as_is.slips.made[kind], as_is.slips.late[kind]
        by = sorted(
            ((n, by) for (each, by), n in as_is.slips.caught.items() if each == kind and by),
            reverse=True,
        )
        caught, never = sum(n for n, _ in by), as_is.uncaught(kind)
        print(
            f"| {kind} | {getattr(Rates(), rate) if rate else ''} | {paper.of(kind):.2f} "
            f"| {bare.of(kind):.2f} | {as_is.of(kind):.2f} | {made} | {caught - late} | {late} "
            f"| {never} | {'; '.join(f'{by} {n}' for n, by in by)} |"
        )


_SPOILT = ["cuts spoilt of 1000", "parts spoilt of 1000"]
_NAMES = {
    1: "every cut",
    2: "every second cut and the last",
    3: "every third cut and the last",
    4: "every fourth cut and the last",
    6: "every sixth cut and the last",
    21: "the last cut only",
}


def scale(jobs: int) -> None:
    rates = only(miscount_turn=Rates().miscount_turn, misread=Rates().misread)
    print(f"\n## Where to call the scale: miscounted turns alone, {jobs} pinions\n")
    heads = ["called at", "spoilt for each miscounted turn", *_SPOILT, "seconds a part"]
    print(f"| {' | '.join(heads)} |")
    print("|---|---:|---:|---:|---:|")
    spoilt, cost = {}, {}
    for every, name in _NAMES.items():
        tally = run(job(scale_every=every), jobs, rates=rates)
        turns = max(1, tally.slips.made["a turn miscounted"])
        spoilt[every] = tally.spoilt_jobs / jobs
        cost[every] = SECONDS_FOR_A_SCALE_CHECK * tally.scale_checks / jobs
        print(
            f"| {name} "
            f"| {tally.slips.spoilt.total() / turns:.2f} | {tally.scrap:.2f} "
            f"| {1000 * spoilt[every]:.0f} | {cost[every]:.0f} |"
        )
    worth = (cost[1] - cost[3]) / (spoilt[3] - spoilt[1]) / 60
    print(
        f"\nEvery cut instead of every third pays for a blank worth more than {worth:.0f} minutes."
    )


def no_scale(jobs: int) -> None:
    print(f"\n## A head with no scale ({jobs} pinions)\n")
    print(f"| {' | '.join(['witness', *_SPOILT, 'cuts with the guard open of 1000'])} |")
    print("|---|---:|---:|---:|")
    bare = job(scale_degrees=Fraction(0))
    row("the closing check alone", run(bare, jobs, reword=without_the_arm))
    row("and the pin looked for at the second arm", run(bare, jobs))
    twice = replace(bare, passes=2)
    row(
        "a first pass of trial marks, each cut looked at against its mark",
        run(twice, jobs, marks=True, reword=without_the_arm),
    )
    row("both", run(twice, jobs, marks=True))


def faults() -> None:
    """Each fault's own tests at full length; their lines, as they print them."""
    full = {
        "TALLYHAND_TEST_POWER_CUTS": "10000",
        "TALLYHAND_TEST_EVERY_CALL": "1",
        "TALLYHAND_TEST_EVERY_BYTE": "1",
        "TALLYHAND_TEST_KILLS": "500",
    }
    print(
        "\n## Faults: trials of the journal (an assertion stands behind each: 0 lost, 0 doubled)\n"
    )
    finished = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-s", "tests/trust/test_power_cut.py",
         "tests/trust/test_every_call.py", "tests/trust/test_damage.py",
         "tests/journal/test_kills.py"],
        cwd=ROOT, env={**os.environ, **full}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    for line in finished.stdout.splitlines():
        if re.search(r"\d", line):
            print(line.lstrip("."))
    assert finished.returncode == 0, "a trial failed: see above"


def main() -> None:
    numbers = [int(word) for word in sys.argv[1:] if word.isdigit()]
    jobs = numbers[0] if numbers else 4000
    commit = subprocess.run(
        ["git", "log", "-1", "--format=%cs, commit %h"],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    ).stdout.strip()
    print(f"Made at: {commit}")
    if "--people" in sys.argv or "--goal" in sys.argv:
        if "--goal" in sys.argv:
            goal(jobs)
        else:
            after = sys.argv[sys.argv.index("--people") + 1 :]
            words = [word for word in after if not word.isdigit() and word != "--seed"]
            sensitivity(jobs, " ".join(words), numbers[1] if "--seed" in sys.argv else 1)
        return
    if "--worth" in sys.argv:
        worth(jobs)
        return
    slips(*ways(jobs))
    sensitivity(jobs)
    worth(jobs)
    scale(jobs)
    no_scale(jobs)
    if "--faults" in sys.argv:
        faults()


if __name__ == "__main__":
    main()
