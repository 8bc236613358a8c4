"""The least an event loop does for a year: the trips, flights and visits of a study, one resource, a tuple a flight.

This file is a yardstick. It is not changed together with the program, so that a ratio to it means the same next year.
Its events were counted once for each study (over 48 candidate-years) when trips had come to be wanted or
not, to move and to be broken off, and local flights to be flown; before, every study was held against 110 trips,
330 flights and 13 visits, which no study flies.
"""

from __future__ import annotations

from typing import NamedTuple

import simpy

YEAR_H = 8760.0


class Events(NamedTuple):
    """What happens in the mean candidate-year of a study."""

    trips: int
    flights: int
    local_flights: int
    shop_visits: int


DEMO = Events(trips=49, flights=87, local_flights=10, shop_visits=9)
GENERATED = Events(trips=82, flights=159, local_flights=10, shop_visits=16)


def floor_year(events: Events) -> list[tuple[int, int, float, float]]:
    """Fly the year and return its flights."""
    env = simpy.Environment()
    aircraft = simpy.PriorityResource(env, capacity=1)
    flights: list[tuple[int, int, float, float]] = []

    def trip(number: int, legs: int):
        yield env.timeout(number * YEAR_H / events.trips)
        with aircraft.request(priority=1) as claim:
            yield claim
            for leg in range(legs):
                yield env.timeout(2.0)
                start_h = env.now
                yield env.timeout(1.5)
                flights.append((number, leg, start_h, env.now))

    def other(number: int, of: int, hours: float, priority: int):
        yield env.timeout((number + 0.5) * YEAR_H / of)
        with aircraft.request(priority=priority) as claim:
            yield claim
            yield env.timeout(hours)

    few, more = divmod(events.flights, events.trips)
    for number in range(events.trips):
        env.process(trip(number, few + (number < more)))
    for number in range(events.local_flights):
        env.process(other(number, events.local_flights, 1.0, 2))
    for number in range(events.shop_visits):
        env.process(other(number, events.shop_visits, 24.0, 0))
    env.run(until=YEAR_H + 21 * 24.0)
    return flights
