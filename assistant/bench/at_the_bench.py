"""Brings a journal and the devices together: nothing that a device does ends the session."""

from __future__ import annotations

import queue
import signal
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial

from assistant.bench.open_devices import Devices, open_devices
from assistant.bench.session import Bench, NobodyAnswers, Session, begin, work
from assistant.engine.events import Device, Event, SessionLeft, SessionResumed, SessionStarted
from assistant.engine.ports import Display
from assistant.engine.transitions import RULES
from assistant.errors import Refusal
from assistant.files.settings import Settings, SpeechSettings
from assistant.journal.writing import Journal
from assistant.page.display import PageDisplay, Screens
from assistant.page.open_page import open_page
from assistant.words.language import Language, known

PAGE_MAY_OPEN_S = 600.0  # where nothing else can answer, somebody may still open the page
MAY_RETURN_S = 30.0  # or plug the pedal or the microphone in again
LAST_WORDS_S = 20.0  # at the end of a job, speech may take this long before we leave


def at_the_bench(
    journal: Journal,
    settings: Settings,
    first: type[SessionStarted] | type[SessionResumed],
) -> bool:
    """Run the session of this journal until it is finished or left. True when finished. Raises
    Refusal where nobody can answer any more."""
    settings = settings_in_language(settings, known(journal.programme.language))
    events: queue.SimpleQueue[Event] = queue.SimpleQueue()
    # First of all: to open the devices takes seconds, and who leaves meanwhile loses nothing.
    _leave_on(signal.SIGTERM, events.put)
    # The page comes first: it may have to show its code before the screen is taken.
    page = open_page(settings.page, journal.path)
    _leave_on(
        signal.SIGINT, events.put
    )  # the page may have waited for a key, which this breaks off
    devices = open_devices(settings, events.put)
    display: Display = devices.display
    if page is not None:
        page.follow(devices.announcer.hush, devices.listeners)
        devices.listeners.append(page)
        display = Screens([devices.display, page])
    # First on the terminal itself, then in a line of each screen.
    devices.display.missing(devices.notes)
    devices.display.tell(devices.notes)
    if page is not None:
        page.notes = list(devices.notes)
    speed = settings.speech.words_per_minute / SpeechSettings().words_per_minute
    ways = devices.answers | devices.shows | ({Device.PAGE} if page is not None else set())
    bench = Bench(devices.announcer, display, tuple(devices.listeners), speed, ways)
    session = Session(journal.programme, journal.last_state(), journal, bench)
    _outlive_the_terminal(events.put, lambda: _somebody_is_there(session, devices, page))
    try:
        greeting = partial(_first, first, devices.ears, devices.foot)
        start = partial(devices.start, events.put)
        finished = begin(session, events, greeting, start) and work(
            session, events, bench.timed, partial(_patience, session, devices, page)
        )
        if finished:
            # Somebody who leaves in the middle of a sentence does not wait for its end.
            _let_it_finish(devices.announcer.busy)
    except NobodyAnswers:
        _let_it_finish(devices.announcer.busy)
        raise Refusal(
            "nobody can answer any more (no pedal, keyboard, microphone or page): the job is kept",
            "see to one of them (tallyhand doctor), then: tallyhand resume",
        ) from None
    finally:
        devices.close()
        journal.close()
    return finished


def _first(first: type[SessionStarted] | type[SessionResumed], ears: str, foot: str) -> Event:
    return first(time.time(), ears, RULES, foot)


def settings_in_language(settings: Settings, language: Language) -> Settings:
    """The settings for a session in that language: its own voice, unless another was chosen."""
    own = settings.speech.voice == SpeechSettings().voice
    voice = language.voice if own else settings.speech.voice
    return replace(settings, speech=replace(settings.speech, language=language.code, voice=voice))


def _leave_on(number: int, post: Callable[[Event], None]) -> None:
    """Ctrl-C and a polite kill end the session as the person's own leaving does."""
    signal.signal(number, lambda *_: post(SessionLeft(time.time())))


def _outlive_the_terminal(post: Callable[[Event], None], goes_on: Callable[[], bool]) -> None:
    """A window that is closed takes screen and keyboard along, not the session, unless nobody
    could be heard any more."""
    hang_up = getattr(signal, "SIGHUP", None)
    if hang_up is None or signal.getsignal(hang_up) is signal.SIG_IGN:
        return
    signal.signal(hang_up, lambda *_: None if goes_on() else post(SessionLeft(time.time())))


def _somebody_is_there(session: Session, devices: Devices, page: PageDisplay | None) -> bool:
    """A voice, a foot or a page can still give an answer."""
    if page is not None and page.looked_at:
        return True
    away = set(session.state.lost)
    hears = Device.MICROPHONE in devices.answers and not away & {Device.MICROPHONE, Device.EAR}
    return hears or (Device.PEDAL in devices.answers and Device.PEDAL not in away)


def _patience(session: Session, devices: Devices, page: PageDisplay | None) -> float | None:
    """Seconds for which an answer may still be waited for; None while one can come."""
    keys = Device.KEYBOARD in devices.answers and Device.KEYBOARD not in session.state.lost
    if keys or _somebody_is_there(session, devices, page):
        return None
    if page is not None:
        return PAGE_MAY_OPEN_S
    return MAY_RETURN_S if devices.answers - {Device.KEYBOARD} else 0.0


def _let_it_finish(busy: Callable[[], bool]) -> None:
    end = time.monotonic() + LAST_WORDS_S
    while busy() and time.monotonic() < end:
        time.sleep(0.05)
