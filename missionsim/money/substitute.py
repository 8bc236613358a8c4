"""How every wanted trip was made, in dollars and hours: as flown, by car, by airline, or given up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Bools, Columns, Floats, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.base.axes import take
from missionsim.base.words import Mark, Outcome
from missionsim.money.categories import Category, Cause
from missionsim.money.entries import Entries
from missionsim.money.operating_costs import days
from missionsim.money.other_ways import Mode, OtherWays, TripTerms, by_car, other_ways
from missionsim.money.prices import PlacePrices, Prices

ANOTHER_DAY_H = 20.0
"""A trip that leaves by more than so long beside its plan was moved to another day. [h]"""


@dataclass(frozen=True, slots=True)
class Travel:
    """How trips were made, by row of the trip records.

    Attributes
    ----------
    flown_h, car_h, airline_h : (n,) array   Hours of one traveller, waking hours of waiting away included.
    car_usd, airline_usd : (n,) array        Of all travellers.
    lost_usd : (n,) array                    Worth of what was given up: of an optional trip, or by moving one.
    moved : (n,) bool array                  Trips that left on another day than asked for.
    given_up : (n,) bool array               An optional trip of which something was given up.
    refused, broken : (n,) bool array
    ways : OtherWays                         By trip row.
    apart, apart_h, apart_usd : (n,) array   How many went by car because not all fitted; hours of one; dollars of all.
    """

    flown_h: Floats
    car_h: Floats
    airline_h: Floats
    car_usd: Floats
    airline_usd: Floats
    lost_usd: Floats
    given_up: Bools
    moved: Bools
    refused: Bools
    broken: Bools
    ways: OtherWays
    apart: Floats
    apart_h: Floats
    apart_usd: Floats


def travel_of(trips: Columns, terms: TripTerms, prices: Prices, assumptions: Assumptions) -> Travel:
    """Return how each wanted trip was made.

    A refused trip is made by other means as a whole, or given up where it is optional and worth less. Of a trip broken
    off, the share of places not reached is made anew, and those who came home otherwise pay half of the trip for the
    way back.

    Parameters
    ----------
    trips : mapping            Columns by the field names of `TripRow`.
    terms : TripTerms          By row of the trip table.
    prices : Prices            Hotel, value of time.
    assumptions : Assumptions
    """
    row = trips["trip"]
    refused, broken = (np.asarray(trips["outcome"] == o.value, dtype=bool)
                       for o in (Outcome.REFUSED, Outcome.BROKEN_OFF))
    asked = np.maximum(terms.places[row], 1)
    missing = np.where(refused, 1.0, np.where(broken, 1.0 - np.minimum(trips["places_reached"] / asked, 1.0), 0.0))
    ways = other_ways(terms, prices, assumptions)
    given_up = ways.given_up[row] & (missing > 0.0)
    # The way back is half of the trip; what is missing is made anew with its way back, unless it is given up.
    back = broken & trips["came_home_otherwise"].astype(bool)
    anew = np.where(given_up, 0.0, missing)
    otherwise = anew + np.where(back, 0.5 * (1.0 - anew), 0.0)
    air = ways.by_airline[row]
    hours, usd = otherwise * ways.hours[row], otherwise * ways.usd[row]
    apart = trips["apart"].astype(float)
    car = _by_car_apart(terms, apart, row, prices, assumptions)
    # Who left the evening before misses nothing: the night and the hours away are counted as such.
    another_day = np.abs(trips["departed_h"] - trips["planned_h"]) > ANOTHER_DAY_H
    moved = ~refused & ((trips["marks"] & Mark.MOVED) != 0) & another_day
    flown_h = trips["door_to_door_h"] + np.where(moved, terms.moved_h[row], 0.0)
    lost_usd = np.where(given_up, missing * np.nan_to_num(terms.optional_value_usd[row]), 0.0)
    return Travel(flown_h, np.where(air, 0.0, hours), np.where(air, hours, 0.0),
                  np.where(air, 0.0, usd) + car.usd, np.where(air, usd, 0.0),
                  lost_usd + np.where(moved, terms.moved_usd[row], 0.0), given_up, moved, refused, broken, ways, apart,
                  car.hours, car.usd)


def _by_car_apart(terms: TripTerms, apart: Floats, row: Ints, prices: Prices, assumptions: Assumptions,
                  ) -> Mode:
    """Return the whole trip by car of the adults who did not fit, by row of the trip records; nothing where all did."""
    zero = np.zeros(len(row))
    if not apart.any():
        return Mode(zero, zero, zero)
    some = np.flatnonzero(apart > 0.0)
    found = by_car(take(terms, "trip", row[some], adults=apart[some], children=np.zeros(len(some))), prices,
                   assumptions)
    out = np.zeros((3, len(row)))
    out[:, some] = found.usd, found.hours, found.more_nights
    return Mode(*out)


def valued_hours(flown_h: Floats, otherwise_h: Floats, weights: tuple[Floats, Floats]) -> Floats:
    """Return hours as they are valued: hours of one traveller times weighted travellers, flown and otherwise."""
    return np.asarray(flown_h * weights[0] + otherwise_h * weights[1])


def add_substitutes(entries: Entries, trips: Columns, travel: Travel, terms: TripTerms, places: PlacePrices,
                    prices: Prices, assumptions: Assumptions) -> None:
    """Add car and airline for every trip not completed, what was given up, and hours where they have a value.

    Parameters
    ----------
    entries : Entries   Added to.
    trips : Columns     Columns named as in `TripRow`.
    travel : Travel     How they were made.
    terms : TripTerms   What travelling otherwise needs, by trip.
    places : PlacePrices
    prices : Prices
    assumptions : Assumptions
    """
    row = trips["trip"]
    day = days(trips["planned_h"], places)
    usd = travel.car_usd - travel.apart_usd + travel.airline_usd + travel.lost_usd
    for mask, cause in ((travel.refused, Cause.REFUSED), (travel.broken, Cause.BROKEN_OFF),
                        (travel.moved & ~travel.broken, Cause.MOVED)):
        entries.add(Category.SUBSTITUTE, cause, trips["replication"][mask], day[mask], usd[mask], row[mask])
    some = travel.apart > 0
    entries.add(Category.SUBSTITUTE, Cause.DID_NOT_FIT, trips["replication"][some], day[some], travel.apart_usd[some],
                row[some])
    weights = terms.weight_flown(assumptions)[row], terms.weight_otherwise(assumptions)[row]
    hours = valued_hours(travel.flown_h, travel.car_h + travel.airline_h, weights)
    hours += travel.apart * (travel.apart_h - travel.flown_h)
    worth = hours * prices.value_of_time_usd_per_h
    entries.add(Category.TIME, Cause.DOOR_TO_DOOR, trips["replication"], day, worth, row)


def add_ground(entries: Entries, trips: Columns, terms: TripTerms, places: PlacePrices, assumptions: Assumptions,
               ) -> None:
    """Add the car at the destination of those who came by light aircraft.

    Parameters
    ----------
    entries : Entries   Added to.
    trips : Columns     Columns named as in `TripRow`.
    terms : TripTerms   What travelling otherwise needs, by trip.
    places : PlacePrices
    assumptions : Assumptions
    """
    row = trips["trip"]
    cars = np.ceil(terms.people[row] / assumptions["cost.car_seats"])
    flown = (trips["outcome"] != Outcome.REFUSED.value) & (trips["places_reached"] > 0)
    usd = np.where(flown, (terms.nights[row] + 1.0) * cars * assumptions["cost.ground_usd_per_day"], 0.0)
    entries.add(Category.GROUND, Cause.GROUND, trips["replication"], days(trips["planned_h"], places), usd, row)


__all__ = ["OtherWays", "Travel", "TripTerms", "add_ground", "add_substitutes", "other_ways", "travel_of",
           "valued_hours"]
