"""A page that shows nothing until its passphrase is typed: encrypted here, opened by the reader's browser alone.

What is inside is compressed, filled up to a size class and encrypted with AES-256-GCM; the key comes from the
passphrase by PBKDF2 with SHA-256, the strongest such function that browsers offer today. Nothing of the inside stands
in the open part.
cryptography is imported at the top: only the lock comes here.
"""

from __future__ import annotations

import base64
import json
import secrets
import zlib
from html.parser import HTMLParser

from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.pbkdf2 import PBKDF2HMAC

from routing.share.pages.inline import environment, template_text
from routing.share.safety.passphrase import sound_passphrase
from routing.share.safety.trusted import trusted

ROUNDS = 600_000
"""Rounds of PBKDF2-HMAC-SHA-256. Source: OWASP Password Storage Cheat Sheet, read in a copy of 2023."""

SALT_BYTES, NONCE_BYTES, KEY_BYTES = 16, 12, 32
"""Source, from memory: NIST SP 800-132 (salt of 128 bits or more), SP 800-38D (96 bits for GCM), FIPS 197 (256)."""

SMALLEST_CLASS = 65_536
"""Bytes of the smallest size class; each further one is twice the one before. Our own choice, no source."""

LENGTH_BYTES = 4


def lock_page(html: str, passphrase: str) -> str:
    """Return a page that asks for the passphrase and then becomes `html`, with its own policy still in force.

    Every call gives other bytes, since salt, nonce and key are fresh. The length of the result is one of few.
    Raises AskedError for a passphrase that is too weak, UnicodeEncodeError for a page that is not Unicode text.
    """
    words = sound_passphrase(passphrase)
    mark = secrets.token_urlsafe(18)
    salt, nonce = secrets.token_bytes(SALT_BYTES), secrets.token_bytes(NONCE_BYTES)
    key = PBKDF2HMAC(algorithm=SHA256(), length=KEY_BYTES, salt=salt, iterations=ROUNDS).derive(words.encode())
    content = AESGCM(key).encrypt(nonce, _filled(_allowed(html, mark)), None)
    locked = {"rounds": ROUNDS, "salt": _base64(salt), "nonce": _base64(nonce), "content": _base64(content)}
    return (
        environment()
        .get_template("locked.html")
        .render(
            mark=mark,
            policy=_policy(html, mark),
            style=trusted(template_text("tokens.css") + template_text("locked.css")),  # our own file
            script=trusted(template_text("second_store.js") + template_text("locked.js")),  # our own files
            locked=trusted(json.dumps(locked)),  # base64 and one number
        )
    )


def _base64(content: bytes) -> str:
    return base64.b64encode(content).decode()


def _filled(html: str) -> bytes:
    """Return length, compressed page and zeros up to the size class."""
    packed = zlib.compress(html.encode(), 9)
    size = SMALLEST_CLASS
    while size < LENGTH_BYTES + len(packed):
        size *= 2
    return (len(packed).to_bytes(LENGTH_BYTES, "big") + packed).ljust(size, b"\0")


def _policy(html: str, mark: str) -> str:
    """Return the policy of the open part, which stays in force once the page is open, beside the page's own.

    Pictures from other hosts are let through only where the page itself asks for leave to show some.
    Source: W3C Content Security Policy Level 3, nonce sources; several policies all apply.
    """
    pictures = "img-src data: blob:" + (" https:" if _OwnPolicy.asks_for_hosts(html) else "")
    allowed = (f"script-src 'nonce-{mark}'", f"style-src 'nonce-{mark}'", "worker-src blob:", pictures)
    return "; ".join(("default-src 'none'", *allowed, "base-uri 'none'", "form-action 'none'"))


class _OwnPolicy(HTMLParser):
    """Finds the page's own policy on pictures."""

    def __init__(self) -> None:
        super().__init__()
        self.pictures: list[str] = []

    @classmethod
    def asks_for_hosts(cls, html: str) -> bool:
        """Whether the page's own policy lets pictures come from `https:` hosts."""
        reader = cls()
        reader.feed(html)
        reader.close()
        return any(source.startswith("https:") for source in reader.pictures)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "meta" and given.get("http-equiv", "").lower() == "content-security-policy":
            for part in given.get("content", "").split(";"):
                name, *sources = part.split()
                self.pictures += sources if name == "img-src" else []


class _Marker(HTMLParser):
    """Finds where each script and style element's tag name ends, as (line, column)."""

    def __init__(self) -> None:
        super().__init__()
        self.places: list[tuple[int, int]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        del attrs  # part of the signature
        if tag in {"script", "style"}:
            line, column = self.getpos()
            self.places.append((line, column + 1 + len(tag)))


def _allowed(html: str, mark: str) -> str:
    """Return the page with the open part's mark on each of its scripts and styles, and nothing else changed."""
    marker = _Marker()
    marker.feed(html)
    marker.close()
    lines = html.split("\n")
    for line, column in reversed(marker.places):
        text = lines[line - 1]
        lines[line - 1] = f'{text[:column]} nonce="{mark}"{text[column:]}'
    return "\n".join(lines)
