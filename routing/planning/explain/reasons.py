"""Why a job is left out for certain: reasons that hold for the visit alone, whatever else is planned."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from routing.daylight.windows import site_closed
from routing.farm.models import JobKind, Site
from routing.plain_words import duration, people_words
from routing.planning.explain.quickest import QuickestWays
from routing.planning.model.build_instance import build_instance, vehicle_reaches
from routing.planning.model.demands import THOUSAND
from routing.planning.model.instance import Instance
from routing.planning.model.load import carries, stock_holds
from routing.planning.model.possible_visits import ends_of
from routing.planning.model.problem import NO_LIMIT, Planned, Problem, used_by
from routing.planning.model.supply_on_board import used_up
from routing.round import ReasonCode
from routing.travel.legs import UNREACHABLE


@dataclass(frozen=True)
class Certain:
    """One certain reason, in words."""

    code: ReasonCode
    text: str


def certain_reasons(instance: Instance) -> dict[int, Certain]:
    """Return the tasks that no crew could do on this date even if it did nothing else."""
    found = {}
    quickest = QuickestWays(instance)
    for task in range(len(instance.problem.tasks)):
        reason = certain_reason(instance, task, quickest)
        if reason is not None:
            found[task] = reason
    return {**found, **kept_by_weather(instance, found)}


def kept_by_weather(instance: Instance, found: Mapping[int, Certain]) -> dict[int, Certain]:
    """Return the weather as the reason of those tasks that could be done were it not for the forecast."""
    if not found or instance.farm.forecast is None:
        return {}
    fair = build_instance(instance.farm.model_copy(update={"forecast": None}), instance.legs, instance.dates)
    quickest = QuickestWays(fair)
    return {
        task: Certain(ReasonCode.WEATHER, _weather_words(instance.farm.job_kinds[instance.jobs[task].kind]))
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


def certain_reason(instance: Instance, task: int, quickest: QuickestWays | None = None) -> Certain | None:
    """Return why this task cannot be done on the date whatever else is planned, or None where some crew could do it.

    `quickest` are the ways of these days, where they are known already.
    """
    quickest = quickest or QuickestWays(instance)
    job = instance.jobs[task]
    sites = tuple(instance.farm.site(end) for end in ends_of(job))
    kind = instance.farm.job_kinds[job.kind]
    when = "this date" if len(instance.dates) == 1 else "any of these dates"
    if job.promised is not None and job.promised not in instance.dates:
        return Certain(ReasonCode.OTHER_DAY, f"it was promised for {job.promised.isoformat()}: agree on a new date")
    if not instance.crews:
        return Certain(ReasonCode.NO_CREW, f"no crew works on {when}")
    if all(any(site_closed(site, date) for site in sites) for date in instance.dates):
        return Certain(ReasonCode.CLOSED, _closed_words(instance, sites))
    return (
        _nobody_able(instance, kind, sites)
        or _no_way(instance, task, sites, quickest)
        or _nobody_then(instance, task)
        or _short_of_stock(instance, task)
        or _no_window(instance, task, sites, kind)
        or _too_heavy(instance, task)
        or _no_time(instance, task, quickest)
    )


def _closed_words(instance: Instance, sites: tuple[Site, ...]) -> str:
    shut = [site for site in sites if all(site_closed(site, date) for date in instance.dates)]
    when = "this date" if len(instance.dates) == 1 else "all of them"
    if not shut:
        return f"{sites[0].name} and {sites[-1].name} are never open on the same date"
    if shut[0] is sites[0]:
        return f"the site is closed on {when}"
    return f"{shut[0].name}, where the hives are to go, is closed on {when}"


def _nobody_then(instance: Instance, task: int) -> Certain | None:
    """Return that no crew able to works on the dates on which the job could be done; only several dates can tell."""
    possible = {instance.problem.visits[number].day for number in instance.problem.visits_of[task]}
    if not possible or stops_for(instance, (task,)):
        return None
    able = " able to do it" if possible & {route.day for route in instance.problem.routes} else ""
    return Certain(ReasonCode.NO_CREW, f"no crew{able} works on the dates on which it could be done")


def _no_way(instance: Instance, task: int, sites: tuple[Site, ...], quickest: QuickestWays) -> Certain | None:
    """Return why nobody able to do the task can drive there and back, by what the road map says where there is one."""
    place = instance.task_places[task]
    routes = sorted({route for route, _ in stops_for(instance, (task,))})
    routes = routes or [route for route, rules in enumerate(instance.problem.routes) if rules.allowed[task]]
    if any(quickest.there_and_back(route, place) for route in routes):
        return None
    off_road = [instance.legs.of(instance.crews[route].vehicle).no_road for route in routes]
    nearest = [next((off[site.id] for site in sites if site.id in off), None) for off in off_road]
    far = [metres for metres in nearest if metres is not None]
    if len(far) < len(nearest):
        on = f", on to {sites[-1].name}" if len(sites) > 1 else ""
        return Certain(ReasonCode.NO_WAY, f"there is no way from base to the site{on} and back")
    found = [metres for metres in far if metres != UNREACHABLE]
    between = [instance.legs.of(instance.crews[route].vehicle).barred.get(sites[0].id, "") for route in routes]
    if len(sites) > 1:
        both = f"{sites[0].name} and {sites[1].name}"
        return Certain(ReasonCode.NO_ROAD, f"of {both}, one has no road near that a vehicle able to go may use")
    where = f"the nearest road on the map where a vehicle able to go may stop is {min(found)} m away" if found else ""
    if found and all(between):
        where += f", beyond {between[found.index(min(found))]}, and the map knows no way over it"
    return Certain(ReasonCode.NO_ROAD, where or "the map has no road near the site that a vehicle able to go may use")


def _nobody_able(instance: Instance, kind: JobKind, sites: tuple[Site, ...]) -> Certain | None:
    reaching = [
        crew
        for crew in instance.crews
        if all(vehicle_reaches(instance.farm.vehicles[crew.vehicle].reaches, site) for site in sites)
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


def _short_of_stock(instance: Instance, task: int) -> Certain | None:
    if stock_holds(instance.problem, [task]):
        return None
    for supply, used in enumerate(used_by(instance.problem, [task])):
        stock = instance.problem.supplies[supply].stock
        if stock != NO_LIMIT and used > stock:
            facts = instance.farm.materials[instance.materials[supply]]
            return Certain(
                ReasonCode.NO_STOCK,
                f"needs {used / THOUSAND:g} {facts.unit} of {facts.name}; in store: {stock / THOUSAND:g}",
            )
    return None


def stops_for(instance: Instance, tasks: tuple[int, ...]) -> list[tuple[int, Planned]]:
    """Return every (route, stop) that could do just these tasks, whatever the load and the hour."""
    return [
        (route, Planned(number, tasks))
        for number in instance.problem.visits_for(tasks)
        for route, rules in enumerate(instance.problem.routes)
        if rules.day == instance.problem.visits[number].day and all(rules.allowed[task] for task in tasks)
    ]


def _no_window(instance: Instance, task: int, sites: tuple[Site, ...], kind: JobKind) -> Certain | None:
    if instance.problem.visits_of[task]:
        return None
    if len(sites) > 1 and any(site.hours for site in sites):
        both = f"{sites[0].name} and {sites[1].name}"
        return Certain(ReasonCode.CLOSED, f"{both} are never both open in the light that {kind.name} needs")
    site = sites[0]
    if site.hours:
        return Certain(ReasonCode.CLOSED, f"the site's opening hours never meet the light that {kind.name} needs")
    return Certain(ReasonCode.TOO_DARK, f"there is no time on this date with the light that {kind.name} needs")


def _too_heavy(instance: Instance, task: int) -> Certain | None:
    ways, problem = stops_for(instance, (task,)), used_up(instance.problem)
    if any(carries(problem, route, (planned,)) for route, planned in ways):
        return None
    most = max(instance.farm.vehicles[instance.crews[route].vehicle].payload_kg for route, _ in ways)
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


def _no_time(instance: Instance, task: int, quickest: QuickestWays) -> Certain | None:
    problem, least = instance.problem, used_up(instance.problem)
    every = stops_for(instance, (task,))
    if any(in_time(problem, quickest, route, stop) and carries(least, route, (stop,)) for route, stop in every):
        return None
    ways = [(route, stop) for route, stop in every if carries(least, route, (stop,))]
    ways = [way for way in ways if quickest.there_and_back(way[0], problem.visits[way[1].visit].place)]
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
        if instance.jobs[task].to:
            span = span.replace("the site is", "both sites are")
            work = "loading, the drive with the hives and setting down take"
        return Certain(code, f"{work} {duration(needed)} and {span} {duration(light)}")
    work = "loading, driving and setting down" if instance.jobs[task].to else "work"
    out, back = quickest.out(route, visit.place) or 0, quickest.back(route, visit.place) or 0
    return Certain(
        ReasonCode.TOO_FAR,
        f"{duration(out)} there, {duration(needed)} of {work} and {duration(back)} back do not fit between the "
        f"earliest start, the window {instance.clock(visit.opens):%H:%M} to {instance.clock(visit.closes):%H:%M} "
        "and home by",
    )
