"""Performance read from the tables of a flight manual: interpolate, never extrapolate; NaN is 'not in the table'.

On the safe side of a table a pilot takes its edge: lighter than the lightest weight printed, colder than the coldest
column, lower than the lowest pressure altitude of a field table count as that edge (common practice). On the unsafe
side nothing is made up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from missionsim.aircraft.fitted import taxi_fuel_gal
from missionsim.aircraft.profile import Profile
from missionsim.aircraft.tables import ClimbTable, CruiseTable, FieldTable
from missionsim.base.arrays import Bools, Indices
from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import ValidityError
from missionsim.physics.atmosphere import density_ratio, isa_deviation_c, standard_temperature_c
from missionsim.physics.units import FloatArray, real


def multilinear(axes: Sequence[npt.ArrayLike], values: FloatArray, points: Sequence[npt.ArrayLike]) -> FloatArray:
    """Return values between the nodes of a table, NaN outside it and next to a blank.

    Parameters
    ----------
    axes : sequence of (n,) arrays       Ascending; an axis of one value holds for that value alone.
    values : array over the axes         NaN where the table is blank.
    points : sequence of arrays          One for each axis; they broadcast.

    Returns
    -------
    array   Exact at the nodes.
    """
    return _between_nodes(axes, (values,), points)[0]


def _between_nodes(axes: Sequence[npt.ArrayLike], tables: Sequence[FloatArray], points: Sequence[npt.ArrayLike],
                   ) -> list[FloatArray]:
    """Return the values of several tables over the same axes; see `multilinear`."""
    coordinates = np.broadcast_arrays(*(real(p) for p in points))
    places = [_place(np.asarray(axis, dtype=float), x) for axis, x in zip(axes, coordinates, strict=True)]
    shape = tables[0].shape
    totals = [np.zeros(coordinates[0].shape) for _ in tables]
    flat = [np.ascontiguousarray(values).reshape(-1) for values in tables]
    blank = [bool(np.isnan(values).any()) for values in flat]
    for share, index in _corners(places, shape):
        for total, values, gaps in zip(totals, flat, blank, strict=True):
            part = share * values.take(index)
            # A blank next door must not spoil a node that is hit exactly.
            np.add(total, np.where(share > 0.0, part, 0.0) if gaps else part, out=total)
    outside = np.logical_or.reduce([out for _, _, out in places])
    return [np.where(outside, np.nan, total) for total in totals]


def _corners(places: Sequence[tuple[Indices, FloatArray, Bools]], shape: tuple[int, ...],
             ) -> list[tuple[FloatArray, Indices]]:
    """Return share and flat index of the nodes around points; corners that have their first axes in common share work.

    An axis of one value has no far side.
    """
    corners: list[tuple[FloatArray, Indices]] = [(np.ones(()), np.zeros((), dtype=np.intp))]
    for (low, t, _), n in zip(places, shape, strict=True):
        sides = [(1.0 - t, low), (t, low + 1)][:n]
        corners = [(share * part, index * n + at) for share, index in corners for part, at in sides]
    return corners


def _place(axis: FloatArray, x: FloatArray) -> tuple[Indices, FloatArray, Bools]:
    # Axes ascend.
    slack = 1e-9 * max(1.0, abs(float(axis[0])), abs(float(axis[-1])))
    outside = ~((x >= axis[0] - slack) & (x <= axis[-1] + slack))
    if axis.size == 1:
        return np.zeros(x.shape, dtype=np.intp), np.zeros(x.shape), outside
    # Of so few nodes `take` and two comparisons go much faster than `clip` and indices by lists.
    low = np.minimum(np.maximum(np.searchsorted(axis, x, side="right") - 1, 0), axis.size - 2)
    near = axis.take(low)
    t = (x - near) / (axis.take(low + 1) - near)
    return low, np.where(outside, 0.0, np.minimum(np.maximum(t, 0.0), 1.0)), outside


@dataclass(frozen=True, slots=True)
class HandbookPerformance:
    """The handbook form; build it with `handbook_from_tables`."""

    cruise_table: CruiseTable
    climb_table: ClimbTable
    takeoff_table: FieldTable
    landing_table: FieldTable
    power_share: float
    tas_grid_kt: FloatArray        # [level, temperature] at the chosen power, or the most the book gives there
    flow_grid_gph: FloatArray
    climb_cas_kt: float | None
    headwind_credit_max_kt: float
    descent_fpm: float
    descent_fuel_share: float
    taxi_fuel_gal: float

    def with_power(self, power_share: float) -> HandbookPerformance:
        """Return the same aircraft cruised at another share of rated power."""
        tas, flow = _at_power(self.cruise_table, power_share)
        return replace(self, power_share=power_share, tas_grid_kt=tas, flow_grid_gph=flow)

    def cruise(self, level_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike, weight_lb: npt.ArrayLike,
               ) -> tuple[FloatArray, FloatArray]:
        """Return true airspeed and fuel flow; the airspeed corrected for weight by the note of the table."""
        table = self.cruise_table
        axes, points = (table.level_ft, table.isa_deviation_c), (real(level_ft), real(isa_deviation_c))
        gain_kt = table.gain_for_100_lb_less_kt * (table.weight_lb - real(weight_lb)) / 100.0
        tas_kt = multilinear(axes, self.tas_grid_kt, points) + gain_kt
        return tas_kt, multilinear(axes, self.flow_grid_gph, points) + 0.0 * gain_kt

    def climb(self, from_ft: npt.ArrayLike, to_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike,
              weight_lb: npt.ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return time, fuel and distance as differences of the table; distance NaN where the book has none.

        Arguments as for `Performance.climb`.
        """
        factor = self._climb_factor(isa_deviation_c)
        top = np.maximum(real(to_ft), real(from_ft))
        table = self.climb_table
        minutes, gallons, miles = (
            factor * (self._climb_cell(name, top, weight_lb) - self._climb_cell(name, from_ft, weight_lb))
            for name in ("time_min", "fuel_gal", "distance_nm" if table.distance_nm is not None else "time_min"))
        return minutes / 60.0, gallons, miles if table.distance_nm is not None else np.full_like(miles, np.nan)

    def _climb_factor(self, deviation_c: npt.ArrayLike) -> FloatArray:
        above = np.maximum(real(deviation_c), 0.0)
        table = self.climb_table
        factor = 1.0 + 0.1 * above / table.above_standard_for_tenth_more_c
        return np.where(above > table.max_above_standard_c, np.nan, factor)

    def _climb_cell(self, name: str, level_ft: npt.ArrayLike, weight_lb: npt.ArrayLike) -> FloatArray:
        return self._climb_at(self.climb_table.array(name), level_ft, weight_lb)

    def _climb_at(self, grid: FloatArray, level_ft: npt.ArrayLike, weight_lb: npt.ArrayLike) -> FloatArray:
        table = self.climb_table
        level = np.maximum(real(level_ft), table.level_ft[0])
        if table.weight_lb is None:
            return multilinear((table.level_ft,), grid, (level,)) + 0.0 * real(weight_lb)
        weight = np.maximum(real(weight_lb), table.weight_lb[0])
        return multilinear((table.weight_lb, table.level_ft), grid, (weight, level))

    def climb_rate_fpm(self, level_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike, weight_lb: npt.ArrayLike,
                       ) -> FloatArray:
        """Return the printed rate, or the slope of the time column where no rate is printed."""
        table = self.climb_table
        grid = table.array("rate_fpm") if table.rate_fpm is not None else _slope(table, np.asarray(table.level_ft))
        return self._climb_at(grid, level_ft, weight_lb) / self._climb_factor(isa_deviation_c)

    def climb_tas_kt(self, level_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike, weight_lb: npt.ArrayLike,
                     ) -> FloatArray:
        """Return the climb speed of the book as true airspeed, or the slope of its distance column."""
        if self.climb_cas_kt is not None:
            temperature_c = standard_temperature_c(level_ft, check=False) + real(isa_deviation_c)
            sigma = density_ratio(level_ft, temperature_c, check=False)
            return self.climb_cas_kt / np.sqrt(sigma) + 0.0 * real(weight_lb)
        if self.climb_table.distance_nm is None:
            return np.full(np.broadcast(real(level_ft), real(weight_lb)).shape, np.nan)
        grid = 60.0 * _slope(self.climb_table, self.climb_table.array("distance_nm"))
        return self._climb_at(grid, level_ft, weight_lb)

    def descent(self, from_ft: npt.ArrayLike, to_ft: npt.ArrayLike, isa_deviation_c: npt.ArrayLike,
                weight_lb: npt.ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return a descent at a constant rate and the cruising speed of the mean level.

        Arguments as for `Performance.climb`.
        """
        top, bottom = real(from_ft), real(to_ft)
        time_h = np.maximum(top - bottom, 0.0) / (60.0 * self.descent_fpm)
        # A mean level below the table's lowest is slower and burns about the same; its edge is near enough.
        level = np.maximum(0.5 * (top + bottom), self.cruise_table.level_ft[0])
        tas_kt, flow_gph = self.cruise(level, isa_deviation_c, weight_lb)
        return time_h + 0.0 * tas_kt, time_h * flow_gph * self.descent_fuel_share, time_h * tas_kt

    def takeoff_ft(self, pressure_altitude_ft: npt.ArrayLike, temperature_c: npt.ArrayLike,
                   weight_lb: npt.ArrayLike, headwind_kt: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Return ground roll and distance over 50 ft with the wind note of the table.

        Arguments as for `Performance.takeoff_ft`.
        """
        return self._field(self.takeoff_table, pressure_altitude_ft, temperature_c, weight_lb, headwind_kt)

    def landing_ft(self, pressure_altitude_ft: npt.ArrayLike, temperature_c: npt.ArrayLike,
                   weight_lb: npt.ArrayLike, headwind_kt: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Return ground roll and distance over 50 ft with the notes of the table.

        Arguments as for `Performance.takeoff_ft`.
        """
        return self._field(self.landing_table, pressure_altitude_ft, temperature_c, weight_lb, headwind_kt)

    def _field(self, table: FieldTable, pressure_altitude_ft: npt.ArrayLike, temperature_c: npt.ArrayLike,
               weight_lb: npt.ArrayLike, headwind_kt: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
        given = {"weight_lb": weight_lb, "pressure_altitude_ft": pressure_altitude_ft, "temperature_c": temperature_c}
        axes = table.axes()
        points = [np.maximum(real(given[name]), values[0]) for name, values in axes]
        factor = (wind_factor(table, headwind_kt, self.headwind_credit_max_kt)
                  * _temperature_factor(table, pressure_altitude_ft, temperature_c) + 0.0 * real(weight_lb))
        tables = [table.array(name) for name in ("ground_roll_ft", "over_50ft_ft")]
        roll_ft, over_ft = (values * factor for values in _between_nodes([v for _, v in axes], tables, points))
        return roll_ft, over_ft


def wind_factor(table: FieldTable, headwind_kt: npt.ArrayLike, credit_max_kt: float) -> FloatArray:
    """Return the factor of a table's wind note: a tenth less for so many knots ahead, a tenth more for so many behind.

    NaN beyond the tailwind that the note covers; headwind counts up to `credit_max_kt`.
    """
    wind = real(headwind_kt)
    ahead = 1.0 - 0.1 * np.minimum(wind, credit_max_kt) / table.headwind_for_tenth_less_kt
    behind = 1.0 - 0.1 * wind / table.tailwind_for_tenth_more_kt
    factor = np.where(wind >= 0.0, np.maximum(ahead, 0.1), behind)
    return np.where(wind < -table.tailwind_max_kt, np.nan, factor)


def _temperature_factor(table: FieldTable, pressure_altitude_ft: npt.ArrayLike, temperature_c: npt.ArrayLike,
                        ) -> FloatArray:
    """Return the factor of a note on temperature; a table of standard temperatures without one ends at standard."""
    if table.temperature_c is not None:
        return np.ones(())
    above = np.maximum(isa_deviation_c(pressure_altitude_ft, temperature_c, check=False), 0.0)
    if table.above_standard_for_tenth_more_c is None:
        return np.where(above > 0.5, np.nan, 1.0)
    factor = 1.0 + 0.1 * above / table.above_standard_for_tenth_more_c
    return np.where(above > table.max_above_standard_c, np.nan, factor)


def handbook_from_tables(profile: Profile, assumptions: Assumptions) -> HandbookPerformance:
    """Return the handbook form of a profile that has tables.

    Raises
    ------
    ValidityError   The profile has no tables.
    """
    tables = profile.tables
    if tables is None:
        raise ValidityError(f"{profile.name}: no handbook tables; accepted: a profile with 'tables'")
    power_share = profile.cruise.power_share or assumptions["aircraft.cruise_power_share"]
    tas, flow = _at_power(tables.cruise, power_share)
    return HandbookPerformance(
        tables.cruise, tables.climb, tables.takeoff, tables.landing, power_share, tas, flow,
        tables.climb.speed_cas_kt, assumptions["runway.headwind_credit_max_kt"], assumptions["aircraft.descent_fpm"],
        assumptions["aircraft.descent_fuel_share"], taxi_fuel_gal(profile, assumptions))


def _at_power(table: CruiseTable, power_share: float) -> tuple[FloatArray, FloatArray]:
    """Return airspeed and fuel flow at each level and temperature, at a power or the most that is printed there."""
    shares = np.asarray(table.power_share)
    tas, flow = table.array("tas_kt"), table.array("fuel_flow_gph")
    printed = np.isfinite(tas) & np.isfinite(flow)
    most = np.where(printed, shares, -np.inf).max(axis=-1)
    used = np.where(np.isfinite(most), np.minimum(power_share, most), np.nan)
    result = []
    for grid in (tas, flow):
        cells = [[multilinear((shares,), grid[i, j], (used[i, j],)) for j in range(grid.shape[1])]
                 for i in range(grid.shape[0])]
        result.append(np.array(cells, dtype=float))
    return result[0], result[1]


def _slope(table: ClimbTable, rising: FloatArray) -> FloatArray:
    """Return the slope of levels or distances over time, per minute, at the nodes."""
    minutes = table.array("time_min")
    rows = np.broadcast_to(rising, minutes.shape)
    if minutes.ndim == 1:
        return np.gradient(rows, minutes)
    return np.array([np.gradient(r, m) for r, m in zip(rows, minutes, strict=True)])
