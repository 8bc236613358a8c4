"""From a trip table to the book of a year: legs, slots and windows in UTC hours."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import timedelta
from math import ceil, floor

import numpy as np

from missionsim.base.assumptions import Assumptions
from missionsim.world.airports.table import Airport
from missionsim.year.schedule import AIR_SLOTS, TripBook
from missionsim.year.simulate import YEAR_AND_AFTER_H
from missionsim.year.trips import Trip, TripTable, utc_hours

MAX_LATER_H = 72.0
DAYS_AFTER_YEAR = int((YEAR_AND_AFTER_H - 366 * 24.0 - MAX_LATER_H) // 24) - 4
"""A trip starts for home so many days after the year at the latest. What is flown ends later: the journey may slip by
`MAX_LATER_H`, and four days are kept for the clock of the place, a night's rest, a diversion and a repair."""
MAX_EARLIER_H = 12.0


def make_book(table: TripTable, places: Mapping[str, int], airports: Sequence[Airport], assumptions: Assumptions,
              members: Mapping[str, int] | None = None) -> TripBook:
    """Return the book of a trip table.

    Parameters
    ----------
    table : TripTable
    places : mapping                Identifier to row of `airports`.
    airports : sequence of Airport
    assumptions : Assumptions       Group `year`.
    members : mapping, optional     Member to number, in a partnership.

    Departures slip by whole hours within the trip's flexibility; more than 12 h earlier or 72 h later is not looked at.
    """
    legs: list[tuple[int, float, int, int, int, int]] = []
    first_leg, offsets = [0], []
    for k, trip in enumerate(table):
        stops = [places[stop] for stop in trip.stops]
        for i, local in enumerate(trip.departs_local):
            planned_h = utc_hours(local, airports[stops[i]].timezone, table.year)
            earlier, later = _window(trip, last=i == trip.legs - 1)
            legs.append((k, planned_h - earlier, earlier, earlier + later, stops[i], stops[i + 1]))
        first_leg.append(len(legs))
        offsets.append(_offset_h(trip, airports[stops[0]], table.year))
    columns = list(zip(*legs, strict=True)) if legs else [()] * 6
    widest = max((row[3] for row in legs), default=0) + 1
    numbers = members or {}
    return TripBook(
        first_leg=np.array(first_leg, dtype=np.int64), people=np.array([t.people for t in table], dtype=np.int64),
        utc_offset_h=np.array(offsets, dtype=float), must_go=np.array([t.must_go for t in table], dtype=bool),
        member=np.array([numbers.get(t.member or "", 0) for t in table], dtype=np.int64),
        trip=np.array(columns[0], dtype=np.int64), start_h=np.array(columns[1], dtype=float),
        planned_slot=np.array(columns[2], dtype=np.int64), last_slot=np.array(columns[3], dtype=np.int64),
        from_place=np.array(columns[4], dtype=np.int64), to_place=np.array(columns[5], dtype=np.int64),
        door_h=_door_h(len(legs), assumptions), slots=ceil(widest / AIR_SLOTS) * AIR_SLOTS,
    )


def _window(trip: Trip, last: bool) -> tuple[int, int]:
    earlier = trip.return_earlier_h if last else trip.earlier_h
    later = trip.return_later_h if last else trip.later_h
    return floor(min(earlier, MAX_EARLIER_H)), floor(min(later, MAX_LATER_H))


def _offset_h(trip: Trip, home: Airport, year: int) -> float:
    local = trip.departs_local[0]
    midnight = local.replace(hour=0, minute=0, second=0, microsecond=0)
    since = (midnight - midnight.replace(year=year, month=1, day=1)) / timedelta(hours=1)
    return since - utc_hours(midnight, home.timezone, year)


def _door_h(legs: int, assumptions: Assumptions) -> np.ndarray:
    """Return hours of a traveller on the ground for each leg: to the airport, before start, after stop, into town."""
    before = assumptions["year.arrive_before_start_min"] / 60.0
    after = assumptions["year.leave_after_stop_min"] / 60.0
    ground = assumptions["year.ground_transport_min"] / 60.0
    return np.full(legs, before + after + ground)
