"""How each trip is made without a light aircraft: by car or by airline, as people choose, or not at all."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Bools, Floats
from missionsim.base.assumptions import Assumptions
from missionsim.base.axes import axis
from missionsim.money.prices import Prices
from missionsim.physics.units import SM_PER_NM


@dataclass(frozen=True, slots=True)
class TripTerms:
    """What travelling otherwise needs of the trip table, by trip row.

    Attributes
    ----------
    total_nm : (t,) array            Great-circle miles of the whole trip, home to home.
    places : (t,) array              Places the trip asks for.
    bags_lb : (t,) array
    must_go : (t,) bool array        Lost on the day it is travelled at a short-notice fare.
    optional_value_usd : (t,) array  Worth of an optional trip; NaN for trips that must be made somehow.
    adults, children : (t,) array    Everybody who travels, the pilot included.
    nights : (t,) array              Nights away by plan.
    road_nm : (t,) array             Miles of the whole trip by road.
    ferries : (t,) array             Crossings to places without a road.
    access_nm : (t,) array           Miles by road between the places and the airports that airlines serve, both ends of
                                     every flight; NaN where no served airport is in reach of one of them.
    own_usd, own_h : (t,) array      What the trip itself says it costs and takes otherwise; NaN where it says nothing.
    moved_usd, moved_h : (t,) array  What moving it to another day costs, and takes of each traveller's time.
    """

    total_nm: Floats = axis("trip")
    places: Floats = axis("trip")
    bags_lb: Floats = axis("trip")
    must_go: Bools = axis("trip")
    optional_value_usd: Floats = axis("trip")
    adults: Floats = axis("trip")
    children: Floats = axis("trip")
    nights: Floats = axis("trip")
    road_nm: Floats = axis("trip")
    ferries: Floats = axis("trip")
    access_nm: Floats = axis("trip")
    own_usd: Floats = axis("trip")
    own_h: Floats = axis("trip")
    moved_usd: Floats = axis("trip")
    moved_h: Floats = axis("trip")

    @property
    def people(self) -> Floats:
        """Everybody who travels."""
        return self.adults + self.children

    def weight_flown(self, assumptions: Assumptions) -> Floats:
        """Return travellers weighted for valuing hours in a light aircraft: the pilot counts apart."""
        return self.weight_otherwise(assumptions) - (1.0 - assumptions["time.pilot_weight"])

    def weight_otherwise(self, assumptions: Assumptions) -> Floats:
        """Return travellers weighted for valuing hours by car or airline, a child as a part of an adult."""
        return np.asarray(self.adults + assumptions["time.child_weight"] * self.children)


@dataclass(frozen=True, slots=True)
class Mode:
    """One way of making each trip: dollars for all, hours of one traveller, nights more than planned; inf: no way."""

    usd: Floats
    hours: Floats
    more_nights: Floats


@dataclass(frozen=True, slots=True)
class OtherWays:
    """The way each trip is made without a light aircraft, by trip row.

    Attributes
    ----------
    usd : (t,) array         For all travellers.
    hours : (t,) array       Of one traveller, door to door, both ways; waking hours of further days included.
    by_airline : (t,) bool
    on_dates : (t,) bool     Whether the trip's own dates are kept; else it takes a night or more beyond the plan.
    given_up : (t,) bool     Optional and worth less than that: it is not made at all.
    """

    usd: Floats
    hours: Floats
    by_airline: Bools
    on_dates: Bools
    given_up: Bools


def by_car(terms: TripTerms, prices: Prices, a: Assumptions) -> Mode:
    """Return every trip by car: so many hours a day at the wheel, nights on the way paid, ferries without a road."""
    hours = terms.road_nm / a["cost.car_speed_kt"] + terms.ferries * a["cost.ferry_h"]
    cars = np.ceil(terms.people / a["cost.car_seats"])
    usd = (terms.road_nm * SM_PER_NM * a["cost.car_usd_per_sm"] * cars
           + terms.ferries * a["cost.ferry_usd"] * terms.people)
    on_the_way = 2.0 * np.maximum(np.ceil(0.5 * hours / a["cost.car_h_per_day"]) - 1.0, 0.0)
    in_a_day = np.maximum(np.ceil(hours / a["cost.car_h_per_day"]) - 1.0, 0.0)
    more = np.where(terms.nights > 0, np.maximum(on_the_way - terms.nights, 0.0), in_a_day)
    paid = np.where(terms.nights > 0, on_the_way, in_a_day)
    # The evening of a day at the wheel is spent on the way.
    evenings_h = np.maximum(a["time.waking_h"] - a["cost.car_h_per_day"], 0.0) * more
    return _with_nights(terms, prices, a, usd, hours + evenings_h, more, paid)


def by_airline(terms: TripTerms, prices: Prices, a: Assumptions) -> Mode:
    """Return every trip by airline: fares, freight, a rented car; infinite where no served airport is in reach."""
    people = terms.people
    fare = (a["cost.airline_fare_usd"] + a["cost.airline_fare_usd_per_nm"] * terms.total_nm) * people
    fare = fare * np.where(terms.must_go, a["cost.short_notice_factor"], 1.0)
    freight_lb = np.maximum(terms.bags_lb - a["cost.baggage_allowance_lb"] * people, 0.0)
    freight = np.where(freight_lb > 0.0, a["cost.freight_usd"] + a["cost.freight_usd_per_lb"] * freight_lb, 0.0)
    access_h = terms.access_nm / a["cost.car_speed_kt"]
    usd = (fare + freight + terms.access_nm * SM_PER_NM * a["cost.car_usd_per_sm"]
           + (terms.nights + 1.0) * a["cost.rental_car_usd_per_day"] * np.ceil(people / a["cost.car_seats"]))
    legs = np.maximum(terms.places, 1) + 1
    hours = legs * a["cost.airline_h"] + terms.total_nm / a["cost.airline_speed_kt"] + access_h
    more = np.where((terms.nights == 0) & (hours > a["cost.longest_day_h"]), 1.0, 0.0)
    # Half of the hours are those of the way home, which is the next day's: so much of that day is counted already.
    waited_h = np.maximum(a["time.waking_h"] - 0.5 * hours, 0.0) * more
    made = _with_nights(terms, prices, a, usd, hours + waited_h, more, more)
    none = np.isnan(terms.access_nm)
    return Mode(np.where(none, np.inf, made.usd), np.where(none, np.inf, made.hours), made.more_nights)


def other_ways(terms: TripTerms, prices: Prices, assumptions: Assumptions) -> OtherWays:
    """Return the way each trip is made otherwise.

    The cheaper of car and airline with hours valued as the study does, but at `time.choice_usd_per_h` at least: nobody
    drives two days to save a fare. A way that keeps the trip's dates goes before one that does not. What the trip says
    itself comes before both. An optional trip is given up where that costs less than it is worth.
    """
    a = assumptions
    weight = terms.weight_otherwise(a)
    value = max(prices.value_of_time_usd_per_h, a["time.choice_usd_per_h"])
    car, air = by_car(terms, prices, a), by_airline(terms, prices, a)

    def burden(mode: Mode) -> Floats:
        late = np.where(mode.more_nights > 0, 1e9, 0.0)
        return np.asarray(mode.usd + value * weight * mode.hours + late)

    flies = burden(air) < burden(car)
    usd, hours = (np.where(flies, getattr(air, name), getattr(car, name)) for name in ("usd", "hours"))
    on_dates = np.where(flies, air.more_nights, car.more_nights) == 0
    said = ~np.isnan(terms.own_usd)
    usd, hours = np.where(said, terms.own_usd, usd), np.where(np.isnan(terms.own_h), hours, terms.own_h)
    on_dates = on_dates | said
    worth = terms.optional_value_usd
    given_up = np.isfinite(worth) & (usd + prices.value_of_time_usd_per_h * weight * hours > worth)
    return OtherWays(usd, hours, flies & ~said, on_dates, given_up)


def _with_nights(terms: TripTerms, prices: Prices, a: Assumptions, usd: Floats, hours: Floats, more: Floats,
                 paid: Floats) -> Mode:
    rooms = np.ceil(terms.people / a["cost.people_per_room"])
    return Mode(usd + paid * rooms * prices.hotel_usd_per_night, hours, more)
