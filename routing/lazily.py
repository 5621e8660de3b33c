"""What a package gives by name, each thing imported when it is first asked for (PEP 562).

So whoever needs one thing of a package imports that one at the top of its file, whatever else the package holds, and
`outyard --help` stays quick. Source: PEP 562, https://peps.python.org/pep-0562/.
"""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from importlib import import_module
from types import FrameType, ModuleType

STOPPED = 130
"""What a shell expects of a command that Ctrl-C ended."""


def modules_of(package: str, *names: str) -> Callable[[str], ModuleType]:
    """Return a package's `__getattr__` that gives its own modules of these names."""

    def give(name: str) -> ModuleType:
        if name not in names:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        return imported(f"{package}.{name}")

    return give


def things_of(package: str, where: Mapping[str, str]) -> Callable[[str], object]:
    """Return a package's `__getattr__` that gives things by name; `where` has the whole name of each's module."""

    def give(name: str) -> object:
        if name not in where:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        thing: object = getattr(imported(where[name]), name)
        setattr(sys.modules[package], name, thing)  # found at once from now on
        return thing

    return give


def imported(module: str) -> ModuleType:
    """Return a module, imported while Ctrl-C waits. Raises whatever the module raises at its import."""
    with _held():
        return import_module(module)


@contextmanager
def _held() -> Iterator[None]:
    """Let Ctrl-C wait until the end of the block; a second one ends the program at once.

    A library in C that is broken off while it loads raises an error of its own, and stays half loaded.
    """
    if not _ours_to_hold():
        yield
        return
    pressed = False

    def press(_signal: int, _frame: FrameType | None) -> None:
        nonlocal pressed
        if pressed:
            raise SystemExit(STOPPED)
        pressed = True

    before = signal.signal(signal.SIGINT, press)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
    if pressed:
        raise KeyboardInterrupt


def _ours_to_hold() -> bool:
    """Return whether Ctrl-C would raise KeyboardInterrupt here, and nobody has asked for anything else."""
    on_main = threading.current_thread() is threading.main_thread()
    return on_main and signal.getsignal(signal.SIGINT) is signal.default_int_handler


def importing(frame: FrameType | None) -> bool:
    """Return whether a module is being imported where this frame runs."""
    while frame is not None:
        if frame.f_globals.get("__name__") == "importlib._bootstrap":
            return True
        frame = frame.f_back
    return False
