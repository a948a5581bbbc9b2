"""A Windows console draws what other terminals do once it is asked to, from Windows 10 on.

(Microsoft's page on the console's virtual terminal sequences; simulated here, never seen.)
"""

from __future__ import annotations

import ctypes
import importlib
from typing import Any, TextIO

CODES = 0x0004
"""ENABLE_VIRTUAL_TERMINAL_PROCESSING, of SetConsoleMode. It is left on: it hurts nobody."""


def takes_codes(out: TextIO) -> bool:
    """Asks for it; false where the console is too old, or `out` is none."""
    kernel: Any = ctypes.windll.kernel32  # type: ignore[attr-defined,unused-ignore]
    try:
        handle = ctypes.c_void_p(importlib.import_module("msvcrt").get_osfhandle(out.fileno()))
    except (OSError, ValueError):
        return False
    mode = ctypes.c_ulong()
    if not kernel.GetConsoleMode(handle, ctypes.byref(mode)):
        return False
    return bool(kernel.SetConsoleMode(handle, mode.value | CODES))
