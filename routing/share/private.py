"""What is kept out of every shared page unless it is asked for, and names for sites that tell a stranger nothing."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from routing.farm.models import Farm
from routing.round import Round

NO_NAMES = frozenset({"", "-"})
"""Names of sites that stand for none and are not looked for in other texts."""


@dataclass(frozen=True)
class SitePrivate:
    """What the farmer marked as private about one site; empty where there is nothing."""

    gate_code: str = ""
    phone: str = ""
    notes: str = ""


Private = Mapping[str, SitePrivate]
"""By site id. A site that is not in it shows nothing private."""


def private_of(farm: Farm) -> dict[str, SitePrivate]:
    """Return what is private of each site that has something private."""
    found = {site.id: SitePrivate(site.gate_code, site.phone, site.private_notes) for site in farm.sites}
    return {site: private for site, private in found.items() if private != SitePrivate()}


NO_OTHERS: Mapping[str, str] = MappingProxyType[str, str]({})


def nicknames(round_: Round, others: Mapping[str, str] = NO_OTHERS) -> dict[str, str]:
    """Return a nickname for the id of each site of the round: `Site A` and so on, in the order of their ids.

    `others` holds the names by id of the farm's other sites, which take their letters too: with the whole farm in it,
    a site keeps its nickname from day to day.
    """
    ids = sorted({*others, *(site for site, _ in _sites(round_))})
    return {site: f"Site {_letters(number)}" for number, site in enumerate(ids)}


def nicknamed(round_: Round, others: Mapping[str, str] = NO_OTHERS) -> Round:
    """Return the round with every site under its nickname, in its id, its name and wherever a text names it.

    Places stay: whoever drives there must know them. The names of farm, base, crews and vehicles stay too, and so do
    descriptions in notes, other than the sites' own names in them. Upper and lower case make no difference. `others`
    is as in `nicknames`; a site that is neither there nor in the round is not known and not hidden.
    """
    return Round.model_validate(_renamed(round_.model_dump(), _Names.of(round_, others)))


def nicknamed_private(round_: Round, private: Private, others: Mapping[str, str] = NO_OTHERS) -> dict[str, SitePrivate]:
    """Return `private` for use with `nicknamed(round_, others)`: by its ids, with no site's name in the notes."""
    names = _Names.of(round_, others)
    return {
        names.ids[site]: replace(secret, notes=names.hide(secret.notes))
        for site, secret in private.items()
        if site in names.ids
    }


def _sites(round_: Round) -> list[tuple[str, str]]:
    """Return the id and the name of each site of the round."""
    stops = [(stop.site, stop.name) for itinerary in round_.itineraries for stop in itinerary.at_sites]
    jobs = [job for itinerary in round_.itineraries for stop in itinerary.stops for job in stop.jobs]
    jobs += [job for left in round_.left_out for job in left.jobs]
    ends = [(job.to, job.to_name) for job in jobs if job.to]
    return [*stops, *((left.site, left.name) for left in round_.left_out), *ends]


@dataclass(frozen=True)
class Shared:
    """What may be shown to those who get a file: the round as they may see it, and the secrets that they may know."""

    round: Round
    private: Private


def share(round_: Round, farm: Farm, *, with_private: bool = False, nicknames: bool = False) -> Shared:
    """Return the round to share: by default under its own names and with nothing private."""
    private = private_of(farm) if with_private else {}
    if nicknames:
        others = {site.id: site.name for site in farm.sites}
        return Shared(nicknamed(round_, others), nicknamed_private(round_, private, others))
    return Shared(round_, private)


@dataclass(frozen=True)
class _Names:
    """New ids by old ids, and new names by old names in lower case."""

    ids: dict[str, str]
    words: dict[str, str]

    @classmethod
    def of(cls, round_: Round, others: Mapping[str, str]) -> _Names:
        called = nicknames(round_, others)
        named = [*_sites(round_), *others.items()]
        quoted = {f'"{site}"'.casefold(): f'"{nickname}"' for site, nickname in called.items()}  # as faults name them
        return cls(
            {site: nickname.lower().replace(" ", "-") for site, nickname in called.items()},
            quoted | {name.casefold(): called[site] for site, name in named if name.strip() not in NO_NAMES},
        )

    def hide(self, text: str) -> str:
        """Return the text with each site's name replaced, the longest names first and each place once."""
        if not self.words:
            return text
        longest = sorted(self.words, key=lambda name: (-len(name), name))
        pattern = "|".join(rf"(?<!\w){re.escape(name)}(?!\w)" for name in longest)
        return re.sub(pattern, lambda found: self.words.get(found[0].casefold(), "a site"), text, flags=re.IGNORECASE)


_IDS = frozenset({"site", "after", "fullest_kg_at", "fullest_litres_at", "to", "from_site"})
_KEPT = frozenset(
    {"id", "job", "kind", "material", "crew", "vehicle", "time_zone", "units", "unit", "farm", "base_name"}
)


def _renamed(value: Any, names: _Names, field: str = "") -> Any:  # noqa: ANN401 -- a dumped model of any depth
    if isinstance(value, dict):
        return {key: _renamed(inner, names, key) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return tuple(_renamed(inner, names, field) for inner in value)
    if type(value) is not str or field in _KEPT:
        return value
    return names.ids.get(value, value) if field in _IDS else names.hide(value)


def _letters(number: int) -> str:
    """Return A to Z, then AA, AB and so on, for a number from 0."""
    more, place = divmod(number, 26)
    return (_letters(more - 1) if more else "") + chr(ord("A") + place)
