"""Random fields of surface weather: correlations, exact forecasts, and independence of the company a place keeps."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.errors import ValidityError
from missionsim.base.normal import normal_cdf
from missionsim.base.streams import generator
from missionsim.base.words import Stream
from missionsim.world.random_fields import field_reading
from missionsim.world.random_fields.autoregression import fill_rows
from missionsim.world.random_fields.hours import HOURS
from missionsim.world.random_fields.parts import by_day, parts_of
from missionsim.world.surface.climate import AIRPORT, SAMPLE, SurfaceClimate
from missionsim.world.surface.year import SurfaceYear

ASSUMPTIONS = packaged_assumptions()
LAT = np.array([40.97, 41.3, 39.87, 43.58, 38.35, 41.1])
LON = np.array([-98.31, -95.89, -104.67, -96.74, -97.7, -98.4])
HEIGHT = np.array([1847.0, 984.0, 5434.0, 1430.0, 1288.0, 1900.0])
NAMES = [f"place {k}" for k in range(LAT.size)]


def ar1(random, steps, phi):
    """Return one stationary first-order autoregressive series of unit variance."""
    series = np.empty((1, steps), dtype=np.float32)
    fill_rows([random], phi, series)
    return series[0]


def climate(pick, kind=None):
    pick = np.asarray(pick)
    return SurfaceClimate.build(LAT[pick], LON[pick], HEIGHT[pick], [NAMES[k] for k in pick], ASSUMPTIONS, kind=kind)


def test_autoregressive_series_has_unit_variance_and_its_correlation():
    series = np.stack([ar1(np.random.Generator(np.random.PCG64(k)), 4000, 0.9) for k in range(200)])
    n = 200 * 4000 * (1 - 0.81) / (1 + 0.81)      # independent values' worth
    assert series.mean() == pytest.approx(0.0, abs=4 * np.sqrt(1 / n) * 4)
    assert series.std() == pytest.approx(1.0, abs=4 * np.sqrt(0.5 / n))
    assert np.mean(series[:, 7:] * series[:, :-7]) == pytest.approx(0.9**7, abs=0.02)
    assert series[:, 0].std() == pytest.approx(1.0, abs=4 * np.sqrt(0.5 / 200))   # stationary from the start
    assert np.mean((series / series.std()) ** 4) == pytest.approx(3.0, abs=0.05)


def test_doubling_gives_the_plain_recursion():
    phi, steps = 0.8, 300
    series = ar1(generator(1, 0, Stream.SURFACE_WEATHER, 5), steps, phi).astype(np.float64)
    innovations = series[1:] - phi * series[:-1]
    assert np.std(innovations) == pytest.approx(0.6, abs=0.1)
    assert abs(np.corrcoef(innovations[1:], innovations[:-1])[0, 1]) < 4 / np.sqrt(steps)


def test_a_place_is_bit_identical_whatever_the_others():
    alone = SurfaceYear.simulate(climate([2]), 7, 3)
    company = SurfaceYear.simulate(climate([4, 1, 2, 0]), 7, 3)
    here, there = alone.whole_years(), company.whole_years()
    for name in ("latent", "temperature_c", "pressure_hpa", "east_kt", "north_kt", "mean_kt", "gust_kt"):
        assert np.array_equal(getattr(here, name)[0], getattr(there, name)[2]), name
    assert np.array_equal(alone.storms.coverage_by_hour[0], company.storms.coverage_by_hour[2])
    hours = np.arange(0, HOURS, 37)
    one, two = np.zeros_like(hours), np.full_like(hours, 2)
    for a, b in zip((*alone.clouds.extent(one, hours), alone.clouds.icing_rank(one, hours)),
                    (*company.clouds.extent(two, hours), company.clouds.icing_rank(two, hours)), strict=True):
        assert np.array_equal(a, b)
    assert np.array_equal(alone.storms.thunder_by_hour(0), company.storms.thunder_by_hour(2))


def test_a_sample_is_bit_identical_to_an_airport_at_the_same_spot():
    pair = SurfaceYear.simulate(SurfaceClimate.build(LAT[[0, 0]], LON[[0, 0]], HEIGHT[[0, 0]], ["a", "b"],
                                                     ASSUMPTIONS, kind=[AIRPORT, SAMPLE]), 7, 0)
    hours = np.arange(100, 9000, 13)
    zero, one = np.zeros_like(hours), np.ones_like(hours)
    assert np.array_equal(pair.latent_at(zero, hours), pair.latent_at(one, hours))
    assert np.array_equal(pair.latent_at(zero, hours), pair.latent[0][hours])
    for lead in (1, 30, 80):
        issued = hours - lead
        assert np.array_equal(pair.forecast_mean(zero, hours, issued), pair.forecast_mean(one, hours, issued))


def test_order_of_asking_does_not_matter():
    first, second = (SurfaceYear.simulate(climate([0, 1]), 2, 0) for _ in range(2))
    place, hour = np.array([1, 0]), np.array([4000, 77])
    wind = first.air_at(place, hour).mean_kt
    _ = second.storms.coverage_by_hour, second.whole_years(), second.latent
    assert np.array_equal(second.air_at(place, hour).mean_kt, wind)


@pytest.mark.parametrize("many", [0, 200_000])
def test_what_is_read_in_every_replication_has_the_bits_of_the_whole_year(monkeypatch, many):
    monkeypatch.setattr(field_reading, "MANY_PAIRS", many)
    here = climate([0, 1, 2], kind=[AIRPORT, AIRPORT, SAMPLE])
    random = np.random.default_rng(4)
    place, valid = random.integers(0, 3, 300), random.integers(200, HOURS, 300)
    issued = np.where(np.arange(300) < 100, valid, valid - random.integers(1, 120, 300))
    place[200:], valid[200:], issued[200:] = place[:100], valid[:100], issued[:100]      # twice the same
    near = random.integers(0, 3, 20), random.integers(0, HOURS, 20)
    for plan in (here.latent_plan, here.storm_plan):
        year, whole = plan.draw(3, 1, plan.reading(place, valid, issued, near)), plan.draw(3, 1)
        assert np.array_equal(year.read[:100], whole.value(place[:100], valid[:100]))
        assert np.array_equal(year.read, whole.mean(place, valid, issued))
        assert np.array_equal(year.value(*near), whole.value(*near))
        kept = near[0] < 2      # airports keep their whole year
        assert np.array_equal(year.value(*near)[kept], whole.values[near[0][kept], near[1][kept]])


def test_replications_and_seeds_differ():
    here = climate([0])
    years = [SurfaceYear.simulate(here, seed, rep).latent for seed, rep in ((1, 0), (1, 1), (2, 0))]
    assert not np.array_equal(years[0], years[1])
    assert not np.array_equal(years[0], years[2])


def test_latent_is_standard_normal():
    here = climate(range(5))
    values = np.concatenate([SurfaceYear.simulate(here, 5, r).latent[:, ::12].ravel() for r in range(60)])
    # Slow parts leave about one independent value in 30 h a place, and places share half of it.
    error = np.sqrt(1 / (60 * 5 * HOURS / 30 / 3))
    assert values.mean() == pytest.approx(0.0, abs=4 * error + 0.02)
    assert values.std() == pytest.approx(1.0, abs=0.02)
    for z in (-2.5, -1.5, -0.5, 1.0):
        assert (values < z).mean() == pytest.approx(float(normal_cdf(z)), abs=0.012)


def test_shares_of_parts_and_slow_effects_add_up_to_one_on_every_day():
    plan = climate([0]).latent_plan
    slow = plan.slow.year_share + by_day(*plan.slow.season_share)
    assert (plan.scale_by_day.astype(float) ** 2).sum(axis=0) + slow == pytest.approx(1.0, abs=1e-6)
    parts = parts_of(ASSUMPTIONS, "latent", (0.5, 0.7))
    assert sum(p.share for p in parts) == pytest.approx(0.5, abs=1e-12)
    assert sum(p.summer_share for p in parts) == pytest.approx(0.7, abs=1e-12)


def test_a_yearly_course_has_its_ends_in_mid_january_and_mid_july():
    course = by_day(3.0, 1.0)
    assert course[3 + 14] == pytest.approx(3.0)
    assert course[3 + 196:3 + 198].min() == pytest.approx(1.0, abs=1e-4)
    assert by_day(2.0, 2.0) == pytest.approx(2.0)


@pytest.mark.parametrize("wrong", [{"weather.year_effect_sd": 1.2},
                                   {"weather.latent_e_fold_h": [0.0, 12.0, 25.0, 24.0]}])
def test_impossible_fields_are_refused(wrong):
    with pytest.raises(ValidityError, match="accepted: shares and times above 0"):
        SurfaceClimate.build(LAT[:1], LON[:1], HEIGHT[:1], NAMES[:1], ASSUMPTIONS.supposed(wrong))


def test_bad_years_are_more_uneven_with_a_larger_year_effect():
    spread = []
    for sd in (0.0, 0.3):
        changed = ASSUMPTIONS.replaced({"weather.year_effect_sd": sd,
                                        "weather.season_effect_sd": {"winter": 0.01, "summer": 0.01}})
        here = SurfaceClimate.build(LAT[:1], LON[:1], HEIGHT[:1], NAMES[:1], changed)
        spread.append(np.std([SurfaceYear.simulate(here, 8, r).latent.mean() for r in range(40)]))
    assert spread[1] > 1.5 * spread[0]


def test_forecast_errors_have_the_stated_deviation_and_no_bias():
    here = climate(range(5))
    hours = np.arange(150, 8900, 9)
    place, valid = (a.ravel() for a in np.meshgrid(np.arange(5), hours, indexing="ij"))
    for lead in (1, 6, 24, 60, 100):
        errors = np.concatenate([
            (year := SurfaceYear.simulate(here, 3, r)).latent_at(place, valid)
            - year.forecast_mean(place, valid, valid - lead) for r in range(12)])
        sd = np.sqrt(np.mean(here.latent_plan.sd(valid, valid - lead) ** 2))
        assert errors.std() == pytest.approx(sd, rel=0.03)
        assert errors.mean() == pytest.approx(0.0, abs=0.03)


def test_a_forecast_for_now_is_what_is_seen():
    year = SurfaceYear.simulate(climate([0, 1]), 3, 0)
    hours = np.arange(100, 9000, 7)
    place = np.zeros_like(hours)
    assert np.abs(year.forecast_mean(place, hours, hours) - year.latent_at(place, hours)).max() < 1e-5
    assert year.forecast_sd(500, 500) == 0.0
    limits = year.climate.thresholds(1000.0, 3.0)
    chance = year.chance_below(limits, place, hours, hours)
    assert np.array_equal(chance > 0.5, year.below(limits, place, hours))


def test_deviation_grows_with_lead_to_that_of_the_weather_itself():
    plan, valid = climate([0]).latent_plan, 72 + 24 * 14 + 12       # mid January
    sd = plan.sd(valid, valid - np.arange(0, 400))
    assert (np.diff(sd) >= 0).all()
    slow = ASSUMPTIONS["weather.year_effect_sd"] ** 2 + ASSUMPTIONS["weather.season_effect_sd"]["winter"] ** 2
    assert sd[-1] ** 2 == pytest.approx(1 - slow, abs=1e-3)
