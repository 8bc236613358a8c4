"""What ceilings and visibility let a candidate do: departure, forecast at arrival, alternates, the visual way.

The pilot decides on the forecast an hour before departure. What happens at arrival is the same field looked at later, so
that a chance of one in five comes true one time in five.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from missionsim.base.normal import normal_cdf, normal_quantile
from missionsim.base.words import BIT, Reason
from missionsim.flight.minima import Minima, alternate_minimum
from missionsim.world.surface_climate import SurfaceClimate
from missionsim.world.surface_year import SurfaceYear
from missionsim.year.book import TripBook

Array = NDArray[Any]
Bits = NDArray[np.uint32]
FIRST_HOUR = 72
"""Hour index of the surface weather at the start of the year."""
LOOK_BEFORE_H = 1
"""The last look at the forecast is so long before departure. [h]"""
LOOK_AHEAD_H = 12
"""Whether to leave early is thought about so long before the planned hour. [h]"""
NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(9)


@dataclass(frozen=True, slots=True)
class GatePlan:
    """Thresholds and indices of one candidate that no replication changes.

    Thresholds are latent values by place, month and block, as `SurfaceClimate.thresholds` gives them. `departure_i`,
    `arrival_i` [leg, slot] are hour indices. `alternates` [place, k] are rows of places, padded with -1, nearest first,
    `alternate_h`, `alternate_gal` time and fuel to each. `samples` [leg, k] are rows of the climate along the way,
    padded with -1; `visual_leg` [leg] tells which legs need visual weather all the way; `sample_i` [leg, slot, k].
    """

    takeoff: Array
    landing: Array
    no_alternate: Array
    as_alternate: Array
    route: Array
    approach: NDArray[np.bool_]
    instrument: bool
    departure_i: NDArray[np.int64]
    arrival_i: NDArray[np.int64]
    alternates: NDArray[np.int64]
    alternate_h: Array
    alternate_gal: Array
    samples: NDArray[np.int64]
    sample_share: Array
    visual_leg: NDArray[np.bool_]
    landing_minima: Minima
    takeoff_minimum: tuple[float, float]
    risk_destination: float
    risk_both: float
    risk_visual: float
    route_correlation: float


def thresholds_for(climate: SurfaceClimate, minima: Minima, takeoff: tuple[float, float],
                   route_minimum: tuple[float, float], places: int) -> dict[str, Array]:
    """Return the thresholds of a candidate by name of `GatePlan`; rows beyond `places` are samples along the way."""
    extra = len(climate.names) - places
    ceiling_ft = np.concatenate([minima.ceiling_ft, np.full(extra, route_minimum[0])])
    visibility_sm = np.concatenate([minima.visibility_sm, np.full(extra, route_minimum[1])])
    alternate_ft, alternate_sm = alternate_minimum(minima.precision, minima.approach)
    return {
        "takeoff": climate.thresholds(*takeoff),
        "landing": climate.thresholds(ceiling_ft, visibility_sm),
        "no_alternate": climate.thresholds(2000.0, 3.0),
        "as_alternate": climate.thresholds(np.concatenate([alternate_ft, np.full(extra, 3000.0)]),
                                           np.concatenate([alternate_sm, np.full(extra, 5.0)])),
        "route": climate.thresholds(*route_minimum),
    }


@dataclass(frozen=True, slots=True)
class CeilingView:
    """What ceilings and visibility say, arrays [leg, slot]; names as in `LegWeather`."""

    reasons: Bits
    below: NDArray[np.bool_]
    diversion_place: NDArray[np.int64]
    closes_h: Array
    alternate_gal: Array
    bad_ahead: NDArray[np.bool_]


def look(gates: GatePlan, book: TripBook, surface: SurfaceYear) -> CeilingView:
    """Return what ceilings and visibility say about every leg and slot of a replication."""
    from_place, to_place = book.from_place[:, None], book.to_place[:, None]
    leave, arrive = gates.departure_i, gates.arrival_i
    issued = leave - LOOK_BEFORE_H
    shut = surface.below(gates.takeoff, from_place, leave)
    miss = surface.chance_below(gates.landing, to_place, arrive, issued)
    blocked = miss >= (gates.risk_destination if gates.instrument else gates.risk_visual)
    alternate_gal = np.zeros(leave.shape)
    if gates.instrument:
        stuck = _alternates(gates, book, surface, miss, issued, alternate_gal)
        blocked = blocked | stuck
    on_the_way = _visual_way(gates, surface, leave, issued) >= gates.risk_visual if gates.visual_leg.any() else None
    reasons = np.zeros(leave.shape, dtype=np.uint32)
    _mark(reasons, shut, surface, from_place, leave, gates.takeoff_minimum)
    ceiling_ft = gates.landing_minima.ceiling_ft
    _mark(reasons, blocked, surface, to_place, arrive, (ceiling_ft[book.to_place][:, None], 0.0))
    if on_the_way is not None:
        reasons |= np.where(on_the_way, np.uint32(BIT[Reason.CEILING]), np.uint32(0))
    below = surface.below(gates.landing, to_place, arrive) & (reasons == 0)
    diversion, closes_h = _diversions(gates, book, surface, below)
    return CeilingView(reasons, below, diversion, closes_h, alternate_gal, _bad_ahead(gates, book, surface))


def _mark(reasons: Bits, where: NDArray[np.bool_], surface: SurfaceYear, place: Array, hour: Array,
          minimum: tuple[Any, Any]) -> None:
    """Set the bit of ceiling or of visibility, whichever is the one that is short."""
    leg, slot = np.nonzero(where)
    if not len(leg):
        return
    ceiling_ft = surface.ceiling_ft(np.broadcast_to(place, where.shape)[leg, slot], hour[leg, slot])
    short = ceiling_ft < np.broadcast_to(minimum[0], where.shape)[leg, slot]
    # A forecast below minima under a ceiling that turned out high enough was a forecast of poor visibility or wrong.
    sight = surface.visibility_sm(np.broadcast_to(place, where.shape)[leg, slot], hour[leg, slot])
    reasons[leg, slot] |= np.where(short | (sight > 5.0), np.uint32(BIT[Reason.CEILING]),
                                   np.uint32(BIT[Reason.VISIBILITY]))


def _alternates(gates: GatePlan, book: TripBook, surface: SurfaceYear, miss: Array, issued: Array,
                alternate_gal: Array) -> NDArray[np.bool_]:
    """Fill in the fuel to an alternate where one is required; return where none is good enough.

    References
    ----------
    .. [1] 14 CFR 91.169: required unless 2,000 ft and 3 sm are forecast; the alternate's own forecast minimum.
    """
    to_place = np.broadcast_to(book.to_place[:, None], miss.shape)
    poor = surface.chance_below(gates.no_alternate, to_place, gates.arrival_i, issued) >= 0.5
    leg, slot = np.nonzero((poor | ~gates.approach[to_place]) & (miss < gates.risk_destination))
    stuck = np.zeros(miss.shape, dtype=bool)
    if not len(leg):
        return stuck
    place, arrive, known = to_place[leg, slot], gates.arrival_i[leg, slot], issued[leg, slot]
    found = np.zeros(len(leg), dtype=bool)
    gallons = np.zeros(len(leg))
    for k in range(gates.alternates.shape[1]):
        open_ = np.flatnonzero(~found & (gates.alternates[place, k] >= 0))
        if not len(open_):
            continue
        alternate = gates.alternates[place[open_], k]
        valid = arrive[open_] + np.rint(gates.alternate_h[place[open_], k]).astype(np.int64)
        good = surface.chance_below(gates.as_alternate, alternate, valid, known[open_]) < 0.5
        own = surface.chance_below(gates.landing, alternate, valid, known[open_])
        both = np.minimum(miss[leg[open_], slot[open_]], _given_miss(own)) * _given_miss(own)
        good &= both < gates.risk_both
        hit = open_[good]
        found[hit] = True
        gallons[hit] = gates.alternate_gal[place[hit], k]
    stuck[leg, slot] = ~found
    alternate_gal[leg, slot] = gallons
    return stuck


def _given_miss(chance: Array) -> Array:
    """Return the chance that the alternate is below too when the destination is, errors of one forecast being alike."""
    return np.minimum(1.0, 2.0 * chance)


def _visual_way(gates: GatePlan, surface: SurfaceYear, leave: Array, issued: Array) -> Array:
    """Return the chance that any sample along the way is below the visual minimum, [leg, slot].

    Forecast errors of samples share one part; the rest are independent (one-factor normal, Gauss-Hermite sums).
    """
    legs = np.flatnonzero(gates.visual_leg)
    out = np.zeros(leave.shape)
    samples = gates.samples[legs]
    there = samples >= 0
    hour = leave[legs][:, :, None] + np.rint(gates.sample_share[legs][:, None, :] * (
        gates.arrival_i[legs] - leave[legs])[:, :, None]).astype(np.int64)
    place = np.broadcast_to(np.maximum(samples, 0)[:, None, :], hour.shape)
    chance = surface.chance_below(gates.route, place, hour, np.broadcast_to(issued[legs][:, :, None], hour.shape))
    chance = np.where(there[:, None, :], chance, 0.0)
    out[legs] = any_of(chance, gates.route_correlation)
    return out


def any_of(chance: Array, correlation: float) -> Array:
    """Return the chance that at least one of several alike events happens, from the chance of each on the last axis."""
    worst, total = chance.max(axis=-1), np.minimum(chance.sum(axis=-1), 1.0)
    if correlation >= 1.0:
        return worst
    limit = normal_quantile(np.clip(chance, 1e-9, 1 - 1e-9))
    none = np.zeros(worst.shape)
    for node, weight in zip(NODES, WEIGHTS / WEIGHTS.sum(), strict=True):
        given = normal_cdf((limit + np.sqrt(correlation) * node) / np.sqrt(1.0 - correlation))
        none += weight * np.prod(1.0 - given, axis=-1)
    return np.clip(1.0 - none, worst, total)


def _diversions(gates: GatePlan, book: TripBook, surface: SurfaceYear, below: NDArray[np.bool_],
                ) -> tuple[NDArray[np.int64], Array]:
    """Return the alternate gone to and the hours until the destination opens, where the arrival is below minima."""
    diversion = np.broadcast_to(book.to_place[:, None], below.shape).copy()
    closes_h = np.zeros(below.shape)
    leg, slot = np.nonzero(below)
    if not len(leg):
        return diversion, closes_h
    place, arrive = book.to_place[leg], gates.arrival_i[leg, slot]
    ahead = np.minimum(arrive[:, None] + np.arange(1, 13), surface.field.values.shape[1] - 1)
    shut = surface.below(gates.landing, place[:, None], ahead)
    closes_h[leg, slot] = np.where(shut.all(axis=1), 99.0, 1.0 + np.argmin(shut, axis=1))
    chosen = np.full(len(leg), -1)
    for k in range(gates.alternates.shape[1]):
        alternate = gates.alternates[place, k]
        usable = (chosen < 0) & (alternate >= 0)
        usable[usable] = ~surface.below(gates.landing, alternate[usable], arrive[usable])
        chosen = np.where(usable, alternate, chosen)
    # With everything near below minima the pilot goes back to where the weather was good enough to leave.
    diversion[leg, slot] = np.where(chosen < 0, book.from_place[leg], chosen)
    return diversion, closes_h


def _bad_ahead(gates: GatePlan, book: TripBook, surface: SurfaceYear) -> NDArray[np.bool_]:
    """Return whether the planned hour looks bad half a day before."""
    leg = np.arange(len(book.trip))
    leave, arrive = gates.departure_i[leg, book.planned_slot], gates.arrival_i[leg, book.planned_slot]
    issued = np.maximum(leave - LOOK_AHEAD_H, 0)
    risk = gates.risk_destination if gates.instrument else gates.risk_visual
    bad = surface.chance_below(gates.landing, book.to_place, arrive, issued) >= risk
    return bad | (surface.chance_below(gates.takeoff, book.from_place, leave, issued) >= 0.5)
