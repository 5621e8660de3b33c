"""Functions over plain arrays that are compiled for the machine at their first call, and kept for the next process."""

from __future__ import annotations

from collections.abc import Callable
from typing import cast

from numba import njit


def compiled[Function: Callable[..., object]](function: Function) -> Function:
    """Return the function compiled; while it runs, other threads run too.

    What is compiled lies beside the code, or in the user's cache where that folder cannot be written to; where neither
    can, each process compiles anew. Arrays go in one by one: tuples of arrays compile in minutes and not in seconds.
    """
    try:
        return cast("Function", njit(nogil=True, cache=True)(function))
    except RuntimeError:  # nowhere to keep it
        return cast("Function", njit(nogil=True)(function))
