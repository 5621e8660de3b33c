"""The service that may be asked where a place is, by its name, as farm.toml gives it."""

from __future__ import annotations

from urllib.parse import urlsplit

from pydantic import Field

from routing.farm.basics import Frozen


class Finder(Frozen):
    """A service that answers as Nominatim does."""

    url: str
    terms: str
    """What it asks of those who use it."""
    seconds: float = Field(gt=0)
    """How long an answer is waited for."""

    @property
    def host(self) -> str:
        """The name of the service's computer."""
        return urlsplit(self.url).netloc
