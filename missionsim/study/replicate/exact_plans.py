"""Flights of a candidate judged exactly: plan, fuel, weights, balance and the runways at both ends, with the margins.

Rows are those of a candidate prepared for a study, so that a single leg and a year's batch share routes, levels, fuel
policy and rules; only here no runway is taken as plainly long enough and no weight as nearly right.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from missionsim.aircraft.loading import inside, weight_and_cg
from missionsim.aircraft.runway import choose_end
from missionsim.base.arrays import Array, Bits, Bools, Ints
from missionsim.base.axes import take
from missionsim.base.words import BIT, Reason
from missionsim.decide.candidate_plan import CandidatePlan, Loads, weight_before_tanks
from missionsim.decide.surface_weather import Sky
from missionsim.flight.batch import AirOnRoutes
from missionsim.flight.leg import ExactLoads, ExactPlans, exact_plans
from missionsim.study.prepare.aircraft import Equipped
from missionsim.study.prepare.network import Places
from missionsim.study.prepare.runways import rows_at


@dataclass(frozen=True, slots=True)
class FieldCheck:
    """One end of flights, arrays [n]: the runway end used, what it offers and what is needed, margins included.

    `end` is the position among the airport's runway ends, -1 where there is none. `bits` say what stands in the way,
    `marginal` which of the pilot's own rules are met within their tolerance only.
    """

    end: Ints
    required_ft: Array
    available_ft: Array
    headwind_kt: Array
    crosswind_kt: Array
    pressure_altitude_ft: Array
    temperature_c: Array
    bits: Bits
    marginal: Bits


@dataclass(frozen=True, slots=True)
class Balance:
    """Weight and centre of gravity of flights at take-off, on landing and without fuel, arrays [3, n]."""

    weight_lb: Array
    cg_in: Array
    margin_in: Array


@dataclass(frozen=True, slots=True)
class ExactRows:
    """Everything about flights at one hour each; arrays [n] unless their own type says otherwise."""

    row: Ints
    depart_h: Array
    flight_h: Array
    exact: ExactPlans
    allowed_gal: Array
    balance: Balance
    takeoff: FieldCheck
    landing: FieldCheck
    gradient_ft_per_nm: Array
    bits: Bits
    marginal: Bits


@dataclass(frozen=True, slots=True)
class AskedFlights:
    """Flights of a candidate to be judged, arrays [n]: rows of its table, UTC hours of the year, fuel to an alternate.

    `air` is met by each at its hour, [n, 1, level]; `blocked` [n, 1, level]: levels that ice closes.
    """

    row: Ints
    depart_h: Array
    air: AirOnRoutes
    alternate_gal: Array
    blocked: Bools | None = None


def exact_rows(plan: CandidatePlan, places: Places, asked: AskedFlights, sky: Sky, loads: Loads) -> ExactRows:
    """Return flights of a candidate at given hours.

    Parameters
    ----------
    plan : CandidatePlan
    places : Places
    asked : AskedFlights
    sky : Sky                 Surface air at the places.
    loads : Loads             By trip.
    """
    row, depart_h = asked.row, asked.depart_h
    aircraft: Equipped = plan.aircraft  # type: ignore[assignment]  # a study's aircraft are always of this kind
    trip = plan.rows.trip[row]
    load = ExactLoads(loads.zero_fuel_lb[trip], asked.alternate_gal, aircraft.profile.max_takeoff_lb)
    exact = exact_plans(aircraft.performance, take(plan.table.rows, "row", row), asked.air,
                        take(plan.level_limits, "row", row), plan.fuel, load, asked.blocked,
                        plan.table.least_descent_share)
    flight_h = exact.plans.flight_h[:, 0].astype(float) + plan.times.approach_h
    takeoff = field_check(plan, places, row, depart_h, exact.takeoff_lb, sky, landing=False)
    landing = field_check(plan, places, row, depart_h + exact.plans.flight_h[:, 0], exact.landing_lb, sky, landing=True)
    gradient = aircraft.departure_gradient_ft_per_nm(takeoff.pressure_altitude_ft, takeoff.temperature_c,
                                                     exact.takeoff_lb)
    allowed_gal = np.minimum(aircraft.max_fuel_gal(loads.zero_fuel_lb[trip]), plan.fuel.usable_gal)
    balance = _balance(aircraft, loads.zero_fuel_lb[trip], loads.zero_fuel_moment_lb_in[trip], exact, plan)
    bits = exact.plans.reasons[:, 0] | takeoff.bits | landing.bits
    bits |= _set(~(gradient >= plan.runways.least_gradient_ft_per_nm) & gradient_counts(plan, row), Reason.CLIMB)
    bits |= _fuel_bits(plan, exact, allowed_gal, aircraft.max_landing_lb)
    bits |= _set(~loads.seats_ok[trip], Reason.SEATS) | _set(~loads.bags_ok[trip], Reason.PAYLOAD)
    bits |= _set((balance.margin_in < 0.0).any(axis=0), Reason.BALANCE)
    return ExactRows(row, depart_h, flight_h, exact, allowed_gal, balance, takeoff, landing, gradient, bits,
                     takeoff.marginal | landing.marginal | _set(exact.plans.marginal[:, 0], Reason.CLIMB))


def gradient_counts(plan: CandidatePlan, row: Ints) -> Bools:
    """Tell where the climb gradient after take-off is held against a least one: on instruments, or among mountains."""
    return np.asarray(plan.table.rows.mountainous[row] | plan.pilot.rules.instrument)


def field_check(plan: CandidatePlan, places: Places, row: Ints, time_h: Array, weight_lb: Array, sky: Sky,
                landing: bool) -> FieldCheck:
    """Return the runway at one end of flights at given hours and weights.

    Parameters
    ----------
    plan : CandidatePlan     Of the candidate.
    places : Places
    row : (n,) int array     Rows of the table.
    time_h : (n,) array      UTC hours of the year. [h]
    weight_lb : (n,) array   Weights then. [lb]
    sky : Sky                Surface air.
    landing : bool           Of landings, else of take-offs.
    """
    aircraft: Equipped = plan.aircraft  # type: ignore[assignment]
    place = (plan.rows.to_place if landing else plan.rows.from_place)[row]
    ends = rows_at(aircraft, places, np.arange(len(row)), place, plan.assumptions, landing)
    east_kt, north_kt = sky.surface_wind(place, time_h)
    wind = east_kt[:, None], north_kt[:, None]
    head, cross = ends.ends.along_kt(*wind), ends.ends.across_kt(*wind)
    altitude_ft, temperature_c = (np.asarray(x, dtype=float) for x in sky.field_air(place, time_h))
    distance = aircraft.landing_ft if landing else aircraft.takeoff_ft
    needed_ft = distance(altitude_ft[:, None], temperature_c[:, None], weight_lb[:, None], head)
    unmarked_ft, rules = needed_ft * ends.surface_factor, plan.pilot.rules
    required_ft = unmarked_ft * rules.runway_margin
    choice, nearly = (choose_end(head, cross, ends.length_ft, feet, ends.accepted,
                                 plan.runways.crosswind_limit_kt, tail_kt)
                      for feet, tail_kt in ((required_ft, rules.max_tailwind_kt),
                                            (unmarked_ft * rules.marginal_runway_margin,
                                             rules.max_tailwind_kt * (1.0 + rules.tolerance_share))))
    bits = (_set(choice.blocked_by_surface, Reason.SURFACE) | _set(choice.blocked_by_wind, Reason.WIND)
            | _set(choice.blocked_by_length, Reason.RUNWAY))
    marginal = np.where(nearly.ok & ~choice.ok, bits, np.uint32(0))
    bits = np.where(nearly.ok, np.uint32(0), bits)
    used = np.where(marginal != 0, nearly.index, choice.index)[:, None]
    required, available, ahead, across = (np.take_along_axis(np.broadcast_to(x, ends.length_ft.shape), used, 1)[:, 0]
                                          for x in (required_ft, ends.length_ft, head, cross))
    end = np.where(np.isfinite(available), used[:, 0], -1)
    return FieldCheck(end, required, available, ahead, across, altitude_ft, temperature_c, bits, marginal)


def _fuel_bits(plan: CandidatePlan, exact: ExactPlans, allowed_gal: Array, max_landing_lb: float) -> Bits:
    short = exact.required_gal > plan.fuel.usable_gal
    heavy = (exact.required_gal - plan.fuel.taxi_gal > allowed_gal) & ~short
    heavy |= weight_before_tanks(exact.required_gal, allowed_gal, plan.fuel.usable_gal)
    return _set(short, Reason.RANGE) | _set(heavy | (exact.landing_lb > max_landing_lb), Reason.PAYLOAD)


def _balance(aircraft: Equipped, zero_fuel_lb: Array, moment_lb_in: Array, exact: ExactPlans, plan: CandidatePlan,
             ) -> Balance:
    """Return balance at the fuel of take-off, of landing and at none, tanks never fuller than they hold."""
    lb_per_gal = plan.fuel.lb_per_gal
    fuel = [(exact.takeoff_lb - zero_fuel_lb) / lb_per_gal, (exact.landing_lb - zero_fuel_lb) / lb_per_gal,
            np.zeros(len(zero_fuel_lb))]
    points = [weight_and_cg(aircraft.profile, zero_fuel_lb, moment_lb_in, np.clip(gal, 0.0, plan.fuel.usable_gal),
                            aircraft.assumptions) for gal in fuel]
    weight_lb, cg_in = (np.stack([p[k] for p in points]) for k in (0, 1))
    return Balance(weight_lb, cg_in, np.stack([inside(aircraft.profile, w, c)[1] for w, c in points]))


def _set(where: Any, reason: Reason) -> Bits:
    return np.where(where, np.uint32(BIT[reason]), np.uint32(0))
