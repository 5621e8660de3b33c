"""Parts for other processes to do, by themselves in a file: a process that does one imports what stands beside it."""

from __future__ import annotations

import os
import signal
import time


def squared(number: int) -> int:
    time.sleep(0.02 * (number % 3))
    return number * number


def refused(number: int) -> int:
    raise ValueError(f"no {number}")


def dies_elsewhere(asked: tuple[int, int]) -> int:
    """End the process that does this, unless it is the one that asked."""
    number, asking = asked
    if number == 2 and os.getpid() != asking:
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def who(_: int) -> int:
    time.sleep(0.2)
    return os.getpid()
