"""The owner's year with and without flying for others, replication by replication, as sums."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from missionsim.base.arrays import Array, Bools
from missionsim.base.streams import generator
from missionsim.base.words import Outcome, Purpose, Stream
from missionsim.money.categories import CATEGORIES, CODE, OUTSIDE, Category
from missionsim.money.entries import Ledger
from missionsim.money.hire_rates import Sale, Tariff, crew_usd
from missionsim.study.shared_use.groups import SharedTrips
from missionsim.study.shared_use.shared_year import SharedYear, YearRecords
from missionsim.study.shared_use.sums import Sums, reason_counts
from missionsim.study.shared_use.years import YearToShare
from missionsim.year.aircraft import Upkeep
from missionsim.year.reservations import ReservationRule

OWNER, OTHERS = 0, 1
"""Persons of a study of hire: the owner, and all who ask as one."""
PERSONAL = (Category.LODGING, Category.GROUND, *sorted(OUTSIDE))
"""Ledger entries of other people's trips that the owner does not pay: their rooms, their other ways to travel."""
PASSED_ON = {Category.LANDING, Category.STOP, Category.OVERNIGHT, Category.DIVERSION}
"""Fees that a customer may be asked to pay as they come."""


@dataclass(frozen=True, slots=True)
class HireTerms:
    """Money of flying for others: crew, shares, what joining costs. Dollars, and shares from 0 to 1."""

    charter: bool
    sale: Sale
    crew: int
    usd_per_day: float
    expenses_usd_per_day: float
    second_pilot_share: float
    conformity_usd_per_year: float
    margin_share: float
    rate_usd_per_h: float | None
    hours_a_year: tuple[float, ...]
    inspection_interval_h: float
    quote: Tariff
    elasticity: float


class HireYear:
    """One replication of one candidate: decided once, flown for the owner alone and for all."""

    def __init__(self, terms: HireTerms, year: YearToShare) -> None:
        self.terms, self.year, self.shared, self.study = terms, year, year.shared, year.use.study

    def sums(self) -> Sums:
        """Return all sums of the year."""
        year, replication = self.year, self.shared.replication
        alone = year.flown_by({OWNER: 0}, ReservationRule())
        alone_ledger = year.ledger(alone, (OWNER,))
        both = year.flown_by({OWNER: 0, OTHERS: 1}, ReservationRule(), self._hired(year.upkeep))
        ledger = year.ledger(both, (OWNER, OTHERS), hired_out=True)
        owners = self.shared.person == OWNER
        return {
            **{f"alone_{k}": v for k, v in self._trips(alone, owners).items()},
            **{f"own_{k}": v for k, v in self._trips(both, owners).items()},
            **{f"asked_{k}": v for k, v in self._trips(both, ~owners).items()},
            "alone_cents": alone_ledger.by_category([replication])[0],
            "alone_hours": np.asarray(alone.records.flights["flight_h"].sum()),
            "both_cents": self._owners_cents(ledger), "crew_usd": np.asarray(self._crew_usd(both.records)),
            **_hours(self.shared, both.records), **self._billed(both.records, ledger),
        }

    def _hired(self, upkeep: Upkeep) -> Upkeep:
        """Return the upkeep when operated for hire: an inspection every hundred hours, some of them flown already."""
        interval_h = self.terms.inspection_interval_h
        random = generator(self.study.seed, self.shared.replication, Stream.STATE, 1)
        return replace(upkeep, inspection_interval_h=interval_h,
                       inspection_since_h=interval_h * float(random.random()))

    def _trips(self, flown: SharedYear, mine: Bools) -> dict[str, Array]:
        trips = flown.records.trips
        of = mine[trips["trip"]]
        outcome = trips["outcome"][of]
        kept = (outcome == str(Outcome.COMPLETED)) | (outcome == str(Outcome.DELAYED))
        counts = reason_counts(flown, np.where(mine, 0, -1), 1)[0]
        return {"wanted": np.asarray(of.sum()), "completed": np.asarray(kept.sum()),
                "refused_all": np.asarray((outcome == str(Outcome.REFUSED)).sum()), "refused": counts}

    def _owners_cents(self, ledger: Ledger) -> Array:
        """Return the owner's cents of the year with all flying, by category."""
        theirs = np.append(self.shared.person == OTHERS, False)[ledger.trip]
        personal = np.isin(ledger.category, [CODE[c] for c in PERSONAL]) & theirs
        table = np.zeros(len(CATEGORIES), dtype=np.int64)
        np.add.at(table, ledger.category[~personal], ledger.amount_cents[~personal])
        return table

    def _billed(self, records: YearRecords, ledger: Ledger) -> dict[str, Array]:
        """Return the hours billed to customers, and dollars billed besides: shared with the operator, and passed on."""
        quote, trips, flights, shared = self.terms.quote, records.trips, records.flights, self.shared
        theirs = shared.person == OTHERS
        left = theirs[trips["trip"]] & (trips["outcome"] != str(Outcome.REFUSED))
        billed = np.append(theirs, False)[flights["trip"]]
        billed &= np.ones(len(billed), dtype=bool) if quote.positioning_billed else ~_empty(shared, records)
        clock = flights["block_h"] if not quote.by_meter else (
            flights["flight_h"] * self.study.assumptions["sharing.tach_ratio"])
        by_trip = np.bincount(flights["trip"][billed], clock[billed], shared.schedule.trips)
        offset_h = shared.place_prices.utc_offset_h[shared.place_prices.home]
        days = np.zeros(shared.schedule.trips)
        days[trips["trip"][left]] = (np.floor((trips["home_h"][left] + offset_h) / 24.0)
                                     - np.floor((trips["departed_h"][left] + offset_h) / 24.0) + 1.0)
        hours = np.where(by_trip > 0.0, np.maximum(by_trip, quote.daily_minimum_h * days), 0.0)
        away = np.maximum(trips["home_h"][left] - trips["departed_h"][left] - trips["block_h"][left], 0.0)
        waking = self.study.assumptions["time.waking_h"]
        waits = np.minimum(away, waking * days[trips["trip"][left]]).sum()
        passed = ({Category.FUEL} if quote.dry else set()) | (PASSED_ON if quote.fees_passed_on else set())
        mine = np.isin(ledger.category, [CODE[c] for c in passed]) & np.append(theirs, False)[ledger.trip]
        return {"billed_hours": np.asarray(hours.sum()),
                "surcharge_usd": np.asarray(quote.waiting_usd_per_h * waits
                                            + quote.fuel_surcharge_usd_per_h * hours.sum()),
                "passed_on_usd": np.asarray(ledger.amount_cents[mine].sum() / 100.0)}

    def _crew_usd(self, records: YearRecords) -> float:
        """Return what the crew of other people's trips costs: days on duty from leaving to home, nights between."""
        terms, trips = self.terms, records.trips
        if terms.usd_per_day <= 0.0:
            return 0.0
        left = (self.shared.person[trips["trip"]] == OTHERS) & (trips["outcome"] != str(Outcome.REFUSED))
        offset_h = self.shared.place_prices.utc_offset_h[self.shared.place_prices.home]
        first = np.floor((trips["departed_h"][left] + offset_h) / 24.0)
        last = np.floor((trips["home_h"][left] + offset_h) / 24.0)
        prices = self.shared.parts[-1].prices
        return float(crew_usd(last - first + 1.0, last - first, terms.usd_per_day, terms.expenses_usd_per_day,
                              prices.hotel_usd_per_night, terms.crew, terms.second_pilot_share).sum())


def _empty(shared: SharedTrips, records: YearRecords) -> Bools:
    """Return which flights carry nobody who pays."""
    leg = records.legs_of_flights
    return np.asarray((leg < 0) | shared.empty[np.maximum(leg, 0)] | (records.flights["purpose"] == str(Purpose.FERRY)))


def _hours(shared: SharedTrips, records: YearRecords) -> dict[str, Array]:
    """Return hours and miles of all, of flying for others, and of those with passengers who pay."""
    flights, empty = records.flights, _empty(shared, records)
    theirs = np.append(shared.person == OTHERS, False)[flights["trip"]]
    paying = theirs & ~empty
    return {name: np.asarray(value) for name, value in (
        ("flight_hours", flights["flight_h"].sum()), ("outside_hours", flights["flight_h"][theirs].sum()),
        ("outside_empty_hours", flights["flight_h"][theirs & empty].sum()),
        ("revenue_hours", flights["block_h"][paying].sum()), ("occupied_nm", flights["distance_nm"][paying].sum()))}
