"""The lines of the answer to `fit`."""

from __future__ import annotations

from collections.abc import Sequence

from routing.plain_words import at_least, count, duration, minutes_words
from routing.planning.explain.day_bound import DayBound
from routing.planning.explain.left_out import certain_entry, left_out_groups
from routing.planning.explain.reasons import Certain
from routing.planning.model.demands import THOUSAND
from routing.planning.model.instance import Instance
from routing.planning.model.load import loads
from routing.planning.model.possible_visits import ends_of
from routing.planning.model.problem import NO_LIMIT, Orders, Planned, used_by
from routing.round import FitAnswer, FitProof


def fit_answer(
    instance: Instance, proof: FitProof, lines: Sequence[str], missing: int = 0, *, fits: bool = False
) -> FitAnswer:
    """Return the answer for the first date."""
    return FitAnswer(date=instance.date, fits=fits, proof=proof, lines=tuple(lines), missing_seconds=missing)


def no_line(instance: Instance) -> str:
    """Return the line that says no."""
    return f"No: not everything due on {instance.date:%A} {instance.date.day} {instance.date:%B %Y} can be done."


def fitting_answer(instance: Instance) -> FitAnswer:
    """Return the answer that says yes."""
    sites = count(len({end for job in instance.jobs for end in ends_of(job)}), "site")
    date = f"{instance.date:%A} {instance.date.day} {instance.date:%B %Y}"
    line = f"Yes: everything due on {date} can be done, at {sites}, each in the light it needs."
    return fit_answer(
        instance, FitProof.ORDER, [line, "The order below does it; every second of it is checked."], fits=True
    )


def certain_lines(instance: Instance, certain: dict[int, Certain]) -> list[str]:
    """Return a line for each job that no crew can do even alone."""
    empty: Orders = ((),) * len(instance.crews)
    entries = [certain_entry(instance, group, why) for group, why in left_out_groups(instance, empty, certain) if why]
    return [
        f"{entry.name}: {', '.join(job.name for job in entry.jobs)}: {entry.reason} ({entry.text})."
        for entry in entries
    ]


def stock_lines(instance: Instance, tasks: frozenset[int]) -> list[str]:
    """Return a line for each material of which more is needed than the base holds."""
    lines = []
    for supply, used in enumerate(used_by(instance.problem, tasks)):
        stock = instance.problem.supplies[supply].stock
        if stock != NO_LIMIT and used > stock:
            facts = instance.farm.materials[instance.materials[supply]]
            have, short = stock / THOUSAND, (used - stock) / THOUSAND
            lines.append(
                f"Stock of {facts.name}: {used / THOUSAND:g} {facts.unit} needed, {have:g} at base, {short:g} short."
            )
    return lines


def load_lines(instance: Instance, tasks: frozenset[int]) -> list[str]:
    """Say so where even all vehicles together cannot carry out what is used, or bring home what comes back."""
    problem = instance.problem
    everything = tuple(
        Planned(problem.visits_of[task][0], (task,)) for task in sorted(tasks) if problem.visits_of[task]
    )
    load = loads(problem, everything)
    grams = [s.grams_each for s in problem.supplies]
    litres = [s.millilitres_each for s in problem.supplies]
    lines = []
    for amounts, verb in ((load.used, "taken out"), (load.brought, "brought back")):
        for each, limits, unit in (
            (grams, [route.payload_grams * route.most_trips for route in problem.routes], "kg"),
            (litres, [route.space_millilitres * route.most_trips for route in problem.routes], "litres"),
        ):
            total, limit = sum(a * e for a, e in zip(amounts, each, strict=True)), sum(limits)
            if total > limit:
                lines.append(
                    f"Load: {total / THOUSAND:g} {unit} must be {verb}; in all the trips that they may make, "
                    f"the vehicles carry {limit / THOUSAND:g} {unit}."
                )
    return lines


def bound_lines(instance: Instance, tasks: frozenset[int], bound: DayBound) -> list[str]:
    """Return the count in words: minutes needed are rounded down and minutes there are up, so that it stays true."""
    sites = len({end for task in tasks for end in ends_of(instance.jobs[task])})
    along = ", with the drives of hives that are moved," if any(instance.jobs[task].to for task in tasks) else ""
    rest = f" (a break of {duration(bound.rest)} comes before it)" if bound.rest else ""
    minutes = bound.work // 60 + bound.driving // 60
    crews = "" if len(instance.crews) == 1 else f", all {len(instance.crews)} crews together"
    work = f"Work at {count(sites, 'site')}{along} takes {minutes_words(bound.work // 60)}"
    missing = max(0, minutes - -(-bound.light // 60))
    driving = f"the least driving that joins them {minutes_words(bound.driving // 60)}: {minutes_words(minutes)}"
    return [
        f"{work}, {driving if bound.joined else 'the driving between them not counted'}.",
        f"From the earliest first start{rest} to the latest last finish there are {duration(bound.light)}{crews}.",
        f"At least {minutes_words(missing) if missing else at_least(bound.missing)} are missing, whatever the order.",
    ]


def too_short_line(seconds: int) -> str:
    """Return the line for a day that is proved too short by so much."""
    return f"Every order was looked at: the day is {duration(seconds)} too short, in light and in coming home."
