"""Where to stop for fuel: a shortest-time path over airports, each stop with descent, ground time and climb."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array
from missionsim.physics.geodesy import haversine_nm

MAX_FLIGHTS = 5
"""A leg of more flights than this is refused for range rather than searched."""


FORCED_H = 5.0
"""A hop too short to be wanted counts so much longer: it is taken where nothing else is possible. [h]"""


@dataclass(frozen=True, slots=True)
class CoarseFlight:
    """A flight in three numbers, good enough to choose where to stop; the chosen flights are then planned in full.

    `overhead_h`, `overhead_gal`: what climb, descent and manoeuvring cost beyond the same distance at cruise.
    """

    tas_kt: float
    fuel_flow_gph: float
    overhead_h: float
    overhead_gal: float

    def hours(self, distance_nm: Array, headwind_kt: float) -> Array:
        """Return flight hours; infinite where the aircraft would not advance."""
        groundspeed_kt = self.tas_kt - headwind_kt
        if groundspeed_kt <= 5.0:
            return np.full(np.shape(distance_nm), np.inf)
        return np.asarray(distance_nm) / groundspeed_kt + self.overhead_h

    def gallons(self, distance_nm: Array, headwind_kt: float) -> Array:
        """Return fuel burned in flight. [gal]"""
        return (self.hours(distance_nm, headwind_kt) - self.overhead_h) * self.fuel_flow_gph + self.overhead_gal


@dataclass(frozen=True, slots=True)
class StopSearch:
    """Places of one leg: row 0 is the start, the last row the end, between them the airports with fuel and runway."""

    latitude_deg: Array
    longitude_deg: Array

    def distances_nm(self) -> Array:
        """Return the distance of every pair, [n, n]."""
        lat, lon = self.latitude_deg, self.longitude_deg
        return haversine_nm(lat[:, None], lon[:, None], lat[None, :], lon[None, :])


@dataclass(frozen=True, slots=True)
class StopWishes:
    """What people want of stops: their length on the ground, none too near an end, and towards the middle.

    `ground_h`: time on the ground at each stop; `shortest_nm`: a flight shorter than this counts `FORCED_H` longer;
    `evenness_per_h`: what the square of each flight's hours counts.
    """

    ground_h: float
    shortest_nm: float = 0.0
    evenness_per_h: float = 0.0


def itinerary(distances_nm: Array, flight: CoarseFlight, fuel_gal: float, max_leg_h: float, headwind_kt: float,
              wishes: StopWishes) -> tuple[int, ...] | None:
    """Return the rows visited from first to last with the least time, or None when no chain of flights works.

    Parameters
    ----------
    distances_nm : (n, n) array     Between start, possible stops and end. [nm]
    flight : CoarseFlight
    fuel_gal : float                Fuel for one flight, reserve already taken off. [gal]
    max_leg_h : float               Longest flight accepted. [h]
    headwind_kt : float             Along every part of the way. [kt]
    wishes : StopWishes             The least time of all chains is that with what these add to it.
    """
    hours = flight.hours(distances_nm, headwind_kt)
    allowed = (flight.gallons(distances_nm, headwind_kt) <= fuel_gal) & (hours <= max_leg_h)
    np.fill_diagonal(allowed, False)
    with np.errstate(invalid="ignore"):
        wanted = hours + wishes.evenness_per_h * hours**2 + np.where(distances_nm < wishes.shortest_nm, FORCED_H, 0.0)
    step = np.where(allowed, wanted, np.inf)
    reach, every = [step[0]], np.arange(len(step))
    came_from: list[Array] = []
    for _ in range(MAX_FLIGHTS - 1):
        through = (reach[-1] + wishes.ground_h)[:, None] + step
        came_from.append(np.argmin(through, axis=0))
        reach.append(through[came_from[-1], every])
    totals = np.array([r[-1] for r in reach])
    if not np.isfinite(totals).any():
        return None
    flights = int(np.argmin(totals))
    path = [len(distances_nm) - 1]
    for k in range(flights - 1, -1, -1):
        path.append(int(came_from[k][path[-1]]))
    return (0, *reversed(path))


def itineraries(distances_nm: Array, flight: CoarseFlight, fuel_gal: Array, max_leg_h: float, headwinds_kt: Array,
                wishes: StopWishes) -> tuple[tuple[int, ...], ...]:
    """Return the distinct best itineraries over payload classes and along-track winds, the direct flight first.

    Parameters
    ----------
    fuel_gal : (k,) array          Fuel for one flight by payload class. [gal]
    headwinds_kt : (w,) array      Winds to try, usually in steps of 10 kt.

    The direct flight is always offered, since a tail wind may carry it on the day.
    """
    found: dict[tuple[int, ...], None] = {(0, len(distances_nm) - 1): None}
    for fuel in fuel_gal:
        for headwind_kt in headwinds_kt:
            best = itinerary(distances_nm, flight, float(fuel), max_leg_h, float(headwind_kt), wishes)
            if best is not None:
                found[best] = None
    return tuple(found)
