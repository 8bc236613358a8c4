"""Records of a year without chance: every figure of it can be worked by hand."""

from __future__ import annotations

from typing import get_type_hints

import numpy as np

from missionsim.money.cost_profile import CostProfile
from missionsim.money.insurance import PilotExperience
from missionsim.money.ledger import Books, ledger_of
from missionsim.money.other_ways import TripTerms
from missionsim.year.records import FlightRow, ShopRow, TripRow

CANDIDATES = {
    "F4": ("four", "fixed", 4, 180.0, False, 90_000.0, 2000.0),
    "R4": ("four", "two_blade", 4, 200.0, True, 140_000.0, 2000.0),
    "H4": ("six_large", "three_blade", 4, 285.0, True, 220_000.0, 1700.0),
    "T6": ("turbo", "three_blade", 6, 310.0, True, 350_000.0, 1600.0),
}


def candidate(klass, **changes):
    engine, propeller, seats, hp, retractable, price, tbo = CANDIDATES[klass]
    given = {"name": klass, "klass": klass, "engine": engine, "propeller": propeller, "seats": seats, "rated_hp": hp,
             "retractable": retractable, "asking_price_usd": price, "hull_value_usd": price, "tbo_h": tbo,
             "hours_since_overhaul_h": 0.5 * tbo, "years_since_overhaul": 8.0, "overhaul_kind": "field",
             "propeller_hours_h": 400.0, "propeller_years": 3.0}
    asked = changes.get("asking_price_usd", price)
    return CostProfile(**(given | {"market_value_usd": 0.95 * asked, "usual_asking_usd": asked} | changes))


def flight(replication=0, trip=0, depart_h=34.0, flight_h=1.0, fuel=11.0, uplift=None, **changes):
    given = {"replication": replication, "trip": trip, "leg": 0, "purpose": "trip", "from_place": 0, "to_place": 1,
             "depart_h": depart_h, "block_h": flight_h + 0.2, "flight_h": flight_h, "level_ft": 7_000.0,
             "tas_kt": 140.0, "groundspeed_kt": 140.0, "headwind_kt": 0.0, "distance_nm": 140.0 * flight_h,
             "fuel_burn_gal": fuel, "fuel_uplift_gal": fuel if uplift is None else uplift,
             "takeoff_weight_lb": 2_600.0, "people": 2, "is_stop": False}
    return FlightRow(**(given | changes))


def trip(replication=0, row=0, outcome="completed", **changes):
    given = {"replication": replication, "trip": row, "outcome": outcome, "reason": "", "reasons": 0,
             "structural": False, "planned_h": 34.0, "departed_h": 34.0, "home_h": 44.0, "door_to_door_h": 4.0,
             "nights_forced": 0, "flights": 2, "fuel_stops": 0, "diversions": 0, "looks": 0, "block_h": 2.4,
             "flight_h": 2.0, "fuel_gal": 22.0, "people": 2, "places_reached": 1, "came_home_otherwise": False,
             "marks": 0, "turned": 0, "met_below": 0, "how": 0, "apart": 0}
    return TripRow(**(given | changes))


def visit(kind, replication=0, start_h=100.0, rank=0.5, **changes):
    given = {"replication": replication, "kind": kind, "start_h": start_h, "end_h": start_h + 24.0, "place": 0,
             "flight_hours": 0.0, "cost_rank": rank, "deferred": False, "trip": -1}
    return ShopRow(**(given | changes))


def record_columns(rows, kind):
    """Return record rows as columns by field name, typed also when there are none."""
    kinds, types = {int: np.int64, float: np.float64, bool: np.bool_, str: np.object_}, get_type_hints(kind)
    columns = zip(*rows, strict=True) if rows else [()] * len(kind._fields)
    return {n: np.array(c, dtype=kinds[types[n]]) for n, c in zip(kind._fields, columns, strict=True)}


def columns(flights=(), trips=(), shop=()):
    return (record_columns(list(flights), FlightRow), record_columns(list(trips), TripRow),
            record_columns(list(shop), ShopRow))


def terms(n=1, total_nm=280.0, places=1, bags_lb=0.0, must_go=False, value=np.nan, adults=2, children=0, nights=0,
          road_nm=None, ferries=0, access_nm=0.0, own_usd=np.nan, own_h=np.nan, moved_usd=0.0, moved_h=0.0):
    full = lambda x, t=np.float64: np.full(n, x, dtype=t)  # noqa: E731
    return TripTerms(full(total_nm), full(places), full(bags_lb), full(must_go, np.bool_), full(value), full(adults),
                     full(children), full(nights), full(1.2 * total_nm if road_nm is None else road_nm), full(ferries),
                     full(access_nm), full(own_usd), full(own_h), full(moved_usd), full(moved_h))


def priced(aircraft, flights, trips, shop, *, replications, terms, places, prices, assumptions, pilot=None, year=2025,
           deductible=True):
    """Return the ledger of some records."""
    books = Books(terms, places, prices, pilot or PilotExperience(), assumptions, year, deductible=deductible)
    return ledger_of(aircraft, flights, trips, shop, replications, books)


def all_cents(bills):
    """Return all bills, the members' own included, by replication."""
    return bills.group_cents + bills.own_cents.sum(axis=1)


def fund_change_cents(paid, bills):
    """Return what the fund gains in the year: dues and payments for use less the group's bills."""
    return (paid.dues_cents + paid.hourly_cents + paid.daily_cents).sum(axis=1) - bills.group_cents
