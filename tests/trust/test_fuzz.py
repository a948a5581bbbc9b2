"""Whatever comes in from outside: an answer or a refusal in one line, never a traceback."""

from __future__ import annotations

import json
import random
import re
import sqlite3
import string
from contextlib import closing, suppress
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from assistant.bench.rehearsal import JsonLines, Rehearsal
from assistant.engine.events import from_record
from assistant.engine.state import State
from assistant.errors import Refusal, WrongUse
from assistant.job.compiler import head_of, programme_of, setups_of
from assistant.job.job_file import job_from_text
from assistant.journal.chain import first_link, next_link
from assistant.journal.writing import Journal, JournalFault, read_journal
from solver import Refused, angle_from_text, number_from_text, parse_head
from tests.commands import JOBS, ROOT
from tests.journal.played import JOB, made
from tests.lanes import length

TIMES = length(1, 20, "TALLYHAND_TEST_FUZZ")  # 100: the long run
QUIET = [HealthCheck.too_slow, HealthCheck.function_scoped_fixture, HealthCheck.data_too_large]


def inputs(number: int) -> settings:
    return settings(max_examples=number * TIMES, deadline=None, suppress_health_check=QUIET)


HOSTILE = [
    "\x00", "\x1b[2J\x1b]0;owned\x07", "\u202egnihton", "\ud800", "<script>alert(1)</script>",
    "&lt;", "'; DROP TABLE event; --", "x" * 10_000, "{0.__class__}", "%s%n", "../../etc/passwd",
    "<speak><audio src='http://x'/></speak>", "[[inpt PHON]]", "١٢٣", "9" * 5000, "1e999999999",
    "\r\n\r\n",
]  # fmt: skip
TEXT = st.one_of(st.text(max_size=200), st.sampled_from(HOSTILE))
VALUES = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), TEXT),
    lambda inner: st.one_of(
        st.lists(inner, max_size=4), st.dictionaries(st.text(max_size=12), inner, max_size=4)
    ),
    max_leaves=8,
)


def one_line(error: BaseException) -> None:
    """A refusal can be shown as one line: it has words, and no end of them."""
    assert str(error).strip()
    assert len(str(error)) < 20_000


# --- numbers and angles

_SIGNS = st.text("0123456789 ./-+°'\"dmseminutrgv_,eE", max_size=40)


@inputs(3000)
@given(st.one_of(TEXT, _SIGNS))
@example("1/0")
@example("1e999999999")
@example("9" * 60 + "/" + "9" * 60)
def test_the_number_parser(text: str) -> None:
    """A number of 0 or more, exactly, or a refusal with the cure."""
    for parse in (number_from_text, angle_from_text):
        try:
            value = parse(text)
        except Refused as error:
            one_line(error)
        else:
            assert isinstance(value, Fraction) and value >= 0


# --- files that people write

_FILES = {
    kind: [path.read_text("utf-8") for path in sorted(folder.glob("*.toml"))]
    for kind, folder in {"job": JOBS, "head": ROOT / "config" / "heads"}.items()
}


def mangled(chance: random.Random, text: str, junk: str) -> str:
    """A good file with a few things wrong: lines lost or doubled, values changed, junk put in."""
    lines = text.splitlines()
    for _ in range(chance.randint(1, 4)):
        n = chance.randrange(len(lines))
        match chance.randrange(6):
            case 0:
                del lines[n : n + chance.randint(1, 3)]
            case 1:
                lines.insert(n, lines[chance.randrange(len(lines))])
            case 2:
                key = lines[n].split("=")[0]
                lines[n] = f"{key}= {chance.choice(_TOML)}"
            case 3:
                lines[n] = lines[n][: chance.randrange(len(lines[n]) + 1)] + junk
            case 4:
                lines.insert(n, f"[{chance.choice(['work', 'session', 'plate', 'x', '[plate]'])}]")
            case 5:
                lines[n] = lines[n].replace(chance.choice(string.digits), chance.choice("0-9.e"))
        lines = lines or [""]
    return "\n".join(lines)


_TOML = [
    "0", "-1", "1", "7", "99999999999999999999", "1e308", "1e-9", "nan", "inf", "true", '""', '"x"',
    "[]", "[0]", "{}", "[[1]]", '"81/2"', '"1/0"', "1979-05-27", "0x10", "1_000", '"\\u0000"',
    "\'\'\'a\nb\'\'\'",
]  # fmt: skip


@inputs(700)
@given(st.integers(0, 2**32), TEXT, st.sampled_from(["job", "head", "neither"]))
@example(0, "a = " + "[" * 100_000, "neither")
@example(0, "a = " + "9" * 5000, "neither")
@example(0, "[" + " " * 5000 + "x\nspeed = 1", "neither")
def test_the_job_and_head_readers(seed: int, junk: str, kind: str) -> None:
    """A job or a head, or faults that name the place; never anything else."""
    chance = random.Random(seed)
    text = junk if kind == "neither" else mangled(chance, chance.choice(_FILES[kind]), junk)
    for read_it in (parse_head, job_from_text):
        try:
            read_it(text, "mine.toml")
        except (Refusal, Refused) as error:
            one_line(error)
            assert "mine.toml" in str(error)


@inputs(60)
@given(st.integers(0, 2**32), TEXT)
def test_what_the_job_reader_takes_can_be_worked_out(seed: int, junk: str) -> None:
    """A job that is read is worked out or refused in one line."""
    chance = random.Random(seed)
    text = mangled(chance, chance.choice(_FILES["job"]), junk)
    with suppress(Refusal, Refused, WrongUse):
        job = job_from_text(text, "mine.toml")
        if not re.search(r"\d{4}", text):  # a job of thousands of cuts is right, and slow
            head = head_of(job)
            programme_of(job, head, setups_of(job, head)[0])


# --- the stream of events


_FIELDS = st.sampled_from(["kind", "at", "gesture", "command", "heard", "text", "why", "waited"])


@inputs(400)
@given(st.dictionaries(_FIELDS, VALUES, max_size=3))
@example({"gesture": ["x" * 10_000] * 3})
def test_an_event_record(record: dict[str, Any]) -> None:
    """Anything that claims to be an event is one, or is refused as a value."""
    for kind in ("PedalUsed", "PhraseHeard", "NoteWritten", "DeviceLost", "SessionStarted"):
        try:
            from_record({**record, "kind": kind})
        except ValueError as error:
            one_line(error)


_LINES = st.one_of(
    st.fixed_dictionaries({"press": st.sampled_from(["main", "other"])}),
    st.fixed_dictionaries({"press": st.just("main"), "held_ms": VALUES}),
    st.fixed_dictionaries({"presses": VALUES}),
    st.fixed_dictionaries({"say": TEXT}),
    st.fixed_dictionaries({"say": st.just("spindle locked"), "confidence": VALUES}),
    st.fixed_dictionaries({"note": TEXT}),
    st.fixed_dictionaries({"wait_ms": VALUES}),
    st.fixed_dictionaries({"lost": st.sampled_from(["pedal", "speaker", "toaster"])}),
    st.just({"restart": True}),
    VALUES,
)


@inputs(25)
@given(st.lists(st.one_of(_LINES.map(json.dumps), TEXT), max_size=25))
@example(["[" * 100_000, '{"wait_ms": ' + "9" * 5000 + "}", '{"say": "spindle \\ud800 locked"}'])
def test_a_script_of_anything(tmp_path_factory: pytest.TempPathFactory, lines: list[str]) -> None:
    """Each line is played or refused with its number; the journal can be read afterwards."""
    journal = Journal.create(tmp_path_factory.mktemp("fuzz"), JOB, "")
    rehearsal = Rehearsal(journal, JsonLines(lambda line: None))
    rehearsal.start()
    for line in lines:
        try:
            rehearsal.run([line], "script")
        except Refusal as error:
            one_line(error)
    path = rehearsal.close()
    assert read_journal(path).entries


# --- the journal


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    journal = made(tmp_path_factory.mktemp("sound"), 4)
    journal.close()
    return journal.path


def forge(source: Path, target: Path, about: dict[str, Any], rows: list[Any]) -> None:
    """A journal with any content, and a chain that fits it: only the reading can refuse it."""
    target.write_bytes(source.read_bytes())
    with closing(sqlite3.connect(target)) as db, db:
        stored = dict(db.execute("SELECT name, value FROM session").fetchall())
        stored |= {name: value for name, value in about.items() if isinstance(value, str)}
        db.executemany("REPLACE INTO session VALUES (?, ?)", stored.items())
        db.execute("DELETE FROM event")
        link = first_link(stored)
        for n, (at, event, state) in enumerate(rows, 1):
            link = next_link(link, n, at, event, state)
            db.execute("INSERT INTO event VALUES (?, ?, ?, ?, ?)", (n, at, event, state, link))


_STATE = json.dumps(State().to_record())
_PLACES = st.sampled_from(sorted(State().to_record()))


@inputs(120)
@given(
    st.dictionaries(_PLACES, VALUES, max_size=2),
    st.dictionaries(st.sampled_from(["kind", "at", "gesture"]), VALUES, max_size=2),
)
def test_a_journal_with_a_chain_that_fits_and_a_content_that_does_not(
    sound: Path, tmp_path: Path, state: dict[str, Any], event: dict[str, Any]
) -> None:
    """Read and found sound, or refused with the record; opening and `last_state` never stumble."""
    target = tmp_path / "forged.journal"
    target.unlink(missing_ok=True)
    written = json.dumps({**json.loads(_STATE), **state})
    fact = json.dumps({"kind": "SessionStarted", "at": 1.0, **event})
    forge(sound, target, {}, [(1.0, fact, written)])
    looked_at(target)


@pytest.mark.parametrize(
    "change",
    [
        {"moves": [{"turns": 1, "times": 10**12}]},
        {"moves": [{"turns": 1, "times": [1]}]},
        {"moves": 7},
        {"positions": ["1e999999999"]},
        {"positions": ["1/0"]},
        {"scale_degrees": "1e999999999"},
        {"title": 5, "checklist": 9},
        {"moves": [{"minutes": "1e999999999", "times": 1}]},
        {"unheard_of": 1},
    ],
    ids=str,
)
def test_a_job_that_would_fill_the_memory_is_refused(
    sound: Path, tmp_path: Path, change: dict[str, Any]
) -> None:
    """A few letters that stand for a huge number or a huge list: refused before they are made."""
    target = tmp_path / "bomb.journal"
    about = {"programme": json.dumps({**JOB.to_record(), **change})}
    forge(sound, target, about, [])
    with pytest.raises(JournalFault, match="the job in it"):
        read_journal(target)


def test_nested_beyond_measure(sound: Path, tmp_path: Path) -> None:
    """JSON of a hundred thousand brackets does not overturn the reader."""
    target = tmp_path / "nested.journal"
    forge(sound, target, {}, [(1.0, "[" * 100_000, _STATE)])
    with pytest.raises(JournalFault, match="record 1"):
        read_journal(target)


def looked_at(path: Path) -> None:
    try:
        reading = read_journal(path)
    except JournalFault as error:
        one_line(error)
        with pytest.raises(JournalFault):
            Journal.open(path)
        return
    journal = Journal.open(path)
    assert journal.last_state() == reading.state
    journal.close()


@inputs(150)
@given(st.binary(max_size=3000), st.integers(0, 2**31), st.integers(0, 200))
def test_a_journal_written_over_with_anything(
    sound: Path, tmp_path: Path, junk: bytes, at: int, kept: int
) -> None:
    """Bytes put in anywhere: as it was, or refused."""
    target = tmp_path / "spoilt.journal"
    content = bytearray(sound.read_bytes())
    start = at % len(content)
    content[start : start + (len(junk) if kept % 2 else kept)] = junk
    target.write_bytes(content)
    try:
        reading = read_journal(target)
    except JournalFault as error:
        one_line(error)
    else:
        assert reading.entries == read_journal(sound).entries


@inputs(300)
@given(st.binary(max_size=400))
def test_a_file_of_anything(tmp_path: Path, content: bytes) -> None:
    """It is no journal, and is left as it is."""
    target = tmp_path / "anything.journal"
    target.write_bytes(content)
    with pytest.raises(JournalFault):
        read_journal(target)
    assert target.read_bytes() == content
