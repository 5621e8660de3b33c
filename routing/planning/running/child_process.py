"""An engine in a process of its own: one that lets nothing else run here, Ctrl-C included, or one that runs beside."""

from __future__ import annotations

import math
import os
import pickle
import signal
import subprocess
import sys
import threading
import time
from contextlib import suppress
from dataclasses import dataclass, replace
from typing import IO

from routing.planning.model.engine import Ask, Engine, Limit, empty
from routing.planning.model.problem import Order, Orders, Problem
from routing.planning.running.stoppable import GLANCE_SECONDS
from routing.planning.running.this_program import begun

GRACE_SECONDS = 5.0
"""By so much an engine may pass its time, and for beginning; then it is ended."""


@dataclass(frozen=True)
class _Question:
    engine: Engine
    problem: Problem
    tasks: frozenset[int]
    iterations: int
    seed: int
    end: float | None
    """By the clock of the day, which two processes share; the monotonic one need not."""
    start: Orders | None
    scarce: bool
    tells: bool
    """Whether somebody wants to hear of better orders on the way."""


@dataclass(frozen=True)
class InChildProcess:
    """The engine, run apart; where no process can be begun, it runs here."""

    engine: Engine

    def __call__(self, ask: Ask) -> Orders:
        """Return the engine's orders; Ctrl-C ends its process and raises KeyboardInterrupt here."""
        left = ask.limit.seconds_left()
        question = _Question(
            self.engine,
            replace(ask.problem),  # without what is remembered of it
            ask.tasks,
            ask.limit.iterations,
            ask.limit.seed,
            None if left is None else time.time() + left,
            ask.start,
            ask.scarce,
            tells=ask.better is not None,
        )
        try:
            answer = _asked(question, ask)
        except OSError:  # no process can be begun, or it was gone before it was asked
            answer = None
        if answer is None:
            return self.engine(ask)
        orders, found = answer
        for route, order in found:
            ask.found(route, order)
        return orders


def _asked(question: _Question, ask: Ask) -> tuple[Orders, list[tuple[int, Order]]] | None:
    """Return what another process answers, None where it fails; nothing is proposed where it is far too late.

    Raises OSError where it cannot be begun.
    """
    end = math.inf if ask.limit.deadline is None else ask.limit.deadline + GRACE_SECONDS
    child = begun(__name__)
    process, asking, told = child.process, child.hears, child.says
    reader = _Reader(told, ask)
    try:
        code = _wait(process, asking, question, ask.limit, end)
    finally:
        process.kill()
        process.wait()
        reader.join()
        with suppress(OSError):  # of a question that was not written to its end, which is not the news
            asking.close()
    if code is None:
        return empty(question.problem), []
    return None if code != 0 else reader.answer


class _Reader(threading.Thread):
    """Empties the pipe of a process: better orders are told of as they come, the answer is kept."""

    def __init__(self, told: IO[bytes], ask: Ask) -> None:
        super().__init__(daemon=True)
        self._told, self._better = told, ask.better
        self.answer: tuple[Orders, list[tuple[int, Order]]] | None = None
        self.start()

    def run(self) -> None:
        """Hear to the end, which comes with the process's own, in the middle of a word too."""
        with self._told, suppress(EOFError, pickle.UnpicklingError):
            while self.answer is None:
                orders, found = pickle.load(self._told)  # noqa: S301 - from our own process
                if found is not None:
                    self.answer = orders, found
                elif self._better is not None:
                    self._better(orders)


def _wait(
    process: subprocess.Popen[bytes], asking: IO[bytes], question: _Question, limit: Limit, end: float
) -> int | None:
    """Ask, and wait for the end of the process; None where it has not come until then. Raises OSError if it is gone."""
    pickle.dump(question, asking)
    asking.flush()
    while time.monotonic() < end:
        if limit.halted() and not asking.closed:
            asking.close()
            end = min(end, time.monotonic() + GRACE_SECONDS)
        with suppress(subprocess.TimeoutExpired):  # some systems hear Ctrl-C only between two waits
            return process.wait(GLANCE_SECONDS)
    return None


def _answer() -> None:
    """Answer the question on standard input, at once when that is closed; what the engine prints goes to stderr."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # who asked hears it and ends this process
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    question: _Question = pickle.load(sys.stdin.buffer)  # noqa: S301 - from the process that began this one
    halt = threading.Event()

    def listen() -> None:
        os.read(0, 1)  # nothing is written any more: it returns when the other end is closed
        halt.set()

    threading.Thread(target=listen, daemon=True).start()
    limit = Limit(question.iterations, question.seed, halt=halt)
    if question.end is not None:
        limit = limit.ending_in(max(0.0, question.end - time.time()))
    found: list[tuple[int, Order]] = []

    def note(route: int, order: Order) -> None:
        found.append((route, order))

    def tell(orders: Orders) -> None:
        pickle.dump((orders, None), answers)
        answers.flush()

    better = tell if question.tells else None
    ask = Ask(question.problem, question.tasks, limit, question.start, note, scarce=question.scarce, better=better)
    with answers:
        pickle.dump((question.engine(ask), found), answers)


if __name__ == "__main__":
    _answer()
