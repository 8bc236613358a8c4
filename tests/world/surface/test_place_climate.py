"""Climate between stations, own stations and faults."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from missionsim.base.assumptions import packaged_assumptions
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.world.surface.flight_category import UNLIMITED_FT
from missionsim.world.surface.place_climate import NoWeatherStation, OwnStation, blended, neighbours
from missionsim.world.surface.station_climate import MONTH_DAYS, PAIR_SHARE
from missionsim.world.surface.station_table import StationTable
from missionsim.world.surface.summary import afternoon_temperature_c, crosswind_share, mean_pressure_hpa

ASSUMPTIONS = packaged_assumptions()
KGRI = (40.9675, -98.3096, 1847.0)


def climate_of(*places, kind=None, own=None):
    lat, lon, height = zip(*places, strict=True)
    names = [f"place {k}" for k in range(len(places))]
    return SurfaceClimate.build(lat, lon, height, names, ASSUMPTIONS, own, kind)


def test_a_place_at_a_station_takes_it_alone():
    table = StationTable.packaged()
    near = neighbours(table, *(np.array([v]) for v in KGRI), ASSUMPTIONS, 8)
    assert near.weight[0, 0] == 1.0
    assert table.label(int(near.station[0, 0])).startswith("Grand Island")


def test_stations_count_by_the_square_of_distance_and_height_by_hand():
    """Forty miles off or, by 1,000 ft, as far as the assumption says: softened, squared, one over it."""
    base = StationTable.packaged()
    far_nm, soft_nm = ASSUMPTIONS["weather.blend_nm_per_1000_ft"], ASSUMPTIONS["weather.blend_softening_nm"]
    lat, lon = np.array([40.0 + 40.0 / 60.0, 40.0 + 20.0 / 60.0]), np.array([-100.0, -100.0])
    table = replace(base, latitude_deg=lat, longitude_deg=lon, elevation_ft=np.array([2000.0, 3000.0]))
    near = neighbours(table, np.array([40.0]), np.array([-100.0]), np.array([2000.0]), ASSUMPTIONS, 2)
    square = {0: 40.0**2 + soft_nm**2, 1: 20.0**2 + soft_nm**2 + far_nm**2}
    first, second = near.station[0].tolist()
    assert near.weight[0, 0] / near.weight[0, 1] == pytest.approx(square[second] / square[first], rel=0.01)


def test_a_mixture_keeps_the_mean_share_of_its_stations_on_its_own_ground():
    """A station 700 ft below tells ceilings 700 ft above its floor: the place has a base of 300 ft in them."""
    table = StationTable.packaged()
    place = (41.2, -99.9, 2600.0)
    near = neighbours(table, *(np.array([v]) for v in place), ASSUMPTIONS, 8)
    climate = climate_of(place)
    for ceiling, visibility in ((1000.0, 3.0), (3000.0, 5.0), (500.0, 1.0)):
        each = []
        for s in near.station[0].tolist():
            c = table.climate(s)
            hundreds = round((2600.0 - float(table.elevation_ft[s])) / 100.0)
            below = (c.ceiling_100ft.astype(int) - hundreds < ceiling / 100.0) & (c.ceiling_100ft < 255)
            below |= c.visibility_0p1sm * 0.1 < visibility
            each.append((below @ PAIR_SHARE).mean())
        blend = climate.share_below(ceiling, visibility)[0].mean()
        assert blend == pytest.approx(near.weight[0] @ np.array(each), abs=0.004)


def test_a_place_far_from_any_station_is_a_fault_that_names_it():
    with pytest.raises(NoWeatherStation, match=r"place 1: no weather station within 120 nm .*TMY3 or EPW") as caught:
        climate_of(KGRI, (51.0, 10.0, 500.0))
    assert len(caught.value.places) == 1


def test_an_own_station_serves_a_place_outside_coverage():
    climate = StationTable.packaged().climate(0)
    own = {"place 0": OwnStation("Somewhere", 51.0, 10.0, 500.0, 1.0, climate)}
    built = climate_of((51.0, 10.0, 500.0), own=own)
    assert built.utc_offset_h.tolist() == [1.0]
    assert built.station == ("Somewhere (own file)",)
    assert np.array_equal(built.ceiling_ft[0] < UNLIMITED_FT, climate.ceiling_100ft < 255)


def test_a_place_takes_its_ground_off_bases_above_sea_level():
    station = StationTable.packaged().climate(100)
    at_station, higher = (blended([station], np.ones(1), np.array([1800.0]), height) for height in (1800.0, 3800.0))
    for height in (500.0, 1500.0, 4000.0):      # above the higher ground
        below = (at_station.ceiling_ft < height + 2000.0) @ PAIR_SHARE
        assert (higher.ceiling_ft < height) @ PAIR_SHARE == pytest.approx(below, abs=0.06)   # a step is 0.0475
        assert ((higher.ceiling_ft < height) @ PAIR_SHARE - below).mean() == pytest.approx(0.0, abs=0.004)
    assert (higher.ceiling_ft == 0.0).any()     # bases below the ground: obscured


def test_a_few_feet_beside_the_station_change_nothing():
    """Ceilings are told in hundreds of feet: at 1,000 it is not below 1,000 for a field three feet higher."""
    station = StationTable.packaged().climate(100)
    here, beside = (blended([station], np.ones(1), np.array([1800.0]), ground_ft) for ground_ft in (1800.0, 1803.0))
    assert np.array_equal(here.ceiling_ft, beside.ceiling_ft)


def test_a_summit_stands_in_the_cloud_of_the_valleys_around_it():
    valley, summit = (climate_of((44.27, -71.3, height)).share_below(1000.0, 3.0).mean() for height in (1000.0, 6266.0))
    assert summit > valley + 0.2


def test_ceilings_stay_in_the_hundreds_they_are_told_in():
    airport, = climate_of((41.2, -99.9, 2600.0)).ceiling_ft
    assert set(np.unique(airport[airport < UNLIMITED_FT] % 100.0).tolist()) == {0.0}


def test_higher_places_are_cooler_with_less_pressure():
    climate = climate_of((39.5, -105.6, 5500.0), (39.5, -105.6, 9500.0))
    afternoon, pressure = afternoon_temperature_c(climate), mean_pressure_hpa(climate)
    assert (afternoon[0] - afternoon[1] > 3.0).all()
    # ICAO Standard Atmosphere: 9,500 ft has 0.8591 of the pressure at 5,500 ft.
    assert (pressure[1] / pressure[0]).mean() == pytest.approx(0.8591, abs=0.004)
    assert (afternoon_temperature_c(climate, 0.9) > afternoon).all()


def test_thresholds_give_the_share_of_pairs_below_either_minimum():
    climate = climate_of(KGRI)
    both = climate.share_below(1000.0, 3.0)
    assert (both >= np.maximum(climate.share_below(1000.0, 0.0), climate.share_below(0.0, 3.0)) - 1e-9).all()
    by_category = climate.categories()[0, :, 2:].sum(axis=1)
    assert both[0].mean(axis=1) == pytest.approx(by_category, abs=1e-9)
    assert climate.categories().sum(axis=2) == pytest.approx(np.ones((1, 12)), abs=1e-9)
    assert (climate.thresholds(600.0, 1.0) <= climate.thresholds(1000.0, 3.0)).all()


def test_local_standard_time_decides_the_cell():
    climate = climate_of(KGRI)
    noon_utc_new_year = 72 + 12              # 06:00 Central Standard Time, 1 January
    assert int(climate.cell(0, noon_utc_new_year)) == 0 * 8 + 2
    july = 72 + 24 * 181 + 3                 # 03:00 UTC on 1 July is 21:00 on 30 June in Nebraska
    assert int(climate.cell(0, july)) == 5 * 8 + 7


def test_one_runway_crosswind_is_exact_and_a_second_one_helps():
    climate = climate_of(KGRI)
    one = crosswind_share(climate, 0, [172.0], 12.0)
    two = crosswind_share(climate, 0, [172.0, 132.0], 12.0)
    same = crosswind_share(climate, 0, [172.0, 172.0], 12.0)
    assert (two < one).all()
    assert same == pytest.approx(one, abs=0.015)
    assert (one > 0.01).all()
    assert (one < 0.5).all()


def test_visibility_truncation_can_be_undone():
    half = ASSUMPTIONS.replaced({"weather.visibility_truncation_sm": 0.1})
    as_is = climate_of(KGRI).share_below(0.0, 3.0) @ np.ones(8) / 8 @ np.array(MONTH_DAYS) / 365
    undone = SurfaceClimate.build([KGRI[0]], [KGRI[1]], [KGRI[2]], ["KGRI"], half).share_below(0.0, 3.0)
    assert 0.005 < (as_is - undone @ np.ones(8) / 8 @ np.array(MONTH_DAYS) / 365)[0] < 0.03
