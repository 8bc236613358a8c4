"""A mean at a given value by a straight line: by hand, and how often its interval covers the truth."""

from __future__ import annotations

import math

import numpy as np
import pytest

from missionsim.statistics.straight_line import mean_at


def test_by_hand():
    # x 0 to 8, y = x with +1 and -1 added by turns, the last left alone: slope 1 and level 4 stay, since the additions
    # sum to 0 and their product with x - 4 is (-4) - (-3) + (-2) - (-1) + 0 - 1 + 2 - 3 = -4.
    x = np.arange(9.0)
    y = x + np.array([1, -1, 1, -1, 1, -1, 1, -1, 0])
    slope = 1 - 4 / 60
    mean, low, high = mean_at(x, y, 10.0)
    assert mean == pytest.approx(4 + slope * 6)
    rest = 8 - 16 / 60                                   # sum of squares less what the slope explains
    error = math.sqrt(rest / 7 * (1 / 9 + 36 / 60))
    assert high - mean == pytest.approx(2.364624 * error, rel=1e-5)   # t of 7 degrees of freedom, published tables
    assert mean - low == pytest.approx(high - mean)


def test_what_cannot_be_told_is_not_told():
    assert mean_at([1.0], [2.0], 1.0) == (None, None, None)
    assert mean_at([3.0, 3.0], [1.0, 3.0], 3.0) == (2.0, None, None)
    assert mean_at([3.0, 3.0], [1.0, 3.0], 4.0) == (None, None, None)
    assert mean_at([1.0, 2.0, 3.0], [2.0, 4.0, 6.0], 5.0) == (pytest.approx(10.0), None, None)


def test_the_interval_covers_as_often_as_it_says():
    random, hits = np.random.default_rng(5), 0
    for _ in range(600):
        x = random.normal(45.0, 9.0, 40)
        low, high = mean_at(x, 1_000.0 + 20.0 * x + random.normal(0.0, 50.0, 40), 63.0)[1:]
        hits += low <= 1_000.0 + 20.0 * 63.0 <= high
    assert 0.92 < hits / 600 < 0.975
