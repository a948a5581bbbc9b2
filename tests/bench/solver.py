"""How long the solver takes, beside trying everything: run it by hand.

    python -m tests.bench.solver [--quick] [PART ...]

Brute force is `tests/solver/brute_force.py`, which shares nothing with the solver. With
`--quick` it does a tenth of the table, every tenth division, and is scaled up. Parts, all of them
if none is named: plan, table, measured, ways, large, lists, growth, memory. The measured heads go
by the processor's clock, which other work on the machine hardly touches; the rest by the wall's.
"""

from __future__ import annotations

import statistics
import sys
import time
import tracemalloc
from collections.abc import Callable
from fractions import Fraction
from random import Random
from typing import Any

from solver import Head, Plate, each_position, error_statement, plan
from solver.differential import _denominators
from solver.model import HeadErrors
from solver.trains import trains_by_ratio
from tests.solver import brute_force
from tests.solver.heads import shipped

GEARED = shipped("three-plate-40-geared")


def timed(work: Callable[[], Any]) -> tuple[float, Any]:
    start = time.perf_counter()
    result = work()
    return time.perf_counter() - start, result


def cold() -> None:
    """Forget the trains worked out before: a fresh process has none."""
    trains_by_ratio.cache_clear()
    _denominators.cache_clear()


def one_plan() -> None:
    print("\none plan, all methods, every set-up, geared head")
    for n in (21, 51, 127, 383, 400):
        times = []
        for _ in range(9):
            cold()
            times.append(timed(lambda n=n: plan(GEARED, divisions=n))[0])
        warm = statistics.median(timed(lambda n=n: plan(GEARED, divisions=n))[0] for _ in range(9))
        brute = timed(lambda n=n: brute_force.any_exact(GEARED, n, 1))[0]
        print(
            f"  N = {n:4}   {statistics.median(times) * 1000:6.1f} ms in a fresh process, "
            f"{warm * 1000:5.1f} ms after; brute force {brute * 1000:7.0f} ms"
        )


def table(quick: bool) -> None:
    print("\ntable 2 to 400, geared head, best set-up of each (all methods allowed)")
    cold()
    ours, exact = timed(lambda: [plan(GEARED, divisions=n, most=1)[0].exact for n in range(2, 401)])
    every, _ = timed(lambda: [plan(GEARED, divisions=n) for n in range(2, 401)])
    step = 10 if quick else 1
    brute, tried = timed(lambda: [brute_force.any_exact(GEARED, n, 1) for n in range(2, 401, step)])
    brute *= step
    print(f"  solver, best of each     {ours:8.2f} s   exact: {sum(exact)} of {len(exact)}")
    print(f"  solver, every set-up     {every:8.2f} s")
    print(f"  brute force, yes or no   {brute:8.2f} s   exact: {sum(tried)} of {len(tried)}")
    print(f"  {brute / ours:.0f} times and {brute / every:.0f} times as quick")


def measured_heads() -> None:
    """What it costs that the head's own errors are counted."""
    print("\ntable 2 to 400, best of each: the head as perfect, and as measured")
    waves = HeadErrors(
        worm_wave=(Fraction(12), Fraction(-7)), known_within=Fraction(2),
        wheel_waves=(Fraction(20), Fraction(9), Fraction(-4), Fraction(3)),
    )  # fmt: skip
    for name in ("three-plate-40", "three-plate-40-geared", "two-sided-40", "rotary-90",
                 "rotary-60-handwheel"):  # fmt: skip
        heads = (shipped(name), shipped(name)._replace(errors=waves))
        spent = [min(processor_time(head) for _ in range(3)) for head in heads]
        ratio = spent[1] / spent[0]
        print(f"  {name:<22} {spent[0]:6.2f} s and {spent[1]:6.2f} s: {ratio:.1f} times")


def processor_time(head: Head) -> float:
    """Seconds of the processor for the best set-up of each of 2 to 400."""
    start = time.process_time()
    for n in range(2, 401):
        plan(head, divisions=n, most=1)
    return time.process_time() - start


def every_way(quick: bool) -> None:
    """The hard case: every train on every circle, not only the best ones."""
    from solver.differential import every_setup
    from solver.request import divisions_request

    print("\nevery train on every circle, geared head, 2 to 400")
    step = 20 if quick else 4
    chosen = range(3, 401, step)
    ours, found = timed(
        lambda: sum(sum(1 for _ in every_setup(GEARED, divisions_request(n))) for n in chosen)
    )
    brute, tried = timed(
        lambda: sum(len(brute_force.differential(GEARED, Fraction(1, n))) for n in chosen)
    )
    print(f"  solver {ours:.2f} s, brute force {brute:.2f} s: {brute / ours:.0f} times as quick")
    print(f"  set-ups found: {found} and {tried}")


def large() -> None:
    print("\nlarge N: plan, then the error statement")
    for name in ("three-plate-40", "three-plate-40-geared", "two-sided-40"):
        head = shipped(name)
        for n in (99_991, 1_000_000, 10_000_000):
            spent, setups = timed(lambda n=n, head=head: plan(head, divisions=n))
            first = setups[0]
            stated, _ = timed(lambda: error_statement(head, first, divisions=n))  # noqa: B023
            print(
                f"  {name:<22} N = {n:>10,}  {spent * 1000:6.0f} ms + {stated * 1000:4.1f} ms, "
                f"{len(first.moves):,} moves, {first.worst_error_arcsec:.2f} arc-seconds"
            )


def angle_lists() -> None:
    print("\nlists of angles, two-sided head (plan; then every position)")
    chance = Random(1)
    for count in (250, 500, 1000, 2000, 4000):
        places = sorted(Fraction(p, 21600) for p in chance.sample(range(1, 21600), count))
        head = shipped("two-sided-40")
        spent, setups = timed(lambda places=places, head=head: plan(head, positions=places))
        walked, _ = timed(
            lambda: list(each_position(head, setups[0], positions=places))  # noqa: B023
        )
        print(
            f"  {count:5} angles  {spent * 1000:6.0f} ms + {walked * 1000:4.0f} ms, "
            f"{spent / count * 1e6:5.1f} microseconds an angle"
        )


def growth() -> None:
    print("\ngrowth with N (geared head, every set-up)")
    for n in (10, 100, 1000, 10_000, 100_000):
        print(f"  N = {n:7,}  {timed(lambda n=n: plan(GEARED, divisions=n))[0] * 1000:7.1f} ms")
    print("growth with circles (one plate, pinned, N = 127)")
    for count in (6, 12, 24, 48):
        head = GEARED._replace(
            plate_drive="pinned", plates=(Plate("A", tuple(range(15, 15 + count))),)
        )
        print(
            f"  {count:3} circles  {timed(lambda h=head: plan(h, divisions=127))[0] * 1000:7.1f} ms"
        )
    print("growth with gears (three plates, N = 127, trains worked out anew)")
    for count in (6, 12, 18, 24):
        head: Head = GEARED._replace(change_gears=tuple(range(24, 24 + 4 * count, 4)))
        cold()
        print(
            f"  {count:3} gears    {timed(lambda h=head: plan(h, divisions=127))[0] * 1000:7.1f} ms"
        )


def memory() -> None:
    print("\npeak memory of one plan (tracemalloc)")
    for n in (127, 99_991, 10_000_000):
        cold()
        tracemalloc.start()
        plan(GEARED, divisions=n)
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        print(f"  N = {n:>10,}  {peak / 1e6:6.1f} MB")


def main() -> None:
    quick = "--quick" in sys.argv
    parts: dict[str, Callable[[], None]] = {
        "plan": one_plan,
        "table": lambda: table(quick),
        "measured": measured_heads,
        "ways": lambda: every_way(quick),
        "large": large,
        "lists": angle_lists,
        "growth": growth,
        "memory": memory,
    }
    asked = [name for name in sys.argv[1:] if name != "--quick"]
    for name in asked or parts:
        parts[name]()


if __name__ == "__main__":
    main()
