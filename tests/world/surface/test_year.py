"""A simulated year: things that must hang together."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.streams import generator
from missionsim.base.words import Stream
from missionsim.world.random_fields.hours import HOURS
from missionsim.world.surface.climate import SAMPLE, SurfaceClimate
from missionsim.world.surface.cloud import BLOCK_H, cloud_share, icing_share
from missionsim.world.surface.flight_category import UNLIMITED_FT
from missionsim.world.surface.station_climate import BLOCKS
from missionsim.world.surface.summary import crosswind_share, thunder_by_month
from missionsim.world.surface.year import SurfaceYear

ASSUMPTIONS = packaged_assumptions()
NAMES = ["Grand Island", "Chicago", "Seattle", "Tampa", "Duluth"]
LAT, LON = [40.97, 41.79, 47.45, 27.97, 46.84], [-98.31, -87.75, -122.31, -82.53, -92.19]
HEIGHT = [1847.0, 620.0, 433.0, 26.0, 1428.0]


@pytest.fixture(scope="module")
def climate():
    return SurfaceClimate.build(LAT, LON, HEIGHT, NAMES, ASSUMPTIONS)


@pytest.fixture(scope="module")
def years(climate):
    return [SurfaceYear.simulate(climate, 21, r) for r in range(8)]


@pytest.fixture(scope="module")
def every(climate):
    place, hour = np.meshgrid(np.arange(len(NAMES)), np.arange(HOURS), indexing="ij")
    return place, hour


@pytest.fixture(scope="module")
def airs(years):
    return [y.whole_years() for y in years]


def test_shapes_and_types(airs):
    for name in ("latent", "temperature_c", "pressure_hpa", "east_kt", "north_kt", "mean_kt", "gust_kt"):
        values = getattr(airs[0], name)
        assert values.shape == (len(NAMES), HOURS), name
        assert values.dtype == np.float32, name
        assert np.isfinite(values).all(), name


def test_below_minima_agrees_with_the_pairs_drawn(climate, years, every):
    place, hour = every
    year, limits = years[0], climate.thresholds(1000.0, 3.0)
    pair_low = (year.ceiling_ft(place, hour) < 1000.0) | (year.visibility_sm(place, hour) < 3.0)
    # Both are the worse of the two in category terms, so at the bounds of a category they differ nowhere.
    assert np.array_equal(pair_low, year.below(limits, place, hour))


def test_no_thunder_and_no_coverage_without_a_ceiling(climate, years, every):
    place, hour = every
    for year in years[:2]:
        covered = year.storms.coverage_by_hour > 0.0
        assert covered.any()
        cloud = year.latent < climate.cloud_threshold.reshape(len(NAMES), -1)[place, climate.cell(place, hour)]
        assert cloud[covered].all()
        thunder = np.stack([year.storms.thunder_by_hour(p) for p in range(len(NAMES))])
        assert (year.storms.coverage_by_hour[thunder] > 0.0).all()
        assert np.allclose(year.storms.coverage(place[:, ::50], hour[:, ::50]), year.storms.coverage_by_hour[:, ::50],
                           atol=1e-6)


def test_thunder_has_the_share_of_the_table(climate, years):
    coverage = np.mean([y.storms.coverage_by_hour for y in years], axis=0)
    cells = climate.cells_by_hour
    # Eight years of one place scatter by an eighth of the whole, three places far apart together by a thirteenth.
    ratio = [coverage[p].mean() / climate.thunder_share[p].reshape(-1)[cells[p]].mean() for p in (0, 1, 3)]
    assert np.mean(ratio) == pytest.approx(1.0, abs=0.15)
    assert ratio == pytest.approx([1.0, 1.0, 1.0], abs=0.35)
    monthly = thunder_by_month(climate)
    assert monthly[3, 5:9].mean() > 5 * monthly[3, [0, 1, 11]].mean()        # Tampa's summer
    assert climate.thunder_share[3, 6, 5] > 3 * climate.thunder_share[3, 6, 2]  # and its afternoons


def test_gust_rule(airs):
    wind, gust = airs[0].mean_kt, airs[0].gust_kt
    strong = wind > 12.0
    assert np.allclose(gust[strong], 1.4 * wind[strong])
    assert np.array_equal(gust[~strong], wind[~strong])


def test_wind_has_the_mean_vector_of_the_table(climate, airs):
    east = np.mean([a.east_kt.mean(axis=1) for a in airs], axis=0)
    cells = climate.cells_by_hour
    table = [climate.cells[p].rest["wind_u_kt"].ravel()[cells[p]].mean() for p in range(len(NAMES))]
    assert east == pytest.approx(table, abs=0.35)


def test_dull_afternoons_are_cool(climate, years, airs, every):
    place, hour = every
    cell = climate.cell(place, hour)
    summer_afternoon = (cell % BLOCKS == 5) & np.isin(cell // BLOCKS, (5, 6, 7))
    limits = climate.thresholds(1000.0, 3.0)
    for p in (0, 1, 4):
        dull = np.stack([y.below(limits, place, hour)[p] & summer_afternoon[p] for y in years])
        fair = summer_afternoon[p] & ~dull
        temperature = np.stack([a.temperature_c[p] for a in airs])
        assert temperature[fair].mean() - temperature[dull].mean() > 2.0


def test_temperature_keeps_mean_and_daily_course(climate, airs):
    base = np.stack([climate.mean_temperature(np.full(HOURS, p), np.arange(HOURS)) for p in range(len(NAMES))])
    drawn = np.mean([a.temperature_c for a in airs], axis=0)
    assert drawn.mean(axis=1) == pytest.approx(base.mean(axis=1), abs=0.8)
    july = slice(72 + 24 * 181, 72 + 24 * 212)
    by_clock = drawn[0, july].reshape(-1, 24).mean(axis=0)
    assert int(by_clock.argmax()) in range(19, 24)     # 13 to 17 h Central Standard Time


def ices_of(year, place, hour):
    """Tell where there is cloud that would ice at 0 to -20 degrees."""
    present = year.clouds.extent(place, hour)[0] < UNLIMITED_FT
    return present & (year.clouds.icing_rank(place, hour) < ASSUMPTIONS["weather.icing_share"])


def test_cloud_layer_and_icing(climate, years, every):
    place, hour = every
    base_ft, top_ft = years[0].clouds.extent(place, hour)
    ceiling, present = years[0].ceiling_ft(place, hour), base_ft < UNLIMITED_FT
    assert np.array_equal(present, ceiling < UNLIMITED_FT)
    height = np.array(HEIGHT, dtype=np.float32)[place]
    assert np.allclose(base_ft[present], (ceiling + height)[present])
    assert (top_ft[present] > base_ft[present]).all()
    ices = ices_of(years[0], place, hour)
    assert ices[present].mean() == pytest.approx(ASSUMPTIONS["weather.icing_share"], abs=0.04)


def test_kinds_of_draws_are_consecutive_parts_of_one_stream(climate, years):
    place, hour = np.full(HOURS, 1), np.arange(HOURS)
    clouds, address = years[0].clouds, climate.latent_plan.address[1].tolist()
    whole = generator(clouds.seed, clouds.replication, Stream.ICING, *address).random((3, HOURS // BLOCK_H),
                                                                                     dtype=np.float32)
    assert np.array_equal(clouds.icing_rank(place, hour), np.repeat(whole[1], BLOCK_H))


def test_icing_shares_agree_with_simulated_layers(climate, years, every):
    place, hour = every
    levels = np.array([4000.0, 8000.0])
    month = climate.cell(place, hour) // BLOCKS
    expected = cloud_share(climate, levels)
    for k, level in enumerate(levels.tolist()):
        extents = [y.clouds.extent(place, hour) for y in years]
        inside = np.mean([(base_ft <= level) & (top_ft >= level) for base_ft, top_ft in extents], axis=0)
        for p in (0, 1, 4):
            winter = np.isin(month[p], (0, 1, 11))
            assert inside[p][winter].mean() == pytest.approx(expected[p, [0, 1, 11], k].mean(), abs=0.05)
    cold = icing_share(climate, levels, np.full((len(NAMES), 12, 2), -8.0), 4.0)
    warm = icing_share(climate, levels, np.full((len(NAMES), 12, 2), 12.0), 4.0)
    assert (warm < 0.01).all()
    assert (cold <= ASSUMPTIONS["weather.icing_share"] * expected + 1e-9).all()


def test_freezing_rain_has_its_share_and_needs_cold(climate, years, airs, every):
    place, hour = every
    falls = np.mean([y.clouds.freezing_rain(place, hour, a.temperature_c).mean(axis=1)
                     for y, a in zip(years, airs, strict=True)], axis=0)
    wanted = climate.stacked("freezing_share").mean(axis=1)
    assert (climate.freezing_chance <= 0.9).all()
    assert falls[4] == pytest.approx(wanted[4], rel=0.5)
    assert falls[3] == 0.0


def test_simulated_crosswind_agrees_with_the_expected_share(climate, airs):
    heading = np.radians(172.0)
    across = [np.abs(a.east_kt[0] * np.cos(heading) - a.north_kt[0] * np.sin(heading)) for a in airs]
    expected = crosswind_share(climate, 0, [172.0], 12.0).mean()
    assert np.mean([(a > 12.0).mean() for a in across]) == pytest.approx(expected, abs=0.012)


def test_storm_chance_is_what_is_seen(climate, years):
    hours = np.arange(72 + 24 * 140, 72 + 24 * 250, 3)
    place, valid = (a.ravel() for a in np.meshgrid([0, 1, 3], hours, indexing="ij"))
    for lead in (6, 24):
        said = np.concatenate([y.storms.chance_over(0.1, place, valid, valid - lead) for y in years])
        seen = np.concatenate([y.storms.coverage(place, valid) > 0.1 for y in years])
        assert said.mean() == pytest.approx(seen.mean(), rel=0.25)
        likely = said > 0.3
        assert seen[likely].mean() > 3 * seen[~likely].mean()


def test_samples_need_no_arrays_of_whole_years(climate):
    mixed = SurfaceClimate.build(LAT, LON, HEIGHT, NAMES, ASSUMPTIONS, kind=[0, SAMPLE, SAMPLE, 0, SAMPLE])
    year = SurfaceYear.simulate(mixed, 21, 0)
    assert year.latent.shape == (2, HOURS)
    assert year.ceiling_ft(np.array([1, 2, 0]), np.array([500, 500, 500])).shape == (3,)


@pytest.mark.benchmark
def test_a_year_of_sixty_places(benchmark):
    random = np.random.default_rng(1)
    places = SurfaceClimate.build(random.uniform(37, 45, 60), random.uniform(-104, -90, 60), np.full(60, 1500.0),
                                  [str(k) for k in range(60)], ASSUMPTIONS)

    def simulate():
        year = SurfaceYear.simulate(places, 1, 0)
        return year.whole_years(), year.storms.coverage_by_hour

    benchmark(simulate)
