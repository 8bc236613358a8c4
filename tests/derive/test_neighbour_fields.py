"""Hours with thunder that give so many days: closed form, and what makes the same days out of fewer hours."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.derive import neighbour_fields as fields
from missionsim.world.surface.station_climate import BLOCKS, MONTH_DAYS, MONTHS

WIDTH_H = 3.0 * np.array(MONTH_DAYS)[:, None]


def hours(days, shape, cloud):
    return fields.hours_of_days(np.array([days]), shape[None], WIDTH_H, np.full((1, MONTHS, BLOCKS), cloud))[0]


def test_evenly_spread_hours_under_cloud_follow_the_closed_form():
    """Gathered by nothing and always under cloud: the logarithm of days is a square of that of hours."""
    even = WIDTH_H * np.ones((MONTHS, BLOCKS))
    constant, power, bend = fields.DAYS_OF_HOURS
    for days in (2.0, 20.0, 80.0):
        log_h = np.log(hours(days, even, 1.0))
        assert constant + power * log_h + bend * log_h**2 == pytest.approx(np.log(days), abs=1e-9)


def test_half_of_the_hours_of_the_day_and_half_the_cloud_count_as_measured():
    """Twice as gathered by the clock and under cloud half of the time: both factors, by hand."""
    even = WIDTH_H * np.ones((MONTHS, BLOCKS))
    afternoon = even * (np.arange(BLOCKS) >= BLOCKS // 2)
    constant, power, bend = fields.DAYS_OF_HOURS
    _, by_hour, by_cloud = fields.DAYS_OF_GATHERING
    log_h = np.log(hours(30.0, afternoon, 0.5))
    expected = constant + by_hour * np.log(2.0) + by_cloud * np.log(0.5) + power * log_h + bend * log_h**2
    assert expected == pytest.approx(np.log(30.0), abs=1e-9)


def test_a_year_of_one_season_needs_more_hours_for_its_days_and_so_does_a_clear_sky():
    even = WIDTH_H * np.ones((MONTHS, BLOCKS))
    summer = even * (np.abs(np.arange(MONTHS) - 6) < 3)[:, None]
    assert hours(40.0, summer, 0.5) > 1.1 * hours(40.0, even, 0.5)
    assert hours(40.0, even, 0.2) > 1.05 * hours(40.0, even, 0.8)
    assert hours(10.0, even, 0.5) < hours(20.0, even, 0.5) < hours(40.0, even, 0.5)
