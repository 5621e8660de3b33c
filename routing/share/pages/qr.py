"""QR codes for the printed sheet: a stop's place, to be read by any phone's camera.

segno is imported at the top: only what draws a code comes here.
"""

from __future__ import annotations

import segno

from routing.share.safety.positions import geo_uri
from routing.share.safety.safe import plain_name

QUIET_MODULES = 4
"""White margin that a reader needs around the code. Source: ISO/IEC 18004 (quiet zone of 4 modules)."""


def place_code(latitude: float, longitude: float, name: str) -> str:
    """Return an inline SVG with the `geo:` link of a place; `name` is said to those who cannot see it."""
    return _drawn(geo_uri(latitude, longitude), f"QR code with the position of {plain_name(name)}")


def _drawn(content: str, title: str) -> str:
    """Return the code as SVG, black on white whatever the page's colours; at level M some 15 % may be lost."""
    code = segno.make(content, error="m", boost_error=False, micro=False)
    svg = code.svg_inline(border=QUIET_MODULES, dark="#000", light="#fff", omitsize=True, title=title)
    return svg.replace("<svg ", '<svg role="img" ', 1)
