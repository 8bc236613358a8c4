"""Flights that no trip asks for and that land where they began: practice, training, an hour on a fair afternoon."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import accumulate
from math import ceil, inf

from missionsim.year.trips import clock, utc_hours

DAY_H = 24.0
BEFORE_TRIP_H, AFTER_TRIP_H = 4.0, 2.0
"""Nobody begins a local flight so shortly before a trip leaves, or after one is back. [h]"""
MOST_DAYS_LATER = 60


@dataclass(frozen=True, slots=True)
class LocalFlights:
    """The local flights of a year.

    Parameters
    ----------
    start_h : tuple of float   When each is meant to begin, rising. [h]
    flight_h : float           What each takes. [h]
    fuel_gal : float           What each burns, taxi left out. [gal]
    """

    start_h: tuple[float, ...] = ()
    flight_h: float = 0.0
    fuel_gal: float = 0.0


NO_LOCAL_FLIGHTS = LocalFlights()


def local_flights(hours_h: float, each_h: float, flow_gph: float, at_local_h: float, timezone: str, year: int,
                  ) -> LocalFlights:
    """Return the local flights of a year, spread evenly over it.

    Parameters
    ----------
    hours_h : float      Flight hours of the year; none for 0. [h]
    each_h : float       Most hours of one flight. [h]
    flow_gph : float     Fuel of an hour. [gal/h]
    at_local_h : float   Hour of the day at which they begin.
    timezone : str       Of home, IANA name.
    year : int
    """
    if hours_h <= 0.0:
        return NO_LOCAL_FLIGHTS
    count = ceil(hours_h / each_h - 1e-9)
    first, days = datetime.combine(date(year, 1, 1), clock(at_local_h)), (date(year + 1, 1, 1) - date(year, 1, 1)).days
    start_h = tuple(utc_hours(first + timedelta(days=int((k + 0.5) * days / count)), timezone, year)
                    for k in range(count))
    return LocalFlights(start_h, hours_h / count, hours_h / count * flow_gph)


def clear_of_trips(flights: LocalFlights, away: Sequence[tuple[float, float]]) -> list[float]:
    """Return when the local flights begin, moved by whole days to where no trip is planned. [h]

    One that finds no such day within two months stays where it was, and waits for the aircraft.

    Parameters
    ----------
    flights : LocalFlights
    away : sequence of pairs   Planned departure and return of each trip. [h]
    """
    by_leaving = sorted(away)
    leaves_h = [leave_h for leave_h, _ in by_leaving]
    # Of those that leave before a time only the one back last can be in the way.
    free_from_h = [-inf, *accumulate((back_h + AFTER_TRIP_H for _, back_h in by_leaving), max)]
    return [_clear(start_h, flights.flight_h, leaves_h, free_from_h) for start_h in flights.start_h]


def _clear(start_h: float, flight_h: float, leaves_h: Sequence[float], free_from_h: Sequence[float]) -> float:
    """Return when a flight begins; `free_from_h` [k]: the aircraft is there once the first k trips are back."""
    for days in range(MOST_DAYS_LATER):
        at_h = start_h + DAY_H * days
        if at_h >= free_from_h[bisect_left(leaves_h, at_h + flight_h + BEFORE_TRIP_H)]:
            return at_h
    return start_h
