"""Leaflet's own text, taken from the package that carries it, made fit to stand inside a page."""

from __future__ import annotations

import re
from dataclasses import dataclass
from importlib import metadata, resources

_PACKAGE = "js_lib_leaflet"
_DISTRIBUTION = "django-js-lib-leaflet"


@dataclass(frozen=True)
class Leaflet:
    """Script and style without a reference to any other file, the licence that must go with them, and the version."""

    script: str
    style: str
    licence: str
    version: str


def leaflet() -> Leaflet:
    """Return Leaflet as installed. Raises FileNotFoundError or PackageNotFoundError where it is not."""
    folder = resources.files(_PACKAGE).joinpath("static", _PACKAGE)
    script = folder.joinpath("leaflet.js").read_text(encoding="utf-8")
    style = folder.joinpath("leaflet.css").read_text(encoding="utf-8")
    distribution = metadata.distribution(_DISTRIBUTION)
    licence = distribution.read_text("LICENSE")
    if licence is None:
        raise FileNotFoundError(f"{_DISTRIBUTION} carries no LICENSE file; install it again")
    return Leaflet(
        script=re.sub(r"\n//# sourceMappingURL=\S*", "", script),
        style=re.sub(r"[\w-]+:\s*url\([^)]*\);?", "", style),  # pictures of controls and pins that the map has not
        licence=licence,
        version=".".join(distribution.version.split(".")[:3]),
    )
