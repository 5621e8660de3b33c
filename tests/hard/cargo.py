"""What is on board on a crew's trips, in whole numbers: every amount times what makes all of them whole, so still exact."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from fractions import Fraction
from functools import cache

from tests.hard.world import CrewDay, World

Board = tuple[int, ...]
"""One for each material, in the smallest share of its unit that makes every amount whole."""


class Cargo:
    """Tells whether a trip's load keeps to the payload and the space of one crew-day, by rules 5 and 15."""

    def __init__(self, world: World, day: CrewDay) -> None:
        self._world = world
        works = world.works
        materials = range(len(world.materials))
        self._shares = [
            _whole(
                value
                for value in (*(amount[m] for work in works for amount in (work.uses, work.back, work.carried)),
                              world.packs[m], world.stock[m])
                if value is not None
            )
            for m in materials
        ]  # fmt: skip
        self._uses = [self._scaled(work.uses) for work in works]
        self._back = [self._scaled(work.back) for work in works]
        self._carried = [self._scaled(work.carried) for work in works]
        self._packs = [
            None if pack is None else int(pack * s) for pack, s in zip(world.packs, self._shares, strict=True)
        ]
        self._stock = [
            None if have is None else int(have * s) for have, s in zip(world.stock, self._shares, strict=True)
        ]
        self._limits = [
            self._limit(each, most) for each, most in ((world.kilograms, day.payload), (world.litres, day.space))
        ]
        self.total = cache(self._total)
        self.fits = cache(self._fits)
        self._numbers = cache(self._numbers_of)

    def everything_fits(self) -> bool:
        """Return whether one trip carries all that the farm wants, in whatever order."""
        most = self._loaded(self.total(self._world.everything))
        for back, carried in zip(self._back, self._carried, strict=True):
            most = tuple(a + b + c for a, b, c in zip(most, back, carried, strict=True))
        return self._holds(most)

    def _fits(self, stops: tuple[int, ...], before: int) -> bool:
        """Return whether one trip's load holds on leaving base and at each of its stops, after what was used before."""
        used, trip = self.total(before), self.total(sum(stops))
        loaded = self._loaded(tuple(a + b for a, b in zip(used, trip, strict=True)))
        board = tuple(a - b for a, b in zip(loaded, used, strict=True))
        if not self._holds(board):
            return False
        for mask in stops:
            for number in self._numbers(mask):
                uses, back = self._uses[number], self._back[number]
                board = tuple(b - u + k for b, u, k in zip(board, uses, back, strict=True))
            within = tuple(b + c for b, c in zip(board, self._on_the_way(mask), strict=True))
            if not self._holds(board) or not self._holds(within):
                return False
        return True

    def _on_the_way(self, mask: int) -> Board:
        found = (0,) * len(self._shares)
        for number in self._numbers(mask):
            found = tuple(a + b for a, b in zip(found, self._carried[number], strict=True))
        return found

    def _numbers_of(self, mask: int) -> tuple[int, ...]:
        return tuple(work.number for work in self._world.of(mask))

    def _total(self, mask: int) -> Board:
        found = (0,) * len(self._shares)
        for number in self._numbers_of(mask):
            found = tuple(a + b for a, b in zip(found, self._uses[number], strict=True))
        return found

    def _loaded(self, used: Board) -> Board:
        """Return what is loaded for so much use: whole packs, never more than the stock."""
        found = []
        for need, pack, have in zip(used, self._packs, self._stock, strict=True):
            whole = need if pack is None else -(-need // pack) * pack
            found.append(whole if have is None else min(whole, max(have, need)))
        return tuple(found)

    def _holds(self, board: Board) -> bool:
        return all(sum(a * k for a, k in zip(board, each, strict=True)) <= most for each, most in self._limits)

    def _scaled(self, amounts: Sequence[Fraction]) -> Board:
        return tuple(int(value * share) for value, share in zip(amounts, self._shares, strict=True))

    def _limit(self, each: Sequence[Fraction], most: Fraction) -> tuple[Board, int]:
        """Return what a share of each material's unit weighs or fills, and the most of it, times what makes both whole."""
        of_shares = [one / share for one, share in zip(each, self._shares, strict=True)]
        whole = _whole((*of_shares, most))
        return tuple(int(one * whole) for one in of_shares), int(most * whole)


def _whole(values: Iterable[Fraction]) -> int:
    return math.lcm(*(value.denominator for value in values))
