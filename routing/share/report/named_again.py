"""A report from a page with nicknames under the farm's own ids again, so that it is taken like any other.

What cannot be told for certain (a site that was moved or taken out since, two kinds that look alike without the name)
stays as the report has it, and whoever reads on finds that the farm does not know it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from routing.farm.models import Farm
from routing.share.report.done import Done, ReportedStop
from routing.share.report.done_details import ReportedJob
from routing.share.safety.nickname_codes import MARK_DIGITS, Codes, site_tags
from routing.share.safety.nicknames import site_names

_SITE = re.compile(rf"[a-z]+-[a-z0-9]+\.([0-9a-f]{{{MARK_DIGITS}}})")
_BY_RULE = re.compile(r"due:([^:]+):([a-z]+-[a-z0-9]+\.[0-9a-f]+)( part \d+ of \d+)?")


def named_again(farm: Farm, report: Done) -> Done:
    """Return the report by the farm's own ids; one from a page without nicknames as it is."""
    back = _Back(farm)
    return report.model_copy(
        update={"crew": back.crew(report.crew), "stops": tuple(_stop(stop, back) for stop in report.stops)}
    )


def _stop(stop: ReportedStop, back: _Back) -> ReportedStop:
    return stop.model_copy(update={"site": back.site(stop.site), "jobs": tuple(_job(job, back) for job in stop.jobs)})


def _job(job: ReportedJob, back: _Back) -> ReportedJob:
    return job.model_copy(update={"id": back.job(job.id), "kind": back.kind(job.kind) if job.kind else ""})


class _Back:
    """From the codes of the farm as it is now to its ids."""

    def __init__(self, farm: Farm) -> None:
        codes = Codes.of(site_names(farm), {}, tuple(crew.id for crew in farm.crews))
        rules = farm.season.due if farm.season is not None else {}
        self.sites = _turned(site_tags(farm.sites))
        self.known = {site.id for site in farm.sites}
        self.crews = _by_code((crew.id for crew in farm.crews), codes.crew)
        self.kinds = _by_code(farm.job_kinds, codes.plain)
        self.rules = _by_code(rules, codes.plain)

    def site(self, id_: str) -> str:
        found = _SITE.fullmatch(id_)
        return id_ if found is None or id_ in self.known else self.sites.get(found[1], id_)

    def job(self, id_: str) -> str:
        found = _BY_RULE.fullmatch(id_)
        if found is None:
            return id_
        return f"due:{self.rules.get(found[1], found[1])}:{self.site(found[2])}{found[3] or ''}"

    def kind(self, id_: str) -> str:
        return self.kinds.get(id_, id_)

    def crew(self, id_: str) -> str:
        return self.crews.get(id_, id_)


def _by_code(ids: Iterable[str], code: Callable[[str], str]) -> dict[str, str]:
    """Return the id of each code that only one has; an id that is its own code stands for itself."""
    every = list(ids)
    return _turned({id_: code(id_) for id_ in every}) | {id_: id_ for id_ in every}


def _turned(codes: dict[str, str]) -> dict[str, str]:
    found: dict[str, list[str]] = {}
    for id_, code in codes.items():
        found.setdefault(code, []).append(id_)
    return {code: ids[0] for code, ids in found.items() if len(ids) == 1}
