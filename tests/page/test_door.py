"""Strangers at the door of the page: however many and however slow, the tablet gets through."""

from __future__ import annotations

import socket
import time
from collections.abc import Iterator

import pytest

from assistant.engine.events import Event
from assistant.page import server as page_server
from assistant.page.display import PageDisplay
from assistant.page.door import ROOM, ROOM_EACH, Door, InTime
from tests.page.hostile import HALF_A_REQUEST, crowd
from tests.page.test_server import ASKED, ask, next_event, press, question, stream


@pytest.fixture
def posted() -> list[Event]:
    return []


@pytest.fixture
def page(posted: list[Event]) -> Iterator[PageDisplay]:
    display = PageDisplay(0)
    display.start(posted.append)
    display.show(ASKED)
    yield display
    display.close()


def port_of(page: PageDisplay) -> int:
    return int(page._server.server_address[1])


def test_slow_strangers_shut_nobody_out(page: PageDisplay, posted: list[Event]) -> None:
    """Three hundred half requests stand open: every look is served and every press arrives."""
    asked = question(page)
    with crowd(port_of(page), 300):
        for n in range(1, 40):
            assert ask(page, "/")[0] == 200
            assert press(page, {"gesture": "press", "question": asked}) == 204
            assert len(posted) == n


def test_strangers_at_ones_own_address(page: PageDisplay, posted: list[Event]) -> None:
    """Also where they share the tablet's own address: the oldest of them has to go."""
    asked = question(page)
    strangers = []
    for _ in range(3 * ROOM_EACH):
        stranger = socket.create_connection(("127.0.0.1", port_of(page)), 20)
        stranger.sendall(HALF_A_REQUEST)
        strangers.append(stranger)
    assert press(page, {"gesture": "press", "question": asked}) == 204
    assert len(posted) == 1
    for stranger in strangers:
        stranger.close()


def test_who_follows_the_page_is_never_shown_out(page: PageDisplay) -> None:
    """The seats are kept for those who may look: the door's crowd can't reach them."""
    connection, answer = stream(page)
    next_event(answer, "state")
    with crowd(port_of(page), 2 * ROOM):
        page.level(0.25)
        assert next_event(answer, "level") == {"level": 0.25}
    connection.close()


def test_a_request_must_be_whole_in_time(
    page: PageDisplay, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A letter now and then keeps no place: the time is that of the whole request."""
    monkeypatch.setattr(page_server, "InTime", lambda connection: InTime(connection, 0.4))
    reader = socket.create_connection(("127.0.0.1", port_of(page)), 20)
    reader.settimeout(0.05)
    reader.sendall(HALF_A_REQUEST)
    ended = time.monotonic() + 60
    while time.monotonic() < ended:
        try:
            reader.sendall(b"x")
            if reader.recv(1) == b"":
                break
        except TimeoutError:
            continue
        except OSError:
            break
    else:
        raise AssertionError("it was still waited for")
    reader.close()


@pytest.mark.parametrize(
    "body",
    [
        "[" * 2000,
        '{"token": ' + "[" * 1900,
        '{"gesture": ["press"]}',
        '{"gesture": {"press": 1}}',
        '{"gesture": 7}',
        '{"command": ["lost-count"]}',
        '{"command": {}}',
    ],
)
def test_a_body_of_the_wrong_kind_gets_an_answer(
    page: PageDisplay, posted: list[Event], body: str
) -> None:
    """Deep, or a list where a word belongs: refused in words, never a broken connection."""
    body = body.replace("{", f'{{"token": "{page._access.token}", ', 1) if "}" in body else body
    body = body.replace(", }", "}")
    status, _, text = ask(page, "/press", "POST", body, Content_Type="application/json")
    assert status in (400, 409) and text.strip()
    assert posted == []


@pytest.mark.parametrize("path", ["//[", "//[x", "/?key=[", "/%"])
def test_a_path_that_is_none_gets_an_answer(page: PageDisplay, path: str) -> None:
    """Nothing there is a fine answer."""
    assert ask(page, path)[0] in (200, 404)


def pair() -> tuple[socket.socket, socket.socket]:
    return socket.socketpair()


def shown_out(end: socket.socket) -> bool:
    end.setblocking(False)
    try:
        return end.recv(1) == b""
    except BlockingIOError:
        return False


def test_the_oldest_of_the_greediest_goes() -> None:
    """One of a crowd, never the one from an address of which only one is there."""
    door = Door(room=4, each=3)
    quiet, theirs = pair(), [pair() for _ in range(4)]
    door.enter(quiet[0], "quiet")
    for each in theirs[:3]:
        door.enter(each[0], "crowd")
    assert not any(shown_out(far) for _, far in (quiet, *theirs))
    door.enter(theirs[3][0], "crowd")
    assert [shown_out(far) for _, far in theirs] == [True, False, False, False]
    other = pair()
    door.enter(other[0], "other")
    assert [shown_out(far) for _, far in theirs[1:]] == [True, False, False]
    assert not shown_out(quiet[1]) and not shown_out(other[1])
    for near, far in (quiet, other, *theirs):
        near.close()
        far.close()


def test_who_left_the_door_makes_room() -> None:
    """Twice shown out or twice gone is counted once."""
    door = Door(room=2, each=2)
    ends = [pair() for _ in range(4)]
    door.enter(ends[0][0], "a")
    door.leave(ends[0][0], "a")
    door.leave(ends[0][0], "a")
    door.enter(ends[1][0], "a")
    door.enter(ends[2][0], "b")
    assert not any(shown_out(far) for _, far in ends)
    door.enter(ends[3][0], "c")
    assert [shown_out(far) for _, far in ends[1:]].count(True) == 1
    for near, far in ends:
        near.close()
        far.close()
