"""What plain arrays must be to be planned: every refusal names the argument, the place in it and what it should be."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from routing.errors import AskedError

if TYPE_CHECKING:
    from numpy.typing import NDArray

LARGEST = 10**9
"""Seconds, metres and loads may be so large: a thousand of them added up are still far from what 64 bits hold."""

LARGEST_PRIZE = 10**6
"""Prizes may be so large: ranks are weighed against each other by products of their sums."""


def whole(
    name: str, given: object, *shapes: tuple[int, ...], least: int = -LARGEST, most: int = LARGEST
) -> NDArray[np.int64]:
    """Return an argument as whole numbers of one of the shapes; nothing is rounded, wrapped around or cut off.

    Without shapes any will do. Raises AskedError for fractions, infinities, numbers out of range, truth values, text,
    and whatever is no array of numbers.
    """
    array = _numbers(name, given)
    if shapes and array.shape not in shapes:
        wanted = " or ".join("one number" if shape == () else f"the shape {shape}" for shape in shapes)
        has = "it is one number" if array.shape == () else f"its shape is {array.shape}"
        raise AskedError(f"{name} must have {wanted}; {has}")
    if array.dtype.kind == "f":
        _refuse(name, array, ~np.isfinite(array), "it must be a whole number")
        _refuse(name, array, array != np.floor(array), "it must be a whole number: scale fractions first")
    _refuse(name, array, (array < least) | (array > most), f"it must be from {least} to {most}")
    return array.astype(np.int64)


def one_whole(name: str, given: object, *, least: int, most: int = LARGEST) -> int:
    """Return an argument that is one whole number. Raises AskedError where it is anything else."""
    return int(whole(name, given, (), least=least, most=most))


def positive(name: str, given: object) -> float:
    """Return an argument that is one number above 0, fractions allowed. Raises AskedError where it is anything else."""
    array = _numbers(name, given)
    if array.shape != () or not math.isfinite(array.item()) or array.item() <= 0:
        raise AskedError(f"{name} must be one number above 0; it is {_shown(given)}")
    return float(array.item())


def _numbers(name: str, given: object) -> NDArray[np.int64] | NDArray[np.float64] | NDArray[np.object_]:
    """Return an argument as an array of integers or floats, or of Python's own integers where they are longer."""
    if isinstance(given, np.ma.MaskedArray):
        raise AskedError(f"{name} must not be masked: every number in it counts")
    try:
        array = np.asarray(given)
    except (TypeError, ValueError, OverflowError) as error:
        raise AskedError(f"{name} must be an array of numbers, with rows of one length") from error
    if array.dtype.kind == "f" and not isinstance(given, np.ndarray) and _are_whole(given):
        array = np.asarray(given, dtype=object)  # numbers of 64 bits beside others were made fractions
    if array.dtype.kind in "iuf":
        return array
    for place, one in _each(given):
        if isinstance(one, bool | np.bool_) or not isinstance(one, int | np.integer):
            raise AskedError(f"{_at(name, place)} is {_shown(one)}; it must be a whole number")
    if array.dtype.kind != "O":
        raise AskedError(f"{name} must hold whole numbers")
    return array


def _are_whole(given: object) -> bool:
    return all(isinstance(one, int | np.integer) and not isinstance(one, bool) for _, one in _each(given))


def _each(given: object) -> Iterator[tuple[tuple[int, ...], object]]:
    """Yield every item of nested lists or an array with its place."""
    items = np.asarray(given, dtype=object) if isinstance(given, np.ndarray) else given
    if isinstance(items, np.ndarray):
        yield from np.ndenumerate(items)
    elif isinstance(items, list | tuple):
        for number, item in enumerate(items):
            for place, one in _each(item):
                yield (number, *place), one
    else:
        yield (), items


def _refuse(name: str, array: NDArray[np.generic], wrong: NDArray[np.bool_], why: str) -> None:
    """Raise AskedError for the first number that is wrong, if any is."""
    places = np.argwhere(wrong)
    if len(places):
        place = tuple(int(number) for number in places[0])
        raise AskedError(f"{_at(name, place)} is {_shown(array[place])}; {why}")


def _at(name: str, place: tuple[int, ...]) -> str:
    return f"{name}[{', '.join(map(str, place))}]" if place else name


def _shown(value: object) -> str:
    """Return a value in few characters."""
    return f"{value.item() if isinstance(value, np.generic) else value!r}"[:40]
