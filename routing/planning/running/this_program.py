"""This very program begun once more, for a module of it."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass
from typing import IO


@dataclass(frozen=True, eq=False)
class Begun:
    """A process, and the pipes to what it hears and says."""

    process: subprocess.Popen[bytes]
    hears: IO[bytes]
    says: IO[bytes]


def begun(module: str, *words: str) -> Begun:
    """Begin a process that runs the module with these words; what it says on standard error is heard by nobody.

    Raises OSError where it cannot be begun.
    """
    process = subprocess.Popen(  # noqa: S603 - this very program
        [sys.executable, "-m", module, *words],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
    )
    if process.stdin is None or process.stdout is None:
        raise OSError("a process was begun without its pipes")
    return Begun(process, process.stdin, process.stdout)
