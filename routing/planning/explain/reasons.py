"""Why a job is left out for certain: reasons that hold for the visit alone, whatever else is planned."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from routing.daylight.windows import site_closed
from routing.farm.models import JobKind, Site
from routing.planning.explain.quickest import QuickestWays
from routing.planning.model.build import build_days, vehicle_reaches
from routing.planning.model.days import Days
from routing.planning.model.demands import THOUSAND
from routing.planning.model.load import carries, stock_holds
from routing.planning.model.possible_visits import ends_of
from routing.planning.model.problem import NO_LIMIT, Planned, Problem, used_by
from routing.round import ReasonCode
from routing.travel.legs import UNREACHABLE
from routing.words import duration, people_words


@dataclass(frozen=True)
class Certain:
    """One certain reason, in words."""

    code: ReasonCode
    text: str


def certain_reasons(days: Days) -> dict[int, Certain]:
    """Return the tasks that no crew could do on this date even if it did nothing else."""
    found = {}
    quickest = QuickestWays(days)
    for task in range(len(days.problem.tasks)):
        reason = certain_reason(days, task, quickest)
        if reason is not None:
            found[task] = reason
    return {**found, **kept_by_weather(days, found)}


def kept_by_weather(days: Days, found: Mapping[int, Certain]) -> dict[int, Certain]:
    """Return the weather as the reason of those tasks that could be done were it not for the forecast."""
    if not found or days.farm.forecast is None:
        return {}
    fair = build_days(days.farm.model_copy(update={"forecast": None}), days.legs, days.dates)
    quickest = QuickestWays(fair)
    return {
        task: Certain(ReasonCode.WEATHER, _weather_words(days.farm.job_kinds[days.jobs[task].kind]))
        for task in found
        if certain_reason(fair, task, quickest) is None
    }


def _weather_words(kind: JobKind) -> str:
    limits = [
        *([f"at least {kind.min_temperature_c:g} °C"] if kind.min_temperature_c is not None else []),
        *([f"at most {kind.max_rain_mm_an_hour:g} mm of rain an hour"] if kind.max_rain_mm_an_hour is not None else []),
        *([f"at most {kind.max_wind_kmh:g} km/h of wind"] if kind.max_wind_kmh is not None else []),
    ]
    return f"{kind.name} needs {', '.join(limits)}; the forecast does not give that for long enough in working hours"


def certain_reason(days: Days, task: int, quickest: QuickestWays | None = None) -> Certain | None:
    """Return why this task cannot be done on the date whatever else is planned, or None where some crew could do it.

    `quickest` are the ways of these days, where they are known already.
    """
    quickest = quickest or QuickestWays(days)
    job = days.jobs[task]
    sites = tuple(days.farm.site(end) for end in ends_of(job))
    kind = days.farm.job_kinds[job.kind]
    when = "this date" if len(days.dates) == 1 else "any of these dates"
    if job.promised is not None and job.promised not in days.dates:
        return Certain(ReasonCode.OTHER_DAY, f"it was promised for {job.promised.isoformat()}: agree on a new date")
    if not days.crews:
        return Certain(ReasonCode.NO_CREW, f"no crew works on {when}")
    if all(any(site_closed(site, date) for site in sites) for date in days.dates):
        return Certain(ReasonCode.CLOSED, _closed_words(days, sites))
    return (
        _nobody_able(days, kind, sites)
        or _no_way(days, task, sites, quickest)
        or _nobody_then(days, task)
        or _short_of_stock(days, task)
        or _no_window(days, task, sites, kind)
        or _too_heavy(days, task)
        or _no_time(days, task, quickest)
    )


def _closed_words(days: Days, sites: tuple[Site, ...]) -> str:
    shut = [site for site in sites if all(site_closed(site, date) for date in days.dates)]
    when = "this date" if len(days.dates) == 1 else "all of them"
    if not shut:
        return f"{sites[0].name} and {sites[-1].name} are never open on the same date"
    if shut[0] is sites[0]:
        return f"the site is closed on {when}"
    return f"{shut[0].name}, where the hives are to go, is closed on {when}"


def _nobody_then(days: Days, task: int) -> Certain | None:
    """Return that no crew able to works on the dates on which the job could be done; only several dates can tell."""
    possible = {days.problem.visits[number].day for number in days.problem.visits_of[task]}
    if not possible or stops_for(days, (task,)):
        return None
    able = " able to do it" if possible & {route.day for route in days.problem.routes} else ""
    return Certain(ReasonCode.NO_CREW, f"no crew{able} works on the dates on which it could be done")


def _no_way(days: Days, task: int, sites: tuple[Site, ...], quickest: QuickestWays) -> Certain | None:
    """Return why nobody able to do the task can drive there and back, by what the road map says where there is one."""
    place = days.task_places[task]
    routes = sorted({route for route, _ in stops_for(days, (task,))})
    routes = routes or [route for route, rules in enumerate(days.problem.routes) if rules.allowed[task]]
    if any(quickest.there_and_back(route, place) for route in routes):
        return None
    off_road = [days.legs.of(days.crews[route].vehicle).no_road for route in routes]
    nearest = [next((off[site.id] for site in sites if site.id in off), None) for off in off_road]
    far = [metres for metres in nearest if metres is not None]
    if len(far) < len(nearest):
        on = f", on to {sites[-1].name}" if len(sites) > 1 else ""
        return Certain(ReasonCode.NO_WAY, f"there is no way from base to the site{on} and back")
    found = [metres for metres in far if metres != UNREACHABLE]
    between = [days.legs.of(days.crews[route].vehicle).barred.get(sites[0].id, "") for route in routes]
    if len(sites) > 1:
        both = f"{sites[0].name} and {sites[1].name}"
        return Certain(ReasonCode.NO_ROAD, f"of {both}, one has no road near that a vehicle able to go may use")
    where = f"the nearest road on the map where a vehicle able to go may stop is {min(found)} m away" if found else ""
    if found and all(between):
        where += f", beyond {between[found.index(min(found))]}, and the map knows no way over it"
    return Certain(ReasonCode.NO_ROAD, where or "the map has no road near the site that a vehicle able to go may use")


def _nobody_able(days: Days, kind: JobKind, sites: tuple[Site, ...]) -> Certain | None:
    reaching = [
        crew
        for crew in days.crews
        if all(vehicle_reaches(days.farm.vehicles[crew.vehicle].reaches, site) for site in sites)
    ]
    if not reaching and len(sites) > 1:
        needs = " and ".join(f"{site.name} “{site.vehicle_needed}”" for site in sites if site.vehicle_needed)
        return Certain(ReasonCode.NO_VEHICLE, f"no vehicle that day reaches both sites: {needs} is needed")
    if not reaching:
        site = sites[0]
        return Certain(
            ReasonCode.NO_VEHICLE, f"the site needs a vehicle that reaches “{site.vehicle_needed}”; none that day does"
        )
    most = max(crew.people for crew in reaching)
    if most < kind.people:
        return Certain(
            ReasonCode.NEEDS_PEOPLE,
            f"{kind.name} needs {people_words(kind.people)}; the largest crew that gets there has {most}",
        )
    return None


def _short_of_stock(days: Days, task: int) -> Certain | None:
    if stock_holds(days.problem, [task]):
        return None
    for supply, used in enumerate(used_by(days.problem, [task])):
        stock = days.problem.supplies[supply].stock
        if stock != NO_LIMIT and used > stock:
            facts = days.farm.materials[days.materials[supply]]
            return Certain(
                ReasonCode.NO_STOCK,
                f"needs {used / THOUSAND:g} {facts.unit} of {facts.name}; in store: {stock / THOUSAND:g}",
            )
    return None


def stops_for(days: Days, tasks: tuple[int, ...]) -> list[tuple[int, Planned]]:
    """Return every (route, stop) that could do just these tasks, whatever the load and the hour."""
    return [
        (route, Planned(number, tasks))
        for number in days.problem.visits_for(tasks)
        for route, rules in enumerate(days.problem.routes)
        if rules.day == days.problem.visits[number].day and all(rules.allowed[task] for task in tasks)
    ]


def _no_window(days: Days, task: int, sites: tuple[Site, ...], kind: JobKind) -> Certain | None:
    if days.problem.visits_of[task]:
        return None
    if len(sites) > 1 and any(site.hours for site in sites):
        both = f"{sites[0].name} and {sites[1].name}"
        return Certain(ReasonCode.CLOSED, f"{both} are never both open in the light that {kind.name} needs")
    site = sites[0]
    if site.hours:
        return Certain(ReasonCode.CLOSED, f"the site's opening hours never meet the light that {kind.name} needs")
    return Certain(ReasonCode.TOO_DARK, f"there is no time on this date with the light that {kind.name} needs")


def _too_heavy(days: Days, task: int) -> Certain | None:
    ways = stops_for(days, (task,))
    if any(carries(days.problem, route, (planned,)) for route, planned in ways):
        return None
    most = max(days.farm.vehicles[days.crews[route].vehicle].payload_kg for route, _ in ways)
    return Certain(
        ReasonCode.TOO_HEAVY,
        f"what it needs or brings back is over payload or space; the largest payload is {most:g} kg",
    )


def in_time(problem: Problem, ways: QuickestWays, route: int, planned: Planned) -> bool:
    """Return whether a stop can be made if nothing else is, its break before the work or after it where one is due."""
    rules, visit = problem.routes[route], problem.visits[planned.visit]
    there, back = ways.out(route, visit.place), ways.back(route, visit.place)
    if there is None or back is None:
        return False
    work = problem.on_site_seconds(route, planned)
    long = there + work + back > rules.break_after_seconds
    rest = rules.break_seconds if long else 0

    def fits(before: int, after: int) -> bool:
        finish = max(rules.earliest_leave + there + before, visit.opens) + work
        return finish <= visit.closes and finish + back + after <= rules.home_by

    return fits(rest, 0) or fits(0, rest)


def _no_time(days: Days, task: int, quickest: QuickestWays) -> Certain | None:
    problem = days.problem
    ways = [(route, stop) for route, stop in stops_for(days, (task,)) if carries(problem, route, (stop,))]
    ways = [way for way in ways if quickest.there_and_back(way[0], problem.visits[way[1].visit].place)]
    if any(in_time(problem, quickest, route, planned) for route, planned in ways):
        return None
    if not ways:
        return Certain(ReasonCode.TOO_HEAVY, "the crews that can get there cannot carry what it needs or brings back")
    needed, visit, route = min(
        ((problem.on_site_seconds(route, planned), problem.visits[planned.visit], route) for route, planned in ways),
        key=lambda way: way[0] - (way[1].closes - way[1].opens),
    )
    light = visit.closes - visit.opens
    if needed > light:
        code = ReasonCode.TOO_DARK if visit.closed_by_light else ReasonCode.CLOSED
        span = "working light is" if visit.closed_by_light else "the site is open in working light for"
        work = "the work takes"
        if days.jobs[task].to:
            span = span.replace("the site is", "both sites are")
            work = "loading, the drive with the hives and setting down take"
        return Certain(code, f"{work} {duration(needed)} and {span} {duration(light)}")
    work = "loading, driving and setting down" if days.jobs[task].to else "work"
    out, back = quickest.out(route, visit.place) or 0, quickest.back(route, visit.place) or 0
    return Certain(
        ReasonCode.TOO_FAR,
        f"{duration(out)} there, {duration(needed)} of {work} and {duration(back)} back do not fit between the "
        f"earliest start, the window {days.clock(visit.opens):%H:%M} to {days.clock(visit.closes):%H:%M} and home by",
    )
