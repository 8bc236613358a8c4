"""The party adapts when load or seats do not fit: gear stays behind, some go by car; only where a leg fails with all.

Whatever a trip does, it does on all its legs, and it bears the mark.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array, Bits, Codes, Ints
from missionsim.base.words import BIT, STRUCTURAL, Adaptation, Reason
from missionsim.decide.candidate_plan import CandidatePlan, Loads
from missionsim.decide.two_runs import TwiceFlown
from missionsim.year.schedule import Schedule

LOADS = ("zero_fuel_lb", "zero_fuel_moment_lb_in", "seats_ok", "bags_ok")
LOAD_BITS = BIT[Reason.SEATS] | BIT[Reason.PAYLOAD] | BIT[Reason.BALANCE]
OTHER_BITS = sum(BIT[reason] for reason in STRUCTURAL) & ~LOAD_BITS


@dataclass(frozen=True, slots=True)
class Lighter:
    """One way of making loads fit, for the trips of `trips` [n] that may do so.

    `loads`: of some of these trips, given their places in the list; `apart` [n]: how many then go by car; `sheds_lb`:
    no load gets lighter than by this, so that none that is farther over is weighed. `second`, `follow`: in two runs,
    loads of the lighter one, which must fit too, and how many [n] come with the second beside the pilot.
    """

    how: Adaptation
    trips: Ints
    loads: Callable[[Ints], Loads]
    apart: Ints
    sheds_lb: float = np.inf
    second: Callable[[Ints], Loads] | None = None
    follow: Ints | None = None


LighterWays = Callable[[Ints], Iterable[Lighter]]
"""Given the trips whose load does not fit, the ways of making it fit, in the order of trying."""


@dataclass(frozen=True, slots=True)
class Adapted:
    """What trips gave up for their load, by trip: how (`Adaptation`, 0 for nothing), and how many go by car.

    `follow`: how many come with the second run, beside the pilot.
    """

    how: Codes
    apart: Ints
    follow: Ints

    @classmethod
    def none(cls, trips: int) -> Adapted:
        """Return that of trips which carry everything and everybody."""
        return cls(np.zeros(trips, dtype=np.uint8), *np.zeros((2, trips), dtype=np.int64))


def short_of_room(plan: CandidatePlan, schedule: Schedule, option_bits: Bits) -> Ints:
    """Return the trips of which some leg fails for its load alone, in every hour and by every itinerary."""
    inside = schedule.looks.open_[plan.options.leg]
    legs = len(schedule.trip)
    free = ((option_bits & np.uint32(LOAD_BITS | OTHER_BITS)) == 0) & inside
    by_load = ((option_bits & np.uint32(LOAD_BITS)) != 0) & ((option_bits & np.uint32(OTHER_BITS)) == 0) & inside
    some_free, some_load = (np.bincount(plan.options.leg, found.any(axis=1), legs) > 0 for found in (free, by_load))
    # A leg that nothing helps keeps its trip at home whatever is left behind.
    hopeless = np.unique(schedule.trip[~some_free & ~some_load])
    return np.setdiff1d(schedule.trip[~some_free & some_load], hopeless)


def adapted(plan: CandidatePlan, schedule: Schedule, reasons: Bits, required_gal: Array, loads: Loads, short: Ints,
            ways: LighterWays) -> tuple[Loads, Adapted]:
    """Return loads of which those that did not fit are lightened as far as they must be, and how.

    Parameters
    ----------
    reasons, required_gal : [row, slot]   Fully loaded; a lighter flight needs no more fuel.
    short : (n,) array                    Trips whose load does not fit.
    ways : callable                       What may be done, in the order of trying.
    """
    found, left = Adapted.none(len(loads.zero_fuel_lb)), short
    over_lb = _over_lb(plan, reasons, required_gal, loads)
    for way in ways(short):
        asked = np.flatnonzero(np.isin(way.trips, left) & (over_lb[way.trips] <= way.sheds_lb + 1e-6))
        if not len(asked):
            continue
        tried = _with(loads, way.trips[asked], way.loads(asked))
        twice = TwiceFlown.of_trips(plan, schedule, np.isin(np.arange(schedule.trips), way.trips) * way.how)
        good = np.intersect1d(way.trips[asked], _fitting(plan, schedule, reasons, required_gal, tried, twice))
        if way.second is not None:
            other = _with(loads, way.trips[asked], way.second(asked))
            good = np.intersect1d(good, _fitting(plan, schedule, reasons, required_gal, other, twice))
        taken = np.isin(way.trips, good)
        loads = _with(loads, good, take_loads(tried, good))
        found.how[way.trips[taken]], found.apart[way.trips[taken]] = way.how, way.apart[taken]
        if way.follow is not None:
            found.follow[way.trips[taken]] = way.follow[taken]
        left = np.setdiff1d(left, good)
        if not len(left):
            break
    return loads, found


def _over_lb(plan: CandidatePlan, reasons: Bits, required_gal: Array, loads: Loads) -> Array:
    """Return by trip by how much its heaviest leg is over at lift-off, at the best hour and itinerary. [lb]"""
    rows = plan.rows
    allowed_gal = np.minimum(plan.aircraft.max_fuel_gal(loads.zero_fuel_lb[rows.trip]), plan.fuel.usable_gal)
    over_lb = np.maximum(required_gal - plan.fuel.taxi_gal - allowed_gal[:, None], 0.0) * plan.fuel.lb_per_gal
    best_lb = np.where((reasons & np.uint32(OTHER_BITS)) == 0, over_lb, np.inf).min(axis=1)
    of_option = np.maximum.reduceat(best_lb, plan.options.first_row[:-1])
    of_leg = np.full(int(rows.leg.max(initial=-1)) + 1, np.inf)
    np.minimum.at(of_leg, plan.options.leg, of_option)
    out = np.zeros(len(loads.zero_fuel_lb))
    np.maximum.at(out, rows.trip, of_leg[rows.leg])
    return out


def take_loads(loads: Loads, trips: Ints) -> Loads:
    """Return the loads of some trips."""
    return Loads(*(getattr(loads, name)[trips] for name in LOADS))


def _with(loads: Loads, trips: Ints, lighter: Loads) -> Loads:
    """Return loads with those of some trips in their place."""
    def put(values: Array, new: Array) -> Array:
        out = values.copy()
        out[trips] = new
        return out

    return Loads(*(put(getattr(loads, name), getattr(lighter, name)) for name in LOADS))


def _fitting(plan: CandidatePlan, schedule: Schedule, reasons: Bits, required_gal: Array, loads: Loads,
             twice: TwiceFlown) -> Ints:
    """Return the trips every leg of which has an itinerary and an hour in which the load fits, for both of two runs."""
    rows, fuel, first = plan.rows, plan.fuel, plan.options.first_row[:-1]
    zero_lb = loads.zero_fuel_lb[rows.trip]
    allowed_gal = np.minimum(plan.aircraft.max_fuel_gal(zero_lb), fuel.usable_gal)
    landing_lb = (zero_lb + fuel.reserve_h * plan.table.reserve_flow_gph * fuel.lb_per_gal)[:, None]
    fits = (reasons & np.uint32(OTHER_BITS)) == 0
    fits &= (required_gal - fuel.taxi_gal <= allowed_gal[:, None]) & (landing_lb <= plan.aircraft.max_landing_lb)
    planned_gal = required_gal[np.arange(len(rows.trip)), schedule.planned_column[1][rows.leg]]
    fits &= (fitting_bits(plan, loads, planned_gal) == 0)[:, None]
    hour = np.logical_and.reduceat(fits, first, axis=0) & schedule.looks.open_[plan.options.leg]
    hour[twice.with_stops()] = False
    by_leg = np.zeros((len(schedule.trip), hour.shape[1]), dtype=bool)
    np.logical_or.at(by_leg, plan.options.leg, hour)
    by_leg[twice.leg] = twice.through((~by_leg[twice.leg]).astype(np.uint32)) == 0
    some = by_leg.any(axis=1)
    return np.flatnonzero(np.logical_and.reduceat(some, schedule.first_leg[:-1]))


def fitting_bits(plan: CandidatePlan, loads: Loads, fuel_gal: Array) -> Bits:
    """Return bits for seats, bag limits and balance, by row; balance at some fuel, on landing and dry."""
    trip = plan.rows.trip
    bits = np.where(loads.seats_ok[trip], 0, BIT[Reason.SEATS]) | np.where(loads.bags_ok[trip], 0, BIT[Reason.PAYLOAD])
    weight_lb, moment_lb_in = loads.zero_fuel_lb[trip], loads.zero_fuel_moment_lb_in[trip]
    reserve_gal = plan.fuel.reserve_h * plan.table.reserve_flow_gph
    gallons = np.minimum(np.stack([fuel_gal, reserve_gal, np.zeros(len(trip))]), plan.fuel.usable_gal)
    inside = plan.aircraft.balance_ok(*np.broadcast_arrays(weight_lb, moment_lb_in, gallons)).all(axis=0)
    bits |= np.where(inside, 0, BIT[Reason.BALANCE])
    return bits.astype(np.uint32)


def without(people_lb: Array, bags_lb: Array, adults: Ints, apart: int) -> tuple[Array, Array]:
    """Return weights with so many adults less, the last ones but never the pilot, and their share of the bags.

    Parameters
    ----------
    people_lb : (n, seats) array   Pilot, other adults, children; 0 for nobody.
    bags_lb : (n,) array           What is shared by all.
    """
    people, place = (people_lb > 0.0).sum(axis=1), np.arange(people_lb.shape[1])[None, :]
    gone = (place < adults[:, None]) & (place >= adults[:, None] - apart) & (place > 0)
    return np.where(gone, 0.0, people_lb), bags_lb * (1.0 - gone.sum(axis=1) / np.maximum(people, 1))


