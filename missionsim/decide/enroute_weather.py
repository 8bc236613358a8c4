"""Cloud and storms on the way: levels closed by icing, lines of thunderstorms, detours, wind over ridges.

Cloud and storms along a leg are looked up once per replication, for all candidates, at sample points and air slots; a
candidate then holds its own levels against them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from missionsim.base.arrays import Array, Bits, Bools, Floats, Floats32, Ints, Ints16, Ints32
from missionsim.base.assumptions import Assumptions
from missionsim.base.words import BIT, Reason
from missionsim.decide.candidate_plan import CandidatePlan
from missionsim.flight.batch import AirOnRoutes
from missionsim.physics.atmosphere import standard_temperature_c
from missionsim.world.random_fields.uniforms import Uniforms
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.world.surface.cloud import LayerPlan, icing_draws
from missionsim.world.surface.flight_category import UNLIMITED_FT
from missionsim.world.surface.storms import StormLimits
from missionsim.world.surface.year import SurfaceYear
from missionsim.year.looked_slots import LookedHours

TYPICAL_KT = 140.0
"""Speed at which sample points are passed when looking up cloud; the same for all candidates. [kt]"""
LEVEL_STEP_FT, TOP_BIT = 500.0, 62
"""Cruising levels are multiples of this; cloud at each is one bit of a mask, up to 31,000 ft. [ft]"""


@dataclass(frozen=True, slots=True)
class WayPoints:
    """Sample points along ways: rows of the surface climate [way, k], padded with -1; first and last are the airports.

    A leg has one way, and another for candidates that fly it differently. `hour_i` [way, air slot, k]: hour index
    at which each point is passed; `used`: a point in a slot that the leg's window holds. `asked_place`, `asked_valid`,
    `asked_issued` [n]: what is forecast in every replication: place, hour looked at, hour of looking. `looked`: what is
    looked up at the points used.
    """

    place: Ints
    hour_i: Ints16
    used: Bools
    asked_place: Ints
    asked_valid: Ints
    asked_issued: Ints
    looked: LookedPoints

    @classmethod
    def of(cls, climate: SurfaceClimate, place: Ints, hour_i: Ints, used: Bools, asked: tuple[Ints, Ints, Ints],
           ) -> WayPoints:
        """Return points and what is asked there of the field of ceilings and visibility.

        Parameters
        ----------
        climate : SurfaceClimate
        place : (way, k) int array          Rows of the surface climate, padded with -1.
        hour_i : (way, air slot, k) array   Hour index at which each point is passed.
        used : (way, air slot, k) array     Points in slots that a window holds.
        asked : three (n,) int arrays       Place, hour looked at and hour of looking of forecasts.
        """
        return cls(place, hour_i.astype(np.int16), used, *asked, LookedPoints.of(climate, place, hour_i, used))

    def some(self, climate: SurfaceClimate, ways: Ints, asked: Ints) -> WayPoints:
        """Return some ways and some of the forecasts."""
        return WayPoints.of(climate, self.place[ways], self.hour_i[ways].astype(np.int64), self.used[ways],
                            (self.asked_place[asked], self.asked_valid[asked], self.asked_issued[asked]))


@dataclass(frozen=True, slots=True)
class LookedPoints:
    """Points used, [n], in the order of ways and slots, and the slots that have any, [m].

    `place`, `hour` [n]; `at` [n]: flat place among [m, k]; `slot` [m]: flat place among [way, air slot]; `way` [m].
    `cell` [way, air slot]: row of each slot among the m, m where none is. `points` [way]: points that are none of the
    padding. `layers`, `limits` [n], `icing` [m]: what cloud, storms and ice are looked up with.
    """

    place: Ints
    hour: Ints
    at: Ints32
    slot: Ints
    way: Ints
    cell: Ints32
    points: Ints
    layers: LayerPlan
    limits: StormLimits
    icing: Uniforms

    @classmethod
    def of(cls, climate: SurfaceClimate, place: Ints, hour_i: Ints, used: Bools) -> LookedPoints:
        """Return what is looked up at points; arguments as for `WayPoints.of`."""
        some = used.any(axis=2)
        way, slot = np.nonzero(some)
        cell = np.full(some.shape, len(way), dtype=np.int32)
        cell[way, slot] = np.arange(len(way))
        there = used[way, slot]
        point, hour = np.broadcast_to(place[way], there.shape)[there], hour_i[way, slot][there]
        return cls(point, hour, np.flatnonzero(there).astype(np.int32), way * some.shape[1] + slot, way, cell,
                   (place >= 0).sum(axis=1), LayerPlan.of(climate, point, hour), StormLimits.of(climate, point, hour),
                   icing_draws(climate, place[way, 0], hour_i[way, slot, 0]))


@dataclass(frozen=True, slots=True)
class Enroute:
    """Cloud and storms over ways.

    `base_ft`, `top_ft` of cloud, `coverage` of storms 0 to 1 [m + 1, k]: at the points of the slots looked at, those of
    a way and an air slot in row `cell` [way, air slot]; the last one is clear. `points` [way]: points that are none of
    the padding. `line_share`, `mean_coverage`, `end_coverage` [way, air slot]: share of the points in a line of storms,
    mean of all points, and most at either end. `ices` [way, air slot]: freezing cloud along the leg is believed to ice,
    by one draw for the whole leg, since what makes cloud ice is as wide as the weather system.
    `levels` [way, air slot]: one bit for every 500 ft at which some point is in cloud. `forecasts` [n]: what the
    gates ask for by row.
    """

    base_ft: Floats32
    top_ft: Floats32
    coverage: Floats32
    cell: Ints32
    points: Ints
    line_share: Floats
    mean_coverage: Floats
    end_coverage: Floats32
    ices: Bools
    levels: NDArray[np.uint64]
    forecasts: Floats32


def enroute_of(points: LookedPoints, surface: SurfaceYear, width: int) -> Enroute:
    """Return cloud and storms at all sample points of a replication; clear where not used.

    Parameters
    ----------
    points : LookedPoints
    surface : SurfaceYear
    width : int             How many points a way has at most.
    """
    _, rank, forecasts = surface.looked()
    shape = len(points.way) + 1, width
    base_ft, top_ft = np.full((2, *shape), UNLIMITED_FT, dtype=np.float32)
    every = np.zeros(shape, dtype=np.float32)
    base_ft.reshape(-1)[points.at], top_ft.reshape(-1)[points.at] = surface.clouds.extent_at(points.layers, rank)
    every.reshape(-1)[points.at] = surface.storms.coverage_at(points.limits, surface.storms.storm.read, rank)
    a, count, coverage = surface.climate.assumptions, points.points[points.way], every[:-1]

    def whole(values: Array) -> Array:
        out = np.zeros(points.cell.shape, dtype=values.dtype)
        out.reshape(-1)[points.slot] = values
        return out

    return Enroute(base_ft, top_ft, every, points.cell, points.points,
                   whole((coverage >= a["storms.line_coverage"]).sum(axis=1) / count),
                   whole(coverage.sum(axis=1) / count), whole(np.maximum(coverage[:, 0], coverage[:, -1])),
                   whole(surface.clouds.icing_rank_at(points.icing) < a["icing.believed_share"]),
                   whole(cloud_levels(base_ft[:-1], top_ft[:-1])), forecasts)


def cloud_levels(base_ft: Array, top_ft: Array) -> NDArray[np.uint64]:
    """Return bits for every `LEVEL_STEP_FT` that some point on the last axis has in cloud; no base sets no bit."""
    one = np.uint64(1)
    lowest = np.clip(np.ceil(base_ft / LEVEL_STEP_FT), 0, TOP_BIT).astype(np.uint64)
    highest = np.clip(np.floor(top_ft / LEVEL_STEP_FT), -1, TOP_BIT - 1).astype(np.int64) + 1
    bits = (one << highest.astype(np.uint64)) - one
    bits &= ~((one << lowest) - one)
    return np.asarray(np.bitwise_or.reduce(np.where(base_ft < UNLIMITED_FT, bits, np.uint64(0)), axis=-1))


def icing_levels(plan: CandidatePlan, enroute: Enroute, way: Ints, air: AirOnRoutes) -> Bools:
    """Return levels that ice closes to a candidate, [cell, level]; `way` [leg] is the one each leg flies.

    Cloud at 0 to -20 °C counts as icing where the forecast the pilot decides on has it so. Unprotected, and with
    escape equipment alone: no cruise in it, and a climb or descent through it only where the layer is thin and the
    study allows it. Approved: as long as it may last.

    Parameters
    ----------
    plan : CandidatePlan   Of the candidate.
    enroute : Enroute      Cloud and storms over ways.
    way : (leg,) array     Row of the way each leg flies.
    air : AirOnRoutes      In the candidate's cells.
    """
    a, cells, rows = plan.assumptions, plan.cells, plan.table.rows
    closed = np.zeros(air.isa_deviation_c.shape, dtype=bool)
    at = way.take(cells.leg) * enroute.ices.shape[1] + cells.slot
    clouded = enroute.levels.take(at)
    chosen = np.flatnonzero(enroute.ices.take(at) & (clouded != 0))
    if not len(chosen):
        return closed
    row, cell = cells.row.take(chosen), enroute.cell.take(at.take(chosen))
    levels_ft, deviation_c = np.nan_to_num(rows.levels_ft, nan=0.0), air.isa_deviation_c.take(chosen, axis=0)
    temperature_c = deviation_c + standard_temperature_c(levels_ft, check=False).take(row, axis=0)
    icy = (temperature_c <= a["icing.warmest_c"]) & (temperature_c >= a["icing.coldest_c"])
    if plan.equipment.ice_approved:
        base_ft, top_ft = (limit.take(cell, axis=0)[:, None, :] for limit in (enroute.base_ft, enroute.top_ft))
        level_ft = levels_ft.take(row, axis=0)[:, :, None]
        inside = (level_ft >= base_ft) & (level_ft <= top_ft)
        longest = a["icing.approved_min"] / 60.0 / np.maximum(plan.times.nominal_flight_h[row], 0.1)
        closed[chosen] = icy & (inside.sum(axis=2) > (longest * enroute.points[way[plan.rows.leg[row]]])[:, None])
        return closed
    bit = np.clip(levels_ft / LEVEL_STEP_FT, 0, TOP_BIT).astype(np.uint64).take(row, axis=0)
    shut = icy & (clouded.take(chosen)[:, None] >> bit & np.uint64(1)).astype(bool)
    layer = FreezingLayer.of(deviation_c[:, 0], a)
    thin_ft = a["icing.thin_layer_ft"] if plan.equipment.crosses_thin_ice else 0.0
    for end, field_ft in ((0, rows.from_ft), (-1, rows.to_ft)):
        base_ft, top_ft = (limit[:, end].take(cell) for limit in (enroute.base_ft, enroute.top_ft))
        low_ft, high_ft = layer.cloud_ft(base_ft, top_ft, field_ft.take(row))
        # Few layers are thick: for those alone it is looked at how far into them a level leads.
        thick = np.flatnonzero(high_ft - low_ft > thin_ft)
        crossed_ft = np.minimum(high_ft.take(thick)[:, None], levels_ft.take(row.take(thick), axis=0))
        shut[thick] |= crossed_ft - low_ft.take(thick)[:, None] > thin_ft
    closed[chosen] = shut
    return closed


@dataclass(frozen=True, slots=True)
class FreezingLayer:
    """Heights between which cloud ices, by the deviation at the lowest level looked at: two degrees per thousand feet.

    `warm_ft`, `cold_ft` [n]: where the air is as warm and as cold as it may be.
    """

    warm_ft: Array
    cold_ft: Array

    @classmethod
    def of(cls, deviation_c: Array, a: Assumptions) -> FreezingLayer:
        """Return the layer in air that is so much warmer than standard, [n]."""
        return cls((15.0 + deviation_c - a["icing.warmest_c"]) / 1.98 * 1000.0,
                   (15.0 + deviation_c - a["icing.coldest_c"]) / 1.98 * 1000.0)

    def cloud_ft(self, base_ft: Array, top_ft: Array, field_ft: Array) -> tuple[Array, Array]:
        """Return lowest and highest icing cloud over fields, [n]; none where the former is above the latter."""
        return np.maximum(np.maximum(base_ft, field_ft), self.warm_ft), np.minimum(top_ft, self.cold_ft)


def storm_bits(plan: CandidatePlan, enroute: Enroute, way: Ints, hours: LookedHours) -> tuple[Bits, Array]:
    """Return the thunderstorm bit and the share of way added by detours, [block looked at].

    A line over most of the way, or storms at either end, mean waiting; isolated cells are flown around, visually or
    with a picture on board, more widely without one.

    Parameters
    ----------
    plan : CandidatePlan   Of the candidate.
    enroute : Enroute      Cloud and storms over ways.
    way : (leg,) array     Row of the way each leg flies.
    hours : LookedHours
    """
    a = plan.assumptions
    limit = a["storms.line_share_with_picture"] if plan.equipment.weather_on_board else a["storms.line_share"]
    at = way.take(hours.leg) * enroute.line_share.shape[1] + hours.air
    stop = (enroute.line_share.take(at) >= limit) | (enroute.end_coverage.take(at) >= a["storms.end_coverage"])
    mean, (least, most) = enroute.mean_coverage.take(at), a["storms.detour_share"]
    detour, some = np.zeros(len(at)), np.flatnonzero(mean > a["storms.no_detour_coverage"])
    detour[some] = np.clip(least + mean.take(some) / a["storms.line_coverage"] * (most - least), least, most)
    return np.where(stop, np.uint32(BIT[Reason.THUNDERSTORM]), np.uint32(0)), detour


def ridge_bits(plan: CandidatePlan, air: AirOnRoutes) -> Bits:
    """Return the turbulence bit, [cell].

    It is set where there is too much wind at the lowest clear level over high mountains.
    An aircraft that can cruise well above the ridges accepts more wind over them.
    """
    a, rows = plan.assumptions, plan.table.rows
    cells = plan.cells
    high = np.flatnonzero(rows.mountainous & (rows.lowest_ft >= a["flight.ridge_from_ft"]))
    if not len(high):
        return np.zeros(len(cells.row), dtype=np.uint32)
    usable = plan.table.usable[high] & plan.level_limits.oxygen[high]
    top_ft = np.where(usable, rows.levels_ft[high], -np.inf).max(axis=1)
    above = top_ft >= rows.lowest_ft[high] + a["flight.well_above_ridge_ft"]
    limit_kt = np.full(len(rows.lowest_ft), np.inf)
    limit_kt[high] = np.where(above, a["flight.ridge_wind_well_above_kt"], a["flight.ridge_wind_kt"])
    wind_kt = a["flight.ridge_wind_share"] * np.hypot(air.headwind_kt[:, 0], air.crosswind_kt[:, 0])
    return np.where(wind_kt > limit_kt[cells.row], np.uint32(BIT[Reason.TURBULENCE]), np.uint32(0))
