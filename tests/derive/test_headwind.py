"""Headwinds on simulated legs of 300 nm against the open mean winds, and their shape by season and course."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.derive import check_headwind as check

have_open = pytest.mark.skipif(not check.PUBLISHED.is_file(), reason="the open mean winds are not here")
ROW = {region: k for k, region in enumerate(check.PLACES)}


@pytest.fixture(scope="module")
def high():
    return check.headwinds_kt(check.WEST, 6, check.NEAR_500_HPA_FT)


@pytest.fixture(scope="module")
def cruising():
    return {course: check.headwinds_kt(course, 4) for course in (check.WEST, check.NORTH)}


@have_open
def test_mean_headwind_is_the_component_of_the_open_mean_wind(high):
    """January and July, 500 hPa, eight places: within 15 percent or 5 kt (ERA-Interim monthly means)."""
    wanted = check.published_mean_kt()
    for (city, _, _), heads in zip(check.PLACES.values(), high, strict=True):
        for month, published in zip((0, 6), wanted[city], strict=True):
            assert np.nanmean(heads[month]) == pytest.approx(published, abs=max(5.0, 0.15 * abs(published))), city


@have_open
def test_components_of_published_winds_by_hand():
    """New York, January, 51.8 kt from 264: 51.8 cos 6 = 51.52; Miami, July, 3.1 kt from 113: 3.1 cos 157 = -2.85."""
    wanted = check.published_mean_kt()
    assert wanted["New York"][0] == pytest.approx(51.52, abs=0.01)
    assert wanted["Miami"][1] == pytest.approx(-2.85, abs=0.01)


def test_headwinds_westbound_are_strongest_and_most_uncertain_in_winter(cruising):
    """Common practice: westbound in winter costs most, more in the east than in the west."""
    heads = cruising[check.WEST]
    winter, summer = (heads[:, list(check.SEASONS[s])].reshape(len(ROW), -1) for s in ("Dec-Feb", "Jun-Aug"))
    assert (np.nanmean(winter, axis=1) > np.nanmean(summer, axis=1)).all()
    assert (np.nanstd(winter, axis=1) > np.nanstd(summer, axis=1)).all()
    assert np.nanmean(winter[ROW["North-east"]]) > np.nanmean(winter[ROW["California"]]) + 10.0


def test_northbound_legs_meet_southerlies_of_summer_over_the_southern_plains(cruising):
    """July, 850 hPa at Fort Worth: 8.7 kt from 195 (open means): northbound is helped."""
    july = cruising[check.NORTH][ROW["south Plains"], 6]
    assert np.nanmean(july) < -2.0


def test_months_are_filled_to_their_length(cruising):
    """Eight steps a day: four years of February hold 896, of January 992."""
    heads = cruising[check.WEST][0]
    assert (~np.isnan(heads[1])).sum() == 896
    assert (~np.isnan(heads[0])).sum() == 992
