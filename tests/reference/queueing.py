"""Textbook queues: what shared use of an aircraft must come to where its demand is simple enough to be solved outright.

Rates and times go together: rates per hour with hours, or per mean service time with mean service times.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from missionsim.base.errors import ValidityError


@dataclass(frozen=True, slots=True)
class QueueMeans:
    """Long-run means of a queue in which everybody waits.

    Parameters
    ----------
    busy_share : float        Share of the servers' time in use.
    in_system : float         Mean number waiting or served (L).
    waiting : float           Mean number waiting (Lq).
    time_in_system : float    Mean time from asking to leaving (W).
    wait : float              Mean wait before service (Wq).
    wait_share : float        Chance of having to wait at all.
    """

    busy_share: float
    in_system: float
    waiting: float
    time_in_system: float
    wait: float
    wait_share: float


def erlang_b(servers: int, offered_load: float) -> float:
    """Return the share of requests refused when nobody waits and requests come at random (M/G/c/c).

    Only the mean of the service time counts, not its law.

    Parameters
    ----------
    servers : int            Aircraft, 0 and above.
    offered_load : float     Requests in one mean service time.

    References
    ----------
    .. [1] L. Kleinrock, Queueing Systems, volume 1, 1975, section 3.6 (from memory).
    """
    _check(servers >= 0 and offered_load >= 0.0, f"{servers} servers, offered load {offered_load:g}", "0 and above")
    blocked = 1.0
    for count in range(1, servers + 1):
        blocked = offered_load * blocked / (count + offered_load * blocked)
    return blocked


def engset(owners: int, rate: float, servers: int = 1) -> tuple[float, float]:
    """Return refused share of requests and busy share of the aircraft when few owners ask and nobody waits.

    Parameters
    ----------
    owners : int      Owners; one who flies does not ask.
    rate : float      Requests of one idle owner in one mean service time.
    servers : int     Aircraft, 1 and above.

    References
    ----------
    .. [1] L. Kleinrock, Queueing Systems, volume 1, 1975, section 3.10, finite population (from memory).
    """
    _check(owners >= 1 and servers >= 1 and rate >= 0.0, f"{owners} owners, {servers} servers, rate {rate:g}",
           "owners and servers 1 and above, rate 0 and above")
    states = range(min(owners, servers) + 1)
    weights = [math.comb(owners, k) * rate**k for k in states]
    busy = sum(k * w for k, w in zip(states, weights, strict=True)) / math.fsum(weights) / servers
    if owners <= servers:
        return 0.0, busy
    seen = [math.comb(owners - 1, k) * rate**k for k in states]  # one who asks sees the others only
    return seen[-1] / math.fsum(seen), busy


def erlang_c(servers: int, offered_load: float) -> float:
    """Return the chance of having to wait when requests and services are exponential and everybody waits (M/M/c)."""
    _check(servers >= 1 and 0.0 <= offered_load < servers, f"{servers} servers, offered load {offered_load:g}",
           "load below the number of servers")
    blocked = erlang_b(servers, offered_load)
    return servers * blocked / (servers - offered_load * (1.0 - blocked))


def mmc(arrival_rate: float, mean_service: float, servers: int = 1) -> QueueMeans:
    """Return the means of the queue with exponential requests and services and several aircraft (M/M/c)."""
    load = arrival_rate * mean_service
    wait_share = erlang_c(servers, load)
    wait = wait_share * mean_service / (servers - load)
    return QueueMeans(load / servers, arrival_rate * (wait + mean_service), arrival_rate * wait, wait + mean_service,
                      wait, wait_share)


def mm1_longer_than(time: float, arrival_rate: float, service_rate: float) -> float:
    """Return the chance that asking to leaving takes longer than `time` with one aircraft (M/M/1)."""
    _check(0.0 <= arrival_rate < service_rate and time >= 0.0,
           f"arrival rate {arrival_rate:g}, service rate {service_rate:g}, time {time:g}",
           "arrival rate below service rate, time 0 and above")
    return math.exp(-(service_rate - arrival_rate) * time)


def pollaczek_khinchine(arrival_rate: float, mean_service: float, squared_variation: float) -> QueueMeans:
    """Return the means of the queue with random requests, any law of service and one aircraft (M/G/1).

    Parameters
    ----------
    arrival_rate : float         Requests per unit of time.
    mean_service : float         Mean service time in that unit.
    squared_variation : float    Variance of the service time over its squared mean.

    References
    ----------
    .. [1] L. Kleinrock, Queueing Systems, volume 1, 1975, section 5.6, Pollaczek-Khinchine formula (from memory).
    """
    load = arrival_rate * mean_service
    _check(0.0 <= load < 1.0 and squared_variation >= 0.0, f"load {load:g}, squared variation {squared_variation:g}",
           "load below 1, squared variation 0 and above")
    wait = load * mean_service * (1.0 + squared_variation) / (2.0 * (1.0 - load))
    return QueueMeans(load, arrival_rate * (wait + mean_service), arrival_rate * wait, wait + mean_service, wait, load)


def availability_share(mean_up: float, mean_down: float) -> float:
    """Return the long-run share of time up of something that breaks and is repaired in turn."""
    _check(mean_up > 0.0 and mean_down >= 0.0, f"mean up {mean_up:g}, mean down {mean_down:g}",
           "up above 0, down 0 and above")
    return mean_up / (mean_up + mean_down)


def _check(good: bool, given: str, accepted: str) -> None:
    if not good:
        msg = f"queueing: {given}; accepted: {accepted}"
        raise ValidityError(msg)
