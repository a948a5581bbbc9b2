"""Keys as the screen's keyboard gives them: under X by its RECORD extension, on Windows and macOS
through pynput."""

from __future__ import annotations

import contextlib
import importlib
import logging
import os
import sys
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from assistant.errors import Reason
from assistant.files.packages_here import not_here, to_install_python


@dataclass(frozen=True, slots=True)
class Key:
    """`symbols` are what presses of the same key share: its key symbol, and under X the one with
    shift too. `name` is for people; `char` is what it types, or nothing."""

    symbols: tuple[int, ...]
    name: str
    char: str = ""


Edge = tuple[bool, Key]  # down or up


def start_listener(put: Callable[[Edge], None]) -> tuple[Any, str]:
    """A started listener; or None, and why. It dies with the X server, without a word."""
    return listen_keys(lambda down, key: put((down, key)))


def listen_keys(put: Callable[[bool, Key], None]) -> tuple[Any, Reason]:
    """The same. `put` must not block and must not raise."""
    try:
        return (_under_x if sys.platform.startswith("linux") else _by_pynput)(put), Reason("")
    except ImportError as error:
        package = "python-xlib" if sys.platform.startswith("linux") else "pynput"
        missing = f"no screen for the pedal's key: {not_here(error)}"
        return None, Reason(missing, to_install_python(package))
    except Exception as error:  # without a screen they fail in several ways
        return None, Reason(f"no screen for the pedal's key: {_no_screen() or not_here(error)}")


def _no_screen() -> str:
    """Nothing, where the trouble is another one."""
    none = sys.platform.startswith("linux") and not os.environ.get("DISPLAY")
    return "no X display is named here (DISPLAY)" if none else ""


def stop_listener(listener: Any) -> None:
    """Ends soon, at the latest at the next key: it is not waited for."""
    with contextlib.suppress(Exception):
        listener.stop()


# --- X: python-xlib, which is Python throughout


_NOTHING: dict[str, object] = {
    "core_requests": (0, 0), "core_replies": (0, 0), "errors": (0, 0), "delivered_events": (0, 0),
    "ext_requests": (0, 0, 0, 0), "ext_replies": (0, 0, 0, 0),
    "client_started": False, "client_died": False,
}  # fmt: skip


def _under_x(put: Callable[[bool, Key], None]) -> threading.Thread:
    listener = _Record(put)
    listener.start()
    return listener


class _Record(threading.Thread):
    """Two connections, since the one that records answers nothing else (the X Record Extension
    Protocol, X Consortium 1995). Opening raises where there is no screen."""

    def __init__(self, put: Callable[[bool, Key], None]) -> None:
        super().__init__(name="keys of the screen", daemon=True)
        self._put = put
        x = importlib.import_module("Xlib.X")
        display = importlib.import_module("Xlib.display")
        importlib.import_module("Xlib.ext.record")
        self._press, self._release = x.KeyPress, x.KeyRelease
        self._asks, self._records = display.Display(), display.Display()
        wanted = {**_NOTHING, "device_events": (x.KeyPress, x.KeyRelease)}
        everybody = importlib.import_module("Xlib.ext.record").AllClients
        self._context = self._records.record_create_context(0, [everybody], [wanted])

    def run(self) -> None:
        # A dying X server would print its traceback over the person's screen.
        with contextlib.suppress(Exception):
            self._records.record_enable_context(self._context, self._take)

    def stop(self) -> None:
        self._asks.record_disable_context(self._context)
        self._asks.flush()

    def _take(self, reply: Any) -> None:
        record = importlib.import_module("Xlib.ext.record")
        field = importlib.import_module("Xlib.protocol.rq").EventField(None)
        data = reply.data
        if reply.category != record.FromServer or reply.client_swapped:
            return
        while data:
            event, data = field.parse_binary_value(data, self._records.display, None, None)
            if event.type in (self._press, self._release):
                self._put(event.type == self._press, self._key(event.detail))

    def _key(self, code: int) -> Key:
        found = (self._asks.keycode_to_keysym(code, shifted) for shifted in (0, 1))
        symbols = tuple(dict.fromkeys(symbol for symbol in found if symbol)) or (0,)
        return Key(symbols, symbol_name(symbols[0]), symbol_char(symbols[0]))


def symbol_char(symbol: int) -> str:
    """What a key symbol types: Latin 1 and Unicode by rule (X Window System Protocol, appendix
    A); no other is needed to know the pedal's key again."""
    if 0x20 <= symbol <= 0x7E or 0xA0 <= symbol <= 0xFF:
        return chr(symbol)
    return chr(symbol - 0x1000000) if 0x1000100 <= symbol <= 0x110FFFF else ""


def symbol_name(symbol: int) -> str:
    """The symbol for people: f13, enter, b."""
    names = vars(importlib.import_module("Xlib.XK"))
    known = (name[3:] for name, value in names.items()
             if value == symbol and name.startswith("XK_"))  # fmt: skip
    name = next(known, "")
    char = symbol_char(symbol).strip()
    return {"Return": "enter", "KP_Enter": "kpenter"}.get(name, char or name.lower()) or (
        f"key {symbol}"
    )


# --- Windows and macOS


def _by_pynput(put: Callable[[bool, Key], None]) -> Any:
    logging.getLogger("pynput").addHandler(logging.NullHandler())
    keyboard = importlib.import_module("pynput.keyboard")
    listener = keyboard.Listener(
        on_press=lambda key: put(True, _of_pynput(key)),
        on_release=lambda key: put(False, _of_pynput(key)),
    )
    listener.daemon = True
    listener.start()
    return listener


def _of_pynput(key: Any) -> Key:
    symbol = int(getattr(getattr(key, "value", key), "vk", None) or 0)
    char = getattr(key, "char", None) or ""
    return Key((symbol,), str(getattr(key, "name", None) or char or f"key {symbol}"), char)
