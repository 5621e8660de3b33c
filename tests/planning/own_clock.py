"""A clock of the test's own, which other work on the machine does not hasten: it counts what this process does and sleeps."""

from __future__ import annotations

import threading
import time

import pytest


class OwnClock:
    """Seconds of the processor that this process has had, and seconds that its main thread was asked to sleep."""

    def __init__(self) -> None:
        self._slept = 0.0
        self._sleep = time.sleep

    def monotonic(self) -> float:
        """Return the moment."""
        return time.process_time() + self._slept

    def sleep(self, seconds: float) -> None:
        """Sleep as always; threads beside the main one sleep while that goes on, so theirs does not count."""
        self._sleep(seconds)
        if threading.current_thread() is threading.main_thread():
            self._slept += seconds


@pytest.fixture
def own_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have the product go by a clock of the test's own; nothing may go on in another process meanwhile."""
    clock = OwnClock()
    monkeypatch.setattr(time, "monotonic", clock.monotonic)
    monkeypatch.setattr(time, "sleep", clock.sleep)
