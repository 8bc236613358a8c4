from __future__ import annotations

import pytest

from missionsim.money.prices import place_prices, prices_of


@pytest.fixture(scope="session")
def prices(assumptions):
    return prices_of(assumptions)


@pytest.fixture(scope="session")
def places(prices):
    return place_prices(["KGRI", "KOMA"], 0, prices, -6.0)
