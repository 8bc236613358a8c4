"""A year of renting: the same trips, weather and rules, an aircraft that others look after and sometimes have."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from missionsim.aircraft.classes import class_named
from missionsim.base.arrays import Array, Bools
from missionsim.base.streams import uniforms
from missionsim.base.words import Stream
from missionsim.decide.flight_records import YearRecord
from missionsim.money.renting import rate_entry, renting_ledger
from missionsim.money.substitute import travel_of
from missionsim.study.prepare.study import Flyer, Prepared
from missionsim.study.replicate.one_year import (
    Day,
    FlownChunk,
    YearColumns,
    columns_together,
    loads_of,
    record_of,
    year_of,
)
from missionsim.study.unknowns.effects import effects_of
from missionsim.year.trips import Trip

NEVER_H = 1e6
_SATURDAY = 5
"""As `weekday` counts: the first day of a weekend."""


class Renting:
    """The rented aircraft through the years of a chunk, each in the day of its own.

    Who cannot have it does not ask for it: such a trip is refused before the year is flown and holds nobody up. It is
    decided all the same: one that this aircraft could never make keeps that reason, since no other day would help it.
    """

    def __init__(self, prepared: Prepared, replications: Sequence[int], people_lb: Array) -> None:
        """Weigh all loads of the chunk together; one by one they take five times as long.

        Parameters
        ----------
        prepared : Prepared                    With a `rental`.
        replications : sequence of int         In rising order.
        people_lb : (replication, trip, seat)  As `people_of` gives them. [lb]
        """
        assert prepared.rental is not None
        self._prepared, self._rental, self._replications = prepared, prepared.rental, list(replications)
        self._entrant, seed = self._rental.entrants[0], prepared.study.seed
        self._effects = effects_of(self._entrant.flyer.listing.drawn(seed, replications))
        self._loads = loads_of(self._entrant, people_lb, self._effects)
        self._lost = ~available(prepared, replications)
        self._years: list[YearRecord] = []

    def fly(self, day: Day, replication: int) -> None:
        """Fly one replication in its day; others look after the aircraft, so that it is never in the shop."""
        i = self._replications.index(replication)
        upkeep = replace(self._entrant.flyer.upkeep.upkeep(self._prepared.study.seed, replication),
                         oil_interval_h=NEVER_H, annual_due_h=NEVER_H, annual_from_h=NEVER_H,
                         inspection_interval_h=NEVER_H, fault_mean_h=NEVER_H)
        year = year_of(self._entrant, day, replication, self._effects.at(i), upkeep, self._loads[i],
                       booked=np.flatnonzero(self._lost[i]).tolist())
        self._years.append(record_of(self._rental, year, replication))

    def columns(self) -> YearColumns:
        """Return what was flown; of its visits to the shop none is kept."""
        flown = columns_together(self._rental, self._years)
        return replace(flown, shop={name: values[:0] for name, values in flown.shop.items()})


def rented_years(prepared: Prepared, flown: YearColumns, replications: Sequence[int]) -> FlownChunk:
    """Return the rented years of a chunk with their ledger."""
    rental = prepared.rental
    assert rental is not None
    flyer, books = rental.flyers[0], rental.books(rental.flyers[0])
    travel = travel_of(flown.trips, books.terms, books.prices, books.assumptions)
    ledger = renting_ledger(rental_rate(flyer), flyer.cost.klass, flown.flights, flown.trips, replications, books,
                            travel)
    effects = effects_of(flyer.listing.drawn(prepared.study.seed, replications))
    return FlownChunk(flyer.candidate.name, flown.flights, flown.trips, flown.shop, ledger, effects, travel)


def rental_rate(flyer: Flyer) -> tuple[str, str]:
    """Return the assumption that holds the rate of a rented aircraft, and its entry in it."""
    words = flyer.candidate.profile.class_words
    return rate_entry(class_named(words) if words else None, flyer.cost.klass)


def available(prepared: Prepared, replications: Sequence[int]) -> Bools:
    """Return by replication and trip whether the aircraft can be had, drawn for each trip and all days it may move to.

    Weekends are asked for most. For more nights than are let it is not.
    """
    a, table = prepared.study.assumptions, prepared.table
    share, longest = a["keeping.rent_available_share"], a["keeping.rent_longest_nights"]
    rank = uniforms(prepared.study.seed, np.array(replications)[:, None], Stream.RENTAL, np.arange(len(table)))
    limit = np.array([share["weekend" if over_weekend(trip) else "weekday"] if trip.nights <= longest else 0.0
                      for trip in table])
    return np.asarray(rank.reshape(len(replications), len(table)) < limit)


def over_weekend(trip: Trip) -> bool:
    """Tell whether a Saturday or Sunday lies within a trip."""
    first, last = trip.departs_local[0].date(), trip.departs_local[-1].date()
    return first.weekday() + (last - first).days >= _SATURDAY
