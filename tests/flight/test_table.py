from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest
from flight_cases import FUEL, LEVELS_FT, performance, profile, rows, table

from missionsim.flight import table as module
from missionsim.flight.segments import FIELDS, fly, still_air
from missionsim.flight.table import build_table, interpolated, interpolated_at, with_speed

DISTANCES = (80.0, 250.0)


@pytest.mark.parametrize("deviation_c", [-15.0, -5.0, 0.0, 8.0, 18.0])
@pytest.mark.parametrize("off_lb", [-150.0, 0.0, 100.0])
def test_the_table_flies_as_the_aircraft_does_between_its_probes(deviation_c, off_lb):
    found, miles, calm = table(DISTANCES), np.array(DISTANCES)[:, None], np.zeros((2, 1))
    parts = interpolated_at(found, np.arange(2), np.full((2, 4), deviation_c), np.full(2, off_lb))
    takeoff_lb = (found.nominal_takeoff_lb + off_lb)[:, None]
    truth = still_air(performance(), np.full((2, 1), 1800.0), np.full((2, 1), 1800.0), np.tile(LEVELS_FT, (2, 1)),
                      miles, np.full(1, deviation_c), takeoff_lb, FUEL.lb_per_gal)
    batch, exact = (fly(p, miles, calm, calm, calm) for p in (parts, truth))
    good = found.usable & exact.possible
    np.testing.assert_allclose(batch.flight_h[good], exact.flight_h[good], rtol=0.01)
    np.testing.assert_allclose(batch.fuel_gal[good], exact.fuel_gal[good], atol=0.3)


def test_chosen_rows_read_the_same_figures(rng):
    found = table(DISTANCES)
    row = rng.integers(0, 2, 9)
    deviation_c, off_lb = rng.normal(0, 8, (9, 4)), np.array([30.0, -60.0])
    some = interpolated_at(found, row, deviation_c.copy(), off_lb)
    for i, r in enumerate(row):
        one = interpolated(found, np.broadcast_to(deviation_c[i], (2, 1, 4)), off_lb[:, None, None])
        for name in FIELDS:
            np.testing.assert_allclose(getattr(some, name)[i], getattr(one, name)[r, 0], rtol=1e-6)
    assert {f.name for f in fields(some)} >= set(FIELDS)


def test_nominal_weight_is_load_and_the_fuel_of_a_calm_flight_with_reserve():
    found = table(DISTANCES, zero_fuel_lb=2200.0)
    burn_gal = np.array([np.nanmin(found.still_air_gal[i]) for i in range(2)])
    need_lb = (burn_gal + FUEL.approach_gal + FUEL.reserve_h * found.reserve_flow_gph) * FUEL.lb_per_gal
    assert found.nominal_takeoff_lb == pytest.approx(2200.0 + need_lb, abs=12.0)
    assert (found.nominal_takeoff_lb <= profile().max_takeoff_lb).all()


def test_a_slower_aircraft_of_the_same_power_burns_the_same_an_hour():
    found = table(DISTANCES)
    slow = with_speed(found, 0.95)
    np.testing.assert_allclose(slow.coefficient["tas_kt"], 0.95 * found.coefficient["tas_kt"], rtol=1e-6)
    assert slow.coefficient["fuel_flow_gph"] is found.coefficient["fuel_flow_gph"]


def test_levels_beyond_the_aircraft_are_not_usable():
    high = rows(DISTANCES)
    high.levels_ft[:, 3] = 30_000.0
    found = build_table(performance(), high, FUEL, profile().max_takeoff_lb)
    assert not found.usable[:, 3].any()
    assert found.usable[:, :3].all()


def test_flights_tabled_block_by_block_have_the_table_of_all_at_once(monkeypatch):
    miles = (40.0, 80.0, 250.0, 333.0, 600.0, 900.0, 3000.0)
    whole = table(miles)
    monkeypatch.setattr(module, "BLOCK_ROWS", 3)
    blocks = table(miles)
    for field in fields(whole):
        parts = [getattr(found, field.name) for found in (whole, blocks)]
        if field.name == "coefficient":
            parts = [np.stack([found[name] for name in FIELDS]) for found in parts]
        if field.name != "rows":
            np.testing.assert_array_equal(*parts)


def test_a_load_that_does_not_fit_counts_as_the_most_at_take_off_and_a_lightened_one_as_what_it_weighs():
    most_lb = profile().max_takeoff_lb
    over, fits = table(DISTANCES, zero_fuel_lb=most_lb + 400.0), table(DISTANCES, zero_fuel_lb=2200.0)
    assert over.nominal_takeoff_lb.tolist() == [most_lb] * len(DISTANCES)
    assert over.heavier_lb(np.full(2, most_lb + 400.0)).tolist() == [0.0, 0.0]
    # By hand: the overloaded party leaves enough behind to weigh 2,200 lb; both then take off at the same weight.
    np.testing.assert_allclose(over.nominal_takeoff_lb + over.heavier_lb(np.full(2, 2200.0)),
                               fits.nominal_takeoff_lb + fits.heavier_lb(np.full(2, 2200.0)), atol=12.0)
    assert fits.heavier_lb(np.full(2, 2250.0)).tolist() == [50.0, 50.0]
    assert fits.heavier_lb(np.full(2, 9000.0)) == pytest.approx(most_lb - fits.nominal_takeoff_lb)
