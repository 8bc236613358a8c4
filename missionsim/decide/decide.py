"""From air and weather to decisions: what each leg may do in each departure slot of one replication."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from missionsim.base.arrays import Array, Bits, Bools, Ints
from missionsim.base.memory import let_go
from missionsim.base.words import ASLEEP, BIT, STRUCTURAL, Mark, Reason
from missionsim.decide.adapt import Adapted, LighterWays, adapted, fitting_bits, short_of_room
from missionsim.decide.candidate_plan import CandidatePlan, Loads, weight_before_tanks
from missionsim.decide.enroute_weather import ridge_bits
from missionsim.decide.runways import climb_bits, landing_bits, takeoff_bits
from missionsim.decide.surface_weather import LegWeather, Sky
from missionsim.decide.two_runs import TwiceFlown
from missionsim.flight.batch import AirOnRoutes, Plans, plan_cells
from missionsim.flight.stops import FORCED_H
from missionsim.year.decisions import Decisions
from missionsim.year.looked_slots import AIR_SLOTS
from missionsim.year.schedule import Schedule

STRUCTURAL_BITS = sum(BIT[reason] for reason in STRUCTURAL)
OVER_COMFORT_H = 100.0
"""A flight longer than people sit through counts so much longer: it is flown where there is no stop. [h]"""
IMPOSSIBLE_H = 1e6
MARGINAL_H = 1e4
"""A flight on an own rule met marginally counts so much longer: one that meets all of them goes before it. [h]"""


@dataclass(frozen=True, slots=True)
class RowPlans:
    """Plans by cell (a row in a block of hours) of one replication: what an itinerary's flights are flown with.

    `plans` [cell]; `required_gal` [hour, cell]: fuel on board that the flight needs at start; `allowed_gal` [row];
    `takeoff_lb`, `reasons` [hour, cell]; `marginal` [hour, cell]: bits of the pilot's own rules that are met within
    their tolerance only. `detour_share` [hour, block looked at]: what way around storms adds to time and fuel.
    `gave_up`: what trips gave up whose load did not fit.
    """

    plans: Plans
    required_gal: Array
    allowed_gal: Array
    takeoff_lb: Array
    reasons: Bits
    marginal: Bits
    loads: Loads
    detour_share: Array
    gave_up: Adapted


@dataclass(frozen=True, slots=True)
class OptionTimes:
    """Itineraries: flight hours, block hours with stops, what discomfort counts; arrays [choice].

    `counted_h`: the block hours, or more by what fuel counts in hours where the study wants it cheap.
    """

    flight_h: Array
    block_h: Array
    discomfort_h: Array
    counted_h: Array


def decide(plan: CandidatePlan, schedule: Schedule, air: AirOnRoutes, sky: Sky, weather: LegWeather,
           loads: Loads, ways: LighterWays | None = None) -> tuple[Decisions, RowPlans]:
    """Return what a candidate may do in a replication, and the flight plans behind it.

    Parameters
    ----------
    plan : CandidatePlan
    schedule : Schedule
    air : AirOnRoutes         In the candidate's cells.
    sky : Sky                 Surface weather of the replication at all places.
    weather : LegWeather      What weather says about the candidate's legs by slot.
    loads : Loads             Weights by trip.
    ways : callable, optional What trips may do whose load does not fit; see `adapt`.
    """
    row_plans = _plan_rows(plan, schedule, air, sky, weather, loads)
    option_bits = plan.cells.legs.of_flights(np.bitwise_or, row_plans.reasons)
    if ways is not None:
        short = short_of_room(plan, schedule, option_bits)
        if len(short):
            let_go()
            loads, gave_up = adapted(plan, schedule, row_plans.reasons, row_plans.required_gal, loads, short, ways)
            if gave_up.how.any():
                row_plans = _planned_again(plan, schedule, air, sky, weather, loads, gave_up, row_plans)
                option_bits = plan.cells.legs.of_flights(np.bitwise_or, row_plans.reasons)
    let_go()
    return _decided(plan, schedule, weather, row_plans, option_bits), row_plans


def _decided(plan: CandidatePlan, schedule: Schedule, weather: LegWeather, row_plans: RowPlans, option_bits: Bits,
             ) -> Decisions:
    """Return what legs may do, by the best itinerary of each hour."""
    blocks, twice = plan.cells.legs, TwiceFlown.of_trips(plan, schedule, row_plans.gave_up.how)
    if len(twice.leg):
        option_bits[:, np.isin(blocks.option, twice.with_stops())] |= np.uint32(BIT[Reason.PAYLOAD])
    times, bits = _option_times(plan, row_plans.plans), option_bits | _visual_bits(plan, weather)
    marginal = blocks.of_flights(np.bitwise_or, row_plans.marginal)
    best = _best_choice(plan, bits, marginal, times)
    option, at = blocks.option.take(best), best + len(blocks.option) * np.arange(AIR_SLOTS)[:, None]
    own, own_rules = twice.through(option_bits.take(at)), marginal.take(at)
    reasons = twice.through(bits.take(at) | blocks.of_hours(weather.reasons))
    if weather.marginal is not None:
        own_rules |= blocks.of_hours(weather.marginal)
    own_rules |= twice.second(own_rules)
    flight_h, block_h = times.flight_h.take(best), times.block_h.take(best)
    detour_h = flight_h * blocks.of_hours(weather.detour_share)
    flight_h, block_h = twice.hours(flight_h + detour_h, block_h + detour_h)
    awake = schedule.awake(blocks.leg, blocks.slot, block_h, flight_h > plan.pilot.limits.max_flight_per_day_h)
    reasons |= np.where(awake, np.uint32(0), np.uint32(ASLEEP))
    gave_up = (row_plans.gave_up.how != 0)[schedule.trip[blocks.leg]] | _stops_for_load(plan, best, option_bits, times)
    marks = np.where(own_rules != 0, np.uint8(Mark.MARGINAL), np.uint8(0))
    marks |= np.where(gave_up, np.uint8(Mark.ADAPTED), np.uint8(0))
    by_hour: dict[str, Array | None] = {
        "reasons": reasons, "option": option.astype(np.int16), "block_h": block_h, "flight_h": flight_h,
        "below": twice.of_either(blocks.of_hours(weather.below)), "marks": marks,
        "ends": twice.of_either(_of_visual(plan, option, weather.ends)),
        "met_below": twice.of_either(_of_visual(plan, option, weather.met_below))}
    whole: dict[str, Any] = {name: None if values is None else blocks.spread(values, ASLEEP if name == "reasons" else 0)
                             for name, values in by_hour.items()}
    planned = blocks.planned
    return Decisions(
        **whole, next_go=_next_go(whole["reasons"] == 0), structural=_structural(plan, schedule, own),
        early_look=weather.bad_ahead | (own.take(planned) != 0) | ~awake.take(planned),
        evening_look=np.zeros(len(planned), dtype=bool) if weather.low_ahead is None else weather.low_ahead,
        diverts=weather.diverts, fair=weather.fetched)


def _plan_rows(plan: CandidatePlan, schedule: Schedule, air: AirOnRoutes, sky: Sky, weather: LegWeather,
               loads: Loads) -> RowPlans:
    rows, table, cells, fuel = plan.rows, plan.table, plan.cells, plan.fuel
    zero_fuel_lb = loads.zero_fuel_lb[rows.trip]
    plans = plan_cells(table, cells.row, air, plan.level_limits, table.heavier_lb(zero_fuel_lb), fuel.price_h_per_gal,
                       weather.blocked_levels)
    fixed_gal = fuel.taxi_gal + fuel.approach_gal + fuel.reserve_h * table.reserve_flow_gph
    cruise_gal = plans.fuel_gal
    if weather.detour_share.any():
        cruise_gal = cruise_gal * (1.0 + cells.of_hours(weather.detour_share))
    required_gal = cruise_gal + fixed_gal.take(cells.row) + cells.of_hours(weather.alternate_gal)
    allowed_gal = np.minimum(plan.aircraft.max_fuel_gal(zero_fuel_lb), fuel.usable_gal)
    # The take-off limit counts at lift-off, with the taxi fuel burned.
    lifted_gal = required_gal - fuel.taxi_gal
    takeoff_lb = zero_fuel_lb.take(cells.row) + lifted_gal * fuel.lb_per_gal
    landing_lb = takeoff_lb - (cruise_gal + fuel.approach_gal) * fuel.lb_per_gal
    heavy = (lifted_gal > allowed_gal.take(cells.row)) & ~(required_gal > fuel.usable_gal)
    heavy |= landing_lb > plan.aircraft.max_landing_lb
    heavy |= weight_before_tanks(required_gal, allowed_gal.take(cells.row), fuel.usable_gal)
    bits = np.where(heavy, np.uint32(BIT[Reason.PAYLOAD]), np.uint32(0))
    bits |= np.where(required_gal > fuel.usable_gal, np.uint32(BIT[Reason.RANGE]), np.uint32(0))
    bits |= plans.reasons | ridge_bits(plan, air)
    bits |= _fitting_of_rows(plan, loads, required_gal).take(cells.row)
    marginal = np.tile(np.where(plans.marginal, np.uint32(BIT[Reason.CLIMB]), np.uint32(0)), (AIR_SLOTS, 1))
    # A load that does not fit is not held against runways too: it may be lightened, and then take off.
    flown_lb = np.minimum(takeoff_lb, table.max_takeoff_lb)
    let_go()
    takeoff_bits(plan, schedule, sky, flown_lb, bits, marginal)
    landing_bits(plan, schedule, sky, flown_lb, plans, bits, marginal)
    climb_bits(plan, schedule, sky, flown_lb, bits)
    return RowPlans(plans, required_gal, allowed_gal, takeoff_lb, bits, marginal, loads, weather.detour_share,
                    Adapted.none(schedule.trips))


def _fitting_of_rows(plan: CandidatePlan, loads: Loads, required_gal: Array) -> Bits:
    """Return bits for seats, bag limits and balance, [row]; zero for rows without a cell."""
    cells, has_cells = plan.cells, np.zeros(len(plan.rows.trip), dtype=bool)
    has_cells[cells.row] = True
    bits, own = np.zeros(len(has_cells), dtype=np.uint32), np.flatnonzero(has_cells)
    bits[own] = fitting_bits(plan, loads, own, required_gal.take(cells.planned.take(own)))
    return bits


def _stops_for_load(plan: CandidatePlan, best: Ints, option_bits: Bits, times: OptionTimes) -> Bools:
    """Tell where a leg is flown with a stop although people would sit through it, because its load leaves no room.

    `best` [hour, block]: the choice flown; so is what is told.
    """
    blocks = plan.cells.legs
    stops = (np.diff(plan.options.first_row) > 1)[blocks.option]
    # All in the way of a flight without a stop is the load.
    only_load = (option_bits == np.uint32(BIT[Reason.PAYLOAD])) & (times.discomfort_h < OVER_COMFORT_H) & ~stops
    if not only_load.any():
        return np.zeros(best.shape, dtype=bool)
    return np.asarray(np.logical_or.reduceat(only_load, blocks.first, axis=1) & stops.take(best))


def _planned_again(plan: CandidatePlan, schedule: Schedule, air: AirOnRoutes, sky: Sky, weather: LegWeather,
                   loads: Loads, gave_up: Adapted, before: RowPlans) -> RowPlans:
    """Return plans of which those of trips that gave something up are made anew, with their other loads.

    Parameters
    ----------
    plan, schedule, air, sky, weather   As for `decide`.
    loads : Loads      With what those trips carry now.
    gave_up : Adapted  By trip.
    before : RowPlans  Fully loaded.
    """
    cells, blocked = plan.cells, weather.blocked_levels
    wanted = (gave_up.how != 0).take(schedule.trip).take(cells.looked.leg)
    some = np.flatnonzero(wanted.take(cells.block))
    part = _plan_rows(replace(plan, cells=cells.of_some(wanted)), schedule, air.of(some), sky,
                      replace(weather, blocked_levels=None if blocked is None else blocked.take(some, axis=0)), loads)

    def put(old: Any, new: Any, name: str) -> Array:
        out: Array = getattr(old, name).copy()
        out[..., some] = getattr(new, name)
        return out

    plans = Plans(**{field.name: put(before.plans, part.plans, field.name) for field in fields(Plans)})
    by_hour: dict[str, Any] = {name: put(before, part, name)
                               for name in ("required_gal", "takeoff_lb", "reasons", "marginal")}
    return replace(part, plans=plans, gave_up=gave_up, **by_hour)


def _visual_bits(plan: CandidatePlan, weather: LegWeather) -> Bits:
    """Return what stands in the way of itineraries flown under visual rules, by hour and choice."""
    blocks = plan.cells.legs
    out = np.zeros((AIR_SLOTS, len(blocks.option)), dtype=np.uint32)
    if weather.visual_reasons is not None:
        some = np.flatnonzero(plan.options.visual[blocks.option])
        out[:, some] = blocks.of_hours(weather.visual_reasons)[:, blocks.block[some]]
    return out


def _of_visual(plan: CandidatePlan, option: Ints, values: Array | None) -> Array | None:
    """Return values where the itinerary chosen is flown under visual rules, zero elsewhere.

    `values` [hour, block looked at]; `option` and those returned [hour, block].
    """
    return None if values is None else np.where(plan.options.visual[option], plan.cells.legs.of_hours(values),
                                                np.zeros((), values.dtype))


def _option_times(plan: CandidatePlan, plans: Plans) -> OptionTimes:
    blocks, times = plan.cells.legs, plan.times
    flights = np.diff(plan.options.first_row)
    hours = plans.flight_h + np.where(plans.reasons == 0, times.approach_h, 0.0)
    over = _over_comfort_h(plan, plan.cells.row, hours) + _short_hops_h(plan, flights)[plan.cells.row]
    flight_h, comfort = (blocks.of_flights(np.add, values) for values in (hours, over))
    ground_h = flights * times.taxi_h + (flights - 1) * times.ground_h
    block_h, price_h_per_gal = flight_h + ground_h[blocks.option], plan.fuel.price_h_per_gal
    counted_h = block_h
    if price_h_per_gal != 0.0:
        counted_h = block_h + price_h_per_gal * blocks.of_flights(np.add, plans.fuel_gal)
    return OptionTimes(flight_h, block_h, comfort, counted_h)


def _over_comfort_h(plan: CandidatePlan, row: Ints, hours: Array) -> Array:
    """Return what flights beyond the longest comfortable one count, [n]: up to a stop, then more. [h]

    `row` [n]: whose they are; `hours` [n]: how long they take. [h]
    """
    comfort_h, out = plan.rows.comfort_h.take(row), np.zeros(len(row))
    over = hours - comfort_h - 0.05
    some = np.flatnonzero(over > 0.0)
    over, spare_h = over.take(some), plan.assumptions["flight.comfort_spare_share"] * comfort_h.take(some)
    soft = plan.times.ground_h * np.divide(over, spare_h, out=np.full(over.shape, np.inf), where=spare_h > 0.0)
    out[some] = np.where(over <= spare_h, soft, OVER_COMFORT_H)
    return out


def _short_hops_h(plan: CandidatePlan, flights: Ints) -> Array:
    """Return what flights to or from a stop that are shorter than anybody wants count, [row]. [h]"""
    short = plan.table.rows.distance_nm < plan.assumptions["flight.shortest_hop_nm"]
    return np.where(short & (np.repeat(flights, flights) > 1), FORCED_H, 0.0)


def _best_choice(plan: CandidatePlan, bits: Bits, marginal: Bits, times: OptionTimes) -> Ints:
    """Return the best choice of each hour of a leg, [hour, block]; the first of those that are equal.

    Possible before not, own rules met in full before marginally, comfortable before not, and then quick.

    Quick, or cheap: a gallon counts as so many hours as the study's criterion says.
    """
    blocks = plan.cells.legs
    score = times.counted_h + (np.where(bits == 0, 0.0, IMPOSSIBLE_H) + times.discomfort_h)
    score += np.where(marginal == 0, 0.0, MARGINAL_H)
    least = np.minimum.reduceat(score, blocks.first, axis=1)
    choices = len(blocks.block)
    first = np.where(score == least.take(blocks.block, axis=1), np.arange(choices), choices)
    return np.minimum.reduceat(first, blocks.first, axis=1)


def _next_go(go: Bools) -> NDArray[np.int16]:
    """Return the first slot at or after each in which a leg goes, [leg, slots + 1]; `slots` where none is."""
    legs, slots = go.shape
    stops = np.ones((legs, slots + 1), dtype=bool)
    stops[:, :slots] = go
    # Each stop is the answer of all slots since the one before; every leg ends with one.
    at = np.flatnonzero(stops)
    return np.repeat((at % (slots + 1)).astype(np.int16), np.diff(at, prepend=-1)).reshape(legs, slots + 1)


def _structural(plan: CandidatePlan, schedule: Schedule, own: Bits) -> Bits:
    """Return, by trip, the structural bits that every slot of some leg's window carries; `own` [hour, block].

    Only what the aircraft itself cannot do: weather's bits are of the day even when they last all window.
    """
    blocks = plan.cells.legs
    own, every = own & np.uint32(STRUCTURAL_BITS), np.uint32(0xFFFFFFFF)
    always, some = (combine.reduceat(combine.reduce(np.where(blocks.open_, own, other), axis=0), blocks.leg_first)
                    for combine, other in ((np.bitwise_and, every), (np.bitwise_or, np.uint32(0))))
    stuck = np.logical_and.reduceat(((own != 0) | ~blocks.open_).all(axis=0), blocks.leg_first)
    by_leg = np.zeros(len(schedule.trip), dtype=np.uint32)
    by_leg[blocks.legs] = np.where(stuck, np.where(always != 0, always, some), np.uint32(0))
    return np.bitwise_or.reduceat(by_leg, schedule.first_leg[:-1])
