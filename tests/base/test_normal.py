from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from missionsim.base.errors import ValidityError
from missionsim.base.normal import normal_cdf, normal_quantile, skewed_mean, skewed_quantile


@given(st.floats(-38.0, 38.0))
def test_cdf_agrees_with_the_error_function_of_the_standard_library(x):
    expected = 0.5 * math.erfc(-x / math.sqrt(2.0))
    assert float(normal_cdf(x)) == pytest.approx(expected, rel=2e-8, abs=1e-15)


@given(st.floats(1e-300, 1.0 - 1e-15))
def test_quantile_agrees_with_the_standard_library(p):
    assert float(normal_quantile(p)) == pytest.approx(NormalDist().inv_cdf(p), rel=1e-13, abs=1e-14)


def test_round_trip_and_shape():
    p = np.linspace(0.001, 0.999, 998).reshape(2, 499)
    back = normal_cdf(normal_quantile(p))
    assert back.shape == p.shape
    np.testing.assert_allclose(back, p, rtol=0.0, atol=1e-14)


def test_ends_and_missing_values():
    np.testing.assert_array_equal(normal_quantile([0.0, 0.5, 1.0, np.nan]), [-np.inf, 0.0, np.inf, np.nan])
    np.testing.assert_array_equal(normal_cdf([-np.inf, 0.0, np.inf, np.nan]), [0.0, 0.5, 1.0, np.nan])


@given(st.lists(st.floats(1e-9, 1.0 - 1e-9), min_size=1, max_size=20))
def test_one_far_out_in_the_tail_changes_no_other(p):
    alone, beside = normal_quantile(p), normal_quantile([*p, 1e-200])
    np.testing.assert_array_equal(alone, beside[:-1])
    assert beside[-1] == pytest.approx(NormalDist().inv_cdf(1e-200), rel=1e-13)


def test_a_probability_outside_zero_to_one_is_refused_with_its_value():
    with pytest.raises(ValidityError, match=r"probability is 1\.5; accepted: 0 to 1"):
        normal_quantile([0.2, 1.5])


def test_skewed_quantity_goes_through_its_three_points():
    np.testing.assert_allclose(skewed_quantile([0.1, 0.5, 0.9], 60.0, 190.0, 620.0), [60.0, 190.0, 620.0], rtol=1e-12)


@given(st.floats(0.2, 1.0), st.floats(1.0, 6.0))
def test_skewed_mean_is_the_mean_of_the_quantiles(low, high):
    p = (np.arange(200_000) + 0.5) / 200_000
    assert float(skewed_mean(low, 1.0, high)) == pytest.approx(skewed_quantile(p, low, 1.0, high).mean(), rel=2e-3)


def test_skewed_values_out_of_order_are_refused():
    with pytest.raises(ValidityError, match="above zero and in this order"):
        skewed_quantile(0.5, 0.0, 1.0, 2.0)


def test_a_quantity_that_is_not_there_is_nothing_at_any_chance():
    np.testing.assert_array_equal(skewed_quantile([0.0, 0.1, 0.5, 0.9, 1.0], 0.0, 0.0, 620.0), np.zeros(5))
    assert float(skewed_mean(0.0, 0.0, 620.0)) == 0.0
    np.testing.assert_allclose(skewed_quantile(0.9, [0.0, 60.0], [0.0, 190.0], 620.0), [0.0, 620.0], rtol=1e-12)
