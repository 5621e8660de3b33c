"""An engine run in a process of its own: for one that lets nothing else in this process run, Ctrl-C included."""

from __future__ import annotations

import math
import os
import pickle
import signal
import subprocess
import sys
import tempfile
import time
from contextlib import suppress
from dataclasses import dataclass, replace

from routing.planning.engines.engine import Ask, Engine, Limit, empty
from routing.planning.engines.stoppable import GLANCE_SECONDS
from routing.planning.problem import Order, Orders, Problem

GRACE_SECONDS = 5.0
"""By so much an engine may pass its time, and for beginning; then it is ended."""


@dataclass(frozen=True)
class _Question:
    engine: Engine
    problem: Problem
    tasks: frozenset[int]
    iterations: int
    seed: int
    seconds: float | None
    start: Orders | None


@dataclass(frozen=True)
class Apart:
    """The engine, run apart; where no process can be begun, it runs here."""

    engine: Engine
    name: str = "apart"

    def __call__(self, ask: Ask) -> Orders:
        """Return the engine's orders; Ctrl-C ends its process and raises KeyboardInterrupt here."""
        question = _Question(
            self.engine,
            replace(ask.problem),  # without what is remembered of it
            ask.tasks,
            ask.limit.iterations,
            ask.limit.seed,
            ask.limit.seconds_left(),
            ask.start,
        )
        try:
            answer = _asked(question)
        except OSError:  # no process can be begun, or no file written
            answer = None
        if answer is None:
            return self.engine(ask)
        orders, found = answer
        for route, order in found:
            ask.found(route, order)
        return orders


def _asked(question: _Question) -> tuple[Orders, list[tuple[int, Order]]] | None:
    """Return what another process answers, None where it fails; nothing is proposed where it is far too late.

    Raises OSError where it cannot be begun. The question goes by way of a file: what is written into a pipe is not
    written on once a wait is over.
    """
    end = math.inf if question.seconds is None else time.monotonic() + question.seconds + GRACE_SECONDS
    with tempfile.TemporaryFile() as file:
        pickle.dump(question, file)
        file.seek(0)
        process = subprocess.Popen(  # noqa: S603 - this very program
            [sys.executable, "-m", __name__],
            stdin=file,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
        )
        told = None
        with process:
            try:
                while told is None and time.monotonic() < end:
                    with suppress(subprocess.TimeoutExpired):  # some systems hear Ctrl-C only between two waits
                        told, _ = process.communicate(timeout=GLANCE_SECONDS)
            finally:
                process.kill()
                process.wait()
    if told is None:
        return empty(question.problem), []
    if process.returncode != 0:
        return None
    orders, found = pickle.loads(told)  # noqa: S301 - from our own process
    return orders, found


def _answer() -> None:
    """Answer the question on standard input; whatever the engine prints goes to standard error."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # who asked hears it and ends this process
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    question: _Question = pickle.loads(sys.stdin.buffer.read())  # noqa: S301 - from the process that began this one
    limit = Limit(question.iterations, question.seed)
    if question.seconds is not None:
        limit = limit.ending_in(question.seconds)
    found: list[tuple[int, Order]] = []
    ask = Ask(
        question.problem, question.tasks, limit, question.start, lambda route, order: found.append((route, order))
    )
    pickle.dump((question.engine(ask), found), answers)
    answers.flush()


if __name__ == "__main__":
    _answer()
