"""Compiled functions run side by side, one a processor: the same answers in the same order."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor, wait
from functools import cache

MOST_THREADS = 4


@cache
def _threads(_: int) -> ThreadPoolExecutor:
    """Return the threads of this process; one that was forked off has its own."""
    return ThreadPoolExecutor(min(MOST_THREADS, os.cpu_count() or 1))


def side_by_side[T](calls: Sequence[Callable[[], T]]) -> list[T]:
    """Return what the calls return, in their order.

    They must not wait for each other nor call this themselves, and let other threads run for most of their time. Where
    one raises, and at Ctrl-C, that is raised once all of them have ended: what they write to is then free again.
    """
    if min(len(calls), os.cpu_count() or 1) == 1:
        return [call() for call in calls]
    futures = [_threads(os.getpid()).submit(call) for call in calls]
    try:
        return [future.result() for future in futures]
    finally:
        wait(futures)
