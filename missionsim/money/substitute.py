"""What it takes to do without the aircraft: car, airline, freight, the value of a trip not made, and hours."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from missionsim.base.assumptions import Assumptions
from missionsim.base.words import Outcome
from missionsim.money.categories import Category, Cause
from missionsim.money.entries import Entries
from missionsim.money.operating_costs import Columns, days
from missionsim.money.prices import PlacePrices, Prices
from missionsim.physics.units import SM_PER_NM

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class TripTerms:
    """What substitute travel needs of the trip table, by trip row.

    Attributes
    ----------
    total_nm : (t,) array            Great-circle miles of the whole trip, home to home.
    farthest_nm : (t,) array         Distance of its farthest place from home.
    places : (t,) array              Places the trip asks for.
    bags_lb : (t,) array
    must_go : (t,) bool array        Lost on the day it is travelled at a short-notice fare.
    optional_value_usd : (t,) array  Worth of an optional trip; NaN for trips that must be made somehow.
    """

    total_nm: Array
    farthest_nm: Array
    places: Array
    bags_lb: Array
    must_go: NDArray[np.bool_]
    optional_value_usd: Array


def add_substitutes(entries: Entries, trips: Columns, terms: TripTerms, places: PlacePrices, prices: Prices,
                    assumptions: Assumptions) -> None:
    """Add substitute travel for every trip not completed, and the hours of those on board where they have a value.

    A refused trip is made by other means as a whole; an optional one is lost at its value instead. Of a trip broken
    off, the share of places not reached is made anew, and those who came home otherwise pay the way back.
    """
    row = trips["trip"]
    refused, broken = (trips["outcome"] == o.value for o in (Outcome.REFUSED, Outcome.BROKEN_OFF))
    asked = np.maximum(terms.places[row], 1)
    missing = np.where(refused, 1.0, np.where(broken, 1.0 - np.minimum(trips["places_reached"] / asked, 1.0), 0.0))
    usd, hours = substitute_trip(trips["people"], row, terms, assumptions)
    value = terms.optional_value_usd[row]
    optional = np.isfinite(value)
    # The way back is half of the trip; what is missing is made anew with its way back, unless it is given up.
    back = broken & trips["came_home_otherwise"].astype(bool)
    home = np.where(back, 0.5 * np.where(optional, 1.0, 1.0 - missing), 0.0)
    lost = missing * np.where(optional, value, usd) + home * usd
    day = days(trips["planned_h"], places)
    for mask, cause in ((refused, Cause.REFUSED), (broken, Cause.BROKEN_OFF)):
        entries.add(Category.SUBSTITUTE, cause, trips["replication"][mask], day[mask], lost[mask], row[mask])
    elsewhere = (np.where(optional, 0.0, missing) + home) * hours
    worth = (trips["door_to_door_h"] + elsewhere) * trips["people"] * prices.value_of_time_usd_per_h
    entries.add(Category.TIME, Cause.DOOR_TO_DOOR, trips["replication"], day, worth, row)


def substitute_trip(people: NDArray[np.int64], row: NDArray[np.int64], terms: TripTerms, assumptions: Assumptions,
                    ) -> tuple[Array, Array]:
    """Return the cost of a whole trip by car or airline for all on board, and the hours it takes one of them."""
    a = {k: assumptions[f"cost.{k}"] for k in (
        "car_limit_nm", "car_usd_per_sm", "car_seats", "road_factor", "car_speed_kt", "airline_fare_usd",
        "airline_fare_usd_per_nm", "short_notice_factor", "airline_h", "airline_speed_kt", "baggage_allowance_lb",
        "freight_usd", "freight_usd_per_lb")}
    total_nm = terms.total_nm[row]
    by_car = terms.farthest_nm[row] < a["car_limit_nm"]
    road_nm = total_nm * a["road_factor"]
    car = road_nm * SM_PER_NM * a["car_usd_per_sm"] * np.ceil(people / a["car_seats"])
    fare = (a["airline_fare_usd"] + a["airline_fare_usd_per_nm"] * total_nm) * people
    fare = fare * np.where(terms.must_go[row], a["short_notice_factor"], 1.0)
    freight_lb = np.maximum(terms.bags_lb[row] - a["baggage_allowance_lb"] * people, 0.0)
    freight = np.where(freight_lb > 0.0, a["freight_usd"] + a["freight_usd_per_lb"] * freight_lb, 0.0)
    legs = np.maximum(terms.places[row], 1) + 1
    hours = np.where(by_car, road_nm / a["car_speed_kt"], legs * a["airline_h"] + total_nm / a["airline_speed_kt"])
    return np.where(by_car, car, fare + freight), hours
