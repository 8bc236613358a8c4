"""Small years told by hand: a schedule of a few trips, decisions that let all go, and an aircraft that never fails."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from missionsim.base.words import BIT, Reason
from missionsim.year.aircraft import Aircraft, Hop, TripLimits, Upkeep, Wear
from missionsim.year.decisions import Decisions
from missionsim.year.local_flying import NO_LOCAL_FLIGHTS, LocalFlights
from missionsim.year.records import YearLog
from missionsim.year.schedule import Schedule
from missionsim.year.simulate import simulate_year

SLOTS = 12
PLANNED, LAST = 3, 9
ALTERNATE = 9
FLIGHT_H, BLOCK_H = 1.0, 1.25

LIMITS = TripLimits(max_flight_per_day_h=7.0, max_duty_h=12.0, rest_h=10.0, before_departure_h=0.5, wakes_local_h=7.0,
                least_stay_h=1.0, hold_for_weather_h=6.0, late_outbound_h=1.0, late_home_h=3.0,
                substitute_block_h=8.0, taxi_h=0.25, fetched_after_h=24.0, road_kt=45.0)
SOUND = Upkeep(oil_interval_h=1e9, oil_since_h=0.0, oil_down_h=24.0, annual_from_h=5000.0, annual_due_h=5030.0,
               annual_down_h=240.0, inspection_interval_h=float("inf"), inspection_since_h=0.0, inspection_down_h=72.0,
               fault_mean_h=1e9, deferrable_share=0.0, shown_before_share=0.0, shown_flying_share=0.0,
               ends_trip_share=0.0, repair_median_h=48.0, repair_sigma=0.0, find_low_h=48.0, find_median_h=48.0,
               find_high_h=48.0, field_fix_h=0.0, permit_share=0.0, permit_h=72.0, deferred_repair_h=24.0)
LUCK = Wear(fault_sum=np.arange(1.0, 61.0), **{name: np.full(60, 0.5) for name in (
    "cost_rank", "defer_rank", "shown_rank", "ends_rank", "find_rank", "permit_rank", "shop_rank")},
            repair_normal=np.zeros(60))


class Hops:
    """Every hop takes half an hour, six gallons and 60 nm."""

    def hop(self, from_place: int, to_place: int) -> Hop:
        return Hop(0.5, 6.0, 60.0)


class Diversions:
    """Arrivals below minima go to one place; `closes_h` [leg, slot] is how long the destination stays shut."""

    def __init__(self, closes_h: NDArray[Any]) -> None:
        self.closes_h = closes_h

    def diversion(self, leg: int, slot: int) -> tuple[int, float]:
        return ALTERNATE, float(self.closes_h[leg, slot])


def schedule_of(*trips: Sequence[tuple[float, int, int]]) -> Schedule:
    """Return a schedule of trips, each a list of legs (planned departure [h], from, to); 3 h early, 6 h late.

    The first leg of each is planned for eight in the morning at home.
    """
    legs = [(k, *leg) for k, trip in enumerate(trips) for leg in trip]
    n = len(legs)
    return Schedule(
        first_leg=np.concatenate([[0], np.cumsum([len(t) for t in trips])]).astype(np.int64),
        people=np.full(len(trips), 2),
        utc_offset_h=np.array([(20.0 - trip[0][0]) % 24.0 - 12.0 for trip in trips]),
        must_go=np.zeros(len(trips), dtype=bool),
        **{name: np.full(len(trips), n) for name, n in (("days_earlier", 0), ("days_later", 0), ("day_step", 1),
                                                                ("evening_slots", 0))},
        member=np.zeros(len(trips), dtype=np.int64), trip=np.array([leg[0] for leg in legs], dtype=np.int64),
        start_h=np.array([leg[1] - PLANNED for leg in legs], dtype=float), planned_slot=np.full(n, PLANNED),
        last_slot=np.full(n, LAST), from_place=np.array([leg[2] for leg in legs]),
        to_place=np.array([leg[3] for leg in legs]), door_h=np.full(n, 1.5), slots=SLOTS,
        local_h=np.zeros(n), zone_shift_h=np.zeros(n),
        earliest_local_h=np.zeros(n), latest_local_h=np.full(n, 1e9))


def all_go(of: Schedule, **changes: Any) -> Decisions:
    """Return decisions in which every slot goes and nothing is below minima."""
    shape = (len(of.trip), of.slots)
    decisions = Decisions(
        next_go=np.tile(np.arange(of.slots + 1, dtype=np.int16), (shape[0], 1)), reasons=np.zeros(shape, np.uint32),
        structural=np.zeros(of.trips, np.uint32), option=np.zeros(shape, np.int16), block_h=np.full(shape, BLOCK_H),
        flight_h=np.full(shape, FLIGHT_H), below=np.zeros(shape, dtype=bool),
        early_look=np.zeros(shape[0], dtype=bool),
        evening_look=np.zeros(shape[0], dtype=bool), marks=np.zeros(shape, np.uint8))
    return replace(decisions, **changes)


def shut(of: Schedule, leg: int, slots: Sequence[int], reason: Reason = Reason.CEILING,
         decisions: Decisions | None = None) -> Decisions:
    """Return decisions with some slots of a leg closed for a reason."""
    decisions = decisions or all_go(of)
    reasons = decisions.reasons.copy()
    reasons[leg, list(slots)] |= np.uint32(BIT[reason])
    next_go = np.array([[next((s for s in range(first, of.slots) if not row[s]), of.slots)
                         for first in range(of.slots + 1)] for row in reasons], dtype=np.int16)
    return replace(decisions, reasons=reasons, next_go=next_go)


def year(of: Schedule, decisions: Decisions | None = None, upkeep: Upkeep = SOUND, wear: Wear = LUCK,
         limits: TripLimits = LIMITS, local: LocalFlights = NO_LOCAL_FLIGHTS, **more: Any) -> YearLog:
    """Fly the year."""
    return simulate_year(of, decisions or all_go(of), Aircraft(upkeep, wear, Hops(), local=local), limits, **more)
