"""The bench page as a display and a listener: shows views, and posts the presses made on it.

Nothing here waits for a reader and nothing that goes wrong with the page reaches the session.
"""

from __future__ import annotations

import contextlib
import secrets
import threading
import time
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from assistant.devices.availability import Availability
from assistant.devices.sound import loudness
from assistant.engine.asked import on_the_page
from assistant.engine.events import (
    Command,
    CommandGiven,
    Device,
    Event,
    Gesture,
    PartScrapped,
    PedalUsed,
    SizeGiven,
    Source,
    TrialWanted,
)
from assistant.engine.hears import Hears, hears_words
from assistant.engine.ports import Display, Listener, Post
from assistant.engine.view import View
from assistant.page.access import Access
from assistant.page.document import bench_page
from assistant.page.followers import Followers
from assistant.page.hub import Hub
from assistant.page.server import PageServer, serve, shop_address, stop_server
from assistant.page.view_data import page_data
from assistant.words.language import say, speaking

# Asked for by name; whatever confirms something has only the one button, as on the pedal.
COMMANDS = tuple(what for what in on_the_page() if isinstance(what, Command))
LEVEL_EVERY_S = 0.2
GOODBYE_S = 0.3  # for the pages to be told that the session is over
MOST_FIGURES = 20  # of a size or a cut's number
SOURCE = Source.PAGE


class PageDisplay:
    """One page for any number of browsers. `key` "" serves this machine alone.

    `on_press` is called at once when a button is pressed. The port 0 takes any free one.
    `address` is this machine's own on the network that is to be served, "" for the one that it
    uses itself; `session` names the job. Raises OSError when the place can't be had.
    """

    def __init__(self, port: int, key: str = "", address: str = "", session: str = "") -> None:
        self._access = Access(key, session)
        self._hub = Hub()
        self.on_press: Callable[[], None] = lambda: None
        self.notes: list[str] = []  # what is missing at this bench, and the cure
        self._post: Post | None = None
        self._expected: list[str] = []
        self._acts: tuple[str, ...] = ()
        self._edition, self._drawn_for = "", object()
        self._document = bench_page(None, None, "", self._access.token)
        self._question, self._asked_at = 0, 0.0
        self._asked: tuple[str, ...] = ()
        self._finished = False
        self._language = "en"
        self._deaf = False
        self._hears: Hears | None = None
        self._told_hears: Hears | None = None
        self._level_at = 0.0
        self._lock = threading.Lock()
        # Never on all networks of this machine: only on the one that was asked for.
        place = ((address or shop_address()) if key else "127.0.0.1", port)
        self._followers: Followers | None = None
        self._server = PageServer(
            place, self._access, self._hub, self._page, self._pressed, self._answered
        )
        self._thread = serve(self._server)

    @property
    def address(self) -> str:
        """What to open in a browser; with the key, which only the bench's own people should see."""
        host, port = self._server.server_address[:2]
        return f"http://{host!s}:{port}/" + (f"?key={self._access.key}" if self._access.key else "")

    def follow(self, on_press: Callable[[], None], listeners: Iterable[Listener]) -> None:
        """Call `on_press` at every press, and show how loud the listener for the voice is."""
        self.on_press = on_press
        for listener in listeners:
            if hasattr(listener, "on_block"):
                listener.on_block = self.hear
            if hasattr(listener, "on_meter"):
                listener.on_meter.append(self.meter)
            if hasattr(listener, "on_hears"):
                listener.on_hears.append(self.hears)

    # --- display

    def show(self, view: View) -> None:
        self._draw_anew(view)
        asked = (view.phase, view.awaited, view.item, str(view.cut), str(view.pass_number))
        with self._lock:
            if asked != self._asked:
                self._question, self._asked_at = self._question + 1, time.time()
                self._asked = asked
            question = self._question
        self._acts = view.acts
        self._finished = view.phase == "finished"
        self._language = view.language
        self._deaf = view.deaf
        self._tell_hears()
        if Device.MICROPHONE in view.lost:
            self.level(None)
        more = {"edition": self._edition, "question": question, "expected": self._expected,
                "notes": self.notes}  # fmt: skip
        self._hub.tell("state", {**page_data(view), **more})

    def level(self, level: float | None) -> None:
        """How loud the microphone is, 0 to 1; None: there is none. From any thread."""
        now = time.monotonic()
        if level is None or now - self._level_at >= LEVEL_EVERY_S:
            self._level_at = now
            shown = None if level is None else round(min(max(level, 0.0), 1.0), 2)
            self._hub.tell("level", {"level": shown})

    def hear(self, pcm: bytes) -> None:
        """A block of 16-bit sound from the microphone, for its level. From any thread."""
        if time.monotonic() - self._level_at >= LEVEL_EVERY_S:
            self.level(of_the_meter(pcm))

    def meter(self, words: str) -> None:
        """The noise, and the person's voice over it, in words. From any thread."""
        self._hub.tell("meter", {"words": f"Microphone: {words}"})

    def hears(self, hears: Hears) -> None:
        """Whether what is said now is heard. From any thread."""
        self._hears = hears
        self._tell_hears()

    def _tell_hears(self) -> None:
        now = Hears.OFF if self._deaf else self._hears
        if now is not None and now is not self._told_hears:
            self._told_hears = now
            with speaking(self._language):
                self._hub.tell("hears", {"state": now.value, "words": hears_words(now)})

    def close(self) -> None:
        if self._hub.closed:
            return
        if self._followers is not None:
            self._followers.close()
        with speaking(self._language):
            why = say("The job is finished.")
            if not self._finished:
                why = say("To go on: tallyhand resume")
        self._hub.tell("over", {"why": why})
        self._hub.close()
        time.sleep(GOODBYE_S)
        stop_server(self._server, self._thread)

    def _draw_anew(self, view: View) -> None:
        """A new base for the drawings when the plate or the part is another one."""
        plate, part = view.plate, view.part
        drawn_for = (view.language, plate and (plate.kind, plate.name, plate.circles, plate.circle),
                     part and (hash(part.angles), hash(part.drawing)))  # fmt: skip
        if drawn_for != self._drawn_for:
            self._drawn_for = drawn_for
            self._edition = secrets.token_hex(8)
            self._document = bench_page(
                plate, part, self._edition, self._access.token, view.language
            )

    def _page(self) -> bytes:
        return self._document

    # --- listener

    def start(self, post: Post) -> None:
        self._post = post
        self._followers = Followers(Availability(Device.PAGE, post))

    @property
    def looked_at(self) -> bool:
        """Somebody's page answers."""
        return self._followers is not None and self._followers.here

    def _answered(self) -> None:
        if self._followers is not None:
            self._followers.answered()

    def expect(self, commands: frozenset[Command]) -> None:
        self._expected = [command.value for command in COMMANDS if command in commands]

    def _pressed(self, given: dict[str, Any]) -> bool:
        event = self._event(given, time.time())
        if event is None or self._post is None:
            return False
        self.on_press()
        self._post(event)
        return True

    def _event(self, given: dict[str, Any], now: float) -> Event | None:
        with self._lock:
            current, asked_at = self._question, self._asked_at
        gesture, wanted = given.get("gesture"), given.get("command")  # of any kind: see below
        if isinstance(gesture, str) and gesture in set(Gesture):
            # Pressed on a page that still showed an older question: before this one was asked.
            pressed_at = now if given.get("question") == current else asked_at - 1.0
            return PedalUsed(now, Gesture(gesture), SOURCE, pressed_at)
        if wanted in self._expected and given.get("question") == current:
            command = Command(wanted)
            return CommandGiven(now, command, SOURCE)
        if given.get("act") in self._acts and given.get("question") == current:
            return _act(given, now)
        return None


def _act(given: dict[str, Any], now: float) -> Event | None:
    """A part given up, the trial round to be called, or a figure as it was typed; None for what is
    no short text."""
    if given["act"] == "scrap":
        return PartScrapped(now, SOURCE)
    if given["act"] == "trial":
        return TrialWanted(now, SOURCE)
    figure = given.get("figure")
    typed = figure.strip().replace(",", ".") if isinstance(figure, str) else ""
    return SizeGiven(now, typed, SOURCE) if 0 < len(typed) <= MOST_FIGURES else None


def of_the_meter(pcm: bytes) -> float:
    """What the page's meter shows of 16 bit sound: 0 where nobody could be heard, 1 at full
    scale."""
    return max(0.0, 1 - loudness.level(pcm) / loudness.FAINTEST)


class Screens:
    """Several displays as one. One that fails is let go; the others and the session go on."""

    def __init__(self, displays: Sequence[Display]) -> None:
        self._displays = list(displays)

    def show(self, view: View) -> None:
        for display in tuple(self._displays):
            try:
                display.show(view)
            except Exception:  # whatever a display dies of, the session must not
                self._displays.remove(display)

    def close(self) -> None:
        for display in self._displays:
            with contextlib.suppress(Exception):
                display.close()
