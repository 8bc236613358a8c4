"""Years of several people with one aircraft, replication by replication: members of a group, or an owner and others."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Generic, TypeVar

import numpy as np

from missionsim.base.parallel import Progress, in_order
from missionsim.base.words import Stream
from missionsim.money.entries import Ledger, cents
from missionsim.money.ledger import Books, ledger_of
from missionsim.money.operating_costs import reserve_usd
from missionsim.money.substitute import travel_of
from missionsim.study.inputs.load_study import Study
from missionsim.study.replicate.one_year import CHUNK, FlownChunk
from missionsim.study.replicate.trip_years import TripYears, codes_of, trip_years
from missionsim.study.shared_use.groups import Group, SharedTrips, shared_trips_of
from missionsim.study.shared_use.shared_decisions import SharedDecisions, decide_together
from missionsim.study.shared_use.shared_year import (
    BookingHabits,
    SharedYear,
    chosen_years,
    luck_of,
    requests_of,
    reserve_and_fly,
    wanted_of,
)
from missionsim.study.shared_use.sums import experience_of, leafwise, least_experience
from missionsim.study.unknowns.effects import Effects, effects_of
from missionsim.study.unknowns.routines import routines_of
from missionsim.year.aircraft import Upkeep
from missionsim.year.reservations import Requests, ReservationRule

T = TypeVar("T")


@dataclass(frozen=True)
class SharedUse(ABC, Generic[T]):
    """A study of shared use ready to be replicated; T is what is summed of a year.

    `group`: all people with all their years. By person, `habits`: how each books, `streams`: purpose and address of
    the draws.
    """

    study: Study
    group: Group = field(repr=False)
    habits: tuple[BookingHabits, ...]
    streams: tuple[tuple[Stream, tuple[int, ...]], ...]

    @abstractmethod
    def sums_of(self, year: YearToShare) -> T:
        """Return what is summed of one replication of one candidate."""

    def allowed(self, _shared: SharedTrips, decided: SharedDecisions) -> SharedDecisions:
        """Return what a candidate may do indeed of what weather and rules let it do."""
        return decided


@dataclass(frozen=True)
class YearToShare:
    """One replication of one candidate: decided and asked for once, then booked and flown by any of the people.

    `effects`, `i`: what the drawn figures do, and which of their replications this is.
    """

    use: SharedUse[Any]
    shared: SharedTrips
    effects: Effects
    i: int
    decided: SharedDecisions
    requests: Requests
    upkeep: Upkeep

    def flown_by(self, people: Mapping[int, int], rule: ReservationRule, upkeep: Upkeep | None = None) -> SharedYear:
        """Book and fly the year.

        Parameters
        ----------
        people : mapping            Those who take part, each with the place in the rotation.
        upkeep : Upkeep, optional   Another than the year's own.
        """
        kept = self.upkeep if upkeep is None else upkeep
        local_h = sum(self.use.group.persons[p].local_h for p in people)
        return reserve_and_fly(self.shared, self.decided, kept, people, rule, self.requests, local_h)

    def ledger(self, flown: SharedYear, people: Iterable[int], owners: int = 1, *, hired_out: bool = False,
               deductible: bool = True) -> Ledger:
        """Return the ledger of a flown year; the insurer asks about all `people` who may fly.

        Parameters
        ----------
        flown : SharedYear         Of all members.
        people : iterable of int   All who may fly.
        owners : int               Who share it.
        hired_out : bool           Also flown for others.
        deductible : bool          Whether it is one owner's; the agreement of a group tells who pays it.
        """
        study, part, records = self.use.study, self.shared.parts[-1], flown.records
        flyer, persons = part.flyers[self.decided.number], self.use.group.persons
        pilot = least_experience([experience_of(study, persons[p].pilot, flyer.candidate.name) for p in people])
        books = Books(self.shared.terms, self.shared.place_prices, part.prices, pilot, study.assumptions, study.year,
                      owners, hired_out, deductible)
        return ledger_of(flyer.cost, records.flights, records.trips, records.shop, [self.shared.replication], books)

    def trips_made(self, flown: SharedYear, ledger: Ledger) -> TripYears:
        """Return how every wanted trip of a flown year was made; trips by row of the shared schedule."""
        part, records, assumptions = self.shared.parts[-1], flown.records, self.use.study.assumptions
        travel = travel_of(records.trips, self.shared.terms, part.prices, assumptions)
        chunk = FlownChunk(part.flyers[self.decided.number].candidate.name, records.flights, records.trips,
                           records.shop, ledger, self.effects, travel)
        return trip_years(chunk, codes_of(records.trips), self.shared.terms, assumptions)

    def reserve_cents(self, flown: SharedYear) -> int:
        """Return what engine and propeller use up in a flown year."""
        hours = float(flown.records.flights["flight_h"].sum())
        flyer = self.shared.parts[-1].flyers[self.decided.number]
        return int(cents(reserve_usd(flyer.cost, hours, self.use.study.assumptions)))


def sums_of_chunk(use: SharedUse[T], replications: Sequence[int]) -> list[T]:
    """Fly some replications and return the sums of each candidate, the replication first; what a worker does."""
    study, flyers = use.study, use.group.alike[0].prepared.flyers
    effects = [effects_of(f.listing.drawn(study.seed, replications)) for f in flyers]
    routines = routines_of(study.seed, replications, study.assumptions)
    rows: list[list[T]] = [[] for _ in flyers]
    for i, replication in enumerate(replications):
        chosen = chosen_years(use.group, study.seed, replication, use.streams)
        shared = shared_trips_of(use.group, chosen, replication)
        wanted = wanted_of(shared, use.habits, study.seed, replication, use.streams, study.assumptions)
        shared = replace(shared, wanted=wanted)
        luck = luck_of(shared, use.habits, study.seed, replication, use.streams)
        for number, own in enumerate(effects):
            decided = use.allowed(shared, decide_together(shared, number, own.at(i), routines[i]))
            requests = requests_of(shared, decided, use.habits, luck, study.assumptions)
            upkeep = own.at(i).upkeep_rule(shared.parts[-1].flyers[number].upkeep).upkeep(study.seed, replication)
            year = YearToShare(use, shared, own, i, decided, requests, upkeep)
            rows[number].append(use.sums_of(year))
    return [leafwise(np.stack, own) for own in rows]


def fly_years(use: SharedUse[T], replications: int, workers: int = 1, progress: Progress | None = None) -> list[T]:
    """Fly all replications in chunks and return the sums of each candidate.

    Parameters
    ----------
    use : SharedUse                The study ready to fly; picklable.
    replications : int             Simulated years.
    workers : int                  Processes; results do not depend on it.
    progress : callable, optional  Told replications done and wanted.
    """
    chunks = [range(i, min(i + CHUNK, replications)) for i in range(0, replications, CHUNK)]
    parts: list[list[T]] = []
    for found in in_order(sums_of_chunk, use, chunks, workers):
        parts.append(found)
        if progress is not None:
            progress(min(len(parts) * CHUNK, replications), replications)
    return [leafwise(np.concatenate, own) for own in zip(*parts, strict=True)]
