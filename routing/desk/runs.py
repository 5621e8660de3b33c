"""Searches in processes of their own, one at a time: live progress, and a stop that keeps the best checked round."""

from __future__ import annotations

import pickle
import subprocess
import threading
import time
from contextlib import suppress
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from routing.desk import searcher
from routing.desk.searcher import PLANNED, REFUSED, SO_FAR, STOP, STOPPED, Asked
from routing.errors import AskedError
from routing.planning.running.this_program import Begun, begun
from routing.round import Round

if TYPE_CHECKING:
    from routing.stages.plan import SoFar

STOPPED_WITHIN_SECONDS = 1.5
"""So long a search that is stopped may take to put its answer together; then it is ended, and its last tale counts."""

FELL = "The search ended without an answer: a fault of the program, or too little memory. Nothing was changed."
NOTHING_YET = "The search was stopped before there was any round."


@dataclass(frozen=True)
class Standing:
    """Where a search stands at a moment."""

    number: int
    """Raised with everything that is told."""
    running: bool
    seconds_gone: float
    limit: int | None
    """Of all its rounds together; None where they end by themselves."""
    doing: str
    """The words of the round that is sought now."""
    done: int
    of: int
    best: SoFar | None
    """Of the round that is sought now."""
    trouble: str
    """Why there is no answer, empty where there is one or may be."""
    stopping: bool = False


@dataclass(eq=False)
class Run:
    """One search, from its beginning to its answer."""

    asked: tuple[Asked, ...]
    purpose: object
    """What it is for: who asked knows by it what to do with the answer."""
    rounds: list[Round] = field(default_factory=list)
    cut_short: bool = False
    """Whether it was ended before it could answer: the last tale it told is all there is."""
    _best: SoFar | None = None
    _trouble: str = ""
    _number: int = 0
    _begun: float = field(default_factory=time.monotonic)
    _ended: float | None = None
    _stopping: bool = False
    _is_asked: bool = False
    """Whether the whole question is on its way: before that, nothing is known that could be kept."""
    _process: subprocess.Popen[bytes] | None = None
    _over: threading.Event = field(default_factory=threading.Event)
    _changed: threading.Condition = field(default_factory=threading.Condition)

    def begin(self) -> None:
        """Begin the search; what becomes of it is heard by a thread of its own, which also hands the farm over."""
        threading.Thread(target=self._hear, daemon=True).start()

    @property
    def standing(self) -> Standing:
        """Where it stands now."""
        with self._changed:
            ended = time.monotonic() if self._ended is None else self._ended
            now = min(len(self.rounds), len(self.asked) - 1)
            limits = [one.seconds for one in self.asked if one.seconds is not None]
            return Standing(
                number=self._number,
                running=self._ended is None,
                seconds_gone=ended - self._begun,
                limit=sum(limits) if len(limits) == len(self.asked) else None,
                doing=self.asked[now].words,
                done=len(self.rounds),
                of=len(self.asked),
                best=self._best,
                trouble=self._trouble,
                stopping=self._stopping,
            )

    def wait(self, seconds: float | None = None) -> bool:
        """Wait until it is over, or so long; return whether it is."""
        return self._over.wait(seconds)

    def cancel(self) -> None:
        """Stop it; the best checked round until now is its answer, within two seconds."""
        with self._changed:
            if self._ended is not None or self._stopping:
                return
            self._stopping, process = True, self._process if self._is_asked else None
            self._number += 1
            self._trouble = NOTHING_YET
        if process is not None:
            threading.Thread(target=_say_stop, args=(process,), daemon=True).start()
        if process is None or not self.wait(STOPPED_WITHIN_SECONDS):
            self._end(cut_short=True)

    def drop(self) -> None:
        """End it at once, without an answer."""
        self._end(cut_short=True)

    def _hear(self) -> None:
        """Start the process and hear it to its end."""
        try:
            child = begun(searcher.__name__)
        except OSError as error:
            trouble = f"No search can be begun: {error.strerror}."
        else:
            trouble = self._heard(child) or FELL
        with self._changed:
            if self._ended is None:
                self._trouble = "" if self.rounds else trouble
        self._end()

    def _heard(self, child: Begun) -> str:
        """Ask the process and hear it to its end; return why it gave no answer, if it said so."""
        self._process = process = child.process
        trouble = ""
        with child.says, suppress(EOFError, OSError, pickle.UnpicklingError):
            pickle.dump(self.asked, child.hears)
            child.hears.flush()
            self._is_asked = True
            while self._ended is None:
                told = pickle.load(child.says)  # noqa: S301 - from our own process
                if told[0] in {REFUSED, STOPPED}:
                    trouble = NOTHING_YET if told[0] == STOPPED else told[1]
                with self._changed:
                    self._take(told)
        process.kill()
        process.wait()
        with suppress(OSError):
            child.hears.close()
        return trouble

    def _take(self, told: tuple[Any, ...]) -> None:
        self._number += 1
        if told[0] == SO_FAR:
            self._best = told[1]
        elif told[0] == PLANNED:
            self.rounds.append(Round.model_validate_json(told[1]))
            self._best = None

    def _end(self, *, cut_short: bool = False) -> None:
        with self._changed:
            if self._ended is not None:
                return
            self._ended, self.cut_short = time.monotonic(), cut_short
            self._number += 1
        if self._process is not None:
            self._process.kill()
        self._over.set()


def _say_stop(process: subprocess.Popen[bytes]) -> None:
    """Tell the process to stop, which may have to wait until it reads."""
    if process.stdin is not None:
        with suppress(OSError, ValueError):  # it ends by itself at this very moment
            process.stdin.write(STOP)
            process.stdin.flush()


class Runs:
    """The search of a farm: one at a time."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._run: Run | None = None

    @property
    def run(self) -> Run | None:
        """The search under way or the last one, None where there was none."""
        return self._run

    def begin(self, purpose: object, *asked: Asked) -> Run:
        """Begin a search. Raises AskedError where another one is under way."""
        with self._lock:
            if self._run is not None and self._run.standing.running:
                raise AskedError("a search is under way: wait for it, or stop it first")
            run = Run(asked, purpose)
            run.begin()
            self._run = run
            return run

    def close(self) -> None:
        """End the search that is under way, if any."""
        with self._lock:
            if self._run is not None:
                self._run.drop()
