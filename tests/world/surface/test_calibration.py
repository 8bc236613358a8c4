"""Simulated weather against the raw reports and the wanted forecast skill; the same measures on both."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.derive import check_surface as check
from missionsim.derive import surface_measures as measure
from missionsim.derive.surface import RAW

pytestmark = [pytest.mark.slow,
              pytest.mark.skipif(not (RAW / "tmy3_hourly.npz").is_file(), reason="the raw data are not here")]

# Brier skill over monthly climatology of ceiling below 1,000 ft or visibility below 3 miles: from memory.
BRIER = {3: 0.45, 6: 0.35, 12: 0.26, 24: 0.19, 48: 0.11}
# Measured once on the raw reports, apart from this program.
TIME = {1: 0.77, 3: 0.57, 6: 0.40, 12: 0.23, 24: 0.19, 48: 0.09}
SPACE = {(0.0, 50.0): 0.47, (80.0, 120.0): 0.29, (170.0, 230.0): 0.20, (350.0, 450.0): 0.10}
ONE_YEARS = 6


@pytest.fixture(scope="module")
def stations():
    return measure.raw_stations()


@pytest.fixture(scope="module")
def all_years(stations, assumptions):
    climate = measure.climate_at(stations.row, assumptions)
    return [kind >= 2 for kind in measure.simulated_categories(climate, check.SEED, range(ONE_YEARS))]


@pytest.fixture(scope="module")
def forty(stations, assumptions):
    pick = check.forty(stations)
    return pick, measure.climate_at(stations.row[pick], assumptions)


@pytest.fixture(scope="module")
def averaged(forty):
    _, climate = forty
    # A year's share differs by some five points between years: the mean of so many is known within a quarter point.
    year, month, n = 0.0, 0.0, 400
    for kind in measure.simulated_categories(climate, check.SEED, range(n)):
        year = year + measure.category_shares(kind) / n
        month = month + measure.monthly_low(kind) / n
    return year, month


def test_raw_reports_correlate_as_measured_before(stations):
    for lag, value in measure.time_correlation(stations.low).items():
        assert value == pytest.approx(TIME[lag], abs=0.015), lag
    for edges, value in measure.space_correlation(stations.low, stations).items():
        assert value == pytest.approx(SPACE[edges], abs=0.035), edges


def test_correlation_in_time(stations, all_years):
    raw = measure.time_correlation(stations.low)
    drawn = [measure.time_correlation(year) for year in all_years]
    for lag in measure.TIME_LAGS_H:
        mean = float(np.mean([d[lag] for d in drawn]))
        tolerance = 0.06 if lag <= 12 else 0.05
        report = f"{lag} h: raw {raw[lag]:.3f}, simulated {mean:.3f}"
        assert mean == pytest.approx(raw[lag], abs=tolerance), report
        assert mean == pytest.approx(TIME[lag], abs=tolerance), report


def test_correlation_in_space(stations, all_years):
    raw = measure.space_correlation(stations.low, stations)
    drawn = [measure.space_correlation(year, stations) for year in all_years]
    for edges in measure.SPACE_BINS_NM:
        mean = float(np.mean([d[edges] for d in drawn]))
        report = f"{edges} nm: raw {raw[edges]:.3f}, simulated {mean:.3f}"
        assert mean == pytest.approx(raw[edges], abs=0.06), report
        assert mean == pytest.approx(SPACE[edges], abs=0.06), report


def test_any_of_six_neighbours_is_low_as_often_as_reported(stations, all_years):
    sets = measure.union_sets(stations)
    raw_any, raw_one = measure.union_share(stations.low, sets)
    drawn_any, drawn_one = np.mean([measure.union_share(year, sets) for year in all_years], axis=0)
    # The ratio: the level of single years differs, how low weather gathers does not.
    assert drawn_any / drawn_one == pytest.approx(raw_any / raw_one, rel=0.06)


def test_years_have_the_shares_of_the_table(forty, averaged):
    _, climate = forty
    assert np.abs(100 * (averaged[0] - measure.table_shares(climate))).max() < 1.0
    monthly = 100 * (averaged[1] - climate.categories()[:, :, 2:].sum(axis=2))
    assert np.abs(monthly).max() < 2.5, monthly.round(2)


def test_forecast_skill_and_calibration(stations, forty):
    _, climate = forty
    for look in measure.looks(climate, check.SEED, 120, every_h=13):
        report = f"{look.lead_h} h: Brier skill {look.brier_skill:.3f}, hits {look.hit_and_false_alarm()}"
        assert look.brier_skill == pytest.approx(BRIER[look.lead_h], abs=0.08), report
        for low in (0.0, 0.05, 0.10, 0.15):
            said, seen, error = look.bin(low, low + 0.05)
            assert abs(said - seen) < 3 * error, (look.lead_h, low, said, seen, error)
        assert look.seen.mean() == pytest.approx(look.usual.mean(), abs=0.01)


def test_hit_rate_at_a_day_is_of_the_order_forecasters_reach(forty):
    _, climate = forty
    look = measure.looks(climate, check.SEED, 20, leads_h=(24,))[0]
    hit, false_alarm = look.hit_and_false_alarm()
    # From memory, at matched frequency: hit rate 0.45 at 24 h.
    assert hit == pytest.approx(0.45, abs=0.10)
    assert false_alarm == pytest.approx(1 - hit, abs=0.02)


def test_next_day_storms_are_called_as_well_as_forecasters_do(assumptions):
    hit, false_alarm, base = measure.storm_day_skill(check.plains_route(assumptions), check.SEED, 20)
    # Convection near a route, next day, yes or no: 0.75 and 0.45, from memory.
    assert hit == pytest.approx(0.75, abs=0.12)
    assert false_alarm == pytest.approx(0.45, abs=0.12)
    assert 0.15 < base < 0.5


def test_wind_temperature_and_pressure_spread_as_reported(stations, forty):
    pick, climate = forty
    from missionsim.derive.surface import read_raw
    from missionsim.world.data import table
    from missionsim.world.surface.year import SurfaceYear

    raw, _ = read_raw(RAW)
    source = table("surface_climate")["raw_row"][stations.row[pick]]
    years = [SurfaceYear.simulate(climate, 3, r).whole_years() for r in range(6)]
    wind = np.stack([measure.local_year(climate, y.mean_kt) for y in years])
    for limit, tolerance in ((10, 0.03), (15, 0.012), (20, 0.005), (25, 0.0015)):
        # Reports are whole knots.
        assert (wind >= limit - 0.5).mean() == pytest.approx((raw["wind_kt"][source] >= limit).mean(), abs=tolerance)
    for name, tolerance in (("temperature_c", 0.4), ("pressure_hpa", 0.4)):
        drawn = np.stack([measure.local_year(climate, getattr(y, name)) for y in years])
        reported = raw[name][source].astype(float)
        # Temperatures are brought to today's climate, 1.0 degrees above the years on record in the mean of the year.
        assert drawn.mean() - (1.0 if name == "temperature_c" else 0.0) == pytest.approx(reported.mean(), abs=tolerance)
        assert drawn.std(axis=2).mean() == pytest.approx(reported.std(axis=1).mean(), rel=0.06)
