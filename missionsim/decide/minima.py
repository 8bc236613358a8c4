"""What ceilings and visibility let a candidate do: departure, forecast at arrival, alternates, the visual way.

The pilot decides on the forecast an hour before departure. What happens at arrival is the same field looked at later,
so that a chance of one in five comes true one time in five.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array, Bits, Bools, Floats32, Ints, Ints32
from missionsim.base.assumptions import Assumptions
from missionsim.base.normal import normal_cdf, normal_quantile
from missionsim.base.words import BIT, Reason
from missionsim.decide.gate_stack import GateStack, RouteStack
from missionsim.flight.minima import Minima, alternate_minimum
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.world.surface.year import SurfaceYear

LOOK_BEFORE_H = 1
"""The last look at the forecast is so long before departure. [h]"""
LEAST_SD = 1e-4
LOOK_AHEAD_H = 12
"""Whether to leave early is thought about so long before the planned hour. [h]"""
NODES, WEIGHTS = np.polynomial.hermite_e.hermegauss(9)


def thresholds_for(climate: SurfaceClimate, minima: Minima, takeoff: tuple[float, float],
                   route_minimum: tuple[float, float], places: int, ridge: Bools,
                   known: dict[tuple[bytes, bytes], Array] | None = None) -> dict[str, Array]:
    """Return the thresholds of a candidate; rows beyond `places` are samples along the way.

    `takeoff`, `landing`, `route`, `legal`: minima there, the last two also for ways above 10,000 ft (`_high`); `ridge`
    [place]: where mountains are crossed. `no_alternate`: without which an alternate is required; `as_alternate`.

    Parameters
    ----------
    climate : SurfaceClimate
    minima : Minima              By place.
    takeoff : two floats         Ceiling and visibility to depart. [ft, sm]
    route_minimum : two floats   The pilot's ceiling and visibility on the way. [ft, sm]
    places : int                 Rows that are places.
    ridge : (place,) array       Where mountains are crossed.
    known : dict, optional       Thresholds by minima, kept from candidate to candidate: most pilots have the same.
    """
    kept = {} if known is None else known

    def at(ceiling_ft: Array | float, visibility_sm: Array | float) -> Array:
        key = np.asarray(ceiling_ft, dtype=float).tobytes(), np.asarray(visibility_sm, dtype=float).tobytes()
        if key not in kept:
            kept[key] = climate.thresholds(ceiling_ft, visibility_sm)
        return kept[key]

    extra = len(climate.names) - places
    ceiling_ft = np.concatenate([minima.ceiling_ft, np.full(extra, route_minimum[0])])
    visibility_sm = np.concatenate([minima.visibility_sm, np.full(extra, route_minimum[1])])
    none_ft, none_sm = climate.assumptions["flight.alternate_minima"]["none"]
    alternate_ft, alternate_sm = alternate_minimum(minima.precision, minima.approach, climate.assumptions)
    return {
        "takeoff": at(*takeoff),
        "landing": at(ceiling_ft, visibility_sm),
        "no_alternate": at(*climate.assumptions["flight.alternate_unless"]),
        "as_alternate": at(np.concatenate([alternate_ft, np.full(extra, none_ft)]),
                           np.concatenate([alternate_sm, np.full(extra, none_sm)])),
        **_on_the_way(climate.assumptions, at, route_minimum, ridge),
    }


def _on_the_way(a: Assumptions, at: Callable[[Array, Array], Array], own: tuple[float, float],
                ridge: Bools) -> dict[str, Array]:
    """Return the thresholds of the pilot's own and of the legal minimum along ways flown visually.

    References
    ----------
    .. [1] 14 CFR 91.155: 3 sm below 10,000 ft, 5 sm above it.
    """
    pass_ft, high_sm, legal = a["flight.pass_base_ft"], a["flight.visual_high_visibility_sm"], a[
        "flight.visual_legal_minimum"]
    ceiling_ft = np.where(ridge, np.maximum(own[0], pass_ft), own[0])
    every = np.ones(len(ridge))
    return {
        "route": at(ceiling_ft, own[1] * every),
        "route_high": at(ceiling_ft, max(own[1], high_sm) * every),
        "legal": at(legal[0] * every, legal[1] * every),
        "legal_high": at(legal[0] * every, max(legal[1], high_sm) * every),
    }


@dataclass(frozen=True, slots=True)
class CeilingView:
    """What ceilings and visibility say, arrays [gate, hour], `bad_ahead` [gate, leg]; names as in `LegWeather`.

    `ends`, `met_below` say nothing of gates without ways flown visually.
    """

    reasons: Bits
    visual_reasons: Bits
    below: Bools
    alternate_gal: Array
    bad_ahead: Bools
    ends: Ints32
    met_below: Bools


@dataclass(frozen=True, slots=True)
class AlternateFuel:
    """Where no alternate is good enough though one is required, and the fuel carried to one, arrays [gate, hour]."""

    stuck: Bools
    gal: Array


def look(stack: GateStack, surface: SurfaceYear, latent: Floats32, forecasts: Floats32, mean: Floats32,
         fuel: AlternateFuel) -> CeilingView:
    """Return what ceilings and visibility say about every hour of some gates in a replication.

    Parameters
    ----------
    stack : GateStack
    surface : SurfaceYear
    latent : (n,) array         Rank of ceiling and visibility at the hours of airports asked for.
    forecasts : (n,) array      All that the gates ask for by row.
    mean : (gate, hour) array   Of them those of arrival.
    fuel : AlternateFuel        Of these gates.
    """
    leaves, arrives = latent.take(stack.departure_at), latent.take(stack.arrival_at)
    reasons = np.zeros(mean.shape, dtype=np.uint32)
    gate, hour = np.nonzero(leaves < stack.takeoff)
    _mark(reasons, (gate, hour), surface.climate, stack.from_place[hour], stack.departure_i[hour], leaves[hour],
          stack.takeoff_ft[gate])
    gate, hour = np.nonzero((mean <= stack.blocked) | fuel.stuck)
    place = stack.to_place[hour]
    _mark(reasons, (gate, hour), surface.climate, place, stack.arrival_i[gate, hour], arrives[gate, hour],
          stack.landing_ft[gate, place])
    visual_reasons = np.zeros(mean.shape, dtype=np.uint32)
    ends, met = np.zeros(mean.shape, dtype=np.int32), np.zeros(mean.shape, dtype=bool)
    if stack.ways is not None:
        bad = _route_below(stack.ways, forecasts).take(stack.ways.look)
        visual_reasons.reshape(-1)[stack.ways.at[bad]] = BIT[Reason.CEILING]
        goes = (reasons.take(stack.ways.at) == 0) & ~bad
        ends, met = _ends(stack, stack.ways, surface, forecasts, goes)
    below = (arrives < stack.landing) & (reasons == 0)
    return CeilingView(reasons, visual_reasons, below, fuel.gal, _bad_ahead(stack, forecasts), ends, met)


def _mark(reasons: Bits, where: tuple[Ints, Ints], climate: SurfaceClimate, place: Ints, hour: Ints, latent: Floats32,
          minimum_ft: Array) -> None:
    """Set the bit of ceiling or of visibility, whichever is the one that is short; all but the first by entry."""
    if not len(place):
        return
    at = place, climate.cell(place, hour), climate.rank(latent)
    ceiling_ft, visibility_sm = (pairs.reshape(len(pairs), -1, pairs.shape[-1])[at]
                                 for pairs in (climate.ceiling_ft, climate.visibility_sm))
    # A forecast below minima under a ceiling that turned out high enough was a forecast of poor visibility or wrong.
    high = (ceiling_ft >= minimum_ft) & (visibility_sm <= 5.0)
    reasons[where] |= np.where(high, np.uint32(BIT[Reason.VISIBILITY]), np.uint32(BIT[Reason.CEILING]))


def _route_below(ways: RouteStack, forecasts: Floats32) -> Bools:
    """Tell where some sample along the way is too likely to be below the visual minimum, [look].

    Forecast errors of samples share one part; the rest are independent (one-factor normal, Gauss-Hermite sums). The
    chance lies between that of the worst sample and the sum of all, so most looks are decided without it.
    """
    best = np.minimum.reduce(ways.limit - forecasts.take(ways.ahead), axis=0) / ways.sd
    doubt = np.flatnonzero(best.max(axis=0) >= ways.doubt)
    chance, risk = normal_cdf(np.ascontiguousarray(best[:, doubt].T)), ways.risk[doubt]
    worst, total = chance.max(axis=1), chance.sum(axis=1)
    bad = worst >= risk
    open_ = np.flatnonzero(~bad & (total >= risk))
    if len(open_):
        bad[open_] = any_of(chance[open_], ways.correlation) >= risk[open_]
    out = np.zeros(len(ways.doubt), dtype=bool)
    out[doubt] = bad
    return out


def _ends(stack: GateStack, ways: RouteStack, surface: SurfaceYear, forecasts: Floats32, goes: Bools,
          ) -> tuple[Ints32, Bools]:
    """Return where flights under visual rules end that cannot go on (see `Decisions.ends`), and which met too little.

    At each point the pilot sees what lies ahead, by day, and goes no farther when it is below the own minimum: beyond
    half of the way to the nearest alternate of the destination that is open, else back. A point is low where the
    points to both sides are low too: local weather is gone round. What was seen may close before
    it is reached: then the flight meets it and goes no farther either. By night nothing is seen ahead. `goes` [n]: of
    the places where looks are taken.
    """
    met = forecasts.take(ways.met)
    seen_bad = _low(forecasts.take(ways.seen), ways.seen_limit)
    bad = seen_bad | _low(met, ways.met_limit)
    some = np.flatnonzero(bad.any(axis=0).take(ways.look) & goes)
    stops, (gate, hour) = ways.look[some], np.divmod(ways.at[some], len(stack.from_place))
    first = np.argmax(bad[:, stops], axis=0)
    illegal = _low(met[:, first, stops], ways.legal_limit[:, first, stops])
    ends, met_below = np.zeros(stack.takeoff.shape, dtype=np.int32), np.zeros(stack.takeoff.shape, dtype=bool)
    met_below[gate, hour] = ~seen_bad[first, stops] & illegal
    ends[gate, hour] = 1 + stack.from_place[hour]
    beyond = np.flatnonzero(ways.share[first, stops] > 0.5)
    ends[gate[beyond], hour[beyond]] = 1 + _short_of(stack, surface, gate[beyond], hour[beyond])
    return ends, met_below


def _low(values: Floats32, limit: Floats32) -> Bools:
    """Return where points are below a limit, and those there are to both sides, which are the first axis."""
    return np.asarray(np.logical_and.reduce(values < limit, axis=0))


def _short_of(stack: GateStack, surface: SurfaceYear, gate: Ints, hour: Ints) -> Ints:
    """Return the first alternate of the destination above minima on arrival, else where the flight began, [n]."""
    near = stack.alternates.place[gate, stack.to_place[hour]]
    which, k = np.nonzero(near >= 0)
    place, then, there = near[which, k], stack.arrival_i[gate, hour][which], np.zeros(near.shape, dtype=bool)
    limit = stack.alternates.landing[gate[which], place, surface.climate.cell(place, then)]
    there[which, k] = ~(surface.latent_at(place, then) < limit)
    if not near.shape[1]:
        return stack.from_place[hour]
    chosen = near[np.arange(len(hour)), np.argmax(there, axis=1)]
    return np.where(there.any(axis=1), chosen, stack.from_place[hour])


def any_of(chance: Array, correlation: float) -> Array:
    """Return the chance that at least one of several alike events happens, from the chance of each on the last axis."""
    worst, total = chance.max(axis=-1), np.minimum(chance.sum(axis=-1), 1.0)
    if correlation >= 1.0:
        return worst
    limit = normal_quantile(np.clip(chance, 1e-9, 1 - 1e-9))
    shared = (np.sqrt(correlation) * NODES).reshape(-1, *(1,) * limit.ndim)
    given = normal_cdf((limit + shared) / np.sqrt(1.0 - correlation))
    none = np.zeros(worst.shape)
    for spared, weight in zip(np.prod(1.0 - given, axis=-1), WEIGHTS / WEIGHTS.sum(), strict=True):
        none += weight * spared
    return np.clip(1.0 - none, worst, total)


def _bad_ahead(stack: GateStack, forecasts: Floats32) -> Bools:
    """Return by gate and leg whether the planned hour looks bad half a day before, or the evening before.

    The latter where one may leave in the evening.
    """
    arrival, departure = stack.long_limits
    return np.asarray((forecasts.take(stack.long_arrival) <= arrival)
                      | (forecasts.take(stack.long_departure) <= departure))


def ahead_limit(limit: Array, sd: Array, chance: Array | float) -> Array:
    """Return the forecast mean under which the chance of weather below a limit is a given one or more."""
    return limit - sd * normal_quantile(np.clip(chance, 1e-12, 1.0 - 1e-12))


def at_hours(thresholds: Array, climate: SurfaceClimate, place: Array, hour: Array) -> Array:
    """Return thresholds by place and hour index; arrays broadcast.

    Parameters
    ----------
    thresholds : (place, month, block) array   Normal deviates below which weather stops.
    climate : SurfaceClimate
    place : int array                          Row of the place.
    hour : int array                           Hour index.
    """
    place, hour = np.broadcast_arrays(place, hour)
    return thresholds.reshape(len(thresholds), -1)[place, climate.cell(place, hour)]
