"""One year of several people with one aircraft: what they ask for, who gets a booking, and the year as it was flown."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from missionsim.base.arrays import Array, Bools, Columns, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.base.normal import skewed_quantile
from missionsim.base.streams import generator
from missionsim.base.words import Stream
from missionsim.decide.adapt import Adapted
from missionsim.decide.flight_records import YearRecord, flights_in_order, shop_columns, unordered_flights
from missionsim.decide.trip_records import EndedYear, trip_columns
from missionsim.study.prepare.study import study_local_flights
from missionsim.study.replicate.wanted import wanted_shares, wanted_trips
from missionsim.study.shared_use.groups import Group, SharedTrips
from missionsim.study.shared_use.shared_decisions import SharedDecisions
from missionsim.year.aircraft import Aircraft, Upkeep
from missionsim.year.decisions import Decisions
from missionsim.year.records import YearLog
from missionsim.year.reservations import CODES, Requests, RequestStatus, ReservationRule, Reservations, reserve_year
from missionsim.year.schedule import Schedule
from missionsim.year.simulate import simulate_year
from missionsim.year.waking import WakingDay

HOURS_A_DAY = 24.0


@dataclass(frozen=True, slots=True)
class BookingHabits:
    """How a person books: notice as 10, 50 and 90 % points, hours kept before and after, trips given up again.

    `notice_by_tag`: notice of trips that differ, by their tag in the group. `wish_list`: not all are wanted.
    """

    notice_days: tuple[float, float, float]
    holds_h: float
    cancel_share: float
    cancel_days: tuple[float, float, float]
    notice_by_tag: tuple[tuple[float, float, float], ...] = ()
    wish_list: bool = False


@dataclass(frozen=True, slots=True)
class Luck:
    """What chance says of each trip of the shared schedule before anybody books: arrays [trip]."""

    notice_h: Array
    kindness: Array
    cancelled_before_h: Array


def chosen_years(group: Group, seed: int, replication: int, streams: Sequence[tuple[Stream, tuple[int, ...]]],
                 ) -> dict[int, int]:
    """Return the year of trips each person has in a replication.

    Parameters
    ----------
    group : Group        People prepared together.
    seed : int           Of the study.
    replication : int
    streams : sequence   Each person's stream and address.
    """
    return {p: int(generator(seed, replication, stream, *address).random() * group.years_of(p))
            for p, (stream, address) in enumerate(streams)}


def luck_of(shared: SharedTrips, habits: Sequence[BookingHabits], seed: int, replication: int,
            streams: Sequence[tuple[Stream, tuple[int, ...]]]) -> Luck:
    """Return notice, kindness and cancellations of all trips; a person's draws do not depend on who else is there.

    Parameters
    ----------
    shared : SharedTrips          Trips of all people in one replication.
    habits : sequence of BookingHabits   One a person.
    seed : int                    Of the study.
    replication : int
    streams : sequence            Each person's stream and address.
    """
    count = shared.schedule.trips
    notice, kind, gone = np.zeros(count), np.zeros(count), np.full(count, -np.inf)
    for p, (stream, address) in enumerate(streams):
        mine = np.flatnonzero(shared.person == p)
        random = generator(seed, replication, stream, *address)
        random.random()  # the first number of this stream chose the year
        u = random.random((len(mine), 4))
        notice[mine] = HOURS_A_DAY * _skewed(u[:, 0], habits[p].notice_days)
        for tag, points in enumerate(habits[p].notice_by_tag):
            own = shared.tag[mine] == tag
            notice[mine[own]] = HOURS_A_DAY * _skewed(u[own, 0], points)
        kind[mine] = u[:, 1]
        before = HOURS_A_DAY * _skewed(u[:, 3], habits[p].cancel_days)
        gone[mine] = np.where(u[:, 2] < habits[p].cancel_share, before, -np.inf)
    return Luck(notice, kind, gone)


def wanted_of(shared: SharedTrips, habits: Sequence[BookingHabits], seed: int, replication: int,
              streams: Sequence[tuple[Stream, tuple[int, ...]]], assumptions: Assumptions) -> Bools:
    """Return which trips of the shared schedule are really wanted, by row; each person has a share of the own.

    Parameters
    ----------
    shared : SharedTrips
    habits : sequence         By person: who has a wish list.
    seed, replication : int
    streams : sequence        By person, purpose and address of the draws.
    assumptions : Assumptions
    """
    wanted = np.ones(shared.schedule.trips, dtype=bool)
    for p, (stream, address) in enumerate(streams):
        mine = np.flatnonzero(shared.person == p)
        if habits[p].wish_list:
            who = (int(stream), *address)
            (share,) = wanted_shares(assumptions, seed, [replication], *who)
            wanted[mine] = wanted_trips(shared.schedule.must_go[mine], share, seed, replication, 1, *who)
    return wanted


def _skewed(u: Array, points: tuple[float, float, float]) -> Array:
    """Return skewed quantiles; zero for people who never think ahead."""
    low, likely, high = points
    if high <= 0.0:
        return np.zeros(len(u))
    least = 1.0 / 24.0
    return skewed_quantile(u, max(low, least), max(likely, least), max(high, least))


def requests_of(shared: SharedTrips, decided: SharedDecisions, habits: Sequence[BookingHabits], luck: Luck,
                assumptions: Assumptions) -> Requests:
    """Return what all trips ask for, by the plan and the nominal block time of this aircraft.

    Parameters
    ----------
    shared : SharedTrips          Trips of all people in one replication.
    decided : SharedDecisions     What the candidate may do.
    habits : sequence of BookingHabits   One a person.
    luck : Luck                   Notice, kindness and cancellations.
    assumptions : Assumptions
    """
    schedule = shared.schedule
    first, last = schedule.first_leg[:-1], schedule.first_leg[1:] - 1
    holds = np.array([h.holds_h for h in habits])[shared.person]
    leaves = schedule.start_h[first] + schedule.planned_slot[first]
    home = schedule.start_h[last] + schedule.planned_slot[last] + decided.nominal_block_h[last]
    start, end = leaves - holds, np.maximum(home, leaves + 0.5) + holds
    flown = np.add.reduceat(decided.nominal_block_h, first) if len(first) else np.zeros(0)
    least = np.maximum(assumptions["sharing.least_stay_share"] * (home - leaves), flown) + 2.0 * holds
    return Requests(
        member=shared.person, asked_h=start - luck.notice_h, start_h=start, end_h=end,
        earlier=schedule.planned_slot[first] - schedule.evening_slots,
        later=schedule.last_slot[first] - schedule.planned_slot[first],
        end_earlier=schedule.planned_slot[last], end_later=schedule.last_slot[last] - schedule.planned_slot[last],
        least_h=np.minimum(least, end - start), must_go=schedule.must_go, kindness=luck.kindness,
        cancelled_h=np.where(np.isfinite(luck.cancelled_before_h), start - luck.cancelled_before_h, np.inf))


@dataclass(frozen=True)
class YearRecords:
    """What the people's year with one candidate left behind, trips numbered as in the shared schedule."""

    flights: Columns
    trips: Columns
    shop: Columns
    legs_of_flights: Ints


@dataclass(frozen=True)
class SharedYear:
    """One year as booked and flown, arrays [trip] of the shared schedule.

    `wanted`: asked for and not given up; `reservations`: of all trips, those not asked for count as refused.
    """

    wanted: Bools
    cancelled: Bools
    reservations: Reservations
    records: YearRecords


def reserve_and_fly(shared: SharedTrips, decided: SharedDecisions, upkeep: Upkeep, people: Mapping[int, int],
                    rule: ReservationRule, requests: Requests, local_h: float = 0.0) -> SharedYear:
    """Book and fly one year.

    Parameters
    ----------
    people : mapping   Those who take part, each with the place in the rotation.
    local_h : float    Local flying of all of them. [h]
    """
    here = np.isin(shared.person, list(people)) & shared.wanted
    asks = np.flatnonzero(here & (decided.decisions.structural == 0))
    places = np.array([people.get(p, 0) for p in range(int(shared.person.max(initial=-1)) + 1)], dtype=np.int64)
    reservations = _spread(reserve_year(_some(requests, asks, places), rule), asks, len(here))
    cancelled = reservations.is_(RequestStatus.CANCELLED)
    booked_out = asks[~reservations.kept[asks] & ~cancelled[asks]]
    absent = np.flatnonzero(~here | cancelled)
    schedule, decisions = booked_schedule(shared.schedule, reservations, decided.decisions)
    records = fly_together(shared, decided, upkeep, schedule, decisions, booked_out.tolist(), absent.tolist(), local_h)
    return SharedYear(here & ~cancelled, cancelled & here, reservations, records)


def _some(requests: Requests, rows: Ints, places: Ints) -> Requests:
    cut = replace(requests, **{name: getattr(requests, name)[rows] for name in Requests.__dataclass_fields__})
    return replace(cut, member=places[cut.member])


def _spread(found: Reservations, rows: Ints, count: int) -> Reservations:
    """Return reservations of some trips as those of all."""
    empty = Reservations(np.full(count, CODES[RequestStatus.REFUSED], dtype=np.int8), np.zeros(count, dtype=bool),
                     np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.int64), np.full(count, np.nan),
                     np.full(count, np.nan))
    for name in Reservations.__dataclass_fields__:
        getattr(empty, name)[rows] = getattr(found, name)
    return empty


def booked_schedule(schedule: Schedule, reservations: Reservations, decisions: Decisions) -> tuple[Schedule, Decisions]:
    """Return the schedule with its planned hours as booked, and decisions with the legs that may still leave early.

    A trip leaves early for better weather only into time nobody holds.
    """
    first, last = schedule.first_leg[:-1], schedule.first_leg[1:] - 1
    shift = reservations.start_shift[schedule.trip]
    shift[last] = reservations.end_shift
    planned = np.clip(schedule.planned_slot + shift, 0, schedule.last_slot)
    holds = np.flatnonzero(reservations.kept)
    order = holds[np.argsort(reservations.held_from_h[holds], kind="stable")]
    until = np.maximum.accumulate(reservations.held_to_h[order])
    before = np.concatenate([[-np.inf], until[:-1]]) if len(order) else order
    early, evening, leaves = decisions.early_look.copy(), decisions.evening_look.copy(), first[order]
    evening_h = schedule.start_h[leaves] + 24.0 * schedule.days_earlier[order]
    early[leaves] &= before <= evening_h + schedule.evening_slots[order]
    evening[leaves] &= before <= evening_h
    return replace(schedule, planned_slot=planned), replace(decisions, early_look=early, evening_look=evening)


def weekend_of(year: int) -> Bools:
    """Return which days from 1 January on are Saturdays or Sundays, three weeks of the next year included."""
    start = date(year, 1, 1)
    return np.array([(start + timedelta(days=d)).weekday() >= 5 for d in range(366 + 70)], dtype=bool)


def days_held(from_h: Array, to_h: Array, offset_h: float) -> tuple[Ints, Ints]:
    """Return first and last day of the year held, at home's clock."""
    first = np.floor((np.nan_to_num(from_h) + offset_h) / HOURS_A_DAY).astype(np.int64)
    last = np.floor((np.nan_to_num(to_h) + offset_h - 1e-6) / HOURS_A_DAY).astype(np.int64)
    return np.maximum(first, 0), np.maximum(last, 0)


def fly_together(shared: SharedTrips, decided: SharedDecisions, upkeep: Upkeep, schedule: Schedule,
                 decisions: Decisions, booked: Collection[int] = (), absent: Collection[int] = (),
                 local_h: float = 0.0) -> YearRecords:
    """Fly the shared schedule as it was booked.

    Parameters
    ----------
    upkeep : Upkeep
    schedule : Schedule              Planned hours as booked.
    decisions : Decisions            With the legs that may leave early.
    booked, absent                   Trips refused beforehand, and trips nobody wants this time.
    local_h : float                  Local flying of all who take part. [h]
    """
    last = shared.parts[-1]
    flyer, replication = last.flyers[decided.number], shared.replication
    aircraft = Aircraft(upkeep, shared.days[0].luck, flyer.hops,
                        local=study_local_flights(last.study, flyer.plan, local_h))
    log = simulate_year(schedule, decisions, aircraft, decided.limits, replication, booked=booked, absent=absent)
    waking = WakingDay.of(last.study.assumptions)
    local = YearLog(hops=[hop for hop in log.hops if hop.trip < 0])
    parts = [part for i in range(len(shared.parts)) for part in _flights_of(shared, decided, log, i)]
    parts += unordered_flights(local, decided.plans[-1], last.schedule, decided.rows[-1])
    ended = EndedYear.of(replication, log, schedule.trips, _gave_up(shared, decided))
    flown = [YearRecord.flown(ended, parts, log)]
    flights = flights_in_order(flown)
    trips = trip_columns(flown, flights, schedule, waking)
    return YearRecords(flights, trips, shop_columns(log.shop),
                       np.where(flights["leg"] >= 0, shared.schedule.first_leg[flights["trip"]] + flights["leg"], -1))


def _gave_up(shared: SharedTrips, decided: SharedDecisions) -> Adapted:
    """Return what trips gave up whose load did not fit, trips numbered as in the shared schedule."""
    parts = [(rows.gave_up, part.schedule.trips) for rows, part in zip(decided.rows, shared.parts, strict=True)]
    return Adapted(*(np.concatenate([getattr(found, name)[:trips] for found, trips in parts])
                     for name in ("how", "apart", "follow")))


def _flights_of(shared: SharedTrips, decided: SharedDecisions, log: YearLog, i: int) -> list[Columns]:
    """Return the flights of one part of the trips, trips and places numbered as in the shared schedule."""
    legs, trips = shared.first_leg[i:i + 2], shared.first_trip[i:i + 2]
    flown = [f._replace(leg=f.leg - legs[0]) for f in log.legs if legs[0] <= f.leg < legs[1]]
    hops = [h._replace(trip=h.trip - trips[0], leg=max(h.leg - legs[0], -1)) for h in log.hops
            if trips[0] <= h.trip < trips[1]]
    mine = YearLog(legs=flown, hops=hops)
    parts = unordered_flights(mine, decided.plans[i], shared.parts[i].schedule, decided.rows[i])
    return [{**columns, "trip": columns["trip"] + trips[0]} for columns in parts]
