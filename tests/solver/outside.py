"""Every row of a table walked again, place by place, by arithmetic of its own.

    python -m tests.solver.outside [--to N]

It knows a head from its file and a set-up from the program's JSON; nothing of `solver` or
`assistant` is imported. What a move does to the spindle: direct, holes / circle; by the worm,
(turns + holes / circle + plate holes / plate circle) / R (compound: Machinery's Reference Series
97, p. 3); on a dial, turns / R + minutes / 21600; geared, R - g for R, g = drivers / driven, minus
where the plate runs against the crank, which the head's own `idlers_for_with` decides. The head's
measured errors: worm once a turn of the crank, wheel once and twice a turn of the spindle
(docs/head-errors.md).
"""

from __future__ import annotations

import json
import math
import subprocess
import sys
import tempfile
import tomllib
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
HEADS = sorted((ROOT / "config" / "heads").glob("*.toml"))
SECONDS = 360 * 60 * 60
WAVES = """
[errors]
worm_wave = [12, -7]
wheel_waves = [20, 9, -4, 3]
known_within = 2
"""


@dataclass(frozen=True)
class Walked:
    """What a row's moves come to: places visited, and how far they are off, in turns."""

    places: int
    worst: Fraction
    truly: float  # arc-seconds, the measured errors counted; 0 where there are none


def table(head: Path, last: int, *more: str) -> list[dict[str, Any]]:
    """The rows of 2 to `last`, by the program itself."""
    asked = ["table", "--head", str(head), "--from", "2", "--to", str(last), "--json", *more]
    done = subprocess.run(
        [sys.executable, "-m", "assistant", *asked],
        capture_output=True, text=True, check=True, cwd=ROOT,
    )  # fmt: skip
    rows: list[dict[str, Any]] = json.loads(done.stdout)["rows"]
    return rows


def counts(head: dict[str, Any], last: int) -> list[int]:
    """The divisions from 2 to `last` that the table has to have: a head gives them all, the
    nearest holes where there are none better; a block sits on its faces alone, and comes round
    evenly on every one, every second, and so on: the numbers that divide its faces."""
    if head["plate_drive"] != "block":
        return list(range(2, last + 1))
    (faces,) = head["direct_circle"]
    return [n for n in range(2, last + 1) if faces % n == 0]


def measured(head: Path, folder: Path) -> Path:
    """The same head with waves as a calibration writes them."""
    own = folder / f"{head.stem}-measured.toml"
    own.write_text(head.read_text() + WAVES)
    return own


def told(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text())


def faults(head: dict[str, Any], row: dict[str, Any]) -> Iterator[str]:
    """What is wrong with a row; nothing where it does what it says."""
    yield from _parts(head, row)
    found = walk(head, row)
    n, every = row["divisions"], row["every"]
    if found.places != n or math.gcd(every, n) != 1:
        yield f"{found.places} places, {every} at a time"
    if found.worst != Fraction(row["worst_error_turns"]):
        yield f"off by {found.worst} turns, and says {row['worst_error_turns']}"
    if row["exact"] != (found.worst == 0):
        yield "says it is exact" if row["exact"] else "says it is not exact"
    if "true_error_arcsec" in row and abs(row["true_error_arcsec"] - found.truly) > 0.01:
        yield f"truly off by {found.truly}, and says {row['true_error_arcsec']}"


def walk(head: dict[str, Any], row: dict[str, Any]) -> Walked:
    """Every move made, one by one; all angles in whole parts of one common unit."""
    steps = [(spindle(head, row, move), move["times"]) for move in row["moves"]]
    unit = math.lcm(row["divisions"], *(step.denominator for step, _ in steps))
    division = unit // row["divisions"] * row["every"]
    off = _waves(head) if "true_error_arcsec" in row and row["method"] != "direct" else None
    at = wanted = places = worst = 0
    truly = 0.0
    for step, times in steps:
        by = step.numerator * (unit // step.denominator)
        for _ in range(times):
            at, wanted, places = at + by, wanted + division, places + 1
            worst = max(worst, abs(at - wanted))
            if off:
                truly = max(truly, abs((at - wanted) / unit * SECONDS + off(at / unit)))
    return Walked(places, Fraction(worst, unit), truly)


def spindle(head: dict[str, Any], row: dict[str, Any], move: dict[str, Any]) -> Fraction:
    """Turns of the spindle by one doing of a move."""
    if move.get("direct_circle"):
        return Fraction(move["direct_holes"], move["direct_circle"])
    ratio = Fraction(str(head["worm_ratio"]))
    if move.get("minutes") is not None:
        return Fraction(move["turns"]) / ratio + Fraction(str(move["minutes"])) / 21600
    crank = move["turns"] + Fraction(move["holes"], move["circle"])
    if move["plate_circle"]:
        crank += Fraction(move["plate_holes"], move["plate_circle"])
    return crank / (ratio - _plate_turns(row["gearing"]))


def _plate_turns(gearing: dict[str, Any] | None) -> Fraction:
    if not gearing:
        return Fraction(0)
    turns = Fraction(math.prod(gearing["drivers"]), math.prod(gearing["driven"]))
    return turns if gearing["plate"] == "with" else -turns


def _waves(head: dict[str, Any]) -> Any:
    ratio, errors = float(Fraction(str(head["worm_ratio"]))), head["errors"]
    (a, b), (c, d, e, f) = errors["worm_wave"], errors["wheel_waves"]

    def off(turns: float) -> float:
        x = 2 * math.pi * turns
        worm = a * math.cos(ratio * x) + b * math.sin(ratio * x)
        return float(worm + c * math.cos(x) + d * math.sin(x) + e * math.cos(2 * x)
                     + f * math.sin(2 * x))  # fmt: skip

    return lambda turns: off(turns) - off(0.0)


def _parts(head: dict[str, Any], row: dict[str, Any]) -> Iterator[str]:
    """Circles stand on the plate named, gears are in the drawer, the train runs the way it says."""
    on_plate = {plate["name"]: plate["circles"] for plate in head.get("plate", [])}
    holes = on_plate.get(row["plate"], [])
    for move in row["moves"]:
        if move.get("direct_circle"):
            good = move["direct_circle"] in head["direct_circle"]
        elif move.get("minutes") is not None:
            good = not Fraction(str(move["minutes"])) % Fraction(
                str(head["handwheel"]["division_minutes"])
            )
        else:
            good = move["circle"] in holes and 0 <= move["holes"] < move["circle"]
            good = good and (not move["plate_circle"] or move["plate_circle"] in holes)
            good = good and not (move["plate_circle"] and head["plate_drive"] == "fixed")
        if not good or move["turns" if "turns" in move else "direct_holes"] < 0:
            yield f"no such move on this head: {move}"
    if gearing := row["gearing"]:
        yield from _train(head, gearing)


def _train(head: dict[str, Any], gearing: dict[str, Any]) -> Iterator[str]:
    used = Counter([*gearing["drivers"], *gearing["driven"]])
    if used - Counter(head["change_gears"]):
        yield f"gears that are not there: {dict(used)}"
    shafts_between = gearing["idlers"] + len(gearing["drivers"]) - 1
    with_the_crank = (shafts_between - head.get("idlers_for_with", 1)) % 2 == 0
    if with_the_crank != (gearing["plate"] == "with"):
        yield f"the plate would run the other way: {gearing}"


def main() -> None:
    last = int(sys.argv[sys.argv.index("--to") + 1]) if "--to" in sys.argv else 400
    rows = wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        paths = [path for each in HEADS for path in (each, measured(each, Path(folder)))]
        for path in paths:
            for more in ((), ("--tolerance", "30")):
                count, bad = _one_table(path, last, *more)
                rows, wrong = rows + count, wrong + bad
    print(f"{rows} rows walked, {wrong} faults")


def _one_table(path: Path, last: int, *more: str) -> tuple[int, int]:
    head, found = told(path), table(path, last, *more)
    missing = set(counts(head, last)) ^ {row["divisions"] for row in found}
    bad = [f"{n}: should not be there, or is missing" for n in sorted(missing)]
    bad += [f"{row['divisions']}: {text}" for row in found for text in faults(head, row)]
    exact = sum(row["exact"] for row in found)
    kinds = Counter(row["method"] for row in found).most_common()
    methods = ", ".join(f"{count} {kind}" for kind, count in kinds)
    print(f"{path.stem} {' '.join(more)}: {len(found)} rows, {exact} exact, {len(bad)} faults")
    print(f"    {methods}", *bad[:3], sep="\n    ")
    return len(found), len(bad)


if __name__ == "__main__":
    main()
