"""Parts done by others: the same answers whoever does them, none lost with its worker, nobody left behind."""

from __future__ import annotations

import datetime as dt
import logging
import os
import pickle
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor
from multiprocessing import get_context

import pytest
from distributed import Client, LocalCluster

from routing.planning.model.build_instance import build_instance
from routing.planning.model.order_costs import OrderCosts
from routing.planning.model.problem import served
from routing.planning.plan import Wish, plan_days
from routing.planning.running.parts import GRACE_SECONDS, Here, Parts
from routing.planning.running.processes import Processes
from routing.planning.search import by_parts, closing, parting
from routing.planning.search import solve as solving
from routing.planning.search.incumbent import Incumbent
from routing.planning.search.insertion import construct
from routing.planning.search.runs_apart import RUNS, RunsApart
from routing.planning.search.solve import solve
from routing.travel.farm import farm_legs
from tests.large_rounds import large_round
from tests.planning.parts_to_do import dies_elsewhere, refused, squared, who
from tests.planning.small_engines import built
from tests.random_farms import random_farm


def alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return True


class Lost(Executor):
    """Takes parts and loses them all, or takes none."""

    def __init__(self, *, takes: bool) -> None:
        self.takes = takes

    def submit[**P, T](self, fn: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        del fn, args, kwargs
        if not self.takes:
            raise BrokenExecutor("gone")
        part: Future[T] = Future()
        part.set_exception(BrokenExecutor("lost"))
        return part


def test_answers_come_in_the_order_of_the_parts_whoever_does_them() -> None:
    expected = [number * number for number in range(7)]
    executors: list[Executor] = [Here(), Processes(1), Processes(2), Lost(takes=True), Lost(takes=False)]
    for executor in executors:
        with executor, Parts(executor) as parts:
            assert parts.done(squared, range(7)) == expected
    with Parts() as parts:
        assert parts.done(squared, range(7)) == expected
        assert list(parts.each(squared, range(7), None)) == expected


def test_a_part_whose_process_is_killed_is_done_again_and_costs_no_other() -> None:
    """The process is killed in the middle of the third part; another does the rest, and this one does the third."""
    with Processes(1) as executor:
        futures = [executor.submit(dies_elsewhere, (number, os.getpid())) for number in range(5)]
        assert [isinstance(each.exception(), BrokenExecutor) for each in futures] == [False, False, True, False, False]
        with Parts(executor) as parts:
            assert parts.done(dies_elsewhere, [(number, os.getpid()) for number in range(5)]) == list(range(5))


def test_a_pool_of_the_standard_library_that_broke_costs_nothing_but_time() -> None:
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as executor, Parts(executor) as parts:
        assert parts.done(dies_elsewhere, [(number, os.getpid()) for number in range(5)]) == list(range(5))


def test_what_a_part_raises_is_raised() -> None:
    for executor in (Here(), Processes(2)):
        with executor, Parts(executor) as parts, pytest.raises(ValueError, match="no 3"):
            parts.done(refused, [3, 4])


def test_what_cannot_be_sent_is_done_here() -> None:
    with Processes(1) as executor:
        assert isinstance(executor.submit(lambda: 1).exception(), (pickle.PicklingError, AttributeError))
        with Parts(executor) as parts:
            assert parts.done(lambda number: number + 1, [1, 2]) == [2, 3]


def test_no_process_is_left_and_no_part_is_waited_for_at_the_end() -> None:
    """Two processes of their own do something for a minute; both are gone a moment after the end."""
    with Parts() as parts:
        pids = set(parts.done(who, range(4)))
        assert os.getpid() not in pids
        begun = time.monotonic()
        for _ in range(6):
            parts.begin(time.sleep, 60)
        time.sleep(0.1)
    assert time.monotonic() - begun < 5
    assert not any(alive(pid) for pid in pids)


def test_a_part_that_is_called_off_ends_with_its_process() -> None:
    with Processes(1) as executor:
        pid = executor.submit(os.getpid).result()
        part = executor.submit(time.sleep, 60)
        time.sleep(0.2)
        assert part.cancel()
        assert isinstance(part.exception(timeout=5), BrokenExecutor)
        assert executor.submit(os.getpid).result() != pid


def test_a_part_that_is_late_is_left_away() -> None:
    with Parts() as parts:
        assert list(parts.each(time.sleep, [30], time.monotonic() - GRACE_SECONDS)) == [None]


@pytest.fixture(scope="module")
def cluster() -> Iterator[Client]:
    """Return a cluster of this machine with two workers."""
    with (
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=logging.CRITICAL) as made,
        Client(made) as client,
    ):
        yield client


@pytest.fixture(scope="module")
def two() -> Iterator[Processes]:
    """Return two processes, which read the planning once for all parts that they do."""
    with Processes(2) as executor:
        yield executor


@pytest.mark.filterwarnings("default")  # what the cluster's library warns of at its start and end is its own
def test_a_cluster_does_parts_and_loses_none_with_a_worker(cluster: Client) -> None:
    with Parts(cluster.get_executor()) as parts:
        assert parts.done(squared, range(7)) == [number * number for number in range(7)]
        assert parts.done(dies_elsewhere, [(number, os.getpid()) for number in range(4)]) == list(range(4))


@pytest.mark.filterwarnings("default")  # what the cluster's library warns of at its start and end is its own
def test_a_round_by_parts_is_the_same_whoever_does_them(
    cluster: Client, two: Processes, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Thirty visits in parts of two crew-days: here, by one process, by two, by a cluster, and where all are lost."""
    monkeypatch.setattr(solving, "MOST_WHOLE", 15)
    monkeypatch.setattr(parting, "ROUTES_A_PART", 2)
    monkeypatch.setattr(by_parts, "ITERATIONS_A_TASK", 5)
    problem = large_round(2, 30, 2, 3)
    found = []
    with Processes(1) as one:
        for executor in (Here(), one, two, cluster.get_executor(), Lost(takes=True)):
            with Parts(executor) as parts:
                found.append(solve(problem, frozenset(range(30)), 10, parts=parts))
    assert served(found[0].orders)
    assert found == [found[0]] * len(found)


@pytest.mark.parametrize(("seed", "days"), [(402, 1), (405, 2), (407, 2), (410, 3)])
def test_a_plan_is_the_same_whoever_does_its_parts(
    seed: int, days: int, two: Processes, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Crew-days, remedies and late work begun beside bounds: the very same round, in parts and one after the other."""
    monkeypatch.setattr(closing, "may_be_closed", lambda *_: False)  # else bounds are not sought for so few
    farm, date = random_farm(seed)
    dates = tuple(date + dt.timedelta(days=ahead) for ahead in range(days))
    instance = build_instance(farm, farm_legs(farm), dates)
    here, beside = (plan_days(instance, 2, Wish(executor=executor)).model_dump_json() for executor in (Here(), two))
    assert here == beside


SCRIPT = """
import sys
from routing.planning.running.parts import Parts
from routing.planning.search import parting, solve as solving
from tests.large_rounds import large_round
from tests.planning.parts_to_do import dies_elsewhere, refused, squared, who
from tests.planning.small_engines import built
solving.MOST_WHOLE, parting.ROUTES_A_PART = 30, 2
problem = large_round(2, 120, 2, 6)
told = lambda orders: print("told", flush=True)
with Parts() as parts:
    found = solving.solve(problem, frozenset(range(120)), seconds=120, progress=told, parts=parts)
print("interrupted", found.interrupted, flush=True)
"""


@pytest.mark.clock
def test_ctrl_c_ends_all_quickly_and_leaves_no_process_behind() -> None:
    """Ctrl-C goes to the whole group, as a terminal sends it; the best so far is there within seconds."""
    process = subprocess.Popen(
        [sys.executable, "-c", SCRIPT], stdout=subprocess.PIPE, text=True, start_new_session=True
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "told\n"
    os.killpg(process.pid, signal.SIGINT)
    begun = time.monotonic()
    assert process.communicate(timeout=60)[0].endswith("interrupted True\n")
    assert time.monotonic() - begun < 10
    assert not group_lives(process.pid)


@pytest.mark.clock
def test_processes_end_with_whoever_began_them() -> None:
    """Killed, it cannot tell them; they hear the end of their pipes, in the middle of a part too."""
    code = "import time; from routing.planning.running.processes import Processes as P; p = P(2); "
    code += "a = [p.submit(time.sleep, 0.5) for _ in range(2)]; [x.result() for x in a]; "
    code += "[p.submit(time.sleep, 60) for _ in range(2)]; print('begun', flush=True); time.sleep(60)"
    with subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, text=True, start_new_session=True
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "begun\n"
        time.sleep(0.3)
        process.kill()
    end = time.monotonic() + 10
    while group_lives(process.pid) and time.monotonic() < end:
        time.sleep(0.1)
    assert not group_lives(process.pid)


def group_lives(number: int) -> bool:
    try:
        os.killpg(number, 0)
    except ProcessLookupError:
        return False
    return True


@pytest.mark.parametrize(
    "executor", [Processes(2), Lost(takes=True), Lost(takes=False)], ids=["done", "lost", "refused"]
)
def test_what_runs_apart_come_to_is_taken_over_and_a_lost_one_is_run_here(executor: Executor) -> None:
    """Of three runs all orders are told of, and their routes are there to be recombined; none serves less than one did."""
    problem = large_round(1, 12, 2, 1)
    incumbent = Incumbent(problem, frozenset(range(12)), None)
    with Parts(executor) as parts:
        apart = RunsApart(parts, incumbent, [built], 1, time.monotonic() + 60)
        told = apart.take_over(incumbent)
    expected = construct(OrderCosts(problem), frozenset(range(12)))
    assert [orders for _, orders in told] == [expected] * RUNS
    assert served(incumbent.orders) >= served(expected) != frozenset()
    pooled = {(column.route, column.order) for column in incumbent.pool}
    assert pooled >= {(route, order) for route, order in enumerate(expected) if order}
    executor.shutdown(wait=False, cancel_futures=True)


def test_runs_apart_that_are_not_there_in_time_are_left_away() -> None:
    """Where the time is over a lost run is not run here any more."""
    problem = large_round(1, 12, 2, 1)
    incumbent = Incumbent(problem, frozenset(range(12)), None)
    with Parts(Lost(takes=True)) as parts:
        apart = RunsApart(parts, incumbent, [built], 1, time.monotonic() - 1)
        assert apart.take_over(incumbent) == []
    assert served(incumbent.orders) == frozenset()
