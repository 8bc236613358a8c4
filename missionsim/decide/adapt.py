"""The party adapts when load or seats do not fit: gear stays behind, some go by car; only where a leg fails with all.

Whatever a trip does, it does on all its legs, and it bears the mark.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array, Bits, Bools, Codes, Ints
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
    no load gets lighter than by this, so that none that is farther over is weighed, nor is one whose bags surely find
    no `room` [n]. `second`, `follow`: in two runs, loads of the lighter one, which must fit too, and how many [n] come
    with the second beside the pilot.
    """

    how: Adaptation
    trips: Ints
    loads: Callable[[Ints], Loads]
    apart: Ints
    sheds_lb: float = np.inf
    room: Bools | None = None
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
    """Return the trips of which some leg fails for its load alone, in every hour and by every itinerary.

    `option_bits` [hour, choice].
    """
    blocks = plan.cells.legs
    leg_of = blocks.leg.take(blocks.block)

    def some(bits: int) -> Bools:
        """Tell which legs have an hour and an itinerary without any of these bits."""
        found = np.zeros(len(schedule.trip), dtype=bool)
        without = ((option_bits & np.uint32(bits)) == 0) & blocks.open_.take(blocks.block, axis=1)
        found[leg_of[without.any(axis=0)]] = True
        return found

    stuck = ~some(LOAD_BITS | OTHER_BITS)
    if not stuck.any():
        return np.zeros(0, dtype=np.int64)
    by_load = some(OTHER_BITS)
    short = np.zeros(schedule.trips, dtype=bool)
    short[schedule.trip[stuck & by_load]] = True
    # A leg that nothing helps keeps its trip at home whatever is left behind.
    short[schedule.trip[stuck & ~by_load]] = False
    return np.flatnonzero(short)


def adapted(plan: CandidatePlan, schedule: Schedule, reasons: Bits, required_gal: Array, loads: Loads, short: Ints,
            ways: LighterWays) -> tuple[Loads, Adapted]:
    """Return loads of which those that did not fit are lightened as far as they must be, and how.

    Parameters
    ----------
    reasons, required_gal : [hour, cell]  Fully loaded; a lighter flight needs no more fuel.
    short : (n,) array                    Trips whose load does not fit.
    ways : callable                       What may be done, in the order of trying.
    """
    found, left = Adapted.none(len(loads.zero_fuel_lb)), np.zeros(schedule.trips, dtype=bool)
    left[short] = True
    over_lb: Array | None = None
    for way in ways(short):
        helped = left[way.trips] if way.room is None else left[way.trips] & way.room
        if way.how == Adaptation.GEAR_LEFT:     # which frees no seat
            helped &= loads.seats_ok[way.trips]
        if helped.any() and way.sheds_lb < np.inf:
            if over_lb is None:
                over_lb = _over_lb(plan, schedule, reasons, required_gal, loads, short)
            helped &= over_lb[way.trips] <= way.sheds_lb + 1e-6
        asked = np.flatnonzero(helped)
        if not len(asked):
            continue
        tried = _with(loads, way.trips[asked], way.loads(asked))
        how = np.zeros(schedule.trips, dtype=np.uint8)
        how[way.trips] = way.how
        twice = TwiceFlown.of_trips(plan, schedule, how)
        good = _fitting(plan, schedule, reasons, required_gal, tried, twice, way.trips[asked])
        if way.second is not None:
            other = _with(loads, way.trips[asked], way.second(asked))
            good = _fitting(plan, schedule, reasons, required_gal, other, twice, good)
        if not len(good):
            continue
        left[good] = False
        taken = helped & ~left[way.trips]
        loads = _with(loads, good, take_loads(tried, good))
        found.how[way.trips[taken]], found.apart[way.trips[taken]] = way.how, way.apart[taken]
        if way.follow is not None:
            found.follow[way.trips[taken]] = way.follow[taken]
        if not left.any():
            break
    return loads, found


def _over_lb(plan: CandidatePlan, schedule: Schedule, reasons: Bits, required_gal: Array, loads: Loads, trips: Ints,
             ) -> Array:
    """Return by trip by how much its heaviest leg is over at lift-off, at the best hour and itinerary. [lb]

    Nothing for other trips than those asked about.
    """
    rows, cells = plan.rows, plan.cells
    asked = np.zeros(len(loads.zero_fuel_lb), dtype=bool)
    asked[trips] = True
    some = np.flatnonzero(asked[rows.trip].take(cells.row))
    row = cells.row[some]
    allowed_gal = np.minimum(plan.aircraft.max_fuel_gal(loads.zero_fuel_lb[rows.trip[row]]), plan.fuel.usable_gal)
    over_lb = np.maximum(required_gal.take(some, axis=1) - plan.fuel.taxi_gal - allowed_gal, 0.0) * plan.fuel.lb_per_gal
    goes = ((reasons.take(some, axis=1) & np.uint32(OTHER_BITS)) == 0) & cells.open_.take(some, axis=1)
    best_lb = np.full(len(rows.trip), np.inf)
    np.minimum.at(best_lb, row, np.where(goes, over_lb, np.inf).min(axis=0))
    of_option = np.maximum.reduceat(best_lb[cells.same], plan.options.first_row[:-1])
    of_leg = np.full(len(schedule.trip), np.inf)
    np.minimum.at(of_leg, plan.options.leg, of_option)
    out = np.zeros(len(loads.zero_fuel_lb))
    np.maximum.at(out, rows.trip[row], of_leg[cells.leg[some]])
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
             twice: TwiceFlown, trips: Ints) -> Ints:
    """Return which of some trips have, for every leg, an itinerary and an hour in which the load fits, in both runs."""
    cells, blocks = plan.cells, plan.cells.legs
    asked = np.zeros(schedule.trips, dtype=bool)
    asked[trips] = True
    some = np.flatnonzero(asked[schedule.trip].take(cells.leg))
    fits = ((reasons.take(some, axis=1) & np.uint32(OTHER_BITS)) == 0) & cells.open_.take(some, axis=1)
    fits &= _room(plan, required_gal, loads, some)
    # Of other trips nothing is known to fit.
    every = np.zeros(reasons.shape, dtype=bool)
    every[:, some] = fits
    choice = blocks.of_flights(np.logical_and, every)
    if len(twice.leg):
        choice[:, np.isin(blocks.option, twice.with_stops())] = False
    hour = np.logical_or.reduceat(choice, blocks.first, axis=1)
    hour = twice.through((~hour).astype(np.uint32)) == 0
    leg = np.zeros(len(schedule.trip), dtype=bool)
    leg[blocks.legs] = np.logical_or.reduceat(hour.any(axis=0), blocks.leg_first)
    return np.flatnonzero(np.logical_and.reduceat(leg, schedule.first_leg[:-1]))


def _room(plan: CandidatePlan, required_gal: Array, loads: Loads, some: Ints) -> Bools:
    """Tell where loads fit in weight, seats, bags and balance, [hour, n], in some cells."""
    fuel, row = plan.fuel, plan.cells.row[some]
    zero_lb = loads.zero_fuel_lb[plan.rows.trip[row]]
    allowed_gal = np.minimum(plan.aircraft.max_fuel_gal(zero_lb), fuel.usable_gal)
    landing_lb = zero_lb + fuel.reserve_h * plan.table.reserve_flow_gph[row] * fuel.lb_per_gal
    rows = np.unique(row)
    fitting = np.zeros(len(plan.rows.trip), dtype=bool)
    fitting[rows] = fitting_bits(plan, loads, rows, required_gal.take(plan.cells.planned[rows])) == 0
    fits = required_gal.take(some, axis=1) - fuel.taxi_gal <= allowed_gal
    fits &= (landing_lb <= plan.aircraft.max_landing_lb) & fitting[row]
    return fits


def fitting_bits(plan: CandidatePlan, loads: Loads, rows: Ints, fuel_gal: Array) -> Bits:
    """Return bits for seats, bag limits and balance, of some rows; balance at some fuel, on landing and dry.

    Parameters
    ----------
    plan : CandidatePlan
    loads : Loads          By trip.
    rows : (n,) array      Rows asked about.
    fuel_gal : (n,) array  At the start. [gal]
    """
    trip = plan.rows.trip[rows]
    bits = np.where(loads.seats_ok[trip], 0, BIT[Reason.SEATS]) | np.where(loads.bags_ok[trip], 0, BIT[Reason.PAYLOAD])
    weight_lb, moment_lb_in = loads.zero_fuel_lb[trip], loads.zero_fuel_moment_lb_in[trip]
    reserve_gal = plan.fuel.reserve_h * plan.table.reserve_flow_gph[rows]
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


