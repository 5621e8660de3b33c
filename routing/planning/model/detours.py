"""How much more driving it takes to go by a place between two others, of many gaps and places at once."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

NO_WAY = np.iinfo(np.int64).max


def detours(
    drives: NDArray[Any], before: NDArray[np.int64], after: NDArray[np.int64], there: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Return the seconds that going by each place `there` adds to each gap, shape (gaps, places); NO_WAY for no way.

    A gap is between the places `before` and `after`, shape (gaps,). Drives are whole seconds of any width, shape
    (places, places), negative where there is no way.
    """
    out, back = (drives[np.ix_(before, there)].astype(np.int64), drives[np.ix_(there, after)].T.astype(np.int64))
    more = out + back - drives[before, after].astype(np.int64)[:, None]
    return np.where((out < 0) | (back < 0), NO_WAY, more)
