"""Air in which fields do for sure, against distances and gradients at random hours."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from aircraft_cases import NAMES, demo

from missionsim.base.assumptions import packaged_assumptions
from missionsim.decide.candidate_plan import CoolAir, Directions, FieldRows, warmest_of
from missionsim.decide.runways import SPARE
from missionsim.flight.rules import Rules
from missionsim.study.prepare.aircraft import Equipped
from missionsim.study.prepare.cool_air import TRIED_C, cool_climb, cool_fields
from missionsim.study.unknowns.class_figures import AS_LIKELY

A = packaged_assumptions()
RULES = Rules(True, True, 60.0, 60.0, True, 12_500.0, 9.0, 9.0, 8.0, 12.0, 1.5, 28.0, 12.0, 3.0)
K, HOURS = 60, 4000


def test_the_warmest_air_is_that_up_to_which_every_temperature_does():
    tried_c = np.array([-30.0, 10.0, 20.0], dtype=np.float32)
    needed = np.array([[0.5, 0.9, 1.0], [0.5, 1.1, 0.9], [1.1, 0.5, 0.5], [np.nan, 0.5, 0.5]])
    assert warmest_of(needed, tried_c).tolist() == [20.0, -30.0, -np.inf, -np.inf]
    one = CoolAir(warmest_of(needed[:, None], tried_c), *np.zeros((2, 4)), np.zeros(1), tried_c, needed[:, None])
    assert one.scaled(1.05).warmest_c[:, 0].tolist() == [10.0, -30.0, -np.inf, -np.inf]
    unkept = replace(one, needed=None)
    assert unkept.scaled(1.0).warmest_c[:, 0].tolist() == [20.0, -30.0, -np.inf, -np.inf]
    assert (unkept.scaled(1.05).warmest_c == -np.inf).all()


def hours(rng, nominal_lb, elevation_ft):
    k = rng.integers(0, K, HOURS)
    return (k, elevation_ft[k] + rng.uniform(-700, 600, HOURS), rng.uniform(-35, 40, HOURS),
            nominal_lb[k] + rng.uniform(-400, 200, HOURS))


@pytest.mark.parametrize("landing", [False, True])
@pytest.mark.parametrize("name", NAMES)
def test_where_it_holds_the_runway_is_long_enough_in_calm(rng, name, landing):
    equipped, place = Equipped.of(demo(name), A), np.arange(K)
    elevation_ft, top_lb = rng.uniform(0, 7000, K), equipped.profile.max_takeoff_lb
    nominal_lb, long_ft = rng.uniform(0.75, 1.0, K) * top_lb, rng.uniform(1500, 6000, K)
    fields = FieldRows(place, place, Directions.of(np.zeros((K, 2))), np.full((K, 2), 1.0), np.ones((K, 2)),
                       np.ones((K, 2), dtype=bool), long_ft, np.zeros((K, 2), dtype=np.int8))
    found = cool_fields(fields, equipped, elevation_ft, nominal_lb, RULES, landing, drawn=True)
    for factor in (1.0, 1.4):
        k, altitude_ft, temperature_c, weight_lb = hours(rng, nominal_lb, elevation_ft)
        weight_lb = weight_lb if landing else np.minimum(weight_lb, top_lb)
        drawn = equipped.as_drawn(replace(AS_LIKELY, takeoff=factor, landing=factor))
        distance_ft = drawn.landing_ft if landing else drawn.takeoff_ft
        held = found.scaled(factor).cool.holds(k, altitude_ft, temperature_c, weight_lb)
        needed_ft = distance_ft(altitude_ft, temperature_c, weight_lb, np.zeros(HOURS)) * RULES.runway_margin
        assert 0.1 * HOURS < held.sum() < 0.9 * HOURS
        assert (needed_ft <= long_ft[k])[held].all()


@pytest.mark.parametrize("name", NAMES)
def test_where_it_holds_the_climb_is_steep_enough(rng, name):
    equipped, rows = Equipped.of(demo(name), A), np.arange(K)
    elevation_ft, top_lb = rng.uniform(0, 9000, K), equipped.profile.max_takeoff_lb
    nominal_lb = rng.uniform(0.8, 1.0, K) * top_lb
    k, altitude_ft, temperature_c, weight_lb = hours(rng, nominal_lb, elevation_ft)
    weight_lb = np.minimum(weight_lb, top_lb)
    gradient = equipped.departure_gradient_ft_per_nm(altitude_ft, temperature_c, weight_lb)
    least = float(np.nanmedian(gradient))
    cool = cool_climb(rows, equipped, elevation_ft, nominal_lb, least, drawn=True)
    held = cool.holds(k, altitude_ft, temperature_c, weight_lb)
    assert 0.1 * HOURS < held.sum() < 0.9 * HOURS
    assert (gradient >= least)[held].all()
    # One that climbs a tenth better does in warmer air, of the same ladder.
    better = cool.scaled(1.0 / 1.1)
    assert (better.warmest_c >= cool.warmest_c).all()
    assert np.isin(better.warmest_c[better.warmest_c > -np.inf], TRIED_C).all()
    assert SPARE > 1.0
