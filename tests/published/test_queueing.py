"""Queues against values of the textbook formulas, and the identities that hold at every load."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from queueing import (
    availability_share,
    engset,
    erlang_b,
    erlang_c,
    mm1_longer_than,
    mmc,
    pollaczek_khinchine,
)

from missionsim.base.errors import ValidityError

pytestmark = pytest.mark.published

SIX = 0.000_001  # the stated tolerance of the formulas
# Source: Erlang's loss formula (L. Kleinrock, Queueing Systems, volume 1, 1975, section 3.6); values worked apart.
LOSS = [(1, 0.1, 0.090909), (1, 0.2, 0.166667), (1, 0.5, 0.333333), (2, 1.0, 0.200000), (2, 0.5, 0.076923)]


@pytest.mark.parametrize(("servers", "load", "refused"), LOSS)
def test_erlang_loss(servers, load, refused):
    assert erlang_b(servers, load) == pytest.approx(refused, abs=SIX)


@pytest.mark.parametrize("law", ["constant", "log-normal"])
def test_loss_does_not_depend_on_the_law_of_service(law):
    # One aircraft, load 0.5, half an hour a flight: 1/3 refused, checked by playing the requests one by one.
    generator = np.random.default_rng(5)
    requests = 60_000
    gaps = generator.exponential(1.0, size=requests)
    spread = math.sqrt(math.log(1 + 1.5**2))
    service = np.full(requests, 0.5) if law == "constant" else 0.5 * np.exp(
        generator.normal(-spread**2 / 2, spread, size=requests))
    free_at, refused = 0.0, 0
    for at, length in zip(np.cumsum(gaps), service, strict=True):
        if at < free_at:
            refused += 1
        else:
            free_at = at + length
    # Each accepted request meets a number of refused ones of mean 0.5 and variance 0.5 + 0.25 x squared variation.
    variance = 0.5 + 0.25 * (0.0 if law == "constant" else 1.5**2)
    error = math.sqrt(variance / (requests * 2 / 3)) / 1.5**2
    assert refused / requests == pytest.approx(erlang_b(1, 0.5), abs=3 * error)


# Source: M/M/1 (Kleinrock, section 3.2). Columns: arrivals, services, busy, L, Lq, W, Wq.
SINGLE = [(0.5, 1.0, 0.5, 1.0, 0.5, 2.0, 1.0), (0.8, 1.0, 0.8, 4.0, 3.2, 5.0, 4.0),
          (2.0, 3.0, 0.666667, 2.0, 1.333333, 1.0, 0.666667)]


@pytest.mark.parametrize(("arrivals", "services", "busy", "number", "queue", "time", "wait"), SINGLE)
def test_single_exponential(arrivals, services, busy, number, queue, time, wait):
    for found in (mmc(arrivals, 1 / services), pollaczek_khinchine(arrivals, 1 / services, 1.0)):
        assert (found.busy_share, found.in_system, found.waiting, found.time_in_system, found.wait) == pytest.approx(
            (busy, number, queue, time, wait), abs=SIX)


def test_single_exponential_long_times():
    assert mm1_longer_than(2, 0.5, 1) == pytest.approx(0.367879, abs=SIX)
    assert mm1_longer_than(2, 0.8, 1) == pytest.approx(0.670320, abs=SIX)


# Source: Pollaczek-Khinchine formula (Kleinrock, section 5.6). Columns: arrivals, squared variation, Wq, W, Lq.
ANY_LAW = [(0.5, 0.0, 0.5, 1.5, 0.25), (0.6, 0.5, 1.125, 2.125, 0.675), (0.7, 1 / 12, 1.263889, 2.263889, 0.884722)]


@pytest.mark.parametrize(("arrivals", "variation", "wait", "time", "queue"), ANY_LAW)
def test_any_law_of_service(arrivals, variation, wait, time, queue):
    found = pollaczek_khinchine(arrivals, 1.0, variation)
    assert (found.wait, found.time_in_system, found.waiting) == pytest.approx((wait, time, queue), abs=SIX)
    assert found.in_system == pytest.approx(queue + arrivals, abs=SIX)  # 0.75 for the constant service


def test_two_exponential_servers():
    found = mmc(1.0, 1.0, 2)
    assert (found.wait_share, found.wait) == pytest.approx((0.333333, 0.333333), abs=SIX)
    assert erlang_c(2, 1.0) == pytest.approx(1 / 3)


# Source: Engset's loss formula (Kleinrock, section 3.10). Columns: owners, rate, refused share, busy share.
FEW_OWNERS = [(3, 0.1, 0.166667, 0.230769), (2, 0.2, 0.166667, 0.285714)]


@pytest.mark.parametrize(("owners", "rate", "refused", "busy"), FEW_OWNERS)
def test_few_owners(owners, rate, refused, busy):
    assert engset(owners, rate) == pytest.approx((refused, busy), abs=SIX)


def test_availability():
    # Source: renewal reward, mean up over mean cycle.
    assert availability_share(120, 8) == pytest.approx(0.937500, abs=SIX)


@given(st.floats(0.01, 0.99), st.integers(1, 6), st.floats(0.1, 5.0))
def test_numbers_are_rates_times_times(busy, servers, service):
    arrivals = busy * servers / service
    found = mmc(arrivals, service, servers)
    assert found.in_system == pytest.approx(arrivals * found.time_in_system)
    assert found.waiting == pytest.approx(arrivals * found.wait)
    assert found.in_system - found.waiting == pytest.approx(arrivals * service)  # mean number in service


@given(st.integers(1, 6), st.floats(0.0, 8.0))
def test_loss_is_the_textbook_quotient(servers, load):
    terms = [load**k / math.factorial(k) for k in range(servers + 1)]
    assert erlang_b(servers, load) == pytest.approx(terms[-1] / sum(terms))


@given(st.integers(1, 8), st.floats(0.001, 2.0), st.integers(1, 4))
def test_few_owners_carry_what_is_not_refused(owners, rate, servers):
    # Requests not refused times mean service = mean number of aircraft out; idle owners alone ask.
    refused, busy = engset(owners, rate, servers)
    asked = rate * (owners - busy * servers)
    assert busy * servers == pytest.approx(asked * (1 - refused))


def test_many_owners_become_random_requests():
    refused, busy = engset(100_000, 0.5 / 100_000)
    assert refused == pytest.approx(erlang_b(1, 0.5), abs=1e-5)
    assert busy == pytest.approx(0.5 * (1 - refused), abs=1e-5)


def test_overload_is_refused():
    with pytest.raises(ValidityError, match="load below the number of servers"):
        mmc(2.0, 1.0, 2)
    with pytest.raises(ValidityError, match="load below 1"):
        pollaczek_khinchine(1.0, 1.0, 0.5)
    with pytest.raises(ValidityError, match="arrival rate below service rate"):
        mm1_longer_than(1.0, 1.0, 1.0)
