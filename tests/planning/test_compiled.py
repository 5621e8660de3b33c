"""Compiled functions: kept for the next process where that can be, and made anew where it cannot."""

from __future__ import annotations

from typing import Any

import pytest
from numba import njit

from routing.planning.running import compiled as module


def doubled(number: int) -> int:
    return 2 * number


def test_where_nothing_can_be_kept_functions_are_compiled_all_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[dict[str, object]] = []

    def nowhere(**options: Any) -> Any:
        asked.append(options)
        if options.get("cache"):
            raise RuntimeError("cannot cache function: no locator available")
        return njit(**options)

    monkeypatch.setattr(module, "njit", nowhere)
    assert module.compiled(doubled)(21) == 42
    assert [bool(options.get("cache")) for options in asked] == [True, False]
