"""Who may come in: one address, a key that is used once, and the cookie that takes its place."""

from __future__ import annotations

import hmac
import secrets
from threading import Lock

ENTRANCE = "/enter"
"""The only page that is given without the cookie; it takes the key."""
_BYTES = 32


class Access:
    """The address of one desk, its key and its cookie, all new each time that a desk is opened."""

    def __init__(self, port: int) -> None:
        self.host = f"127.0.0.1:{port}"
        self.origin = f"http://{self.host}"
        self.cookie_name = f"desk-{port}"  # a browser sends the cookies of a host to all of its ports
        self._cookie = secrets.token_urlsafe(_BYTES)
        self._key = secrets.token_urlsafe(_BYTES)
        self._used = False
        self._taking = Lock()

    @property
    def entrance(self) -> str:
        """The address that opens the desk, once."""
        return f"{self.origin}{ENTRANCE}?key={self._key}"

    def take_key(self, key: str) -> str | None:
        """Return the `Set-Cookie` that lets a browser in, the first time that the key is given; else None."""
        with self._taking:
            if self._used or not _same(key, self._key):
                return None
            self._used = True
        return f"{self.cookie_name}={self._cookie}; Path=/; HttpOnly; SameSite=Strict"

    def knows(self, cookies: str) -> bool:
        """Return whether the `Cookie` of a request holds this desk's."""
        pairs = (pair.strip().partition("=") for pair in cookies.split(";"))
        return any(name == self.cookie_name and _same(value, self._cookie) for name, _, value in pairs)


def _same(one: str, other: str) -> bool:
    return hmac.compare_digest(one.encode(), other.encode())
