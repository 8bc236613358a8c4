from __future__ import annotations

import numpy as np
import polar
import pytest
from hypothesis import given
from hypothesis import strategies as st

DRAG = st.floats(0.015, 0.06)
FACTOR = st.floats(0.03, 0.12)
LIFT = np.linspace(0.02, 3.0, 20_000)


@given(DRAG, FACTOR)
def test_best_ratios_are_the_best_of_a_search(cd0, k):
    drag = polar.drag_coefficient(LIFT, cd0, k)
    assert polar.max_lift_drag_ratio(cd0, k) == pytest.approx((LIFT / drag).max(), rel=1e-6)
    assert polar.max_endurance_factor(cd0, k) == pytest.approx((LIFT**1.5 / drag).max(), rel=1e-6)
    assert polar.best_lift_coefficient(cd0, k) == pytest.approx(LIFT[(LIFT / drag).argmax()], abs=1e-3)


def test_least_power_lies_below_the_speed_for_least_drag():
    speeds = np.linspace(0.5, 1.5, 100_001)
    drag = polar.relative_drag(speeds)
    assert speeds[drag.argmin()] == pytest.approx(1.0, abs=1e-4)
    assert speeds[(drag * speeds).argmin()] == pytest.approx(polar.MIN_POWER_SPEED_RATIO, abs=1e-4)
    assert polar.relative_drag(polar.MIN_POWER_SPEED_RATIO) == pytest.approx(polar.MIN_POWER_DRAG_RATIO)


@given(DRAG, FACTOR, st.floats(0.6, 2.0))
def test_relative_drag_follows_the_polar(cd0, k, ratio):
    best = polar.best_lift_coefficient(cd0, k)
    drag = polar.drag_coefficient(best / ratio**2, cd0, k) * ratio**2 / polar.drag_coefficient(best, cd0, k)
    assert polar.relative_drag(ratio) == pytest.approx(float(drag))


def test_longer_wings_glide_further():
    assert (np.diff(polar.max_lift_drag_ratio(0.03, polar.induced_factor([5, 7, 9], 0.8))) > 0).all()


def test_range_is_the_sum_of_its_parts_and_of_small_burns():
    whole = polar.breguet_range_nm(0.8, 0.45, 12, 3_000, 2_600)
    parts = polar.breguet_range_nm(0.8, 0.45, 12, np.array([3_000, 2_800]), np.array([2_800, 2_600]))
    assert parts.sum() == pytest.approx(float(whole))
    # Energy view: each pound of fuel gives 1 / bsfc horsepower-hours, of which the propeller spends 0.8 against W / 12.
    edges = np.linspace(3_000, 2_600, 4_001)
    feet = 0.8 / 0.45 * 550 * 3_600 * -np.diff(edges) / ((edges[1:] + edges[:-1]) / 2 / 12)
    assert whole == pytest.approx(feet.sum() / 6_076.11549, rel=1e-6)
