"""A year of renting instead of owning: the rate with its least hours a day, fees, and what the renter needs."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from missionsim.base.words import Outcome
from missionsim.money.categories import Category, Cause
from missionsim.money.entries import Entries, Ints, Ledger, month_ends
from missionsim.money.ledger import Books
from missionsim.money.operating_costs import Columns, add_fields, add_lodging, days
from missionsim.money.substitute import add_ground, add_substitutes


def renting_ledger(klass: str, flights: Columns, trips: Columns, replications: ArrayLike, books: Books) -> Ledger:
    """Return every dollar of a year of renting.

    The rate is by the hour from first movement to stop, fuel, upkeep and hangar in it; each day away is charged with a
    least number of hours. The renter insures himself, is checked out once a year and keeps current.

    Parameters
    ----------
    klass : str                        Class of the aircraft, for rate and training.
    flights, trips : mapping           Columns by the field names of `FlightRow`, `TripRow`.
    replications : (r,) int array      All replications of the chunk.
    books : Books
    """
    reps: Ints = np.unique(np.asarray(replications, dtype=np.int64))
    a, entries, day = books.assumptions, Entries(), month_ends(books.year)[-1] - 1
    rate = float(a["keeping.rent_usd_per_h"][klass])
    entries.add(Category.RENT, Cause.HOURS, trips["replication"], days(trips["planned_h"], books.places),
                rate * billed_hours(trips, books), trips["trip"])
    checkout = a["keeping.rent_checkout_h"] * (rate + a["ownership.instructor_usd_per_h"])
    training = books.prices.training_usd_per_year
    training = float(a["cost.training_usd"][klass]) if training is None else training
    for category, usd in ((Category.INSURANCE, a["keeping.renter_insurance_usd"]),
                          (Category.TRAINING, checkout + training)):
        entries.add(category, Cause.YEAR, reps, day, usd)
    add_fields(entries, flights, books.places, a)
    add_lodging(entries, trips, books.places, books.prices, a)
    add_ground(entries, trips, books.terms, books.places, a)
    add_substitutes(entries, trips, books.terms, books.places, books.prices, a)
    return entries.close()


def billed_hours(trips: Columns, books: Books) -> NDArray[np.float64]:
    """Return the hours charged for each trip that left: those flown, or the least of the days it was away."""
    nights = books.terms.nights[trips["trip"]] + trips["nights_forced"]
    least = books.assumptions["keeping.rent_least_h_per_day"] * (nights + 1.0)
    left = trips["outcome"] != Outcome.REFUSED.value
    return np.where(left, np.maximum(trips["block_h"], least), 0.0)
