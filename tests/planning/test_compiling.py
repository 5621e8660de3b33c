"""What is compiled ahead is what a search asks for, is waited for, and fails softly."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path
from typing import Any, cast

import pytest

from routing.planning.bounds.column_generation import bounds
from routing.planning.exact.cp_sat import best_day
from routing.planning.heuristics.route_annealing import RouteAnnealing
from routing.planning.heuristics.ruin_recreate import RuinRecreate
from routing.planning.model.engine import Ask, Limit
from routing.planning.model.load import stock_left
from routing.planning.model.order_costs import OrderCosts
from routing.planning.running import compiled_ahead
from routing.planning.running.budget import Budget
from routing.planning.search import compiling
from routing.planning.search.closing import Closing
from routing.planning.search.incumbent import Incumbent
from routing.planning.search.insertion import construct
from tests.farm_rounds import farm_round
from tests.long_days import summer_day


def test_real_rounds_ask_for_no_more_than_is_compiled_ahead(tmp_path: Path) -> None:
    compiling.compile_parts(tmp_path, tuple(compiling.PARTS))
    one, two, few = farm_round(1, 20), farm_round(1, 12, days=2), farm_round(9, 12, days=2)
    assert best_day(one, 0, frozenset(range(20)), stock_left(one, ())).order
    assert bounds(two, frozenset(range(12)), construct(OrderCosts(two), frozenset(range(12)))).cost > 0
    assert Closing(Incumbent(few, frozenset(range(12)), None), Budget(10)).run().cost_bound > 0
    assert RuinRecreate()(Ask(two, frozenset(range(12)), Limit(1)))
    day = summer_day(3, 40)
    annealed = RouteAnnealing()(Ask(day, frozenset(range(len(day.tasks))), Limit(5)))
    assert RouteAnnealing()(Ask(day, frozenset(range(len(day.tasks))), Limit(5), annealed))
    for function in compiling.SIGNATURES:
        met = [types for types in cast("Any", function).signatures if "Literal" not in str(types)]
        assert len(met) == 1, function.__name__  # a literal is met inside what is compiled


def test_every_part_belongs_to_one_side_and_every_signature_to_one_part() -> None:
    assert sorted(part for side in compiled_ahead.ALL for part in side) == sorted(compiling.PARTS)
    parts = [function for functions in compiling.PARTS.values() for function in functions]
    assert len(parts) == len(set(parts)) == len(compiling.SIGNATURES)


@pytest.mark.parametrize("done", [True, False])
def test_what_is_compiled_beside_is_waited_for_and_noted(
    *, done: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without the mark of both sides it begins, with it nothing does; where the processes die nobody waits for ever."""
    monkeypatch.setattr(compiled_ahead, "_sides", [])
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    if not done:
        monkeypatch.setattr(compiled_ahead, "COMPILING", "routing.no_such_module")
    compiled_ahead.begin(tmp_path)
    assert compiled_ahead.under_way() or not done
    for part in compiling.PARTS:
        compiled_ahead.wait_for(part)
    assert not compiled_ahead.under_way()
    codes = [side.child.process.wait() for side in compiled_ahead._sides]
    assert codes == ([0, 0] if done else [1, 1])
    assert len([path for path in tmp_path.iterdir() if not path.suffix]) == (len(compiling.PARTS) if done else 0)
    compiled_ahead.end()
    compiled_ahead.begin(tmp_path)
    assert bool(compiled_ahead._sides) != done
    compiled_ahead.end()


def test_it_ends_with_whoever_began_it(tmp_path: Path) -> None:
    began = "import sys; from pathlib import Path; from routing.planning.running import compiled_ahead; compiled_ahead.os.cpu_count = lambda: 2"
    asked = f"{began}; compiled_ahead.begin(Path(sys.argv[1])); print(*(side.child.process.pid for side in compiled_ahead._sides), flush=True); compiled_ahead.os._exit(0)"
    cache = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path / "numba")}
    told = subprocess.run([sys.executable, "-c", asked, str(tmp_path)], stdout=subprocess.PIPE, check=True, env=cache)
    for pid in told.stdout.split():
        _wait_for_the_end_of(int(pid))
    assert not [path for path in tmp_path.iterdir() if not path.suffix and path.is_file()]


def _wait_for_the_end_of(pid: int) -> None:
    for _ in range(6000):
        try:
            os.kill(pid, 0)
            state = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()[0]
        except (ProcessLookupError, FileNotFoundError):
            return
        if state == "Z":
            return
        time.sleep(0.01)
    pytest.fail(f"process {pid} goes on")
