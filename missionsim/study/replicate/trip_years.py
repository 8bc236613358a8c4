"""What became of every wanted trip in every replication: outcome, dollars and hours however it was made."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from missionsim.base.arrays import Array, Bools, Codes, Columns, Floats, Floats32, Indices, Ints, Ints8
from missionsim.base.assumptions import Assumptions
from missionsim.base.packed import Packing, packed, unpacked
from missionsim.base.words import REASONS, Outcome
from missionsim.money.categories import CODE, Category
from missionsim.money.other_ways import TripTerms
from missionsim.money.substitute import valued_hours
from missionsim.study.replicate.one_year import FlownChunk

_SUBSTITUTE, _TIME = CODE[Category.SUBSTITUTE], CODE[Category.TIME]
_REASON = {str(reason): i for i, reason in enumerate(REASONS)}
_OUTCOME = {str(outcome): i for i, outcome in enumerate(Outcome)}
COMPLETED, DELAYED, BROKEN_OFF, REFUSED = (list(Outcome).index(o) for o in (
    Outcome.COMPLETED, Outcome.DELAYED, Outcome.BROKEN_OFF, Outcome.REFUSED))


@dataclass(frozen=True, slots=True)
class WithoutAircraft:
    """Every wanted trip where there is no aircraft, in the rows of its `TripYears`: car or airline, or given up.

    Attributes
    ----------
    usd, lost_usd : (n,)     Car and airline of all travellers; worth of trips that nobody makes then.
    hours, valued_h : (n,)   Of one traveller; of all as they are valued. [h]
    """

    usd: Floats
    lost_usd: Floats
    hours: Floats
    valued_h: Floats


@dataclass(frozen=True, slots=True)
class TripYears:
    """Every wanted trip of every replication, ordered by replication and trip: the same rows for every candidate.

    Attributes
    ----------
    replication, trip : (n,) int arrays     Replication and row of its trip table.
    outcome : (n,) uint8 array              Position in `Outcome`.
    given_up : (n,) bool array              Optional, and something of it was given up.
    must_go : (n,) bool array
    flown_usd : (n,) array                  Dollars booked on the trip as flown: fuel, fees, nights, cars there.
    car_usd, airline_usd, lost_usd : (n,)   For all travellers; worth of what was given up.
    flown_h, car_h, airline_h : (n,)        Hours of one traveller.
    people, weight_flown, weight_otherwise  Travellers, and as their hours are valued in a light aircraft and otherwise.
    other_h, other_usd, other_value_usd     The whole trip made otherwise; worth of one that is then given up, else NaN.
    other_airline, other_on_dates : (n,)    That way goes by airline; keeps the dates of the trip.
    marks : (n,) uint8 array                Set of `words.Mark`, of trips made and of others.
    reason : (n,) int8 array                Position in `REASONS` of what decided; -1 where nothing did.
    apart, apart_h : (n,) array             People who went by car since not all fitted, in `people` too; hours of one.
    """

    replication: Ints
    trip: Ints
    outcome: Codes
    given_up: Bools
    must_go: Bools
    flown_usd: Floats32
    car_usd: Floats32
    airline_usd: Floats32
    lost_usd: Floats32
    flown_h: Floats32
    car_h: Floats32
    airline_h: Floats32
    people: Floats32
    weight_flown: Floats32
    weight_otherwise: Floats32
    other_h: Floats32
    other_usd: Floats32
    other_value_usd: Floats32
    other_airline: Bools
    other_on_dates: Bools
    marks: Codes
    apart: Floats32
    apart_h: Floats32
    reason: Ints8

    @property
    def made(self) -> Bools:
        """Trips made by a light aircraft, late ones too."""
        return np.asarray(self.outcome <= DELAYED)

    @property
    def as_asked(self) -> Bools:
        """Trips made by a light aircraft as they were asked for: neither moved, nor adapted, nor marginal."""
        return np.asarray(self.made & (self.marks == 0))

    @property
    def party_h(self) -> Floats:
        """Hours of one traveller, however the trip was made."""
        return np.asarray(self.flown_h.astype(np.float64) + self.car_h + self.airline_h)

    @property
    def person_h(self) -> Floats:
        """Hours of all travellers, however the trip was made."""
        return np.asarray(self.party_h * self.people + self.apart * (self.apart_h.astype(np.float64) - self.flown_h))

    @property
    def valued_h(self) -> Floats:
        """Hours of all travellers as they are valued."""
        weights = self.weight_flown.astype(np.float64), self.weight_otherwise.astype(np.float64)
        hours = valued_hours(self.flown_h.astype(np.float64), self.car_h.astype(np.float64) + self.airline_h, weights)
        return hours + self.apart * (self.apart_h.astype(np.float64) - self.flown_h)

    @property
    def other_given_up(self) -> Bools:
        """Trips that nobody would make without a light aircraft."""
        return np.isfinite(self.other_value_usd)

    def without_aircraft(self) -> WithoutAircraft:
        """Return the same trips where there is no aircraft."""
        gone = self.other_given_up
        hours = np.where(gone, 0.0, self.other_h).astype(np.float64)
        return WithoutAircraft(np.where(gone, 0.0, self.other_usd).astype(np.float64),
                               np.nan_to_num(self.other_value_usd), hours, hours * self.weight_otherwise)

    def sums(self, values: NDArray[np.generic], replications: Ints) -> Floats:
        """Return sums by replication of values by row, for replications in rising order."""
        row = np.searchsorted(replications, self.replication)
        return np.asarray(np.bincount(row, np.asarray(values, dtype=np.float64), len(replications)), dtype=np.float64)

    def against_others(self, equal_h: float) -> Ints:
        """Return for each trip made 1 where it was faster door to door than the other way, 0 equal, -1 slower.

        Trips not made count 0; look at `made` too.
        """
        saved = self.other_h - self.flown_h
        return np.where(self.made, np.where(saved > equal_h, 1, np.where(saved < -equal_h, -1, 0)), 0)


def codes_of(trips: Columns) -> tuple[Codes, Ints8]:
    """Return outcome and reason of trip records as positions in `Outcome` and `REASONS`, -1 where nothing decided."""
    outcome, reason = trips["outcome"].tolist(), trips["reason"].tolist()
    return (np.array([_OUTCOME[word] for word in outcome], dtype=np.uint8),
            np.array([_REASON.get(word, -1) for word in reason], dtype=np.int8))


def trip_years(flown: FlownChunk, codes: tuple[Codes, Ints8], terms: TripTerms, assumptions: Assumptions) -> TripYears:
    """Return the trips of a chunk of one candidate.

    Parameters
    ----------
    flown : FlownChunk             Records and ledger of the chunk.
    codes : tuple of arrays        Of its trips, as `codes_of` gives them.
    terms : TripTerms              By row of the trip table.
    assumptions : Assumptions
    """
    trips, ledger, travel = flown.trips, flown.ledger, flown.travel
    order = np.lexsort((trips["trip"], trips["replication"]))
    row = trips["trip"][order]
    ways = travel.ways
    outcome, reason = codes[0][order], codes[1][order]
    key = trips["replication"][order] * (len(terms.places) + 1) + row
    of_trip = (ledger.trip >= 0) & (ledger.category != _SUBSTITUTE) & (ledger.category != _TIME)
    at = np.searchsorted(key, ledger.replication[of_trip] * (len(terms.places) + 1) + ledger.trip[of_trip])
    flown_usd = np.bincount(at, ledger.amount_cents[of_trip], len(key)) / 100.0

    def by_row(values: Floats) -> Floats32:
        return values[order].astype(np.float32)

    def by_trip(values: Floats) -> Floats32:
        return values[row].astype(np.float32)

    return TripYears(
        trips["replication"][order], row, outcome, travel.given_up[order], terms.must_go[row],
        flown_usd.astype(np.float32), by_row(travel.car_usd), by_row(travel.airline_usd), by_row(travel.lost_usd),
        by_row(travel.flown_h), by_row(travel.car_h), by_row(travel.airline_h), by_trip(terms.people),
        by_trip(terms.weight_flown(assumptions)), by_trip(terms.weight_otherwise(assumptions)), by_trip(ways.hours),
        by_trip(ways.usd), by_trip(np.where(ways.given_up, terms.optional_value_usd, np.nan)), ways.by_airline[row],
        ways.on_dates[row], trips["marks"][order].astype(np.uint8),
        by_row(travel.apart), by_row(travel.apart_h), reason)


def joined_trips(parts: Sequence[TripYears]) -> TripYears:
    """Return the trips of several chunks in order."""
    return TripYears(*(np.concatenate([getattr(p, f.name) for p in parts]) for f in fields(TripYears)))


@dataclass(frozen=True, slots=True)
class KeptTrips:
    """The trips of some replications as they are kept: what every one of a kind has in common stands once.

    Attributes
    ----------
    replications, counts : (r,) arrays   Runs of rows of one replication.
    kind : packed (n,) array             Row of the trip's kind.
    of_kind : tuple                      Columns of `BY_KIND`, [kind].
    by_row : tuple                       All other columns, packed.
    """

    replications: Ints
    counts: Any
    kind: Any
    of_kind: tuple[Any, ...]
    by_row: tuple[Any, ...]


BY_KIND = ("trip", "must_go", "people", "weight_flown", "weight_otherwise", "other_h", "other_usd", "other_value_usd",
           "other_airline", "other_on_dates")
"""Columns that follow from the row of the trip table, the same in all replications that share one."""
_BY_ROW = tuple(f.name for f in fields(TripYears) if f.name not in ("replication", *BY_KIND))


class TripPacking(Packing):
    """A field that keeps `TripYears` packed."""

    def packed(self, value: TripYears) -> KeptTrips:
        """Return what is kept."""
        first = np.flatnonzero(np.append(True, value.replication[1:] != value.replication[:-1])[:len(value.trip)])
        columns = [np.asarray(getattr(value, name)) for name in BY_KIND]
        row, kind = _kinds(columns)
        return KeptTrips(value.replication[first], packed(np.diff(np.append(first, len(value.trip)))), packed(kind),
                         tuple(packed(column[row]) for column in columns),
                         tuple(packed(getattr(value, name)) for name in _BY_ROW))

    def unpacked(self, kept: KeptTrips) -> TripYears:
        """Return what is handed out."""
        kind = unpacked(kept.kind)
        values = {name: unpacked(column)[kind] for name, column in zip(BY_KIND, kept.of_kind, strict=True)}
        values |= {name: unpacked(column) for name, column in zip(_BY_ROW, kept.by_row, strict=True)}
        return TripYears(replication=np.repeat(kept.replications, unpacked(kept.counts)), **values)


def _kinds(columns: Sequence[Array]) -> tuple[Indices, Indices]:
    """Return a row of each kind, rows alike in all columns to the last bit, and the kind of each row."""
    _, row, kind = np.unique(columns[0], return_index=True, return_inverse=True)
    whole = [np.ascontiguousarray(c).view(np.uint8).reshape(len(c), c.itemsize) for c in columns]
    together = np.ascontiguousarray(np.concatenate(whole, axis=1))
    if np.array_equal(together, together[row][kind]):  # one trip table in all replications
        return row, kind
    _, row, kind = np.unique(together.view(f"V{together.shape[1]}").ravel(), return_index=True, return_inverse=True)
    return row, kind
