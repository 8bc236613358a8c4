"""Where the choice changes hands: solved outright where linear, by bisection elsewhere."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from missionsim.base.errors import ValidityError
from missionsim.statistics.crossings import crossing, linear_crossing
from missionsim.statistics.intervals import mean_interval


def test_fuel_price_worked_by_hand():
    # a burns 400 gal less and costs 2,600 dollars more besides: even at 6.50 a gallon, in every year.
    found = linear_crossing([2_600, 2_600, 2_600], [-400, -400, -400])
    assert found.at == pytest.approx(6.5)
    assert (found.low, found.high) == pytest.approx((6.5, 6.5))
    assert not found.rising


def test_bounds_are_where_the_interval_touches_zero(rng):
    base, slope = rng.normal(2_600, 900, size=30), rng.normal(-400, 60, size=30)
    found = linear_crossing(base, slope)
    assert found.low < found.at < found.high
    assert mean_interval(base + found.at * slope)[0] == pytest.approx(0, abs=1e-9)
    assert mean_interval(base + found.low * slope)[1] == pytest.approx(0, abs=1e-6)   # difference still above
    assert mean_interval(base + found.high * slope)[2] == pytest.approx(0, abs=1e-6)


def test_bounds_cover_the_true_crossing(rng):
    runs, hits = 1_000, 0
    for _ in range(runs):
        slope = rng.normal(-400, 150, size=10)
        found = linear_crossing(2_600 + rng.normal(0, 400, size=10), slope)
        hits += found.low is not None and found.low <= 6.5 <= found.high
    assert abs(hits / runs - 0.95) < 4 * math.sqrt(0.95 * 0.05 / runs)


def test_open_sides_and_no_crossing():
    assert linear_crossing([100, 300], [0, 0]) is None
    assert linear_crossing([], []) is None
    alone = linear_crossing([100.0], [50.0])
    assert (alone.at, alone.low, alone.high, alone.rising) == (-2, None, None, True)
    unsure = linear_crossing([100, 300, 200], [-5, 4, 2])
    assert unsure.low is None
    assert unsure.high is None


@given(st.floats(-40, 40), st.floats(0.5, 5), st.sampled_from([-1.0, 1.0]), st.integers(0, 99))
def test_bisection_agrees_with_the_outright_solution(at, steep, sign, seed):
    noise = np.random.default_rng(seed).normal(0, 1, size=12)
    base, slope = sign * (noise - noise.mean() - steep * at), np.full(12, sign * steep)
    outright = linear_crossing(base, slope)
    found = crossing(lambda v: base + v * slope, -100, 100, 1e-6)
    assert (found.at, found.low, found.high) == pytest.approx((outright.at, outright.low, outright.high), abs=1e-6)
    assert found.rising == outright.rising


def test_each_value_is_flown_once_and_few_are():
    flown = []

    def difference(value):
        flown.append(value)
        return np.array([-1.0, 0.0, 1.0]) * 5 + value**3 - 1_000

    found = crossing(difference, 0, 40, 0.1)
    assert found.at == pytest.approx(10, abs=0.1)
    assert len(flown) == len(set(flown))
    assert len(flown) < 3 * math.log2(40 / 0.1) + 2


def test_no_change_of_hands_is_none():
    assert crossing(lambda v: np.array([1.0, 2.0]) + v, 0, 10, 0.1) is None
    assert crossing(lambda _: np.zeros(3), 0, 10, 0.1) is None


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize("end", [0.0, 10.0])
def test_a_crossing_at_the_end_of_the_range(sign, end):
    found = crossing(lambda v: sign * (np.array([-1e-9, 0.0, 1e-9]) + v - end), 0, 10, 0.01)
    assert found.at == pytest.approx(end, abs=0.01)
    assert found.rising == (sign > 0)


def test_a_side_beyond_the_range_is_open():
    noise = np.array([-9.0, 0.0, 9.0])
    found = crossing(lambda v: noise + v - 2, 0, 100, 0.01)
    assert found.low is None
    assert found.high == pytest.approx(2 + 9 * 4.303 / math.sqrt(3), abs=0.02)  # t(0.975, 2) of the printed tables
    single = crossing(lambda v: [v - 2], 0, 100, 0.01)
    assert (single.low, single.high) == (None, None)


def test_nonsense_is_refused():
    with pytest.raises(ValidityError, match="accepted: rising, above 0"):
        crossing(lambda v: [v], 5, 1, 0.1)
    with pytest.raises(ValidityError, match="no replication at all"):
        crossing(lambda _: [], 0, 1, 0.1)
