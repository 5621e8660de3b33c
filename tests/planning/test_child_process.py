"""Engines in a process of their own, and beside the main one: the same answers, ended when told, failures not hidden."""

from __future__ import annotations

import _thread
import sys
import threading
import time
from dataclasses import dataclass, field

import pytest

from routing.planning.heuristics.pyvrp import PyVRP
from routing.planning.heuristics.vroom import Vroom
from routing.planning.model.engine import Ask, Engine, Limit, empty
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import Order, Orders, Problem, served
from routing.planning.running.budget import Budget
from routing.planning.running.child_process import InChildProcess
from routing.planning.search.background_run import BackgroundRun
from routing.planning.search.driver import Search
from routing.planning.search.engines import engines_for
from routing.planning.search.exchange import LEAST_SECONDS_APART
from routing.planning.search.incumbent import measure
from routing.planning.search.insertion import construct, fill
from routing.planning.search.repair import repaired
from routing.planning.search.schedule import NO_END
from routing.planning.search.solve import solve
from tests.farm_rounds import farm_round
from tests.planning.own_clock import own_clock
from tests.planning.random_problems import key, random_problem, wait_until_over
from tests.planning.small_engines import Heard, Scarce, Sleeper, Teller, Unheard

__all__ = ["own_clock"]  # a fixture is found by its name


def problem() -> Problem:
    return random_problem(3, visits=8, routes=2, features=frozenset({"hours", "load"}))


def everything() -> frozenset[int]:
    return frozenset(range(len(problem().tasks)))


def test_an_engine_apart_answers_as_it_does_here() -> None:
    """The orders, and the routes told of on the way, are the same; what was remembered of the problem stays here."""
    asked = problem()
    assert asked.heavy is not None
    assert asked.on_site_seconds is not None
    answers = []
    for engine in (Vroom(), InChildProcess(Vroom())):
        found: list[tuple[int, Order]] = []
        ask = Ask(asked, everything(), Limit(100), found=Heard(found))
        answers.append((engine(ask), found))
    assert answers[0] == answers[1]
    assert served(answers[0][0])


def test_a_question_larger_than_any_pipe_is_answered() -> None:
    """Drives between 200 places are more than a pipe holds at once; the engine itself takes no time."""
    large = farm_round(1, 200)
    ask = Ask(large, frozenset(range(200)), Limit(0))
    begun = time.monotonic()
    assert InChildProcess(Sleeper(0))(ask) == Sleeper(0)(ask)
    assert time.monotonic() - begun < 60


def test_an_engine_that_does_not_heed_its_time_is_ended() -> None:
    """It would sleep on for a minute; some seconds after its time is over it is gone, and has proposed nothing."""
    begun = time.monotonic()
    limit = Limit(0, deadline=begun + 1)
    assert InChildProcess(Sleeper(heeds=False))(Ask(problem(), everything(), limit)) == empty(problem())
    assert time.monotonic() - begun < 30


@pytest.mark.clock
def test_an_engine_apart_ends_when_its_time_is_over_however_long_it_took_to_begin() -> None:
    """Its process takes some tenths of a second to begin, more on a busy computer; they are part of the time."""
    limit = Limit(0, deadline=time.monotonic() + 8)
    orders = InChildProcess(Sleeper())(Ask(problem(), everything(), limit))
    assert served(orders)
    assert (
        time.monotonic() - (limit.deadline or 0) < 8
    )  # had it begun to count only then, it would sleep on for a minute


def test_an_engine_apart_is_told_that_light_is_scarce() -> None:
    for scarce in (False, True):
        ask = Ask(problem(), everything(), Limit(10), scarce=scarce)
        assert InChildProcess(Scarce())(ask) == Scarce()(ask)


@pytest.mark.parametrize("program", ["/nowhere/at-all", "/bin/false"])
def test_where_no_process_answers_the_engine_runs_here(monkeypatch: pytest.MonkeyPatch, program: str) -> None:
    monkeypatch.setattr(sys, "executable", program)
    ask = Ask(problem(), everything(), Limit(100))
    assert InChildProcess(Vroom())(ask) == Vroom()(ask)


@pytest.mark.clock
def test_ctrl_c_ends_an_engine_apart_at_once() -> None:
    """The engine would sleep for a minute; half a second after Ctrl-C nobody waits for it any more."""
    threading.Timer(1.5, _thread.interrupt_main).start()
    begun = time.monotonic()
    with pytest.raises(KeyboardInterrupt):
        InChildProcess(Sleeper())(Ask(problem(), everything(), Limit(1000)))
    assert time.monotonic() - begun < 20


@pytest.mark.clock
@pytest.mark.parametrize("engine", [Sleeper(), InChildProcess(Sleeper())], ids=["here", "apart"])
def test_a_run_beside_is_halted_and_gives_what_it_found(engine: Engine) -> None:
    """Soon after it has begun too: told then, the one apart answers as soon as it has read the question."""
    beside = BackgroundRun(engine, Ask(problem(), everything(), Limit(1000))).start()
    begun = time.monotonic()
    beside.halt()
    orders = beside.end()
    assert time.monotonic() - begun < 20
    assert orders is not None
    assert beside.found == [(0, orders[0])]


@pytest.mark.parametrize("engine", [Teller(), InChildProcess(Teller())], ids=["here", "apart"])
def test_a_run_beside_is_heard_while_it_goes_on(engine: Engine) -> None:
    """Its best so far is known though it has not ended; from another process too."""
    beside = BackgroundRun(engine, Ask(problem(), everything(), Limit(1000))).start()
    end = time.monotonic() + 30
    while not beside.told and time.monotonic() < end:
        time.sleep(0.01)
    assert beside.orders is None
    ((_, told),) = beside.told
    assert told == construct(OrderCosts(problem()), everything())
    beside.halt()
    assert beside.end() == told


def test_an_engine_apart_is_told_whether_somebody_listens() -> None:
    heard: list[Orders] = []
    for better in (None, heard.append):
        ask = Ask(problem(), everything(), Limit(10), better=better)
        assert InChildProcess(Unheard())(ask) == Unheard()(ask)
    assert not heard


def test_a_run_beside_that_breaks_is_told_of_at_its_end() -> None:
    beside = BackgroundRun(Sleeper(breaks=True), Ask(problem(), everything(), Limit(1000))).start()
    with pytest.raises(ValueError, match="broken"):
        beside.end()


@pytest.fixture
def begun(monkeypatch: pytest.MonkeyPatch) -> list[BackgroundRun]:
    """Return the runs that are begun beside, where there are two cores."""
    monkeypatch.setattr("routing.planning.search.exchange.cores", lambda: 2)
    found: list[BackgroundRun] = []
    start = BackgroundRun.start

    def started(one: BackgroundRun) -> BackgroundRun:
        found.append(one)
        return start(one)

    monkeypatch.setattr(BackgroundRun, "start", started)
    return found


@pytest.mark.usefixtures("own_clock")
def test_by_the_clock_a_second_run_goes_beside_and_nothing_of_it_is_lost(begun: list[BackgroundRun]) -> None:
    """Where there are two cores, the last engine runs beside from the beginning; what it finds can only help."""
    wide = random_problem(5, visits=14, routes=2, features=frozenset({"hours"}))
    tasks = frozenset(range(len(wide.tasks)))
    solution = solve(wide, tasks, seconds=3, prove=False)
    (beside,) = begun
    assert isinstance(beside.engine, PyVRP)
    assert beside.orders is not None
    search = Search(wide, tasks, Budget())
    search.offer(beside.orders)
    ours, theirs = key(wide, solution.orders), key(wide, search.best)
    assert ours is not None
    assert theirs is not None
    assert ours >= theirs
    assert begun == [beside]


@pytest.mark.clock
def test_where_there_is_time_for_it_the_run_beside_has_a_process_of_its_own(begun: list[BackgroundRun]) -> None:
    wide = random_problem(5, visits=14, routes=2, features=frozenset({"hours"}))
    at = time.monotonic()
    search = Search(wide, frozenset(range(len(wide.tasks))), Budget(60, at + LEAST_SECONDS_APART + 1))
    search.run(1, (PyVRP(),))
    (beside,) = begun
    assert isinstance(beside.engine, InChildProcess)
    assert isinstance(beside.engine.engine, PyVRP)
    assert beside.orders is not None
    assert served(beside.orders)
    assert beside.found
    assert time.monotonic() - at < LEAST_SECONDS_APART + 3


@dataclass(eq=False)
class Sown:
    """Proposes nothing, and keeps the seeds that it was asked with."""

    seeds: list[int] = field(default_factory=list)
    name: str = "sown"

    def __call__(self, ask: Ask) -> Orders:
        self.seeds.append(ask.limit.seed)
        wait_until_over(ask)
        return empty(ask.problem)


@pytest.mark.usefixtures("own_clock")
def test_the_run_beside_and_the_main_one_draw_by_other_seeds(monkeypatch: pytest.MonkeyPatch) -> None:
    """With the same one both cores would do the same."""
    monkeypatch.setattr("routing.planning.search.exchange.cores", lambda: 2)
    wide = random_problem(5, visits=14, routes=2, features=frozenset({"hours"}))
    sown = Sown()
    Search(wide, frozenset(range(len(wide.tasks))), Budget(60, time.monotonic() + 3)).run(1, (sown,))
    first, second = sown.seeds[:2]  # one beside, one here
    assert first != second


@dataclass(eq=False)
class Prompted:
    """Proposes what it starts from; the run beside, which only the clock ends, tells of a whole round at once."""

    starts: list[Orders | None] = field(default_factory=list)
    scarce: list[bool] = field(default_factory=list)
    name: str = "prompted"

    def __call__(self, ask: Ask) -> Orders:
        if ask.limit.iterations == NO_END:
            return Teller()(ask)
        self.starts.append(ask.start)
        self.scarce.append(ask.scarce)
        wait_until_over(ask)
        return ask.start or empty(ask.problem)


@pytest.fixture
def side_by_side(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let two runs go on in this process."""
    monkeypatch.setattr("routing.planning.search.exchange.cores", lambda: 2)
    monkeypatch.setattr("routing.planning.search.exchange.LEAST_SECONDS_APART", 60)


@pytest.mark.usefixtures("own_clock", "side_by_side")
def test_the_last_stretch_goes_on_from_the_better_of_the_two_that_go_on_side_by_side() -> None:
    """Until then the main one keeps to its own orders: here it has none."""
    wide = random_problem(5, visits=14, routes=2, features=frozenset())
    tasks = frozenset(range(len(wide.tasks)))
    prompted = Prompted()
    Search(wide, tasks, Budget(60, time.monotonic() + 3)).run(1, (prompted,))
    told = construct(OrderCosts(wide), tasks)
    assert prompted.starts[0] is None
    start = prompted.starts[-1]
    assert start is not None
    assert served(start) >= served(told)


@dataclass(eq=False)
class Genetic:
    """Proposes what it hears of elsewhere; keeps until when it was to run, and what of."""

    heard: list[Orders] = field(default_factory=list)
    ends: list[float] = field(default_factory=list)
    name: str = "genetic"

    def __call__(self, ask: Ask) -> Orders:
        assert ask.limit.deadline is not None
        self.ends.append(ask.limit.deadline)
        wait_until_over(ask)
        assert ask.elsewhere is not None
        orders = ask.elsewhere() or empty(ask.problem)
        self.heard.append(orders)
        return orders


@pytest.mark.usefixtures("own_clock", "side_by_side")
def test_the_genetic_engine_has_the_time_here_to_the_end_and_hears_of_the_run_beside() -> None:
    """Of three engines the first is left out, the second starts briefly, the last goes on beside."""
    roomy = farm_round(0, 14, 2, 2)
    tasks = frozenset(range(14))
    genetic, begun, seconds = Genetic(), time.monotonic(), 6
    first, last = Prompted(), Prompted()
    search = Search(roomy, tasks, Budget(60, begun + seconds))
    search.run(1, (first, Sleeper(), last), genetic=genetic)
    assert genetic.heard[0] == construct(OrderCosts(roomy), tasks)
    assert genetic.ends[0] - begun > 0.8 * seconds
    assert not first.starts
    assert not last.starts
    assert served(search.best) == tasks


@pytest.mark.usefixtures("own_clock")
@pytest.mark.parametrize("clock", [False, True])
def test_where_nothing_goes_on_beside_the_genetic_engine_takes_turns(
    monkeypatch: pytest.MonkeyPatch, *, clock: bool
) -> None:
    """By the clock on one core, and by a count of iterations."""
    monkeypatch.setattr("routing.planning.search.exchange.cores", lambda: 1)
    wide = random_problem(5, visits=14, routes=2, features=frozenset())
    turns: list[str] = []

    @dataclass(frozen=True)
    class Noted:
        name: str

        def __call__(self, ask: Ask) -> Orders:
            assert ask.elsewhere is None
            turns.append(self.name)
            return Sleeper(0)(ask)

    search = Search(wide, frozenset(range(len(wide.tasks))), Budget(60, time.monotonic() + 2 if clock else None))
    search.run(1, (Noted("start"), Noted("last")), genetic=Noted("genetic"))
    assert turns[:4] == ["start", "genetic", "last", "genetic"]


@dataclass(frozen=True)
class Halves:
    """Tells of the days of a round by halves, and proposes a poor one."""

    known: Orders
    name: str = "halves"

    def __call__(self, ask: Ask) -> Orders:
        assert ask.better is not None
        for half in range(2):
            ask.better(tuple(order if route % 2 == half else () for route, order in enumerate(self.known)))
        wait_until_over(ask)
        return fill(OrderCosts(ask.problem), empty(ask.problem), ask.tasks)


@pytest.mark.usefixtures("own_clock")
def test_what_was_told_of_on_the_way_is_recombined(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two halves of a round are put together, though nobody listens to progress and no run ended with either."""
    monkeypatch.setattr("routing.planning.search.exchange.cores", lambda: 1)
    roomy = farm_round(7, 60, 5, 2)
    tasks, order_costs = frozenset(range(60)), OrderCosts(roomy)
    known = repaired(order_costs, PyVRP()(Ask(roomy, tasks, Limit(2000))))
    assert measure(order_costs, known) > measure(order_costs, fill(order_costs, empty(roomy), tasks))
    search = Search(roomy, tasks, Budget(1, time.monotonic() + 4))
    search.run(1, (Halves(known),))
    assert measure(order_costs, search.best) >= measure(order_costs, known)


@dataclass(frozen=True)
class Ahead:
    """Beside it is a teller; here it serves nothing, tells of that, and at last presses Ctrl-C."""

    name: str = "ahead"

    def __call__(self, ask: Ask) -> Orders:
        if ask.limit.iterations == NO_END:
            return Teller()(ask)
        for _ in range(100):
            time.sleep(0.01)
            assert ask.better is not None
            ask.better(empty(ask.problem))
        raise KeyboardInterrupt


@pytest.mark.usefixtures("own_clock", "side_by_side")
def test_what_the_run_beside_has_is_shown_and_ctrl_c_keeps_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """The one here has nothing better; nothing is shown that is worse than what was shown before."""
    monkeypatch.setattr("routing.planning.search.engines.engines_for", lambda *_: (Ahead(),))
    wide = random_problem(5, visits=14, routes=2, features=frozenset({"hours"}))
    tasks, order_costs = frozenset(range(len(wide.tasks))), OrderCosts(wide)
    shown: list[Orders] = []
    solution = solve(wide, tasks, seconds=20, progress=shown.append, prove=False)
    assert solution.interrupted
    told = fill(order_costs, construct(order_costs, tasks), tasks)
    measures = [measure(order_costs, orders) for orders in shown]
    assert measure(order_costs, told) in measures
    assert measures == sorted(set(measures))
    assert measure(order_costs, solution.orders) >= measures[-1]


@pytest.mark.usefixtures("own_clock", "side_by_side")
def test_where_light_is_scarce_the_last_stretch_saves_it_for_every_task() -> None:
    """From what was told beside: once with light saved, then for the time away."""
    tight = farm_round(7, 60, 5, 1)
    prompted = Prompted()
    Search(tight, frozenset(range(60)), Budget(60, time.monotonic() + 10)).run(1, (prompted,))
    assert prompted.starts[0] is None
    assert prompted.scarce[0]
    assert prompted.scarce[-2:] == [True, False]
    assert all(start is not None and served(start) for start in prompted.starts[-2:])


def test_many_visits_are_begun_by_an_engine_apart_and_few_here() -> None:
    many, few = (engines_for(problem(), count)[0] for count in (60, 20))
    assert isinstance(many, InChildProcess)
    assert isinstance(few, Vroom)


def test_our_own_search_takes_part_in_rounds_of_many_visits_without_returns() -> None:
    names = [type(engine).__name__ for engine in engines_for(problem(), 60)]
    assert names == ["InChildProcess", "RuinRecreate", "PyVRP"]
    heavy = random_problem(1, visits=4, routes=2, features=frozenset({"load", "returns"}))
    assert any(heavy.returns)
    assert [type(engine).__name__ for engine in engines_for(heavy, 60)] == ["InChildProcess", "PyVRP"]


def test_nothing_is_empty_orders() -> None:
    assert empty(problem()) == ((), ())
