"""Costs of flying: fuel, hours, landings and nights, as passes over the flight and trip columns."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Columns, Floats, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.base.words import Purpose
from missionsim.money.categories import Category, Cause
from missionsim.money.cost_profile import CostProfile
from missionsim.money.entries import Entries, month_ends
from missionsim.money.finance import reserve_usd_per_h
from missionsim.money.prices import PlacePrices, Prices


def days(t_h: Floats, places: PlacePrices) -> Ints:
    """Return the day of the year at home, from 0, of UTC hours."""
    return np.maximum(np.floor((t_h + places.utc_offset_h[places.home]) / 24.0), 0.0).astype(np.int64)


def monthly_hours(flights: Columns, replications: Ints, places: PlacePrices, year: int) -> Floats:
    """Return flight hours by replication and month, shape (replications, 12); days past the year count in December.

    Parameters
    ----------
    flights : Columns               Columns named as in `FlightRow`.
    replications : (r,) int array   In rising order.
    places : PlacePrices
    year : int                      Calendar year.
    """
    month = np.searchsorted(month_ends(year)[:-1], days(flights["depart_h"], places), side="right")
    at = np.searchsorted(replications, flights["replication"])
    sums = np.bincount(at * 12 + month, weights=flights["flight_h"], minlength=12 * len(replications))
    return sums.reshape(len(replications), 12).astype(np.float64)


def add_fuel(entries: Entries, flights: Columns, replications: Ints, places: PlacePrices, share: float = 1.0) -> None:
    """Add fuel as bought, and at the year's end what brings the tanks back to where they began.

    Parameters
    ----------
    share : float   Price of the fuel over that of the places.
    """
    day = days(flights["depart_h"], places)
    price = share * places.fuel_usd_per_gal[flights["from_place"]]
    entries.add(Category.FUEL, Cause.UPLIFT, flights["replication"], day, flights["fuel_uplift_gal"] * price,
                flights["trip"], np.arange(len(day)))
    at = np.searchsorted(replications, flights["replication"])
    missing = np.bincount(at, flights["fuel_burn_gal"] - flights["fuel_uplift_gal"], len(replications))
    last = np.full(len(replications), 364, dtype=np.int64)
    np.maximum.at(last, at, day)
    entries.add(Category.FUEL, Cause.TANKS, replications, last, missing * share * places.fuel_usd_per_gal[places.home])


def add_hours(entries: Entries, hours: Floats, replications: Ints, year: int,
              rates: Mapping[Category, float]) -> None:
    """Add what each flight hour costs, once a month and category.

    Parameters
    ----------
    entries : Entries                    Added to.
    hours : (replication, month) array   Flight hours. [h]
    replications : (r,) int array        In rising order.
    year : int                           Calendar year.
    rates : mapping                      Dollars an hour by category. [usd]
    """
    day = month_ends(year) - 1
    for category, usd_per_h in rates.items():
        entries.add(category, Cause.HOURS, replications[:, None], day, hours * usd_per_h)


def hourly_rates(candidate: CostProfile, prices: Prices, assumptions: Assumptions) -> dict[Category, float]:
    """Return the cost of a flight hour by category: oil, consumables, components.

    Parameters
    ----------
    candidate : CostProfile   What its costs depend on.
    prices : Prices
    assumptions : Assumptions
    """
    klass, more = candidate.klass, twin_factor(candidate, assumptions)
    rates = {Category.OIL: candidate.engines * prices.oil_usd_per_quart / assumptions["cost.oil_h_per_quart"][klass],
             Category.CONSUMABLES: more * assumptions["maintenance.consumables_usd_per_h"][klass]}
    cost, life, count = (assumptions[f"maintenance.component_{k}"] for k in ("usd", "life_h", "count"))
    components = sum(count[name] * cost[name] / life[name] for name in sorted(cost))
    return rates | {Category.COMPONENTS: candidate.engines * components}


def twin_factor(candidate: CostProfile, assumptions: Assumptions) -> float:
    """Return upkeep over that of a single with one such engine."""
    return float(assumptions["maintenance.twin_factor"]) if candidate.engines == 2 else 1.0


def engine_reserve_usd_per_h(candidate: CostProfile, assumptions: Assumptions) -> float:
    """Return what to set aside an hour for the engine: overhaul and its usual extra over TBO, turbo parts besides."""
    extra = assumptions["engine_life.extra_usd"] * assumptions["engine_life.extra_share"]
    known = candidate.overhaul_usd
    overhaul = assumptions["engine_life.overhaul_usd"][candidate.engine] + extra if known is None else known
    turbo = 0.0
    if candidate.engine == "turbo":
        turbo = float(reserve_usd_per_h(assumptions["engine_life.turbo_overhaul_usd"],
                                        assumptions["engine_life.turbo_life_h"]))
    return candidate.engines * (float(reserve_usd_per_h(overhaul, candidate.tbo_h)) + turbo)


def propeller_overhaul_usd(candidate: CostProfile, assumptions: Assumptions) -> float:
    """Return the price of overhauling all propellers, governors included where there are some."""
    governor = 0.0 if candidate.propeller == "fixed" else assumptions["engine_life.governor_usd"]
    return float(candidate.engines * (assumptions["engine_life.propeller_usd"][candidate.propeller] + governor))


def reserve_usd(candidate: CostProfile, flight_hours: ArrayLike, assumptions: Assumptions) -> Floats:
    """Return what engine and propeller use up in a year, to be set aside: a view beside the cash, never added to it.

    Parameters
    ----------
    flight_hours : array    Flown in a year. The propeller goes by hours or by the calendar, whichever is sooner.
    """
    hours = np.asarray(flight_hours, dtype=np.float64)
    used = np.maximum(hours / assumptions["engine_life.propeller_life_h"],
                      1.0 / assumptions["engine_life.propeller_years"])
    return np.asarray(hours * engine_reserve_usd_per_h(candidate, assumptions)
                      + used * propeller_overhaul_usd(candidate, assumptions))


def add_fields(entries: Entries, flights: Columns, places: PlacePrices, assumptions: Assumptions) -> None:
    """Add landings, the costs of ending at another field, and parking for nights away.

    Parameters
    ----------
    entries : Entries   Added to.
    flights : Columns   Columns named as in `FlightRow`.
    places : PlacePrices
    assumptions : Assumptions
    """
    row = np.arange(len(flights["depart_h"]))
    arrive_h = flights["depart_h"] + flights["block_h"]
    day, fee = days(arrive_h, places), places.landing_fee_usd[flights["to_place"]]
    stop, diverted = flights["is_stop"].astype(bool), flights["purpose"] == Purpose.DIVERSION.value
    for category, cause, usd in ((Category.STOP, Cause.FUEL_STOP, np.where(stop, fee, 0.0)),
                                 (Category.LANDING, Cause.FIELD, np.where(stop, 0.0, fee)),
                                 (Category.DIVERSION, Cause.OTHER_FIELD, diverted * assumptions["cost.diversion_usd"])):
        entries.add(category, cause, flights["replication"], day, usd, flights["trip"], row)
    nights = nights_parked(flights, places)
    entries.add(Category.OVERNIGHT, Cause.NIGHT, flights["replication"], day,
                nights * places.overnight_usd[flights["to_place"]], flights["trip"], row)


def nights_parked(flights: Columns, places: PlacePrices) -> Ints:
    """Return for each flight the local midnights until the next flight of the replication; 0 after the last."""
    arrive_h = flights["depart_h"] + flights["block_h"]
    order = np.lexsort((flights["depart_h"], flights["replication"]))
    offset = places.utc_offset_h[flights["to_place"][order]]
    here = np.floor((arrive_h[order] + offset) / 24.0)[:-1]
    left = np.floor((flights["depart_h"][order][1:] + offset[:-1]) / 24.0)
    same = flights["replication"][order][1:] == flights["replication"][order][:-1]
    nights = np.zeros(len(order), dtype=np.int64)
    nights[order[:-1]] = np.where(same, np.maximum(left - here, 0.0), 0.0)
    return nights


def add_lodging(entries: Entries, trips: Columns, places: PlacePrices, prices: Prices, assumptions: Assumptions,
                ) -> None:
    """Add rooms for nights beyond the plan; planned nights cost the same in every aircraft and are left out.

    Parameters
    ----------
    entries : Entries   Added to.
    trips : Columns     Columns named as in `TripRow`.
    places : PlacePrices
    prices : Prices
    assumptions : Assumptions
    """
    rooms = np.ceil(trips["people"] / assumptions["cost.people_per_room"])
    entries.add(Category.LODGING, Cause.FORCED_NIGHT, trips["replication"], days(trips["planned_h"], places),
                rooms * trips["nights_forced"] * prices.hotel_usd_per_night, trips["trip"])
