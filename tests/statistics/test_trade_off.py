"""What nothing beats, by hand and by its definition."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from missionsim.statistics.trade_off import steps, unbeaten


def test_nothing_beats_the_cheapest_the_quickest_and_what_lies_between():
    # Dearer and slower (2) falls out; so does an equal (4) of the first.
    assert unbeaten([100, 300, 320, 900, 100], [50, 40, 45, 10, 50]) == [0, 1, 3]
    assert unbeaten([5.0], [1.0]) == [0]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 9)), min_size=1, max_size=8))
def test_each_that_is_left_out_is_beaten_and_none_that_stays_is(points):
    usd, hours = (np.array(x, dtype=float) for x in zip(*points, strict=True))
    stay = unbeaten(usd, hours)

    def beats(a, b):
        return usd[a] <= usd[b] and hours[a] <= hours[b] and (usd[a] < usd[b] or hours[a] < hours[b] or a < b)

    for row in range(len(usd)):
        assert any(beats(k, row) for k in range(len(usd)) if k != row) == (row not in stay)


def test_a_step_has_a_price_only_where_both_its_parts_are_more_than_chance():
    rng = np.random.default_rng(1)
    year = rng.normal(0.0, 500.0, 40)
    noise = rng.normal(0.0, 5_000.0, 40)
    cost = np.stack([20_000 + year, 30_000 + year, 30_500 + year + noise - noise.mean()])
    hours = np.stack([np.full(40, 900.0), np.full(40, 800.0), np.full(40, 790.0)]) + rng.normal(0, 1e-6, (3, 40))
    trips = np.stack([np.zeros(40), np.full(40, 25.0), np.full(40, 25.0)])
    first, second, third = steps(cost, hours, trips)
    assert (first.row, second.row, third.row) == (0, 1, 2)
    assert second.per_saved[0] == pytest.approx(100.0)      # 10,000 dollars for 100 hours
    assert second.per_gained[0] == pytest.approx(400.0)     # and for 25 trips
    assert not second.level
    assert third.level
    assert third.per_saved is None
    assert third.per_gained is None
