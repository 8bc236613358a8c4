"""Alternates of instrument flights: where one is required, and the nearest that is forecast good enough.

All candidates are looked at together: what they ask of the same place and hour is read once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array, Bools, Floats, Ints
from missionsim.base.normal import normal_cdf
from missionsim.decide.gate_plan import GatePlan
from missionsim.decide.minima import LEAST_SD, LOOK_BEFORE_H, AlternateFuel
from missionsim.world.random_fields.hours import HOURS
from missionsim.world.surface.year import SurfaceYear
from missionsim.year.schedule import Schedule


def alternate_fuel(gates: Sequence[GatePlan], schedule: Schedule, surface: SurfaceYear, forecasts: Array,
                   ) -> list[AlternateFuel]:
    """Return the fuel that each candidate carries to alternates, and where none is good enough.

    Parameters
    ----------
    gates : sequence of GatePlan   One a candidate.
    schedule : Schedule
    surface : SurfaceYear          Of the replication.
    forecasts : (n,) array         All that the gates ask for by row.

    References
    ----------
    .. [1] 14 CFR 91.169: required unless 2,000 ft and 3 sm are forecast; the alternate's own forecast minimum.
    """
    needs = [_Need.of(one, schedule, forecasts) for one in gates]
    return [need.fuel(nearest) for need, nearest in zip(needs, _nearest_good(needs, surface), strict=True)]


@dataclass(frozen=True, slots=True)
class _Need:
    """Legs and slots of one candidate that need an alternate, [n].

    `place`: where they lead; `arrive`, `known`: hour of arrival and of the last look at the forecast; `miss`: chance
    that the destination is below minima.
    """

    gates: GatePlan
    leg: Ints
    slot: Ints
    place: Ints
    arrive: Ints
    known: Ints
    miss: Floats

    @classmethod
    def of(cls, gates: GatePlan, schedule: Schedule, forecasts: Array) -> _Need:
        mean, limits = gates.ahead.arrival.forecast.of(forecasts), gates.limits
        required = ((mean <= limits.poor) | limits.no_approach) & (mean > limits.blocked) & gates.open_
        leg, slot = np.nonzero(required & gates.instrument)
        miss = normal_cdf((limits.landing[leg, slot] - mean[leg, slot]) / gates.ahead.arrival.sd[leg, slot])
        return cls(gates, leg, slot, schedule.to_place[leg], gates.hours.arrival_i[leg, slot],
                   gates.hours.departure_i[leg, slot] - LOOK_BEFORE_H, miss)

    def fuel(self, nearest: Ints) -> AlternateFuel:
        """Return the fuel, given the place of the nearest good alternate in its list, [n]."""
        stuck, gal = np.zeros(self.gates.open_.shape, dtype=bool), np.zeros(self.gates.open_.shape)
        stuck[self.leg, self.slot] = nearest < 0
        gal[self.leg, self.slot] = np.where(nearest >= 0, self.gates.alternates.gal[self.place, nearest], 0.0)
        return AlternateFuel(stuck, gal)


@dataclass(frozen=True, slots=True)
class _Pairs:
    """Alternates that a candidate asks about, [m]: of which entry (`which`) and the how many-eth (`k`) each is one."""

    gates: GatePlan
    shape: tuple[int, int]
    which: Ints
    k: Ints
    place: Ints
    hour: Ints
    issued: Ints
    miss: Floats

    @classmethod
    def of(cls, need: _Need, rows: Ints, ranks: slice) -> _Pairs:
        """Return the alternates of some rows, those of some ranks in their lists."""
        lists, to = need.gates.alternates, need.place[rows]
        alternate = lists.place[to, ranks]
        which, k = np.nonzero(alternate >= 0)
        hour = np.minimum(need.arrive[rows[which]] + lists.hours[to, ranks][which, k], HOURS - 1)
        return cls(need.gates, (len(rows), alternate.shape[1]), which, k, alternate[which, k], hour,
                   need.known[rows[which]], need.miss[rows[which]])

    def spread(self, good: Bools) -> Bools:
        """Return which are good by entry and rank."""
        out = np.zeros(self.shape, dtype=bool)
        out[self.which, self.k] = good
        return out


def _nearest_good(needs: Sequence[_Need], surface: SurfaceYear) -> list[Ints]:
    """Return the place in its list of the nearest alternate that is forecast good enough, -1 where none is."""
    nearest = [np.full(len(need.leg), -1) for need in needs]
    # The nearest one mostly does: the others are asked about only where it does not.
    for ranks in (slice(0, 1), slice(1, None)):
        left = [np.flatnonzero(own < 0) for own in nearest]
        pairs = [_Pairs.of(need, rows, ranks) for need, rows in zip(needs, left, strict=True)]
        ends = np.cumsum([len(one.which) for one in pairs])
        for own, rows, one, good in zip(nearest, left, pairs, np.split(_good(pairs, surface), ends[:-1]), strict=True):
            if one.which.size:
                by_rank = one.spread(good)
                own[rows] = np.where(by_rank.any(axis=1), ranks.start + np.argmax(by_rank, axis=1), -1)
    return nearest


def _good(pairs: Sequence[_Pairs], surface: SurfaceYear) -> Bools:
    """Tell which alternates are forecast good enough, and seldom below together with the destination."""
    place, hour, issued, miss = (np.concatenate([getattr(one, name) for one in pairs])
                                 for name in ("place", "hour", "issued", "miss"))
    mean, cell = _means(surface, place, hour, issued), surface.climate.cell(place, hour)
    counts = [len(one.place) for one in pairs]
    cells, both = np.split(cell, np.cumsum(counts)[:-1]), np.repeat([one.gates.risks.both for one in pairs], counts)

    def limit(name: str) -> Array:
        every = (getattr(one.gates.thresholds, name) for one in pairs)
        return np.concatenate([t.reshape(len(t), -1)[one.place, own]
                               for t, one, own in zip(every, pairs, cells, strict=True)])

    good = mean > limit("as_alternate")
    some = np.flatnonzero(good)
    sd = np.maximum(surface.forecast_sd(hour[some], issued[some]), LEAST_SD)
    given = _given_miss(normal_cdf((limit("landing")[some] - mean[some]) / sd))
    good[some] = np.minimum(miss[some], given) * given < both[some]
    return np.asarray(good)


def _means(surface: SurfaceYear, place: Ints, hour: Ints, issued: Ints) -> Array:
    """Return forecasts, each read once: three of four candidates ask the same of most alternates."""
    _, first, own = np.unique((place * HOURS + hour) * HOURS + issued, return_index=True, return_inverse=True)
    return np.asarray(surface.forecast_mean(place[first], hour[first], issued[first])[own])


def _given_miss(chance: Array) -> Array:
    """Return the chance that the alternate is below too when the destination is, errors of one forecast being alike."""
    return np.minimum(1.0, 2.0 * chance)
