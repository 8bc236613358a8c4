"""A year of renting instead of owning: the rate with its least hours a day, fees, and what the renter needs."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from missionsim.base.arrays import Columns, Floats, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.base.words import Outcome, Purpose
from missionsim.money.categories import Category, Cause
from missionsim.money.entries import Entries, Ledger, month_ends
from missionsim.money.insurance import PilotExperience
from missionsim.money.ledger import Books
from missionsim.money.operating_costs import add_fields, add_lodging, days
from missionsim.money.substitute import Travel, add_ground, add_substitutes


def rate_entry(class_name: str | None, klass: str) -> tuple[str, str]:
    """Return the assumption that holds the rate of a rented aircraft, and its entry in it.

    Parameters
    ----------
    class_name : str or None   Short name of the class an advertisement names; None where it names none.
    klass : str                Class of its costs.
    """
    return ("keeping.rent_usd_per_h", klass) if class_name is None else ("keeping.rent_class_usd_per_h", class_name)


def asked_of_renters(retractable: bool, engines: int, hp_each: float, pilot: PilotExperience, a: Assumptions) -> str:
    """Return why an owner would hardly rent such an aircraft to a pilot; empty where nothing speaks against it.

    Parameters
    ----------
    retractable : bool        The gear.
    engines : int             How many.
    hp_each : float           Rated power of each. [hp]
    pilot : PilotExperience   Hours, see there.
    a : Assumptions
    """
    if engines > 1:
        return "twins are hardly rented out without an instructor"
    least_h = float(a["keeping.rent_entry_h"])
    if pilot.total_h < least_h and (retractable or hp_each > a["keeping.rent_entry_over_hp"]):
        return f"owners ask about {least_h:,.0f} hours for such an aircraft, this pilot has {pilot.total_h:,.0f}"
    return ""


def renting_ledger(entry: tuple[str, str], klass: str, flights: Columns, trips: Columns, replications: ArrayLike,
                   books: Books, travel: Travel) -> Ledger:
    """Return every dollar of a year of renting.

    The rate is by the hour from first movement to stop, fuel, upkeep and hangar in it; each day away is charged with a
    least number of hours, local flying by the hour alone. The renter insures himself, is checked out once a year and
    keeps current.

    Parameters
    ----------
    entry : tuple of str               Assumption and entry of the rate, see `rate_entry`.
    klass : str                        Class of the aircraft's costs, for training.
    flights, trips : mapping           Columns by the field names of `FlightRow`, `TripRow`.
    replications : (r,) int array      All replications of the chunk.
    books : Books
    travel : Travel                    How the trips were made.
    """
    reps: Ints = np.unique(np.asarray(replications, dtype=np.int64))
    a, entries, day = books.assumptions, Entries(), month_ends(books.year)[-1] - 1
    rate = float(a[entry[0]][entry[1]])
    entries.add(Category.RENT, Cause.HOURS, trips["replication"], days(trips["planned_h"], books.places),
                rate * billed_hours(trips, books), trips["trip"])
    local = flights["purpose"] == Purpose.LOCAL.value
    entries.add(Category.RENT, Cause.HOURS, flights["replication"][local],
                days(flights["depart_h"][local], books.places), rate * flights["block_h"][local])
    checkout = a["keeping.rent_checkout_h"] * (rate + a["ownership.instructor_usd_per_h"])
    training = books.prices.training_usd_per_year
    training = float(a["cost.training_usd"][klass]) if training is None else training
    for category, usd in ((Category.INSURANCE, a["keeping.renter_insurance_usd"]),
                          (Category.TRAINING, checkout + training)):
        entries.add(category, Cause.YEAR, reps, day, usd)
    add_fields(entries, flights, books.places, a)
    add_lodging(entries, trips, books.places, books.prices, a)
    add_ground(entries, trips, books.terms, books.places, a)
    add_substitutes(entries, trips, travel, books.terms, books.places, books.prices, a)
    return entries.close()


def billed_hours(trips: Columns, books: Books) -> Floats:
    """Return the hours charged for each trip that left: those flown, or the least of the days it was away."""
    nights = (books.terms.nights[trips["trip"]] + trips["nights_forced"]).astype(np.int64)
    first = np.datetime64(f"{books.year}-01-01") + days(trips["planned_h"], books.places)
    least = least_hours(first, nights, books.assumptions)
    left = trips["outcome"] != Outcome.REFUSED.value
    return np.where(left, np.maximum(trips["block_h"], least), 0.0)


def least_hours(first: NDArray[np.datetime64], nights: Ints, assumptions: Assumptions,
                ) -> Floats:
    """Return the least hours charged for stays away: each day counts, Saturdays and Sundays by a rule of their own."""
    rule = assumptions["keeping.rent_least_h_per_day"]
    after = first + nights + 1
    weekdays = np.busday_count(first, after)
    return np.asarray(rule["weekday"] * weekdays + rule["weekend"] * (nights + 1 - weekdays), dtype=np.float64)
