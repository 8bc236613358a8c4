"""Flights planned exactly: at the very weight and temperature of each, by the same rules that plan a year's batch.

The batch reads a table that is a curve in temperature and a line in weight; here the table of a flight is made at its
own air and its own take-off weight, and the weight follows from the fuel in turn. What is then chosen, and why, is
decided by the very function that serves the batch.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from missionsim.base.arrays import Array, Bools
from missionsim.flight.batch import AirOnRoutes, LevelLimits, Plans, plan_rows
from missionsim.flight.segments import FIELDS, FlightPerformance, FlownLeg, Segments, fly, still_air
from missionsim.flight.table import FlightRows, FlightTable, FuelPolicy, interpolated

PASSES = 5
"""Rounds of plan, fuel and weight; each leaves about a fiftieth of the error before it."""


@dataclass(frozen=True, slots=True)
class ExactPlans:
    """Flights at their very weight, arrays [n] beside `plans` [n, 1].

    `fixed_gal` is what flight and alternate leave out: taxi, approach and reserve. `required_gal` is on board at start.
    `takeoff_lb` is with the fuel required, above a limit or not; `table` carries what each level would take.
    """

    plans: Plans
    table: FlightTable
    reserve_gal: Array
    required_gal: Array
    takeoff_lb: Array
    landing_lb: Array


@dataclass(frozen=True, slots=True)
class ByLevel:
    """What every level of every flight would take, arrays [n, level]; zero where it cannot be flown."""

    parts: Segments
    flown: FlownLeg


@dataclass(frozen=True, slots=True)
class ExactLoads:
    """What flights carry, arrays [n]: weight without fuel, and fuel to an alternate, 0 where none is required.

    A flight heavier than `max_takeoff_lb` is figured at that weight; whether it may is the caller's to say.
    """

    zero_fuel_lb: Array
    alternate_gal: Array
    max_takeoff_lb: float


def exact_plans(performance: FlightPerformance, rows: FlightRows, air: AirOnRoutes, limits: LevelLimits,
                fuel: FuelPolicy, loads: ExactLoads, blocked: Bools | None = None,
                least_descent_share: float = 1.0) -> ExactPlans:
    """Return plans at exact weights.

    Parameters
    ----------
    performance, rows, limits, fuel   As for the batch, one row a flight.
    air : AirOnRoutes                 Of each flight, one slot: [n, 1, level].
    loads : ExactLoads
    blocked : (n, 1, level) array     Levels that ice closes.
    least_descent_share : float       As in `FlightTable`.
    """
    takeoff_lb = np.minimum(loads.zero_fuel_lb + 30.0 * fuel.lb_per_gal, loads.max_takeoff_lb)
    for _ in range(PASSES):
        table = table_at(performance, rows, air.isa_deviation_c[:, 0, :], takeoff_lb, fuel, least_descent_share)
        plans = plan_rows(table, air, limits, np.zeros(len(takeoff_lb)), fuel.price_h_per_gal, blocked)
        reserve_gal = fuel.reserve_h * _flow_gph(table, plans)
        flight_gal = plans.fuel_gal[:, 0].astype(float) + fuel.approach_gal
        required_gal = fuel.taxi_gal + flight_gal + reserve_gal + loads.alternate_gal
        heavy_lb = loads.zero_fuel_lb + (required_gal - fuel.taxi_gal) * fuel.lb_per_gal
        takeoff_lb = np.minimum(heavy_lb, loads.max_takeoff_lb)
    return ExactPlans(plans, table, reserve_gal, required_gal, heavy_lb, heavy_lb - flight_gal * fuel.lb_per_gal)


def table_at(performance: FlightPerformance, rows: FlightRows, isa_deviation_c: Array, takeoff_lb: Array,
             fuel: FuelPolicy, least_descent_share: float = 1.0) -> FlightTable:
    """Return the table of flights at one air and one weight each: constants alone, no slopes.

    Parameters
    ----------
    isa_deviation_c : (n, level) array   At each cruising level. [°C]
    takeoff_lb : (n,) array
    """
    column = (slice(None), None)
    parts = still_air(performance, rows.from_ft[column], rows.to_ft[column], rows.levels_ft, rows.distance_nm[column],
                      isa_deviation_c, takeoff_lb[column], fuel.lb_per_gal)
    shape = rows.levels_ft.shape
    whole = Segments(**{f.name: np.broadcast_to(getattr(parts, f.name), shape) for f in fields(Segments)})
    usable = np.isfinite(sum(getattr(whole, name) for name in FIELDS))
    flat = np.zeros(shape)
    coefficient = {name: np.stack([_known(getattr(whole, name)), flat, flat, flat]) for name in FIELDS}
    return FlightTable(
        rows=rows, coefficient=coefficient, descent_h=_known(whole.descent_h), descent_gal=_known(whole.descent_gal),
        descent_nm=_known(whole.descent_nm), coldest_c=np.full(shape, -np.inf), warmest_c=np.full(shape, np.inf),
        usable=usable, nominal_takeoff_lb=takeoff_lb, still_air_h=flat, still_air_gal=flat,
        reserve_flow_gph=np.where(usable, whole.fuel_flow_gph, 0.0).max(axis=1, initial=0.0),
        least_descent_share=least_descent_share)


def by_level(table: FlightTable, air: AirOnRoutes) -> ByLevel:
    """Return time, fuel and speeds of every level of exact tables, [n, level]."""
    parts = interpolated(table, air.isa_deviation_c, np.zeros((len(table.usable), 1, 1)))
    flown = fly(parts, table.rows.distance_nm[:, None, None], air.headwind_kt, air.crosswind_kt,
                air.low_headwind_kt[:, :, None], air.low_crosswind_kt[:, :, None], table.least_descent_share)
    shape = air.isa_deviation_c.shape
    flat = {f.name: np.broadcast_to(getattr(parts, f.name), shape)[:, 0, :] for f in fields(Segments)}
    over = {f.name: getattr(flown, f.name)[:, 0, :] for f in fields(FlownLeg)}
    over["possible"] = over["possible"] & table.usable
    return ByLevel(Segments(**flat), FlownLeg(**over))


def _flow_gph(table: FlightTable, plans: Plans) -> Array:
    """Return fuel flow at the level flown; where none can be, the most of any level. [gal/h]"""
    flow = np.take_along_axis(table.coefficient["fuel_flow_gph"][0], plans.level, axis=1)[:, 0]
    return np.where(plans.reasons[:, 0] == 0, flow, table.reserve_flow_gph)


def _known(values: Array) -> Array:
    return np.where(np.isfinite(values), values, 0.0)
