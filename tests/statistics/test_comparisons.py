"""Intervals, ratios, paired comparisons and the rules by which a difference is claimed."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from missionsim.base.errors import ValidityError
from missionsim.statistics.comparisons import (
    extra_usd_per_hour_saved,
    holm,
    paired_difference,
    probability_best,
    ratio_difference,
)
from missionsim.statistics.intervals import (
    exact_mean,
    mean_interval,
    measure,
    pooled_points,
    ratio_measure,
    student_t_cdf,
    student_t_quantile,
    within,
    year_points,
)

ROWS = st.lists(st.floats(-1e6, 1e6, allow_nan=False), min_size=2, max_size=30)
NOTHING = {"mean": None, "low": None, "high": None}
NO_POINTS = dict.fromkeys(("p10", "p50", "p90", "p10_low", "p10_high", "p90_low", "p90_high"))


def test_interval_worked_by_hand():
    # 1 to 5: mean 3, standard deviation sqrt(2.5), t(0.975, 4) = 2.776 in the printed tables.
    mean, low, high = mean_interval([1, 2, 3, 4, 5])
    half = 2.776 * math.sqrt(2.5 / 5)
    assert mean == 3
    assert high - mean == pytest.approx(half, abs=0.0005 * math.sqrt(0.5))
    assert mean - low == pytest.approx(high - mean)


def test_interval_covers_the_mean_as_often_as_it_says(rng):
    hits = 0
    for _ in range(2_000):
        _, low, high = mean_interval(rng.normal(5.0, 2.0, size=6))
        hits += low <= 5.0 <= high
    assert abs(hits / 2_000 - 0.95) < 4 * math.sqrt(0.95 * 0.05 / 2_000)


def test_points_of_years_lie_at_the_share_of_one_year_more():
    assert year_points([0, 10, 20, 30, 40]) == (0, 20, 40)  # ranks 0.6, 3 and 5.4 of five: the ends are the ends
    found = year_points(np.arange(1.0, 20.0))                # ranks 2, 10 and 18 of nineteen
    assert found == pytest.approx((2.0, 10.0, 18.0))
    assert year_points([3]) == (3, 3, 3)


def test_undefined_is_none_never_nan():
    assert measure([]) == {**NOTHING, **NO_POINTS}
    assert measure([4.0]) == {
        "mean": 4.0, "low": None, "high": None, **NO_POINTS, "p10": 4.0, "p50": 4.0, "p90": 4.0}
    assert ratio_measure([10, 20], [0, 0]) == {**NOTHING, **NO_POINTS}
    assert ratio_measure([10, 20], [0, 4]) == {
        "mean": 7.5, "low": None, "high": None, **NO_POINTS, "p10": 5, "p50": 5, "p90": 5}
    json.dumps([measure([1, 2]), ratio_measure([1, 2], [1, 1]), paired_difference([1], [2])], allow_nan=False)


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_what_is_not_finite_is_refused(bad):
    with pytest.raises(ValidityError, match="value 1 of 3 is"):
        measure([1.0, bad, 2.0])
    with pytest.raises(ValidityError, match="2 and 3 replications"):
        paired_difference([1, 2], [1, 2, 3])


def test_ratio_is_of_sums_not_of_years():
    # One trip at 1,000 and sixty at 6,000 in all: 7,000 over 61 trips, not the mean of 1,000 and 100.
    found = ratio_measure([1_000, 6_000], [1, 60])
    assert found["mean"] == pytest.approx(7_000 / 61)
    assert found["p50"] == pytest.approx(550)


def test_jackknife_of_a_mean_is_the_t_interval(rng):
    values = rng.normal(10, 3, size=12)
    found = ratio_measure(values, np.ones(12))
    assert (found["mean"], found["low"], found["high"]) == pytest.approx(mean_interval(values))


def test_ratio_interval_covers(rng):
    hits, runs = 0, 1_000
    for _ in range(runs):
        trips = rng.poisson(50, size=20)
        found = ratio_measure(120.0 * trips + rng.normal(4_000, 800, size=20), trips)
        hits += found["low"] <= 120.0 + 4_000 / 50 <= found["high"]
    assert abs(hits / runs - 0.95) < 4 * math.sqrt(0.95 * 0.05 / runs) + 0.01  # the jackknife is approximate


@given(ROWS, st.randoms())
def test_order_of_rows_does_not_move_a_byte(values, shuffler):
    other = list(values)
    shuffler.shuffle(other)
    assert measure(values) == measure(other)


@given(st.floats(0.001, 0.999), st.integers(1, 400))
def test_student_t_round_trip(share, freedom):
    assert student_t_cdf(student_t_quantile(share, freedom), freedom) == pytest.approx(share, abs=1e-9)


def test_student_t_refuses():
    for share in (0.0, 1.0):
        with pytest.raises(ValidityError, match="above 0 and below 1"):
            student_t_quantile(share, 5)
    with pytest.raises(ValidityError, match="freedom above 0"):
        student_t_cdf(1.0, 0)


def test_paired_difference_uses_the_pairing(rng):
    weather = rng.normal(0, 1_000, size=15)
    found = paired_difference(50 + weather, weather)
    assert found["mean"] == pytest.approx(50)
    assert found["low"] == pytest.approx(50)
    assert found["high"] == pytest.approx(50)


def test_probability_best_shares_ties():
    costs = [[1.0, 2.0, 5.0, 4.0], [1.0, 3.0, 4.0, 9.0], [1.0, 4.0, 4.0, 9.0]]
    assert probability_best(costs) == pytest.approx([(1 / 3 + 1 + 0 + 1) / 4, (1 / 3 + 0.5) / 4, (1 / 3 + 0.5) / 4])
    assert probability_best(costs, lower_is_better=False)[0] == pytest.approx((1 / 3 + 1) / 4)


def test_a_year_with_nothing_completed_is_never_the_best():
    costs, trips = [[10.0, 10.0], [90.0, 90.0]], [[0, 2], [1, 1]]
    assert probability_best(costs, denominators=trips) == [0.5, 0.5]
    assert probability_best(costs, denominators=np.zeros((2, 2))) == [None, None]


def test_holm_worked_by_hand():
    # Four p values: the smallest times 4, the next times 3, ... never falling, never above 1.
    assert holm([0.01, 0.04, 0.03, 0.005]) == pytest.approx([0.03, 0.06, 0.06, 0.02])
    assert holm([0.9, 0.6]) == pytest.approx([1.0, 1.0])
    assert holm([]).size == 0


@given(st.lists(st.floats(0, 1), min_size=1, max_size=8))
def test_holm_lies_between_plain_and_bonferroni(values):
    p = np.array(values)
    adjusted = holm(p)
    assert np.all(adjusted >= p)
    assert np.all(adjusted <= np.minimum(1, p * p.size) + 1e-15)


def test_extra_dollars_per_hour_saved(rng):
    hours = rng.normal(200, 10, size=30)
    saved = rng.normal(25, 4, size=30)
    cost_b = rng.normal(20_000, 500, size=30)
    cost_a = cost_b + 80 * saved
    found = extra_usd_per_hour_saved(cost_a, cost_b, hours - saved, hours)
    assert found["mean"] == pytest.approx(80)
    assert found["low"] == pytest.approx(80)
    assert found == extra_usd_per_hour_saved(cost_b, cost_a, hours, hours - saved)
    noise = rng.normal(0, 50, size=30)
    assert extra_usd_per_hour_saved(cost_a, cost_b, hours, hours + noise - noise.mean()) == NOTHING


def test_ratio_difference(rng):
    trips = rng.poisson(40, size=15)
    cost = 300.0 * trips + rng.normal(0, 900, size=15)
    found = ratio_difference(cost + 25.0 * trips, trips, cost, trips)
    assert found == pytest.approx({"mean": 25.0, "low": 25.0, "high": 25.0})
    assert ratio_difference(cost, np.zeros(15), cost, trips) == NOTHING


def test_exact_mean_of_awkward_numbers():
    assert exact_mean([1e16, 1.0, -1e16]) == pytest.approx(1 / 3)


def test_what_lies_between_two_values_keeps_its_interval_there():
    # Four years of five trips: 1, 1, 1 and 0.6 made. 0.9 and 3.182 x 0.2 / 2 = 0.318: from 0.58 to 1.22.
    found = within(measure([1.0, 1.0, 1.0, 0.6]), 0.0, 1.0)
    assert (found["mean"], found["high"]) == (pytest.approx(0.9), 1.0)
    assert found["low"] == pytest.approx(0.5818, abs=1e-4)
    assert within({"low": -3.0, "p10": None}, 0.0) == {"low": 0.0, "p10": None}


def test_the_points_of_three_years_with_many_draws_are_not_their_oddest_draw():
    draws = np.concatenate([np.linspace(-1.0, 1.0, 999), [50.0]])
    found = pooled_points(np.array([[0.0], [10.0], [20.0]]) + draws)
    assert 19.0 < found["p90"] < 21.0
    assert found["p10"] < 1.0
