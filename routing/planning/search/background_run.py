"""A second engine run beside the main one, on another core, until the same instant.

A thread runs the engine, whose own code lets other threads run, or waits for one in a process of its own. What it finds
is taken over by the thread that asked, what it tells of at any time, the rest when it has ended, so that nothing of the
search is shared while both run.
"""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass, field, replace

from routing.planning.model.engine import Ask, Engine
from routing.planning.model.problem import Order, Orders


@dataclass(eq=False)
class BackgroundRun:
    """One run of an engine beside the others."""

    engine: Engine
    ask: Ask
    orders: Orders | None = None
    told: list[tuple[float, Orders]] = field(default_factory=list)
    """What it has told of so far, each better than those before, and when by `time.monotonic`."""
    found: list[tuple[int, Order]] = field(default_factory=list)
    failed: BaseException | None = None
    _thread: threading.Thread | None = None
    _halt: threading.Event = field(default_factory=threading.Event)

    def start(self) -> BackgroundRun:
        """Begin the run."""
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()
        return self

    def _run(self) -> None:
        limit = replace(self.ask.limit, halt=self._halt)
        try:
            self.orders = self.engine(replace(self.ask, limit=limit, found=self._note, better=self._hear))
        except BaseException as error:  # noqa: BLE001 - it is raised again where the run was asked for
            self.failed = error

    def _note(self, route: int, order: Order) -> None:
        self.found.append((route, order))

    def _hear(self, orders: Orders) -> None:
        self.told.append((time.monotonic(), orders))

    def halt(self) -> None:
        """Make the run end soon."""
        self._halt.set()

    def end(self) -> Orders | None:
        """Wait for the end of the run and return its orders; the routes that it found are then in `found`."""
        if self._thread is not None:
            self._thread.join()
        if self.failed is not None:
            raise self.failed
        return self.orders
