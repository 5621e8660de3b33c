"""Will it all be done before dark? A yes with an order, or a no with a proof that a person can follow."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace

from routing.planning.bounds.spanning_tree import least_joining, least_work
from routing.planning.exact.subset_dp import Limits, Verdict, order_of_all
from routing.planning.explain.gates import not_for_light
from routing.planning.explain.left_out import certain_entry, left_out_groups
from routing.planning.explain.reasons import Certain, certain_reasons
from routing.planning.model.build import THOUSAND, Days, ends_of
from routing.planning.model.load import loads, stock_left
from routing.planning.model.narrow import is_packed, narrow
from routing.planning.model.order_costs import Rounds
from routing.planning.model.problem import NO_LIMIT, Order, Orders, Planned, Problem, rank_score, served, used_by
from routing.planning.search.insertion import construct
from routing.planning.search.solve import solve
from routing.round import FitAnswer, FitProof
from routing.words import at_least, count, duration, minutes_words

FIT_WORK = 20.0
"""Repeatable work units that the exact search of `fit` may use."""

LOOKS = (Limits(sets_a_size=300), Limits(sets_a_size=3000), Limits())
"""How widely every order is looked at, one after the other until there is an answer."""

MOST_SEARCHED = 400
"""Of more tasks than these sums are asked first, and by how much a longer day would hold them is not."""

STRETCH_LOOK = Limits(sets_a_size=30)
"""How widely every order of a longer day is looked at."""

MOST_STRETCHES = 4
"""A longer day is made shorter again so many times."""

MOST_SEARCHED_WHOLE = 14
"""Of so many possible visits, or fewer, every order of the longer day is looked at, however many turns it takes."""

MOST_WHOLE_STRETCHES = 40

LONGEST_STRETCH = 24 * 3600
"""Seconds by which a day may be thought longer."""


@dataclass(frozen=True)
class Bound:
    """A count that no order can beat, in seconds, and what it is compared with."""

    work: int
    driving: int
    rest: int
    """The break, where it must be taken: before the first work it takes the least light."""
    light: int
    """From the earliest first start, after the break, to the latest last finish."""
    joined: bool = True
    """Whether the driving between the sites is counted."""

    @property
    def missing(self) -> int:
        """Seconds that are lacking at the very least; 0 or less where the bound proves nothing."""
        return self.work + self.driving - self.light


@dataclass(frozen=True)
class Fitted:
    """The answer, and the orders where everything fits."""

    answer: FitAnswer
    orders: Orders = ()


def fit(days: Days) -> Fitted:
    """Return whether every due job can be done on the days.

    Visits that are impossible alone make it a no; the answer then also tells how the rest of the day stands.
    """
    everything = frozenset(range(len(days.problem.tasks)))
    if not everything:
        return Fitted(
            _answer(days, FitProof.ORDER, ["Nothing is due on this date."], fits=True), ((),) * len(days.crews)
        )
    certain = certain_reasons(days)
    tasks = everything - certain.keys()
    rest = _fit_possible(days, tasks) if tasks else None
    if not certain and rest is not None:
        return rest
    return _no_for_certain(days, certain, rest)


def too_full(days: Days) -> FitAnswer | None:
    """Return the answer of `fit` where sums alone prove that very many jobs are too much, None elsewhere."""
    certain = certain_reasons(days)
    tasks = frozenset(range(len(days.problem.tasks))) - certain.keys()
    rest = _by_sums(days, tasks) if len(tasks) > MOST_SEARCHED else None
    if rest is None:
        return None
    return _no_for_certain(days, certain, rest).answer if certain else rest.answer


def _no_for_certain(days: Days, certain: dict[int, Certain], rest: Fitted | None) -> Fitted:
    lines = [_no(days), *_certain_lines(days, certain)]
    if rest is not None:
        parts = any(job.of_hives for task, job in enumerate(days.jobs) if task not in certain)
        shared = ", large jobs shared out" if parts else ""
        fits = f"All the rest would fit{shared}."
        lines += [fits] if rest.answer.fits else ["Nor does the rest fit:", *rest.answer.lines[1:]]
    return Fitted(_answer(days, FitProof.CERTAIN, lines, rest.answer.missing_seconds if rest else 0))


def _fit_possible(days: Days, tasks: frozenset[int]) -> Fitted:
    """Answer for tasks each of which can be done alone."""
    if len(tasks) > MOST_SEARCHED:
        return _fit_many(days, tasks)
    if not is_packed(days.problem):
        return _fit_few(days, tasks)
    small = narrow(days.problem, tasks)
    found = _fit_few(replace(days, problem=small.problem), tasks)
    return replace(found, orders=small.widened(found.orders))


def _fit_many(days: Days, tasks: frozenset[int]) -> Fitted:
    """Answer for very many tasks: by sums of stock, loads and hours, and only where these hold by a search."""
    return _by_sums(days, tasks) or _several_crews(days, tasks)


def _by_sums(days: Days, tasks: frozenset[int]) -> Fitted | None:
    """Return a no that stock, loads or the work alone prove, drives between sites not looked at; None elsewhere."""
    over = [*_stock_lines(days, tasks), *_load_lines(days, tasks)]
    if over:
        return Fitted(_answer(days, FitProof.BOUND, [_no(days), *over]))
    bound = _without_driving(days, tasks)
    if bound.missing <= 0:
        return None
    lines = [_no(days), *_bound_lines(days, tasks, bound)]
    return Fitted(_answer(days, FitProof.BOUND, lines, bound.missing))


def _fit_few(days: Days, tasks: frozenset[int]) -> Fitted:
    orders = construct(Rounds(days.problem), tasks)
    if served(orders) == tasks:
        return Fitted(_yes(days), orders)
    over = [*_stock_lines(days, tasks), *_load_lines(days, tasks)]
    if over:
        return Fitted(_answer(days, FitProof.BOUND, [_no(days), *over]))
    if len(days.problem.routes) > 1:
        return _several_crews(days, tasks)
    return _search(days, tasks)


def _answer(days: Days, proof: FitProof, lines: Sequence[str], missing: int = 0, *, fits: bool = False) -> FitAnswer:
    return FitAnswer(date=days.date, fits=fits, proof=proof, lines=tuple(lines), missing_seconds=missing)


def _no(days: Days) -> str:
    return f"No: not everything due on {days.date:%A} {days.date.day} {days.date:%B %Y} can be done."


def _yes(days: Days) -> FitAnswer:
    sites = count(len({end for job in days.jobs for end in ends_of(job)}), "site")
    date = f"{days.date:%A} {days.date.day} {days.date:%B %Y}"
    line = f"Yes: everything due on {date} can be done, at {sites}, each in the light it needs."
    return _answer(days, FitProof.ORDER, [line, "The order below does it; every second of it is checked."], fits=True)


def _certain_lines(days: Days, certain: dict[int, Certain]) -> list[str]:
    empty: Orders = ((),) * len(days.crews)
    entries = [certain_entry(days, group, why) for group, why in left_out_groups(days, empty, certain) if why]
    return [
        f"{entry.name}: {', '.join(job.name for job in entry.jobs)}: {entry.reason} ({entry.text})."
        for entry in entries
    ]


def _stock_lines(days: Days, tasks: frozenset[int]) -> list[str]:
    lines = []
    for supply, used in enumerate(used_by(days.problem, tasks)):
        stock = days.problem.supplies[supply].stock
        if stock != NO_LIMIT and used > stock:
            facts = days.farm.materials[days.materials[supply]]
            have, short = stock / THOUSAND, (used - stock) / THOUSAND
            lines.append(
                f"Stock of {facts.name}: {used / THOUSAND:g} {facts.unit} needed, {have:g} at base, {short:g} short."
            )
    return lines


def _load_lines(days: Days, tasks: frozenset[int]) -> list[str]:
    """Say so where even all vehicles together cannot carry out what is used, or bring home what comes back."""
    problem = days.problem
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


def day_bound(days: Days, tasks: frozenset[int]) -> Bound:
    """Return what the day needs whatever the order and loads: all work, and the least driving that joins the sites.

    The sites must be joined by at least as much driving as their least spanning tree (each pair at the shorter of
    its two directions). The light runs from the earliest first start of any crew to its latest last finish, all crews
    added up; for one crew the break comes before the first start where it must be
    taken. Source: the spanning tree as a lower bound of every
    path, Held and Karp, Operations Research 18 (1970), from memory, not checked.
    """
    problem = days.problem.carefree
    places = sorted({visit.place for visit in problem.visits if not tasks.isdisjoint(visit.tasks)})
    return _bound(problem, tasks, places, least_joining(problem, places, len(problem.routes)))


def _without_driving(days: Days, tasks: frozenset[int]) -> Bound:
    """Return the same without the driving that joins the sites."""
    problem = days.problem.carefree
    places = sorted({visit.place for visit in problem.visits if not tasks.isdisjoint(visit.tasks)})
    return replace(_bound(problem, tasks, places, 0), joined=False)


def _bound(problem: Problem, tasks: frozenset[int], places: Sequence[int], driving: int) -> Bound:
    visits = [visit for visit in problem.visits if not tasks.isdisjoint(visit.tasks)]
    work = least_work(problem, tasks)
    rest = 0
    if len(problem.routes) == 1:
        rules = problem.routes[0]
        ends = min(int(rules.drive_seconds[0, p]) for p in places) + min(int(rules.drive_seconds[p, 0]) for p in places)
        if work + driving + ends > rules.break_after_seconds:
            rest = rules.break_seconds
    spans = [
        max(min(v.closes, r.home_by - int(r.drive_seconds[v.place, 0])) for v in visits)
        - min(max(v.opens, r.earliest_leave + rest + int(r.drive_seconds[0, v.place])) for v in visits)
        for r in problem.routes
    ]
    return Bound(work, driving, rest, sum(max(0, span) for span in spans))


def _bound_lines(days: Days, tasks: frozenset[int], bound: Bound) -> list[str]:
    """Return the count in words: minutes needed are rounded down and minutes there are up, so that it stays true."""
    sites = len({end for task in tasks for end in ends_of(days.jobs[task])})
    along = ", with the drives of hives that are moved," if any(days.jobs[task].to for task in tasks) else ""
    rest = f" (a break of {duration(bound.rest)} comes before it)" if bound.rest else ""
    minutes = bound.work // 60 + bound.driving // 60
    crews = "" if len(days.crews) == 1 else f", all {len(days.crews)} crews together"
    work = f"Work at {count(sites, 'site')}{along} takes {minutes_words(bound.work // 60)}"
    missing = max(0, minutes - -(-bound.light // 60))
    driving = f"the least driving that joins them {minutes_words(bound.driving // 60)}: {minutes_words(minutes)}"
    return [
        f"{work}, {driving if bound.joined else 'the driving between them not counted'}.",
        f"From the earliest first start{rest} to the latest last finish there are {duration(bound.light)}{crews}.",
        f"At least {minutes_words(missing) if missing else at_least(bound.missing)} are missing, whatever the order.",
    ]


def _several_crews(days: Days, tasks: frozenset[int]) -> Fitted:
    bound = day_bound(days, tasks)
    if bound.missing > 0:
        lines = [_no(days), *_bound_lines(days, tasks, bound)]
        return Fitted(_answer(days, FitProof.BOUND, lines, bound.missing))
    solution = solve(days.problem, tasks, FIT_WORK)
    if solution.interrupted:
        raise KeyboardInterrupt
    if served(solution.orders) == tasks:
        return Fitted(_yes(days), solution.orders)
    missing = len(tasks - served(solution.orders))
    # Each bound holds for all orders that do as much of the ranks before: so for those that would do everything.
    whole = rank_score(days.problem, tasks)
    if any(most < all_of_it for most, all_of_it in zip(solution.rank_bounds, whole, strict=True)):
        lines = [
            _no(days),
            "Proved for several crews: no way to share the work out, in whatever order, does it all."
            if len(days.problem.routes) > 1
            else "Proved: no order does it all.",
            f"The best one found leaves out {count(missing, 'job')}.",
        ]
        return Fitted(_answer(days, FitProof.SHARED, lines))
    many = "several crews" if len(days.problem.routes) > 1 else "so many jobs"
    lines = [
        f"Not found: no order was found that does everything due on {days.date.isoformat()}.",
        f"The best one leaves out {count(missing, 'job')}; with {many} that is not proved least.",
    ]
    return Fitted(_answer(days, FitProof.NOT_PROVED, lines))


def _search(days: Days, tasks: frozenset[int]) -> Fitted:
    """Answer for one crew: by arithmetic, by every order at once, or by the exact search for the least stretch."""
    bound = day_bound(days, tasks)
    if bound.missing > 0:
        lines = [_no(days), *_bound_lines(days, tasks, bound)]
        missing = _missing(days, tasks, bound)
        # Two figures of what is missing would confuse: the arithmetic's gives way to one that is found and higher.
        told = lines[:-1] if missing.exact and missing.at_least > bound.missing else lines
        more = [] if missing.exact and told is lines else missing.lines
        return Fitted(_answer(days, FitProof.BOUND, [*told, *more], missing.at_least))
    for limits in LOOKS:
        verdict = day_for_all(days.problem, tasks, bound, limits)
        if verdict.order:
            return Fitted(_yes(days), (verdict.order,))
        if verdict.proven:
            missing = _missing(days, tasks, bound)
            return Fitted(_answer(days, FitProof.SEARCH, [_no(days), *missing.lines], missing.at_least))
    return _exact(days, tasks)


def day_for_all(problem: Problem, tasks: frozenset[int], bound: Bound, limits: Limits, longer: int = 0) -> Verdict:
    """Return an order of the one route that does everything and breaks nothing, or whether there is none.

    Light and home-by end `longer` seconds later.
    """
    later = _stretched(problem, longer)
    rest = later.carefree.routes[0].break_seconds > 0
    verdict = order_of_all(later.carefree, 0, tasks, limits, rest=rest)
    if not verdict.order and verdict.proven and rest and not bound.rest:
        verdict = order_of_all(later.carefree, 0, tasks, limits, rest=False)
    if verdict.order and Rounds(later).cost(0, verdict.order) is None:
        return Verdict((), proven=False, ends=verdict.ends)
    return verdict


@dataclass(frozen=True)
class _Missing:
    at_least: int
    """Seconds; proved."""
    lines: list[str]
    exact: bool = False
    """Whether it is no more than that either."""


def _missing(days: Days, tasks: frozenset[int], bound: Bound) -> _Missing:
    """Tell how much longer the day must be: by an order for a far longer day, then for less than that one needs."""
    problem, at_least = days.problem, max(0, bound.missing)
    few = sum(not tasks.isdisjoint(visit.tasks) for visit in problem.visits) <= MOST_SEARCHED_WHOLE
    look, turns = (Limits(), MOST_WHOLE_STRETCHES) if few else (STRETCH_LOOK, MOST_STRETCHES)
    tried = day_for_all(problem, tasks, bound, look, LONGEST_STRETCH)
    if not tried.order:
        return _Missing(at_least, [not_for_light(days, tasks, FIT_WORK)] if tried.proven else [])
    enough = LONGEST_STRETCH
    while tried.order and turns:
        enough = _stretch_of(problem, tried.order)
        tried = day_for_all(problem, tasks, bound, look, enough - 1)
        turns -= 1
    if enough <= at_least or (not tried.order and tried.proven):
        return _Missing(enough, [_too_short(enough)], exact=True)
    line = f"With {duration(enough)} more light (and later home) an order was found that does everything."
    return _Missing(at_least, [line])


def _too_short(seconds: int) -> str:
    return f"Every order was looked at: the day is {duration(seconds)} too short, in light and in coming home."


def _stretch_of(problem: Problem, order: Order) -> int:
    """Return the seconds by which light and home-by must be later for this order."""

    def fits(longer: int) -> bool:
        return Rounds(_stretched(problem, longer)).cost(0, order) is not None

    return bisect_left(range(LONGEST_STRETCH), 1, key=fits)


def _exact(days: Days, tasks: frozenset[int]) -> Fitted:
    """Answer by CP-SAT, which sees loads too: the least stretch of the day that lets everything be done."""
    from routing.planning.exact.circuit_model import Relax  # noqa: PLC0415
    from routing.planning.exact.cp_sat import Budget, least_extension  # noqa: PLC0415

    stretch = least_extension(
        days.problem,
        0,
        tasks,
        stock_left(days.problem, ()),
        frozenset({Relax.LIGHT, Relax.HOME}),
        Budget(FIT_WORK),
    )
    if stretch.seconds == 0 and Rounds(days.problem).cost(0, stretch.order) is not None:
        return Fitted(_yes(days), (stretch.order,))
    lines = [_no(days)]
    if stretch.seconds is None:
        ended = "The search ended before it was proved."
        lines.append(not_for_light(days, tasks, FIT_WORK) if stretch.least else ended)
    elif stretch.least:
        lines.append(_too_short(stretch.seconds))
    else:
        lines.append(f"The search ended before it was proved; {duration(stretch.seconds)} more would be enough.")
    proof = FitProof.SEARCH if stretch.least else FitProof.NOT_PROVED
    return Fitted(_answer(days, proof, lines, stretch.seconds or 0 if stretch.least else 0))


def _stretched(problem: Problem, seconds: int) -> Problem:
    """Return the problem in which light, and the time to be home, end so much later; gates shut as they did."""
    if not seconds:
        return problem  # with all that is remembered of it
    return replace(
        problem,
        visits=tuple(
            replace(visit, closes=visit.closes + seconds) if visit.closed_by_light else visit
            for visit in problem.visits
        ),
        routes=tuple(replace(route, home_by=route.home_by + seconds) for route in problem.routes),
    )
