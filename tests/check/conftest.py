"""The good round that the tests of this folder damage, built once."""

from __future__ import annotations

import pytest

from routing.round import Round
from tests.check.good_round import good_round


@pytest.fixture(scope="session")
def good() -> Round:
    return good_round()
