"""Learned minutes: what the record says of job kinds, sites, crews and drives, leaning on defaults where it is thin.

Each visit gives one value, the logarithm of the minutes it took over the minutes it was reckoned at, the walk taken off
both. Partial pooling (`pooling`) shares it out between its job kinds, its site, its crew and its date.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from routing.farm.models import Farm, Figure, JobKind
from routing.plain_words import count
from routing.season.pooling import Effect, pool
from routing.season.records import DriveRecord, VisitRecord

EIGHTY = 1.2816
"""Standard deviations to each side of the middle that hold 80 % of a normal distribution."""

_BELIEF = "common practice, no source: how far minutes differ before anything is recorded"
BELIEFS = {
    "kind": Figure(value=0.35, source=_BELIEF, confidence="M"),
    "site": Figure(value=0.15, source=_BELIEF, confidence="M"),
    "crew": Figure(value=0.20, source=_BELIEF, confidence="M"),
    "day": Figure(value=0.12, source=_BELIEF, confidence="M"),
    "noise": Figure(value=0.25, source=_BELIEF, confidence="M"),
    "drive": Figure(value=0.20, source=_BELIEF, confidence="M"),
    "drive noise": Figure(value=0.15, source=_BELIEF, confidence="M"),
}
"""First beliefs: standard deviations of the logarithm of real over reckoned minutes."""

TOGETHER = 0.9
"""Share of their visits that two kinds have in common to count as always done together: common practice, no source."""
ENOUGH_VISITS = 20
"""With fewer recorded visits the spreads stay at their defaults; common practice, no source."""
HALF = 0.5
"""A visit that is trusted less is told of."""

FARTHEST = math.log(5)
"""A visit that took over five times its reckoning, or under a fifth, counts as exactly that: it may be a slip."""


@dataclass(frozen=True)
class Learned:
    """One estimate: a factor on the farm's own minutes, and what it rests on."""

    what: str
    """`kind`, `site`, `crew` or `drive`."""
    id: str
    factor: float
    low: float
    high: float
    """Four chances in five that the true factor lies between the two."""
    record_share: float
    """0: nothing but the default; 1: nothing but the record."""
    count: int
    pace: float = 1
    """For a site or crew: the same as a factor on hive minutes alone, which is what the farm holds."""

    @property
    def source(self) -> str:
        """Where the estimate comes from, in words."""
        noun = "drive" if self.what == "drive" else "visit"
        if not self.count:
            return "default, nothing recorded"
        share = round(100 * self.record_share)
        return f"{count(self.count, noun)}: {share} % the record, {100 - share} % the default"


@dataclass(frozen=True)
class Lessons:
    """All that was learned. The spreads are standard deviations of the logarithm."""

    estimates: tuple[Learned, ...]
    visits: int
    visit_sd: float
    """Of one visit for reasons of its own."""
    day_sd: float
    """Of a whole day."""
    set_aside: tuple[str, ...]
    """Records that could not be used, and why."""
    doubted: tuple[str, ...] = ()
    """Visits that are too far from the others to be learned from, and how far."""

    def of(self, what: str) -> dict[str, Learned]:
        """Return the estimates for `kind`, `site`, `crew` or `drive`, by id."""
        return {found.id: found for found in self.estimates if found.what == what}


@dataclass(frozen=True)
class _Reckoned:
    """One visit as the farm's own figures have it, in minutes."""

    record: VisitRecord
    set_up: float
    work: Mapping[str, float]
    """By job kind, for this crew."""
    walk: float

    @property
    def value(self) -> float:
        """The logarithm of taken over reckoned, held within `FARTHEST`."""
        reckoned = self.set_up + sum(self.work.values())
        taken = max(self.record.minutes - self.walk, reckoned * math.exp(-FARTHEST))
        return max(-FARTHEST, min(FARTHEST, math.log(taken / reckoned)))

    @property
    def kind_shares(self) -> dict[str, float]:
        """How much of the visit is each kind's: by work, evenly where there is none."""
        whole = sum(self.work.values())
        return {kind: work / whole if whole else 1 / len(self.work) for kind, work in self.work.items()}


def learn(
    farm: Farm,
    visits: Sequence[VisitRecord],
    drives: Sequence[DriveRecord] = (),
) -> Lessons:
    """Return what the record says, against the farm's own figures. `farm` must not have learned already.

    Records of sites, kinds or crews that the farm no longer has are set aside. A group of which the record knows only
    one member (one crew, one site) is left at 1: nothing tells it from the work itself.
    """
    usable, aside = _reckon(farm, visits)
    units = together([tuple(each.work) for each in usable])
    weights: dict[str, list[dict[str, float]]] = {"kind": [_unit_shares(each, units) for each in usable]}
    levels = {
        "site": [each.record.site for each in usable],
        "crew": [each.record.crew for each in usable],
    }
    for group, names in levels.items():
        if len(set(names)) > 1:
            weights[group] = [{name: 1.0} for name in names]
    beliefs = {group: BELIEFS[group].value for group in weights}
    dates = [each.record.date.isoformat() for each in usable]
    pooled = pool(
        [each.value for each in usable], weights, beliefs, dates, BELIEFS["day"].value, BELIEFS["noise"].value
    )
    counts = {
        "kind": Counter(kind for each in usable for kind in each.work),
        "site": Counter(levels["site"]),
        "crew": Counter(levels["crew"]),
    }
    effects = dict(pooled.effects)
    effects["kind"] = {kind: effects["kind"][unit] for kind, unit in units.items()} if usable else {}
    found = [
        _learned(what, id_, effect, counts[what][id_], _pace(what, id_, math.exp(effect.mean), usable))
        for what in ("kind", "site", "crew")
        for id_, effect in effects.get(what, {}).items()
    ]
    slips = [_slip(each) for each, trust in zip(usable, pooled.trust, strict=False) if trust < HALF]
    return Lessons(
        estimates=(*found, *_drive_factor(drives)),
        visits=len(usable),
        visit_sd=pooled.noise_sd,
        day_sd=pooled.block_sd,
        set_aside=aside,
        doubted=tuple(slips),
    )


def with_learned(farm: Farm, lessons: Lessons) -> Farm:
    """Return the farm with minutes, paces, drive factor and spreads as learned; what has no record stays as it is."""
    kinds, sites, crews, drive = (lessons.of(what) for what in ("kind", "site", "crew", "drive"))
    job_kinds = {id_: _kind(kind, kinds[id_]) if id_ in kinds else kind for id_, kind in farm.job_kinds.items()}
    rules = farm.rules
    if drive:
        factor = min(10.0, max(0.01, round(rules.drive_factor * drive["drive"].factor, 3)))
        rules = rules.model_copy(update={"drive_factor": factor})
    return farm.model_copy(
        update={
            "job_kinds": job_kinds,
            "sites": tuple(
                site.model_copy(update={"pace": sites[site.id].pace}) if site.id in sites else site
                for site in farm.sites
            ),
            "crews": tuple(
                crew.model_copy(update={"pace": crews[crew.id].pace}) if crew.id in crews else crew
                for crew in farm.crews
            ),
            "rules": rules,
            "spreads": _spreads(lessons) or farm.spreads,
        }
    )


def _spreads(lessons: Lessons) -> dict[str, Figure]:
    """Return how far days stray from planned ones, by name; nothing where the record is too short to say."""
    if lessons.visits < ENOUGH_VISITS:
        return {}
    source = f"learned from {lessons.visits} visits"
    spreads = {"visit": lessons.visit_sd, "day_work": lessons.day_sd}
    return {name: Figure(value=round(sd, 3), source=source, confidence="farm") for name, sd in spreads.items()}


def _reckon(farm: Farm, visits: Sequence[VisitRecord]) -> tuple[list[_Reckoned], tuple[str, ...]]:
    sites = {site.id: site for site in farm.sites}
    crews = {crew.id for crew in farm.crews}
    usable, aside = [], []
    for record in visits:
        named = f"{record.date.isoformat()} at {record.site}"
        unknown = [
            *([f"site {record.site}"] if record.site not in sites else []),
            *([f"crew {record.crew}"] if record.crew not in crews else []),
            *(f"job kind {kind}" for kind in record.kinds if kind not in farm.job_kinds),
        ]
        if unknown:
            aside.append(f"{named}: the farm has no {', no '.join(unknown)}")
            continue
        hands = 1 + farm.rules.extra_hands_share.value * (record.people - 1)
        kinds = [farm.job_kinds[kind] for kind in dict.fromkeys(record.kinds)]
        each = _Reckoned(
            record=record,
            set_up=max(kind.minutes_a_visit.value for kind in kinds),
            work={
                kind.id: kind.minutes_a_hive.value * record.hives_of.get(kind.id, record.hives) / hands
                for kind in kinds
            },
            walk=2 * sites[record.site].walking_minutes,
        )
        if each.set_up + sum(each.work.values()) > 0:
            usable.append(each)
        else:
            aside.append(f"{named}: its work is reckoned at no time at all, so nothing compares with it")
    return usable, tuple(aside)


def together(visits: Sequence[tuple[str, ...]]) -> dict[str, str]:
    """Return for each job kind the unit that it is learned in: all kinds that are done together, or itself.

    Two kinds are done together where at least `TOGETHER` of the visits with either have both. Nothing tells apart whose
    minutes those were, so they share what the visits stray by evenly.
    """
    done: dict[str, set[int]] = {}
    for number, kinds in enumerate(visits):
        for kind in kinds:
            done.setdefault(kind, set()).add(number)
    units: dict[str, str] = {}
    for kind in sorted(done, key=lambda kind: (-len(done[kind]), kind)):
        first = (unit for unit in dict.fromkeys(units.values()) if _alike(done[kind], done[unit]))
        units[kind] = next(first, kind)
    return units


def _alike(one: set[int], other: set[int]) -> bool:
    return len(one & other) >= TOGETHER * len(one | other)


def _unit_shares(each: _Reckoned, units: Mapping[str, str]) -> dict[str, float]:
    found: dict[str, float] = {}
    for kind, share in each.kind_shares.items():
        found[units[kind]] = found.get(units[kind], 0.0) + share
    return found


def _slip(each: _Reckoned) -> str:
    reckoned = each.set_up + sum(each.work.values()) + each.walk
    return (
        f"{each.record.date.isoformat()} at {each.record.site}: {each.record.minutes:g} min, where {reckoned:.0f} were "
        "reckoned, is too far from the other visits to learn from (a forgotten clock?)"
    )


def _learned(what: str, id_: str, effect: Effect, times: int, pace: float = 1) -> Learned:
    return Learned(
        what=what,
        id=id_,
        factor=math.exp(effect.mean),
        low=math.exp(effect.mean - EIGHTY * effect.sd),
        high=math.exp(effect.mean + EIGHTY * effect.sd),
        record_share=effect.share,
        count=times,
        pace=pace,
    )


def _pace(what: str, id_: str, factor: float, usable: Sequence[_Reckoned]) -> float:
    """Return the factor on hive minutes that gives the factor on set-up and hive minutes together.

    With set-up s and hive minutes w of all that site's or crew's visits: s + w p = (s + w) f, so p = f + (f - 1) s / w.
    """
    if what == "kind":
        return 1.0
    mine = [each for each in usable if id_ == (each.record.site if what == "site" else each.record.crew)]
    work = sum(sum(each.work.values()) for each in mine)
    if work <= 0:
        return 1.0
    pace = factor + (factor - 1) * sum(each.set_up for each in mine) / work
    return min(10.0, max(0.1, round(pace, 3)))


def _kind(kind: JobKind, found: Learned) -> JobKind:
    def times(figure: Figure) -> Figure:
        source = f"learned from {found.source}; the default {figure.value:g}: {figure.source}"
        return Figure(value=round(figure.value * found.factor, 2), source=source, confidence="farm")

    update = {"minutes_a_visit": times(kind.minutes_a_visit), "minutes_a_hive": times(kind.minutes_a_hive)}
    return kind.model_copy(update=update)


def _drive_factor(drives: Sequence[DriveRecord]) -> tuple[Learned, ...]:
    """Return the factor on estimated drives, none where no drive is recorded."""
    if not drives:
        return ()
    values = [max(-FARTHEST, min(FARTHEST, math.log(drive.actual_seconds / drive.planned_seconds))) for drive in drives]
    pooled = pool(
        values,
        {"drive": [{"drive": 1.0}] * len(values)},
        {"drive": BELIEFS["drive"].value},
        [str(number) for number in range(len(values))],
        BELIEFS["drive noise"].value / 2**0.5,
        BELIEFS["drive noise"].value / 2**0.5,
    )
    return (_learned("drive", "drive", pooled.effects["drive"]["drive"], len(drives)),)
