"""The least an event loop does for a year: 110 trips, 330 flights, 13 shop visits, one resource, a tuple a flight.

This file is a yardstick. It is never changed together with the program, so that a ratio to it means the same next year.
"""

from __future__ import annotations

import simpy

TRIPS = 110
FLIGHTS_A_TRIP = 3
SHOP_VISITS = 13
YEAR_H = 8760.0


def floor_year() -> list[tuple[int, int, float, float]]:
    """Fly the year and return its flights."""
    env = simpy.Environment()
    aircraft = simpy.PriorityResource(env, capacity=1)
    flights: list[tuple[int, int, float, float]] = []

    def trip(number: int):
        yield env.timeout(number * YEAR_H / TRIPS)
        with aircraft.request(priority=1) as claim:
            yield claim
            for leg in range(FLIGHTS_A_TRIP):
                yield env.timeout(2.0)
                start_h = env.now
                yield env.timeout(1.5)
                flights.append((number, leg, start_h, env.now))

    def visit(number: int):
        yield env.timeout((number + 0.5) * YEAR_H / SHOP_VISITS)
        with aircraft.request(priority=0) as claim:
            yield claim
            yield env.timeout(24.0)

    for number in range(TRIPS):
        env.process(trip(number))
    for number in range(SHOP_VISITS):
        env.process(visit(number))
    env.run(until=YEAR_H + 21 * 24.0)
    return flights
