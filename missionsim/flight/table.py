"""A candidate's flights as a table: everything about a flight that no weather changes, ready for batches.

A row is one flight that some leg may need: its route, its cruising levels and, per level, the still-air climb, cruise
and descent as a quadratic in temperature deviation and a straight line in weight. One table serves every replication.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from missionsim.base.arrays import Array, Bools, Ints
from missionsim.base.axes import APART, axis, fields_along, take
from missionsim.flight.segments import FIELDS, FlightPerformance, Segments, still_air

PROBE_C = np.array([-30.0, -20.0, -10.0, 0.0, 10.0, 20.0, 30.0])
"""Temperature deviations at which a table is tried, to learn where it is valid. [°C]"""
SPREAD_C = 14.0
"""The quadratic is fitted by least squares with the weights of a normal distribution this wide about standard. [°C]"""
BLOCK_ROWS = 4096
"""Flights tabled at once."""
WEIGHT_STEP_LB = 200.0
"""The weight slope is taken from here below the nominal take-off weight. [lb]"""


@dataclass(frozen=True, slots=True)
class FlightRows:
    """Flights to be tabled. All arrays have one entry a flight, levels one row a flight padded with NaN.

    `from_ft`, `to_ft`: field elevations. `lowest_ft`: lowest level that clears the terrain; NaN where unknown.
    `nominal_zero_fuel_lb`: weight without fuel about which weights vary.
    """

    distance_nm: Array = axis("row")
    from_ft: Array = axis("row")
    to_ft: Array = axis("row")
    levels_ft: Array = axis("row")
    lowest_ft: Array = axis("row")
    mountainous: Bools = axis("row")
    nominal_zero_fuel_lb: Array = axis("row")


@dataclass(frozen=True, slots=True)
class FlightTable:
    """Still-air coefficients of a candidate's flights, arrays [row, level] unless said otherwise (float32).

    `coefficient[f]` has shape [4, row, level]: constant, slope and curvature in temperature deviation, slope in weight,
    for the fields named in `segments.FIELDS`. `coldest_c`, `warmest_c` bound the deviations inside the tables.
    `nominal_takeoff_lb` [row] is the weight the slopes start from. `reserve_flow_gph` [row]. `least_descent_share`: how
    steep a descent may be where the way is short, see `segments.fly`. `max_takeoff_lb`: no flight is heavier.
    """

    rows: FlightRows = axis("row")
    coefficient: dict[str, Array] = axis("row", at=1)
    descent_h: Array = axis("row")
    descent_gal: Array = axis("row")
    descent_nm: Array = axis("row")
    coldest_c: Array = axis("row")
    warmest_c: Array = axis("row")
    usable: Bools = axis("row")
    nominal_takeoff_lb: Array = axis("row")
    still_air_h: Array = axis("row")
    still_air_gal: Array = axis("row")
    reserve_flow_gph: Array = axis("row")
    least_descent_share: float = axis(APART, default=1.0)
    max_takeoff_lb: float = axis(APART, default=math.inf)

    def heavier_lb(self, zero_fuel_lb: Array) -> Array:
        """Return by how much flights [row] are heavier than nominal; beyond the most at take-off nothing flies. [lb]"""
        return np.minimum(zero_fuel_lb - self.rows.nominal_zero_fuel_lb, self.max_takeoff_lb - self.nominal_takeoff_lb)


@dataclass(frozen=True, slots=True)
class FuelPolicy:
    """Fuel beside the flight itself. Gallons, and the weight of one.

    `usable_gal`: what tanks hold. `price_h_per_gal`: hours that a gallon counts where plans are compared; 0 plans by
    least time.
    """

    taxi_gal: float
    approach_gal: float
    reserve_h: float
    lb_per_gal: float
    usable_gal: float = math.inf
    price_h_per_gal: float = 0.0


def build_table(performance: FlightPerformance, rows: FlightRows, fuel: FuelPolicy, max_takeoff_lb: float,
                ) -> FlightTable:
    """Return the table of a candidate's flights.

    Nominal take-off weight is the zero-fuel weight plus the fuel of a still-air flight with reserve, found in two
    passes, never above the maximum; a load above it counts as the heaviest that may be carried so far.

    Parameters
    ----------
    performance : FlightPerformance
    rows : FlightRows        One a flight that some leg may need.
    fuel : FuelPolicy        What is carried besides the way.
    max_takeoff_lb : float   [lb]
    """
    takeoff_lb = np.minimum(rows.nominal_zero_fuel_lb + 30.0 * fuel.lb_per_gal, max_takeoff_lb)
    for _ in range(2):
        burn_gal, flow_gph = _still_air_burn(performance, rows, takeoff_lb, fuel)
        need_gal = burn_gal + fuel.approach_gal + flow_gph * fuel.reserve_h
        loaded_lb = rows.nominal_zero_fuel_lb + need_gal * fuel.lb_per_gal
        takeoff_lb = np.minimum(loaded_lb, max_takeoff_lb)
    heaviest_lb = max_takeoff_lb - need_gal * fuel.lb_per_gal
    rows = replace(rows, nominal_zero_fuel_lb=np.where(loaded_lb > max_takeoff_lb, heaviest_lb,
                                                       rows.nominal_zero_fuel_lb))
    return replace(_table_at(performance, rows, fuel, takeoff_lb), max_takeoff_lb=max_takeoff_lb)


def interpolated(table: FlightTable, isa_deviation_c: Array, weight_difference_lb: Array) -> Segments:
    """Return still-air parts from the table.

    Parameters
    ----------
    table : FlightTable
    isa_deviation_c : (row, slot, level) array       Temperature deviation at the cruising level.
    weight_difference_lb : (row, 1, 1) array         Take-off weight less the nominal one.
    """
    values = {}
    for name in FIELDS:
        constant, slope, curve, by_weight = table.coefficient[name]
        value = curve[:, None, :] * isa_deviation_c
        value += slope[:, None, :]
        value *= isa_deviation_c
        value += constant[:, None, :] + by_weight[:, None, :] * weight_difference_lb
        values[name] = value
    return Segments(**values, descent_h=table.descent_h[:, None, :], descent_gal=table.descent_gal[:, None, :],
                    descent_nm=table.descent_nm[:, None, :])


def interpolated_at(table: FlightTable, row: Ints, isa_deviation_c: Array, weight_difference_lb: Array,
                    ) -> Segments:
    """Return still-air parts of chosen rows, one entry a choice; for batches in which rows come many times.

    Parameters
    ----------
    row : (n,) array                     FlightRows of the table.
    isa_deviation_c : (n, level) array   Temperature deviation at the cruising level.
    weight_difference_lb : (row,) array  Take-off weight less the nominal one, by row of the table.
    """
    values = {}
    for name in FIELDS:
        constant, slope, curve, by_weight = table.coefficient[name]
        value = curve.take(row, axis=0)
        value *= isa_deviation_c
        value += slope.take(row, axis=0)
        value *= isa_deviation_c
        value += (constant + by_weight * weight_difference_lb[:, None]).take(row, axis=0)
        values[name] = value
    return Segments(**values, **{name: getattr(table, name).take(row, axis=0)
                                 for name in ("descent_h", "descent_gal", "descent_nm")})


def with_speed(table: FlightTable, share: float) -> FlightTable:
    """Return the table of an aircraft whose true airspeed in cruise is this share of the table's, at the same power."""
    tas = np.float32(share) * table.coefficient["tas_kt"]
    return replace(table, coefficient={**table.coefficient, "tas_kt": tas})


def with_factors(table: FlightTable, speed: float, fuel_flow: float, climb: float) -> FlightTable:
    """Return the table of an aircraft like the table's whose speed, fuel flow and rate of climb are these shares of it.

    A better climb takes less time, fuel and way; the temperatures and levels of use stay.

    Parameters
    ----------
    table : FlightTable
    speed : float       Share of the speed.
    fuel_flow : float   Share of the fuel flow.
    climb : float       Share of the rate of climb.
    """
    shares = {"climb_h": 1.0 / climb, "climb_gal": fuel_flow / climb, "climb_nm": 1.0 / climb, "tas_kt": speed,
              "fuel_flow_gph": fuel_flow, "climb_rate_fpm": climb}
    coefficient = {name: np.float32(shares[name]) * values for name, values in table.coefficient.items()}
    return replace(table, coefficient=coefficient, descent_gal=np.float32(fuel_flow) * table.descent_gal,
                   descent_nm=np.float32(speed) * table.descent_nm,
                   reserve_flow_gph=fuel_flow * table.reserve_flow_gph)


def _parts(performance: FlightPerformance, rows: FlightRows, deviation_c: Array, takeoff_lb: Array, fuel: FuelPolicy,
           ) -> Segments:
    column = (slice(None), None)
    return still_air(performance, rows.from_ft[column], rows.to_ft[column], rows.levels_ft, rows.distance_nm[column],
                     deviation_c, takeoff_lb[column], fuel.lb_per_gal)


def _still_air_burn(performance: FlightPerformance, rows: FlightRows, takeoff_lb: Array, fuel: FuelPolicy,
                    ) -> tuple[Array, Array]:
    """Return burn and cruise flow at the level with the least time in standard still air."""
    found = [_calm_burn(performance, take(rows, "row", block), takeoff_lb[block], fuel) for block in _blocks(rows)]
    burn, flow = (np.concatenate(parts) for parts in zip(*found, strict=True))
    return np.nan_to_num(burn), np.nan_to_num(flow, nan=float(np.nanmax(np.append(flow, 0.0))))


def _calm_burn(performance: FlightPerformance, rows: FlightRows, takeoff_lb: Array, fuel: FuelPolicy,
               ) -> tuple[Array, Array]:
    parts = _parts(performance, rows, np.zeros(1), takeoff_lb, fuel)
    hours, gallons = _calm(parts, rows.distance_nm)
    best = np.argmin(np.where(np.isfinite(hours), hours, np.inf), axis=1)[:, None]
    burn = np.take_along_axis(gallons, best, axis=1)[:, 0]
    flow = np.take_along_axis(np.broadcast_to(parts.fuel_flow_gph, gallons.shape), best, axis=1)[:, 0]
    return burn, flow


def _blocks(rows: FlightRows) -> list[Ints]:
    """Return rows by blocks: what is worked out on the way takes many times the room of what is kept."""
    count = len(rows.distance_nm)
    return np.array_split(np.arange(count), max(math.ceil(count / BLOCK_ROWS), 1))


def _calm(parts: Segments, distance_nm: Array) -> tuple[Array, Array]:
    with np.errstate(invalid="ignore", divide="ignore"):
        cruise_nm = distance_nm[:, None] - parts.climb_nm - parts.descent_nm
        cruise_h = np.where(cruise_nm >= 0, cruise_nm / parts.tas_kt, np.nan)
        hours = parts.climb_h + parts.descent_h + cruise_h
        gallons = parts.climb_gal + parts.descent_gal + cruise_h * parts.fuel_flow_gph
    return hours, gallons


def _table_at(performance: FlightPerformance, rows: FlightRows, fuel: FuelPolicy, takeoff_lb: Array) -> FlightTable:
    """Return the table at known take-off weights, worked out block by block."""
    parts = [_block_at(performance, take(rows, "row", block), fuel, takeoff_lb[block]) for block in _blocks(rows)]
    if len(parts) == 1:
        return parts[0]
    coefficient = {name: np.concatenate([part.coefficient[name] for part in parts], axis=1) for name in FIELDS}
    others: dict[str, Any] = {
        name: np.concatenate([getattr(part, name) for part in parts])
        for name in fields_along(FlightTable, "row") if name not in ("rows", "coefficient")}
    return FlightTable(rows=rows, coefficient=coefficient, **others)


def _block_at(performance: FlightPerformance, rows: FlightRows, fuel: FuelPolicy, takeoff_lb: Array) -> FlightTable:
    probes = [_parts(performance, rows, np.full(1, c), takeoff_lb, fuel) for c in PROBE_C]
    valid = np.stack([np.isfinite(sum(np.asarray(getattr(p, f)) for f in FIELDS)) for p in probes])
    coldest, warmest, middle = _valid_range(valid)
    inside = (PROBE_C[:, None, None] >= coldest) & (PROBE_C[:, None, None] <= warmest) & valid
    standard = probes[len(PROBE_C) // 2]
    lighter = _parts(performance, rows, np.zeros(1), takeoff_lb - WEIGHT_STEP_LB, fuel)
    coefficient = {}
    for name in FIELDS:
        stack = np.stack([np.broadcast_to(getattr(p, name), rows.levels_ft.shape) for p in probes])
        coefficient[name] = _coefficients(stack, np.asarray(getattr(lighter, name)), middle, inside)
    hours, gallons = _calm(standard, rows.distance_nm)
    flow = np.ma.median(np.ma.masked_array(np.broadcast_to(standard.fuel_flow_gph, middle.shape), ~middle), axis=1)
    shape = rows.levels_ft.shape
    return FlightTable(
        rows=rows, coefficient=coefficient,
        descent_h=_f32(np.broadcast_to(standard.descent_h, shape)),
        descent_gal=_f32(np.broadcast_to(standard.descent_gal, shape)),
        descent_nm=_f32(np.broadcast_to(standard.descent_nm, shape)),
        coldest_c=_f32(coldest), warmest_c=_f32(warmest), usable=middle, nominal_takeoff_lb=takeoff_lb,
        still_air_h=hours, still_air_gal=gallons, reserve_flow_gph=np.ma.filled(flow, 0.0),
    )


def _valid_range(valid: Bools) -> tuple[Array, Array, Bools]:
    """Return the coldest and warmest deviation reached from standard without leaving the table."""
    centre = len(PROBE_C) // 2
    cold = np.where(valid[centre], 0.0, np.inf)
    warm = np.where(valid[centre], 0.0, -np.inf)
    inside_cold = inside_warm = valid[centre]
    for step in range(1, centre + 1):
        inside_cold = inside_cold & valid[centre - step]
        inside_warm = inside_warm & valid[centre + step]
        cold = np.where(inside_cold, PROBE_C[centre - step], cold)
        warm = np.where(inside_warm, PROBE_C[centre + step], warm)
    # The outermost probes stand for everything beyond: real air seldom departs more, and the quadratic holds there.
    cold = np.where(cold == PROBE_C[0], -60.0, cold)
    warm = np.where(warm == PROBE_C[-1], 60.0, warm)
    return cold, warm, valid[centre]


def _coefficients(stack: Array, lighter: Array, middle: Bools, inside: Bools) -> Array:
    """Return constant, slope, curvature and weight slope of a field given at the probes, [probe, row, level].

    Fitted over the probes that lie inside the tables, standard temperature counting most; with two of them a straight
    line, with one a constant.
    """
    zero = stack[len(PROBE_C) // 2]
    weight = np.where(inside, np.exp(-0.5 * (PROBE_C / SPREAD_C) ** 2)[:, None, None], 0.0)
    x = PROBE_C[:, None, None] / 10.0
    above = np.where(inside, stack - zero, 0.0)
    power = [np.sum(weight * x**k, axis=0) for k in range(5)]
    moment = [np.sum(weight * above * x**k, axis=0) for k in range(3)]
    normal = np.stack([np.stack(power[k:k + 3], axis=-1) for k in range(3)], axis=-2)
    count = inside.sum(axis=0)
    # Terms that too few probes could carry are pinned to zero by a one on the diagonal.
    for k, least in ((1, 2), (2, 3), (0, 1)):
        few = count < least
        normal[few, k, :], normal[few, :, k], normal[few, k, k] = 0.0, 0.0, 1.0
        moment[k] = np.where(few, 0.0, moment[k])
    fitted = np.linalg.solve(normal, np.stack(moment, axis=-1)[..., None])[..., 0]
    with np.errstate(invalid="ignore"):
        by_weight = np.nan_to_num((zero - lighter) / WEIGHT_STEP_LB)
    parts = (zero + fitted[..., 0], fitted[..., 1] / 10.0, fitted[..., 2] / 100.0, by_weight)
    return np.stack([_f32(np.where(middle, part, 0.0)) for part in parts])


def _f32(values: Array) -> Array:
    return np.nan_to_num(np.asarray(values), nan=0.0, posinf=9e9, neginf=-9e9).astype(np.float32)
