from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import missionsim
from missionsim.derive import terrain as derive_terrain
from missionsim.physics.geodesy import destination, haversine_nm
from missionsim.world.airports.table import AirportTable
from missionsim.world.ground.terrain import Terrain

DATA = Path(missionsim.__file__).parent / "data"


@pytest.fixture(scope="module")
def terrain():
    return Terrain.packaged()


def small(ground, west=-100.0, north=42.0):
    """Return a terrain of 5-minute cells without relief or mountains."""
    ground = np.asarray(ground, dtype=np.float32)
    return Terrain(ground, np.zeros_like(ground), np.zeros(ground.shape, bool), north, west, 5 / 60)


# Summit elevations as printed on public maps, from memory; the grid reads 1,000 to 4,100 ft low, never high.
SUMMITS = {"Elbert": (39.118, -106.445, 14_440), "Whitney": (36.578, -118.292, 14_505),
           "Rainier": (46.853, -121.760, 14_411), "Mitchell": (35.765, -82.265, 6_684),
           "Washington": (44.270, -71.303, 6_288), "Black Elk": (43.866, -103.531, 7_244)}


@pytest.mark.parametrize("place", SUMMITS.values(), ids=SUMMITS)
def test_summits_stand_above_the_samples_by_what_is_stated(terrain, place):
    lat, lon, summit_ft = place
    found = float(terrain.corridor_floor([lat], [lon], 3.0)[0])
    assert 900 < summit_ft - found < 4_100
    assert bool(terrain.mountainous(lat, lon))


def test_the_relief_share_closes_most_of_the_gap_at_the_median(terrain, assumptions):
    share = assumptions["terrain.sampling_relief_share"]
    lat, lon, summit_ft = np.array(list(SUMMITS.values())).T
    left = summit_ft - terrain.corridor_floor(lat, lon, 3.0, share)
    assert abs(float(np.median(left))) < 900


def test_ground_agrees_with_the_elevations_of_airports(terrain, assumptions):
    # Two unrelated data sets: the highest sample around a field can hardly lie below it.
    table = AirportTable.packaged(assumptions)
    known = np.flatnonzero(table.arrays["elevation_known"] & (table.longest_paved_ft > 3000)
                           & terrain.covered(table.latitude_deg, table.longitude_deg))
    highest = terrain.corridor_floor(table.latitude_deg[known], table.longitude_deg[known], 5.0)
    above = highest - table.elevation_ft[known]
    assert known.size > 3_500
    assert (above > -150).mean() > 0.985
    assert abs(np.median(above)) < 300


def test_mountains_are_where_they_should_be(terrain):
    west, plains = terrain.mountainous([39.2, 44.0, 37.0], [-106.8, -110.0, -118.5]), terrain.mountainous(
        [40.97, 37.7, 41.9, 32.8, 28.5], [-98.31, -97.4, -87.9, -96.8, -81.3])
    assert west.all()
    assert not plains.any()


@pytest.mark.parametrize("place", [(64.8, -147.7), (23.0, -102.0), (51.0, -0.1), (40.0, 180.0), (40.0, -180.0)])
def test_outside_the_cover_the_ground_is_unknown(terrain, place):
    assert not terrain.covered(*place)
    assert np.isnan(terrain.highest_ft(*place))
    assert np.isnan(terrain.corridor_floor([place[0]], [place[1]], 5.0)).all()
    assert not terrain.mountainous(*place)


def test_all_contiguous_states_are_covered(terrain, assumptions):
    table = AirportTable.packaged(assumptions)
    region = table.arrays["region_names"][table.arrays["region"]].astype(str)
    far = np.isin(region, ["US-AK", "US-HI"])
    states = np.char.startswith(region, "US-") & ~far
    assert terrain.covered(table.latitude_deg[states], table.longitude_deg[states]).mean() > 0.999
    assert not terrain.covered(table.latitude_deg[region == "US-AK"], table.longitude_deg[region == "US-AK"]).any()


def test_corridor_takes_every_cell_within_the_distance_and_no_other():
    ground = np.zeros((12, 12))
    ground[5, 6] = 9_000
    grid = small(ground)
    lat, lon = grid.centre_of(5, 6)
    edge_lat = lat - 2.5 / 60
    below = [edge_lat - d / 60 for d in (0.5, 1.5, 1.99, 2.01, 3.0)]
    assert grid.corridor_floor(below, [lon] * 5, 2.0).tolist() == [9_000, 9_000, 9_000, 0, 0]
    assert grid.corridor_floor(below, [lon] * 5, 5.0).tolist() == [9_000] * 5


@given(st.floats(26, 48), st.floats(-120, -72), st.floats(0, 359.9), st.sampled_from([1.0, 2.0, 5.0, 8.0]))
def test_corridor_holds_all_ground_within_its_half_width(lat, lon, bearing, half_width_nm):
    terrain = Terrain.packaged()
    floor = terrain.corridor_floor([lat], [lon], half_width_nm)[0]
    near = destination(lat, lon, bearing, half_width_nm * 0.98)
    if np.isfinite(floor) and terrain.covered(*near):
        assert floor >= terrain.highest_ft(*near)
        assert floor >= terrain.highest_ft(lat, lon)
        assert floor <= terrain.corridor_floor([lat], [lon], half_width_nm + 1.0)[0]


def test_the_date_line_is_no_edge():
    grid = small(np.arange(48.0).reshape(4, 12), west=179.5)
    lat, lon = grid.centre_of(1, 8)
    assert lon > 180
    assert grid.highest_ft(lat, lon - 360) == grid.highest_ft(lat, lon) == 20.0
    assert grid.corridor_floor([lat], [lon - 360], 1.0) == [20.0]


def test_reduction_keeps_the_highest_of_four_samples_and_leaves_unknown_unknown():
    rng = np.random.default_rng(5)
    metres = rng.integers(-20, 3000, (9, 11)).astype(np.int16)
    metres[:4, :4] = -9999
    metres[4, 4] = -9999
    lat, lon = 40.0 - np.arange(9) / 24, -100.0 + np.arange(11) / 24
    arrays = derive_terrain.reduce_grid(metres, lat, lon)
    assert arrays["highest_ft"].shape == (5, 6)
    assert (arrays["highest_ft"][:2, :2] == -32768).all()
    expected = np.ceil(max(metres[4, 5], metres[5, 4], metres[5, 5], 0) / 0.3048)
    assert arrays["highest_ft"][2, 2] == expected
    assert float(arrays["north_deg"]) == pytest.approx(40.0 + 1 / 48)
    assert float(arrays["cell_deg"]) == pytest.approx(1 / 12)


def test_the_raw_grid_gives_the_packaged_table():
    if not derive_terrain.RAW.exists():
        pytest.skip("raw elevation samples are not here")
    rebuilt = derive_terrain.build()
    with np.load(DATA / "terrain.npz") as packaged:
        assert sorted(packaged.files) == sorted(rebuilt)
        for key in packaged.files:
            assert np.array_equal(packaged[key], rebuilt[key])


def test_table_is_small():
    assert (DATA / "terrain.npz").stat().st_size < 1e6
    assert haversine_nm(0, 0, 0, Terrain.packaged().cell_deg) == pytest.approx(5.0, abs=0.02)
