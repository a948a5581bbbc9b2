"""The terminal's keys, or lines from a pipe: the way in that is always there.

On a terminal one key is one act. From a pipe (and where the terminal can't give single
keys) each line is a phrase, a key from the list, `note: TEXT`, `size: 19.05`, or empty for a press.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable

from assistant.devices.availability import Availability, told_at_its_end
from assistant.devices.terminal.key_source import KeySource, key_source
from assistant.engine.asked import KEYS, Act, key_of
from assistant.engine.events import (
    Command,
    CommandGiven,
    Device,
    DeviceTroubled,
    Gesture,
    NoteWritten,
    PartScrapped,
    PedalUsed,
    PhraseHeard,
    SessionLeft,
    SizeGiven,
    Source,
    TrialWanted,
    Trouble,
)
from assistant.engine.phrases import command_for
from assistant.engine.ports import Post

LEAVE, WRITE_NOTE, WRITE_SIZE, SCRAP, TRIAL = map(
    key_of, (Act.LEAVE, Act.WRITE_NOTE, Act.FIGURE, Act.SCRAP, Act.TRIAL)
)
PRESS = (" ", "\r", "\n")
TOGETHER_S = 0.1
"""Keys that come within this time of each other were not chosen one by one."""
LEANED_KEYS = 4
WALKED_KEYS, WALKED_S = 5, 1.2
"""Nobody chooses five acts in so short a time: something walks over the keys."""
CALM_S = 1.0
REPEAT_S = 0.75
"""A key that comes again sooner than this is one held down: X starts to repeat after 0.66 s."""


class Keyboard:
    """A listener on a file descriptor, the terminal's or a pipe's.

    `on_press` is called at once when the key for a press goes down; `show_typing` gets the
    note as it is typed, and None when it is finished; keys for which `not_ours` is true
    (the pedal types them) are left alone. `clock` gives seconds that only grow. `source` is
    made from `fd` where none is given.
    """

    def __init__(
        self,
        fd: int,
        on_press: Callable[[], None] = lambda: None,
        show_typing: Callable[[str | None], None] = lambda text: None,
        not_ours: Callable[[str], bool] = lambda key: False,
        clock: Callable[[], float] = time.monotonic,
        source: KeySource | None = None,
    ) -> None:
        self._source = source or key_source(fd)
        self._closing = threading.Event()
        self._clock = clock
        self._on_press = on_press
        self._show_typing = show_typing
        self._not_ours = not_ours
        self._thread: threading.Thread | None = None
        self._post: Post = lambda event: None
        self._seen: dict[str, float] = {}
        self._together: list[str] = []  # keys that came in one breath
        self._leaned_on = False
        self._acts: deque[float] = deque(maxlen=WALKED_KEYS)
        self._note: str | None = None
        self._is_size = False  # what is being typed is a size, not a note

    def start(self, post: Post) -> None:
        self._post = post
        take = _Keys(self._key) if self._source.enter() else _Lines(self._line)
        self._thread = threading.Thread(
            target=self._work, args=(take,), name="keyboard", daemon=True
        )
        self._thread.start()

    def expect(self, commands: frozenset[Command]) -> None:
        """Keys mean the same at all times."""

    def close(self) -> None:
        self._closing.set()
        self._source.wake()
        if self._thread is not None:
            self._thread.join(1)
        self._source.leave()

    def _work(self, take: _Keys | _Lines) -> None:
        availability = Availability(Device.KEYBOARD, self._post)
        told_at_its_end(lambda: self._read(take, availability), availability, self._closing.is_set)

    def _read(self, take: _Keys | _Lines, availability: Availability) -> None:
        while not self._closing.is_set():
            data = self._source.read(self._patience())
            if data is None:
                if not self._closing.is_set():
                    self._settle()
            elif data:
                take.feed(data)
            else:
                take.end()
                availability.lost("the input has ended")
                return

    def _patience(self) -> float | None:
        """Seconds without a key after which those that came are settled; None: none are waiting."""
        return TOGETHER_S if self._together else CALM_S if self._leaned_on else None

    def _key(self, key: str) -> None:
        if self._note is not None:
            self._write(key)
        elif not self._not_ours(key) and not self._is_repeat(key):
            if key in PRESS and not self._together:
                self._on_press()
            self._together.append(key)

    def _settle(self) -> None:
        """One key by itself is an act; several at once are an elbow or a dropped rag."""
        keys, self._together = self._together, []
        if not keys:
            self._leaned_on = False
        elif self._leaned_on:
            return
        elif len(keys) >= LEANED_KEYS or self._walked_over():
            self._leaned_on = True
            self._post(DeviceTroubled(time.time(), Device.KEYBOARD, Trouble.LEANED_ON))
        elif len(keys) == 1:
            self._act(keys[0])

    def _walked_over(self) -> bool:
        """One key after the other, faster than a person decides."""
        self._acts.append(self._clock())
        return len(self._acts) == WALKED_KEYS and self._acts[-1] - self._acts[0] < WALKED_S

    def _is_repeat(self, key: str) -> bool:
        now = self._clock()
        before, self._seen[key] = self._seen.get(key, float("-inf")), now
        return now - before < REPEAT_S

    def _act(self, key: str) -> None:
        """What one key does. Keys that mean nothing are passed over in silence."""
        now = time.time()
        if key in PRESS:
            self._post(PedalUsed(now, Gesture.PRESS, Source.KEYBOARD, pressed_at=now))
        elif key == LEAVE:
            self._post(SessionLeft(now))
        elif key == SCRAP:
            self._post(PartScrapped(now))
        elif key == TRIAL:
            self._post(TrialWanted(now))
        elif key in (WRITE_NOTE, WRITE_SIZE):
            self._is_size = key == WRITE_SIZE
            self._write("")
        elif key in KEYS:
            self._post(CommandGiven(now, KEYS[key], Source.KEYBOARD))

    def _write(self, key: str) -> None:
        """Take a key as part of a note or a size; Enter finishes it, Escape throws it away."""
        note = self._note or ""
        if key in ("\r", "\n"):
            if note.strip():
                self._post(_written(note.strip(), is_size=self._is_size))
        elif key != "\x1b":
            self._note = note[:-1] if key in ("\x7f", "\b") else note + key
            self._show_typing(self._note)
            return
        self._note = None
        self._show_typing(None)

    def _line(self, line: str) -> None:
        text = line.strip()
        if text == "":
            self._on_press()
            self._act("\n")
        elif text in KEYS or text in (LEAVE, SCRAP, TRIAL):
            self._act(text)
        elif text.lower().startswith(("note:", "size:")):
            self._post(_written(text[5:].strip(), is_size=text.lower().startswith("size:")))
        else:
            self._post(self._phrase(text))

    def _phrase(self, text: str) -> CommandGiven | PhraseHeard:
        now, command = time.time(), command_for(text)
        if command:
            return CommandGiven(now, command, Source.KEYBOARD)
        why = "not one of the phrases"
        return PhraseHeard(now, text, None, 1.0, accepted=False, why=why, source=Source.KEYBOARD)


def _written(text: str, *, is_size: bool) -> NoteWritten | SizeGiven:
    now = time.time()
    return SizeGiven(now, text.replace(",", ".")) if is_size else NoteWritten(now, text)


class _Lines:
    """Cuts bytes into lines."""

    def __init__(self, take: Callable[[str], None]) -> None:
        self._take = take
        self._rest = b""

    def feed(self, data: bytes) -> None:
        *lines, self._rest = (self._rest + data).split(b"\n")
        for line in lines:
            self._take(line.decode("utf-8", "replace"))

    def end(self) -> None:
        if self._rest:
            self.feed(b"\n")


class _Keys:
    """Cuts bytes into keys; the sequences that arrow and function keys send are dropped."""

    def __init__(self, take: Callable[[str], None]) -> None:
        import codecs

        self._take = take
        self._decoder = codecs.getincrementaldecoder("utf-8")("replace")

    def feed(self, data: bytes) -> None:
        # A terminal sends a whole sequence in one piece, so a lone Escape is the key.
        text = self._decoder.decode(data)
        while text:
            length = _sequence(text)
            if length:
                text = text[length:]
                continue
            self._take(text[0])
            text = text[1:]

    def end(self) -> None:
        """Half a key is no key."""


def _sequence(text: str) -> int:
    """How many characters at the start of `text` are one key's escape sequence; 0 if none."""
    if len(text) < 2 or text[0] != "\x1b":
        return 0
    if text[1] == "O":
        return min(3, len(text))
    if text[1] != "[":
        return 2
    end = 2
    while end < len(text) and not "@" <= text[end] <= "~":
        end += 1
    return min(end + 1, len(text))
