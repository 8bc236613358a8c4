"""The trips of a simulated year as legs and departure slots.

Everything that chance or weather decides is drawn and computed before the event loop starts; the loop only looks up.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from math import ceil, floor
from typing import Any, NamedTuple

import numpy as np

from missionsim.base.arrays import Array, Bools, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.base.axes import APART, axis
from missionsim.world.airports.table import Airport
from missionsim.year.looked_slots import AIR_SLOTS, LookedSlots
from missionsim.year.trips import Trip, TripTable, local_time, utc_hours

YEAR_AND_AFTER_H = 8784.0 + 21 * 24.0
"""Trips still open three weeks after the year's end are looked at no further. [h]"""
MAX_LATER_H = 72.0
DAYS_LEFT = 4
DAYS_AFTER_YEAR = int((YEAR_AND_AFTER_H - 366 * 24.0 - MAX_LATER_H) // 24) - DAYS_LEFT
"""A trip starts for home so many days after the year at the latest. What is flown ends later: the journey may slip by
`MAX_LATER_H`, and `DAYS_LEFT` days are kept for the clock of the place, a night's rest, a diversion and a repair."""
MAX_EARLIER_H = 12.0
SLOTS_A_DAY = 4
"""Hours looked at on a day that a trip is moved to."""
NOON, FIRST_EVENING_H = 12, 36.0
MOST_DAYS = 14
"""A trip is moved by so many days at most."""


class Plain(NamedTuple):
    """What the event loop asks of a schedule over and over, as plain numbers; names as in `Schedule`."""

    first_leg: list[int]
    start_h: list[float]
    planned_slot: list[int]
    last_slot: list[int]
    own_open: list[int]
    own_last: list[int]
    from_place: list[int]
    to_place: list[int]
    people: list[int]
    utc_offset_h: list[float]
    days_earlier: list[int]
    days_later: list[int]
    day_step: list[int]
    evening_slots: list[int]


@dataclass(frozen=True)
class Schedule:
    """Trips of a study as legs with hourly departure slots; the same for every candidate and replication.

    Per trip: `first_leg` (n + 1 entries, so legs of trip k are first_leg[k] to first_leg[k + 1] - 1), `people`,
    `utc_offset_h` (of home at departure), `must_go`, `member` (0 when there is one owner), `days_earlier`,
    `days_later`, `day_step` (how far the whole trip may be moved, in which steps; windows hold these days too),
    `evening_slots` (slots of the evening before, ahead of the own window of its first leg).
    Per leg: `trip`, `start_h` (time of slot 0), `planned_slot`, `last_slot` (end of flexibility), `from_place`,
    `to_place`, `door_h` (access, pre-flight, parking and ground transport of one traveller), `local_h` (hour of the
    day at slot 0 where it leaves), `zone_shift_h` (clock where it arrives less clock where it leaves),
    `earliest_local_h`, `latest_local_h` (hours of the day before which nobody leaves and after which nobody arrives).
    `slots`: departure slots of every leg, the widest window of the study; a multiple of AIR_SLOTS. `least_blocks`: see
    `LookedSlots`; that of the schedule this one is cut from. `first_weekday`: of the year, 0 for Monday.
    """

    first_leg: Ints = axis(APART)
    people: Ints = axis("trip")
    utc_offset_h: Array = axis("trip")
    must_go: Bools = axis("trip")
    member: Ints = axis("trip")
    days_earlier: Ints = axis("trip")
    days_later: Ints = axis("trip")
    day_step: Ints = axis("trip")
    evening_slots: Ints = axis("trip")
    trip: Ints = axis(APART)
    start_h: Array = axis("leg")
    planned_slot: Ints = axis("leg")
    last_slot: Ints = axis("leg")
    from_place: Ints = axis("leg")
    to_place: Ints = axis("leg")
    door_h: Array = axis("leg")
    local_h: Array = axis("leg")
    zone_shift_h: Array = axis("leg")
    earliest_local_h: Array = axis("leg")
    latest_local_h: Array = axis("leg")
    slots: int = axis(APART)
    least_blocks: int = axis(APART, default=0)
    first_weekday: int = axis(APART, default=0)

    @property
    def trips(self) -> int:
        """Number of trips."""
        return len(self.people)

    def planned_h(self, leg: int) -> float:
        """Return the planned departure of a leg."""
        return float(self.start_h[leg] + self.planned_slot[leg])

    @cached_property
    def looks(self) -> LookedSlots:
        """The slots looked at, packed."""
        return LookedSlots.of(self.looked_at(), self.least_blocks)

    @cached_property
    def plain(self) -> Plain:
        """The numbers that the event loop asks for."""
        return Plain(*(getattr(self, name).tolist() for name in Plain._fields))

    @cached_property
    def planned_column(self) -> tuple[Ints, Ints]:
        """Index of the planned hour of every leg among the columns of `looks`."""
        leg = np.arange(len(self.trip))
        return leg, self.looks.column[leg, self.planned_slot]

    def looked_at(self) -> Bools:
        """Tell which slots of legs a trip may come to: its own windows, and those of days it may be moved to."""
        slot, inside = np.arange(self.slots)[None, :], np.arange(self.slots)[None, :] <= self.last_slot[:, None]
        earlier, later, step = (x[self.trip] for x in (self.days_earlier, self.days_later, self.day_step))
        first = np.zeros(len(self.trip), dtype=bool)
        first[self.first_leg[:-1]] = True
        evening = np.where(first, self.evening_slots[self.trip], 0)
        if not (earlier + later + evening).any():
            return inside
        found = np.zeros(inside.shape, dtype=bool)
        for days in range(-int(earlier.max()), int(later.max()) + 1):
            moved = first if days else np.zeros_like(first)
            start = np.where(moved, self.planned_slot, 24 * earlier + evening) + 24 * days
            end = start + np.where(moved, SLOTS_A_DAY - 1, self.last_slot - 24 * (earlier + later) - evening)
            used = (days >= -earlier) & (days <= later) & (days % step == 0)
            found |= used[:, None] & (slot >= start[:, None]) & (slot <= end[:, None])
        from_evening = slot - 24 * earlier[:, None]
        found |= (evening > 0)[:, None] & (from_evening >= 0) & (from_evening < SLOTS_A_DAY)
        return found & inside

    @property
    def own_open(self) -> Ints:
        """First slot of each leg's window on its own day, the evening before left out, [leg]."""
        evening = np.zeros(len(self.trip), dtype=np.int64)
        evening[self.first_leg[:-1]] = self.evening_slots
        return 24 * self.days_earlier[self.trip] + evening

    @property
    def own_last(self) -> Ints:
        """Last slot of each leg's window on its own day, [leg]."""
        return np.maximum(self.last_slot - 24 * self.days_later[self.trip], self.planned_slot)

    def own_earlier(self) -> Ints:
        """Return by how many slots each leg may leave before its planned hour, on its own day."""
        return self.planned_slot - self.own_open

    def awake(self, leg: Ints, slot: Ints, block_h: Array, long_leg: Bools) -> Bools:
        """Tell in which hours a leg leaves and arrives as pilot and passengers accept; arrays broadcast.

        Parameters
        ----------
        leg, slot : arrays of int   Legs and departure slots.
        block_h : array             Hours to the place. [h]
        long_leg : array of bool    Legs with a night at a fuel stop: only their departure counts.
        """
        leave = (self.local_h[leg] + slot) % 24.0
        arrive = leave + block_h + self.zone_shift_h[leg]
        return (leave >= self.earliest_local_h[leg] - 1e-6) & (
            long_leg | (arrive <= self.latest_local_h[leg] + 1e-6))

    def awake_at(self, leg: int, depart_h: float, flight_h: float) -> bool:
        """Tell whether pilot and passengers accept a flight at any time that ends where a leg does.

        Parameters
        ----------
        leg : int
        depart_h : float   UTC hours since the year began. [h]
        flight_h : float   Hours to the place. [h]
        """
        leave = (self.local_h.item(leg) + depart_h - self.start_h.item(leg)) % 24.0
        arrive = leave + flight_h + self.zone_shift_h.item(leg)
        return bool(leave >= self.earliest_local_h.item(leg) - 1e-6 and arrive <= self.latest_local_h.item(leg) + 1e-6)


def make_schedule(table: TripTable, places: Mapping[str, int], airports: Sequence[Airport], assumptions: Assumptions,
                  ) -> Schedule:
    """Return the schedule of a trip table.

    Parameters
    ----------
    table : TripTable
    places : mapping                Identifier to row of `airports`.
    airports : sequence of Airport
    assumptions : Assumptions       Group `year`.

    Departures slip by whole hours within the trip's flexibility; more than 12 h earlier or 72 h later is not looked at.
    """
    legs: list[tuple[int, float, int, int, int, int]] = []
    first_leg, offsets, evenings = [0], [], []
    clocks: list[tuple[float, float, float, float]] = []
    moves = [_moves(trip, airports[places[trip.stops[0]]], table.year) for trip in table]
    for k, trip in enumerate(table):
        stops = [places[stop] for stop in trip.stops]
        for i, local in enumerate(trip.departs_local):
            planned_h = utc_hours(local, airports[stops[i]].timezone, table.year)
            earlier, later = _window(trip, last=i == trip.legs - 1)
            if i == 0:
                evenings.append(_evening_slots(trip, planned_h, earlier))
                earlier += evenings[-1]
            earlier, later = earlier + 24 * moves[k][0], later + 24 * moves[k][1]
            legs.append((k, planned_h - earlier, earlier, earlier + later, stops[i], stops[i + 1]))
            clock_h = local.hour + local.minute / 60.0
            there_h = _clock_shift_h(planned_h, airports[stops[i]], airports[stops[i + 1]], table.year)
            clocks.append((clock_h - earlier, there_h, *_hours_of_day(trip, clock_h, assumptions)))
        first_leg.append(len(legs))
        offsets.append(_offset_h(trip, airports[stops[0]], table.year))
    columns = list(zip(*legs, strict=True)) if legs else [()] * 6
    widest = max((row[3] for row in legs), default=0) + 1
    return Schedule(
        first_leg=np.array(first_leg, dtype=np.int64), people=np.array([t.people for t in table], dtype=np.int64),
        utc_offset_h=np.array(offsets, dtype=float), must_go=np.array([t.must_go for t in table], dtype=bool),
        member=np.zeros(len(table), dtype=np.int64),
        **dict(zip(("days_earlier", "days_later", "day_step"), _columns(moves, 3), strict=True)),
        evening_slots=np.array(evenings, dtype=np.int64),
        trip=np.array(columns[0], dtype=np.int64), start_h=np.array(columns[1], dtype=float),
        planned_slot=np.array(columns[2], dtype=np.int64), last_slot=np.array(columns[3], dtype=np.int64),
        from_place=np.array(columns[4], dtype=np.int64), to_place=np.array(columns[5], dtype=np.int64),
        door_h=_door_h(len(legs), assumptions), **_clock_columns(clocks), slots=ceil(widest / AIR_SLOTS) * AIR_SLOTS,
        first_weekday=date(table.year, 1, 1).weekday(),
    )


def _moves(trip: Trip, home: Airport, year: int) -> tuple[int, int, int]:
    """Return days earlier, days later and their step, as far as the year that is looked at has them."""
    first_h, last_h = (utc_hours(trip.departs_local[i], home.timezone, year) for i in (0, -1))
    step = max(1, trip.day_step)
    if trip.optional_value_usd is not None and (trip.moved_usd or 0.0) >= trip.optional_value_usd:
        return 0, 0, step       # nobody moves a trip for more than it is worth
    before = floor((first_h - MAX_EARLIER_H) / 24.0)
    after = floor((YEAR_AND_AFTER_H - DAYS_LEFT * 24.0 - MAX_LATER_H - last_h) / 24.0)
    earlier = max(0, min(trip.days_earlier, MOST_DAYS, before))
    later = max(0, min(trip.days_later, MOST_DAYS, after))
    return earlier // step * step, later // step * step, step


def _columns(rows: Sequence[tuple[int, ...]], width: int) -> Ints:
    return np.array(rows, dtype=np.int64).reshape(-1, width).T


def _clock_columns(clocks: Sequence[tuple[float, float, float, float]]) -> dict[str, Any]:
    columns = np.array(clocks, dtype=float).reshape(-1, 4)
    return dict(zip(("local_h", "zone_shift_h", "earliest_local_h", "latest_local_h"), columns.T, strict=True))


def _clock_shift_h(time_h: float, here: Airport, there: Airport, year: int) -> float:
    """Return how far the clock of one place is ahead of another's. [h]"""
    if here.timezone == there.timezone:
        return 0.0
    return (local_time(time_h, there.timezone, year) - local_time(time_h, here.timezone, year)) / timedelta(hours=1)


def _hours_of_day(trip: Trip, planned_local_h: float, assumptions: Assumptions) -> tuple[float, float]:
    """Return the earliest departure and the latest arrival of a leg, local clock: what was planned is accepted. [h]"""
    a = assumptions
    earliest_h, latest_h = a["waking.earliest_departure_local_h"], a["waking.latest_arrival_local_h"]
    if trip.people > 1:
        earliest_h = max(earliest_h, a["waking.passengers_earliest_local_h"])
        latest_h = min(latest_h, a["waking.passengers_latest_local_h"])
    if trip.must_go:
        earliest_h, latest_h = earliest_h - a["waking.must_go_wider_h"], latest_h + a["waking.must_go_wider_h"]
    return min(earliest_h, planned_local_h), max(latest_h, planned_local_h + a["trip.leg_allowance_h"])


def _window(trip: Trip, last: bool) -> tuple[int, int]:
    earlier = trip.return_earlier_h if last else trip.earlier_h
    later = trip.return_later_h if last else trip.later_h
    return floor(min(earlier, MAX_EARLIER_H)), floor(min(later, MAX_LATER_H))


def _evening_slots(trip: Trip, planned_h: float, earlier: int) -> int:
    """Return how many slots before its own window the evening begins; none before a trip that leaves in the afternoon.

    In the year's first hours nobody looks back to an evening before it.
    """
    by_morning = trip.departs_local[0].hour < NOON and planned_h >= FIRST_EVENING_H
    return max(floor(trip.evening_h) - earlier, 0) if by_morning else 0


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
