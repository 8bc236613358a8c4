"""A year under way: where trips, pilots and the aircraft stand, and all that is looked up; nothing waits in here."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, inf
from typing import NamedTuple

import simpy

from missionsim.base.words import ASLEEP, BIT, Outcome, Purpose, Reason, Shop
from missionsim.year.aircraft import Aircraft, Hop, TripLimits
from missionsim.year.decisions import Decisions
from missionsim.year.records import HopFlown, TripEnd, YearLog
from missionsim.year.schedule import SLOTS_A_DAY, Schedule
from missionsim.year.turns import Turns
from missionsim.year.upkeep import Health

DAY_H = 24.0
WEEK_DAYS, SATURDAY = 7, 5
LEAST_STOP_H = 0.5
"""Between landing at an alternate and going on from it. [h]"""
NIGHT_ENDS_LOCAL_H = 4.0
"""Days of a pilot are told apart in the small hours: who lands after midnight still ends the day before. [h]"""


class Refusal(NamedTuple):
    """Why a trip does not leave; see `TripEnd`."""

    reason: Reason
    reasons: int
    structural: bool
    looks: int


class YearOverError(Exception):
    """What happens with the aircraft goes beyond the end of looking."""


class Party:
    """One trip under way: what has happened to it so far."""

    __slots__ = ("by_road_h", "departed_h", "diversions", "duty_start_h", "flown_h", "landed_h", "late", "looks",
                 "marks", "met_below", "nights", "reached", "reasons", "rested_from_h", "rested_h", "skipped", "slept",
                 "trip", "turned")

    def __init__(self, trip: int) -> None:
        self.trip = trip
        self.departed_h = self.by_road_h = -1.0
        self.duty_start_h = self.landed_h = self.rested_from_h = -1e9
        self.flown_h = self.rested_h = 0.0
        self.marks = self.reached = self.looks = self.diversions = self.reasons = self.nights = 0
        self.turned = self.met_below = self.slept = 0
        self.late = self.skipped = False


class YearUnderWay:
    """One candidate in one replication; `simulate` lets its processes wait and fly."""

    def __init__(self, schedule: Schedule, decisions: Decisions, aircraft: Aircraft,
                 limits: TripLimits | Sequence[TripLimits], replication: int) -> None:
        self.schedule, self.decisions, self.hops = schedule, decisions, aircraft.hops
        self.sole_pilot = isinstance(limits, TripLimits)
        self.limits_of = [limits] * schedule.trips if isinstance(limits, TripLimits) else list(limits)
        self.env = simpy.Environment(initial_time=-24.0)
        self.aircraft = Turns(self.env, aircraft.number)
        self.health, self.local = Health(aircraft.upkeep, aircraft.luck, replication), aircraft.local
        self.now_h, self.until_h = self.env.now, inf
        self.log = YearLog()
        self.holder = Reason.BOOKED
        plain = self.plain = schedule.plain
        self.start_h, self.first_leg, self.offset_h = plain.start_h, plain.first_leg, plain.utc_offset_h
        self.planned, self.open, self.last = plain.planned_slot.copy(), plain.own_open.copy(), plain.own_last.copy()
        self.slots = schedule.slots
        # Single numbers of arrays [leg, slot]: to make lists of them all takes longer than is looked up in a year.
        self.block_h, self.flight_h = decisions.block_h.item, decisions.flight_h.item
        self.early_look: list[bool] = decisions.early_look.tolist()
        self.away: dict[int, Party] = {}

    def _passes(self, hours: float) -> None:
        """Let hours pass for whoever has the aircraft.

        Raises
        ------
        YearOverError   When the end of looking is reached: what would come after it does not happen.
        """
        now_h = self.now_h + hours
        if now_h >= self.until_h:
            raise YearOverError
        self.now_h = now_h

    def _days_of(self, trip: int) -> list[int]:
        """Return by how many days a trip is moved, in the order of trying: earlier only when its own day looks bad."""
        plain = self.plain
        step, earlier, later = plain.day_step[trip], plain.days_earlier[trip], plain.days_later[trip]
        if not earlier + later:
            return [0]
        bad = self.early_look[self.first_leg[trip]]
        days = [*(range(-earlier, 0, step) if bad else ()), *range(0, later + 1, step)]
        return [by for by in days if by == 0 or self._holds(trip, by)]

    def _holds(self, trip: int, days: int) -> bool:
        """Tell whether the windows hold a trip so moved; a booking may have moved it within them before."""
        plain = self.plain
        return all(0 <= plain.planned_slot[leg] + 24 * days <= plain.last_slot[leg]
                   for leg in range(self.first_leg[trip], self.first_leg[trip + 1]))

    def _first_slot(self, trip: int) -> int:
        """Return from which slot on a trip looks for an hour of its own day, or of the evening before."""
        first = self.first_leg[trip]
        if not self.early_look[first]:
            return self.planned[first]
        evening = self.plain.evening_slots[trip] if self.decisions.evening_look[first] else 0
        return self.open[first] - evening

    def _move(self, trip: int, days: int) -> None:
        """Plan the legs of a trip so many days from its own; a moved one leaves home in one of a few hours only."""
        plain, first, by = self.plain, self.first_leg[trip], days * 24
        for leg in range(first, self.first_leg[trip + 1]):
            self.open[leg], self.planned[leg] = plain.own_open[leg] + by, plain.planned_slot[leg] + by
            self.last[leg] = min(plain.own_last[leg] + by, plain.last_slot[leg])
        if days:
            self.last[first] = min(self.last[first], self.planned[first] + SLOTS_A_DAY - 1)

    def _go_or_not(self, trip: int, slot: int) -> int | Refusal:
        """Return the slot in which a trip leaves home at or after one, or why it does not."""
        first = self.first_leg[trip]
        go = self._go(first, slot)
        if go > self.last[first]:
            reasons = self._reasons_between(first, slot)
            return Refusal(self._most_common(first, slot), reasons, False, self.last[first] - slot + 1)
        looks = max(0, go - self.planned[first])
        if not self.health.flyable_at(self.start_h[first] + go):
            return Refusal(Reason.MAINTENANCE, BIT[Reason.MAINTENANCE], False, looks)
        if self._day_too_long(trip, go):
            return Refusal(Reason.DUTY, BIT[Reason.DUTY], False, looks)
        return go

    def _gave_up(self, party: Party) -> None:
        """End a trip whose first flight came back and found no other hour."""
        last_leg = self.first_leg[party.trip + 1] - 1
        block_h = self.block_h(last_leg, self.planned[last_leg])
        planned_home_h = self.schedule.planned_h(last_leg) + block_h
        self._ended(party, Outcome.BROKEN_OFF, Reason.CEILING, self.now_h, planned_home_h, otherwise=False)

    def _mended(self, party: Party, place: int) -> float:
        """Record the repair of the first grounding fault away from home, beginning now; return its hours."""
        repair_h = self.health.repair_h(away=True, weekend=self._weekend(party.trip))
        self.log.shop.append(self.health.visit(Shop.FAULT, self.now_h, repair_h, place, party.trip))
        return repair_h

    def _weekend(self, trip: int) -> bool:
        """Tell whether it is Saturday or Sunday, by the clock of home."""
        day = (self.now_h + self.offset_h[trip]) // DAY_H + self.schedule.first_weekday
        return day % WEEK_DAYS >= SATURDAY

    def _home(self, party: Party, last_leg: int) -> None:
        planned = self.planned[last_leg]
        nominal_h = self.block_h(last_leg, planned) or 0.0
        planned_home_h = self.start_h[last_leg] + planned + nominal_h
        late = party.late or party.landed_h > planned_home_h + self.limits_of[party.trip].late_home_h
        outcome = Outcome.DELAYED if late else Outcome.COMPLETED
        if party.skipped:
            outcome = Outcome.BROKEN_OFF
        reason = None
        if outcome is not Outcome.COMPLETED:
            reason = Reason.CEILING if party.skipped else self._why_late(party)
        home_h = party.by_road_h if party.by_road_h >= 0.0 else party.landed_h
        self._ended(party, outcome, reason, home_h, planned_home_h, otherwise=False)

    def _flights_h(self, trip: int) -> float:
        """Return the flight hours of a trip as planned, 0 where there is none to come."""
        if trip >= self.schedule.trips or self.health.upkeep.inspection_interval_h == inf:
            return 0.0
        legs = range(self.first_leg[trip], self.first_leg[trip + 1])
        return sum(self.flight_h(leg, self.planned[leg]) for leg in legs)

    def _planned_away(self, trip: int) -> tuple[float, float]:
        """Return when a trip leaves home and comes back, by plan."""
        first, last = self.first_leg[trip], self.first_leg[trip + 1] - 1
        home_h = self.start_h[last] + self.planned[last] + self.block_h(last, self.planned[last])
        return self.start_h[first] + self.planned[first], home_h

    def _rested_slot(self, party: Party, leg: int) -> int:
        """Return the first slot of a later leg in which it goes and the pilot may fly it."""
        party.rested_from_h = self._rested_from_h(party.trip, party.landed_h)
        slot = self._slot_for(party, leg)
        return self._rested(party, leg, slot) if slot < self.slots else slot

    def _slot_for(self, party: Party, leg: int) -> int:
        """Return the first slot of a later leg: as planned, or earlier before bad weather or a long day."""
        stay_h = self.limits_of[party.trip].least_stay_h
        ready = max(self.open[leg], ceil(max(party.landed_h + stay_h, self.now_h) - self.start_h[leg] - 1e-9))
        wanted = self.open[leg] if self.early_look[leg] else self.planned[leg]
        slot = self._go(leg, max(wanted, ready))
        if slot > self.last[leg] or self._too_long(party, leg, slot):
            early = self._go(leg, ready)
            if early <= self.last[leg] and not self._too_long(party, leg, early):
                return early
        return slot

    def _go(self, leg: int, slot: int) -> int:
        return self.decisions.next_go.item(leg, slot) if slot < self.slots else self.slots

    def _too_long(self, party: Party, leg: int, slot: int) -> bool:
        """Tell whether the pilot's day would be too long, without a night's rest since the last landing."""
        if self.start_h[leg] + slot >= party.rested_from_h or slot >= self.slots:
            return False
        return self._beyond_limits(self.limits_of[party.trip], party.duty_start_h, party.flown_h, leg, slot)

    def _beyond_limits(self, limits: TripLimits, duty_start_h: float, flown_h: float, leg: int, slot: int) -> bool:
        """Tell whether a leg ends too long after the pilot got up, or makes too many flight hours with those before."""
        return (self.start_h[leg] + slot + self.block_h(leg, slot) - duty_start_h > limits.max_duty_h
                or flown_h + self.flight_h(leg, slot) > limits.max_flight_per_day_h)

    def _rested_from_h(self, trip: int, landed_h: float) -> float:
        """Return when a pilot has slept since a landing: after the hours of rest, and not before the morning."""
        return max(landed_h + self.limits_of[trip].rest_h, self._wakes_h(trip, landed_h + DAY_H))

    def _wakes_h(self, trip: int, time_h: float) -> float:
        """Return when the pilot usually wakes on the day, from small hours to small hours, that holds a time."""
        to_night_h = self.offset_h[trip] - NIGHT_ENDS_LOCAL_H
        day = (time_h + to_night_h) // DAY_H
        return day * DAY_H - to_night_h + self.limits_of[trip].wakes_local_h - NIGHT_ENDS_LOCAL_H

    def _slept_on_the_way_h(self, trip: int, depart_h: float, block_h: float, nights: int) -> float:
        """Return the hours of nights at stops of a leg flown in equal parts, each but the first from a morning on."""
        limits, rested_h, part_h = self.limits_of[trip], 0.0, block_h / (nights + 1)
        for k in range(nights):
            landed_h = depart_h + (k + 1) * part_h + rested_h
            morning_h = self._wakes_h(trip, landed_h + DAY_H) + limits.before_departure_h
            rested_h += max(limits.rest_h, morning_h - landed_h)
        return rested_h

    def _duty_start_h(self, trip: int, depart_h: float) -> float:
        """Return when the pilot got up for a departure."""
        return min(depart_h - self.limits_of[trip].before_departure_h, self._wakes_h(trip, depart_h))

    def _day_too_long(self, trip: int, go: int) -> bool:
        """Tell beforehand whether some leg would break the pilot's day however early, and its window holds no night."""
        limits, first, slot, flown_h = self.limits_of[trip], self.first_leg[trip], go, 0.0
        day_began_h = self.start_h[first] + go
        for leg in range(first + 1, self.first_leg[trip + 1]):
            landed_h = self.start_h[leg - 1] + slot + self.block_h(leg - 1, slot)
            flown_h += self.flight_h(leg - 1, slot)
            start_h, last, rested_from_h = self.start_h[leg], self.last[leg], self._rested_from_h(trip, landed_h)
            slot = min(max(ceil(landed_h + limits.least_stay_h - start_h - 1e-9), self.open[leg]), last)
            long_day = start_h + slot < rested_from_h and self._beyond_limits(
                limits, self._duty_start_h(trip, day_began_h), flown_h, leg, slot)
            if long_day or start_h + self.planned[leg] >= rested_from_h:
                rested = max(slot, self.planned[leg], ceil(rested_from_h - start_h - 1e-9))
                if long_day and rested > last:
                    return True
                slot, flown_h = min(rested, last), 0.0
                day_began_h = start_h + slot
        return False

    def _rested(self, party: Party, leg: int, slot: int) -> int:
        """Return the slot, or the first one after a night's rest when the pilot's day would be too long."""
        if self._too_long(party, leg, slot):
            party.reasons |= BIT[Reason.DUTY]
            slot = self._go(leg, max(self.open[leg], ceil(party.rested_from_h - self.start_h[leg] - 1e-9)))
        depart_h = self.start_h[leg] + slot
        if depart_h >= party.rested_from_h:
            party.duty_start_h, party.flown_h = self._duty_start_h(party.trip, depart_h), 0.0
        return slot

    def _hop(self, trip: int, leg: int, purpose: Purpose, from_place: int, to_place: int, hop: Hop) -> None:
        people = 1 if purpose is Purpose.FERRY else self.plain.people[trip]
        self.log.hops.append(HopFlown(trip, leg, purpose, from_place, to_place, self.now_h, hop.flight_h,
                                      hop.fuel_gal, hop.distance_nm, people))
        self.health.fly(hop.flight_h)

    def _fair_h(self, from_place: int, to_place: int, time_h: float) -> float:
        """Return the first hour from a time on in which an empty aircraft may be flown over."""
        look = self.decisions.fair
        return time_h if look is None else max(time_h, look.next_fair_h(from_place, to_place, time_h))

    def _goes_on_h(self, party: Party, leg: int, alternate: int, opens_h: list[float], flight_h: float) -> float | None:
        """Return when a party goes on from an alternate, None for not in time.

        Both places are looked at again then, one at departure and the destination at arrival, and nobody is kept up.
        """
        now_h, look, place = self.now_h, self.decisions.fair, self.plain.to_place[leg]
        last_h = now_h + self.limits_of[party.trip].hold_for_weather_h
        for opens in opens_h:
            go_h = max(opens, now_h + LEAST_STOP_H)
            if opens > last_h:
                break
            if self.schedule.awake_at(leg, go_h, flight_h) and (
                    look is None or look.lets_through(alternate, place, go_h, flight_h)):
                return go_h
        return None

    def _reasons_between(self, leg: int, slot: int) -> int:
        mask = 0
        for bits in self.decisions.reasons[leg, slot:self.last[leg] + 1].tolist():
            mask |= bits
        return mask & ~ASLEEP

    def _most_common(self, leg: int, slot: int) -> Reason:
        """Return the reason that closes most hours that anybody is awake; ties go to the earlier word of the list.

        Darkness comes every day: it decides only where nothing else closes an hour of daylight.
        """
        counts: dict[Reason, int] = {}
        for bits in self.decisions.reasons[leg, slot:self.last[leg] + 1].tolist():
            if not bits & ASLEEP:
                reason = leading(bits)
                counts[reason] = counts.get(reason, 0) + 1
        if len(counts) > 1:
            counts.pop(Reason.DAYLIGHT, None)
        return max(counts, key=lambda r: (counts[r], -BIT[r])) if counts else Reason.DUTY

    def _why_stuck(self, leg: int, slot: int) -> Reason:
        if self._reasons_between(leg, slot):
            return self._most_common(leg, slot)
        return Reason.DUTY

    def _why_late(self, party: Party) -> Reason:
        """Return what put the trip off: the bits at the planned hours of its legs, else duty, else the shop."""
        first, end = self.first_leg[party.trip], self.first_leg[party.trip + 1]
        for leg in range(first, end):
            bits = self.decisions.reasons.item(leg, self.planned[leg]) & ~ASLEEP
            if bits:
                return leading(bits)
        return leading(party.reasons) if party.reasons else self.holder

    def _refused(self, trip: int, reason: Reason, reasons: int, structural: bool, looks: int) -> None:
        nothing = float("nan")
        self.log.ends.append(TripEnd(trip, Outcome.REFUSED, reason, reasons | BIT[reason], structural, nothing, nothing,
                                     0, looks, 0, False, 0))

    def _still_open(self, until_h: float, absent: frozenset[int]) -> None:
        """Give every trip an end: what still waits is refused, who is still away is brought home otherwise."""
        ended = {end.trip for end in self.log.ends} | absent
        for trip in range(self.schedule.trips):
            if trip in ended:
                continue
            if trip in self.away:
                party, last_leg = self.away[trip], self.first_leg[trip + 1] - 1
                planned_h = self.start_h[last_leg] + self.planned[last_leg]
                self._ended(party, Outcome.BROKEN_OFF, self.holder, until_h, planned_h, otherwise=True)
            else:
                self._refused(trip, self.holder, BIT[self.holder], False, 0)

    def _ended(self, party: Party, outcome: Outcome, reason: Reason | None, home_h: float, planned_home_h: float,
               otherwise: bool, left_h: float = -1.0) -> None:
        offset_h = self.offset_h[party.trip]
        nights = max(0, int((home_h + offset_h) // 24 - (planned_home_h + offset_h) // 24)) + party.nights
        reasons = party.reasons | (BIT[reason] if reason else 0)
        self.log.ends.append(TripEnd(party.trip, outcome, reason, reasons, False, party.departed_h, home_h,
                                     party.reached, party.looks, party.diversions, otherwise, nights, party.marks,
                                     party.turned, party.met_below, left_h, party.slept, party.rested_h))


_ORDER = tuple(BIT.items())


def leading(mask: int) -> Reason:
    """Return the first reason of a mask in the fixed order; daylight alone when the mask is empty."""
    for reason, bit in _ORDER:
        if mask & bit:
            return reason
    return Reason.DAYLIGHT
