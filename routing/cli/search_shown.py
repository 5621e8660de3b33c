"""What is shown while a round is sought, and what Ctrl-C does then."""

from __future__ import annotations

import _thread
import signal
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType
from typing import TYPE_CHECKING

from rich.console import Console
from rich.live import Live
from rich.text import Text

from routing.lazily import STOPPED, importing
from routing.plain_words import count, duration
from routing.planning.running.compiled_ahead import under_way

if TYPE_CHECKING:
    from routing.planning.plan import SoFar

HELD_SECONDS = 0.02
"""How long a Ctrl-C that came during an import waits before it is looked at again."""


class SearchShown:
    """One line on standard error, where that is a terminal: the best round so far, and how long it has been sought.

    The first Ctrl-C raises KeyboardInterrupt and the line says what comes of it; a second ends the program at once.
    While a module is being imported the first one waits: libraries in C make another error of it, and stay half loaded.
    """

    def __init__(self, seconds: int | None, then: str = "written") -> None:
        """`then` is what becomes of the best round after Ctrl-C."""
        self.seconds, self.begun, self.best, self.stopping = seconds, time.monotonic(), "", False
        self._once_more, self._again = False, threading.Timer(HELD_SECONDS, self._stop_again)
        self.then = then

    def hear(self, so_far: SoFar) -> None:
        """Show better orders from now on."""
        longest = f", longest day {duration(so_far.longest_seconds)}" if so_far.longest_seconds else ""
        self.best = f"{so_far.jobs} of {count(so_far.of, 'job')} done, {duration(so_far.away_seconds)} away{longest}"

    def line(self) -> str:
        """Return what is shown now."""
        if self.stopping:
            return f"Stopping: the best until now is checked and {self.then}; Ctrl-C again drops it"
        gone = int(time.monotonic() - self.begun)
        of = "" if self.seconds is None else f" of {self.seconds}"
        if self.best:
            return f"Best so far: {self.best}; {gone}{of} s"
        begun = "Searching; what is compiled once for this machine is under way" if under_way() else "Searching"
        return f"{begun}; {gone}{of} s"

    def stop(self, _signal: int, frame: FrameType | None) -> None:
        """Hear Ctrl-C, or hear once more of one that came during an import."""
        if self.stopping and not self._once_more:
            raise SystemExit(STOPPED)
        self.stopping, self._once_more = True, False
        if not importing(frame):
            raise KeyboardInterrupt
        self._again = threading.Timer(HELD_SECONDS, self._stop_again)
        self._again.daemon = True
        self._again.start()

    def _stop_again(self) -> None:
        self._once_more = True
        _thread.interrupt_main()

    @contextmanager
    def heeded(self) -> Iterator[None]:
        """Heed Ctrl-C until the end of the block."""
        if threading.current_thread() is not threading.main_thread():
            yield
            return
        before = signal.signal(signal.SIGINT, self.stop)
        try:
            yield
        finally:
            self._again.cancel()
            signal.signal(signal.SIGINT, before)

    @contextmanager
    def shown(self) -> Iterator[Callable[[SoFar], None]]:
        """Show the line until the end of the block, then wipe it off."""
        errors = Console(stderr=True)
        if not errors.is_terminal:
            yield self.hear
            return
        with Live(
            get_renderable=lambda: Text(self.line(), no_wrap=True, overflow="ellipsis"),
            console=errors,
            transient=True,
            redirect_stdout=False,
            redirect_stderr=False,
        ):
            yield self.hear
