"""A day's course of temperature keeps its mean and reaches the mean maximum and minimum."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.world.surface.day_course import day_course, stretched

CLOCK = np.arange(24)


def test_a_course_reaches_its_ends_and_keeps_its_mean():
    shape = np.cos(2 * np.pi * (CLOCK - 15) / 24) + 0.2 * np.cos(4 * np.pi * (CLOCK - 15) / 24)
    course = stretched(np.array(20.0), np.array(12.0), np.array(31.0), shape)
    assert course.mean() == pytest.approx(20.0, abs=0.15)
    assert (course.max(), course.min()) == pytest.approx((31.0, 12.0), abs=0.2)
    assert int(course.argmax()) == 15


def test_the_same_day_every_day_is_that_day():
    day = 10 + 8 * np.cos(2 * np.pi * (CLOCK - 15) / 24)
    reports = np.tile(np.roll(day, -1), 365)        # the first report of a day is that of 01:00
    course = day_course(reports)
    assert course.shape[6] == pytest.approx(day)
    assert stretched(course.mean, course.low, course.high, course.shape)[3] == pytest.approx(day, abs=1e-6)


def test_days_warmest_at_different_hours_come_half_way_to_their_mean_maximum():
    """Half of the days peak at 13 h, half at 17 h: means by hour stay below the mean maximum of 18."""
    peaks = [10 + 8 * np.cos(2 * np.pi * (CLOCK - hour) / 24) for hour in (13, 17)]
    reports = np.concatenate([np.roll(peaks[k % 2], -1) for k in range(365)])
    course = day_course(reports)
    assert course.shape[6].max() < 17.0
    half_way = 0.5 * (18.0 + course.shape[6].max())
    found = stretched(course.mean, course.low, course.high, course.shape)[6]
    assert found.max() == pytest.approx(half_way, abs=0.1)
    assert found.mean() == pytest.approx(course.mean[6], abs=0.1)
