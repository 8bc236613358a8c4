"""Hours drawn alone are those of the whole year, bit by bit."""

from __future__ import annotations

from dataclasses import fields
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from missionsim.base.normal import normal_quantile
from missionsim.base.pcg import Jumps
from missionsim.base.streams import generator, generators
from missionsim.base.words import Stream
from missionsim.world.random_fields.autoregression import Stretches, fill_rows
from missionsim.world.random_fields.hours import HOURS
from missionsim.world.random_fields.uniforms import Uniforms
from missionsim.world.random_fields.windows import DrawnSeries, Windows, asked_days, seats_of
from missionsim.world.surface.air import WIND_LOCAL, WIND_U, WIND_V, AirPlan, AskedHours, SurfaceAir
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.world.surface.year import SurfaceYear

LAT, LON, HEIGHT = [40.97, 41.30, 39.57, 42.05], [-98.31, -95.89, -104.85, -102.80], [1847.0, 984.0, 5885.0, 3931.0]


def ar1(random, steps, phi):
    """Return one stationary first-order autoregressive series of unit variance."""
    series = np.empty((1, steps), dtype=np.float32)
    fill_rows([random], phi, series)
    return series[0]


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
def test_asked_hours_have_the_bits_of_the_whole_year(climate, wanted, replication):
    asked = AskedHours.of(climate, wanted)
    whole, alone = (SurfaceYear.simulate(climate, 7, replication) for _ in range(2))
    here, every = alone.air.at(asked.plan), whole.whole_years()
    assert "parts" not in alone.field.__dict__      # nothing more was drawn
    np.testing.assert_array_equal(here.latent, whole.latent[wanted])
    for field in fields(SurfaceAir):
        np.testing.assert_array_equal(getattr(here, field.name), getattr(every, field.name)[wanted], err_msg=field.name)


def test_pairs_in_any_order_have_the_bits_of_the_whole_year(climate):
    year, random = SurfaceYear.simulate(climate, 7, 1), np.random.default_rng(2)
    place, hour = random.integers(0, 4, 50), random.integers(0, HOURS, 50)
    some, every = year.air_at(place, hour), year.whole_years()
    for field in fields(SurfaceAir):
        np.testing.assert_array_equal(getattr(some, field.name), getattr(every, field.name)[place, hour])


def test_what_a_place_has_of_the_wind_alone_comes_from_a_stream_of_its_own_for_each_component(climate, assumptions):
    year, random = SurfaceYear.simulate(climate, 7, 1), np.random.default_rng(4)
    place, hour = random.integers(0, 4, 30), random.integers(0, HOURS, 30)
    plan, share = AirPlan.of(climate, place, hour), assumptions["weather.wind_local_share"]
    phi = float(np.exp(-1.0 / assumptions["weather.wind_local_e_fold_h"]))
    for number, found in zip((WIND_U, WIND_V), year.air._components(plan), strict=True):
        local = [ar1(generator(7, 1, Stream.SURFACE_LOCAL, WIND_LOCAL, number, *address), HOURS, phi)[h]
                 for address, h in zip(climate.latent_plan.address[place].tolist(), hour.tolist(), strict=True)]
        wide = plan.wind.read(year.air._rows[number])
        np.testing.assert_allclose(found, np.sqrt(1.0 - share) * wide + np.sqrt(share) * np.array(local), atol=1e-5)


def test_the_index_finds_every_hour_wanted_and_nothing_else(climate, wanted):
    index = AskedHours.of(climate, wanted).index.reshape(wanted.shape)
    assert (index[~wanted] == -1).all()
    np.testing.assert_array_equal(index[wanted], np.arange(wanted.sum()))


def test_no_hours_at_all_are_no_trouble(climate):
    asked = AskedHours.of(climate, np.zeros((4, HOURS), dtype=bool))
    assert SurfaceYear.simulate(climate, 7, 0).air.at(asked.plan).latent.shape == (0,)


@st.composite
def stretches(draw):
    """Return series, first days and the ones after the last, of stretches of up to four series that lie apart."""
    days = draw(st.sets(st.tuples(st.integers(0, 3), st.integers(0, HOURS // 24 - 1)), min_size=1, max_size=30))
    runs = [[row, day, day + 1] for row, day in sorted(days)]
    long = draw(st.lists(st.integers(1, 40), min_size=len(runs), max_size=len(runs)))
    for (row, first, _), (after, limit, _) in pairwise([*runs, [-1, -1, 0]]):
        runs[runs.index([row, first, first + 1])][2] = min(first + long.pop(), limit if row == after else HOURS // 24)
    return np.array(runs).T


@given(spans=stretches(), e_fold_h=st.lists(st.floats(0.2, 80.0), min_size=2, max_size=2), far=st.integers(0, 60))
def test_stretches_of_series_are_cut_out_of_the_whole(spans, e_fold_h, far):
    phi, address = np.exp(-1.0 / np.array(e_fold_h)).tolist(), np.arange(4)
    drawn = Stretches.of(*spans, phi, spans[0] // 2, far)   # two series of one kind, then two of another
    seats = generators(1, 2, Stream.SURFACE_LOCAL, address[drawn.row], jumps=Jumps.of(drawn.skipped, True))
    alone = {k: ar1(generator(1, 2, Stream.SURFACE_LOCAL, k), HOURS, phi[k // 2]) for k in spans[0].tolist()}
    series = drawn.draw(seats)
    for (row, start, stop), column in zip(spans.T.tolist(), drawn.column.tolist(), strict=True):
        np.testing.assert_array_equal(series[:, column:column + stop - start].T.ravel(),
                                      alone[row][24 * start:24 * stop])


@given(steps=st.integers(1, 3000), rows=st.integers(0, 60), e_fold_h=st.floats(0.2, 300.0))
def test_rows_filled_together_are_the_series_one_by_one(steps, rows, e_fold_h):
    phi, out = float(np.exp(-1.0 / e_fold_h)), np.empty((rows, steps), dtype=np.float32)
    fill_rows(generators(1, 2, Stream.SURFACE_LOCAL, np.arange(rows)), phi, out)
    for k in range(rows):
        np.testing.assert_array_equal(out[k], ar1(generator(1, 2, Stream.SURFACE_LOCAL, k), steps, phi))


def test_a_series_follows_its_recursion():
    phi, bits = 0.9, generator(1, 2, Stream.SURFACE_LOCAL, 3)
    series = ar1(generator(1, 2, Stream.SURFACE_LOCAL, 3), 500, phi).astype(float)
    value, draws = bits.standard_normal(), bits.bit_generator.random_raw(126).view("<u2")[:500]
    ranks = normal_quantile((draws + 0.5) / 65536.0)
    for step in range(1, 500):
        value = phi * value + np.sqrt(1.0 - phi * phi) * ranks[step]
        assert series[step] == pytest.approx(value, abs=4e-4)


PAIRS = st.lists(st.tuples(st.integers(0, 3), st.integers(0, HOURS - 1)), max_size=40)


def columns(pairs):
    """Return rows and hours of pairs."""
    return tuple(np.array([p[i] for p in pairs], dtype=np.int64) for i in (0, 1))


@given(PAIRS, st.lists(PAIRS, max_size=3))
def test_windows_and_what_is_asked_for_later_give_each_pair_its_place_own_value_in_any_order(pairs, later):
    address, phi = np.array([[10, 20], [11, 20], [10, 21], [500, 600]]), 0.9
    whole = [ar1(generator(5, 6, Stream.SURFACE_LOCAL, 1, *a), HOURS, phi) for a in address.tolist()]
    row, hour = columns(pairs)
    # Of another kind, standing before these.
    others = asked_days(np.array([1]), np.array([125]), 2)
    windows = Windows.of([others, asked_days(row, hour // 24, len(address))], [0.7, phi], spare=0)
    every = np.concatenate([np.insert(address[:2], 0, 2, axis=1), np.insert(address, 0, 1, axis=1)])
    series = DrawnSeries(windows, seats_of(5, 6, Stream.SURFACE_LOCAL, address=every))
    at, untouched = windows.positions(2 + row, hour), windows.at.copy()
    np.testing.assert_array_equal(series.values.take(at), [whole[p][h] for p, h in pairs])
    for some in (*later, pairs):
        row, hour = columns(some)
        np.testing.assert_array_equal(series.read(2 + row, hour), [whole[p][h] for p, h in some])
    np.testing.assert_array_equal(windows.at, untouched)     # it serves all replications
    np.testing.assert_array_equal(series.values.take(at), [whole[p][h] for p, h in pairs])


def test_little_is_drawn_beyond_the_days_asked_for():
    windows = Windows.of([asked_days(np.array([0, 0, 0, 2]), np.array([208, 209, 366, 4]), 3)], [0.9])
    # What lies four days back has faded to 0.9 ** 96, less than a ten-thousandth: the days before those are skipped,
    # and so is what lies between two days far apart. Two days follow each other; day 4 needs all before it.
    drawn = windows.drawn
    assert drawn.row.tolist() == [0, 0, 2]
    assert drawn.skipped == [6 * (208 - 4), 6 * (366 - 4), 0]
    assert drawn.words == [6 * (4 + 2), 6 * (4 + 1), 6 * (4 + 1)]
    assert drawn.columns == 6 + 5 + 5
    assert (windows.positions(np.array([1, 0]), np.array([5000, 5100])) < 0).all()


def test_what_lies_between_two_days_asked_for_is_worked_out_no_farther_than_the_later_one_feels():
    drawn = Stretches.of(np.array([0, 0]), np.array([100, 112]), np.array([101, 113]), [0.9], np.array([0, 0]), far=20)
    assert drawn.words == [6 * (4 + 13)]        # drawn on and on, since entering the stream again takes as long
    assert drawn.columns == 2 * (4 + 1)
    assert drawn.column.tolist() == [4, 9]


@given(PAIRS)
def test_uniform_draws_are_those_of_the_whole_stream(pairs):
    place, number = columns(pairs)
    address = np.array([[1], [2], [3], [4]])
    found = Uniforms.of(place, number, Stream.ICING, address).draw(5, 6)
    whole = [generator(5, 6, Stream.ICING, k).random(HOURS, dtype=np.float32) for k in (1, 2, 3, 4)]
    assert found.dtype == np.float32
    np.testing.assert_array_equal(found, [whole[p][k] for p, k in pairs])
