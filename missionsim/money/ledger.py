"""One year of one candidate as a ledger: a pass over the records, for a chunk of replications at a time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Columns, Floats, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.money.categories import CAUSE_CODE, Category, Cause
from missionsim.money.cost_profile import CostProfile
from missionsim.money.entries import Entries, Ledger, month_ends
from missionsim.money.fixed_costs import add_fixed
from missionsim.money.insurance import PilotExperience, deductible_usd, quote
from missionsim.money.maintenance import add_shop
from missionsim.money.operating_costs import (
    add_fields,
    add_fuel,
    add_hours,
    add_lodging,
    hourly_rates,
    monthly_hours,
)
from missionsim.money.other_ways import TripTerms
from missionsim.money.prices import PlacePrices, Prices
from missionsim.money.substitute import Travel, add_ground, add_substitutes, travel_of

__all__ = ["Books", "Ledger", "ledger_of", "premium_usd", "visits_usd"]


@dataclass(frozen=True, slots=True)
class Books:
    """What a year's records are priced by.

    Attributes
    ----------
    terms : TripTerms             By row of the trip table.
    places : PlacePrices          By row of the study's places.
    prices : Prices
    pilot : PilotExperience       Whom the insurer asks about; of several, the least experienced.
    assumptions : Assumptions
    year : int                    Calendar year, which dates the entries.
    owners : int                  People named as owners and pilots.
    hired_out : bool              Rental, instruction or charter.
    deductible : bool             Whether the insurer's deductible is an owner's; members of a group agree who pays it.
    """

    terms: TripTerms
    places: PlacePrices
    prices: Prices
    pilot: PilotExperience
    assumptions: Assumptions
    year: int
    owners: int = 1
    hired_out: bool = False
    deductible: bool = True


def ledger_of(candidate: CostProfile, flights: Columns, trips: Columns, shop: Columns, replications: ArrayLike,
              books: Books, travel: Travel | None = None) -> Ledger:
    """Return every dollar paid in one flown year of one candidate.

    Fixed items, hours and events, plus substitute travel and valued time, which count in the net cost alone. What
    buying, selling, overhauls and money tied up add to a year stands in its ownership. Each entry is rounded to the
    cent once; totals are sums of entries.

    Parameters
    ----------
    candidate : CostProfile
    flights, trips, shop : mapping     Columns by the field names of `FlightRow`, `TripRow`, `ShopRow`.
    replications : (r,) int array      All replications of the chunk, those without a flight too; each pays the fixed
                                       costs.
    books : Books
    travel : Travel, optional          How the trips were made, where it is known already.
    """
    reps: Ints = np.unique(np.asarray(replications, dtype=np.int64))
    entries = Entries()
    places, prices, assumptions, year = books.places, books.prices, books.assumptions, books.year
    hours = monthly_hours(flights, reps, places, year)
    premium = premium_usd(candidate, prices, books.pilot, assumptions, owners=books.owners, hired_out=books.hired_out)
    add_fixed(entries, reps, candidate, prices, premium, assumptions, year)
    add_fuel(entries, flights, reps, places, candidate.fuel_price_share)
    add_hours(entries, hours, reps, year, hourly_rates(candidate, prices, assumptions))
    if books.deductible:
        entries.add(Category.DEDUCTIBLE, Cause.CLAIMS, reps, np.int64(month_ends(year)[-1] - 1),
                    deductible_usd(hours.sum(axis=1), assumptions))
    add_fields(entries, flights, places, assumptions)
    add_lodging(entries, trips, places, prices, assumptions)
    add_shop(entries, shop, reps, candidate, places, prices, assumptions, year)
    add_ground(entries, trips, books.terms, places, assumptions)
    travel = travel or travel_of(trips, books.terms, prices, assumptions)
    add_substitutes(entries, trips, travel, books.terms, places, prices, assumptions)
    return entries.close()


def visits_usd(shop: Columns, candidate: CostProfile, books: Books) -> Floats:
    """Return what each visit costs in the ledger of its year, by row of `shop`; an overhaul's price is not one year's.

    Parameters
    ----------
    shop : mapping    Columns by the field names of `ShopRow`.
    """
    rows, entries = np.arange(len(shop["kind"])), Entries()
    add_shop(entries, {**shop, "replication": rows}, rows, candidate, books.places, books.prices, books.assumptions,
             books.year)
    ledger = entries.close()
    of_visit = ledger.cause != CAUSE_CODE[Cause.ACCRUED]
    return np.bincount(ledger.replication[of_visit], ledger.amount_cents[of_visit], len(rows)) / 100.0


def premium_usd(candidate: CostProfile, prices: Prices, pilot: PilotExperience, assumptions: Assumptions, *,
                owners: int = 1, hired_out: bool = False) -> float:
    """Return the insurance of a year: the aircraft's own, the user's, or the estimate from value, class and pilot.

    Parameters
    ----------
    candidate : CostProfile   What its costs depend on.
    prices : Prices
    pilot : PilotExperience
    assumptions : Assumptions
    owners : int              Who share it.
    hired_out : bool          Also flown for others.
    """
    for known in (candidate.insurance_usd_per_year, prices.insurance_usd_per_year):
        if known is not None:
            return known
    return quote(candidate, pilot, assumptions, owners=owners, hired_out=hired_out).premium_usd
