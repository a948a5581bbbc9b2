"""Whatever comes off the machine gets a verdict, also what no program would have cut."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.lanes import drawn
from tests.machinist.planted import Fault, Twist, written
from tests.machinist.workshop import make

_DEPTH = r"(epth dial to|Pass \w+,|epth:?|deep:?) [a-z]+( [a-z]+)* millimetres?"
WITH_A_DEPTH = (
    "bung-reamer", "crusher-bevel", "dog-clutch", "elevator-pinion", "even-clutch", "gate-splines",
    "hexagon-plug", "mill-keyways", "pinion", "press-collar", "press-pinion", "press-ratchet",
    "press-wheel", "pump-helical", "screw-clutch", "spigot-reamer",
)  # fmt: skip


FAR_OFF = [(job, far) for job in WITH_A_DEPTH for far in ("zero point one", "fourteen", "sixty")]


@pytest.mark.parametrize("job_and_far", drawn(FAR_OFF, 3, ": ".join, lambda case: case[0]))
def test_a_depth_far_off_is_seen(job_and_far: tuple[str, str], tmp_path: Path) -> None:
    """Hardly scratched, cut through, or nothing left at all: never good, and never no answer."""
    job, far = job_and_far
    fault = Fault("far off", job, _DEPTH, rf"\1 {far} millimetres")
    twist = Twist(fault)
    path = tmp_path / f"{job}.toml"
    path.write_text(written(fault), "utf-8")
    made = make(path, fault.choices, twist)
    assert twist.done, "the words of this fault are no longer said: give it those of today"
    assert made.faults
