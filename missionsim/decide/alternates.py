"""Alternates of instrument flights: where one is required, and the nearest that is forecast good enough.

All candidates are looked at together: what they ask of the same place and hour is read once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array, Bools, Floats, Floats32, Ints
from missionsim.base.normal import normal_cdf
from missionsim.decide.gate_stack import GateStack
from missionsim.decide.minima import LEAST_SD, LOOK_BEFORE_H, AlternateFuel
from missionsim.world.random_fields.hours import HOURS
from missionsim.world.surface.year import SurfaceYear


def alternate_fuel(stack: GateStack, surface: SurfaceYear, mean: Floats32, asked: Bools | None = None,
                   ) -> AlternateFuel:
    """Return the fuel that each candidate carries to alternates, and where none is good enough.

    Parameters
    ----------
    stack : GateStack
    surface : SurfaceYear       Of the replication.
    mean : (gate, hour) array   Forecast of arrival.
    asked : (hour,) bool array, optional   Hours of legs that somebody wants to fly; of others nothing is said.

    References
    ----------
    .. [1] 14 CFR 91.169: required unless 2,000 ft and 3 sm are forecast; the alternate's own forecast minimum.
    """
    need = _Need.of(stack, mean, asked)
    nearest = _nearest_good(stack, need, surface)
    stuck, gal = np.zeros(mean.shape, dtype=bool), np.zeros(mean.shape)
    stuck.reshape(-1)[need.at] = nearest < 0
    gal.reshape(-1)[need.at] = np.where(nearest >= 0, stack.alternates.gal[need.gate, need.place, nearest], 0.0)
    return AlternateFuel(stuck, gal)


@dataclass(frozen=True, slots=True)
class _Need:
    """Hours that need an alternate, [n]: their flat places among [gate, hour], and of which gate each is.

    `place`: where they lead; `arrive`, `known`: hour of arrival and of the last look at the forecast; `miss`: chance
    that the destination is below minima.
    """

    at: Ints
    gate: Ints
    place: Ints
    arrive: Ints
    known: Ints
    miss: Floats

    @classmethod
    def of(cls, stack: GateStack, mean: Floats32, asked: Bools | None = None) -> _Need:
        needed = (mean <= stack.poor) & (mean > stack.blocked)
        at = np.flatnonzero(needed if asked is None else needed & asked)
        gate, hour = np.divmod(at, mean.shape[1])
        miss = normal_cdf((stack.landing.take(at) - mean.take(at)) / stack.sd.take(at))
        return cls(at, gate, stack.to_place.take(hour), stack.arrival_i.take(at),
                   stack.departure_i.take(hour) - LOOK_BEFORE_H, miss)


def _nearest_good(stack: GateStack, need: _Need, surface: SurfaceYear) -> Ints:
    """Return the place in its list of the nearest alternate that is forecast good enough, -1 where none is."""
    nearest = np.full(len(need.at), -1)
    # The nearest one mostly does: the others are asked about only where it does not.
    for ranks in (slice(0, 1), slice(1, None)):
        left = np.flatnonzero(nearest < 0)
        lists = stack.alternates.place[need.gate[left], need.place[left], ranks]
        which, k = np.nonzero(lists >= 0)
        if which.size:
            by_rank = np.zeros(lists.shape, dtype=bool)
            by_rank[which, k] = _good(stack, need, left[which], ranks.start + k, surface)
            nearest[left] = np.where(by_rank.any(axis=1), ranks.start + np.argmax(by_rank, axis=1), -1)
    return nearest


def _good(stack: GateStack, need: _Need, which: Ints, k: Ints, surface: SurfaceYear) -> Bools:
    """Tell which alternates are forecast good enough, and seldom below together with the destination.

    `which`, `k` [m]: of which entry the how many-eth alternate each one is.
    """
    lists, gate = stack.alternates, need.gate.take(which)
    at = lists.at(gate, need.place.take(which), k)
    place, hour = lists.place.take(at), np.minimum(need.arrive.take(which) + lists.hours.take(at), HOURS - 1)
    issued = need.known.take(which)
    mean, limit = _means(surface, place, hour, issued), lists.threshold(gate, place, surface.climate.cell(place, hour))
    good = mean > lists.as_alternate.take(limit)
    some = np.flatnonzero(good)
    sd = np.maximum(lists.forecast_sd(hour.take(some), issued.take(some)), LEAST_SD)
    given = _given_miss(normal_cdf((lists.landing.take(limit.take(some)) - mean.take(some)) / sd))
    good[some] = np.minimum(need.miss.take(which.take(some)), given) * given < lists.both.take(gate.take(some))
    return np.asarray(good)


def _means(surface: SurfaceYear, place: Ints, hour: Ints, issued: Ints) -> Array:
    """Return forecasts, each read once: three of four candidates ask the same of most alternates."""
    _, first, own = np.unique((place * HOURS + hour) * HOURS + issued, return_index=True, return_inverse=True)
    return np.asarray(surface.forecast_mean(place[first], hour[first], issued[first])[own])


def _given_miss(chance: Array) -> Array:
    """Return the chance that the alternate is below too when the destination is, errors of one forecast being alike."""
    return np.minimum(1.0, 2.0 * chance)
