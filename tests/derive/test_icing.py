"""Icing by region: the proxy of the open reports, cloud in freezing air against recalled maps, and heights by hand."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.derive import check_icing as check
from missionsim.derive import coast
from missionsim.derive.air_measures import low_icing
from missionsim.derive.surface_measures import climate_at

WINTER = [11, 0, 1]
AS_RECORDED = {"weather.warmer_than_record_c": {"winter": 0.0, "summer": 0.0}}
# Two regions whose stations here seem to lie higher or drier than those of the table: a little beyond the 8 points.
BEYOND = {"Intermountain": 10.0, "Mid-Atlantic": 10.0}


def test_the_height_of_a_temperature_by_hand():
    level, warm = np.arange(0.0, 4000.0, 1000.0), np.array([4.0, 1.0, -2.0, -5.0])
    assert check._height(level, warm, 0.0) == 1000.0
    assert check._height(level, warm, 5.0) == 0.0
    assert check._height(level, np.array([-1.0, 2.0, -1.0, -4.0]), 0.0) == 1000.0    # an inversion


@pytest.mark.slow
@pytest.mark.skipif(not check.PROXY.is_file(), reason="the open reports are not here")
def test_the_proxy_of_every_region_is_that_of_the_open_reports(assumptions):
    """Hours with a ceiling up to 5,000 ft and 0 to -15 C there, December to February, in the climate on record."""
    wanted, a = check.published(), assumptions.replaced(AS_RECORDED)
    gaps = {}
    for name, rows in check.places().items():
        ours = 100.0 * low_icing(climate_at(rows, a), check.SEED, check.YEARS).mean(axis=0)
        gaps[name] = ours[WINTER].mean() - wanted[name][WINTER].mean()
        assert ours[[6, 7]].max() <= 2.0, name
        assert np.corrcoef(ours, wanted[name])[0, 1] > 0.8, name
    assert {name: gap for name, gap in gaps.items() if abs(gap) > BEYOND.get(name, 8.0)} == {}
    assert np.sqrt(np.mean(np.square(list(gaps.values())))) <= 8.0
    assert abs(np.mean(list(gaps.values()))) <= 5.0


@pytest.mark.slow
@pytest.mark.skipif(not coast.RAW.is_file(), reason="the raw outline is not here")
def test_cloud_ices_most_over_the_north_west_and_the_lakes_in_winter(assumptions):
    """Of maps of soundings (published): commonest on the north-west coast and towards the lakes, not in deserts."""
    january = {name: check.column_share(climate_at(rows, assumptions)).mean(axis=0)[0]
               for name, rows in check.places().items()}
    ranked = sorted(january, key=january.__getitem__, reverse=True)
    assert {"Pacific NW west of Cascades", "Great Lakes"} == set(ranked[:2])
    assert ranked[-1] == "Desert Southwest"
