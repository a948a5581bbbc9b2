"""The page's server, asked as browsers, other sites and other people's programs would."""

from __future__ import annotations

import dataclasses
import http.client
import json
import socket
import threading
from argparse import Namespace
from array import array
from collections.abc import Iterator
from email.message import Message
from math import sin, tau
from pathlib import Path
from typing import Any

import pytest

from assistant.bench.session import Bench, view_of
from assistant.commands import page_options
from assistant.engine.engine import Refuse, advance
from assistant.engine.events import (
    Command,
    CommandGiven,
    Event,
    Gesture,
    PartScrapped,
    PedalUsed,
    SizeGiven,
)
from assistant.engine.hears import Hears
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.page.access import KEY_FILE, Access, kept_key
from assistant.page.display import PageDisplay, Screens, of_the_meter
from assistant.page.open_page import code
from assistant.page.server import MOST_BYTES, MOST_READERS
from tests.page.browser import programme

pytestmark = pytest.mark.live

WORK = programme()
ASKED = view_of(WORK, State(step=Step.LOCK), "Lock the spindle.")
LATER = view_of(WORK, State(step=Step.GUARD, locked=True), "Guard closed?")


class Posted:
    """What the page posts to the session."""

    def __init__(self) -> None:
        self.events: list[Event] = []

    def __call__(self, event: Event) -> None:
        self.events.append(event)


@pytest.fixture
def posted() -> Posted:
    return Posted()


@pytest.fixture
def page(posted: Posted) -> Iterator[PageDisplay]:
    display = PageDisplay(0)
    display.start(posted)
    display.expect(frozenset({Command.LOST_COUNT, Command.LOCKED}))
    display.show(ASKED)
    yield display
    display.close()


def ask(
    page: PageDisplay, path: str, method: str = "GET", body: str = "", **headers: str
) -> tuple[int, dict[str, str], str]:
    port = page._server.server_address[1]
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    connection.request(method, path, body or None, named)
    answer = connection.getresponse()
    text = answer.read().decode()
    connection.close()
    return answer.status, dict(answer.headers), text


def stream(page: PageDisplay, **headers: str) -> tuple[http.client.HTTPConnection, Any]:
    connection = http.client.HTTPConnection("127.0.0.1", page._server.server_address[1], timeout=60)
    connection.request("GET", "/events", headers=headers)
    return connection, connection.getresponse()


def next_event(answer: Any, kind: str) -> dict[str, Any]:
    """The data of the next event of this kind."""
    name = ""
    while line := answer.readline().decode():
        if line.startswith("event: "):
            name = line[7:].strip()
        if line.startswith("data: ") and name == kind:
            found: dict[str, Any] = json.loads(line[6:])
            return found
    raise AssertionError(f"the stream ended without {kind}")


def press(page: PageDisplay, facts: dict[str, Any], **headers: str) -> int:
    token = {"token": page._access.token}
    kind = {"Content_Type": "application/json", **headers}
    return ask(page, "/press", "POST", json.dumps({**token, **facts}), **kind)[0]


def question(page: PageDisplay) -> int:
    connection, answer = stream(page)
    found = int(next_event(answer, "state")["question"])
    connection.close()
    return found


# --- what is answered


def test_the_page_brings_its_own_rules(page: PageDisplay) -> None:
    """Nothing from elsewhere is loaded, framed, kept or guessed at."""
    status, headers, text = ask(page, "/")
    assert status == 200
    policy = headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy and "unsafe" not in policy and "http" not in policy
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Cache-Control"] == "no-store"
    assert "http://" not in text.replace("http://www.w3.org/2000/svg", "")
    assert "<script src=" in text and "<style" not in text and " style=" not in text


@pytest.mark.parametrize(
    "path", ["/page.py", "/../server.py", "/..%2f..%2fetc/passwd", "//etc/passwd", "/page.css/"]
)
def test_nothing_else_is_served(page: PageDisplay, path: str) -> None:
    """Three files, the page and its stream: no path leads to any other file."""
    assert ask(page, path)[0] == 404


def test_other_methods_are_refused(page: PageDisplay) -> None:
    """Only looking and pressing."""
    for method in ("PUT", "DELETE", "OPTIONS"):
        assert ask(page, "/", method)[0] == 501


def test_a_site_that_names_itself_this_machine_gets_nothing(page: PageDisplay) -> None:
    """A foreign name in Host (DNS rebinding) is refused on loopback, for page and stream."""
    for host in ("cider.example", "cider.example:80", "127.0.0.1.example", "[", ""):
        assert ask(page, "/", Host=host)[0] == 403
        assert ask(page, "/events", Host=host)[0] == 403
    for host in ("localhost:9", "127.0.0.1", "[::1]:9"):
        assert ask(page, "/", Host=host)[0] == 200


# --- presses


def test_a_press_is_the_pedals_own_event(page: PageDisplay, posted: Posted) -> None:
    """Every gesture of the foot, with the time of the press and the page as source."""
    now = question(page)
    for gesture in Gesture:
        assert press(page, {"gesture": gesture.value, "question": now}) == 204
    assert [type(event) for event in posted.events] == [PedalUsed] * len(Gesture)
    for event, gesture in zip(posted.events, Gesture, strict=True):
        assert isinstance(event, PedalUsed)
        assert (event.gesture, event.source) == (gesture, "page")
        assert event.pressed_at == event.at


class Sounding:
    """An announcer whose question began to sound at a known time."""

    def __init__(self, at: float) -> None:
        self._at = at

    def began(self) -> float:
        return self._at


def test_a_press_on_an_older_question_is_too_soon(page: PageDisplay, posted: Posted) -> None:
    """A tablet that still shows the last question confirms nothing of the new one."""
    old = question(page)
    page.show(LATER)
    assert press(page, {"gesture": "press", "question": old}) == 204
    # Half a second ago: a press on the question itself would be taken by now.
    bench = Bench(Sounding(page._asked_at - 0.5), page, ())  # type: ignore[arg-type]
    state = State(step=Step.GUARD, locked=True)
    new, effects = advance(WORK, state, bench.timed(posted.events[0]))
    assert new == state and any(isinstance(effect, Refuse) for effect in effects)


def test_a_correction_is_asked_by_name(page: PageDisplay, posted: Posted) -> None:
    """Only what makes sense now, for the question shown, and never a confirmation."""
    now = question(page)
    assert press(page, {"command": "lost-count", "question": now}) == 204
    assert press(page, {"command": "lost-count", "question": now - 1}) == 409
    for command in ("locked", "overshot", "carry-on", "nonsense", 7, None, ["lost-count"]):
        assert press(page, {"command": command, "question": now}) == 409
    assert len(posted.events) == 1
    event = posted.events[0]
    assert isinstance(event, CommandGiven)
    assert (event.command, event.source) == (Command.LOST_COUNT, "page")


def test_a_figure_and_the_end_of_a_part_only_when_they_are_asked_for(
    page: PageDisplay, posted: Posted
) -> None:
    """A size or the number of a cut, and scrap, each where the session takes it; a comma is a
    point; nothing that is no short text is passed on."""
    now = question(page)
    for act in ("figure", "scrap"):
        assert press(page, {"act": act, "figure": "7", "question": now}) == 409
    page.show(dataclasses.replace(LATER, phase="measure", acts=("figure", "scrap")))
    asked = question(page)
    assert press(page, {"act": "figure", "figure": " 24,05 ", "question": asked}) == 204
    assert press(page, {"act": "scrap", "question": asked}) == 204
    for figure in ("", "  ", "9" * 21, 7, None, ["7"]):
        assert press(page, {"act": "figure", "figure": figure, "question": asked}) == 409
    assert press(page, {"act": "scrap", "question": now}) == 409
    assert press(page, {"act": "leave", "question": asked}) == 409
    size, scrap = posted.events
    assert isinstance(size, SizeGiven) and (size.size, size.source) == ("24.05", "page")
    assert isinstance(scrap, PartScrapped) and scrap.source == "page"


def test_no_other_site_can_press(page: PageDisplay, posted: Posted) -> None:
    """Without the page's own token, from a foreign origin, or as a plain form: refused."""
    good = {"gesture": "press", "question": question(page)}
    for token in ("", "x", "é", None, 5, [], page._access.token + "x"):
        assert press(page, {**good, "token": token}) == 403
    assert press(page, good, Origin="http://cider.example") == 403
    assert press(page, good, Origin="null") == 403
    assert press(page, good, Sec_Fetch_Site="cross-site") == 403
    assert press(page, good, Host="cider.example") == 403
    for kind in ("text/plain", "application/x-www-form-urlencoded", ""):
        assert press(page, good, Content_Type=kind) == 400
    assert posted.events == []


@pytest.mark.parametrize("body", ["", "[]", "7", "{", '{"a":', "\xff", "x" * (MOST_BYTES + 1)])
def test_a_press_that_is_none_is_refused(page: PageDisplay, posted: Posted, body: str) -> None:
    """Bad JSON, other JSON and too much of it: refused, and the page lives on."""
    assert ask(page, "/press", "POST", body, Content_Type="application/json")[0] == 400
    assert posted.events == [] and ask(page, "/")[0] == 200


# --- the shop's network


def test_the_network_needs_the_key(tmp_path: Path) -> None:
    """Without the key neither page nor stream; with it a cookie, and the key leaves the address."""
    display = PageDisplay(0, kept_key(tmp_path / "page.key"), "127.0.0.1")
    try:
        display.show(ASKED)
        key = display._access.key
        assert key in display.address
        for path in ("/", "/events", "/?key=", "/?key=wrong", f"/?key={key}x"):
            assert ask(display, path)[0] == 403
            assert ask(display, path, Cookie="tallyhand=wrong")[0] == 403
        status, headers, _ = ask(display, f"/?key={key}")
        assert status == 303 and headers["Location"] == "/"
        for part in ("HttpOnly", "SameSite=Strict"):
            assert part in headers["Set-Cookie"]
        cookie = headers["Set-Cookie"].split(";")[0]
        assert ask(display, "/", Cookie=cookie)[0] == 200
        connection, answer = stream(display, Cookie=cookie)
        assert next_event(answer, "state")["phase"] == "lock"
        connection.close()
        assert press(display, {"gesture": "press"}) == 403
    finally:
        display.close()


def test_a_cookie_ends_with_its_job(tmp_path: Path) -> None:
    """It holds no key, counts for a job that was resumed, and for no other job."""
    key = kept_key(tmp_path / "page.key")
    first, resumed, other = (Access(key, job) for job in ("pinion", "pinion", "collar"))
    cookie = first.cookie_for(key)
    assert cookie is not None and key not in cookie
    assert "Max-Age" not in cookie and "Expires" not in cookie
    headers = Message()
    headers["Cookie"] = cookie.split(";")[0]
    assert first.may_look(headers) and resumed.may_look(headers)
    assert not other.may_look(headers) and not Access("another key", "pinion").may_look(headers)


def test_a_new_key_voids_the_old_code(tmp_path: Path) -> None:
    """`--new-key`: what was scanned before, or written down, opens nothing any more."""
    key = kept_key(tmp_path / KEY_FILE)
    page_options.renew_key(Namespace(new_key=False), tmp_path)
    assert kept_key(tmp_path / KEY_FILE) == key
    page_options.renew_key(Namespace(new_key=True), tmp_path)
    assert kept_key(tmp_path / KEY_FILE) != key


def test_only_the_address_that_was_chosen_is_served() -> None:
    """A machine may stand on two networks: the other one gets no answer."""
    display = PageDisplay(0, "k" * 24, "127.0.0.2")
    try:
        host, port = display._server.server_address[:2]
        assert host == "127.0.0.2" and display.address.startswith(f"http://127.0.0.2:{port}/")
        socket.create_connection(("127.0.0.2", port), 20).close()
        with pytest.raises(ConnectionRefusedError):
            socket.create_connection(("127.0.0.3", port), 20)
    finally:
        display.close()


def test_the_key_is_kept_for_its_owner_alone(tmp_path: Path) -> None:
    """A tablet stays known from session to session; nobody else on the machine can read the key."""
    file = tmp_path / "deep" / "page.key"
    key = kept_key(file)
    assert kept_key(file) == key and file.stat().st_mode & 0o777 == 0o600
    file.write_text("short")
    assert kept_key(file) not in ("short", key)
    assert len(kept_key(Path("/proc/no/such/page.key"))) >= 20


def test_the_address_is_shown_as_a_code() -> None:
    """A QR code of blocks where they can be written, and nothing where not."""
    import io

    drawn = code("http://192.0.2.7:8437/?key=abc", io.TextIOWrapper(io.BytesIO(), "utf-8"))
    assert len(drawn.splitlines()) > 10 and "▀" in drawn
    assert code("http://192.0.2.7/", io.TextIOWrapper(io.BytesIO(), "ascii")) == ""


# --- slow, many, dying


def test_readers_that_never_read_hold_up_nobody(page: PageDisplay) -> None:
    """The session shows thousands of views while every seat is taken by a stalled reader."""
    place = ("127.0.0.1", page._server.server_address[1])
    stalled = []
    for _ in range(MOST_READERS + 8):
        reader = socket.create_connection(place, 20)
        reader.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 1024)
        reader.sendall(b"GET /events HTTP/1.1\r\nHost: localhost\r\n\r\n")
        stalled.append(reader)
    shown = threading.Thread(target=lambda: [page.show(ASKED) for _ in range(3000)])
    shown.start()
    shown.join(60)
    assert not shown.is_alive()
    for reader in stalled:
        reader.close()


def test_a_late_reader_gets_the_newest_state_only(page: PageDisplay) -> None:
    """What came between is dropped: the page is never behind."""
    page.show(LATER)
    connection, answer = stream(page)
    assert next_event(answer, "state")["phase"] == "guard"
    page.level(0.5)
    assert next_event(answer, "level") == {"level": 0.5}
    connection.close()


def test_whether_it_listens_is_told(page: PageDisplay) -> None:
    """A reader that comes late too; where the ear is away it does not, whatever it did before."""
    page.hears(Hears.SPEAKING)
    connection, answer = stream(page)
    told = next_event(answer, "hears")
    assert told == {"state": "speaking", "words": "Speaking: I hear nothing"}
    page.hears(Hears.LISTENING)
    assert next_event(answer, "hears")["state"] == "listening"
    page.show(dataclasses.replace(ASKED, deaf=True))
    assert next_event(answer, "hears") == {"state": "off", "words": "Not listening"}
    page.show(ASKED)
    assert next_event(answer, "hears")["state"] == "listening"
    connection.close()


def test_the_end_is_told(page: PageDisplay) -> None:
    """A page hears that the session closed, and how to go on, before the line goes dead."""
    connection, answer = stream(page)
    next_event(answer, "state")
    page.close()
    assert "resume" in next_event(answer, "over")["why"]
    assert answer.read().startswith(b"\n")
    connection.close()


class Broken:
    """A display that dies at the first view."""

    def show(self, view: object) -> None:
        raise RuntimeError("no ink")

    def close(self) -> None:
        raise RuntimeError("no lid")


def test_a_display_that_dies_leaves_the_others(page: PageDisplay) -> None:
    """The session goes on and every other screen with it."""
    both = Screens([Broken(), page])
    both.show(LATER)
    both.show(ASKED)
    connection, answer = stream(page)
    assert next_event(answer, "state")["phase"] == "lock"
    connection.close()
    Screens([Broken()]).close()


def test_the_level_is_that_of_the_sound(page: PageDisplay) -> None:
    """Silence is nothing, a full sine nearly all, half the swing 6 dB less."""
    tone = array("h", (round(32767 * sin(tau * n / 40)) for n in range(4000)))
    half = array("h", (sample // 2 for sample in tone))
    assert of_the_meter(b"") == of_the_meter(bytes(400)) == 0
    assert of_the_meter(tone.tobytes()) == pytest.approx(1 - 3.01 / 60, abs=0.001)
    assert of_the_meter(half.tobytes()) == pytest.approx(1 - 9.03 / 60, abs=0.001)
    connection, answer = stream(page)
    next_event(answer, "state")
    page.hear(tone.tobytes())
    assert next_event(answer, "level")["level"] == 0.95
    connection.close()
