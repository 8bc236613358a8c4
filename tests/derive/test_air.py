"""Temperature and low icing of simulated years against normals and the open reports."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from missionsim.derive import surface_measures as measure
from missionsim.derive.air_measures import days_of, low_icing, rows_of, stations_of
from missionsim.derive.surface import RAW
from missionsim.world.surface.station_table import StationTable

NORMALS = Path(RAW).parent / "climate" / "temperatures.csv"
pytestmark = [pytest.mark.slow, pytest.mark.skipif(not NORMALS.is_file(), reason="the normals are not here")]
SEED, YEARS, JANUARY, JULY = 9, 4, 0, 6


@pytest.fixture(scope="module")
def cities():
    rows = rows_of(NORMALS)
    found = stations_of([(r["city"], r["state"]) for r in rows])
    return [(r, k) for r, k in zip(rows, found, strict=True) if k is not None]


@pytest.fixture(scope="module")
def climate(cities, assumptions):
    return measure.climate_at(np.array([k for _, k in cities]), assumptions)


@pytest.mark.parametrize(("month", "name", "limit"), [(JANUARY, "jan", 2.0), (JULY, "jul", 2.0)])
def test_daily_extremes_are_those_of_the_normals(cities, climate, month, name, limit):
    """1991 to 2020 normals of 36 cities, recalled: maximum and minimum within 2 degrees rms."""
    days = days_of(climate, SEED, YEARS, month)
    for end, simulated in (("max", days.high), ("min", days.low)):
        column = next(key for key in cities[0][0] if key.startswith(f"{name}_{end}_C_normal"))
        known = [(float(r[column]), s) for (r, _), s in zip(cities, simulated, strict=True) if r[column]]
        gap = np.array([s - n for n, s in known])
        assert len(gap) > 30
        assert np.sqrt(np.mean(gap**2)) <= limit, (end, gap.round(1))


def test_means_are_those_on_record_and_the_stated_shift(cities, climate, assumptions):
    shift = assumptions["weather.warmer_than_record_c"]
    for month, name, season in ((JANUARY, "jan", "winter"), (JULY, "jul", "summer")):
        days = days_of(climate, SEED, YEARS, month)
        gap = [s - float(r[f"{name}_mean_C_dataset"]) for (r, _), s in zip(cities, days.mean, strict=True)
               if r[f"{name}_mean_C_dataset"]]
        assert np.mean(gap) == pytest.approx(shift[season], abs=0.7)


def test_january_days_differ_as_reported(assumptions):
    """Deviation from day to day 6.2 degrees on the plains and 2.5 in California; lag of a day 0.63."""
    packaged = StationTable.packaged()
    state = np.char.decode(packaged.state)
    for states, wanted, tolerance in ((["KS", "NE", "MO"], 6.2, 1.0), (["CA"], 2.5, 0.8)):
        rows = np.flatnonzero(np.isin(state, states))[::3]
        days = days_of(measure.climate_at(rows, assumptions), SEED, YEARS, JANUARY)
        assert days.deviation.mean() == pytest.approx(wanted, abs=tolerance), states
        assert days.lag_day.mean() == pytest.approx(0.63, abs=0.1), states


def test_the_day_is_warmest_in_the_middle_of_the_afternoon(climate):
    for month in (JANUARY, JULY):
        peak = climate.stacked("temperature_c")[:, month].argmax(axis=1)
        assert 14.0 <= np.mean(peak) <= 16.0
        assert np.isin(peak, (13, 14, 15, 16)).mean() > 0.9


def test_freezing_cloud_low_down_by_region(assumptions):
    """Share of hours December to February with a ceiling up to 5,000 ft and air at 0 to -15 degrees 5,000 ft up."""
    packaged = StationTable.packaged()
    state = np.char.decode(packaged.state)
    regions = {"lakes": (["MI", "WI"], 35.0), "southeast": (["GA", "AL"], 16.0), "desert": (["AZ"], 7.0)}
    for name, (states, wanted) in regions.items():
        rows = np.flatnonzero(np.isin(state, states))[::3]
        share = 100 * low_icing(measure.climate_at(rows, assumptions), SEED, 3)[:, [11, 0, 1]].mean()
        assert share == pytest.approx(wanted, abs=8.0), name
