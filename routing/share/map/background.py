"""The background map: pictures from one host, an extra that is asked for only when the reader taps the button.

Source: OpenStreetMap Foundation, tile usage policy: pages must send a referrer and show the credit. A page opened
from a file has no address to send, so it is told why not, and asks for nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlsplit


@dataclass(frozen=True)
class Tiles:
    """Where background pictures come from; `url` has `{z}`, `{x}` and `{y}`, https only."""

    url: str
    credit: str
    deepest: int

    @property
    def host(self) -> str:
        """The one host that the page's policy lets in.

        Raises ValueError where the address is not https with a plain host.
        """
        parts = urlsplit(self.url)
        if parts.scheme != "https" or not parts.netloc or "{" in parts.netloc:
            raise ValueError(f"{self.url!r} is not an https address with a plain host")
        return f"https://{parts.netloc}"

    def given(self) -> dict[str, str | int]:
        """Return what the page's script knows of it, the sentences included."""
        host = urlsplit(self.url).netloc
        return {
            "url": self.url,
            "deepest": self.deepest,
            "asking": f"Asking {host} for pictures. It learns your network address and which area you look at.",
            "failed": f"No background: {host} cannot be reached, or refuses this page. Many map servers refuse pages "
            "without an address of their own. The drawing is complete without it.",
            "from_file": "No background here: this page was opened from a file, and map servers refuse pages that have "
            "no web address. Put the page on a web server to see one. The drawing is complete without it.",
        }


OPENSTREETMAP = Tiles("https://tile.openstreetmap.org/{z}/{x}/{y}.png", "© OpenStreetMap contributors", 19)
"""Source: the address and the credit as the tile usage policy and the copyright page of OpenStreetMap give them."""
