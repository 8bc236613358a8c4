"""How years differ, how far low weather hangs together, how often two places can both be flown: simulated years."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.derive import check_years as check
from missionsim.derive import surface_measures as measure
from missionsim.derive import year_measures as years
from missionsim.derive.surface import RAW

pytestmark = [pytest.mark.slow,
              pytest.mark.skipif(not (RAW / "tmy3_hourly.npz").is_file(), reason="the raw data are not here")]
SEED, YEARS, LOOKED_AT = 9, 40, 4


@pytest.fixture(scope="module")
def stations():
    return measure.raw_stations()


@pytest.fixture(scope="module")
def distance(stations):
    return check.distances(stations)


@pytest.fixture(scope="module")
def usable(stations):
    """Pairs on one standard time whose month comes from one year, in the simulated years too."""
    return check.same_year_and_time(stations)


@pytest.fixture(scope="module")
def simulated(stations, assumptions):
    """Every hour of a few years, and the months of all."""
    climate, kinds, shares = measure.climate_at(stations.row, assumptions), [], []
    for number, kind in enumerate(measure.simulated_categories(climate, SEED, range(YEARS))):
        shares.append(years.month_shares(kind >= 2))
        kinds += [kind] if number < LOOKED_AT else []
    return np.stack(kinds), np.stack(shares)


@pytest.fixture(scope="module")
def kinds(simulated):
    return simulated[0]


@pytest.fixture(scope="module")
def shares(simulated):
    return simulated[1]


def test_the_measures_say_of_the_record_what_was_worked_out_apart(stations, distance, usable):
    """Correlation by distance and flyable days as in the published tables of the same open data."""
    low = stations.low
    found = years.pair_correlation(low, usable, years.EVERY, distance)
    assert [found[edges] for edges in ((30.0, 50.0), (100.0, 150.0), (300.0, 400.0))] == pytest.approx(
        [0.43, 0.29, 0.13], abs=0.02)
    assert [years.lag_correlation(low, h) for h in (1, 6, 24)] == pytest.approx([0.76, 0.39, 0.19], abs=0.02)
    for months, fixed, free in ((years.EVERY, 0.72, 0.91), (years.WINTER, 0.64, 0.85), (years.SUMMER, 0.79, 0.96)):
        assert years.flyable_days(low, usable, months, distance, 150, 250) == pytest.approx((fixed, free), abs=0.025)


def test_months_differ_between_years_as_on_record(shares):
    """6 to 6.6 points from November to March, 4.5 from May to September; lower bounds, months being picked as typical.

    Sanity band: between-year deviation of a winter month 5 to 9 points. The standard error of forty years is 0.07.
    """
    assert 6.0 <= 100 * years.between_years(shares, years.WINTER) <= 7.0
    assert 4.5 <= 100 * years.between_years(shares, years.SUMMER) <= 5.2


WANTED = {(15.0, 30.0): 0.8, (100.0, 150.0): 0.5, (200.0, 300.0): 0.37}
"""Common part of winter months by distance, worked out apart from the open reports; its standard error is 0.05."""


def test_good_and_bad_months_are_shared_by_places_near_each_other(shares, distance):
    for (near, far), wanted in WANTED.items():
        found, error = years.common_part(shares, distance, near, far, years.WINTER)
        assert error < 0.025
        assert found == pytest.approx(wanted, abs=0.06), (near, found)


def test_months_have_in_common_what_they_have_on_record(stations, shares, distance):
    """By distance and half of the year: twelve comparisons, all of them at 95 %, so within 2.9 standard errors each."""
    departure = check.departures(stations)
    for months in (years.WINTER, years.SUMMER):
        for near, far in years.COMMON_BINS_NM:
            raw, raw_error = years.common_on_record(departure, stations.source_year, distance, near, far, months)
            found, error = years.common_part(shares, distance, near, far, months)
            assert abs(found - raw) < 2.9 * np.hypot(raw_error, error), (near, months, raw, found)
            if months == years.WINTER and (near, far) in WANTED:
                assert raw == pytest.approx(WANTED[near, far], abs=0.03)


def test_low_weather_hangs_together_farther_in_winter(kinds, distance, usable):
    season = {name: [years.pair_correlation(kinds[r] >= 2, usable, months, distance) for r in range(LOOKED_AT)]
              for name, months in years.SEASONS.items()}
    mean = {name: {edges: np.mean([f[edges] for f in found]) for edges in years.PAIR_BINS_NM}
            for name, found in season.items()}
    for edges, year, winter, summer in (((30.0, 50.0), 0.43, 0.46, 0.34), ((100.0, 150.0), 0.29, 0.33, 0.22),
                                        ((300.0, 400.0), 0.13, 0.15, 0.08)):
        assert mean["year"][edges] == pytest.approx(year, abs=0.08), edges
        assert mean["Nov-Mar"][edges] == pytest.approx(winter, abs=0.08), edges
        assert mean["May-Sep"][edges] == pytest.approx(summer, abs=0.08), edges
    for edges in years.PAIR_BINS_NM:
        assert mean["Nov-Mar"][edges] > mean["May-Sep"][edges], edges


def test_low_weather_lasts_as_on_record(kinds):
    for lag, wanted, tolerance in ((1, 0.76, 0.05), (6, 0.39, 0.08), (24, 0.19, 0.07)):
        found = np.mean([years.lag_correlation(kinds[r] >= 2, lag) for r in range(LOOKED_AT)])
        assert found == pytest.approx(wanted, abs=tolerance), lag


def test_days_on_which_two_places_can_both_be_flown(kinds, distance, usable):
    def days(bad, months):
        found = [years.flyable_days(bad[r], usable, months, distance, 150, 250) for r in range(LOOKED_AT)]
        return np.mean(found, axis=0)

    assert days(kinds >= 2, years.WINTER)[0] == pytest.approx(0.64, abs=0.06)
    assert days(kinds >= 2, years.SUMMER)[0] == pytest.approx(0.79, abs=0.06)
    assert days(kinds >= 1, years.EVERY)[1] == pytest.approx(0.76, abs=0.07)
