"""Flights that others ask for: how often, when, where to and with how much notice; which legs carry somebody."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from missionsim.base.assumptions import Assumptions
from missionsim.year.demand import DemandLine, generate
from missionsim.year.trips import Trip


@dataclass(frozen=True, slots=True)
class RequestLine:
    """One kind of flight for others.

    Parameters
    ----------
    line : DemandLine           Places in flying order, home left out; `adults` are passengers and crew.
    occupied : tuple of bool    By leg, home to home: whether passengers are on board; other legs are flown empty.
    crew : int                  Pilots on board on every leg.
    notice_days : three floats  10, 50 and 90 % points of the days between asking and departure.
    """

    line: DemandLine
    occupied: tuple[bool, ...]
    crew: int
    notice_days: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Request:
    """One flight asked for: the trip it makes and the line it came from."""

    trip: Trip
    line: int


def usual_kind(operation: str) -> str:
    """Return the kind of a request that does not say it: renters bring the aircraft back, a charter sets down."""
    return "wait" if operation == "rental_leaseback" else "one_way"


def route_of(home: str, pick_up: str, to: str, kind: str) -> tuple[tuple[str, ...], tuple[bool, ...]]:
    """Return the places between home and home, and which legs carry passengers.

    `wait`: the aircraft waits and brings the party back to where it came from. `one_way`: it comes home empty, as it
    does from wherever the party was set down. A party picked up elsewhere is reached by an empty leg.

    Parameters
    ----------
    home : str      Identifier of home.
    pick_up : str   Identifier of the place of the party.
    to : str        Identifier of the destination.
    kind : str

    Raises
    ------
    ValueError   Pick-up and destination are the same place.
    """
    if pick_up == to:
        raise ValueError(f"from {pick_up} to the same place")
    stops, occupied = ([], []) if pick_up == home else ([pick_up], [False])
    if to != home or kind == "wait":
        stops.append(to)
    occupied.append(True)
    if kind == "wait":
        if pick_up != home:
            stops.append(pick_up)
        occupied.append(True)
    if stops[-1] != home and len(stops) + 1 > len(occupied):
        occupied.append(False)
    return tuple(stops), tuple(occupied)


def requests_of_year(lines: Sequence[RequestLine], home: str, year: int, assumptions: Assumptions,
                     generators: Sequence[np.random.Generator]) -> list[Request]:
    """Return the flights asked for in one year, by line and then by day.

    Numbers are Poisson; days follow season and weekday. Requests come from different people, so none moves to keep
    clear of another.

    Parameters
    ----------
    generators : sequence of Generator   One a line.
    """
    loose = assumptions.replaced({"trip.generated_shift_days": 0, "trip.clear_days_between": 0})
    found = []
    for i, (line, random) in enumerate(zip(lines, generators, strict=True)):
        table = generate([line.line], home, year, loose, [random])
        found += [Request(replace(trip, trip_id=f"request {i + 1}.{k + 1}"), i) for k, trip in enumerate(table)]
    return found
