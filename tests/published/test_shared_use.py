"""The event loop of the year against queues that can be solved outright: no weather, no shop, requests at random.

Sources: Erlang's loss formula, Engset's formula and the Pollaczek-Khinchine formula, L. Kleinrock, Queueing Systems,
volume 1, 1975, sections 3.6, 3.10 and 5.6. One request is one trip of one leg that holds the aircraft for its service.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import year_cases
from queueing import engset, erlang_b, mmc, pollaczek_khinchine

from missionsim.base.words import Outcome, Reason
from missionsim.year.aircraft import Aircraft, TripLimits, Wear
from missionsim.year.decisions import Decisions
from missionsim.year.reservations import Requests, ReservationRule, reserve_year
from missionsim.year.schedule import Schedule
from missionsim.year.simulate import simulate_year

pytestmark = pytest.mark.published

HOURS = 1000.0
"""Mean service: so long that departures on whole hours make no difference. [h]"""
EVER = 1e12
BATCHES = 40


class NoHops:
    def hop(self, from_place, to_place):
        raise AssertionError


def requests_book(start_h, slots):
    n = len(start_h)
    zero = np.zeros(n, dtype=np.int64)
    return Schedule(first_leg=np.arange(n + 1), people=zero + 1, utc_offset_h=np.zeros(n),
                    must_go=np.zeros(n, dtype=bool), member=zero, trip=np.arange(n), start_h=start_h,
                    planned_slot=zero, last_slot=zero + slots - 1, from_place=zero, to_place=zero,
                    door_h=np.zeros(n), slots=slots, days_earlier=zero, days_later=zero, day_step=zero + 1,
                    evening_slots=zero,                    local_h=np.zeros(n), zone_shift_h=np.zeros(n),
                    earliest_local_h=np.zeros(n), latest_local_h=np.full(n, EVER))


def always(service_h, slots):
    n = len(service_h)

    def flat(value, width=slots, kind=float):
        return np.broadcast_to(np.array(value, dtype=kind), (n, width))

    return Decisions(
        next_go=np.broadcast_to(np.arange(slots + 1), (n, slots + 1)), reasons=flat(0, kind=np.uint32),
        structural=np.zeros(n, dtype=np.uint32), option=flat(0, kind=np.int16),
        block_h=np.broadcast_to(service_h[:, None], (n, slots)), flight_h=flat(0.0), below=flat(False, kind=bool),
        early_look=np.zeros(n, dtype=bool), evening_look=np.zeros(n, dtype=bool), marks=flat(0, kind=np.uint8))


UPKEEP = replace(year_cases.SOUND, annual_from_h=EVER, annual_due_h=EVER, fault_mean_h=EVER)
WEAR = Wear(*(np.array([1e9]) for _ in range(9)))
LIMITS = TripLimits(EVER, EVER, 0.0, 0.0, 0.0, 0.0, 0.0, EVER, EVER, 0.0, 0.0, 0.0, EVER)


def played(start_h, service_h, slots=3, aircraft=1):
    # Three slots, of which the first alone is used, where nobody waits.
    schedule = requests_book(start_h, slots)
    if slots == 3:
        schedule = replace(schedule, last_slot=schedule.trip * 0)
    log = simulate_year(schedule, always(service_h, slots), Aircraft(UPKEEP, WEAR, NoHops(), aircraft), LIMITS,
                        until_h=EVER / 10)
    ends = sorted(log.ends, key=lambda end: end.trip)
    assert len(ends) == len(start_h)
    return ends


def refused(ends):
    assert all(end.reason is Reason.BOOKED for end in ends if end.outcome is Outcome.REFUSED)
    return np.array([end.outcome is Outcome.REFUSED for end in ends])


def services(law, n, random):
    if law == "constant":
        return np.full(n, HOURS)
    if law == "uniform":
        return HOURS * random.uniform(0.5, 1.5, n)
    if law == "erlang-2":
        return HOURS * random.gamma(2.0, 0.5, n)
    if law == "log-normal":
        spread = math.sqrt(math.log(1 + 1.5**2))
        return HOURS * np.exp(random.normal(-spread**2 / 2, spread, n))
    return HOURS * random.exponential(1.0, n)


def by_batches(values):
    """Return mean and standard error by the means of batches, which feel the memory of a queue."""
    batches = values[:len(values) // BATCHES * BATCHES].reshape(BATCHES, -1).mean(axis=1)
    return batches.mean(), batches.std(ddof=1) / math.sqrt(BATCHES)


LOSS = [(1, 0.1, "exponential", 12_000), (1, 0.2, "exponential", 22_000), (1, 0.5, "constant", 32_000),
        (1, 0.5, "log-normal", 40_000), (2, 1.0, "exponential", 36_000), (2, 0.5, "exponential", 14_000)]


@pytest.mark.parametrize(("aircraft", "load", "law", "requests"), LOSS)
def test_booked_out_share_is_erlangs(aircraft, load, law, requests):
    random = np.random.default_rng(11)
    start_h = np.cumsum(random.exponential(HOURS / load, requests))
    ends = played(start_h, services(law, requests, random), aircraft=aircraft)
    share, error = by_batches(refused(ends).astype(float))
    assert error <= 0.003
    assert share == pytest.approx(erlang_b(aircraft, load), abs=4 * error)


@pytest.mark.parametrize(("load", "law"), [(0.1, "exponential"), (0.2, "constant"), (0.5, "log-normal")])
def test_the_booking_calendar_alone_loses_as_many(load, law):
    random = np.random.default_rng(12)
    n = 40_000
    start_h = np.cumsum(random.exponential(HOURS / load, n))
    zero = np.zeros(n, dtype=np.int64)
    end_h = start_h + services(law, n, random)
    asked = Requests(zero, start_h, start_h, end_h, zero, zero, zero, zero, end_h - start_h, zero > 0, np.ones(n),
                     np.full(n, np.inf))
    share, error = by_batches((~reserve_year(asked, ReservationRule()).kept).astype(float))
    assert error <= 0.003
    assert share == pytest.approx(erlang_b(1, load), abs=4 * error)


FEW = [(3, 0.1, 34_000), (2, 0.2, 34_000), (4, 0.3, 34_000)]


@pytest.mark.parametrize(("owners", "rate", "requests"), FEW)
def test_a_few_members_are_booked_out_as_engset_says(owners, rate, requests):
    # Each idle member asks at the rate; one who flies does not ask, so wishes of those under way are none.
    random = np.random.default_rng(13)
    n = requests // owners
    start = np.cumsum(random.exponential(HOURS / rate, (owners, n)), axis=1)
    owner = np.repeat(np.arange(owners), n)
    order = np.argsort(start.ravel(), kind="stable")
    start_h, owner = start.ravel()[order], owner[order]
    inside = start_h < start[:, -1].min()
    start_h, owner = start_h[inside], owner[inside]
    service = services("exponential", len(start_h), random)
    lost = refused(played(start_h, service))
    until = np.full(owners, -1.0)
    asks = np.zeros(len(start_h), dtype=bool)
    for k, at in enumerate(start_h):
        asks[k] = at >= until[owner[k]]
        if asks[k] and not lost[k]:
            until[owner[k]] = at + service[k]
    share, error = by_batches(lost[asks].astype(float))
    expected, busy = engset(owners, rate)
    assert error <= 0.003
    assert share == pytest.approx(expected, abs=4 * error)
    assert service[asks & ~lost].sum() / start_h[-1] == pytest.approx(busy, rel=0.03)


def waits(arrivals, law, n, aircraft=1, seed=14):
    random = np.random.default_rng(seed)
    start_h = np.cumsum(random.exponential(HOURS / arrivals, n))
    ends = played(start_h, services(law, n, random), slots=3_000_000, aircraft=aircraft)
    return (np.array([end.departed_h for end in ends]) - start_h) / HOURS


# Columns: arrivals in a mean service, law, its squared variation, requests looked at.
QUICK = [(0.5, "constant", 0.0, 60_000)]
LONG = [(0.5, "exponential", 1.0, 700_000), (0.6, "erlang-2", 0.5, 600_000), (0.7, "uniform", 1 / 12, 700_000),
        (0.5, "constant", 0.0, 250_000), (2 / 3, "exponential", 1.0, 1_000_000), (0.8, "exponential", 1.0, 1_800_000)]
AT_ONCE = 100_000
"""Requests of one run: starting empty is forgotten after some hundred."""


def check_wait(arrivals, law, squared_variation, n, relative_error):
    runs = [waits(arrivals, law, min(n - i, AT_ONCE), seed=14 + i) for i in range(0, n, AT_ONCE)]
    found, error = by_batches(np.concatenate(runs))
    expected = pollaczek_khinchine(arrivals, 1.0, squared_variation).wait
    assert error <= relative_error * expected
    assert found == pytest.approx(expected, abs=4 * error)


@pytest.mark.parametrize(("arrivals", "law", "squared_variation", "n"), QUICK)
def test_mean_wait_is_pollaczek_and_khinchines(arrivals, law, squared_variation, n):
    check_wait(arrivals, law, squared_variation, n, 0.02)


@pytest.mark.slow
@pytest.mark.parametrize(("arrivals", "law", "squared_variation", "n"), LONG)
def test_mean_wait_to_one_percent(arrivals, law, squared_variation, n):
    check_wait(arrivals, law, squared_variation, n, 0.01)


def test_two_aircraft_wait_as_two_servers():
    found, error = by_batches(waits(1.0, "exponential", 60_000, aircraft=2))
    expected = mmc(1.0, 1.0, 2).wait
    assert found == pytest.approx(expected, abs=4 * error)
    assert error < 0.05 * expected
