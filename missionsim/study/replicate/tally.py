"""Sums of flown replications: one row a replication and candidate, counts by trip, and nothing that grows further.

Records themselves are kept for the first replications only; a thousand replications need no more memory than twenty.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array, Columns, Ints
from missionsim.base.packed import packing
from missionsim.base.words import REASONS, Outcome, Purpose
from missionsim.money.entries import Ledger, month_ends
from missionsim.money.ledger import Books
from missionsim.money.operating_costs import days
from missionsim.money.ownership_cash import INSIDE
from missionsim.money.renting import billed_hours
from missionsim.study.replicate.local_sums import LOCAL_MEASURES, local_sums
from missionsim.study.replicate.one_year import FlownChunk
from missionsim.study.replicate.ownership_years import OwnedYears, joined_years
from missionsim.study.replicate.shop_sums import AS_ASKED, MARKS, SHOP_MEASURES, mark_sums, shop_sums
from missionsim.study.replicate.trip_years import REFUSED, TripPacking, TripYears, codes_of, joined_trips, trip_years

OUTCOMES: tuple[str, ...] = tuple(str(o) for o in Outcome)
MONTHS = 12
MEASURES = ("trips_wanted", "completed", "delayed", "broken_off", "flight_hours", "block_hours", "door_to_door_hours",
            "party_hours", "valued_hours", "flown_door_to_door_hours", "nights_away_forced", "flights", "fuel_stops",
            "diversions", "looks", "fuel_gal", "cost_cents", "net_cost_cents", "seat_nm", "trips_faster", "trips_equal",
            "trips_slower", "trips_by_other_means", "trips_given_up", "trips_off_dates", "must_go_lost", "car_usd",
            "airline_usd", "given_up_usd", "rented_hours", *SHOP_MEASURES, *MARKS, AS_ASKED,
            *LOCAL_MEASURES)
"""Columns of a tally's table, one row a replication. `door_to_door_hours`: of all travellers on all wanted trips,
however made; `party_hours`: of one traveller each; `valued_hours`: of all travellers as weighted;
`flown_door_to_door_hours`: of one traveller on trips that left by light aircraft. `trips_faster, trips_equal,
trips_slower`: of trips made, against the other way. `trips_off_dates`: made otherwise, but not on their dates.
`must_go_lost`: not made although they had to be. `rented_hours`: what a renter bills for the same flying, local too.
`local_hours`: of flight, in `flight_hours` too; `trips_not_current`: with passengers, begun without three landings in
90 days. `made_as_asked`: trips made that bear no mark."""

SUMMED = ("block_h", "door_to_door_h", "fuel_stops", "fuel_gal")
"""Columns of trip records that are summed by trip."""
FUEL_STOPS = SUMMED.index("fuel_stops")


@dataclass(frozen=True, slots=True)
class KeptRecords:
    """Flights, trips, shop visits and dollars of some replications, as columns."""

    flights: Columns
    trips: Columns
    shop: Columns
    ledger: Columns


@packing("table", "categories", "structural", "on_the_day", "delayed", "monthly", "drawn", "trip_cents", "owned_years",
         trips=TripPacking())
@dataclass(frozen=True)
class Tally:
    """One candidate's sums over some replications.

    `table` [replication, measure]; `categories` [replication, category] in cents: what
    a year of the ownership bears; `structural`, `on_the_day`, `delayed`
    [replication, reason]; `monthly` [replication, month, 4]: trips wanted, completed, flight hours, cents;
    `by_trip` [trip, outcome] counts, `trip_reason` [trip, reason] counts, `trip_sum` [trip, column of `SUMMED`];
    `kept`: records of the first replications; `trips`: every wanted trip of every replication; `drawn` [figure]: what
    the listing leaves open, as drawn in each replication;
    `trip_cents` [replication, trip]: all that each trip caused; `owned_years`: the flown years of each
    replication's ownership, None for an aircraft that is rented. What has a row a replication is kept packed: reading
    it unpacks it, so loops read it once.
    """

    name: str
    replications: Ints
    table: Array
    categories: Array
    structural: Array
    on_the_day: Array
    delayed: Array
    monthly: Array
    by_trip: Array
    trip_reason: Array
    trip_sum: Array
    kept: KeptRecords | None
    trips: TripYears
    drawn: Mapping[str, Array]
    trip_cents: Array
    owned_years: OwnedYears | None

    @property
    def owned(self) -> OwnedYears:
        """Return the ownerships of a candidate; a rented aircraft has none."""
        assert self.owned_years is not None
        return self.owned_years

    def column(self, measure: str) -> Array:
        """Return one measure by replication."""
        return self.table[:, MEASURES.index(measure)]


def tally(flown: FlownChunk, owned: OwnedYears | None, replications: Sequence[int], books: Books, keep: int,
          idents: Sequence[str] | None = None) -> Tally:
    """Return the sums of a chunk of one candidate.

    Parameters
    ----------
    flown : FlownChunk                    With the whole year in its ledger.
    owned : OwnedYears or None       None for an aircraft that is rented.
    replications : sequence of int   Those of the chunk, in rising order.
    books : Books                    What the chunk was priced by.
    keep : int                       Records of replications below this number are kept.
    idents : sequence of str         Identifiers of the study's places by row: kept records name places by them.
    """
    reps, year = np.array(replications, dtype=np.int64), books.year
    trips = len(books.terms.places)
    codes = codes_of(flown.trips)
    each = trip_years(flown, codes, books.terms, books.assumptions)
    row = np.searchsorted(reps, flown.trips["replication"])
    code, reason = (values.astype(np.int64) for values in codes)
    cents = flown.ledger.by_category(reps)
    return Tally(
        flown.name, reps, _table(flown, reps, row, code, each, cents, books), cents,
        *_reasons(flown, row, code, reason, len(reps)), _monthly(flown, reps, row, code, books),
        *_by_trip(flown, code, reason, trips), _kept(flown, keep, year, idents) if reps[0] < keep else None,
        each, flown.effects.drawn.values, _trip_cents(flown, reps, trips), owned)


def joined_tallies(parts: Sequence[Tally]) -> Tally:
    """Return the sums of several chunks in order."""
    def stack(name: str) -> Array:
        return np.concatenate([getattr(p, name) for p in parts])

    def total(name: str) -> Array:
        return np.sum([getattr(p, name) for p in parts], axis=0)

    kept = [p.kept for p in parts if p.kept is not None]
    return Tally(parts[0].name, stack("replications"), stack("table"), stack("categories"), stack("structural"),
                 stack("on_the_day"), stack("delayed"), stack("monthly"), total("by_trip"),
                 total("trip_reason"), total("trip_sum"), _join_kept(kept) if kept else None,
                 joined_trips([p.trips for p in parts]),
                 {key: np.concatenate([p.drawn[key] for p in parts]) for key in parts[0].drawn}, _stacked_trips(parts),
                 joined_years([p.owned for p in parts]) if parts[0].owned_years is not None else None)


def _stacked_trips(parts: Sequence[Tally]) -> Array:
    """Stack cents by trip; years with trip tables of their own have none in common."""
    same = len({p.trip_cents.shape[1] for p in parts}) == 1 and parts[0].by_trip.size > 0
    return np.concatenate([p.trip_cents for p in parts]) if same else np.zeros((0, 0))


def _trip_cents(flown: FlownChunk, reps: Ints, trips: int) -> Array:
    ledger, out = flown.ledger, np.zeros((len(reps), trips))
    of_trip = ledger.trip >= 0
    np.add.at(out, (np.searchsorted(reps, ledger.replication[of_trip]), ledger.trip[of_trip]),
              ledger.amount_cents[of_trip])
    return out


def _table(flown: FlownChunk, reps: Ints, row: Ints, code: Ints, each: TripYears, cents: Ints, books: Books) -> Array:
    trips, n = flown.trips, len(reps)

    def per(values: Array) -> Array:
        return np.bincount(row, values, n)

    flight_row = np.searchsorted(reps, flown.flights["replication"])
    seat_nm = np.bincount(flight_row, flown.flights["distance_nm"] * flown.flights["people"], n)
    # Ferry flights belong to the year's hours and fuel although no trip flew them.
    hours, block, fuel = (np.bincount(flight_row, flown.flights[c], n)
                          for c in ("flight_h", "block_h", "fuel_burn_gal"))
    local_h = np.where(flown.flights["purpose"] == Purpose.LOCAL.value, flown.flights["block_h"], 0.0)
    columns = [
        per(np.ones(len(row))), per(code <= 1), per(code == 1), per(code == 2), hours, block,
        *(each.sums(v, reps) for v in (each.person_h, each.party_h, each.valued_h, each.flown_h)),
        per(trips["nights_forced"]),
        np.bincount(flight_row, minlength=n), per(trips["fuel_stops"]), per(trips["diversions"]), per(trips["looks"]),
        fuel, cents[:, INSIDE].sum(axis=1), cents.sum(axis=1), seat_nm,
        *_travel(each, reps, books.assumptions["time.equal_h"]),
        per(billed_hours(trips, books)) + np.bincount(flight_row, local_h, n),
        *shop_sums(flown.shop, trips, reps), *mark_sums(trips, reps),
        *local_sums(flown.flights, trips, reps, books.assumptions["local.landings"]),
    ]
    return np.column_stack([np.asarray(c, dtype=float) for c in columns])


def _travel(each: TripYears, reps: Ints, equal_h: float) -> list[Array]:
    """Return the last columns of the table: how trips compare with the other way, and how those not made were made."""
    speed, made, refused = each.against_others(equal_h), each.made, each.outcome == REFUSED
    otherwise = refused & ~each.given_up
    return [each.sums(v, reps) for v in (
        made & (speed > 0), made & (speed == 0), made & (speed < 0), otherwise, refused & each.given_up,
        otherwise & ~each.other_on_dates, ~made & each.must_go, each.car_usd, each.airline_usd, each.lost_usd)]


def _reasons(flown: FlownChunk, row: Ints, code: Ints, reason: Ints, n: int,
             ) -> tuple[Array, Array, Array]:
    structural = flown.trips["structural"]
    out = []
    for chosen in ((code == 3) & structural, (code == 3) & ~structural, code == 1):
        counts = np.zeros((n, len(REASONS)))
        some = chosen & (reason >= 0)
        np.add.at(counts, (row[some], reason[some]), 1.0)
        out.append(counts)
    return out[0], out[1], out[2]


def _monthly(flown: FlownChunk, reps: Ints, row: Ints, code: Ints, books: Books,
             ) -> Array:
    """Return sums by month at home's clock, the one that dates the ledger."""
    out = np.zeros((len(reps), MONTHS, 4))
    month = _month_of(flown.trips["planned_h"], books)
    flights = flown.flights
    np.add.at(out[:, :, 0], (row, month), 1.0)
    np.add.at(out[:, :, 1], (row, month), (code <= 1).astype(float))
    np.add.at(out[:, :, 2], (np.searchsorted(reps, flights["replication"]), _month_of(flights["depart_h"], books)),
              flights["flight_h"])
    out[:, :, 3] = flown.ledger.by_month(reps, books.year)
    return out


def _month_of(time_h: Array, books: Books) -> Ints:
    """Return the month, January 0; what lies past the year counts in December."""
    return np.searchsorted(month_ends(books.year)[:-1], days(time_h, books.places), side="right").astype(np.int64)


def _by_trip(flown: FlownChunk, code: Ints, reason: Ints, trips: int,
             ) -> tuple[Array, Array, Array]:
    of = flown.trips["trip"]
    counts, why = np.zeros((trips, len(OUTCOMES))), np.zeros((trips, len(REASONS)))
    np.add.at(counts, (of, code), 1.0)
    some = reason >= 0
    np.add.at(why, (of[some], reason[some]), 1.0)
    sums = np.column_stack([np.bincount(of, flown.trips[c], trips) for c in SUMMED])
    return counts, why, sums


def _kept(flown: FlownChunk, keep: int, year: int, idents: Sequence[str] | None) -> KeptRecords:
    names = np.array(idents or [], dtype=object)

    def first(columns: Columns) -> Columns:
        chosen = columns["replication"] < keep
        out = {name: values[chosen] for name, values in columns.items()}
        # Rows of places differ from year to year where demand is generated; identifiers do not.
        places = [name for name in out if name == "place" or name.endswith("_place")] if len(names) else []
        return out | {name.replace("place", "ident"): names[out[name]] for name in places}

    ledger = flown.ledger
    rows = ledger.replication < keep
    part = Ledger(*(getattr(ledger, f)[rows] for f in ("replication", "day", "category", "cause", "trip", "flight",
                                                       "amount_cents")))
    return KeptRecords(first(flown.flights), first(flown.trips), first(flown.shop), part.columns(year))


def _join_kept(parts: Sequence[KeptRecords]) -> KeptRecords:
    def stack(columns: Sequence[Columns]) -> Columns:
        return {name: np.concatenate([c[name] for c in columns]) for name in columns[0]}

    ledgers, first = [], 0
    for part in parts:
        # A ledger names flights by their row in its own part.
        flight = part.ledger["flight"]
        ledgers.append({**part.ledger, "flight": np.where(flight < 0, flight, flight + first)})
        first += len(part.flights["replication"])
    return KeptRecords(stack([p.flights for p in parts]), stack([p.trips for p in parts]),
                       stack([p.shop for p in parts]), stack(ledgers))
