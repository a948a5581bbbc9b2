"""The terminal as display."""

from __future__ import annotations

import contextlib
import io
import re
import unicodedata
from dataclasses import replace
from pathlib import Path

import pytest
import wcwidth
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.devices.terminal.screen import Lines, Painter, open_terminal
from assistant.engine.events import Tone
from assistant.engine.hears import Hears
from assistant.engine.view import LastInput, Verdict, View
from assistant.words.language import say, speaking
from tests.page.kinds_of_step import KINDS
from tests.page.kinds_of_step import view as view_of_kind

VIEW = View(
    title="Cider mill pinion", phase="index", cut=3, of=21, pass_number=1, done=2,
    move="One turn, then nineteen holes on the twenty-one circle.",
    figures="1 turn + 19 holes on 21", awaited="make the move, then say “pin is home”",
    scale="34° 17'", said="Cut three.", heard=LastInput("“pin is home”, taken", Verdict.TAKEN),
    locked=False, guarded=False,
    cells=(("1", "turn"), ("19", "holes on 21")), answer="pin is home",
)  # fmt: skip
STYLE = re.compile(r"\x1b\[[0-9;]*m")


def plain(lines: list[str]) -> str:
    return STYLE.sub("", "\n".join(lines))


@pytest.mark.parametrize("size", [(80, 24), (100, 30), (200, 60), (40, 15)])
def test_everything_the_person_needs_is_on_the_screen(size: tuple[int, int]) -> None:
    """Phase, cut, move, what is awaited, what was heard, lock, guard and scale."""
    page = " ".join(plain(Painter(False, True).paint(VIEW, size)).split())
    for part in ("INDEX", VIEW.move, VIEW.awaited, VIEW.heard.words, "not locked", VIEW.scale):
        assert part in page


def test_it_says_whether_it_listens() -> None:
    """Speaking, listening, or neither: who knows it does not answer into the air."""
    painter = Painter(False, True)
    assert "istening" not in plain(painter.paint(VIEW, (80, 24)))  # no ear was opened
    for hears, words in (
        (Hears.SPEAKING, "Speaking: I hear nothing"),
        (Hears.LISTENING, "Listening"),
    ):
        painter.hears = hears
        assert words in plain(painter.paint(VIEW, (80, 24)))
    deaf = plain(painter.paint(replace(VIEW, deaf=True), (80, 24)))
    assert "Not listening" in deaf and "Listening" not in deaf


def test_figures_grow_with_the_screen() -> None:
    """The larger the terminal, the larger the figures."""
    heights = [
        sum("█" in line for line in Painter(False, True).paint(VIEW, size))
        for size in ((50, 24), (80, 24), (140, 40), (250, 60))
    ]
    assert heights == [5, 10, 20, 20]


def test_what_is_away_and_the_lock_are_said_in_words() -> None:
    """No colour carries a meaning alone, and NO_COLOR leaves none."""
    view = replace(VIEW, phase="cut", lost=("microphone", "pedal"), locked=True, guarded=True)
    lines = Painter(False, True).paint(view, (80, 24), Tone.REFUSED)
    page = plain(lines)
    for part in ("AWAY: microphone, pedal", "spindle: locked", "guard: closed", "NOT TAKEN"):
        assert part in page
    assert not re.search(r"\x1b\[3\d", "\n".join(lines))


def test_the_set_up_shows_its_item_and_how_many_there_are() -> None:
    """There is no move to be drawn large yet: the item itself, and which one it is."""
    item = "Tailstock centre on the height of the head's axis, and its screw tight."
    view = replace(
        VIEW, phase="set-up", item=item, item_number=3, items=14, cells=(), move="", figures=""
    )
    for size in ((80, 24), (200, 60), (40, 12)):
        page = plain(Painter(False, True).paint(view, size))
        assert item in " ".join(page.split())
        assert "cut" not in page.splitlines()[1]
    bold = [line for line in Painter(False, True).paint(view, (80, 24)) if "\x1b[1m" in line]
    assert any("Tailstock centre" in line for line in bold)
    assert "item" in plain(Painter(False, True).paint(view, (80, 24)))


def test_turns_and_holes_are_no_one_figure() -> None:
    """Words stand between them: "1 19" in one row would be read as 119."""
    for size in ((80, 24), (200, 60)):
        page = Painter(False, True).paint(VIEW, size)
        foot = next(line for line in page if "turn" in line and "█" in line)
        assert re.search(r"█+ turn +█[█ ]* holes on 21", foot)


def test_an_order_and_how_things_stand_are_never_alike() -> None:
    """An order is in capitals and reversed; the state in small letters, "off" once it is."""
    view = replace(VIEW, request="TURN, PIN IN", lock_is="off")
    lines = Painter(False, True).paint(view, (80, 24))
    order = next(line for line in lines if "TURN, PIN IN" in line)
    assert order.startswith("\x1b[7m")
    state = next(line for line in lines if "spindle lock: off" in line)
    assert "\x1b[7m" not in state and state != state.upper()


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("size", [(80, 24), (40, 24)])
@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_of_step_is_told_on_a_small_screen(
    kind: str, size: tuple[int, int], language: str
) -> None:
    """Phase, order, the figures with their words, what stands in the way: at 40 columns too."""
    view = view_of_kind(kind, language=language)
    painter = Painter(False, True)
    painter.hears = Hears.LISTENING
    lines = plain(painter.paint(view, size, Tone.ACCEPTED)).splitlines()
    page = " ".join(" ".join(lines).split())
    with speaking(language):
        assert lines[0].split()[0] == say(view.phase).upper().replace("-", " ").split()[0]
    for part in (view.request, view.item, view.heard.notice.upper(), view.heard.words, view.move,
                 view.measured):  # fmt: skip
        assert " ".join(part.split()) in page, part
    for figure, words in view.cells:
        drawn = any("█" in line and line.rstrip().endswith(words) for line in lines)
        assert f"{figure} {words}" in page or drawn or words in page, figure
    assert not any(len(line) > size[0] for line in lines)


def test_what_is_missing_stands_first() -> None:
    """A note that was printed is hidden until the full screen is left: it stands on the screen."""
    painter = Painter(False, True)
    painter.notes = ("no pedal: run tallyhand setup",)
    lines = plain(painter.paint(VIEW, (80, 24))).splitlines()
    assert lines[1] == "! no pedal: run tallyhand setup"


def columns_of(line: str) -> int:
    """By the tables of Unicode (UAX 11; marks that do not space, category Mn)."""
    return sum(
        0 if unicodedata.category(letter) in ("Mn", "Me", "Cf")
        else 1 + (unicodedata.east_asian_width(letter) in "WF")
        for letter in line
    )  # fmt: skip


text = st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=300)


@settings(deadline=None)
@given(
    st.builds(
        View, text, text, st.integers(0, 10**6), st.integers(0, 10**6), st.integers(1, 9),
        st.integers(0, 10**6), text, text, text, text, text,
        st.builds(LastInput, text), st.booleans(), st.booleans(),
        st.lists(text, max_size=6).map(tuple),
        st.lists(st.tuples(text, text), max_size=4).map(tuple),
    ),
    st.integers(20, 300),
    st.integers(5, 100),
    st.sampled_from([None, *Tone]),
    st.one_of(st.none(), text),
)  # fmt: skip
def test_it_never_draws_past_the_edge(
    view: View, columns: int, rows: int, tone: Tone | None, note: str | None
) -> None:
    """Whatever the words: no more lines and no longer lines than the screen has."""
    lines = Painter(True, True).paint(view, (columns, rows), tone, note)
    assert len(lines) <= rows
    assert all(wcwidth.width(STYLE.sub("", line)) <= columns for line in lines)


@pytest.mark.parametrize("columns", [40, 41, 80])
def test_wide_letters_take_the_columns_that_they_are_drawn_on(columns: int) -> None:
    """Wide letters on two (Unicode Standard Annex 11), an accent that is a letter of its own on
    none: nothing is cut off that would fit, and no line is longer."""
    title = "りんご搾り機の小歯車"
    item = "割出台をきれいなテーブルに固定し、キーを溝に入れたこと。 e\u0301" * 2
    view = replace(VIEW, title=title, phase="set-up", item=item, item_number=1, items=9)
    lines = [STYLE.sub("", line) for line in Painter(False, True).paint(view, (columns, 30))]
    assert max(map(columns_of, lines)) <= columns
    assert lines[0].rstrip().endswith(title) and columns_of(lines[0]) == columns
    shown = "".join(line.strip() for line in lines)
    assert item.replace(" ", "") in shown.replace(" ", "")


def test_a_pipe_gets_a_line_for_each_news_and_no_more() -> None:
    """The same view twice prints nothing the second time."""
    out = io.StringIO()
    lines = Lines(out)
    lines.show(VIEW)
    first = out.getvalue()
    lines.show(VIEW)
    assert out.getvalue() == first
    assert all(part in first for part in (VIEW.said, VIEW.awaited, VIEW.heard.words, "index 3/21"))
    lines.show(replace(VIEW, lost=("speaker",)))
    assert out.getvalue()[len(first) :].split() == ["away", "speaker"]


def test_a_terminal_without_our_letters_is_written_to(tmp_path: Path) -> None:
    """An ASCII terminal shows the same in ASCII."""
    file = tmp_path / "screen"
    with file.open("w", encoding="ascii") as out:
        screen = open_terminal(out, "full")
        screen.show(VIEW)
        screen.close()
    assert b"##" in file.read_bytes()


def test_a_full_disk_or_closed_pipe_does_not_end_the_session() -> None:
    """Writing fails, the display goes on."""
    with Path("/dev/full").open("w", encoding="utf-8") as out:
        lines = Lines(out)
        lines.show(VIEW)
        lines.signal(Tone.ACCEPTED)
        with contextlib.suppress(OSError):
            out.close()
        lines.show(replace(VIEW, said="more"))


def test_what_is_missing_is_told_before_the_screen_is_taken_and_kept_on_it(tmp_path: Path) -> None:
    """The other way round it would be seen only when the screen is left."""
    note = "no pedal: none was taught; plug it in"
    file = tmp_path / "screen"
    with file.open("w", encoding="utf-8") as out:
        screen = open_terminal(out, "full")
        screen.missing([note])
        screen.show(VIEW)
        screen.close()
    told = file.read_text("utf-8")
    taken, left = told.index("\x1b[?1049h"), told.index("\x1b[?1049l")
    assert told.index(note) < taken < left
