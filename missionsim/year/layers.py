"""Cloud and storms on the way: levels closed by icing, lines of thunderstorms, detours, wind over ridges.

Cloud and storms along a leg are looked up once per replication, for all candidates, at sample points and air slots; a
candidate then holds its own levels against them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from missionsim.base.assumptions import Assumptions
from missionsim.base.words import BIT, Reason
from missionsim.flight.batch import AirOnRoutes
from missionsim.physics.atmosphere import standard_temperature_c
from missionsim.world.flight_category import UNLIMITED_FT
from missionsim.world.surface_year import SurfaceYear
from missionsim.year.book import AIR_SLOTS, TripBook
from missionsim.year.candidate import CandidatePlan

Array = NDArray[Any]
Bits = NDArray[np.uint32]
TYPICAL_KT = 140.0
"""Speed at which sample points are passed when looking up cloud; the same for all candidates. [kt]"""


@dataclass(frozen=True, slots=True)
class WayPoints:
    """Sample points of legs: rows of the surface climate [leg, k], padded with -1; first and last are the airports.

    `hour_i` [leg, air slot, k]: hour index at which each is passed.
    """

    place: NDArray[np.int64]
    hour_i: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Aloft:
    """Cloud and storms over legs, arrays [leg, air slot, k]; `coverage` of storms 0 to 1.

    `ices` [leg, air slot]: freezing cloud along the leg is believed to ice, by one draw for the whole leg, since what
    makes cloud ice is as wide as the weather system.
    """

    base_ft: Array
    top_ft: Array
    coverage: Array
    ices: NDArray[np.bool_]


def aloft(points: WayPoints, surface: SurfaceYear) -> Aloft:
    """Return cloud and storms at all sample points of a replication; clear where padded."""
    there = np.broadcast_to((points.place >= 0)[:, None, :], points.hour_i.shape)
    place = np.broadcast_to(np.maximum(points.place, 0)[:, None, :], points.hour_i.shape)[there]
    hour = points.hour_i[there]
    layer = surface.clouds.layer(place, hour)
    base_ft, top_ft = np.full(there.shape, UNLIMITED_FT, np.float32), np.full(there.shape, UNLIMITED_FT, np.float32)
    coverage = np.zeros(there.shape, np.float32)
    base_ft[there], top_ft[there] = layer.base_msl_ft, layer.top_msl_ft
    coverage[there] = surface.storms.coverage(place, hour)
    share = surface.climate.assumptions["icing.believed_share"]
    start = np.broadcast_to(points.place[:, :1], points.hour_i.shape[:2])
    ices = surface.clouds.icing_rank(start, points.hour_i[:, :, 0]) < share
    return Aloft(base_ft, top_ft, coverage, np.asarray(ices))


def icing_levels(plan: CandidatePlan, over: Aloft, air: AirOnRoutes) -> NDArray[np.bool_]:
    """Return levels that ice closes to a candidate, [row, air slot, level].

    Cloud at 0 to -20 °C counts as icing where the forecast the pilot decides on has it so. Unprotected, and with
    escape equipment alone: no cruise in it, and a climb or descent through it only where the layer is thin and the
    study allows it. Approved: as long as it may last.
    """
    a = plan.assumptions
    leg = plan.rows.leg
    levels_ft = np.nan_to_num(plan.table.rows.levels_ft, nan=0.0).astype(np.float32)
    standard_c = standard_temperature_c(levels_ft, check=False).astype(np.float32)
    temperature_c = air.isa_deviation_c + standard_c[:, None, :]
    warm, cold = a["icing.warmest_c"], a["icing.coldest_c"]
    icy = (temperature_c <= warm) & (temperature_c >= cold)
    base_ft, top_ft = over.base_ft[leg], over.top_ft[leg]
    closed = np.zeros(icy.shape, dtype=bool)
    share = np.zeros(icy.shape, dtype=np.float32)
    points = np.maximum((base_ft[:, :1, :] >= 0).sum(axis=2), 1)
    for k in range(base_ft.shape[2]):
        inside = (levels_ft[:, None, :] >= base_ft[:, :, k, None]) & (levels_ft[:, None, :] <= top_ft[:, :, k, None])
        share += inside & icy
    if plan.ice_approved:
        longest = a["icing.approved_min"] / 60.0 / np.maximum(plan.nominal_flight_h, 0.1)
        return (share / points[:, :, None] > longest[:, None, None]) & over.ices[leg][:, :, None]
    closed |= share > 0
    for end in (0, -1):
        closed |= _thick_layer(plan, base_ft[:, :, end], top_ft[:, :, end], levels_ft, air, end)
    return closed & over.ices[leg][:, :, None]


def _thick_layer(plan: CandidatePlan, base_ft: Array, top_ft: Array, levels_ft: Array, air: AirOnRoutes, end: int,
                 ) -> NDArray[np.bool_]:
    """Return whether getting to or from a level crosses more freezing cloud than a thin layer."""
    a = plan.assumptions
    field_ft = (plan.table.rows.from_ft if end == 0 else plan.table.rows.to_ft).astype(np.float32)
    # Freezing level from the deviation at the lowest level looked at: two degrees per thousand feet below it.
    deviation_c = air.isa_deviation_c[:, :, 0]
    freezing_ft = (15.0 + deviation_c - a["icing.warmest_c"]) / 1.98 * 1000.0
    coldest_ft = (15.0 + deviation_c - a["icing.coldest_c"]) / 1.98 * 1000.0
    low = np.maximum(np.maximum(base_ft, field_ft[:, None]), freezing_ft)[:, :, None]
    high = np.minimum(np.minimum(top_ft, coldest_ft)[:, :, None], levels_ft[:, None, :])
    thin_ft = a["icing.thin_layer_ft"] if plan.crosses_thin_ice else 0.0
    return np.asarray(high - low > thin_ft)


def storm_bits(plan: CandidatePlan, over: Aloft, book: TripBook) -> tuple[Bits, Array]:
    """Return the thunderstorm bit and the share of way added by detours, by leg and departure slot.

    A line over most of the way, or storms at either end, mean waiting; isolated cells are flown around, by sight or
    with a picture on board, more widely without one.
    """
    a = plan.assumptions
    there = over.base_ft >= 0
    points = there.sum(axis=2)
    covered = over.coverage >= a["storms.line_coverage"]
    share = covered.sum(axis=2) / points
    limit = a["storms.line_share_with_picture"] if plan.weather_on_board else a["storms.line_share"]
    at_ends = np.maximum(over.coverage[:, :, 0], over.coverage[:, :, -1]) >= a["storms.end_coverage"]
    stop = (share >= limit) | at_ends
    mean = over.coverage.sum(axis=2) / points
    least, most = a["storms.detour_share"]
    detour = np.where(mean > a["storms.no_detour_coverage"],
                      np.clip(least + mean / a["storms.line_coverage"] * (most - least), least, most), 0.0)
    bits = np.where(stop, np.uint32(BIT[Reason.THUNDERSTORM]), np.uint32(0))
    return _hourly(bits, book.slots), _hourly(detour, book.slots)


def ridge_bits(plan: CandidatePlan, air: AirOnRoutes, book: TripBook) -> Bits:
    """Return the turbulence bit by leg and slot: too much wind at the lowest clear level over high mountains.

    An aircraft that can cruise well above the ridges accepts more wind over them.
    """
    a, rows = plan.assumptions, plan.table.rows
    bits = np.zeros((len(book.trip), book.slots), dtype=np.uint32)
    high = np.flatnonzero(rows.mountainous & (rows.lowest_ft >= a["flight.ridge_from_ft"]))
    if not len(high):
        return bits
    usable = plan.table.usable[high] & plan.level_limits.oxygen[high]
    top_ft = np.where(usable, rows.levels_ft[high], -np.inf).max(axis=1)
    above = top_ft >= rows.lowest_ft[high] + a["flight.well_above_ridge_ft"]
    limit_kt = np.where(above, a["flight.ridge_wind_well_above_kt"], a["flight.ridge_wind_kt"])
    wind_kt = a["flight.ridge_wind_share"] * np.hypot(air.headwind_kt[high, :, 0], air.crosswind_kt[high, :, 0])
    strong = np.where(wind_kt > limit_kt[:, None], np.uint32(BIT[Reason.TURBULENCE]), np.uint32(0))
    np.bitwise_or.at(bits, plan.rows.leg[high], _hourly(strong, book.slots))
    return bits


def _hourly(values: Array, slots: int) -> Array:
    return np.repeat(values, AIR_SLOTS, axis=1)[:, :slots]
