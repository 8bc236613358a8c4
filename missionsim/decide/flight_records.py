"""From the log of a year to columns: every flight of every leg, every trip, every shop visit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from missionsim.base.arrays import Array, Columns, Ints
from missionsim.base.words import Adaptation, Outcome, Purpose
from missionsim.decide.adapt import Adapted
from missionsim.decide.candidate_plan import CandidatePlan
from missionsim.decide.decide import RowPlans
from missionsim.decide.two_runs import TwiceFlown
from missionsim.year.looked_slots import AIR_SLOTS
from missionsim.year.records import FlightRow, ShopRow, TripEnd, YearLog
from missionsim.year.schedule import Schedule
from missionsim.year.waking import WakingDay

OUT_BACK_OUT = 3
"""Flights of a leg in two runs."""


def flight_columns(log: YearLog, plan: CandidatePlan, schedule: Schedule, rows: RowPlans, replication: int) -> Columns:
    """Return the flights of a year as columns named as in `FlightRow`, in order of departure.

    Parameters
    ----------
    log : YearLog          Of the year.
    plan : CandidatePlan   Of the candidate.
    schedule : Schedule
    rows : RowPlans        What decisions rest on, by row.
    replication : int
    """
    return flights_in_order([unordered_flights(log, plan, schedule, rows)], replication)


def unordered_flights(log: YearLog, plan: CandidatePlan, schedule: Schedule, rows: RowPlans) -> Columns:
    """Return the flights flown by one plan; those of several pilots are put `flights_in_order` together.

    Parameters
    ----------
    log : YearLog          Of the year.
    plan : CandidatePlan   Of the candidate.
    schedule : Schedule
    rows : RowPlans        What decisions rest on, by row.
    """
    planned = _planned_flights(log, plan, schedule, rows)
    hops = _hop_flights(log, plan, schedule, rows)
    return {name: np.concatenate([planned[name], hops[name]]) for name in planned}


def flights_in_order(parts: Sequence[Columns], replication: int) -> Columns:
    """Return all flights of one aircraft in order of departure, with the fuel bought before each."""
    both = parts[0] if len(parts) == 1 else {
        name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
    order = np.argsort(both["depart_h"], kind="stable")
    columns = {name: values[order] for name, values in both.items()}
    columns["replication"] = np.full(len(order), replication, dtype=np.int64)
    columns["fuel_uplift_gal"] = _uplifts(columns)
    del columns["required_gal"]
    return {name: columns[name] for name in FlightRow._fields}


def trip_columns(log: YearLog, flights: Columns, schedule: Schedule, replication: int, waking: WakingDay,
                 gave_up: Adapted | None = None) -> Columns:
    """Return the trips of a year as columns named as in `TripRow`, in the order of the trip table.

    Parameters
    ----------
    log : YearLog                 Of the year.
    flights : Columns             Of the same year.
    schedule : Schedule
    replication : int
    waking : WakingDay            The party's day.
    gave_up : Adapted, optional   What parties left behind; None: nothing.
    """
    gave_up = gave_up or Adapted.none(schedule.trips)
    ends = sorted(log.ends, key=lambda end: end.trip)
    ended = dict(zip(TripEnd._fields, zip(*ends, strict=True) if ends else [()] * len(TripEnd._fields), strict=True))
    trip = np.array(ended["trip"], dtype=np.int64)
    count = schedule.trips
    mine = flights["trip"] >= 0
    party = mine & (flights["purpose"] != str(Purpose.FERRY))
    of_trip = flights["trip"][party]
    total = {name: np.bincount(of_trip, flights[name][party], count)[trip]
             for name in ("block_h", "flight_h", "fuel_burn_gal")}
    stops = np.bincount(of_trip, flights["is_stop"][party], count)[trip].astype(np.int64)
    flown = np.bincount(of_trip, minlength=count)[trip]
    outcome = np.array([str(outcome) for outcome in ended["outcome"]], dtype=object)
    left = outcome != str(Outcome.REFUSED)
    first = schedule.first_leg[trip]
    return {
        "replication": np.full(len(ends), replication, dtype=np.int64), "trip": trip,
        "outcome": outcome,
        "reason": np.array([str(reason) if reason else "" for reason in ended["reason"]], dtype=object),
        "reasons": np.array(ended["reasons"], dtype=np.int64), "structural": np.array(ended["structural"], dtype=bool),
        "planned_h": schedule.start_h[first] + schedule.planned_slot[first],
        "departed_h": np.array(ended["departed_h"], dtype=np.float64),
        "home_h": np.array(ended["home_h"], dtype=np.float64),
        "door_to_door_h": np.where(left, _door_to_door_h(log, flights, schedule, total["block_h"], trip, waking)
                                   - _not_waiting_h(log, flights, schedule, gave_up)[trip], 0.0),
        "nights_forced": np.array(ended["nights_forced"], dtype=np.int64),
        "flights": flown, "fuel_stops": stops,
        "diversions": np.array(ended["diversions"], dtype=np.int64), "looks": np.array(ended["looks"], dtype=np.int64),
        "block_h": total["block_h"], "flight_h": total["flight_h"], "fuel_gal": total["fuel_burn_gal"],
        "people": schedule.people[trip], "places_reached": np.array(ended["reached"], dtype=np.int64),
        "came_home_otherwise": np.array(ended["otherwise"], dtype=bool),
        "marks": np.array(ended["marks"], dtype=np.int64), "turned": np.array(ended["turned"], dtype=np.int64),
        "met_below": np.array(ended["met_below"], dtype=np.int64),
        "how": np.where(left, gave_up.how[trip], 0).astype(np.int64),
        "apart": np.where(left, gave_up.apart[trip], 0),
    }


def shop_columns(log: YearLog) -> Columns:
    """Return the shop visits of a year as columns named as in `ShopRow`."""
    kinds: dict[str, Any] = {"kind": object, "deferred": bool, "replication": np.int64, "place": np.int64,
                             "trip": np.int64}
    return {name: np.array([getattr(row, name) for row in log.shop], dtype=kinds.get(name, np.float64))
            for name in ShopRow._fields}


def _planned_flights(log: YearLog, plan: CandidatePlan, schedule: Schedule, rows: RowPlans) -> Columns:
    leg = np.array([f.leg for f in log.legs], dtype=np.int64)
    option = np.array([f.option for f in log.legs], dtype=np.int64)
    slot = np.array([f.slot for f in log.legs], dtype=np.int64)
    depart_h = np.array([f.depart_h for f in log.legs])
    first = plan.options.first_row
    flights = first[option + 1] - first[option] if len(option) else np.zeros(0, dtype=np.int64)
    twice = rows.gave_up.how[schedule.trip[leg]] == Adaptation.TWO_RUNS
    flights = np.where(twice, OUT_BACK_OUT, flights)
    which = np.repeat(np.arange(len(leg)), flights)
    nth = np.arange(len(which)) - np.repeat(np.cumsum(flights) - flights, flights)
    row = first[option[which]] + np.where(twice[which], 0, nth)
    column = schedule.looks.column[leg[which], slot[which]]
    plans, cell, hour = rows.plans, plan.cells.cell_of(leg[which], row, column), column % AIR_SLOTS
    longer = 1.0 + rows.detour_share.take(schedule.looks.hours.place(leg[which], column))
    flight_h = (plans.flight_h[cell] + plan.times.approach_h) * longer
    block_h = flight_h + plan.times.taxi_h
    trip = schedule.trip[leg][which]
    columns = {
        "trip": trip, "leg": leg[which] - schedule.first_leg[trip],
        "purpose": np.full(len(row), str(Purpose.TRIP), dtype=object),
        "from_place": plan.rows.from_place[row], "to_place": plan.rows.to_place[row],
        "depart_h": depart_h[which], "block_h": block_h, "flight_h": flight_h,
        "level_ft": plans.level_ft[cell].astype(float), "tas_kt": plans.tas_kt[cell].astype(float),
        "groundspeed_kt": plans.groundspeed_kt[cell].astype(float),
        "headwind_kt": plans.headwind_kt[cell].astype(float), "distance_nm": plan.table.rows.distance_nm[row],
        "fuel_burn_gal": plans.fuel_gal[cell] * longer + plan.fuel.taxi_gal + plan.fuel.approach_gal,
        "required_gal": rows.required_gal[hour, cell], "takeoff_weight_lb": rows.takeoff_lb[hour, cell],
        "people": plan.rows.people[row] - rows.gave_up.apart[trip],
        "is_stop": (nth < flights[which] - 1) & ~twice[which],
    }
    if twice.any():
        _in_two_runs(columns, plan, schedule, rows, leg[which], np.where(twice[which], nth, -1))
    columns["depart_h"] = columns["depart_h"] + _before_in_leg(columns["block_h"] + plan.times.ground_h, nth)
    return columns


def _in_two_runs(columns: Columns, plan: CandidatePlan, schedule: Schedule, rows: RowPlans, leg: Ints, run: Ints,
                 ) -> None:
    """Put the flight back, with the pilot alone, between two runs, and part the people; `run` -1 for other flights."""
    trip, follow = columns["trip"], rows.gave_up.follow[columns["trip"]]
    columns["people"] = np.where(run == 0, columns["people"] - follow, np.where(run == OUT_BACK_OUT - 1, 1 + follow,
                                                                                columns["people"]))
    twice = TwiceFlown.of_trips(plan, schedule, rows.gave_up.how)
    back = np.flatnonzero(run == 1)
    k = np.searchsorted(twice.leg, leg[back])
    flight_h, burn_gal, distance_nm = twice.back_flight_h[k], twice.back_gal[k], twice.back_nm[k]
    required_gal = burn_gal + plan.fuel.reserve_h * plan.coarse.fuel_flow_gph
    empty_lb = _zero_fuel_lb(rows, np.full(len(trip), -1))[back]
    for name, values in {
            "from_place": columns["to_place"][back], "to_place": columns["from_place"][back],
            "block_h": flight_h + plan.times.taxi_h, "flight_h": flight_h, "level_ft": 0.0, "headwind_kt": 0.0,
            "tas_kt": plan.coarse.tas_kt, "groundspeed_kt": distance_nm / flight_h, "distance_nm": distance_nm,
            "fuel_burn_gal": burn_gal, "required_gal": required_gal, "people": 1,
            "takeoff_weight_lb": empty_lb + required_gal * plan.fuel.lb_per_gal}.items():
        columns[name] = columns[name].copy()
        columns[name][back] = values


def _before_in_leg(hours_h: Array, nth: Ints) -> Array:
    """Return the hours of the flights before each flight of the same leg."""
    total = np.concatenate([[0.0], np.cumsum(hours_h)])[:-1]
    return total - total[np.arange(len(nth)) - nth] if len(nth) else total


def _hop_flights(log: YearLog, plan: CandidatePlan, schedule: Schedule, rows: RowPlans) -> Columns:
    hops = log.hops
    flight_h = np.array([h.flight_h for h in hops])
    fuel_gal = np.array([h.fuel_gal for h in hops])
    distance_nm = np.array([h.distance_nm for h in hops])
    trip = np.array([h.trip for h in hops], dtype=np.int64)
    leg = np.array([h.leg for h in hops], dtype=np.int64)
    # A diversion is the end of a flight begun elsewhere: no taxi out, and no fuel to be had before it.
    own_start = np.array([h.purpose is not Purpose.DIVERSION for h in hops], dtype=bool)
    fuel_gal = fuel_gal + plan.fuel.taxi_gal * own_start
    reserve_gal = plan.fuel.reserve_h * plan.coarse.fuel_flow_gph * own_start
    speed_kt = np.divide(distance_nm, flight_h, out=np.zeros(len(hops)), where=flight_h > 0)
    people = np.array([h.people for h in hops], dtype=np.int64)
    # Whoever brings an aircraft home has nothing of the party's on board.
    alone = np.array([h.purpose is Purpose.FERRY for h in hops], dtype=bool)
    return {
        "trip": trip, "leg": np.where(leg >= 0, leg - schedule.first_leg[trip], -1),
        "purpose": np.array([str(h.purpose) for h in hops], dtype=object),
        "from_place": np.array([h.from_place for h in hops], dtype=np.int64),
        "to_place": np.array([h.to_place for h in hops], dtype=np.int64),
        "depart_h": np.array([h.depart_h for h in hops]),
        "block_h": flight_h + plan.times.taxi_h * own_start, "flight_h": flight_h, "level_ft": np.zeros(len(hops)),
        "tas_kt": np.full(len(hops), plan.coarse.tas_kt), "groundspeed_kt": speed_kt,
        "headwind_kt": np.zeros(len(hops)), "distance_nm": distance_nm, "fuel_burn_gal": fuel_gal,
        "required_gal": fuel_gal + reserve_gal,
        "takeoff_weight_lb": (_zero_fuel_lb(rows, np.where(alone, -1, trip))
                              + (fuel_gal + reserve_gal) * plan.fuel.lb_per_gal),
        "people": people, "is_stop": np.zeros(len(hops), dtype=bool),
    }


def _zero_fuel_lb(rows: RowPlans, trip: Ints) -> Array:
    """Return the weight without fuel of flights by their trip; those of none are as light as the lightest trip."""
    loads_lb = rows.loads.zero_fuel_lb
    return np.append(loads_lb, loads_lb.min(initial=np.inf) if len(loads_lb) else 0.0)[trip]


def _uplifts(columns: Columns) -> Array:
    """Return gallons bought before each flight: what is needed less what is left on board from the last one."""
    uplift, left = [], 0.0
    for need, burn in zip(columns["required_gal"].tolist(), columns["fuel_burn_gal"].tolist(), strict=True):
        bought = need - left if need > left else 0.0
        uplift.append(bought)
        left += bought - burn
    return np.array(uplift)


def _door_to_door_h(log: YearLog, flights: Columns, schedule: Schedule, block_h: Array, trip: Ints,
                    waking: WakingDay) -> Array:
    """Return hours of one traveller: doors of every leg begun, block hours, fuel stops and waking hours of waiting."""
    door_h = np.zeros(schedule.trips)
    legs = np.array([f.leg for f in log.legs], dtype=np.int64)
    np.add.at(door_h, schedule.trip[legs], schedule.door_h[legs])
    for of_trip, from_h, until_h in (_between_flights_h(flights), _waits_away(log, flights, schedule)):
        offset_h = schedule.utc_offset_h[of_trip]
        np.add.at(door_h, of_trip, waking.waited_h(from_h + offset_h, until_h + offset_h))
    for end in log.ends:
        if end.nights_rested:
            door_h[end.trip] += end.rested_h - end.nights_rested * waking.night_h
    return door_h[trip] + block_h


def _not_waiting_h(log: YearLog, flights: Columns, schedule: Schedule, gave_up: Adapted) -> Array:
    """Return by trip the hours between two runs of those who are at home then, over all of the party. [h]

    The second run's people come to the airport when it leaves, the first run's are home from the way back; whoever is
    away in between waits.
    """
    spared_h = np.zeros(schedule.trips)
    twice = set(np.flatnonzero(gave_up.how == Adaptation.TWO_RUNS).tolist())
    if not twice:
        return spared_h
    trip_of = schedule.trip.tolist()
    for leg in (f.leg for f in log.legs if trip_of[f.leg] in twice):
        trip = int(schedule.trip[leg])
        first, end = int(schedule.first_leg[trip]), int(schedule.first_leg[trip + 1])
        people, follow = int(schedule.people[trip]), int(gave_up.follow[trip])
        at_home = follow if leg == first else people - 1 - follow if leg == end - 1 else 0
        mine = (flights["trip"] == trip) & (flights["leg"] == leg - first) & (flights["purpose"] == str(Purpose.TRIP))
        spared_h[trip] += at_home / people * float(np.ptp(flights["depart_h"][mine]))
    return spared_h


def _waits_away(log: YearLog, flights: Columns, schedule: Schedule) -> tuple[Ints, Array, Array]:
    """Return trips, and when their parties, away from home, began to wait beyond the plan and when they left.

    A leg waits from its planned hour on, later by what an earlier leg was already late and not before its party is
    there: a trip that moved as a whole has moved its plan. Nobody waits away for the first leg. Whoever goes home by
    other means waits until then.
    """
    arrived_h = _arrivals_h(flights, schedule)
    planned_h = (schedule.start_h + schedule.planned_slot).tolist()
    trip_of, first_leg = schedule.trip.tolist(), schedule.first_leg.tolist()
    departures = [(f.leg, f.depart_h) for f in log.legs]
    last: dict[int, int] = {}
    for leg, _ in departures:
        if leg > last.get(trip_of[leg], -1):
            last[trip_of[leg]] = leg
    departures += [(last[end.trip] + 1, end.left_h) for end in log.ends if end.left_h >= 0.0 and end.trip in last]
    late_h: dict[int, float] = {}
    waits = []
    for leg, depart_h in sorted(departures):
        trip, own_h = trip_of[leg], depart_h - planned_h[leg]
        if leg > first_leg[trip]:
            before_h, there_h = late_h.get(trip, 0.0), arrived_h[leg - 1]
            due_h = planned_h[leg] + before_h
            waits.append((trip, due_h if due_h > there_h else there_h, depart_h))
            own_h = max(own_h, before_h)
        late_h[trip] = own_h
    table = np.array(waits, dtype=np.float64).reshape(-1, 3)
    return table[:, 0].astype(np.int64), table[:, 1], table[:, 2]


def _arrivals_h(flights: Columns, schedule: Schedule) -> list[float]:
    """Return by leg when its last flight with the party aboard ended; minus infinity where none began."""
    with_party = (flights["leg"] >= 0) & (flights["trip"] >= 0) & (flights["purpose"] != str(Purpose.FERRY))
    leg = schedule.first_leg[flights["trip"][with_party]] + flights["leg"][with_party]
    arrived_h = np.full(len(schedule.trip), -np.inf)
    np.maximum.at(arrived_h, leg, (flights["depart_h"] + flights["block_h"])[with_party])
    return arrived_h.tolist()


def _between_flights_h(flights: Columns) -> tuple[Ints, Array, Array]:
    """Return trips, and from when to when they stood between two flights of a leg: fuel stops, waits short of it."""
    order = np.lexsort((flights["depart_h"], flights["leg"], flights["trip"]))
    order = order[(flights["trip"][order] >= 0) & (flights["purpose"][order] != str(Purpose.FERRY))]
    trip, leg, depart_h, block_h = (flights[name][order] for name in ("trip", "leg", "depart_h", "block_h"))
    same = (trip[1:] == trip[:-1]) & (leg[1:] == leg[:-1])
    return trip[1:][same], (depart_h + block_h)[:-1][same], depart_h[1:][same]
