"""Years of several people with one aircraft, replication by replication: members of a group, or an owner and others."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Protocol, TypeVar

from missionsim.base.parallel import in_order
from missionsim.base.words import Stream
from missionsim.money.entries import Ledger, cents
from missionsim.money.ledger import Books, ledger_of
from missionsim.money.operating_costs import reserve_usd
from missionsim.study.inputs.load_study import Study
from missionsim.study.replicate.one_year import CHUNK
from missionsim.study.shared_use.groups import Group, SharedDecisions, SharedTrips, decide_together, shared_trips_of
from missionsim.study.shared_use.play import Habits, SharedYear, chosen_years, luck_of, play, requests_of, wanted_of
from missionsim.study.shared_use.sums import experience_of, least_experience
from missionsim.study.unknowns.effects import Effects, effects_of
from missionsim.study.unknowns.routines import routines_of
from missionsim.year.reservations import BookingRule, Requests
from missionsim.year.schedule import Upkeep

Progress = Callable[[int, int], None]
Allowed = Callable[[SharedTrips, int, SharedDecisions], SharedDecisions]
U = TypeVar("U")
T = TypeVar("T")


class SharedUse(Protocol):
    """A study of shared use ready to be replicated; by person, how each books and the random stream of each."""

    @property
    def study(self) -> Study:
        """The study."""

    @property
    def group(self) -> Group:
        """All people with all their years."""

    @property
    def habits(self) -> tuple[Habits, ...]:
        """How each person books."""

    @property
    def streams(self) -> tuple[tuple[Stream, tuple[int, ...]], ...]:
        """Purpose and address of each person's draws."""


@dataclass(frozen=True)
class YearToShare:
    """One replication of one candidate: decided and asked for once, then booked and flown by any of the people.

    `number`: the candidate. `effects`, `i`: what the drawn figures do, and which of their replications this is.
    """

    use: SharedUse
    shared: SharedTrips
    number: int
    effects: Effects
    i: int
    replication: int
    decided: SharedDecisions
    requests: Requests
    upkeep: Upkeep

    def played(self, people: Mapping[int, int], rule: BookingRule, upkeep: Upkeep | None = None) -> SharedYear:
        """Book and fly the year.

        Parameters
        ----------
        people : mapping            Those who take part, each with the place in the rotation.
        upkeep : Upkeep, optional   Another than the year's own.
        """
        kept = self.upkeep if upkeep is None else upkeep
        local_h = sum(self.use.group.persons[p].local_h for p in people)
        return play(self.shared, self.decided, self.number, kept, self.replication, people, rule, self.requests,
                    local_h)

    def ledger(self, played: SharedYear, people: Iterable[int], owners: int = 1, *, hired_out: bool = False) -> Ledger:
        """Return the ledger of a played year; the insurer asks about all `people` who may fly."""
        study, part, flown = self.use.study, self.shared.parts[-1], played.flown
        flyer, persons = part.flyers[self.number], self.use.group.persons
        pilot = least_experience([experience_of(study, persons[p].pilot, flyer.candidate.name) for p in people])
        books = Books(self.shared.terms, self.shared.place_prices, part.prices, pilot, study.assumptions, study.year,
                      owners, hired_out)
        return ledger_of(flyer.cost, flown.flights, flown.trips, flown.shop, [self.replication], books)

    def reserve_cents(self, played: SharedYear) -> int:
        """Return what engine and propeller use up in a played year."""
        hours = float(played.flown.flights["flight_h"].sum())
        flyer = self.shared.parts[-1].flyers[self.number]
        return int(cents(reserve_usd(flyer.cost, hours, self.use.study.assumptions)))


def by_candidate(use: SharedUse, replications: Sequence[int], of_year: Callable[[YearToShare], T],
                 allowed: Allowed = lambda _shared, _number, decided: decided) -> list[list[T]]:
    """Return what is made of each year: a list a candidate, an entry a replication.

    Parameters
    ----------
    of_year : callable
    allowed : callable   Told the shared schedule, a candidate and what it may do; returns what it may do indeed.
    """
    study, flyers = use.study, use.group.alike[0].prepared.flyers
    effects = [effects_of(f.listing.drawn(study.seed, replications)) for f in flyers]
    rows: list[list[T]] = [[] for _ in flyers]
    for i, replication in enumerate(replications):
        chosen = chosen_years(use.group, study.seed, replication, use.streams)
        shared = shared_trips_of(use.group, chosen, replication)
        wanted = wanted_of(shared, use.habits, study.seed, replication, use.streams, study.assumptions)
        shared = replace(shared, wanted=wanted)
        luck = luck_of(shared, use.habits, study.seed, replication, use.streams)
        routines = routines_of(study.seed, replication, study.assumptions)
        for number, own in enumerate(effects):
            decided = allowed(shared, number, decide_together(shared, number, own.at(i), routines))
            requests = requests_of(shared, decided, use.habits, luck, study.assumptions)
            upkeep = own.at(i).upkeep_rule(shared.parts[-1].flyers[number].upkeep).upkeep(study.seed, replication)
            year = YearToShare(use, shared, number, own, i, replication, decided, requests, upkeep)
            rows[number].append(of_year(year))
    return rows


def flown(task: Callable[[U, Sequence[int]], list[T]], use: U, replications: int, workers: int = 1,
          progress: Progress | None = None) -> list[list[T]]:
    """Fly all replications in chunks; by candidate, what the task returned for each chunk, in order.

    Parameters
    ----------
    task : callable                A function of a module: the study and some replications to one entry a candidate.
    use : object                   The study ready to fly; picklable.
    replications : int             Simulated years.
    workers : int                  Processes; results do not depend on it.
    progress : callable, optional  Told replications done and wanted.
    """
    chunks = [range(i, min(i + CHUNK, replications)) for i in range(0, replications, CHUNK)]
    parts = []
    for found in in_order(task, use, chunks, workers):
        parts.append(found)
        if progress is not None:
            progress(min(len(parts) * CHUNK, replications), replications)
    return [list(own) for own in zip(*parts, strict=True)]
