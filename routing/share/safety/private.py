"""What is kept out of every shared page unless it is asked for, and what those who get a page may see."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from routing.farm.models import Farm
from routing.round import Round
from routing.share.safety.nicknames import Hiding, hidden
from routing.share.safety.safe import plain_text
from routing.travel.background import Background


@dataclass(frozen=True)
class SitePrivate:
    """What the farmer marked as private about one site; empty where there is nothing."""

    gate_code: str = ""
    phone: str = ""
    notes: str = ""

    def plain(self) -> SitePrivate:
        """Return it as it may be shown, of no great length."""
        return SitePrivate(plain_text(self.gate_code, 200), plain_text(self.phone, 100), plain_text(self.notes))


Private = Mapping[str, SitePrivate]
"""By site id. A site that is not in it shows nothing private."""


def private_of(farm: Farm) -> dict[str, SitePrivate]:
    """Return what is private of each site that has something private."""
    found = {site.id: SitePrivate(site.gate_code, site.phone, site.private_notes) for site in farm.sites}
    return {site: private for site, private in found.items() if private != SitePrivate()}


def nicknamed_private(private: Private, hiding: Hiding) -> dict[str, SitePrivate]:
    """Return `private` by the ids that sites have under nicknames, with no site's name in the notes.

    Gate codes and phone numbers stay as they are: they are what opens the gate.
    """
    return {
        hiding.ids[site]: replace(secret, notes=hiding.farmers(secret.notes))
        for site, secret in private.items()
        if site in hiding.ids
    }


@dataclass(frozen=True)
class Shared:
    """What may be shown to those who get a file: the round as they may see it, and the secrets that they may know."""

    round: Round
    private: Private
    hiding: Hiding | None = None
    """What hid the names, where they are hidden."""

    def roads(self, drawn: Background | None) -> Background | None:
        """Return the roads under a map without the names of places and roads that hold the name of a hidden site."""
        if drawn is None or self.hiding is None:
            return drawn
        names = tuple(place for place in drawn.names if not self.hiding.finder.holds(place.name))
        return replace(drawn, names=names, land=drawn.land.without_names(self.hiding.finder.holds))


def share(round_: Round, farm: Farm, *, with_private: bool = False, nicknames: bool = False) -> Shared:
    """Return the round to share: by default under its own names and with nothing private."""
    private = private_of(farm) if with_private else {}
    if nicknames:
        others = {site.id: site.name for site in farm.sites}
        hiding = Hiding.of(round_, others, farm)
        return Shared(hidden(round_, hiding), nicknamed_private(private, hiding), hiding)
    return Shared(round_, private)
