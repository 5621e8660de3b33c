"""What stands before every route: the right address, the right origin, the cookie, sizes, and headers on what goes out.

Any page that the browser has open may send requests to this machine, and any program on it may too. So a request counts
only with the desk's own `Host` (else another name could be made to lead here), from the desk's own pages (`Origin` and
`Sec-Fetch-Site`), and with the cookie, which no other site can have sent along.

Sources: RFC 9110, 7.2 and 15.5.20 (Host, 421); the Fetch Standard (Origin); W3C Fetch Metadata Request Headers;
RFC 6265bis (SameSite); W3C Content Security Policy Level 3.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from routing.desk.access import ENTRANCE, Access

LARGEST_BODY = 8_000_000
"""Bytes of one request: a block of some thousand lines, or a helper's report, stays far below."""

POLICY = "; ".join(
    (
        "default-src 'none'",
        *("script-src 'self'", "style-src 'self'", "img-src 'self' data:", "connect-src 'self'", "frame-src 'self'"),
        *("form-action 'self'", "base-uri 'none'", "frame-ancestors 'self'"),
    )
)
HEADERS: Mapping[str, str] = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "SAMEORIGIN",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=(), payment=(), usb=()",
    "cache-control": "no-store",
}
"""On every answer, unless a view gave one of its own."""

READING, CHANGING = frozenset({"GET", "HEAD"}), frozenset({"POST"})

type Refusal = tuple[int, str]


class _TooLargeError(Exception):
    """A body grew past `LARGEST_BODY` while it came in."""


@dataclass(frozen=True)
class Guard:
    """The desk's routes behind its guard."""

    app: ASGIApp
    access: Access

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or refuse it."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        outward = _Outward(send)
        refused = refusal(self.access, scope["method"], scope["path"], Headers(scope=scope))
        if refused is None:
            try:
                await self.app(scope, _Bounded(receive), outward)
            except _TooLargeError:
                if outward.begun:
                    raise
                refused = _TOO_LARGE
        if refused is not None:
            status, words = refused
            await PlainTextResponse(words + "\n", status)(scope, receive, outward)


_TOO_LARGE = (413, f"This is larger than {LARGEST_BODY // 1_000_000} million bytes; send less at once.")
_REOPEN = "Open the desk again with the command outyard: its address works once."


def refusal(access: Access, method: str, path: str, headers: Headers) -> Refusal | None:
    """Return the status and the words that a request is refused with, None where it may come in."""
    if headers.getlist("host") != [access.host]:
        return 421, "This address is not the desk's."
    if method not in READING | CHANGING:
        return 405, "The desk knows no such request."
    if path == ENTRANCE and method in READING:  # reached from a file, which counts as another site, without a cookie
        return None
    return _foreign(access, method, headers) or _unknown(access, headers) or _unfit(method, headers)


def _foreign(access: Access, method: str, headers: Headers) -> Refusal | None:
    """Refuse what another page sent: a page on another port of this machine too, whose requests carry the cookie."""
    sites: Sequence[str] = headers.getlist("sec-fetch-site")
    own = {"same-origin"} if method in CHANGING else {"same-origin", "none"}
    origins = headers.getlist("origin")
    if not set(sites) <= own or (origins and origins != [access.origin]):
        return 403, "Another page asked for this."
    if method in CHANGING and not origins:
        return 403, "The desk's own pages alone may change something."
    return None


def _unknown(access: Access, headers: Headers) -> Refusal | None:
    return None if access.knows("; ".join(headers.getlist("cookie"))) else (401, _REOPEN)


def _unfit(method: str, headers: Headers) -> Refusal | None:
    """Refuse a change that is not JSON (which no form of another page can send unasked), and what is too large."""
    if method not in CHANGING:
        return None
    if headers.get("content-type", "").partition(";")[0].strip() != "application/json":
        return 415, "The desk takes JSON alone."
    length = headers.get("content-length", "0")
    if not length.isascii() or not length.isdigit():
        return 400, "This request has no length that can be."
    return _TOO_LARGE if int(length[:12]) > LARGEST_BODY else None


class _Bounded:
    """What comes in, up to `LARGEST_BODY`, whatever length was told."""

    def __init__(self, receive: Receive) -> None:
        self._receive, self._taken = receive, 0

    async def __call__(self) -> Message:
        message = await self._receive()
        self._taken += len(message.get("body", b""))
        if self._taken > LARGEST_BODY:
            raise _TooLargeError
        return message


class _Outward:
    """What goes out, with the headers of every answer."""

    def __init__(self, send: Send) -> None:
        self._send, self.begun = send, False

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.begun = True
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers.setdefault(name, value)
        await self._send(message)
