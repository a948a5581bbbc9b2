"""Files cut short at any byte, bits turned over: all is recovered, or refused untouched."""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

from assistant.journal.writing import Journal, JournalFault, JournalRecords, read_journal
from tests.journal.played import made
from tests.lanes import length

SHARE = length(0, 0, "TALLYHAND_TEST_EVERY_BYTE")  # 1: every byte and 40,000 bits
FRAME = 24 + 4096


@pytest.fixture(scope="module")
def killed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """As a kill leaves it: the records stand in the write-ahead log."""
    journal = made(tmp_path_factory.mktemp("killed"), 12)
    copy = tmp_path_factory.mktemp("copy") / journal.path.name
    for ending in ("", "-wal", ".witness"):
        shutil.copyfile(f"{journal.path}{ending}", f"{copy}{ending}")
    journal.close()
    return copy


@pytest.fixture(scope="module")
def closed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """As a session that ended leaves it: all in the one file."""
    journal = made(tmp_path_factory.mktemp("closed"), 60)
    journal.close()
    return journal.path


class Bench:
    """A place where a journal is laid down damaged, and looked at."""

    def __init__(self, source: Path, folder: Path, *, witness: bool = True) -> None:
        self.source, self.path = source, folder / source.name
        endings = ("", "-wal", ".witness") if witness else ("", "-wal")
        self.files = {
            ending: Path(f"{source}{ending}").read_bytes()
            for ending in endings
            if Path(f"{source}{ending}").exists()
        }
        self.whole = read_journal(source)
        self.outcomes: dict[str, int] = {}

    def lay(self, ending: str, content: bytes) -> None:
        for each, original in self.files.items():
            Path(f"{self.path}{each}").write_bytes(content if each == ending else original)
        for extra in ("-shm", ".lock"):
            Path(f"{self.path}{extra}").unlink(missing_ok=True)

    def content(self) -> dict[str, bytes]:
        return {each: Path(f"{self.path}{each}").read_bytes() for each in self.files}

    def look(self, *, lose_last: bool = False) -> None:
        """Whole, or refused by reading and opening alike with every byte left in its place."""
        before = self.content()
        try:
            reading = read_journal(self.path)
        except JournalFault as fault:
            self.note("refused")
            assert str(self.path) in str(fault)
            with pytest.raises(JournalFault):
                Journal.open(self.path)
            assert self.content() == before
            return
        self.note(self.compare(reading, lose_last=lose_last))

    def compare(self, reading: JournalRecords, *, lose_last: bool) -> str:
        assert reading.about == self.whole.about
        if reading.entries == self.whole.entries:
            return "whole"
        assert lose_last, f"{len(reading.entries)} of {len(self.whole.entries)} records"
        assert reading.entries == self.whole.entries[: len(reading.entries)]
        return "an earlier state"

    def note(self, outcome: str) -> None:
        self.outcomes[outcome] = self.outcomes.get(outcome, 0) + 1


def lengths(size: int, edges: Iterable[int], stride: int) -> Iterator[int]:
    """Every byte near the edges and near the end, else every `stride`th; all with SHARE."""
    near = {edge + d for edge in edges for d in (-1, 0, 1)}
    for n in range(size):
        if SHARE or n in near or n % stride == 0 or n > size - 30 or n < 110:
            yield n


def test_a_log_cut_short_at_any_byte(killed: Path, tmp_path: Path) -> None:
    """With the witness beside it nothing acknowledged goes missing unnoticed."""
    bench = Bench(killed, tmp_path)
    log = bench.files["-wal"]
    for n in lengths(len(log), range(32, len(log), FRAME), 211):
        bench.lay("-wal", log[:n])
        bench.look()
    print(f"log of {len(log)} bytes cut short: {bench.outcomes}")
    assert bench.outcomes.get("refused", 0) > 100


def test_a_log_cut_short_and_no_witness(killed: Path, tmp_path: Path) -> None:
    """A journal copied alone: then it is an earlier state that was true once, never another."""
    bench = Bench(killed, tmp_path, witness=False)
    log = bench.files["-wal"]
    for n in lengths(len(log), range(32, len(log), FRAME), 509):
        bench.lay("-wal", log[:n])
        bench.look(lose_last=True)
    print(f"the same with no witness: {bench.outcomes}")
    assert bench.outcomes.get("an earlier state", 0) > 100


def test_a_journal_cut_short_at_any_byte(closed: Path, tmp_path: Path) -> None:
    """The main file: refused at every length but the whole."""
    bench = Bench(closed, tmp_path)
    main = bench.files[""]
    for n in lengths(len(main), range(0, len(main), 4096), 211):
        bench.lay("", main[:n])
        bench.look()
    print(f"journal of {len(main)} bytes cut short: {bench.outcomes}")
    assert set(bench.outcomes) == {"refused"}


def flips(bench: Bench, ending: str, trials: int, *, lose_last: bool = False) -> None:
    content = bench.files[ending]
    chance = random.Random(f"bits{ending}{trials}")
    for _ in range(trials):
        bit = chance.randrange(len(content) * 8)
        turned = bytearray(content)
        turned[bit // 8] ^= 1 << bit % 8
        bench.lay(ending, bytes(turned))
        bench.look(lose_last=lose_last)
    print(f"{trials} single bits turned over in {ending or 'the journal'}: {bench.outcomes}")
    assert bench.outcomes.get("refused", 0) > trials // 10


@pytest.mark.parametrize("name", [b"event", b"session"])
def test_a_name_that_is_no_text_any_more(name: bytes, closed: Path, tmp_path: Path) -> None:
    """SQLite repeats the spoilt name in its complaint; that is a refusal like any other."""
    bench = Bench(closed, tmp_path)
    content = bench.files[""]
    places = [n for n in range(len(content)) if content.startswith(name, n)]
    for start in places[-8:]:
        for at in range(start, start + len(name)):
            turned = bytearray(content)
            turned[at] ^= 0x80
            bench.lay("", bytes(turned))
            bench.look()
    assert set(bench.outcomes) == {"refused"}


TRIALS = 20_000 if SHARE else 700


def test_a_bit_turned_over_in_the_journal(closed: Path, tmp_path: Path) -> None:
    """Each record reads as it was written, or the journal is refused."""
    flips(Bench(closed, tmp_path), "", TRIALS)


def test_a_bit_turned_over_in_the_log(killed: Path, tmp_path: Path) -> None:
    """SQLite would drop the rest of the log in silence; it is noticed."""
    flips(Bench(killed, tmp_path), "-wal", TRIALS)


def test_a_bit_turned_over_in_the_log_with_no_witness(killed: Path, tmp_path: Path) -> None:
    """Only the last record can go unnoticed: it looks like one that was being written."""
    bench = Bench(killed, tmp_path, witness=False)
    flips(bench, "-wal", TRIALS, lose_last=True)
    frames = len(bench.files["-wal"]) // FRAME
    assert bench.outcomes.get("an earlier state", 0) < TRIALS * 4 / frames


def test_a_witness_that_is_spoilt_says_nothing(killed: Path, tmp_path: Path) -> None:
    """Spoilt, cut short or gone, it stops nobody; only a higher number of records does."""
    bench = Bench(killed, tmp_path)
    whole = bench.files[".witness"]
    for content in (b"", whole[:-1], b"\0" * len(whole), whole + whole, b"rubbish"):
        bench.lay(".witness", content)
        bench.look()
    assert bench.outcomes == {"whole": 5}
    bench.lay(".witness", whole.replace(b"000014\n", b"000016\n"))
    with pytest.raises(JournalFault, match="ends at record 14, but 2 more acknowledged records"):
        read_journal(bench.path)
