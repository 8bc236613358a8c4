"""From the logs of years and their flights to columns: every trip, how it ended and what it took.

Years of one candidate are laid together: a trip of a year stands at year x trips + trip, a leg likewise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain
from operator import itemgetter

import numpy as np

from missionsim.base.arrays import Array, Bools, Columns, Floats, Ints
from missionsim.base.words import Adaptation, Outcome, Purpose, Reason
from missionsim.decide.adapt import Adapted
from missionsim.year.records import HopFlown, TripEnd, YearLog
from missionsim.year.schedule import Schedule
from missionsim.year.waking import WakingDay

Waits = tuple[Ints, Floats, Floats]
"""Trips of years, from when each waits, and until when. [h]"""
_FIELDS = ("outcome", "reason", "trip", *TripEnd._fields[3:])
_HOURS = ("departed_h", "home_h", "left_h", "rested_h")
_OUTCOMES = tuple(map(str, Outcome))
_REASONS = ("", *map(str, Reason))
_OUTCOME_CODE = {outcome: code for code, outcome in enumerate(Outcome)}
_REASON_CODE: dict[Reason | None, int] = {None: 0, **{reason: code for code, reason in enumerate(Reason, start=1)}}
PURPOSE_CODE = {purpose: code for code, purpose in enumerate(Purpose)}


@dataclass(frozen=True, slots=True)
class EndedYear:
    """How the legs and trips of one flown year went, in plain numbers: rows of the log are read while they are fresh.

    `legs` [n, 4]: as `LegFlown`; `ends` [m, field]: as `TripEnd` by trip, `_FIELDS` in this order, words as codes;
    `gave_up`: what parties left behind.
    """

    replication: int
    legs: Floats
    ends: Floats
    gave_up: Adapted

    @classmethod
    def of(cls, replication: int, log: YearLog, trips: int, gave_up: Adapted | None = None) -> EndedYear:
        """Return that of a log.

        Parameters
        ----------
        replication : int
        log : YearLog
        trips : int                   Of the schedule.
        gave_up : Adapted, optional   None: nothing.
        """
        return cls(replication, legs_flown(log), _ends(log), gave_up or Adapted.none(trips))


def legs_flown(log: YearLog) -> Floats:
    """Return leg, option, slot and departure of legs flown as planned, [n, 4]."""
    return _table(log.legs, 4)


def hops_flown(log: YearLog) -> Floats:
    """Return flights that no trip planned, [n, field]: as `HopFlown`, purposes as codes."""
    rows = [(trip, leg, PURPOSE_CODE[purpose], *more) for trip, leg, purpose, *more in log.hops]
    return _table(rows, len(HopFlown._fields))


def _ends(log: YearLog) -> Floats:
    rows = [(_OUTCOME_CODE[outcome], _REASON_CODE[reason], trip, *more)
            for trip, outcome, reason, *more in sorted(log.ends, key=itemgetter(0))]
    return _table(rows, len(_FIELDS))


def _table(rows: Sequence[Sequence[float]], width: int) -> Floats:
    """Return rows of numbers as an array, ten times as fast as numpy does of named tuples."""
    return np.fromiter(chain.from_iterable(rows), np.float64, len(rows) * width).reshape(-1, width)


@dataclass(frozen=True, slots=True)
class _Legs:
    """Legs flown as planned, in order of flying: year, leg, its trip of a year, and when it left, [n]."""

    year: Ints
    leg: Ints
    trip: Ints
    depart_h: Floats

    @classmethod
    def of(cls, years: Sequence[EndedYear], schedule: Schedule) -> _Legs:
        every, year = np.concatenate([year.legs for year in years]), _numbers([year.legs for year in years])
        leg = every[:, 0].astype(np.int64)
        return cls(year, leg, year * schedule.trips + schedule.trip[leg], every[:, 3])


def _numbers(parts: Sequence[Array]) -> Ints:
    """Return for each row of parts which part it belongs to."""
    return np.repeat(np.arange(len(parts)), [len(part) for part in parts])


@dataclass(frozen=True, slots=True)
class Aboard:
    """Flights with a party aboard, in order of departure: year, trip of a year, leg of the trip and hours, [n]."""

    year: Ints
    trip: Ints
    leg: Ints
    depart_h: Floats
    arrive_h: Floats

    @classmethod
    def of(cls, flights: Columns, year: Ints, party: Bools, trips: int) -> Aboard:
        """Return those of flights that have a party aboard.

        Parameters
        ----------
        flights : Columns
        year : (n,) array    Which of the years each is of, by number.
        party : (n,) array   Whether a party is aboard.
        trips : int          Of a year.
        """
        trip, leg, depart_h, block_h = (flights[name][party] for name in ("trip", "leg", "depart_h", "block_h"))
        return cls(year[party], year[party] * trips + trip, leg, depart_h, depart_h + block_h)


def trip_columns(years: Sequence[EndedYear], flights: Columns, schedule: Schedule, waking: WakingDay) -> Columns:
    """Return the trips of years as columns named as in `TripRow`, in the order of years and of the trip table.

    Parameters
    ----------
    years : sequence of EndedYear   Replications in rising order.
    flights : Columns               Of these years.
    schedule : Schedule
    waking : WakingDay              The party's day.
    """
    trips, every = schedule.trips, np.concatenate([year.ends for year in years])
    replication = np.array([year.replication for year in years])
    ended = dict(zip(_FIELDS, every.T, strict=True))
    whole = {name: values.astype(np.int64) for name, values in ended.items() if name not in _HOURS}
    trip, ended_in = whole["trip"], _numbers([year.ends for year in years])
    at = ended_in * trips + trip
    flown_in = np.searchsorted(replication, flights["replication"])
    party = (flights["trip"] >= 0) & (flights["purpose"] != str(Purpose.FERRY))
    aboard = Aboard.of(flights, flown_in, party, trips)
    total = {name: np.bincount(aboard.trip, flights[name][party], len(years) * trips)[at]
             for name in ("block_h", "flight_h", "fuel_burn_gal", "is_stop")}
    left, first = whole["outcome"] != _OUTCOME_CODE[Outcome.REFUSED], schedule.first_leg[trip]
    ground_h = _on_the_ground_h(years, aboard, schedule, waking)[at]
    ground_h += ended["rested_h"] - ended["nights_rested"] * waking.night_h
    apart_h = _not_waiting_h(years, flights, flown_in, schedule)[at]
    how, apart = (np.concatenate([getattr(year.gave_up, name)[:trips] for year in years]) for name in ("how", "apart"))
    return {
        "replication": replication[ended_in], "trip": trip,
        "outcome": np.array(_OUTCOMES, dtype=object)[whole["outcome"]],
        "reason": np.array(_REASONS, dtype=object)[whole["reason"]],
        "reasons": whole["reasons"], "structural": whole["structural"] != 0,
        "planned_h": schedule.start_h[first] + schedule.planned_slot[first],
        "departed_h": ended["departed_h"].copy(), "home_h": ended["home_h"].copy(),
        "door_to_door_h": np.where(left, ground_h + total["block_h"] - apart_h, 0.0),
        "nights_forced": whole["nights_forced"], "flights": np.bincount(aboard.trip, minlength=len(years) * trips)[at],
        "fuel_stops": total["is_stop"].astype(np.int64), "diversions": whole["diversions"], "looks": whole["looks"],
        "block_h": total["block_h"], "flight_h": total["flight_h"], "fuel_gal": total["fuel_burn_gal"],
        "people": schedule.people[trip], "places_reached": whole["reached"],
        "came_home_otherwise": whole["otherwise"] != 0, "marks": whole["marks"], "turned": whole["turned"],
        "met_below": whole["met_below"], "how": np.where(left, how[at], 0).astype(np.int64),
        "apart": np.where(left, apart[at], 0),
    }


def _on_the_ground_h(years: Sequence[EndedYear], aboard: Aboard, schedule: Schedule, waking: WakingDay) -> Floats:
    """Return hours of one traveller on the ground, by trip of a year: doors of legs, stops, and waits while awake."""
    hours, legs = np.zeros(len(years) * schedule.trips), _Legs.of(years, schedule)
    offset_h = np.tile(schedule.utc_offset_h, len(years))
    np.add.at(hours, legs.trip, schedule.door_h[legs.leg])
    for trip, from_h, until_h in (_between_flights(aboard), waits_away(years, aboard, schedule)):
        np.add.at(hours, trip, waking.waited_h(from_h + offset_h[trip], until_h + offset_h[trip]))
    return hours


def _between_flights(aboard: Aboard) -> Waits:
    """Return the waits between two flights of a leg: fuel stops, and hours short of its place."""
    order = np.lexsort((aboard.depart_h, aboard.leg, aboard.trip))
    trip, leg = aboard.trip[order], aboard.leg[order]
    same = (trip[1:] == trip[:-1]) & (leg[1:] == leg[:-1])
    return trip[1:][same], aboard.arrive_h[order][:-1][same], aboard.depart_h[order][1:][same]


def waits_away(years: Sequence[EndedYear], aboard: Aboard, schedule: Schedule) -> Waits:
    """Return the waits of parties away from home, each from when it began beyond the plan until they left.

    A leg waits from its planned hour on, later by what an earlier leg was already late and not before its party is
    there: a trip that moved as a whole has moved its plan. Nobody waits away for the first leg. Whoever goes home by
    other means waits until then.
    """
    begun, planned_h = _begun(years, schedule), schedule.start_h + schedule.planned_slot
    later = begun.leg > schedule.first_leg[schedule.trip[begun.leg]]
    before_h = _late_before_h(begun.trip, begun.depart_h - planned_h[begun.leg], later)
    due_h = planned_h[begun.leg[later]] + before_h[later]
    there_h = _arrivals_h(aboard, schedule, len(years))[begun.year[later], begun.leg[later] - 1]
    return begun.trip[later], np.maximum(due_h, there_h), begun.depart_h[later]


def _begun(years: Sequence[EndedYear], schedule: Schedule) -> _Legs:
    """Return legs by year and leg; with the flown ones those instead of which a party left by other means."""
    legs, ends = _Legs.of(years, schedule), np.concatenate([year.ends for year in years])
    year, left_h = _numbers([year.ends for year in years]), ends[:, _FIELDS.index("left_h")]
    trip = year * schedule.trips + ends[:, _FIELDS.index("trip")].astype(np.int64)
    last = np.full(len(years) * schedule.trips, -1)
    np.maximum.at(last, legs.trip, legs.leg)
    gone = (left_h >= 0.0) & (last[trip] >= 0)
    every = _Legs(*(np.concatenate(both) for both in (
        (legs.year, year[gone]), (legs.leg, last[trip[gone]] + 1), (legs.trip, trip[gone]),
        (legs.depart_h, left_h[gone]))))
    order = np.lexsort((every.depart_h, every.leg, every.year))
    return _Legs(every.year[order], every.leg[order], every.trip[order], every.depart_h[order])


def _late_before_h(trip: Ints, own_h: Floats, later: Bools) -> Floats:
    """Return how late those before each leg of a trip already were, 0 where none was flown; legs of a trip in order.

    The first leg may be early; a later one makes its trip no less late than it was.
    """
    begins = np.flatnonzero(np.concatenate([[True], trip[1:] != trip[:-1]])[:len(trip)])
    nth = np.arange(len(trip)) - np.repeat(begins, np.diff(np.append(begins, len(trip))))
    late_h, before_h = np.where(later, np.maximum(own_h, 0.0), own_h), np.zeros(len(trip))
    for k in range(1, int(nth.max(initial=0)) + 1):     # trips have a handful of legs
        some = np.flatnonzero(nth == k)
        before_h[some] = late_h[some - 1]
        late_h[some] = np.maximum(own_h[some], before_h[some])
    return before_h


def _arrivals_h(aboard: Aboard, schedule: Schedule, years: int) -> Floats:
    """Return when the last flight of legs with the party aboard ended, [year, leg]; minus infinity where none began."""
    mine = aboard.leg >= 0
    year = aboard.year[mine]
    arrived_h = np.full((years, len(schedule.trip)), -np.inf)
    leg = schedule.first_leg[aboard.trip[mine] - year * schedule.trips] + aboard.leg[mine]
    np.maximum.at(arrived_h, (year, leg), aboard.arrive_h[mine])
    return arrived_h


def _not_waiting_h(years: Sequence[EndedYear], flights: Columns, flown_in: Ints, schedule: Schedule) -> Floats:
    """Return by trip of a year the hours between two runs of those who are at home then, over all of the party. [h]

    The second run's people come to the airport when it leaves, the first run's are home from the way back; whoever is
    away in between waits.
    """
    spared_h, trip_of = np.zeros((len(years), schedule.trips)), schedule.trip.tolist()
    for number, year in enumerate(years):
        gave_up = year.gave_up
        twice = set(np.flatnonzero(gave_up.how == Adaptation.TWO_RUNS).tolist())
        if not twice:
            continue
        for leg in map(int, year.legs[:, 0].tolist()):
            if (trip := trip_of[leg]) not in twice:
                continue
            first, end = int(schedule.first_leg[trip]), int(schedule.first_leg[trip + 1])
            people, follow = int(schedule.people[trip]), int(gave_up.follow[trip])
            at_home = follow if leg == first else people - 1 - follow if leg == end - 1 else 0
            mine = ((flown_in == number) & (flights["trip"] == trip) & (flights["leg"] == leg - first)
                    & (flights["purpose"] == str(Purpose.TRIP)))
            spared_h[number, trip] += at_home / people * float(np.ptp(flights["depart_h"][mine]))
    return spared_h.reshape(-1)
