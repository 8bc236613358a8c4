"""Fixtures shared by all tests."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import settings

from missionsim.base.assumptions import Assumptions, packaged_assumptions

# No deadline: the first call pays for imports. Derandomised: a failure on one machine is a failure on all.
settings.register_profile("missionsim", deadline=None, derandomize=True, max_examples=100, database=None)
# `pytest --hypothesis-profile=long` searches long, and for new cases each time.
settings.register_profile("long", deadline=None, derandomize=False, max_examples=3_000, print_blob=True)
settings.load_profile("missionsim")


@pytest.fixture(scope="session")
def assumptions() -> Assumptions:
    """Return the packaged assumptions."""
    return packaged_assumptions()


@pytest.fixture
def rng() -> np.random.Generator:
    """Return a generator for test data; tests of random streams make their own."""
    return np.random.default_rng(20_260_101)
