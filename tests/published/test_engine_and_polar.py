"""Full-throttle power with altitude, drag polar and Breguet range against textbook values."""

from __future__ import annotations

import math

import polar
import pytest

from missionsim.physics.atmosphere import standard_density_ratio
from missionsim.physics.engine import full_throttle_ratio
from missionsim.physics.units import M_PER_FT, SM_PER_NM

pytestmark = pytest.mark.published

KG_PER_LB = 0.45359237

# Source: Gagg and Ferrar (1934) as quoted in light-aircraft performance textbooks. The formula is from memory, so these
# rows guard the formula as remembered and say nothing about a particular engine.
FULL_THROTTLE = [(0, 1.00000), (5_000, 0.84341), (8_000, 0.75777), (12_000, 0.65267)]


@pytest.mark.parametrize(("level_ft", "ratio"), FULL_THROTTLE)
def test_full_throttle_power(level_ft, ratio):
    assert full_throttle_ratio(standard_density_ratio(level_ft)) == pytest.approx(ratio, abs=2e-4)


@pytest.mark.parametrize("level_ft", [0, 4_000, 8_000, 12_000, 16_000])
def test_other_printed_forms_agree(level_ft):
    sigma = standard_density_ratio(level_ft)
    assert full_throttle_ratio(sigma) == pytest.approx(sigma - (1 - sigma) / 7.55, abs=2e-4)
    assert full_throttle_ratio(sigma) == pytest.approx((sigma - 0.117) / 0.883, abs=2e-4)


def test_textbook_range():
    # Source: Anderson, Introduction to Flight, range example of a hypothetical light single: 2,950 lb, 65 gal at
    # 5.64 lb/gal, 0.45 lb/(hp h), propeller efficiency 0.8, best L/D 13.62; printed about 1,207 statute miles.
    start = 2_950.0
    end = start - 65.0 * 5.64
    assert end == pytest.approx(2_583.4, abs=0.05)
    nm = polar.breguet_range_nm(0.8, 0.45, 13.62, start, end)
    assert nm * SM_PER_NM == pytest.approx(1_207, rel=0.005)
    assert nm * SM_PER_NM == pytest.approx(1_204.9, abs=0.5)
    assert nm * polar.FT_PER_NM == pytest.approx(6.362e6, rel=0.001)


def test_textbook_polar():
    # Source: the same example: CD0 0.025, e 0.8, aspect ratio 7.37.
    k = polar.induced_factor(7.37, 0.8)
    assert polar.max_lift_drag_ratio(0.025, k) == pytest.approx(13.610, abs=0.005)
    assert polar.max_endurance_factor(0.025, k) == pytest.approx(12.796, abs=0.005)


def test_range_worked_in_metric_units():
    # Source: Breguet's formula worked in metric units: 0.28 kg/(kW h), L/D 11, 1,100 kg of which 130 kg fuel.
    kw_h_per_hp_h = polar.FT_LB_PER_HP_H * M_PER_FT * KG_PER_LB * 9.80665 / 3.6e6
    bsfc = 0.28 / KG_PER_LB * kw_h_per_hp_h
    nm = polar.breguet_range_nm(0.80, bsfc, 11.0, 1_100.0, 970.0)
    assert nm == pytest.approx(783.50, rel=0.001)
    assert nm * 1.852 == pytest.approx(1_451.05, rel=0.001)


def test_speed_for_least_power():
    # Source: standard result for a parabolic polar; handbooks quote 76 % of the speed for best glide.
    assert pytest.approx(0.7598, abs=1e-4) == polar.MIN_POWER_SPEED_RATIO
    assert round(100 * polar.MIN_POWER_SPEED_RATIO) == 76
    assert polar.relative_drag(polar.MIN_POWER_SPEED_RATIO) == pytest.approx(2 / math.sqrt(3))
