"""The parts of a search, done by whatever executor there is: processes of this machine, or those of a cluster.

A part is a function of a module and plain data that can be pickled; its answer depends on nothing else. Answers are
taken in the order of the parts, never in that of their arrival, so that they are the same however many do them. A part
whose worker is lost is done again here.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import CancelledError, Executor, Future
from contextlib import suppress
from dataclasses import dataclass
from types import TracebackType
from typing import Any, Self

from routing.planning.running.compiled_ahead import under_way
from routing.planning.running.processes import Processes

MOST_ALONE = 40
"""A plan of up to so many jobs is mostly over before a process has begun: its parts are done here, unless an executor
is given."""

GRACE_SECONDS = 5.0
"""By so much parts may pass the end of their time; then they are left away."""


class Here(Executor):
    """Does every part in this process, one after the other."""

    def submit[**P, T](self, fn: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        """Do the part at once, and raise at once what it raises."""
        part: Future[T] = Future()
        part.set_result(fn(*args, **kwargs))
        return part


class Parts:
    """Whoever does parts; use it in a `with`, at whose end nothing of them goes on and no process is left."""

    def __init__(self, executor: Executor | None = None, *, few: bool = False) -> None:
        """Have parts done by an executor, which is left open; without one by processes here, one a core.

        Where there are `few` to do, or little in each, and no executor is given, they are done in this process.
        """
        self._given = Here() if executor is None and (few or cores() == 1) else executor
        self._own: Processes | None = None
        self._begun: list[Later[Any]] = []

    @property
    def beside(self) -> bool:
        """Whether others than this process do parts: an executor that was handed in, or processes here."""
        return not isinstance(self._given, Here)

    @property
    def handed_in(self) -> bool:
        """Whether the parts go through an executor that was handed in."""
        return self._given is not None and self.beside

    @property
    def workers(self) -> int:
        """How many do parts, as far as is known: of an executor that was handed in nothing is."""
        return cores()

    def begin[A, B](self, function: Callable[[A], B], part: A) -> Later[B]:
        """Have a part done from now on, and return its answer to come."""
        future: Future[B] | None = None
        executor: Executor | None = self._given
        if self.beside and not (executor is None and under_way()):  # a new process would compile it once more
            if executor is None:
                self._own = executor = self._own or Processes(cores())
            with suppress(RuntimeError):  # it takes no parts any more, or broke: it is done here
                future = executor.submit(function, part)
        later = Later(function, part, future)
        self._begun.append(later)
        return later

    def done[A, B](self, function: Callable[[A], B], parts: Sequence[A]) -> list[B]:
        """Return the answers to the parts in their order."""
        if len(parts) == 1 and self._given is None:
            return [function(parts[0])]
        return [later.answer() for later in [self.begin(function, part) for part in parts]]

    def each[A, B](self, function: Callable[[A], B], parts: Sequence[A], end: float | None) -> Iterator[B | None]:
        """Yield the answers to the parts in their order.

        None stands for one that is not there some seconds after `end` (of `time.monotonic`), where that is given.
        """
        for later in [self.begin(function, part) for part in parts]:
            yield later.answer_until(end)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, _kind: type[BaseException] | None, _error: BaseException | None, _where: TracebackType | None
    ) -> None:
        for later in self._begun:
            later.call_off()
        if self._own is not None:
            self._own.shutdown(wait=True, cancel_futures=True)


@dataclass(eq=False)
class Later[B]:
    """The answer to a part, which may be still to come."""

    _function: Callable[..., B]
    _part: object
    _future: Future[B] | None

    def answer(self) -> B:
        """Wait for the answer and return it; where whoever worked on it is lost, the part is done again here.

        Raises what the function raises.
        """
        return self._taken(None)

    def answer_until(self, end: float | None, grace: float = GRACE_SECONDS) -> B | None:
        """Return the answer as `answer` does; None where it is not there so long after `end`, or is lost by then."""
        if end is None:
            return self.answer()
        try:
            return self._taken(max(0.0, end - time.monotonic()) + grace, again=time.monotonic() < end)
        except TimeoutError:
            self.call_off()
            return None

    def _taken(self, seconds: float | None, *, again: bool = True) -> B:
        """Return the answer. Raises TimeoutError where it is not there after so many seconds."""
        future, self._future = self._future, None
        if future is not None:
            try:
                return future.result(seconds)
            except TimeoutError:
                if not future.done():
                    self._future = future
                    raise
            except (Exception, CancelledError) as error:
                if not again:
                    raise TimeoutError from error
        return self._function(self._part)  # an error of the function's own is raised again here

    def call_off(self) -> None:
        """Let the part be: its answer is not needed any more."""
        if self._future is not None:
            self._future.cancel()


def cores() -> int:
    """Return on how many cores this process may run."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
