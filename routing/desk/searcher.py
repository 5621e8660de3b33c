"""What the process of a search does: it plans what it is asked, tells of every better round, and stops when told to.

What comes to it is the question and, perhaps, the word to stop; what it sends are tuples of a word and what it tells.
"""

from __future__ import annotations

import _thread
import datetime as dt
import os
import pickle
import signal
import sys
import threading
from collections.abc import Callable
from dataclasses import dataclass
from types import FrameType

from routing.errors import OutyardError
from routing.farm.models import Farm
from routing.lazily import importing
from routing.round import Round
from routing.stages.own_days import Pinned, own_days, with_later_day
from routing.stages.plan import SoFar, Wish, plan

STOP = b"stop"
SO_FAR, PLANNED, REFUSED, STOPPED = "so far", "planned", "refused", "stopped"

HELD_SECONDS = 0.02
"""How long a word to stop that came during an import waits before it is looked at again."""


@dataclass(frozen=True, eq=False)
class Asked:
    """One round that is wanted."""

    words: str
    """What it is, such as `as it is` or `home by 16:00`."""
    farm: Farm
    dates: tuple[dt.date, ...]
    seconds: int | None = None
    even: bool = False
    pins: tuple[Pinned, ...] = ()
    around: Round | None = None
    """The round of these dates from which pins come; None where there is none."""
    later: tuple[str, ...] = ()
    """Jobs that are to be done on the last of the dates."""
    explained: bool = True
    """Whether what would save left-out work is sought too."""


def search() -> None:
    """Plan what is asked on standard input in turn, and send each round; the word to stop keeps the best under way."""
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what a library prints is no answer
    asked: tuple[Asked, ...] = pickle.load(sys.stdin.buffer)  # noqa: S301 - from the process that began this one
    stopping = _Stopping()
    stopping.listen()

    def send(*told: object) -> None:
        pickle.dump(told, answers)
        answers.flush()

    try:
        for one in asked:
            send(PLANNED, _planned(one, send).model_dump_json())
            if stopping.asked.is_set():
                return
    except KeyboardInterrupt:
        send(STOPPED)
    except OutyardError as error:
        send(REFUSED, str(error))


def _planned(one: Asked, send: Callable[[str, object], None]) -> Round:
    def hear(so_far: SoFar) -> None:
        send(SO_FAR, so_far)

    wish = Wish(one.seconds, hear, one.even, explained=one.explained)
    if one.around is not None:
        return own_days(one.farm, one.around).around(one.pins, wish, keep_stopped=True)
    if one.later:
        return with_later_day(one.farm, one.dates, one.pins, one.later, wish, keep_stopped=True)
    return plan(one.farm, *one.dates, wish=wish, keep_stopped=True)


class _Stopping:
    """Makes the word to stop raise KeyboardInterrupt in the main thread, as Ctrl-C does for a command.

    Ctrl-C itself is not heeded: it is meant for the desk, which ends this process. Where the desk is gone, so is this.
    """

    def __init__(self) -> None:
        self.asked, self._raised = threading.Event(), False

    def listen(self) -> None:
        """Heed the word from now on."""
        signal.signal(signal.SIGINT, self._heed)
        threading.Thread(target=self._hear, daemon=True).start()

    def _hear(self) -> None:
        if not os.read(0, len(STOP)):
            os._exit(0)
        self.asked.set()
        _thread.interrupt_main()

    def _heed(self, _signal: int, frame: FrameType | None) -> None:
        if not self.asked.is_set() or self._raised:
            return
        if importing(frame):  # libraries in C make another error of it, and stay half loaded
            timer = threading.Timer(HELD_SECONDS, _thread.interrupt_main)
            timer.daemon = True
            timer.start()
            return
        self._raised = True
        raise KeyboardInterrupt


if __name__ == "__main__":
    search()
