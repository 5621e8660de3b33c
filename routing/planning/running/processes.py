"""Processes of this machine as an executor of the standard kind (`concurrent.futures.Executor`).

Each process does one part after the other. One that dies takes its part with it and nothing else, and another takes its
place; a part that is called off while it is done is ended with its process. They are begun as this very program, never
as the script that asked: one without a guard of its own would else be run once more by each of them. They do not hear
Ctrl-C, which is for whoever asked, and end by themselves where that is gone.
"""

from __future__ import annotations

import os
import pickle
import queue
import signal
import struct
import subprocess
import sys
import threading
from collections.abc import Callable
from concurrent.futures import BrokenExecutor, Executor, Future
from contextlib import suppress
from typing import IO, Any

from routing.planning.running.this_program import begun

_LENGTH = struct.Struct("<Q")
"""Before each message on a pipe, how many bytes it has."""


class _Part[T](Future[T]):
    """An answer to come; called off, it takes the process that works on it along."""

    process: subprocess.Popen[bytes] | None = None
    called_off = False

    def cancel(self) -> bool:
        """Call the part off, also where it is being done; its answer is then that its process is gone."""
        if super().cancel():
            return True
        if self.done():
            return False
        self.called_off = True
        process = self.process
        if process is not None:
            process.kill()
        return True


class Processes(Executor):
    """So many processes, each begun when it has a part to do."""

    def __init__(self, count: int) -> None:
        self._count = count
        self._waiting: queue.SimpleQueue[tuple[_Part[Any], object] | None] = queue.SimpleQueue()
        self._threads: list[threading.Thread] = []
        self._parts: set[_Part[Any]] = set()
        self._lock = threading.Lock()
        self._closed = False

    def submit[**P, T](self, fn: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        """Have a function of a module called with what can be pickled. Raises RuntimeError after `shutdown`."""
        part: _Part[T] = _Part()
        with self._lock:
            if self._closed:
                raise RuntimeError("no part is taken after shutdown")
            self._parts.add(part)
            self._waiting.put((part, (fn, args, kwargs)))
            if len(self._threads) < self._count:
                thread = threading.Thread(target=self._serve, daemon=True)
                self._threads.append(thread)
                thread.start()
        part.add_done_callback(self._forget)
        return part

    def _forget(self, part: Future[Any]) -> None:
        with self._lock:
            self._parts.discard(part)

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:  # noqa: FBT001, FBT002 - the standard's
        """Take no more parts; where they are to be cancelled, those under way are ended too, at once."""
        with self._lock:
            first, self._closed = not self._closed, True
            parts = list(self._parts) if cancel_futures else []
        for part in parts:
            part.cancel()
        if first:
            for _ in self._threads:
                self._waiting.put(None)
        if wait:
            for thread in self._threads:
                thread.join()

    def _serve(self) -> None:
        """Hand part after part to a process of one's own."""
        process: subprocess.Popen[bytes] | None = None
        while (given := self._waiting.get()) is not None:
            part, asked = given
            if part.set_running_or_notify_cancel():
                process = _answered(part, asked, process)
        if process is not None:
            _end(process)


def _answered(
    part: _Part[Any], asked: object, process: subprocess.Popen[bytes] | None
) -> subprocess.Popen[bytes] | None:
    """Have a process do a part, a new one where there is none; return it, None where it is gone."""
    try:
        question = pickle.dumps(asked, pickle.HIGHEST_PROTOCOL)
        process = process or begun(__name__).process
        part.process = process
        good, answer = pickle.loads(_told(part, question, process))  # noqa: S301 - from our own process
    except (OSError, EOFError) as error:
        if process is not None:
            _end(process)
        part.process = None
        part.set_exception(BrokenExecutor(f"the process of a part is gone: {error}"))
        return None
    except Exception as error:  # noqa: BLE001 - what cannot be pickled raises anything; whoever asked hears of it
        part.set_exception(error)
        return process
    part.process = None
    if good:
        part.set_result(answer)
    else:
        part.set_exception(answer)
    return process


def _told(part: _Part[Any], question: bytes, process: subprocess.Popen[bytes]) -> bytes:
    """Return what a process answers. Raises OSError or EOFError where it is gone, or nobody waits for it."""
    if part.called_off or process.stdin is None or process.stdout is None:
        raise OSError("nobody waits for it")
    _send(process.stdin, question)
    return _received(process.stdout)


def _end(process: subprocess.Popen[bytes]) -> None:
    process.kill()
    process.wait()
    for pipe in (process.stdin, process.stdout):
        if pipe is not None:
            with suppress(OSError):  # of a question that was not written to its end
                pipe.close()


def _send(pipe: IO[bytes], message: bytes) -> None:
    pipe.write(_LENGTH.pack(len(message)))
    pipe.write(message)
    pipe.flush()


def _received(pipe: IO[bytes]) -> bytes:
    """Return a message. Raises EOFError where the pipe ends before it does."""
    head = pipe.read(_LENGTH.size)
    length = _LENGTH.unpack(head)[0] if len(head) == _LENGTH.size else -1
    message = pipe.read(length) if length >= 0 else b""
    if len(message) != length:
        raise EOFError("it ended before its answer")
    return message


def _answer() -> None:
    """Do what comes on standard input, part after part, until that is closed; what a library prints is no answer."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    questions: queue.SimpleQueue[bytes] = queue.SimpleQueue()

    def listen() -> None:
        try:
            while True:
                questions.put(_received(sys.stdin.buffer))
        except EOFError:
            os._exit(0)  # in the middle of a part too: nobody waits for it any more

    threading.Thread(target=listen, daemon=True).start()
    while True:
        try:
            function, args, kwargs = pickle.loads(questions.get())  # noqa: S301 - from the process that began this one
            answer = pickle.dumps((True, function(*args, **kwargs)), pickle.HIGHEST_PROTOCOL)
        except Exception as error:  # noqa: BLE001 - it is raised where the part was asked for
            answer = _as_told(error)
        _send(answers, answer)


def _as_told(error: Exception) -> bytes:
    """Return an error as a message; its words alone where it cannot be pickled."""
    try:
        return pickle.dumps((False, error), pickle.HIGHEST_PROTOCOL)
    except (pickle.PicklingError, TypeError, AttributeError):
        return pickle.dumps((False, RuntimeError(f"{type(error).__name__}: {error}")), pickle.HIGHEST_PROTOCOL)


if __name__ == "__main__":
    _answer()
