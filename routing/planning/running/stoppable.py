"""Solvers that block inside their own code made to hear Ctrl-C and the clock: they run beside, this thread waits."""

from __future__ import annotations

import threading
from collections.abc import Callable

from routing.planning.running.time_limit import TimeOverError, over

GLANCE_SECONDS = 0.1
"""How long is waited at once: some systems hear Ctrl-C only between two waits."""


def stoppable[T](call: Callable[[], T], stop: Callable[[], object] | None = None) -> tuple[T, bool]:
    """Return what the call returns, and whether Ctrl-C ended it; `stop` must make the call return soon.

    Without `stop` Ctrl-C raises KeyboardInterrupt and the call is left to end by itself, unheard.

    Raises TimeOverError where the end of a time limit comes before the answer.
    """
    done = threading.Event()
    returned: list[T] = []
    raised: list[BaseException] = []

    def run() -> None:
        try:
            returned.append(call())
        except BaseException as error:  # noqa: BLE001 - it is raised again where the call was asked for
            raised.append(error)
        finally:
            done.set()

    threading.Thread(target=run, daemon=True).start()
    interrupted = late = False
    while not done.is_set():
        try:
            done.wait(GLANCE_SECONDS)
        except KeyboardInterrupt:
            if stop is None:
                raise
            interrupted = True
        late = late or over()
        if late and stop is None:
            raise TimeOverError
        if (interrupted or late) and stop is not None:
            stop()  # again and again: a solver that has not quite begun forgets it
    if raised:
        raise raised[0]
    if late and not interrupted:
        raise TimeOverError
    return returned[0], interrupted
