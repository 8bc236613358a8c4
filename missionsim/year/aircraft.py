"""The aircraft of a simulated year: how it wears and is looked after, its luck, and the limits of who flies it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from missionsim.base.arrays import Array
from missionsim.base.words import Reason
from missionsim.year.local_flying import NO_LOCAL_FLIGHTS, LocalFlights


@dataclass(frozen=True, slots=True)
class Hop:
    """What a flight outside the trip list takes."""

    flight_h: float
    fuel_gal: float
    distance_nm: float


class Hops(Protocol):
    """Short flights outside the trip list: to an alternate, on from it, and home empty."""

    def hop(self, from_place: int, to_place: int) -> Hop:
        """Return what a flight between two places takes."""
        ...


@dataclass(frozen=True, slots=True)
class Upkeep:
    """How one candidate wears and is looked after. Hours of wear are flight hours.

    `annual_from_h`, `annual_due_h`: the annual begins between these, in the widest gap between trips; after the second
    nobody flies before it is done. `annual_down_h`: what it takes. `inspection_interval_h`: infinite where no
    hundred-hour inspection is asked for. `fault_mean_h`: mean time between faults of all kinds, of which
    `deferrable_share` may be flown with. Of the others `shown_before_share` show before the next flight,
    `shown_flying_share` in flight, of which `ends_trip_share` end the trip, and the rest after landing. Repair times
    are log-normal, median and spread of the logarithm; away from home `find_low_h` to `find_high_h` pass until there is
    a mechanic, half the time less than `find_median_h`, and `weekend_h` more of faults that show on a weekend, unless
    the repair takes less than `field_fix_h`. With
    `permit_share` of the faults the aircraft may be ferried home without passengers, `permit_h` after it stands.
    `overhaul_due_h`: hours into this year at which the engine is due; `available_from_h`: the new owner has it from
    here on, before that `available_reason` refuses trips.
    """

    oil_interval_h: float
    oil_since_h: float
    oil_down_h: float
    annual_from_h: float
    annual_due_h: float
    annual_down_h: float
    inspection_interval_h: float
    inspection_since_h: float
    inspection_down_h: float
    fault_mean_h: float
    deferrable_share: float
    shown_before_share: float
    shown_flying_share: float
    ends_trip_share: float
    repair_median_h: float
    repair_sigma: float
    find_low_h: float
    find_median_h: float
    find_high_h: float
    field_fix_h: float
    permit_share: float
    permit_h: float
    deferred_repair_h: float
    weekend_h: float = 0.0
    overhaul_due_h: float = float("inf")
    overhaul_down_h: float = 0.0
    available_from_h: float = float("-inf")
    available_reason: Reason = Reason.CURRENCY


@dataclass(frozen=True, slots=True)
class Wear:
    """The luck of one replication, shared by all candidates: faults by number k, never by call order.

    `fault_sum` [k]: unit-rate exponential sums; `repair_normal` [k], `cost_rank` [k], `defer_rank` [k]; `shown_rank`,
    `ends_rank`, `find_rank`, `permit_rank` [k]: where a fault shows, whether it ends the trip, how long a mechanic is
    looked for, and whether a ferry is permitted. `shop_rank` [k]: cost ranks of planned visits by number.
    """

    fault_sum: Array
    repair_normal: Array
    cost_rank: Array
    defer_rank: Array
    shown_rank: Array
    ends_rank: Array
    find_rank: Array
    permit_rank: Array
    shop_rank: Array


@dataclass(frozen=True, slots=True)
class Aircraft:
    """One candidate's aircraft in a replication: how it wears, its luck, and its flights outside the trip list.

    `number`: alike aircraft that share one upkeep; more than one only in queueing studies. `local`: flights that no
    trip asks for.
    """

    upkeep: Upkeep
    luck: Wear
    hops: Hops
    number: int = 1
    local: LocalFlights = NO_LOCAL_FLIGHTS


@dataclass(frozen=True, slots=True)
class TripLimits:
    """Limits of the pilot and of the plan that the event loop applies itself. Hours.

    A duty day lasts from waking: at `wakes_local_h`, or `before_departure_h` before an earlier departure. Rest is a
    night's.
    """

    max_flight_per_day_h: float
    max_duty_h: float
    rest_h: float
    before_departure_h: float
    wakes_local_h: float
    least_stay_h: float
    hold_for_weather_h: float
    late_outbound_h: float
    late_home_h: float
    substitute_block_h: float
    taxi_h: float
    fetched_after_h: float
    road_kt: float
