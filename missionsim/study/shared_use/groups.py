"""Several people with one aircraft: years of possible trips of each prepared once, any mixture of them flown together.

People who fly alike (same pilot, same rules) are prepared together; their decisions are joined into one schedule, which
one event loop flies. Who takes part and which year each of them has is chosen anew in every replication.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

import numpy as np

from missionsim.base.arrays import Bools, Ints
from missionsim.base.axes import joined
from missionsim.decide.candidate_plan import CandidatePlan
from missionsim.money.other_ways import TripTerms
from missionsim.money.prices import PlacePrices
from missionsim.study.inputs.load_study import Study
from missionsim.study.inputs.schema import Pilot
from missionsim.study.prepare.network import Places
from missionsim.study.prepare.pilot import pilot_figure
from missionsim.study.prepare.study import Prepared, prepare
from missionsim.study.prepare.subset import legs_of, subset
from missionsim.study.replicate.one_year import Day, weather_of
from missionsim.year.schedule import Schedule
from missionsim.year.trips import Trip, TripTable

NOT_FLYING = ("total_h", "retractable_h", "type_h", "age", "weight_lb", "gear_lb")
"""Figures of a pilot that change no rule of flying; weights are put in person by person."""


@dataclass(frozen=True)
class Person:
    """One who uses the aircraft.

    `years`: trips of each year drawn ahead. `changes`: assumptions that hold for this person's flights alone.
    `empty`: by year and trip, which legs are flown without passengers; None where none is. `tags`: by year and trip, a
    number of the caller's. `local_h`: local flying a year.
    """

    name: str
    pilot: Pilot
    years: tuple[TripTable, ...]
    to_hangar_h: float = 0.0
    changes: Mapping[str, Any] = field(default_factory=dict)
    empty: tuple[tuple[tuple[bool, ...], ...], ...] | None = None
    crew: int = 1
    tags: tuple[tuple[int, ...], ...] | None = None
    local_h: float = 0.0


@dataclass(frozen=True)
class AlikePilots:
    """People who fly alike, prepared together.

    `person`, `year`, `tag` [trip]: whose trip, of which of the years ahead, and the caller's number. `empty` [leg].
    """

    prepared: Prepared
    person: Ints
    year: Ints
    tag: Ints
    empty: Bools


@dataclass(frozen=True)
class Group:
    """All people with all their years; picklable, so that workers can share it."""

    study: Study
    persons: tuple[Person, ...]
    alike: tuple[AlikePilots, ...]

    @property
    def prepared(self) -> tuple[Prepared, ...]:
        """What those who fly alike fly, one a rule of flying."""
        return tuple(each.prepared for each in self.alike)

    def years_of(self, person: int) -> int:
        """Return how many years of trips a person has."""
        return len(self.persons[person].years)


def group_of(study: Study, persons: Sequence[Person]) -> Group:
    """Return all people ready to fly every candidate."""
    alike: dict[str, list[int]] = {}
    for i, person in enumerate(persons):
        same = person.pilot.model_dump(exclude=set(NOT_FLYING))
        alike.setdefault(f"{same!r} {sorted(person.changes.items())!r} {person.crew}", []).append(i)
    places = Places(study.airports, own_stations=study.own_stations)
    return Group(study, tuple(persons), tuple(_group(study, persons, members, places) for members in alike.values()))


def _group(study: Study, persons: Sequence[Person], members: Sequence[int], places: Places) -> AlikePilots:
    trips: list[Trip] = []
    person, year = [], []
    for i in members:
        for k, table in enumerate(persons[i].years):
            trips += list(table)
            person += [i] * len(table)
            year += [k] * len(table)
    first = persons[members[0]]
    a = study.assumptions.replaced(dict(first.changes))
    table = TripTable(tuple(trips), study.home.ident, study.year)
    flown_by = replace(study, pilot=first.pilot, assumptions=a, listed=table, members=(), requests=())
    prepared = _own_weights(prepare(flown_by, table, places), persons, np.array(person, dtype=np.int64))
    empty = [flags for i in members for flags in _empty_flags(persons[i])]
    by_leg = np.array([flag for flags in empty for flag in flags], dtype=bool)
    if by_leg.any():
        prepared = _with_empty_legs(prepared, by_leg, first.crew)
    tags = [tag for i in members for tag in _tags(persons[i])]
    return AlikePilots(prepared, np.array(person, dtype=np.int64), np.array(year, dtype=np.int64),
                       np.array(tags, dtype=np.int64), by_leg)


def _own_weights(prepared: Prepared, persons: Sequence[Person], person: Ints) -> Prepared:
    """Return a prepared study with the weight of each trip's own pilot and gear."""
    a = prepared.study.assumptions
    pilot_lb, gear_lb = (np.array([pilot_figure(p.pilot, name, a) for p in persons])
                         for name in ("weight_lb", "gear_lb"))
    people_lb = prepared.people_lb.copy()
    people_lb[:, 0] = pilot_lb[person]
    bags_lb = np.array([trip.bags_lb for trip in prepared.table], dtype=float) + gear_lb[person]
    return replace(prepared, people_lb=people_lb, bags_lb=bags_lb)


def _empty_flags(person: Person) -> list[tuple[bool, ...]]:
    if person.empty is None:
        return [(False,) * trip.legs for table in person.years for trip in table]
    return [flags for year in person.empty for flags in year]


def _tags(person: Person) -> list[int]:
    if person.tags is None:
        return [-1] * sum(len(table) for table in person.years)
    return [tag for year in person.tags for tag in year]


def _with_empty_legs(prepared: Prepared, by_leg: Bools, crew: int) -> Prepared:
    """Return a prepared study whose empty legs are flown with the crew alone.

    Rows of such legs look their load up in a second set of loads that follows the trips' own.
    """
    count = prepared.schedule.trips

    def lighter(plan: CandidatePlan) -> CandidatePlan:
        without = by_leg[plan.rows.leg]
        rows = replace(plan.rows, trip=np.where(without, plan.rows.trip + count, plan.rows.trip),
                       people=np.where(without, crew, plan.rows.people),
                       comfort_h=np.where(without, plan.pilot.rules.max_leg_h_alone, plan.rows.comfort_h))
        return replace(plan, rows=rows)

    return replace(prepared, flyers=tuple(f.with_plans(lighter) for f in prepared.flyers))


@dataclass(frozen=True)
class SharedTrips:
    """The trips of one replication, those of all people in one schedule.

    `parts`: what is flown alike, cut down to these trips; `first_trip`, `first_leg`: where each begins, with a last
    entry for the end. `person`, `tag` [trip]; `empty` [leg]: flown without passengers. `place_prices`, `terms`: for the
    money of the whole. `wanted` [trip]: really wanted when the day comes, of a wish list not all.
    """

    replication: int
    parts: tuple[Prepared, ...]
    days: tuple[Day, ...]
    schedule: Schedule
    table: TripTable
    first_trip: tuple[int, ...]
    first_leg: tuple[int, ...]
    person: Ints
    tag: Ints
    empty: Bools
    terms: TripTerms
    place_prices: PlacePrices
    wanted: Bools


def shared_trips_of(group: Group, chosen: Mapping[int, int], replication: int) -> SharedTrips:
    """Return the trips of some people, each with one of the years ahead, and their weather in a replication.

    Parameters
    ----------
    chosen : mapping   Person to year.
    """
    parts: list[Prepared] = []
    person, tag, empty = [], [], []
    for each in group.alike:
        wanted = np.array([chosen.get(int(p), -1) for p in each.person], dtype=np.int64) == each.year
        rows = np.flatnonzero(wanted)
        if len(rows) or (not parts and each is group.alike[-1]):  # a year in which nobody wants anything is one too
            parts.append(_cut(each.prepared, rows))
            person.append(each.person[rows])
            tag.append(each.tag[rows])
            empty.append(each.empty[legs_of(each.prepared.schedule, rows)])
    of = np.concatenate(person)
    days = tuple(weather_of(part, replication) for part in parts)
    last = group.alike[-1].prepared
    schedule = _farther(_joined_schedules([part.schedule for part in parts]), of, group.persons)
    terms = TripTerms(**joined([part.terms for part in parts], "trip"))
    table = replace(last.table, trips=tuple(trip for part in parts for trip in part.table))
    return SharedTrips(replication, tuple(parts), days, schedule, table,
                       starts([part.schedule.trips for part in parts]),
                       starts([len(part.schedule.trip) for part in parts]), of, np.concatenate(tag),
                       np.concatenate(empty), terms, last.place_prices, np.ones(len(of), dtype=bool))


def _cut(prepared: Prepared, rows: Ints) -> Prepared:
    """Cut a prepared study down, and keep the second set of loads behind the trips."""
    cut = subset(prepared, rows)

    def moved(old: CandidatePlan, plan: CandidatePlan) -> CandidatePlan:
        if not (old.rows.trip >= prepared.schedule.trips).any():
            return plan
        people = plan.rows.people < cut.schedule.people[plan.rows.trip]
        return replace(plan, rows=replace(plan.rows, trip=np.where(people, plan.rows.trip + len(rows),
                                                                   plan.rows.trip)))

    return replace(cut, flyers=tuple(new.with_plans(partial(moved, old.plan))
                                     for old, new in zip(prepared.flyers, cut.flyers, strict=True)))


def starts(counts: Sequence[int]) -> tuple[int, ...]:
    """Return where each part begins among all, with the end of the last."""
    return (0, *(int(n) for n in np.cumsum(counts)))


def _joined_schedules(schedules: Sequence[Schedule]) -> Schedule:
    trips, legs = starts([b.trips for b in schedules]), starts([len(b.trip) for b in schedules])
    columns: dict[str, Any] = joined(schedules, "trip") | joined(schedules, "leg")
    first = np.concatenate([[0], *(b.first_leg[1:] + start for b, start in zip(schedules, legs, strict=False))])
    of = np.concatenate([b.trip + start for b, start in zip(schedules, trips, strict=False)])
    return Schedule(first_leg=first.astype(np.int64), trip=of, slots=max(b.slots for b in schedules), **columns)


def _farther(schedule: Schedule, person: Ints, persons: Sequence[Person]) -> Schedule:
    """Return the schedule with the drive to the hangar of those who live away from it."""
    extra_h = np.array([p.to_hangar_h for p in persons])[person]
    door_h = schedule.door_h.copy()
    np.add.at(door_h, schedule.first_leg[:-1], extra_h)
    np.add.at(door_h, schedule.first_leg[1:] - 1, extra_h)
    return replace(schedule, door_h=door_h)
