"""Hours drawn alone are those of the whole year, bit by bit."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from missionsim.base.streams import generator
from missionsim.base.words import Stream
from missionsim.world.autoregression import ar1, ar1_part
from missionsim.world.surface_climate import SurfaceClimate
from missionsim.world.surface_field import HOURS
from missionsim.world.surface_spots import Spots, SpotWeather
from missionsim.world.surface_year import SurfaceYear

LAT, LON, HEIGHT = [40.97, 41.30, 39.57, 42.05], [-98.31, -95.89, -104.85, -102.80], [1847.0, 984.0, 5885.0, 3931.0]


@pytest.fixture(scope="module")
def climate(assumptions):
    return SurfaceClimate.build(LAT, LON, HEIGHT, ["KGRI", "KOMA", "KAPA", "KAIA"], assumptions)


@pytest.fixture(scope="module")
def wanted():
    random = np.random.default_rng(11)
    mask = np.zeros((4, HOURS), dtype=bool)
    mask[0] = random.random(HOURS) < 0.2
    for row, starts in ((1, (0, 400, 5000)), (2, (HOURS - 30,)), (3, ())):
        for start in starts:
            mask[row, start:start + 25] = True
    return mask


@pytest.mark.parametrize("replication", [0, 3])
def test_spots_have_the_bits_of_the_whole_year(climate, wanted, replication):
    spots = Spots.of(climate, wanted)
    whole, alone = (SurfaceYear.simulate(climate, 7, replication) for _ in range(2))
    here = SpotWeather.draw(spots, alone.field, climate)
    assert "parts" not in alone.field.__dict__      # nothing more was drawn
    east, north = whole.air.wind
    for name, year in (("latent", whole.latent), ("pressure_hpa", whole.pressure_hpa), ("east_kt", east),
                       ("temperature_c", whole.temperature_c), ("north_kt", north), ("mean_kt", whole.wind_kt),
                       ("gust_kt", whole.gust_kt)):
        np.testing.assert_array_equal(getattr(here, name), year[wanted], err_msg=name)


def test_the_index_finds_every_spot_and_nothing_else(climate, wanted):
    spots = Spots.of(climate, wanted)
    index = spots.index.reshape(wanted.shape)
    assert (index[~wanted] == -1).all()
    np.testing.assert_array_equal(index[wanted], np.arange(wanted.sum()))


def test_no_spots_at_all_are_no_trouble(climate):
    spots = Spots.of(climate, np.zeros((4, HOURS), dtype=bool))
    assert SpotWeather.draw(spots, SurfaceYear.simulate(climate, 7, 0).field, climate).latent.shape == (0,)


@given(start=st.integers(0, HOURS - 1), length=st.integers(1, 3000), e_fold_h=st.floats(1.0, 30.0))
def test_a_part_of_a_series_is_cut_out_of_the_whole(start, length, e_fold_h):
    phi, stop = float(np.exp(-1.0 / e_fold_h)), min(start + length, HOURS)
    whole, part = (generator(1, 2, Stream.SURFACE_LOCAL, 3) for _ in range(2))
    np.testing.assert_array_equal(ar1_part(part, HOURS, phi, start, stop), ar1(whole, HOURS, phi)[start:stop])
