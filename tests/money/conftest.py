from __future__ import annotations

import sys
from pathlib import Path

import pytest

from missionsim.money.prices import place_prices, prices_of

# The tests share `money_cases`; pytest's import mode puts no folder of tests on the path by itself.
sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture(scope="session")
def prices(assumptions):
    return prices_of(assumptions)


@pytest.fixture(scope="session")
def places(prices):
    return place_prices(["KGRI", "KOMA"], 0, prices, -6.0)
