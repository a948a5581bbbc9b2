"""Every kind also in several passes, several divisions at a time, and measured on the way: what is
accepted comes out as drawn, and nothing here may be refused."""

from __future__ import annotations

import random
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from tests.kinds import crafts
from tests.lanes import length
from tests.machinist.test_any_size import job
from tests.machinist.workshop import Choices, every_reading, make

SOME = settings(
    max_examples=length(2, 5), deadline=None, derandomize=True, phases=(Phase.generate,),
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)  # fmt: skip
SCREW = '[machine]\ntable_screw = "5 mm"'


def text_of(kind: str, more: str) -> str:
    """A job of this kind; `more` are lines of its work."""
    craft = DRAWN[kind]
    tables = f"{more}\n{craft.tables}"
    text = job(kind, f"{tables}\n{SCREW}" if craft.turns else tables, **craft.figures)
    return text.replace("three-plate-40", "three-plate-40-geared") if craft.turns else text


DRAWN = {name: craft for name, craft in crafts().items() if craft.counts}


def comes_out(text: str, folder: Path, reading: Choices) -> None:
    path = folder / "job.toml"
    path.write_text(text, "utf-8")
    made = make(path, reading)
    assert not made.faults, (made.faults, reading, text)
    if reading.measures:
        assert made.person.sizes, text


def test_random_sizes_of_every_kind_are_cut() -> None:
    """By its craft, here, or by a test of its own."""
    own = (Path(__file__).parent / "test_any_size.py").read_text("utf-8")
    assert not {kind for kind in crafts() if kind not in DRAWN and f'"{kind}"' not in own}


@pytest.mark.parametrize("kind", DRAWN)
@SOME
@given(drawn=st.data())
def test_passes_and_divisions_at_a_time(kind: str, drawn: st.DataObject, tmp_path: Path) -> None:
    """`every` spaces apart, round after round, in up to three passes."""
    key, counts = DRAWN[kind].counts
    count = drawn.draw(st.sampled_from(counts))
    apart = drawn.draw(st.sampled_from([n for n in (1, 2, 3, 4, 5) if _meets_all(n, count)]))
    passes = 1 if DRAWN[kind].one_pass else drawn.draw(st.integers(1, 3))
    more = f"{key} = {count}\nevery = {apart}" + ("" if passes == 1 else f"\npasses = {passes}")
    text = text_of(kind, more)
    comes_out(text, tmp_path, random.Random(text).choice(every_reading()))


def _meets_all(step: int, count: int) -> bool:
    return step < count and len({n * step % count for n in range(count)}) == count


SPLINES = [(6, 6, 26, 21, 4, 2), (8, 6, 36, 32, 4, 2), (10, 5, 40, 36, 3, 2)]


@pytest.mark.parametrize("sizes", SPLINES, ids=lambda sizes: f"{sizes[0]} x {sizes[3]}")
@pytest.mark.parametrize("passes", [1, 2, 3])
def test_splines_in_passes(sizes: tuple[int, ...], passes: int, tmp_path: Path) -> None:
    """Each side in passes, then the root; measured on the way, or not."""
    count, width, outside, root, cutter, saw = sizes
    text = job("splines", "" if passes == 1 else f"passes = {passes}", splines=count,
               width=f"{width} mm", outside=f"{outside} mm", root=f"{root} mm",
               cutter_width=f"{cutter} mm", root_saw=f"{saw} mm")  # fmt: skip
    comes_out(text, tmp_path, Choices(measures=True))
    comes_out(text, tmp_path, Choices(side=1, sense=-1))


# What is measured in the session, and what a first touch that was off then comes to.
MEASURED = {
    "polygon": [5, 6, 7, 8, 9, 11], "keyways": [3, 4, 5], "spur-gear": [14, 17, 21, 35],
}  # fmt: skip


@pytest.mark.parametrize("kind", MEASURED)
@SOME
@given(drawn=st.data())
def test_measured_on_the_way(kind: str, drawn: st.DataObject, tmp_path: Path) -> None:
    """The first touch was off; one pass or two, one division at a time or more."""
    key, _ = DRAWN[kind].counts
    count = drawn.draw(st.sampled_from(MEASURED[kind]))
    apart = drawn.draw(st.sampled_from([n for n in (1, 2, 3, 5) if _meets_all(n, count)]))
    passes = drawn.draw(st.integers(1, 2))
    slip = drawn.draw(st.sampled_from([0.05, 0.2, 0.35]))
    more = f"{key} = {count}\nevery = {apart}" + ("" if passes == 1 else f"\npasses = {passes}")
    comes_out(text_of(kind, more), tmp_path, Choices(slip=slip, measures=True))


@SOME
@given(st.integers(4, 12), st.sampled_from([24, 36, 60]))
def test_rings(holes: int, lines: int) -> None:
    """Two works on one part, each where it belongs."""
    text = (
        'title = "Two rings"\nhead = "three-plate-40"\n'
        f'[[ring]]\nname = "holes"\nkind = "bolt-circle"\nholes = {holes}\ncircle = "50 mm"\n'
        'hole = "4 mm"\n'
        f'[[ring]]\nname = "lines"\nkind = "graduations"\nlines = {lines}\non = "disc"\n'
        'diameter = "90 mm"\n'
    )
    with tempfile.TemporaryDirectory() as folder:
        comes_out(text, Path(folder), Choices())
