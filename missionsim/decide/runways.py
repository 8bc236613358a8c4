"""Runways in the hour's weather: only rows whose runway is not plainly long enough are looked at hour by hour."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from missionsim.aircraft.runway import blocked_by
from missionsim.base.arrays import Array, Bits, Bools, Indices, Ints
from missionsim.base.short_rows import any_in_row
from missionsim.base.words import BIT, Reason
from missionsim.decide.candidate_plan import CandidatePlan, FieldRows
from missionsim.decide.surface_weather import Sky
from missionsim.flight.batch import Plans
from missionsim.year.looked_slots import AIR_SLOTS
from missionsim.year.schedule import Schedule

SPARE = 1.01
"""On wind and the distance in calm air, so that the quick look never passes what the thorough one would not."""
FEW, MANY_LEFT = 300, 1500
"""So few movements are looked at end by end at once: before, and after those in cool air are left out."""
MANY = 20_000
"""Movements looked at at once: what is worked out on the way takes many times the room of what is kept."""


def takeoff_bits(plan: CandidatePlan, schedule: Schedule, sky: Sky, takeoff_lb: Array, bits: Bits, marginal: Bits,
                 ) -> None:
    """Add to bits [hour, cell] in place: `runway` where take-off needs more than any end in limits offers.

    What is missed by no more than the tolerance of the pilot's own rules is added to `marginal` instead.

    Parameters
    ----------
    plan : CandidatePlan               Of the candidate.
    schedule : Schedule
    sky : Sky                          Surface air.
    takeoff_lb : (hour, cell) array   Take-off weights. [lb]
    bits : (hour, cell) array         Reasons so far, changed in place.
    marginal : (hour, cell) array     Own rules met marginally, changed in place.
    """
    tight = plan.runways.takeoff
    if not len(tight.row):
        return
    for moves in _departures(plan, schedule, tight.row).parts():
        _mark(plan, tight, moves, takeoff_lb.take(moves.at), sky, plan.aircraft.takeoff_ft, bits, marginal)


def landing_bits(plan: CandidatePlan, schedule: Schedule, sky: Sky, takeoff_lb: Array, plans: Plans,
                 bits: Bits, marginal: Bits) -> None:
    """Add to bits [hour, cell] in place: `runway` where landing needs more than any end in limits offers.

    What is missed by no more than the tolerance of the pilot's own rules is added to `marginal` instead.

    Parameters
    ----------
    plan : CandidatePlan               Of the candidate.
    schedule : Schedule
    sky : Sky                          Surface air.
    takeoff_lb : (hour, cell) array   Take-off weights. [lb]
    plans : Plans                      Time and fuel of the best level.
    bits : (hour, cell) array         Reasons so far, changed in place.
    marginal : (hour, cell) array     Own rules met marginally, changed in place.
    """
    tight = plan.runways.landing
    if not len(tight.row):
        return
    for leave in _departures(plan, schedule, tight.row).parts():
        cell = leave.at % len(plan.cells.row)
        landing_lb = takeoff_lb.take(leave.at) - plans.fuel_gal.take(cell) * plan.fuel.lb_per_gal
        arrive = replace(leave, time_h=leave.time_h + plans.flight_h.take(cell))
        _mark(plan, tight, arrive, landing_lb, sky, plan.aircraft.landing_ft, bits, marginal)


def climb_bits(plan: CandidatePlan, schedule: Schedule, sky: Sky, takeoff_lb: Array, bits: Bits) -> None:
    """Add to bits [hour, cell] in place: `climb` where the gradient after take-off from a high field is too small.

    Parameters
    ----------
    plan : CandidatePlan               Of the candidate.
    schedule : Schedule
    sky : Sky                          Surface air.
    takeoff_lb : (hour, cell) array   Take-off weights. [lb]
    bits : (hour, cell) array         Reasons so far, changed in place.
    """
    if not len(plan.runways.climb):
        return
    moves = _departures(plan, schedule, plan.runways.climb)
    place = plan.rows.from_place[plan.runways.climb[moves.k]]
    at, weight_lb = moves.at, takeoff_lb.take(moves.at)
    altitude_ft, temperature_c = sky.field_air(place, moves.time_h)
    if plan.runways.climb_cool is not None:
        warm = np.flatnonzero(~plan.runways.climb_cool.holds(moves.k, altitude_ft, temperature_c, weight_lb))
        at, altitude_ft, temperature_c, weight_lb = (
            values.take(warm) for values in (at, altitude_ft, temperature_c, weight_lb))
    if len(at):
        gradient = plan.aircraft.departure_gradient_ft_per_nm(altitude_ft, temperature_c, weight_lb)
        low = ~(gradient >= plan.runways.least_gradient_ft_per_nm)
        bits.reshape(-1)[at] |= np.where(low, np.uint32(BIT[Reason.CLIMB]), np.uint32(0))


@dataclass(frozen=True, slots=True)
class _Movements:
    """Departures or arrivals [n]: at which of the doubtful rows, in which hour of [hour, cell], flat, and when."""

    k: Ints
    at: Ints
    time_h: Array

    def parts(self) -> Iterator[_Movements]:
        """Yield them, `MANY` at a time."""
        for first in range(0, len(self.k), MANY):
            some = slice(first, first + MANY)
            yield _Movements(self.k[some], self.at[some], self.time_h[some])


def _departures(plan: CandidatePlan, schedule: Schedule, rows: Ints) -> _Movements:
    """Return the departures of some rows that somebody may come to."""
    cells = plan.cells
    number = np.full(len(cells.planned), -1, dtype=np.int64)
    number[rows] = np.arange(len(rows))
    k = number.take(cells.row)
    some = np.flatnonzero(k >= 0)
    hour, i = np.divmod(np.flatnonzero(cells.open_.take(some, axis=1)), max(len(some), 1))
    cell = some.take(i)
    start_h = schedule.start_h[plan.rows.leg[rows]] + plan.rows.offset_h[rows]
    k = k.take(cell)
    return _Movements(k, hour * len(cells.row) + cell, start_h.take(k) + (AIR_SLOTS * cells.slot.take(cell) + hour))


def _mark(plan: CandidatePlan, tight: FieldRows, moves: _Movements, weight_lb: Array, sky: Sky,
          distance_ft: Callable[..., Array], bits: Bits, marginal: Bits) -> None:
    """Set bits of departures or arrivals; see `takeoff_bits`."""
    place = tight.place.take(moves.k)
    altitude_ft, temperature_c, east_kt, north_kt = sky.at_fields(place, moves.time_h)
    k, at = moves.k, moves.at
    if len(k) > FEW:
        open_ = _doubtful(plan, tight, k, (altitude_ft, temperature_c, weight_lb), (east_kt, north_kt), distance_ft)
        k, at, altitude_ft, temperature_c, weight_lb, east_kt, north_kt = (
            values.take(open_) for values in (k, at, altitude_ft, temperature_c, weight_lb, east_kt, north_kt))
    if not len(k):
        return
    ends, east_kt, north_kt = tight.ends.take(k), east_kt[:, None], north_kt[:, None]
    along_kt, across_kt = ends.along_kt(east_kt, north_kt), ends.across_kt(east_kt, north_kt)
    needed_ft = distance_ft(altitude_ft[:, None], temperature_c[:, None], weight_lb[:, None], along_kt)
    needed_ft = needed_ft * tight.surface_factor.take(k, axis=0)
    length_ft, accepted = tight.length_ft.take(k, axis=0), tight.accepted.take(k, axis=0)
    rules = plan.pilot.rules

    def in_the_way(n: Indices | slice, margin: float, max_tailwind_kt: float) -> Bits:
        """Return the bits of some operations by a runway margin and a limit of tail wind."""
        blocked = blocked_by(along_kt[n], across_kt[n], length_ft[n], needed_ft[n] * margin, accepted[n],
                             plan.runways.crosswind_limit_kt, max_tailwind_kt)
        bits_of = zip(blocked, (Reason.SURFACE, Reason.WIND, Reason.RUNWAY), strict=True)
        each = [np.where(where, np.uint32(BIT[reason]), np.uint32(0)) for where, reason in bits_of]
        return np.asarray(np.bitwise_or.reduce(each), dtype=np.uint32)

    found = in_the_way(slice(None), rules.runway_margin, rules.max_tailwind_kt)
    close = np.flatnonzero(found)
    if rules.tolerance_share > 0.0 and len(close):
        nearly = in_the_way(close, rules.marginal_runway_margin, rules.max_tailwind_kt * (1.0 + rules.tolerance_share))
        met = close[nearly == 0]
        marginal.reshape(-1)[at[met]] |= found[met]
        found[met] = 0
    bits.reshape(-1)[at] |= found


def _doubtful(plan: CandidatePlan, tight: FieldRows, k: Ints, air: tuple[Array, Array, Array],
              wind_kt: tuple[Array, Array], distance_ft: Callable[..., Array]) -> Indices:
    """Return which movements [n], each at a row `k`, have to be looked at end by end: not some end does for sure.

    In a wind that is in limits on a runway long enough in calm, its end into the wind does. `air`: pressure altitude,
    temperature and weight; `wind_kt`: eastward and northward.
    """
    into_wind = _into_wind(plan.runways.crosswind_limit_kt / SPARE, tight, k, wind_kt)
    left = np.flatnonzero(~(into_wind & tight.cool.holds(k, *air)) if tight.cool is not None else np.ones(len(k)))
    if len(left) <= MANY_LEFT:
        return left
    left_k = k.take(left)
    calm_ft = distance_ft(*(values.take(left) for values in air), np.zeros(len(left)))
    long = calm_ft * plan.pilot.rules.runway_margin * SPARE <= tight.both_ways_ft.take(left_k)
    return left[~(long & into_wind.take(left))]


def _into_wind(limit_kt: float, tight: FieldRows, k: Ints, wind_kt: tuple[Array, Array]) -> Bools:
    """Tell where the longest runway both ways has an end into the wind, with no more than so much of it across, [n]."""
    east_kt, north_kt = wind_kt
    held = east_kt**2 + north_kt**2 <= limit_kt**2
    windy = np.flatnonzero(~held)
    ways, east_kt, north_kt = tight.ways(k.take(windy)), east_kt[windy, None], north_kt[windy, None]
    across_kt, along_kt = ways.across_kt(east_kt, north_kt), ways.along_kt(east_kt, north_kt)
    held[windy] = any_in_row((across_kt <= limit_kt) & (along_kt >= 0.0))
    return held
