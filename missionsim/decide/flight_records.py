"""From the logs of years to columns: every flight of every leg, every shop visit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from missionsim.base.arrays import Array, Columns, Floats, Ints
from missionsim.base.words import Adaptation, Purpose
from missionsim.decide.candidate_plan import CandidatePlan
from missionsim.decide.decide import RowPlans
from missionsim.decide.trip_records import PURPOSE_CODE, EndedYear, hops_flown, legs_flown
from missionsim.decide.two_runs import TwiceFlown
from missionsim.year.looked_slots import AIR_SLOTS
from missionsim.year.records import FlightRow, ShopRow, YearLog
from missionsim.year.schedule import Schedule

_PURPOSES = np.array(list(map(str, Purpose)), dtype=object)
OUT_BACK_OUT = 3
"""Flights of a leg in two runs."""


@dataclass(frozen=True, slots=True)
class YearRecord(EndedYear):
    """One flown year, all that its columns are made of: `flights` in some order, in parts, and visits to the shop."""

    flights: tuple[Columns, ...]
    shop: tuple[ShopRow, ...]

    @classmethod
    def flown(cls, ended: EndedYear, flights: Sequence[Columns], log: YearLog) -> YearRecord:
        """Return the record of a year; `flights`: in parts, `log`: its visits to the shop."""
        return cls(ended.replication, ended.legs, ended.ends, ended.gave_up, tuple(flights), tuple(log.shop))


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
    return flights_in_order([year_record(log, plan, schedule, rows, replication)])


def year_record(log: YearLog, plan: CandidatePlan, schedule: Schedule, rows: RowPlans, replication: int) -> YearRecord:
    """Return the record of a year flown by one plan; it takes the same as `flight_columns`."""
    ended = EndedYear.of(replication, log, schedule.trips, rows.gave_up)
    flights = _planned_flights(ended.legs, plan, schedule, rows), _hop_flights(log, plan, schedule, rows)
    return YearRecord.flown(ended, flights, log)


def unordered_flights(log: YearLog, plan: CandidatePlan, schedule: Schedule, rows: RowPlans) -> tuple[Columns, Columns]:
    """Return the flights flown by one plan, those of legs and all others, as columns.

    Parameters
    ----------
    log : YearLog          Of the year.
    plan : CandidatePlan   Of the candidate.
    schedule : Schedule
    rows : RowPlans        What decisions rest on, by row.
    """
    return _planned_flights(legs_flown(log), plan, schedule, rows), _hop_flights(log, plan, schedule, rows)


def flights_in_order(years: Sequence[YearRecord]) -> Columns:
    """Return the flights of one aircraft by year and departure, with the fuel bought before each."""
    parts = [(year.replication, part) for year in years for part in year.flights]
    columns = {name: np.concatenate([part[name] for _, part in parts]) for name in parts[0][1]}
    replication = np.repeat([number for number, _ in parts], [len(part["depart_h"]) for _, part in parts])
    order = np.lexsort((columns["depart_h"], replication))
    columns = {name: values[order] for name, values in columns.items()}
    columns["replication"] = replication[order]
    columns["fuel_uplift_gal"] = _uplifts(columns)
    return {name: columns[name] for name in FlightRow._fields}


def shop_columns(rows: Sequence[ShopRow]) -> Columns:
    """Return the shop visits of years as columns named as in `ShopRow`."""
    kinds: dict[str, Any] = {"kind": object, "deferred": bool, "replication": np.int64, "place": np.int64,
                             "trip": np.int64}
    columns = zip(*rows, strict=True) if rows else [()] * len(ShopRow._fields)
    return {name: np.array(values, dtype=kinds.get(name, np.float64))
            for name, values in zip(ShopRow._fields, columns, strict=True)}


def _planned_flights(legs: Floats, plan: CandidatePlan, schedule: Schedule, rows: RowPlans) -> Columns:
    leg, option, slot = legs[:, :3].T.astype(np.int64)
    depart_h = legs[:, 3]
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
    trip, leg, purpose, from_place, to_place, depart_h, flight_h, fuel_gal, distance_nm, people = hops_flown(log).T
    trip, leg, purpose, from_place, to_place, people = np.stack(
        [trip, leg, purpose, from_place, to_place, people]).astype(np.int64)
    # A diversion is the end of a flight begun elsewhere: no taxi out, and no fuel to be had before it.
    own_start = purpose != PURPOSE_CODE[Purpose.DIVERSION]
    fuel_gal = fuel_gal + plan.fuel.taxi_gal * own_start
    reserve_gal = plan.fuel.reserve_h * plan.coarse.fuel_flow_gph * own_start
    speed_kt = np.divide(distance_nm, flight_h, out=np.zeros(len(trip)), where=flight_h > 0)
    # Whoever brings an aircraft home has nothing of the party's on board.
    alone = purpose == PURPOSE_CODE[Purpose.FERRY]
    return {
        "trip": trip, "leg": np.where(leg >= 0, leg - schedule.first_leg[trip], -1),
        "purpose": _PURPOSES.take(purpose), "from_place": from_place, "to_place": to_place, "depart_h": depart_h,
        "block_h": flight_h + plan.times.taxi_h * own_start, "flight_h": flight_h, "level_ft": np.zeros(len(trip)),
        "tas_kt": np.full(len(trip), plan.coarse.tas_kt), "groundspeed_kt": speed_kt,
        "headwind_kt": np.zeros(len(trip)), "distance_nm": distance_nm, "fuel_burn_gal": fuel_gal,
        "required_gal": fuel_gal + reserve_gal,
        "takeoff_weight_lb": (_zero_fuel_lb(rows, np.where(alone, -1, trip))
                              + (fuel_gal + reserve_gal) * plan.fuel.lb_per_gal),
        "people": people, "is_stop": np.zeros(len(trip), dtype=bool),
    }


def _zero_fuel_lb(rows: RowPlans, trip: Ints) -> Array:
    """Return the weight without fuel of flights by their trip; those of none are as light as the lightest trip."""
    loads_lb = rows.loads.zero_fuel_lb
    return np.concatenate([loads_lb, [loads_lb.min() if len(loads_lb) else 0.0]])[trip]


def _uplifts(columns: Columns) -> Array:
    """Return gallons bought before each flight: what is needed less what is left on board from the year's last one."""
    uplift, left, year = [], 0.0, -1
    for replication, need, burn in zip(*(columns[name].tolist() for name in (
            "replication", "required_gal", "fuel_burn_gal")), strict=True):
        if replication != year:
            year, left = replication, 0.0
        bought = need - left if need > left else 0.0
        uplift.append(bought)
        left += bought - burn
    return np.array(uplift)
