"""The terminal as display: the whole screen, figures as large as they fit.

Where the output is no terminal, a line is printed whenever something has changed.
"""

from __future__ import annotations

import atexit
import os
import shutil
import sys
import threading
from collections.abc import Callable, Sequence
from typing import TextIO

from wcwidth import clip, width, wrap

from assistant.devices.stderr_guard import StderrAside
from assistant.devices.terminal import block_digits
from assistant.engine.asked import help_line
from assistant.engine.events import Tone
from assistant.engine.hears import Hears, hears_words
from assistant.engine.view import View
from assistant.words.language import mark, say, speaking

TOO_LOUD = mark("TOO LOUD TO TRUST MY EAR: lock and guard by pedal or Enter only")
TONE_WORDS = {
    Tone.ACCEPTED: mark("[+] TAKEN"),
    Tone.REFUSED: mark("[x] NOT TAKEN"),
    Tone.ATTENTION: mark("[!] LOOK HERE"),
}
PHASES = (
    mark("set-up"), mark("release"), mark("index"), mark("lock"), mark("guard"), mark("cut"),
    mark("measure"), mark("closing-check"), mark("finished"), mark("paused"),
    mark("check-position"),
)  # fmt: skip
_TONE_COLOUR = {Tone.ACCEPTED: "32", Tone.REFUSED: "31", Tone.ATTENTION: "33"}
_BOLD, _REVERSE = "1", "7"
_GAP = " " * 4
_NARROW = 60  # columns; there the keys, which come last, may give these lines to large figures
_HELP_GIVES = 5


class Lines:
    """For pipes and logs: what is new, one plain line each."""

    def __init__(self, out: TextIO) -> None:
        self._out = out
        self.fault = ""  # why the last writing failed, "" where it did not
        self._before: dict[str, str] = {}
        self._language = "en"
        self._lock = threading.Lock()

    def show(self, view: View) -> None:
        self._language = view.language
        with speaking(self._language):
            self._show(view)

    def _show(self, view: View) -> None:
        phase = say(view.phase)
        place = f"{phase} {view.cut}/{view.of}" if view.of else phase
        if view.parts > 1:
            part = say("part {n} of {total}", n=view.part_number, total=view.parts)
            place = f"{part}, {place}"
        news = {
            say("heard"): view.heard.words,
            say("away"): ", ".join(view.absent),
            say("said"): view.said,
            say("now"): f"{place}: {view.awaited}" if view.awaited else place,
        }
        for name, text in news.items():
            if text != self._before.get(name, ""):
                shown = text or say("nothing")
                self._print(f"{name:>5}  {shown}")
        self._before = news

    def signal(self, tone: Tone) -> None:
        """The tone in a line of its own."""
        with speaking(self._language):
            name, sign = say("tone"), say(TONE_WORDS[tone])
            self._print(f"{name:>5}  {sign}")

    def typing(self, text: str | None) -> None:
        """A pipe shows no typing."""

    def tell(self, notes: Sequence[str]) -> None:
        """Notes stand before the first line: they were printed."""

    def meter(self, words: str) -> None:
        """Nor levels; that it is too loud is said."""

    def hears(self, hears: Hears) -> None:
        """Nor when it speaks: a line for each sentence would bury the others."""

    def missing(self, notes: list[str]) -> None:
        """On standard error, where they stay beside what is piped on."""
        for note in notes:
            print(note, file=sys.stderr, flush=True)

    def close(self) -> None:
        """Nothing was changed."""

    def abandon(self) -> None:
        """Nothing has to be put back."""

    def _print(self, line: str) -> None:
        with self._lock:
            self.fault = _write(self._out, line + "\n")


class FullScreen:
    """Draws the whole screen anew when something has changed."""

    def __init__(self, out: TextIO) -> None:
        self._out = out
        self.fault = ""  # why the last drawing failed, "" where it did not
        self._lock = threading.Lock()
        self._painter = Painter(
            colour=not os.environ.get("NO_COLOR"), blocks=_can_encode(out, "█─")
        )
        self._view: View | None = None
        self._tone: Tone | None = None
        self._note: str | None = None
        self._meter = ""
        self._drawn: list[str] = []
        self._open = True
        self._entered = False
        self._aside = StderrAside() if os.isatty(2) else None
        atexit.register(self.close)

    def missing(self, notes: list[str]) -> None:
        """Before the screen is taken, so that they also stand there when it is left."""
        with self._lock:
            if notes and not self._entered:
                _write(self._out, "".join(f"{note}\r\n" for note in notes))

    def show(self, view: View) -> None:
        with self._lock:
            self._view = view
            self._draw()

    def signal(self, tone: Tone) -> None:
        """The tone in words, until the next view."""
        with self._lock:
            self._tone = tone
            self._draw()

    def typing(self, text: str | None) -> None:
        """The note or figure that is being typed in place of the keys; None where none is."""
        with self._lock:
            self._note = text
            self._draw()

    def tell(self, notes: Sequence[str]) -> None:
        """What is missing at this bench, and the cure: it stays over everything."""
        with self._lock:
            self._painter.notes = tuple(notes)
            self._draw()

    def meter(self, words: str) -> None:
        """The noise and the person's voice over it, in words. From any thread."""
        with self._lock:
            self._meter = words
            self._draw()

    def hears(self, hears: Hears) -> None:
        """Whether what is said now is heard. From any thread."""
        with self._lock:
            self._painter.hears = hears
            self._draw()

    def close(self) -> None:
        with self._lock:
            if self._open:
                self._open = False
                if self._entered:
                    _write(self._out, "\x1b[?25h\x1b[?1049l")
                if self._aside is not None:
                    self._aside.close()

    def abandon(self) -> None:
        """The screen takes nothing more: leave without waiting for it, at exit neither."""
        self._open = False
        atexit.unregister(self.close)

    def _draw(self) -> None:
        if self._view is None or not self._open:
            return
        if not self._entered:
            self._entered = True
            _write(self._out, "\x1b[?1049h\x1b[?25l")
        size = _size(self._out)
        lines = self._painter.paint(self._view, size, self._tone, self._note, self._meter)
        if lines != self._drawn:
            self.fault = _write(self._out, "\x1b[H" + "\x1b[K\r\n".join(lines) + "\x1b[J")
            # What did not arrive is drawn again next time, changed or not.
            self._drawn = [] if self.fault else lines


class Painter:
    """Lays a view out as lines for a screen of a given size. Pure, so that it can be tested."""

    def __init__(self, colour: bool, blocks: bool) -> None:
        self._colour = colour
        self._ink, self._rule = ("█", "─") if blocks else ("#", "-")
        self.notes: tuple[str, ...] = ()  # what is missing at this bench, and the cure
        self.hears: Hears | None = None  # nothing: no ear was opened

    def paint(
        self,
        view: View,
        size: tuple[int, int],
        tone: Tone | None = None,
        note: str | None = None,
        meter: str = "",
    ) -> list[str]:
        """As many lines as the screen is high or fewer, none wider than it."""
        with speaking(view.language):
            return self._paint(view, size, tone, note, meter)

    def _paint(
        self, view: View, size: tuple[int, int], tone: Tone | None, note: str | None, meter: str
    ) -> list[str]:
        columns, rows = size
        cells = _cells(view)
        item = self._item(view, columns) if view.item else []
        below = self._wrap(self._ear(view, meter), columns)
        for scale, apart in ((4, False), (3, False), (2, False), (1, False), (2, True), (1, True)):
            rows_of_cells = [[cell] for cell in cells] if apart else [cells]
            if max(_width(each, scale) for each in rows_of_cells) > columns:
                continue
            large = [line for each in rows_of_cells for line in self._large(each, scale, columns)]
            lines = self._page(view, columns, [*large, *item], tone, note, below)
            if len(lines) <= rows + (_HELP_GIVES if note is None and columns < _NARROW else 0):
                return lines[:rows]
        small = "   ".join(f"{figure} {words}" for figure, words in cells)
        figures = [*item, ""] if item else self._wrap(small, columns, _BOLD)
        return self._page(view, columns, figures, tone, note, below)[:rows]

    def _ear(self, view: View, meter: str) -> str:
        """Whether what is said now is heard, and how loud it is."""
        if view.deaf:
            return hears_words(Hears.OFF)
        level = say("ear: {level}", level=meter) if meter else ""
        return "   ".join(
            each for each in (hears_words(self.hears) if self.hears else "", level) if each
        )

    def _item(self, view: View, columns: int) -> list[str]:
        """The item of the set-up, set apart: there is no move to be drawn large yet."""
        lines = wrap(view.item, max(columns - 4, 10))
        return [*(self._row(f"  {line}", columns, _BOLD) for line in lines), ""]

    def _page(
        self,
        view: View,
        columns: int,
        figures: list[str],
        tone: Tone | None,
        note: str | None,
        below: list[str],
    ) -> list[str]:
        sign = say(TONE_WORDS[tone]) if tone else ""
        head = say(view.phase).upper().replace("-", " ")
        if view.parts > 1:
            head += "   " + say("part {n} of {total}", n=view.part_number, total=view.parts)
        if not view.item:
            head += "   " + say("cut {n} of {total}", n=view.cut, total=view.of)
        said = say("said: {words}", words=view.news) if view.said != view.move else ""
        away = say("AWAY: {devices}", devices=", ".join(view.absent)) if view.lost else ""
        return [
            self._head(f" {head}", view.title, columns),
            *(line for text in self.notes for line in self._wrap(f"! {text}", columns, _BOLD)),
            *figures,
            self._rule * columns,
            *self._wrap(view.move, columns, _BOLD),
            *self._wrap(f">> {view.request} <<" if view.request else "", columns, _REVERSE),
            *self._wrap(_steady(view), columns, _BOLD),
            *self._wrap(_question(view), columns, _BOLD),
            *self._heard(view, sign, columns, _TONE_COLOUR[tone] if tone else ""),
            *self._wrap(said, columns),
            *self._wrap(_state(view), columns),
            *self._wrap(view.heard.notice.upper(), columns, _REVERSE),
            *self._wrap(say(TOO_LOUD) if view.too_loud else "", columns, _REVERSE),
            *self._wrap(away, columns, _REVERSE),
            *below,
            self._rule * columns,
            *(self._wrap(help_line(), columns) if note is None else self._note(note, columns)),
        ]

    def _head(self, head: str, title: str, columns: int) -> str:
        """Phase and cut come first: of a long title there is what they leave."""
        room = max(columns - width(head) - 2, 0)
        return self._row(head, columns, right=clip(title, 0, room), style=_REVERSE)

    def _heard(self, view: View, sign: str, columns: int, style: str) -> list[str]:
        """With what became of it to the right, or in a line of its own."""
        words = say("heard: {words}", words=view.heard.words)
        if width(words) + 1 + width(sign) <= columns:
            return [self._row(words, columns, right=sign, style=style)]
        lines = self._wrap(words, columns, style)
        return [*lines, self._row("", columns, right=sign, style=style)] if sign else lines

    def _large(self, cells: list[tuple[str, str]], scale: int, columns: int) -> list[str]:
        """Each figure with its words to its right: two in a row would be read as one."""
        drawn = [block_digits.draw_digits(figure, scale, self._ink) for figure, _ in cells]
        last = block_digits.ROWS * scale - 1
        rows = [
            _GAP.join(
                art[row] + _beside(word if row == last else "", word)
                for art, (_, word) in zip(drawn, cells, strict=True)
            )
            for row in range(last + 1)
        ]
        return ["", *(self._row(f"  {row}", columns) for row in rows), ""]

    def _note(self, note: str, columns: int) -> list[str]:
        words = say("NOTE (Enter keeps it, Esc drops it): {note}_", note=note)
        return self._wrap(words, columns, _BOLD)

    def _wrap(self, text: str, columns: int, style: str = "") -> list[str]:
        return [self._row(line, columns, style) for line in wrap(text, columns)]

    def _row(self, text: str, columns: int, style: str = "", right: str = "") -> str:
        """Measured in columns: some letters take two of them, an accent of its own none."""
        room = max(columns - width(right) - 1, 0) if right else columns
        line = clip(_filled(text, room) + (f" {right}" if right else ""), 0, columns)
        return self._styled(line.rstrip() if style != _REVERSE else line, style)

    def _styled(self, text: str, style: str) -> str:
        if not style or (not self._colour and style not in (_BOLD, _REVERSE)):
            return text
        return f"\x1b[{style}m{text}\x1b[0m"


def _cells(view: View) -> list[tuple[str, str]]:
    """What is drawn large, each figure with its words."""
    if view.item:
        return [(f"{view.item_number}/{view.items}", say("item"))]
    return list(view.cells) or [(f"{view.cut}/{view.of}", say("cut"))]


def _filled(text: str, columns: int) -> str:
    """Cut or filled up to so many columns."""
    shown = clip(text, 0, columns)
    return shown + " " * (columns - width(shown))


def _beside(shown: str, word: str) -> str:
    return f" {_filled(shown, width(word))}"


def _width(cells: list[tuple[str, str]], scale: int) -> int:
    wide = sum(block_digits.width(figure, scale) + 1 + width(word) for figure, word in cells)
    return 2 + wide + len(_GAP) * (len(cells) - 1)


def _steady(view: View) -> str:
    """What the step needs in smaller figures, and what is to be measured."""
    return "   ".join([*(f"{figure} {words}" for figure, words in view.steady), view.measured])


def _question(view: View) -> str:
    """What is awaited, and the phrase that answers it."""
    if not view.awaited:
        return ""
    if not view.answer or view.answer in view.awaited:
        return f"> {view.awaited}"
    answer = say("say “{phrase}”", phrase=view.answer)
    return f"> {view.awaited}   {answer}"


def _lock(view: View) -> str:
    """As it was last confirmed; in small letters, for an order is in capitals."""
    if view.locked:
        return say("spindle: locked")
    return say("spindle lock: off") if view.lock_is == "off" else say("spindle: not locked")


def _state(view: View) -> str:
    if view.item:  # no lock and no guard is asked for yet
        return ""
    parts = [say("done: {done} of {total}", done=view.done, total=view.of)]
    if "guard" in view.needed:
        parts.insert(0, say("guard: closed") if view.guarded else say("guard: not confirmed"))
    if "lock" in view.needed:
        parts.insert(0, _lock(view))
    if view.pass_number > 1:
        parts.append(say("pass {n}", n=view.pass_number))
    if view.scale:
        parts.append(say("degree scale: {angle}", angle=view.scale))
    return "   ".join(parts)


def _size(out: TextIO) -> tuple[int, int]:
    try:
        size = os.get_terminal_size(out.fileno())
    except (OSError, ValueError):
        size = shutil.get_terminal_size()
    return max(size.columns, 20), max(size.lines, 5)


def _can_encode(out: TextIO, text: str) -> bool:
    try:
        text.encode(out.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def _write(out: TextIO, text: str) -> str:
    """Why it could not be written, or "": a display that fails must not take the session down."""
    encoding = out.encoding or "utf-8"
    data = text.encode(encoding, "replace")
    try:
        out.flush()
        _write_all(out, data, encoding)
    except (OSError, ValueError) as error:
        return f"it can't be written to ({getattr(error, 'strerror', None) or error})"
    return ""


def _write_all(out: TextIO, data: bytes, encoding: str) -> None:
    try:
        handle = out.fileno()
    except (OSError, ValueError, AttributeError):
        out.write(data.decode(encoding))
        out.flush()
        return
    if sys.platform == "win32" and out.isatty():
        # Bytes would be taken by the console's code page: its letters come through the stream.
        out.write(data.decode(encoding))
        out.flush()
        return
    # Past the stream's own buffer: a thread that waits inside it would stop the exit as well.
    while data:
        data = data[os.write(handle, data) :]


def open_terminal(out: TextIO, kind: str = "auto") -> FullScreen | Lines:
    """The full screen where there is one, else lines; `kind` "full" or "lines" decides."""
    full = kind == "full" or (kind == "auto" and _draws(out))
    make: Callable[[TextIO], FullScreen | Lines] = FullScreen if full else Lines
    return make(out)


def _draws(out: TextIO) -> bool:
    if not out.isatty() or os.environ.get("TERM") == "dumb":
        return False
    if sys.platform != "win32":
        return True
    from assistant.devices.terminal.windows_console import takes_codes

    return takes_codes(out)
