"""Who may look and who may press: loopback as it is, the shop's network by a key only.

On loopback the Host header is checked, so that a web site that points its own name at this
machine gets nothing. On the network every request but the bare style and script needs a
cookie, which a tablet gets once for each session by the key in the QR code. The key itself is
in no cookie, and leaves the address line at once. Presses need a token of their own besides,
which no other site can read.
"""

from __future__ import annotations

import hmac
import os
import secrets
from email.message import Message
from http.cookies import CookieError, SimpleCookie
from pathlib import Path
from urllib.parse import urlsplit

COOKIE = "tallyhand"
KEY_FILE = "page.key"  # beside the journals
_OWN_NAMES = {"127.0.0.1", "localhost", "::1"}
Headers = Message  # what a request brings; names in any case


class Access:
    """The rules for one server. `key` is "" on loopback, where none is asked for.

    `session` names the job: a cookie counts for that job alone, also after it was resumed.
    """

    def __init__(self, key: str = "", session: str = "") -> None:
        self.key = key
        self._cookie = hmac.new(key.encode(), session.encode(), "sha256").hexdigest()
        self.token = secrets.token_urlsafe(18)

    def may_look(self, headers: Headers) -> bool:
        """True when the one who asks is on this machine, or holds the key."""
        if self.key:
            return same(_cookie(headers), self._cookie)
        return _host_name(headers) in _OWN_NAMES

    def may_press(self, headers: Headers, token: object) -> bool:
        """The same, from our own page and from no other site."""
        return (
            self.may_look(headers)
            and isinstance(token, str)
            and same(token, self.token)
            and _from_own_page(headers)
        )

    def cookie_for(self, key: str) -> str | None:
        """The Set-Cookie value for one who brings the right key, else None."""
        if not self.key or not same(key, self.key):
            return None
        return f"{COOKIE}={self._cookie}; Path=/; HttpOnly; SameSite=Strict"


def same(given: str, right: str) -> bool:
    """Compares in a time that tells nothing about how much of it was right."""
    return hmac.compare_digest(given.encode("utf-8", "replace"), right.encode())


def _cookie(headers: Headers) -> str:
    try:
        found = SimpleCookie(headers.get("Cookie", "")).get(COOKIE)
    except CookieError:
        return ""
    return found.value if found else ""


def _host_name(headers: Headers) -> str:
    try:
        return urlsplit(f"//{headers.get('Host', '')}").hostname or ""
    except ValueError:
        return ""


def _from_own_page(headers: Headers) -> bool:
    """Browsers name the page that posts: it must be ours. Sec-Fetch-Site is newer than Origin."""
    origin, host = headers.get("Origin", ""), headers.get("Host", "")
    if headers.get("Sec-Fetch-Site", "same-origin") != "same-origin":
        return False
    return not origin or origin == f"http://{host}"


def kept_key(file: Path) -> str:
    """The key of this bench, made once and kept for its owner alone, so that the code on the
    wall stays good.

    Where it can't be kept a new one serves this session. Remove the file for a new one.
    """
    try:
        key = file.read_text("ascii").strip()
        if len(key) >= 20:
            return key
    except (OSError, ValueError):
        pass
    key = secrets.token_urlsafe(18)
    try:
        file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        file.unlink(missing_ok=True)
        handle = os.open(file, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
        with os.fdopen(handle, "w", encoding="ascii") as out:
            out.write(key)
    except OSError:
        return key
    return key
