"""Searches in processes of their own, one at a time: live progress, and a stop that keeps the best checked round."""

from __future__ import annotations

import multiprocessing
import threading
import time
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from typing import TYPE_CHECKING, Any

from routing.desk.searcher import BROKEN, PLANNED, REFUSED, SO_FAR, STOP, STOPPED, Asked, search
from routing.errors import AskedError
from routing.round import Round

if TYPE_CHECKING:
    from multiprocessing.context import SpawnProcess

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
    _process: SpawnProcess | None = None
    _pipe: Connection | None = None
    _over: threading.Event = field(default_factory=threading.Event)
    _changed: threading.Condition = field(default_factory=threading.Condition)

    def begin(self) -> None:
        """Begin the search; what becomes of it is heard by a thread of its own, which also hands the farm over."""
        context = multiprocessing.get_context("spawn")
        self._pipe, theirs = context.Pipe()
        self._process = context.Process(target=search, args=(self.asked, theirs), daemon=True)
        threading.Thread(target=self._hear, args=(theirs,), daemon=True).start()

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
            if self._ended is not None or self._stopping or self._pipe is None:
                return
            self._stopping, pipe = True, self._pipe
            self._number += 1
        try:
            pipe.send(STOP)
        except OSError:
            return  # it ends by itself at this very moment
        if not self.wait(STOPPED_WITHIN_SECONDS):
            self._end(cut_short=True)

    def drop(self) -> None:
        """End it at once, without an answer."""
        self._end(cut_short=True)

    def _hear(self, theirs: Connection) -> None:
        """Start the process and hear it to its end."""
        pipe, process = self._pipe, self._process
        assert pipe is not None  # noqa: S101 - for the types: it was begun
        assert process is not None  # noqa: S101
        trouble = FELL
        try:
            process.start()
            theirs.close()
            while True:
                told = pipe.recv()
                if told[0] in {REFUSED, BROKEN, STOPPED}:
                    trouble = NOTHING_YET if told[0] == STOPPED else told[1]
                with self._changed:
                    self._take(told)
        except (EOFError, OSError):
            pass
        with self._changed:
            if self._ended is None:
                self._trouble = "" if self.rounds else trouble
        self._end()

    def _take(self, told: tuple[Any, ...]) -> None:
        self._number += 1
        if told[0] == SO_FAR:
            self._best = told[1]
        elif told[0] == PLANNED:
            self.rounds.append(Round.model_validate_json(told[2]))
            self._best = None

    def _end(self, *, cut_short: bool = False) -> None:
        with self._changed:
            if self._ended is not None:
                return
            self._ended, self.cut_short = time.monotonic(), cut_short
            self._number += 1
        if self._process is not None and self._process.pid is not None:
            self._process.kill()
        self._over.set()


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
