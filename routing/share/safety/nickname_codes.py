"""Ids that tell no name and yet find back: what a report from a page with nicknames names its sites and jobs by.

A nickname alone would not do: a site that the farm adds between the page and the report moves the letters on, and work
would be logged at the wrong site. So the id of a site carries a mark of its place, which the page shows anyway.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from routing.farm.kinds import load_catalogue
from routing.farm.models import Site
from routing.share.safety.names import Finder
from routing.share.safety.positions import degrees

MARK_DIGITS = 8
"""Hexadecimal digits of a site's mark: of 340 farms of 5,000 sites one has two that share one; those are not known."""

HIDDEN = "x"
"""Stands in an id where a name stood."""

_PARTED = re.compile(r"(.*?)( part \d+ of \d+)?", re.DOTALL)


def site_tags(sites: Iterable[Site]) -> dict[str, str]:
    """Return the mark of each site by its id: of its place, and which of how many sites at that place it is."""
    at: dict[tuple[float, float], list[str]] = {}
    for site in sites:
        at.setdefault((degrees(site.place.latitude), degrees(site.place.longitude)), []).append(site.id)
    return {
        site: hashlib.sha256(json.dumps([*place, number, len(ids)]).encode()).hexdigest()[:MARK_DIGITS]
        for place, ids in at.items()
        for number, site in enumerate(sorted(ids))
    }


@dataclass(frozen=True)
class Codes:
    """New ids of jobs, kinds, materials and crews where the old ones hold the name of a site."""

    finder: Finder
    """With `HIDDEN` for every name."""
    sites: Mapping[str, str]
    crews: tuple[str, ...]
    usual: frozenset[str]
    """Ids of the package's catalogue, the same for every farm."""

    @classmethod
    def of(cls, names: Finder, sites: Mapping[str, str], crews: tuple[str, ...]) -> Codes:
        """Return the codes for sites with these new ids; crews are counted in their order."""
        catalogue = load_catalogue()
        usual = frozenset((*catalogue.job_kinds, *catalogue.materials))
        return cls(names.calling(HIDDEN), sites, crews, usual)

    def plain(self, id_: str) -> str:
        """Return the id of a kind, a material, a rule or a vehicle."""
        return id_ if id_ in self.usual or not self.finder.holds(id_) else self.finder.hide(id_)

    def crew(self, id_: str) -> str:
        """Return the id of a crew: `crew-2-of-3` where it holds the name of a site."""
        if not self.finder.holds(id_) or id_ not in self.crews:
            return self.plain(id_)
        return f"crew-{self.crews.index(id_) + 1}-of-{len(self.crews)}"

    def crew_name(self, id_: str) -> str:
        """Return what a crew is called whose name holds that of a site."""
        return f"Crew {self.crews.index(id_) + 1}" if id_ in self.crews else "Crew"

    def job(self, id_: str) -> str:
        """Return the id of a job: rows of jobs.csv as they are, what a rule makes with its site's new id."""
        found = _PARTED.fullmatch(id_)
        whole, part = (found[1], found[2] or "") if found else (id_, "")
        word, _, rest = whole.partition(":")
        rule, _, site = rest.partition(":")
        if word == "due" and site in self.sites:
            return f"due:{self.plain(rule)}:{self.sites[site]}{part}"
        return whole + part if re.fullmatch(r"jobs\.csv:\d+", whole) else self.plain(whole) + part
