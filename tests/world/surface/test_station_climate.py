"""Cells of ranked pairs, packing, and the build script against the raw data."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from missionsim.derive import surface as derive
from missionsim.derive.climate_estimate import Records, month_weights
from missionsim.derive.neighbour_fields import thunder_shares
from missionsim.world.data import table
from missionsim.world.surface import station_table as surface_tables
from missionsim.world.surface.flight_category import category, ceiling_from_code, severity, visibility_from_code
from missionsim.world.surface.station_climate import (
    LONE,
    MONTH_DAYS,
    MONTH_OF_HOUR,
    PAIR_SHARE,
    HourlyReports,
    ranked_pairs,
    station_climate,
)

HAVE_RAW = (derive.RAW / "tmy3_hourly.npz").is_file()


def made_up_reports(seed: int = 3) -> HourlyReports:
    random = np.random.default_rng(seed)
    hours = 8760
    fog = np.repeat(random.random(hours // 12) < 0.12, 12)
    ceiling = np.where(fog, random.integers(0, 9, hours), random.choice([12, 40, 255], hours)).astype(np.uint8)
    visibility = np.where(fog, random.integers(2, 60, hours), 100).astype(np.uint8)
    temperature = 10 + 8 * np.sin(2 * np.pi * np.arange(hours) / 24) - 3.0 * fog + random.normal(0, 2, hours)
    return HourlyReports(ceiling, visibility, temperature, random.uniform(0, 360, hours),
                         random.uniform(0, 20, hours), 950.0 - 4.0 * fog, fog & (random.random(hours) < 0.1),
                         np.zeros(hours, dtype=bool))


@given(st.integers(0, 255), st.integers(0, 100), st.integers(0, 255), st.integers(0, 100))
@settings(max_examples=200, deadline=None)
def test_a_worse_category_always_scores_lower(c1, v1, c2, v2):
    c = ceiling_from_code(np.array([c1, c2], dtype=np.uint8))
    v = visibility_from_code(np.array([v1, v2], dtype=np.uint8))
    kind, score = category(c, v), severity(c, v)
    if kind[0] > kind[1]:
        assert score[0] < score[1]


def test_shares_of_pairs_add_up():
    assert PAIR_SHARE.size == 48
    assert PAIR_SHARE.sum() == pytest.approx(1.0, abs=1e-12)


def test_pairs_keep_the_union_of_low_ceiling_and_low_visibility():
    """Each month's share of low weather is the weighted mean of the months on record."""
    reports = made_up_reports()
    ceiling, visibility = ranked_pairs(reports.ceiling_100ft, reports.visibility_0p1sm)
    low = ((ceiling < 10) | (visibility < 30)) @ PAIR_SHARE
    raw = (reports.ceiling_100ft < 10) | (reports.visibility_0p1sm < 30)
    by_month = np.array([raw[month == MONTH_OF_HOUR].mean() for month in range(12)])
    for month in range(12):
        wanted = sum(LONE[apart] * by_month[(month + apart) % 12] for apart in range(12))
        assert low[month].mean() == pytest.approx(wanted, abs=0.004)


def test_one_month_alone_is_that_month_and_two_records_are_mixed_by_weight():
    one, two = made_up_reports(3), made_up_reports(4)
    weight = np.zeros((12, 2, 12))
    weight[:, 0], weight[:, 1] = 0.25 * np.eye(12), 0.75 * np.eye(12)
    codes = [np.stack([getattr(r, name) for r in (one, two)]) for name in ("ceiling_100ft", "visibility_0p1sm")]
    ceiling, visibility = ranked_pairs(*codes, weight)
    low = ((ceiling < 10) | (visibility < 30)) @ PAIR_SHARE
    raw = (codes[0] < 10) | (codes[1] < 30)
    for month in range(12):
        share = raw[:, month == MONTH_OF_HOUR].mean(axis=1)
        assert low[month].mean() == pytest.approx(0.25 * share[0] + 0.75 * share[1], abs=0.004)


def test_pairs_are_ranked_and_observed():
    reports = made_up_reports()
    ceiling, visibility = ranked_pairs(reports.ceiling_100ft, reports.visibility_0p1sm)
    score = severity(ceiling_from_code(ceiling), visibility_from_code(visibility))
    assert (np.diff(score, axis=2) >= 0).all()
    seen = set(zip(reports.ceiling_100ft.tolist(), reports.visibility_0p1sm.tolist(), strict=True))
    assert set(zip(ceiling.ravel().tolist(), visibility.ravel().tolist(), strict=True)) <= seen


def test_always_the_same_weather_gives_only_that():
    ceiling, visibility = ranked_pairs(np.full(8760, 3, np.uint8), np.full(8760, 7, np.uint8))
    assert set(ceiling.ravel().tolist()) == {3}
    assert set(visibility.ravel().tolist()) == {7}


def test_dull_hours_are_cool_and_of_low_pressure():
    climate = station_climate(made_up_reports())
    assert climate.temperature_slope_c.mean() > 0.5
    assert climate.pressure_slope_hpa.mean() > 0.5


def test_packing_returns_each_value_to_half_a_step():
    climate = station_climate(made_up_reports())
    back = surface_tables.unpack(surface_tables.pack([climate, climate]))[1]
    assert (back.ceiling_100ft == climate.ceiling_100ft).all()
    assert np.abs(back.temperature_c - climate.temperature_c).max() <= 0.0251
    assert np.abs(back.thunder_share - climate.thunder_share).max() <= 0.51e-5
    assert np.abs(back.wind_correlation - climate.wind_correlation).max() <= 0.51e-3


def test_table_is_small_and_tells_its_source():
    arrays = table(surface_tables.TABLE)
    assert arrays["latitude_deg"].size == 970
    assert sum(a.nbytes for a in arrays.values()) < 12e6
    assert "TMY3" in str(arrays["meta_source"])


@pytest.fixture(scope="module")
def archives():
    return derive.Archives.read(derive.RAW)


@pytest.mark.skipif(not HAVE_RAW, reason="the raw data are not here")
def test_three_stations_are_what_the_raw_data_give(archives):
    raw, rows = derive.read_raw(derive.RAW)
    packaged = surface_tables.StationTable.packaged()
    names = [r["name"] for r in rows]
    for name in ("GRAND ISLAND CENTRAL NE REGIO", "KEY WEST INTL ARPT", "SEATTLE BOEING FIELD [ISIS]"):
        source = names.index(name)
        fresh = station_climate(derive.reports_of(raw, source), archives.pairs(source))
        stored = packaged.climate(int(np.flatnonzero(packaged.raw_row == source)[0]))
        back = surface_tables.unpack(surface_tables.pack([fresh]))[0]
        for field in fresh.__dataclass_fields__:
            if field not in ("thunder_share", "freezing_share", "temperature_c"):  # of neighbours too, afterwards
                assert np.array_equal(getattr(back, field), getattr(stored, field)), (name, field)


@pytest.mark.skipif(not HAVE_RAW, reason="the raw data are not here")
def test_grand_island_shares_are_the_weighted_mean_of_the_records(archives):
    _, rows = derive.read_raw(derive.RAW)
    source = [r["name"] for r in rows].index("GRAND ISLAND CENTRAL NE REGIO")
    every = np.ones(archives.records.archive.size, dtype=bool)
    near, weight = month_weights(archives.records, source, every)
    low = (archives.ceiling_100ft[near] < 10) | (archives.visibility_0p1sm[near] < 30)
    by_month = np.stack([low[:, month == MONTH_OF_HOUR].mean(axis=1) for month in range(12)], axis=1)
    packaged = surface_tables.StationTable.packaged()
    climate = packaged.climate(int(np.flatnonzero(packaged.raw_row == source)[0]))
    share = ((climate.ceiling_100ft < 10) | (climate.visibility_0p1sm < 30)) @ PAIR_SHARE
    assert share.mean(axis=1) == pytest.approx((weight * by_month).sum(axis=(1, 2)), abs=0.006)


def test_thunder_is_counted_by_people_alone_and_shared_with_neighbours():
    n = 4
    records = Records(np.full(n, 40.0), -98.0 + 0.3 * np.arange(n), np.zeros(n), np.full(n, 500.0),
                      np.array([0, 0, 1, 1]), np.zeros((n, 12), int), np.full((n, 12), 0.1))
    heard = np.zeros((n, 365, 24), dtype=bool)
    heard[1] = True                         # a stuck sensor
    heard[2, 150:190, 15:17] = True         # forty days in June and July, two hours each
    heard[3, 150:190, 15:17] = True
    share = thunder_shares(records, heard.reshape(n, -1), np.array([0, 1]), np.full((2, 12, 8), 0.5))
    width_h = 3.0 * np.array(MONTH_DAYS)[:, None]
    hours = share * width_h
    by_month, by_block, total = hours.sum(axis=2), hours.sum(axis=1), hours.sum(axis=(1, 2))
    month = (by_month**2 / (8.0 * width_h[:, 0])).sum(axis=1) * 8760.0 / total**2
    block = (by_block**2 / 1095.0).sum(axis=1) * 8760.0 / total**2
    days = 1.130 * np.log(total) - 0.0451 * np.log(total) ** 2 - 0.122
    days += -0.250 * np.log(month) - 0.046 * np.log(block) + 0.107 * np.log(0.5)
    assert np.exp(days) == pytest.approx(np.full(2, 2.6 * 41.0**0.84 - 1.0), rel=1e-6)
    assert share[0, 5:7].sum() > 0.6 * share[0].sum()
    assert share[0, 5, 5] > 5 * share[0, 5, 2]
