"""What the tests of one run share: made by the first that asks for it, whichever process runs it, and read by all."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from pathlib import Path

import pytest
from _pytest.mark import ParameterSet
from covertable import make
from filelock import FileLock


def folder_of_the_run(factory: pytest.TempPathFactory) -> Path:
    """Return the temporary folder of the whole run, the same in each of its processes."""
    own = factory.getbasetemp()
    return own.parent if "PYTEST_XDIST_WORKER" in os.environ else own


def made_once(path: Path, make_it: Callable[[], str]) -> str:
    """Return the text of the file; where there is none yet, it is made, while other processes wait."""
    with FileLock(f"{path}.lock"):
        if not path.exists():
            text = make_it()
            path.write_text(text, encoding="utf-8")
        return path.read_text(encoding="utf-8")


def another_hash_seed() -> dict[str, str]:
    """Return the environment of a process in which sets of words come in another order than in this one."""
    return os.environ | {"PYTHONHASHSEED": "2" if os.environ.get("PYTHONHASHSEED") == "1" else "1"}


def in_threes(names: Iterable[str]) -> list[frozenset[str]]:
    """Return few choices of the names in which any three are on and off in each of the eight ways; none is the first.

    A covering array of strength three. Source: D. R. Kuhn, R. N. Kacker, Y. Lei, Practical Combinatorial Testing, NIST
    Special Publication 800-142 (2010).
    """
    rows = make({name: [False, True] for name in names}, strength=3)
    chosen = [frozenset(name for name, on in row.items() if on) for row in rows]
    return [frozenset(), *(choice for choice in dict.fromkeys(chosen) if choice)]


def then_deep[Value](usual: Iterable[Value], deep: Iterable[Value]) -> list[Value | ParameterSet]:
    """Return the values of every run, and after them those that only `make test-deep` tries as well; a tuple is a row."""
    mine = list(usual)
    more = [value if isinstance(value, tuple) else (value,) for value in deep if value not in mine]
    return [*mine, *(pytest.param(*values, marks=pytest.mark.deep) for values in more)]
