"""Thunderstorm days of simulated years against published ones, and their months and hours against people's reports.

Days: recalled from climatological summaries, two days either way; months and hours: worked out from the open archive.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from missionsim.derive import surface_measures as measure
from missionsim.derive.air_measures import rows_of, stations_of
from missionsim.derive.surface import RAW
from missionsim.world.surface.station_climate import MONTH_DAYS

DAYS = Path(RAW).parent / "climate" / "thunder_days.csv"
pytestmark = [pytest.mark.slow, pytest.mark.skipif(not DAYS.is_file(), reason="the published days are not here")]
YEARS, LONG = 24, 200
"""Simulated years of all places, and of the few cities whose days are looked at one by one."""
WITHIN_SHARE = {"Tampa": 86, "Miami": 74, "Atlanta": 50, "Dallas-Fort Worth": 46, "Kansas City": 51, "Chicago": 38,
                "Denver": 42}
WITHIN_FOUR_DAYS = {"Boston": 19, "Seattle": 7, "San Francisco": 2}


@pytest.fixture(scope="module")
def published():
    rows = rows_of(DAYS)
    found = stations_of([(r["city"], r["state"]) for r in rows])
    days = [float(r["thunder_days_per_year"]) for r in rows]
    return [(r["city"], d, k) for r, d, k in zip(rows, days, found, strict=True) if k is not None]


@pytest.fixture(scope="module")
def climate(published, assumptions):
    return measure.climate_at(np.array([k for _, _, k in published]), assumptions)


@pytest.fixture(scope="module")
def simulated(climate):
    return measure.thunder_days(climate, 9, YEARS)


def test_days_with_thunder_are_those_published(published, simulated):
    wanted = np.array([days for _, days, _ in published])
    gap = simulated - wanted
    assert len(wanted) > 110
    assert abs(gap.mean()) < 2.0
    assert np.sqrt(np.mean(gap**2)) < 8.0
    ranks = [np.argsort(np.argsort(v)) for v in (simulated, wanted)]
    assert np.corrcoef(*ranks)[0, 1] >= 0.9


def test_named_cities_have_their_days(published, assumptions):
    """Within 15 % or four days; of two hundred years, whose mean is known within 1.5 %."""
    allowed = {city: (days, 0.15 * days) for city, days in WITHIN_SHARE.items()}
    allowed |= {city: (days, 4.0) for city, days in WITHIN_FOUR_DAYS.items()}
    station = {city: k for city, _, k in published if city in allowed}
    found = measure.thunder_days(measure.climate_at(np.array(list(station.values())), assumptions), 9, LONG)
    by_city = dict(zip(station, found, strict=True))
    assert by_city.keys() == allowed.keys()
    missed = {city: by_city[city] for city, (days, gap) in allowed.items() if abs(by_city[city] - days) > gap}
    assert not missed


def test_months_and_hours_of_thunder(published, climate):
    """Tampa's from June to September, Oklahoma City's from April to June; 13-21 h in Florida, 22-06 h inland."""
    place = {city: p for p, (city, _, _) in enumerate(published)}
    by_month = climate.thunder_share.mean(axis=2) * np.array(MONTH_DAYS)
    by_month /= by_month.sum(axis=1, keepdims=True)
    assert by_month[place["Tampa"], 5:9].sum() == pytest.approx(0.79, abs=0.08)
    assert by_month[place["Oklahoma City"], 3:6].sum() == pytest.approx(0.47, abs=0.08)
    by_block = (climate.thunder_share * np.array(MONTH_DAYS)[:, None]).sum(axis=1)
    by_block /= by_block.sum(axis=1, keepdims=True)
    florida = by_block[[place[c] for c in ("Tampa", "Orlando", "Fort Myers", "Miami")]].mean(axis=0)
    plains = by_block[[place[c] for c in ("Wichita", "Topeka", "Dodge City", "Omaha", "Kansas City")]].mean(axis=0)
    # Blocks are 00-03, 03-06, ... 21-24 h: 13-21 h is a third of 12-15 less, 22-06 h two thirds of 21-24 more.
    assert florida[4] * 2 / 3 + florida[5:7].sum() == pytest.approx(0.69, abs=0.10)
    assert plains[7] * 2 / 3 + plains[:2].sum() == pytest.approx(0.46, abs=0.10)
