"""From air and weather to decisions: what each leg may do in each departure slot of one replication."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from missionsim.base.arrays import Array, Bits, Bools, Ints
from missionsim.base.words import ASLEEP, BIT, STRUCTURAL, Mark, Reason
from missionsim.decide.adapt import Adapted, LighterWays, adapted, fitting_bits, short_of_room
from missionsim.decide.candidate_plan import CandidatePlan, Loads
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
    """Plans by row and departure slot of one replication: what an itinerary's flights are flown with.

    Slots are the columns of `Schedule.looks`. `plans` are by block of AIR_SLOTS columns; `required_gal` [row, slot] is
    the fuel on board that the flight needs at start; `takeoff_lb` [row, slot]; `reasons` [row, slot]; `marginal`
    [row, slot]: bits of the pilot's own rules that are met within their tolerance only. `detour_share` [leg, slot]:
    what way around storms adds to time and fuel. `gave_up`: what trips gave up whose load did not fit.
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
    row_plans, option_bits = _fully_loaded(plan, schedule, air, sky, weather, loads)
    if ways is not None:
        short = short_of_room(plan, schedule, option_bits)
        if len(short):
            loads, gave_up = adapted(plan, schedule, row_plans.reasons, row_plans.required_gal, loads, short, ways)
            if gave_up.how.any():
                row_plans, option_bits = _fully_loaded(plan, schedule, air, sky, weather, loads,
                                                       gave_up.how != 0, row_plans)
                row_plans = replace(row_plans, gave_up=gave_up)
    looks, twice = schedule.looks, TwiceFlown.of_trips(plan, schedule, row_plans.gave_up.how)
    option_bits[twice.with_stops()] |= np.uint32(BIT[Reason.PAYLOAD])
    times = _option_times(plan, row_plans.plans)
    visual_bits = _visual_bits(plan, weather)
    marginal = np.bitwise_or.reduceat(row_plans.marginal, plan.options.first_row[:-1], axis=0)
    best = _best_option(plan, option_bits | visual_bits, marginal, times)
    option = plan.options.of_leg[np.arange(len(best))[:, None], best]
    slot = np.arange(looks.columns)[None, :]
    own = option_bits[option, slot]
    detour_h = times.flight_h[option, slot] * weather.detour_share
    flight_h, block_h = times.flight_h[option, slot] + detour_h, times.block_h[option, slot] + detour_h
    flight_h[twice.leg], block_h[twice.leg] = twice.hours(flight_h[twice.leg], block_h[twice.leg])
    awake = schedule.awake(block_h, flight_h > plan.pilot.limits.max_flight_per_day_h)
    inside = looks.open_
    awake &= inside
    reasons = np.where(inside, own | visual_bits[option, slot] | weather.reasons, 0).astype(np.uint32)
    own[twice.leg], reasons[twice.leg] = twice.through(own[twice.leg]), twice.through(reasons[twice.leg])
    reasons |= np.where(awake, np.uint32(0), np.uint32(ASLEEP))
    own_rules = marginal[option, slot]
    if weather.marginal is not None:
        own_rules |= weather.marginal
    own_rules[twice.leg] |= twice.second(own_rules[twice.leg])
    gave_up = (row_plans.gave_up.how != 0)[schedule.trip][:, None] | _stops_for_load(plan, option, option_bits, times)
    marks = np.where(own_rules != 0, np.uint8(Mark.MARGINAL), np.uint8(0))
    marks |= np.where(gave_up, np.uint8(Mark.ADAPTED), np.uint8(0))
    planned = schedule.planned_column
    by_slot = {
        "reasons": reasons, "option": option.astype(np.int16), "block_h": block_h, "flight_h": flight_h,
        "below": weather.below, "ends": _of_visual(plan, option, weather.ends),
        "met_below": _of_visual(plan, option, weather.met_below), "marks": marks}
    if len(twice.leg):
        by_slot |= {name: twice.of_either(by_slot[name]) for name in ("below", "ends", "met_below")}
    whole: dict[str, Any] = {name: None if values is None else looks.spread(values, ASLEEP if name == "reasons" else 0)
                             for name, values in by_slot.items()}
    decisions = Decisions(
        **whole, next_go=_next_go(whole["reasons"] == 0), structural=_structural(schedule, own),
        early_look=weather.bad_ahead | (own[planned] != 0) | ~awake[planned],
        evening_look=np.zeros(len(best), dtype=bool) if weather.low_ahead is None else weather.low_ahead,
        diverts=weather.diverts, fair=weather.fetched)
    return decisions, row_plans


def _fully_loaded(plan: CandidatePlan, schedule: Schedule, air: AirOnRoutes, sky: Sky, weather: LegWeather,
                  loads: Loads, again: Bools | None = None, before: RowPlans | None = None,
                  ) -> tuple[RowPlans, Bits]:
    """Return plans of all rows and bits of all options; only trips of `again` are planned anew where that is given."""
    found = _plan_rows(plan, schedule, air, sky, weather, loads, again, before)
    return found, np.bitwise_or.reduceat(found.reasons, plan.options.first_row[:-1], axis=0)


def _plan_rows(plan: CandidatePlan, schedule: Schedule, air: AirOnRoutes, sky: Sky, weather: LegWeather,
               loads: Loads, again: Bools | None = None, before: RowPlans | None = None) -> RowPlans:
    rows, table = plan.rows, plan.table
    zero_fuel_lb = loads.zero_fuel_lb[rows.trip]
    difference_lb = table.heavier_lb(zero_fuel_lb)
    if again is None or before is None:
        plans = _planned(plan, air, difference_lb, weather)
    else:
        plans = _planned_again(plan, air, difference_lb, weather, again, before.plans)
    reserve_gal = plan.fuel.reserve_h * table.reserve_flow_gph
    fixed_gal = (plan.fuel.taxi_gal + plan.fuel.approach_gal + reserve_gal)[:, None]
    cruise_gal = _hourly(plans.fuel_gal)
    if weather.detour_share.any():
        cruise_gal = cruise_gal * (1.0 + weather.detour_share[rows.leg])
    required_gal = cruise_gal + fixed_gal + weather.alternate_gal[rows.leg]
    allowed_gal = np.minimum(plan.aircraft.max_fuel_gal(zero_fuel_lb), plan.fuel.usable_gal)
    takeoff_lb = zero_fuel_lb[:, None] + (required_gal - plan.fuel.taxi_gal) * plan.fuel.lb_per_gal
    bits = _hourly(plans.reasons)
    # The take-off limit counts at lift-off, with the taxi fuel burned.
    over = required_gal - plan.fuel.taxi_gal > allowed_gal[:, None]
    bits |= np.where(required_gal > plan.fuel.usable_gal, np.uint32(BIT[Reason.RANGE]),
                     np.where(over, np.uint32(BIT[Reason.PAYLOAD]), np.uint32(0)))
    landing_lb = takeoff_lb - (cruise_gal + plan.fuel.approach_gal) * plan.fuel.lb_per_gal
    bits |= np.where(landing_lb > plan.aircraft.max_landing_lb, np.uint32(BIT[Reason.PAYLOAD]), np.uint32(0))
    planned_gal = required_gal[np.arange(len(rows.trip)), schedule.planned_column[1][rows.leg]]
    bits |= fitting_bits(plan, loads, planned_gal)[:, None]
    bits |= ridge_bits(plan, air)
    marginal = np.where(_hourly(plans.marginal), np.uint32(BIT[Reason.CLIMB]), np.uint32(0))
    # A load that does not fit is not held against runways too: it may be lightened, and then take off.
    flown_lb = np.minimum(takeoff_lb, table.max_takeoff_lb)
    takeoff_bits(plan, schedule, sky, flown_lb, bits, marginal)
    landing_bits(plan, schedule, sky, flown_lb, plans, bits, marginal)
    climb_bits(plan, schedule, sky, flown_lb, bits)
    return RowPlans(plans, required_gal, allowed_gal, takeoff_lb, bits, marginal, loads, weather.detour_share,
                    Adapted.none(schedule.trips))


def _stops_for_load(plan: CandidatePlan, option: Ints, option_bits: Bits, times: OptionTimes,
                    ) -> Bools:
    """Tell where a leg is flown with a stop although people would sit through it, because its load leaves no room."""
    stops = np.diff(plan.options.first_row) > 1
    # All in the way of a flight without a stop is the load.
    only_load = (option_bits == np.uint32(BIT[Reason.PAYLOAD])) & (times.discomfort_h < OVER_COMFORT_H)
    only_load &= ~stops[:, None]
    if not only_load.any():
        return np.zeros(option.shape, dtype=bool)
    of_leg = plan.options.of_leg
    heavy = (only_load[of_leg] & (of_leg >= 0)[:, :, None]).any(axis=1)
    return np.asarray(heavy & stops[option])


def _planned(plan: CandidatePlan, air: AirOnRoutes, difference_lb: Array, weather: LegWeather) -> Plans:
    """Return plans by row and block; zero where nobody looks."""
    cells = plan.cells
    plans = plan_cells(plan.table, cells.row, air, plan.level_limits, difference_lb, plan.fuel.price_h_per_gal,
                       weather.blocked_levels)
    return Plans(**{part.name: cells.spread(getattr(plans, part.name), len(plan.rows.leg)) for part in fields(Plans)})


def _planned_again(plan: CandidatePlan, air: AirOnRoutes, difference_lb: Array, weather: LegWeather,
                   again: Bools, before: Plans) -> Plans:
    """Return plans of which those of some trips are made anew, with their other weight."""
    cells, blocked = plan.cells, weather.blocked_levels
    some = np.flatnonzero(again[plan.rows.trip][cells.row])
    plans = plan_cells(plan.table, cells.row[some], air.mapped(lambda values: values[some]), plan.level_limits,
                       difference_lb, plan.fuel.price_h_per_gal, None if blocked is None else blocked[some])

    def put(old: Array, new: Array) -> Array:
        out = old.copy()
        out.reshape(-1)[cells.at[some]] = new
        return out

    return Plans(**{part.name: put(getattr(before, part.name), getattr(plans, part.name)) for part in fields(Plans)})


def _hourly(values: Array) -> Array:
    return np.repeat(values, AIR_SLOTS, axis=1)


@dataclass(frozen=True, slots=True)
class OptionTimes:
    """Itineraries by option and slot: flight hours, block hours with stops, what discomfort counts, fuel."""

    flight_h: Array
    block_h: Array
    discomfort_h: Array
    fuel_gal: Array


def _visual_bits(plan: CandidatePlan, weather: LegWeather) -> Bits:
    """Return what stands in the way of itineraries flown under visual rules, by option and slot."""
    if weather.visual_reasons is None:
        return np.zeros((len(plan.options.leg), weather.reasons.shape[1]), dtype=np.uint32)
    return np.where(plan.options.visual[:, None], weather.visual_reasons[plan.options.leg], np.uint32(0))


def _of_visual(plan: CandidatePlan, option: Ints, values: Array | None) -> Array | None:
    """Return values [leg, slot] where the itinerary chosen is flown under visual rules, zero elsewhere."""
    return None if values is None else np.where(plan.options.visual[option], values, np.zeros((), values.dtype))


def _option_times(plan: CandidatePlan, plans: Plans) -> OptionTimes:
    first = plan.options.first_row[:-1]
    flights = np.diff(plan.options.first_row)
    hours = plans.flight_h + np.where(plans.reasons == 0, plan.times.approach_h, 0.0)
    over = _over_comfort_h(plan, hours) + _short_hops_h(plan, flights)[:, None]
    flight_h = np.add.reduceat(hours, first, axis=0)
    ground_h = flights * plan.times.taxi_h + (flights - 1) * plan.times.ground_h
    block_h = flight_h + ground_h[:, None]
    comfort = np.add.reduceat(over, first, axis=0)
    fuel_gal = np.add.reduceat(plans.fuel_gal, first, axis=0)
    return OptionTimes(*(_hourly(values) for values in (flight_h, block_h, comfort, fuel_gal)))


def _over_comfort_h(plan: CandidatePlan, hours: Array) -> Array:
    """Return what flights beyond the longest comfortable one count, [row, slot]: up to a stop, then more. [h]"""
    spare_h = plan.assumptions["flight.comfort_spare_share"] * plan.rows.comfort_h[:, None]
    over = np.maximum(hours - plan.rows.comfort_h[:, None] - 0.05, 0.0)
    soft = plan.times.ground_h * np.divide(over, spare_h, out=np.full(over.shape, np.inf), where=spare_h > 0.0)
    return np.where(over == 0.0, 0.0, np.where(over <= spare_h, soft, OVER_COMFORT_H))


def _short_hops_h(plan: CandidatePlan, flights: Ints) -> Array:
    """Return what flights to or from a stop that are shorter than anybody wants count, [row]. [h]"""
    short = plan.table.rows.distance_nm < plan.assumptions["flight.shortest_hop_nm"]
    return np.where(short & (np.repeat(flights, flights) > 1), FORCED_H, 0.0)


def _best_option(plan: CandidatePlan, bits: Bits, marginal: Bits, times: OptionTimes) -> Array:
    """Return the best option's place in each leg's list, [leg, slot].

    Possible before not, own rules met in full before marginally, comfortable before not, and then quick.

    Quick, or cheap: a gallon counts as so many hours as the study's criterion says.
    """
    score = times.block_h + plan.fuel.price_h_per_gal * times.fuel_gal
    score += np.where(bits == 0, 0.0, IMPOSSIBLE_H) + times.discomfort_h
    score += np.where(marginal == 0, 0.0, MARGINAL_H)
    score = np.vstack([score, np.full((1, score.shape[1]), 2 * IMPOSSIBLE_H)])
    of_leg = plan.options.of_leg
    best = np.zeros((len(of_leg), score.shape[1]), dtype=np.int64)
    several = np.flatnonzero((of_leg >= 0).sum(axis=1) > 1)
    best[several] = np.argmin(score[of_leg[several]], axis=1)
    return best


def _next_go(go: Bools) -> NDArray[np.int16]:
    legs, slots = go.shape
    index = np.where(go, np.arange(slots, dtype=np.int16)[None, :], np.int16(slots))
    full = np.concatenate([index, np.full((legs, 1), slots, dtype=np.int16)], axis=1)
    return np.minimum.accumulate(full[:, ::-1], axis=1)[:, ::-1]


def _structural(schedule: Schedule, own: Bits) -> Bits:
    """Return, by trip, the structural bits that every slot of some leg's window carries.

    Only what the aircraft itself cannot do: weather's bits are of the day even when they last all window.
    """
    own, inside = own & np.uint32(STRUCTURAL_BITS), schedule.looks.open_
    always = np.bitwise_and.reduce(np.where(inside, own, np.uint32(0xFFFFFFFF)), axis=1)
    stuck = ((own != 0) | ~inside).all(axis=1)
    some = np.bitwise_or.reduce(np.where(inside, own, np.uint32(0)), axis=1)
    by_leg = np.where(stuck, np.where(always != 0, always, some), np.uint32(0)).astype(np.uint32)
    return np.bitwise_or.reduceat(by_leg, schedule.first_leg[:-1])
