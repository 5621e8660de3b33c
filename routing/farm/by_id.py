"""Things found by their id at once: looked for one by one, those of a farm of thousands take minutes."""

from __future__ import annotations

from typing import Protocol

MOST_KEPT = 8
"""Tuples whose ids are kept: a farm and what is made of it for an answer mostly share theirs."""


class Named(Protocol):
    """Whatever has an id."""

    @property
    def id(self) -> str:
        """Return the id."""
        ...


class ById[T: Named]:
    """The things of some tuples by their ids; a tuple is known again by being the very same."""

    def __init__(self) -> None:
        self._kept: dict[int, tuple[tuple[T, ...], dict[str, T]]] = {}

    def of(self, things: tuple[T, ...]) -> dict[str, T]:
        """Return the things by their ids, of several with one id the first."""
        kept = self._kept.get(id(things))
        if kept is None or kept[0] is not things:
            kept = things, {thing.id: thing for thing in reversed(things)}
            for oldest in list(self._kept)[: max(0, len(self._kept) - MOST_KEPT + 1)]:
                self._kept.pop(oldest, None)
            self._kept[id(things)] = kept  # with the tuple, so that its number in memory is nobody else's meanwhile
        return kept[1]
