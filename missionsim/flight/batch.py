"""Plans for batches of flights: the best level of each row and time slot, with a bit for every obstacle."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, fields, replace

import numpy as np

from missionsim.base.arrays import Array, Bits, Bools, Indices, Ints, Ints32
from missionsim.base.axes import APART, axis
from missionsim.base.memory import let_go
from missionsim.base.short_rows import any_in_row, least_in_row
from missionsim.base.words import BIT, Reason
from missionsim.flight.segments import FlownLeg, with_wind
from missionsim.flight.table import FlightTable, interpolated_at

MANY_CELLS = 20_000
"""Plans made at once: what is worked out on the way takes many times the room of what is kept."""


@dataclass(frozen=True, slots=True)
class AirOnRoutes:
    """Air met by rows at slots of three hours.

    `headwind_kt`, `crosswind_kt`, `isa_deviation_c`: [row, slot, level]. Winds near the fields, `low_headwind_kt` and
    `low_crosswind_kt`: [row, slot].
    """

    headwind_kt: Array
    crosswind_kt: Array
    isa_deviation_c: Array
    low_headwind_kt: Array
    low_crosswind_kt: Array

    def mapped(self, change: Callable[[Array], Array]) -> AirOnRoutes:
        """Return the air with every array changed alike."""
        return AirOnRoutes(*(change(getattr(self, part.name)) for part in fields(self)))

    def of(self, some: Ints) -> AirOnRoutes:
        """Return the air of some entries along the first axis."""
        return self.mapped(lambda values: values.take(some, axis=0))

    def at(self, row: Ints, slot: Ints) -> AirOnRoutes:
        """Return the air of some rows and slots, one entry a pair: arrays [n, level], the low winds [n]."""
        at = row * self.low_headwind_kt.shape[1] + slot
        return self.mapped(lambda values: values.reshape(-1, *values.shape[2:]).take(at, axis=0))


@dataclass(frozen=True, slots=True)
class PackedAir:
    """Air met by rows at slots of three hours of which most are never asked for.

    `air`: arrays [cell, level], the low winds [cell]. `cell` [row, slot]: where the air of each stands; the last is
    calm standard air, for what nobody asks for.
    """

    air: AirOnRoutes
    cell: Ints32

    @property
    def slots(self) -> int:
        """Slots of every row."""
        return self.cell.shape[1]

    def at(self, row: Ints, slot: Ints) -> AirOnRoutes:
        """Return the air of some rows and slots, one entry a pair: arrays [n, level], the low winds [n]."""
        at = self.cell.reshape(-1).take(row * self.slots + slot).astype(np.int64)
        return self.air.mapped(lambda values: values.take(at, axis=0))

    def whole(self) -> AirOnRoutes:
        """Return the air of every row and slot."""
        return self.air.mapped(lambda values: values[self.cell])


@dataclass(frozen=True, slots=True)
class LevelLimits:
    """Which levels rows may use before any weather: arrays [row, level] of bool, and the least climb rate [row].

    `beyond_land_nm` [row, level]: how much is beyond gliding distance of land, which the pilot accepts up to
    `most_beyond_nm`; None where there is no limit.
    `spare_share`: of these the lowest that is no more than this worse than the best is flown.
    A climb rate short of the least by no more than `tolerance_share` of it is marginal: flown where no other level is.
    """

    clears_terrain: Bools = axis("row")
    oxygen: Bools = axis("row")
    least_climb_fpm: Array = axis("row")
    spare_share: float = axis(APART, default=0.0)
    tolerance_share: float = axis(APART, default=0.0)
    beyond_land_nm: Array | None = axis("row", default=None)
    most_beyond_nm: float = axis(APART, default=math.inf)

    @property
    def open_(self) -> Bools:
        """Levels that nothing here closes, [row, level]."""
        found = self.clears_terrain & self.oxygen
        return found if self.beyond_land_nm is None else found & ~(self.beyond_land_nm > self.most_beyond_nm)

    def below(self, levels_ft: Array, highest_ft: float) -> LevelLimits:
        """Return them with no level above a height."""
        return replace(self, oxygen=self.oxygen & ~(levels_ft > highest_ft))


@dataclass(frozen=True, slots=True)
class Plans:
    """Best plan of each row and slot, arrays [row, slot].

    Where `reasons` is not zero the figures are those of the lowest level, zero where that cannot be flown either.
    `marginal`: the climb rate at the level is short of the pilot's own least one, within the tolerance.
    """

    level: Indices
    level_ft: Array
    flight_h: Array
    fuel_gal: Array
    tas_kt: Array
    groundspeed_kt: Array
    headwind_kt: Array
    reasons: Bits
    marginal: Bools


def plan_rows(table: FlightTable, air: AirOnRoutes, limits: LevelLimits, weight_difference_lb: Array,
              fuel_weight_h_per_gal: float = 0.0, blocked: Bools | None = None) -> Plans:
    """Return the level flown, time and fuel of every row and slot: the best level, or a lower one nearly as good.

    Parameters
    ----------
    table, air, limits            What the aircraft can do, the air and the static limits.
    weight_difference_lb : (row,) Take-off weight less the table's nominal one.
    fuel_weight_h_per_gal         0 plans by least time; otherwise a gallon counts as this many hours (least cost).
    blocked : (row, slot, level)  Levels that ice closes.

    Returns
    -------
    Plans   Where no level works `reasons` says why: `oxygen` and `terrain` when only those levels are missing,
            `climb` when the aircraft cannot reach them, `range` when the wind stops it, else `icing`.
    """
    rows, slots = air.low_headwind_kt.shape
    row = np.repeat(np.arange(rows), slots)
    plans = plan_cells(table, row, _flat(air), limits, weight_difference_lb, fuel_weight_h_per_gal,
                       None if blocked is None else blocked.reshape(rows * slots, blocked.shape[-1]))
    return Plans(**{f.name: getattr(plans, f.name).reshape(rows, slots) for f in fields(Plans)})


def _flat(air: AirOnRoutes) -> AirOnRoutes:
    return air.mapped(lambda values: values.reshape(-1, *values.shape[2:]))


def plan_cells(table: FlightTable, row: Ints, air: AirOnRoutes, limits: LevelLimits,
               weight_difference_lb: Array, fuel_weight_h_per_gal: float = 0.0,
               blocked: Bools | None = None) -> Plans:
    """Return the best plans of chosen rows, each in the air of its own entry; as `plan_rows` with one axis less.

    Parameters
    ----------
    row : (n,) array              Row of the table of each entry.
    air : AirOnRoutes             Arrays [n, level], the low winds [n].
    blocked : (n, level) array    Levels that ice closes.
    """
    if len(row) <= MANY_CELLS:
        return _plan_some(table, row, air, limits, weight_difference_lb, fuel_weight_h_per_gal, blocked)
    parts = []
    for first in range(0, len(row), MANY_CELLS):
        some = np.arange(first, min(first + MANY_CELLS, len(row)))
        parts.append(_plan_some(table, row[some], air.of(some), limits, weight_difference_lb, fuel_weight_h_per_gal,
                                None if blocked is None else blocked[some]))
        let_go()
    return Plans(*(np.concatenate([getattr(part, f.name) for part in parts]) for f in fields(Plans)))


def _plan_some(table: FlightTable, row: Ints, air: AirOnRoutes, limits: LevelLimits, weight_difference_lb: Array,
               fuel_weight_h_per_gal: float, blocked: Bools | None) -> Plans:
    deviation_c = air.isa_deviation_c
    parts = interpolated_at(table, row, deviation_c, weight_difference_lb.astype(np.float32))
    distance_nm = table.rows.distance_nm.astype(np.float32).take(row)[:, None]
    flown = with_wind(parts, distance_nm, air.headwind_kt, air.crosswind_kt, air.low_headwind_kt[:, None],
                      air.low_crosswind_kt[:, None], table.least_descent_share)
    within = (deviation_c >= table.coldest_c.take(row, axis=0)) & (deviation_c <= table.warmest_c.take(row, axis=0))
    within &= table.usable.take(row, axis=0)
    climbs = within & (parts.climb_rate_fpm >= limits.least_climb_fpm.take(row)[:, None])
    good = flown.possible & climbs & limits.open_.take(row, axis=0)
    open_air = good if blocked is None else good & ~blocked
    score = flown.flight_h if fuel_weight_h_per_gal == 0.0 else flown.flight_h + fuel_weight_h_per_gal * flown.fuel_gal
    score = np.where(open_air, score, np.float32(1e9))
    # Levels ascend: the first one good enough is the lowest.
    level = np.argmax(score <= (least_in_row(score) * np.float32(1.0 + limits.spare_share))[:, None], axis=1)
    at = np.arange(len(level)) * open_air.shape[1] + level
    # The best level is open where any is.
    stuck = np.flatnonzero(~open_air.reshape(-1).take(at))
    marginal = np.zeros(len(level), dtype=bool)
    if limits.tolerance_share > 0.0 and len(stuck):
        found = _marginal_level(flown, parts.climb_rate_fpm, limits, row, stuck, within, blocked)
        marginal[stuck] = found >= 0
        level[stuck] = np.where(found >= 0, found, level[stuck])
        at[stuck] = stuck * open_air.shape[1] + level[stuck]
        stuck = stuck[found < 0]
    reasons = _reasons(flown, climbs, limits, row, good, stuck)
    return _picked(table, row, flown, parts.tas_kt, air.headwind_kt, level, at, reasons, marginal)


def _marginal_level(flown: FlownLeg, climb_rate_fpm: Array, limits: LevelLimits,
                    row: Ints, stuck: Indices, within: Bools,
                    blocked: Bools | None) -> Indices:
    """Return the level with the least time that some rows reach within the tolerance of their climb, -1 for none."""
    least = (limits.least_climb_fpm.take(row[stuck]) * np.float32(1.0 - limits.tolerance_share))[:, None]
    open_ = (flown.possible & within).take(stuck, axis=0) & (climb_rate_fpm.take(stuck, axis=0) >= least)
    open_ &= limits.open_.take(row[stuck], axis=0)
    if blocked is not None:
        open_ &= ~blocked.take(stuck, axis=0)
    quickest = np.argmin(np.where(open_, flown.flight_h.take(stuck, axis=0), np.float32(np.inf)), axis=1)
    return np.where(any_in_row(open_), quickest, -1)


def _reasons(flown: FlownLeg, climbs: Bools, limits: LevelLimits, row: Ints,
             good: Bools, stuck: Indices) -> Bits:
    reasons = np.zeros(len(row), dtype=np.uint32)
    if not len(stuck):
        return reasons
    clear = limits.clears_terrain.take(row[stuck], axis=0)
    good, climbs, possible = (values.take(stuck, axis=0) for values in (good, climbs, flown.possible))
    found = np.full(len(stuck), BIT[Reason.CLIMB])
    # What is asked last goes before what was asked first.
    for there, reason in ((climbs & clear, Reason.RANGE), (possible & climbs & clear, Reason.OXYGEN)):
        found[any_in_row(there)] = BIT[reason]
    if limits.beyond_land_nm is not None:
        breathable = possible & climbs & clear & limits.oxygen.take(row[stuck], axis=0)
        found[any_in_row(breathable)] = BIT[Reason.OPEN_WATER]
    found[~any_in_row(clear)] = BIT[Reason.TERRAIN]
    found[any_in_row(good)] = BIT[Reason.ICING]
    reasons[stuck] = found
    return reasons


def _picked(table: FlightTable, row: Ints, flown: FlownLeg, tas_kt: Array, headwind_kt: Array,
            level: Indices, at: Indices, reasons: Bits,
            marginal: Bools) -> Plans:
    def picked(values: Array) -> Array:
        return np.ascontiguousarray(values).reshape(-1).take(at)

    def possible(values: Array) -> Array:
        return np.where(picked(flown.possible), picked(values), np.zeros((), dtype=values.dtype))

    level_ft = table.rows.levels_ft.reshape(-1).take(row * headwind_kt.shape[1] + level)
    return Plans(level, level_ft, possible(flown.flight_h), possible(flown.fuel_gal), picked(tas_kt),
                 possible(flown.groundspeed_kt), picked(headwind_kt), reasons, marginal)
