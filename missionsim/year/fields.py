"""Runways in the hour's weather: only rows whose runway is not plainly long enough are looked at hour by hour."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from missionsim.aircraft.runway import choose_end
from missionsim.base.words import BIT, Reason
from missionsim.flight.batch import Plans
from missionsim.year.book import AIR_SLOTS, TripBook
from missionsim.year.candidate import CandidatePlan, FieldRows
from missionsim.year.sky import Sky

Array = NDArray[Any]
Bits = NDArray[np.uint32]


def takeoff_bits(plan: CandidatePlan, book: TripBook, sky: Sky, takeoff_lb: Array, bits: Bits) -> None:
    """Add to bits [row, slot] in place: `runway` where take-off needs more than any end in limits offers."""
    tight = plan.takeoff_rows
    if not len(tight.row):
        return
    time_h = _departures_h(plan, book, tight.row)
    wind = _ends(sky, tight, time_h)
    altitude_ft, temperature_c = sky.field_air(tight.place[:, None], time_h)
    needed_ft = plan.aircraft.takeoff_ft(altitude_ft[:, :, None], temperature_c[:, :, None],
                                         takeoff_lb[tight.row][:, :, None], wind[0])
    _mark(plan, tight, wind, needed_ft, bits)


def landing_bits(plan: CandidatePlan, book: TripBook, sky: Sky, takeoff_lb: Array, plans: Plans, bits: Bits) -> None:
    """Add to bits [row, slot] in place: `runway` where landing needs more than any end in limits offers."""
    tight = plan.landing_rows
    if not len(tight.row):
        return
    flight_h = np.repeat(plans.flight_h[tight.row], AIR_SLOTS, axis=1)[:, :book.slots]
    burn_gal = np.repeat(plans.fuel_gal[tight.row], AIR_SLOTS, axis=1)[:, :book.slots]
    time_h = _departures_h(plan, book, tight.row) + flight_h
    wind = _ends(sky, tight, time_h)
    altitude_ft, temperature_c = sky.field_air(tight.place[:, None], time_h)
    landing_lb = takeoff_lb[tight.row] - burn_gal * plan.fuel.lb_per_gal
    needed_ft = plan.aircraft.landing_ft(altitude_ft[:, :, None], temperature_c[:, :, None],
                                         landing_lb[:, :, None], wind[0])
    _mark(plan, tight, wind, needed_ft, bits)


def climb_bits(plan: CandidatePlan, book: TripBook, sky: Sky, takeoff_lb: Array, bits: Bits) -> None:
    """Add to bits [row, slot] in place: `climb` where the gradient after take-off from a high field is too small."""
    high = plan.high_rows
    if not len(high):
        return
    time_h = _departures_h(plan, book, high)
    altitude_ft, temperature_c = sky.field_air(plan.rows.from_place[high][:, None], time_h)
    gradient = plan.aircraft.departure_gradient_ft_per_nm(altitude_ft, temperature_c, takeoff_lb[high])
    low = ~(gradient >= plan.least_gradient_ft_per_nm)
    bits[high] |= np.where(low, np.uint32(BIT[Reason.CLIMB]), np.uint32(0))


def _departures_h(plan: CandidatePlan, book: TripBook, row: NDArray[np.int64]) -> Array:
    start = book.start_h[plan.rows.leg[row]] + plan.rows.offset_h[row]
    return start[:, None] + np.arange(book.slots)[None, :]


def _ends(sky: Sky, tight: FieldRows, time_h: Array) -> tuple[Array, Array]:
    """Return headwind and crosswind on each end, [k, slot, end]."""
    east_kt, north_kt = sky.surface_wind(tight.place[:, None], time_h)
    return end_components(tight.heading_deg[:, None, :], east_kt[:, :, None], north_kt[:, :, None])


def end_components(heading_deg: Array, east_kt: Array, north_kt: Array) -> tuple[Array, Array]:
    """Return headwind and crosswind (from either side) on runway ends; arrays broadcast."""
    heading = np.radians(heading_deg)
    sine, cosine = np.sin(heading), np.cos(heading)
    return -(east_kt * sine + north_kt * cosine), np.abs(north_kt * sine - east_kt * cosine)


def _mark(plan: CandidatePlan, tight: FieldRows, wind: tuple[Array, Array], needed_ft: Array, bits: Bits) -> None:
    required_ft = needed_ft * tight.surface_factor[:, None, :] * plan.rules.runway_margin
    choice = choose_end(*wind, tight.length_ft[:, None, :], required_ft, tight.accepted[:, None, :],
                        plan.crosswind_limit_kt, plan.rules.max_tailwind_kt)
    bits[tight.row] |= (np.where(choice.blocked_by_surface, np.uint32(BIT[Reason.SURFACE]), np.uint32(0))
                        | np.where(choice.blocked_by_wind, np.uint32(BIT[Reason.WIND]), np.uint32(0))
                        | np.where(choice.blocked_by_length, np.uint32(BIT[Reason.RUNWAY]), np.uint32(0)))
