"""What ceilings and visibility let a candidate do: departure, forecast at arrival, alternates, the visual way.

The pilot decides on the forecast an hour before departure. What happens at arrival is the same field looked at later,
so that a chance of one in five comes true one time in five.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array, Bits, Bools, Ints, Ints32
from missionsim.base.assumptions import Assumptions
from missionsim.base.normal import normal_cdf, normal_quantile
from missionsim.base.words import BIT, Reason
from missionsim.decide.gate_plan import ForecastRows, GatePlan, RouteLooks
from missionsim.flight.minima import Minima, alternate_minimum
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.world.surface.year import SurfaceYear
from missionsim.year.schedule import Schedule

LOOK_BEFORE_H = 1
"""The last look at the forecast is so long before departure. [h]"""
LEAST_SD = 1e-4
ROUNDING = 1.000001
"""What is added to a quick estimate that must not pass what the thorough one would not."""
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
    """What ceilings and visibility say, arrays [leg, slot]; names as in `LegWeather`."""

    reasons: Bits
    visual_reasons: Bits
    below: Bools
    alternate_gal: Array
    bad_ahead: Bools
    ends: Ints32 | None
    met_below: Bools | None


@dataclass(frozen=True, slots=True)
class AlternateFuel:
    """Where no alternate is good enough though one is required, and the fuel carried to one, arrays [leg, slot]."""

    stuck: Bools
    gal: Array


def look(gates: GatePlan, schedule: Schedule, surface: SurfaceYear, here: Looked, forecasts: Array,
         fuel: AlternateFuel) -> CeilingView:
    """Return what ceilings and visibility say about every leg and slot of a replication.

    Parameters
    ----------
    here : Looked             The rank of ceiling and visibility at departure and at arrival.
    forecasts : (n,) array    All that the gates ask for by row.
    fuel : AlternateFuel      Of these gates.
    """
    mean = gates.ahead.arrival.forecast.of(forecasts)
    shut = here.at_departure < gates.limits.takeoff
    blocked = (mean <= gates.limits.blocked) | fuel.stuck
    reasons = np.zeros(mean.shape, dtype=np.uint32)
    takeoff_ft = np.full(len(mean), gates.takeoff.ceiling_ft)
    _mark(reasons, shut & gates.open_, surface.climate, schedule.from_place, gates.hours.departure_i, here.at_departure,
          takeoff_ft)
    _mark(reasons, blocked & gates.open_, surface.climate, schedule.to_place, gates.hours.arrival_i, here.at_arrival,
          gates.landing.ceiling_ft[schedule.to_place])
    visual_reasons = np.zeros(mean.shape, dtype=np.uint32)
    if gates.route_looks is not None:
        looks, bad = gates.route_looks, _route_below(gates, gates.route_looks, forecasts)
        visual_reasons[looks.leg, looks.slot] |= np.where(bad, np.uint32(BIT[Reason.CEILING]), np.uint32(0))
    below = (here.at_arrival < gates.limits.landing) & (reasons == 0) & gates.open_
    ends, met = _ends(gates, schedule, surface, forecasts, (reasons | visual_reasons) == 0)
    return CeilingView(reasons, visual_reasons, below, fuel.gal, _bad_ahead(gates, forecasts), ends, met)


@dataclass(frozen=True, slots=True)
class Looked:
    """Rank of ceiling and visibility where legs begin and end, arrays [leg, slot]."""

    at_departure: Array
    at_arrival: Array


def _mark(reasons: Bits, where: Bools, climate: SurfaceClimate, place: Ints,
          hour: Ints, latent: Array, minimum_ft: Array) -> None:
    """Set the bit of ceiling or of visibility, whichever is the one that is short; `place`, `minimum_ft` [leg]."""
    leg, slot = np.nonzero(where)
    if not len(leg):
        return
    there, then, value = place[leg], hour[leg, slot], latent[leg, slot]
    at = there, climate.cell(there, then), climate.rank(value)
    ceiling_ft, visibility_sm = (pairs.reshape(len(pairs), -1, pairs.shape[-1])[at]
                                 for pairs in (climate.ceiling_ft, climate.visibility_sm))
    # A forecast below minima under a ceiling that turned out high enough was a forecast of poor visibility or wrong.
    high = (ceiling_ft >= minimum_ft[leg]) & (visibility_sm <= 5.0)
    reasons[leg, slot] |= np.where(high, np.uint32(BIT[Reason.VISIBILITY]), np.uint32(BIT[Reason.CEILING]))


def _route_below(gates: GatePlan, looks: RouteLooks[ForecastRows], forecasts: Array) -> Bools:
    """Tell where some sample along the way is too likely to be below the visual minimum, [n].

    Forecast errors of samples share one part; the rest are independent (one-factor normal, Gauss-Hermite sums). The
    chance lies between that of the worst sample and the sum of all, so most looks are decided without it.
    """
    there = looks.ahead.row >= 0
    margin = (looks.limit - looks.ahead.of(forecasts)) / looks.sd
    best = np.where(there[:, :, 0], margin[:, :, 0], -np.inf)
    for side in range(1, margin.shape[2]):     # side by side: a minimum over so short an axis takes five times as long
        np.minimum(best, np.where(there[:, :, side], margin[:, :, side], np.inf), out=best)
    # So many samples as bad as the worst: mostly even that is no risk, and no chance is worked out.
    doubt = np.flatnonzero(ROUNDING * best.shape[1] * normal_cdf(best.max(axis=1)) >= looks.risk)
    chance, risk = np.where(there[doubt, :, 0], normal_cdf(best[doubt]), 0.0), looks.risk[doubt]
    worst, total = chance.max(axis=1), chance.sum(axis=1)
    bad = worst >= risk
    open_ = np.flatnonzero(~bad & (total >= risk))
    if len(open_):
        bad[open_] = any_of(chance[open_], gates.risks.route_correlation) >= risk[open_]
    out = np.zeros(len(best), dtype=bool)
    out[doubt] = bad
    return out


def _ends(gates: GatePlan, schedule: Schedule, surface: SurfaceYear, forecasts: Array, goes: Bools,
          ) -> tuple[Ints32 | None, Bools | None]:
    """Return where flights under visual rules end that cannot go on (see `Decisions.ends`), and which met too little.

    At each point the pilot sees what lies ahead, by day, and goes no farther when it is below the own minimum: beyond
    half of the way to the nearest alternate of the destination that is open, else back. A point is low where the
    points to both sides are low too: local weather is gone round. What was seen may close before
    it is reached: then the flight meets it and goes no farther either. By night nothing is seen ahead.
    """
    looks = gates.route_looks
    if looks is None:
        return None, None
    seen_bad = _low(looks.seen, looks.seen_limit, forecasts) & ~looks.night[:, None]
    bad = seen_bad | _low(looks.met, looks.met_limit, forecasts)
    stops = np.flatnonzero(bad.any(axis=1) & goes[looks.leg, looks.slot])
    first, leg, slot = np.argmax(bad[stops], axis=1), looks.leg[stops], looks.slot[stops]
    illegal = _low(looks.met, looks.legal_limit, forecasts)[stops, first]
    ends, met_below = np.zeros(goes.shape, dtype=np.int32), np.zeros(goes.shape, dtype=bool)
    met_below[leg, slot] = ~seen_bad[stops, first] & illegal
    ends[leg, slot] = 1 + schedule.from_place[leg]
    beyond = looks.share[stops, first] > 0.5
    ends[leg[beyond], slot[beyond]] = 1 + _short_of(gates, schedule, surface, leg[beyond], slot[beyond])
    return ends, met_below


def _low(rows: ForecastRows, limit: Array, forecasts: Array) -> Bools:
    """Return where points of a way are below a limit, and those there are to both sides, [n, j]; all else [n, j, 3]."""
    below, nowhere = rows.of(forecasts) < limit, rows.row < 0
    out = below[:, :, 0] & ~nowhere[:, :, 0]
    for side in range(1, below.shape[2]):
        out &= below[:, :, side] | nowhere[:, :, side]
    return np.asarray(out)


def _short_of(gates: GatePlan, schedule: Schedule, surface: SurfaceYear, leg: Ints,
              slot: Ints) -> Ints:
    """Return the first alternate of the destination above minima on arrival, else where the flight began, [n]."""
    near = gates.alternates.place[schedule.to_place[leg]]
    there = near >= 0
    which, k = np.nonzero(there)
    there[which, k] = ~surface.below(gates.thresholds.landing, near[which, k], gates.hours.arrival_i[leg, slot][which])
    if not near.shape[1]:
        return schedule.from_place[leg]
    chosen = near[np.arange(len(leg)), np.argmax(there, axis=1)]
    return np.where(there.any(axis=1), chosen, schedule.from_place[leg])


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


def _bad_ahead(gates: GatePlan, forecasts: Array) -> Bools:
    """Return by leg whether the planned hour looks bad half a day before, or the evening before where one may leave."""
    ahead, limits = gates.ahead, gates.limits
    return np.asarray((ahead.long_arrival.forecast.of(forecasts) <= limits.long_arrival)
                      | (ahead.long_departure.forecast.of(forecasts) <= limits.long_departure))


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
