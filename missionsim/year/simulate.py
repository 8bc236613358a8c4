"""The discrete-event year of one aircraft: trips ask for it, the shop takes it, weather and faults delay it.

Nothing is drawn and nothing is planned in here. A process looks up whether and when a leg goes, waits, flies, and
writes a row; the arithmetic was done before in batches.
"""

from __future__ import annotations

from collections.abc import Collection, Generator, Sequence
from math import ceil, inf
from typing import Any, NamedTuple

import simpy

from missionsim.base.words import ASLEEP, BIT, Mark, Outcome, Purpose, Reason, Shop
from missionsim.year.local_flying import clear_of_trips
from missionsim.year.records import HopFlown, LegFlown, TripEnd, YearLog
from missionsim.year.schedule import SLOTS_A_DAY, YEAR_AND_AFTER_H, Aircraft, Decisions, Limits, Schedule
from missionsim.year.upkeep import Health, annual_start_h

Process = Generator[simpy.Event, Any, None]
FREE, TRIP, LOCAL = 0, 1, 2
DAY_H = 24.0
WEEK_DAYS, SATURDAY = 7, 5
NIGHT_ENDS_LOCAL_H = 4.0
"""Days of a pilot are told apart in the small hours: who lands after midnight still ends the day before. [h]"""
LAST_LOCAL_H = 8760.0
"""A local flight that finds no free day until then is not flown. [h]"""


def simulate_year(schedule: Schedule, decisions: Decisions, aircraft: Aircraft, limits: Limits | Sequence[Limits],
                  replication: int = 0, *, booked: Collection[int] = (), absent: Collection[int] = (),
                  until_h: float = YEAR_AND_AFTER_H) -> YearLog:
    """Fly one candidate through one replication and return its log.

    Parameters
    ----------
    schedule : Schedule             The trips as legs and slots.
    decisions : Decisions           What the candidate may do in this replication, by leg and slot.
    aircraft : Aircraft             How it wears and how lucky it is.
    limits : Limits or one a trip   One a trip where several pilots share the aircraft.
    replication : int               Number written into the shop's rows.
    booked : collection of int      Trips refused beforehand because somebody else had booked.
    absent : collection of int      Trips nobody wants this time; they leave no record.
    until_h : float                 End of the looking, for studies longer than a year. [h]
    """
    year = _Year(schedule, decisions, aircraft, limits, replication)
    return year.run(frozenset(booked), frozenset(absent), until_h)


class _Refusal(NamedTuple):
    """Why a trip does not leave; see `TripEnd`."""

    reason: Reason
    reasons: int
    structural: bool
    looks: int


class _Party:
    """One trip under way: what has happened to it so far."""

    __slots__ = ("by_road_h", "departed_h", "diversions", "duty_start_h", "flown_h", "landed_h", "late", "looks",
                 "marks", "met_below", "nights", "reached", "reasons", "rested_h", "skipped", "trip", "turned")

    def __init__(self, trip: int) -> None:
        self.trip = trip
        self.departed_h = self.by_road_h = -1.0
        self.duty_start_h = -1e9
        self.landed_h = -1e9
        self.flown_h = self.rested_h = 0.0
        self.marks = self.reached = self.looks = self.diversions = self.reasons = self.nights = 0
        self.turned = self.met_below = 0
        self.late = self.skipped = False


class _Year:
    def __init__(self, schedule: Schedule, decisions: Decisions, aircraft: Aircraft,
                 limits: Limits | Sequence[Limits], replication: int) -> None:
        self.schedule, self.decisions, self.hops = schedule, decisions, aircraft.hops
        self.limits_of = [limits] * schedule.trips if isinstance(limits, Limits) else list(limits)
        self.env = simpy.Environment(initial_time=-24.0)
        self.aircraft = simpy.PriorityResource(self.env, capacity=aircraft.number)
        self.health, self.local = Health(aircraft.upkeep, aircraft.luck, replication), aircraft.local
        self.log = YearLog()
        self.holder = Reason.BOOKED
        self.start_h: list[float] = schedule.start_h.tolist()
        self.planned: list[int] = schedule.planned_slot.tolist()
        self.last: list[int] = schedule.last_slot.tolist()
        self.first_leg: list[int] = schedule.first_leg.tolist()
        self.slots = schedule.slots
        self.open = [0] * len(self.planned)
        self.offset_h: list[float] = schedule.utc_offset_h.tolist()
        self.away: dict[int, _Party] = {}

    def run(self, booked: frozenset[int], absent: frozenset[int], until_h: float) -> YearLog:
        env = self.env
        for trip in range(self.schedule.trips):
            self._move(trip, 0)
            structural = int(self.decisions.structural[trip])
            if trip in absent:
                continue
            if trip in booked:
                self._refused(trip, Reason.BOOKED, BIT[Reason.BOOKED], False, 0)
            elif structural:
                self._refused(trip, _leading(structural), structural, True, 0)
            else:
                env.process(self._trip(trip))
        flown = [trip for trip in range(self.schedule.trips) if trip not in absent and trip not in booked]
        away = [self._planned_away(trip) for trip in flown]
        env.process(self._annual(annual_start_h(self.health.upkeep, away)))
        for start_h in clear_of_trips(self.local, away):
            env.process(self._local(start_h))
        if self.health.upkeep.available_from_h > env.now:
            env.process(self._not_yet())
        env.run(until=until_h)
        self._still_open(until_h, absent)
        self.log.shop.sort(key=lambda row: row.start_h)
        return self.log

    def _trip(self, trip: int) -> Process:
        """Try the days of a trip; one that leaves on none of them is refused for what stopped it on its own."""
        refusal: _Refusal | None = None
        for days in self._days_of(trip):
            found = yield from self._on_day(trip, days)
            if found is None:
                return
            if refusal is None or days == 0:
                refusal = found
        assert refusal is not None
        self._refused(trip, *refusal)

    def _days_of(self, trip: int) -> list[int]:
        """Return by how many days a trip is moved, in the order of trying: earlier only when its own day looks bad."""
        step, earlier, later = (int(x[trip]) for x in (self.schedule.day_step, self.schedule.days_earlier,
                                                       self.schedule.days_later))
        bad = bool(self.decisions.early_look[self.first_leg[trip]])
        days = [*(range(-earlier, 0, step) if bad else ()), *range(0, later + 1, step)]
        return [by for by in days if by == 0 or self._holds(trip, by)]

    def _holds(self, trip: int, days: int) -> bool:
        """Tell whether the windows hold a trip so moved; a booking may have moved it within them before."""
        schedule = self.schedule
        return all(0 <= int(schedule.planned_slot[leg]) + 24 * days <= int(schedule.last_slot[leg])
                   for leg in range(self.first_leg[trip], self.first_leg[trip + 1]))

    def _on_day(self, trip: int, days: int) -> Generator[simpy.Event, Any, _Refusal | None]:
        """Let a trip leave on its own day or a moved one; return why it does not, None when it left."""
        env, first = self.env, self.first_leg[trip]
        self._move(trip, days)
        slot = self._first_slot(trip) if days == 0 else self.planned[first]
        yield env.timeout(max(0.0, self.start_h[first] + slot - env.now))
        with self.aircraft.request(priority=TRIP) as claim:
            yield claim
            slot = max(slot, ceil(env.now - self.start_h[first] - 1e-9))
            if slot > self.last[first]:
                return _Refusal(self.holder, BIT[self.holder], False, 0)
            go = self._go_or_not(trip, slot)
            if isinstance(go, int) and self.health.hidden:
                go = yield from self._looked_over(trip, go)
            if isinstance(go, _Refusal):
                yield from self._shop_if_due(trip + 1)
                return go
            self.holder = Reason.BOOKED
            self.away[trip] = _Party(trip)
            self.away[trip].marks = int(Mark.MOVED) if days else 0
            yield from self._away(self.away[trip], first, go)
            yield from self._shop_if_due(trip + 1)
            return None

    def _first_slot(self, trip: int) -> int:
        """Return from which slot on a trip looks for an hour of its own day, or of the evening before."""
        first = self.first_leg[trip]
        if not self.decisions.early_look[first]:
            return self.planned[first]
        evening = int(self.schedule.evening_slots[trip]) if self.decisions.evening_look[first] else 0
        return self.open[first] - evening

    def _move(self, trip: int, days: int) -> None:
        """Plan the legs of a trip so many days from its own; a moved one leaves home in one of a few hours only."""
        schedule, first, by = self.schedule, self.first_leg[trip], days * 24
        own, beyond = int(schedule.days_earlier[trip]) * 24, int(schedule.days_later[trip]) * 24
        for leg in range(first, self.first_leg[trip + 1]):
            planned, last = int(schedule.planned_slot[leg]), int(schedule.last_slot[leg])
            evening = int(schedule.evening_slots[trip]) if leg == first else 0
            self.open[leg], self.planned[leg] = own + by + evening, planned + by
            self.last[leg] = min(max(last - beyond, planned) + by, last)
        if days:
            self.last[first] = min(self.last[first], self.planned[first] + SLOTS_A_DAY - 1)

    def _go_or_not(self, trip: int, slot: int) -> int | _Refusal:
        """Return the slot in which a trip leaves home at or after one, or why it does not."""
        first = self.first_leg[trip]
        go = self._go(first, slot)
        if go > self.last[first]:
            reasons = self._reasons_between(first, slot)
            return _Refusal(self._most_common(first, slot), reasons, False, self.last[first] - slot + 1)
        looks = max(0, go - self.planned[first])
        if not self.health.flyable_at(self.start_h[first] + go):
            return _Refusal(Reason.MAINTENANCE, BIT[Reason.MAINTENANCE], False, looks)
        if self._day_too_long(trip, go):
            return _Refusal(Reason.DUTY, BIT[Reason.DUTY], False, looks)
        return go

    def _looked_over(self, trip: int, go: int) -> Generator[simpy.Event, Any, int | _Refusal]:
        """Find a fault before a trip leaves home; return the slot in which it leaves once mended, if in time."""
        env, first = self.env, self.first_leg[trip]
        yield env.timeout(self.start_h[first] + go - env.now)
        self.health.look_over()
        self.holder = Reason.MAINTENANCE
        while self.health.grounded:
            repair_h = self.health.repair_h(away=False)
            self.log.shop.append(self.health.visit(Shop.FAULT, env.now, repair_h, 0, -1))
            yield env.timeout(repair_h)
        slot = max(go, ceil(env.now - self.start_h[first] - 1e-9))
        if slot > self.last[first]:
            return _Refusal(Reason.MAINTENANCE, BIT[Reason.MAINTENANCE], False, 0)
        return self._go_or_not(trip, slot)

    def _away(self, party: _Party, first: int, go: int) -> Process:
        """Fly the legs of a trip; the aircraft is home, or lost to its party, when this returns."""
        env, last_leg = self.env, self.first_leg[party.trip + 1] - 1
        party.looks = max(0, go - self.planned[first])
        party.departed_h = self.start_h[first] + go
        offset_h = self.offset_h[party.trip]
        if (party.departed_h + offset_h) // DAY_H < (self.start_h[first] + self.planned[first] + offset_h) // DAY_H:
            party.nights, party.marks = 1, int(Mark.MOVED)      # the evening before
        for leg in range(first, last_leg + 1):
            slot = self._rested(party, leg, go) if leg == first else self._rested_slot(party, leg)
            if leg > first and slot <= self.last[leg]:
                why = yield from self._before_flight(party, leg, slot)
                if why is not None:
                    yield from self._stranded(party, leg, why)
                    return
                if env.now > self.start_h[leg] + slot:
                    slot = self._rested_slot(party, leg)
            if slot > self.last[leg]:
                # Nobody knows beforehand that the window will stay shut: the party waits it out.
                yield env.timeout(max(0.0, self.start_h[leg] + self.last[leg] - env.now))
                party.reasons |= self._reasons_between(leg, self.planned[leg])
                yield from self._stranded(party, leg, self._why_stuck(leg, self.planned[leg]))
                return
            if not (yield from self._flown(party, leg, slot)):
                if leg == first:
                    self._gave_up(party)
                else:
                    yield from self._stranded(party, leg, Reason.CEILING)
                return
            why = yield from self._arrived(party, leg)
            if why is not None:
                yield from self._stranded(party, leg + 1, why)
                return
        self._home(party, last_leg)

    def _flown(self, party: _Party, leg: int, slot: int) -> Generator[simpy.Event, Any, bool]:
        """Fly a leg, again after turning back as long as its window allows; return whether the party got away."""
        ends, home = self.decisions.ends, int(self.schedule.from_place[leg])
        while ends is not None and ends.item(leg, slot) == 1 + home:
            yield from self._turned(party, leg, slot, home)
            slot = self._rested(party, leg, self._go(leg, max(0, ceil(self.env.now - self.start_h[leg] - 1e-9))))
            if slot > self.last[leg]:
                return False
        if ends is not None and ends.item(leg, slot):
            yield from self._landed_short(party, leg, slot, ends.item(leg, slot) - 1)
        else:
            yield from self._fly(party, leg, slot)
        if leg == self.first_leg[party.trip]:
            nominal_h = self.decisions.block_h.item(leg, self.planned[leg]) or self.decisions.block_h.item(leg, slot)
            planned_h = self.start_h[leg] + self.planned[leg] + nominal_h
            party.late = self.env.now > planned_h + self.limits_of[party.trip].late_outbound_h
        return True

    def _turned(self, party: _Party, leg: int, slot: int, place: int) -> Process:
        """Fly as far as the weather of the way allows, to a place short of the destination or back to where it began.

        A way back begins half way: there and back again takes as long as the whole leg.
        """
        depart_h = self.start_h[leg] + slot
        yield self.env.timeout(max(0.0, depart_h - self.env.now))
        start, goal = int(self.schedule.from_place[leg]), int(self.schedule.to_place[leg])
        flight_h, fuel_gal, distance_nm = self.hops.hop(start, goal if place == start else place)
        self._hop(party.trip, leg, Purpose.TURNED, start, place, flight_h, fuel_gal, distance_nm)
        party.turned += 1
        party.met_below += int(self.decisions.met_below is not None and self.decisions.met_below.item(leg, slot))
        party.reasons |= BIT[Reason.CEILING]
        party.flown_h += flight_h
        yield self.env.timeout(flight_h + self.limits_of[party.trip].taxi_h)
        party.landed_h = self.env.now

    def _landed_short(self, party: _Party, leg: int, slot: int, place: int) -> Process:
        """Land short, and go on in the next hour whose way is open; otherwise the place is lost."""
        yield from self._turned(party, leg, slot, place)
        goal, ends = int(self.schedule.to_place[leg]), self.decisions.ends
        later = self._go(leg, max(slot + 1, ceil(self.env.now - self.start_h[leg] - 1e-9)))
        while ends is not None and later <= self.last[leg] and ends.item(leg, later):
            later = self._go(leg, later + 1)
        opens_h = self.start_h[leg] + later - self.env.now if later <= self.last[leg] else 99.0
        yield from self._on_from(party, leg, place, opens_h, self.hops.hop(place, goal))

    def _gave_up(self, party: _Party) -> None:
        """End a trip whose first flight came back and found no other hour."""
        last_leg = self.first_leg[party.trip + 1] - 1
        block_h = self.decisions.block_h.item(last_leg, self.planned[last_leg])
        planned_home_h = self.schedule.planned_h(last_leg) + block_h
        self._ended(party, Outcome.BROKEN_OFF, Reason.CEILING, self.env.now, planned_home_h, otherwise=False)

    def _fly(self, party: _Party, leg: int, slot: int) -> Process:
        env, decisions = self.env, self.decisions
        depart_h = self.start_h[leg] + slot
        party.by_road_h = -1.0
        limits = self.limits_of[party.trip]
        flight_h = decisions.flight_h.item(leg, slot)
        self.log.legs.append(LegFlown(leg, decisions.option.item(leg, slot), slot, depart_h))
        block_h = decisions.block_h.item(leg, slot)
        if flight_h > limits.max_flight_per_day_h:
            # The leg alone is more than a day's flying: a night at a fuel stop.
            nights = ceil(flight_h / limits.max_flight_per_day_h) - 1
            party.nights += nights
            party.rested_h += nights * limits.rest_h
            block_h += nights * limits.rest_h
        party.flown_h += flight_h
        party.marks |= decisions.marks.item(leg, slot)
        self.health.fly(flight_h)
        yield env.timeout(depart_h + block_h - env.now)
        party.landed_h = env.now
        if decisions.below.item(leg, slot):
            yield from self._divert(party, leg, slot)

    def _divert(self, party: _Party, leg: int, slot: int) -> Process:
        """Go to the alternate, and on from there when the place opens in time; otherwise the place is lost."""
        env = self.env
        place = int(self.schedule.to_place[leg])
        alternate, wait_h = self.decisions.diverts.diversion(leg, slot)
        flight_h, fuel_gal, distance_nm = self.hops.hop(place, alternate)
        party.diversions += 1
        self._hop(party.trip, leg, Purpose.DIVERSION, place, alternate, flight_h, fuel_gal, distance_nm)
        yield env.timeout(flight_h)
        party.reasons |= BIT[Reason.CEILING]
        yield from self._on_from(party, leg, alternate, wait_h, (flight_h, fuel_gal, distance_nm))

    def _on_from(self, party: _Party, leg: int, alternate: int, wait_h: float, hop: tuple[float, float, float],
                 ) -> Process:
        """Go on from where a flight ended short, when its destination opens in time; else by road, the aircraft later.

        `hop`: hours, fuel and miles to the destination.
        """
        env, place = self.env, int(self.schedule.to_place[leg])
        flight_h, fuel_gal, distance_nm = hop
        if wait_h <= self.limits_of[party.trip].hold_for_weather_h:
            yield env.timeout(max(wait_h, 0.5))
            self._hop(party.trip, leg, Purpose.CONTINUATION, alternate, place, flight_h, fuel_gal, distance_nm)
        else:
            # The party goes the rest of the way by road; the pilot brings the aircraft over when the place opens.
            road_h = distance_nm / self.limits_of[party.trip].road_kt
            party.skipped, party.by_road_h = True, env.now + road_h
            yield env.timeout(max(self._fair_h(alternate, place, env.now + wait_h) - env.now, road_h))
            self._hop(party.trip, -1, Purpose.FERRY, alternate, place, flight_h, fuel_gal, distance_nm)
        yield env.timeout(flight_h + self.limits_of[party.trip].taxi_h)
        party.landed_h = env.now

    def _before_flight(self, party: _Party, leg: int, slot: int) -> Generator[simpy.Event, Any, Reason | None]:
        """Look at the aircraft before a leg away from home; return a reason when it does not fly it."""
        depart_h = self.start_h[leg] + slot
        if not self.health.flyable_at(depart_h):
            return Reason.MAINTENANCE
        if not self.health.hidden:
            return None
        yield self.env.timeout(max(0.0, depart_h - self.env.now))
        self.health.look_over()
        return (yield from self._mended_in_time(party, leg))

    def _arrived(self, party: _Party, leg: int) -> Generator[simpy.Event, Any, Reason | None]:
        """Count the place, and look at the aircraft. Return a reason when it cannot go on in time."""
        last_leg, ended = self.first_leg[party.trip + 1] - 1, self.health.ends_trip
        self.health.ends_trip = False
        if leg == last_leg:
            return None
        if ended:
            party.skipped = True
            return Reason.MAINTENANCE
        if not party.skipped:
            party.reached += 1
        return (yield from self._mended_in_time(party, leg + 1))

    def _mended_in_time(self, party: _Party, leg: int) -> Generator[simpy.Event, Any, Reason | None]:
        """Mend what has shown; return a reason when that takes longer than a leg to come may wait."""
        while self.health.grounded:
            repair_h = self.health.repair_h(away=True, weekend=self._weekend(party.trip))
            if self.env.now + repair_h > self.start_h[leg] + self.last[leg]:
                return Reason.MAINTENANCE
            party.reasons |= BIT[Reason.MAINTENANCE]
            yield self.env.timeout(self._mended(party, int(self.schedule.from_place[leg])))
        return None

    def _mended(self, party: _Party, place: int) -> float:
        """Record the repair of the first grounding fault away from home, beginning now; return its hours."""
        repair_h = self.health.repair_h(away=True, weekend=self._weekend(party.trip))
        self.log.shop.append(self.health.visit(Shop.FAULT, self.env.now, repair_h, place, party.trip))
        return repair_h

    def _weekend(self, trip: int) -> bool:
        """Tell whether it is Saturday or Sunday, by the clock of home."""
        day = (self.env.now + self.offset_h[trip]) // DAY_H + self.schedule.first_weekday
        return day % WEEK_DAYS >= SATURDAY

    def _home(self, party: _Party, last_leg: int) -> None:
        planned = self.planned[last_leg]
        nominal_h = self.decisions.block_h.item(last_leg, planned) or 0.0
        planned_home_h = self.start_h[last_leg] + planned + nominal_h
        late = party.late or self.env.now > planned_home_h + self.limits_of[party.trip].late_home_h
        outcome = Outcome.DELAYED if late else Outcome.COMPLETED
        if party.skipped:
            outcome = Outcome.BROKEN_OFF
        reason = None
        if outcome is not Outcome.COMPLETED:
            reason = Reason.CEILING if party.skipped else self._why_late(party)
        home_h = party.by_road_h if party.by_road_h >= 0.0 else self.env.now
        self._ended(party, outcome, reason, home_h, planned_home_h, otherwise=False)

    def _stranded(self, party: _Party, leg: int, reason: Reason) -> Process:
        """Send the party home by other means, and the aircraft after it, mended or by special permit.

        Whoever waits for a repair stays as long as planned; one whose flight ended short of its place does not.
        """
        env, limits = self.env, self.limits_of[party.trip]
        place = int(self.schedule.from_place[leg])
        last_leg = self.first_leg[party.trip + 1] - 1
        home = int(self.schedule.to_place[last_leg])
        planned = self.planned[last_leg]
        planned_home_h = self.start_h[last_leg] + planned + self.decisions.block_h.item(last_leg, planned)
        stays = reason is Reason.MAINTENANCE and not party.skipped
        leave_h = max(env.now, self.start_h[leg] + self.planned[leg]) if stays else env.now
        party.reasons |= BIT[reason]
        self._ended(party, Outcome.BROKEN_OFF, reason, leave_h + limits.substitute_block_h, planned_home_h,
                    otherwise=True, left_h=leave_h)
        if self.health.grounded:
            yield from self._flyable_again(party, place)
        else:
            yield env.timeout(limits.fetched_after_h)
        if place != home:
            yield env.timeout(self._fair_h(place, home, env.now) - env.now)
            flight_h, fuel_gal, distance_nm = self.hops.hop(place, home)
            self._hop(party.trip, -1, Purpose.FERRY, place, home, flight_h, fuel_gal, distance_nm)
            yield env.timeout(flight_h + limits.taxi_h)

    def _flyable_again(self, party: _Party, place: int) -> Process:
        """Mend an aircraft where it stands, or wait for the permit to fly it home without passengers."""
        permit_h = self.health.upkeep.permit_h
        self.holder = Reason.MAINTENANCE
        while self.health.grounded:
            repair_h = self.health.repair_h(away=True, weekend=self._weekend(party.trip))
            if repair_h > permit_h and self.health.ferriable():
                yield self.env.timeout(permit_h)
                return
            yield self.env.timeout(self._mended(party, place))

    def _shop_if_due(self, next_trip: int) -> Process:
        """Before the aircraft is given back at home: mend faults, change oil, inspect."""
        health, env = self.health, self.env
        health.ends_trip = False
        for kind, hours_h in health.due_at_home(self._flights_h(next_trip)):
            self.log.shop.append(health.visit(kind, env.now, hours_h, 0, -1))
            self.holder = Reason.MAINTENANCE
            yield env.timeout(hours_h)

    def _flights_h(self, trip: int) -> float:
        """Return the flight hours of a trip as planned, 0 where there is none to come."""
        if trip >= self.schedule.trips or self.health.upkeep.inspection_interval_h == inf:
            return 0.0
        legs = range(self.first_leg[trip], self.first_leg[trip + 1])
        return sum(float(self.decisions.flight_h.item(leg, self.planned[leg])) for leg in legs)

    def _planned_away(self, trip: int) -> tuple[float, float]:
        """Return when a trip leaves home and comes back, by plan."""
        first, last = self.first_leg[trip], self.first_leg[trip + 1] - 1
        home_h = self.start_h[last] + self.planned[last] + self.decisions.block_h.item(last, self.planned[last])
        return self.start_h[first] + self.planned[first], home_h

    def _not_yet(self) -> Process:
        """Keep the aircraft from its trips until the new owner may fly it."""
        upkeep = self.health.upkeep
        with self.aircraft.request(priority=FREE) as claim:
            yield claim
            self.holder = upkeep.available_reason
            yield self.env.timeout(upkeep.available_from_h - self.env.now)

    def _annual(self, start_h: float) -> Process:
        env, upkeep = self.env, self.health.upkeep
        yield env.timeout(max(0.0, start_h - env.now))
        with self.aircraft.request(priority=FREE) as claim:
            yield claim
            self.holder = Reason.MAINTENANCE
            self.log.shop.append(self.health.visit(Shop.ANNUAL, env.now, upkeep.annual_down_h, 0, -1))
            for _ in range(self.health.deferred_at_annual()):
                self.log.shop.append(self.health.visit(Shop.FAULT, env.now, 0.0, 0, -1))
            yield env.timeout(upkeep.annual_down_h)

    def _local(self, start_h: float) -> Process:
        """Fly an hour or so from home and back on the first day from a wanted one on that leaves the aircraft free."""
        env, health, flight_h = self.env, self.health, self.local.flight_h
        while start_h < LAST_LOCAL_H:
            yield env.timeout(max(0.0, start_h - env.now))
            start_h += DAY_H
            if self.aircraft.count or self.aircraft.queue or not health.flyable_at(env.now + flight_h):
                continue
            with self.aircraft.request(priority=LOCAL) as claim:
                yield claim
                health.look_over()
                if not health.grounded:
                    self.log.hops.append(HopFlown(-1, -1, Purpose.LOCAL, 0, 0, env.now, flight_h, self.local.fuel_gal,
                                                  0.0, 1))
                    health.fly(flight_h)
                    yield env.timeout(flight_h + self.limits_of[0].taxi_h if self.limits_of else flight_h)
                    start_h = inf
                yield from self._shop_if_due(self.schedule.trips)

    def _rested_slot(self, party: _Party, leg: int) -> int:
        """Return the first slot of a later leg in which it goes and the pilot may fly it."""
        slot = self._slot_for(party, leg)
        return self._rested(party, leg, slot) if slot < self.slots else slot

    def _slot_for(self, party: _Party, leg: int) -> int:
        """Return the first slot of a later leg: as planned, or earlier before bad weather or a long day."""
        stay_h = self.limits_of[party.trip].least_stay_h
        ready = max(self.open[leg], ceil(max(party.landed_h + stay_h, self.env.now) - self.start_h[leg] - 1e-9))
        wanted = self.open[leg] if self.decisions.early_look[leg] else self.planned[leg]
        slot = self._go(leg, max(wanted, ready))
        if slot > self.last[leg] or self._too_long(party, leg, slot):
            early = self._go(leg, ready)
            if early <= self.last[leg] and not self._too_long(party, leg, early):
                return early
        return slot

    def _go(self, leg: int, slot: int) -> int:
        return self.decisions.next_go.item(leg, slot) if slot < self.slots else self.slots

    def _too_long(self, party: _Party, leg: int, slot: int) -> bool:
        """Tell whether the pilot's day would be too long, without a night's rest since the last landing."""
        limits = self.limits_of[party.trip]
        depart_h = self.start_h[leg] + slot
        if slot >= self.slots or depart_h >= self._rested_from_h(party):
            return False
        return (depart_h + self.decisions.block_h.item(leg, slot) - party.duty_start_h > limits.max_duty_h
                or party.flown_h + self.decisions.flight_h.item(leg, slot) > limits.max_flight_per_day_h)

    def _rested_from_h(self, party: _Party) -> float:
        """Return when a pilot has slept since the last landing: after the hours of rest, and not before the morning."""
        limits = self.limits_of[party.trip]
        return max(party.landed_h + limits.rest_h, self._wakes_h(party.trip, party.landed_h + DAY_H))

    def _wakes_h(self, trip: int, time_h: float) -> float:
        """Return when the pilot usually wakes on the day, from small hours to small hours, that holds a time."""
        to_night_h = self.offset_h[trip] - NIGHT_ENDS_LOCAL_H
        day = (time_h + to_night_h) // DAY_H
        return day * DAY_H - to_night_h + self.limits_of[trip].wakes_local_h - NIGHT_ENDS_LOCAL_H

    def _duty_start_h(self, trip: int, depart_h: float) -> float:
        """Return when the pilot got up for a departure."""
        return min(depart_h - self.limits_of[trip].before_departure_h, self._wakes_h(trip, depart_h))

    def _day_too_long(self, trip: int, go: int) -> bool:
        """Tell beforehand whether some leg would break the pilot's day however early, and its window holds no night."""
        first, end = self.first_leg[trip], self.first_leg[trip + 1]
        limits, plan, slot = self.limits_of[trip], _Party(trip), go
        plan.duty_start_h = self._duty_start_h(trip, self.start_h[first] + go)
        for leg in range(first, end):
            start_h, last = self.start_h[leg], self.last[leg]
            if leg > first:
                slot = min(max(ceil(plan.landed_h + limits.least_stay_h - start_h - 1e-9), self.open[leg]), last)
                long_day = self._too_long(plan, leg, slot)
                rested_h = self._rested_from_h(plan)
                rested = max(slot, self.planned[leg], ceil(rested_h - start_h - 1e-9))
                if long_day and rested > last:
                    return True
                if long_day or start_h + self.planned[leg] >= rested_h:
                    slot, plan.flown_h = min(rested, last), 0.0
                    plan.duty_start_h = self._duty_start_h(trip, start_h + slot)
            plan.landed_h = start_h + slot + self.decisions.block_h.item(leg, slot)
            plan.flown_h += self.decisions.flight_h.item(leg, slot)
        return False

    def _rested(self, party: _Party, leg: int, slot: int) -> int:
        """Return the slot, or the first one after a night's rest when the pilot's day would be too long."""
        if self._too_long(party, leg, slot):
            party.reasons |= BIT[Reason.DUTY]
            slot = self._go(leg, max(self.open[leg], ceil(self._rested_from_h(party) - self.start_h[leg] - 1e-9)))
        depart_h = self.start_h[leg] + slot
        if depart_h >= self._rested_from_h(party):
            party.duty_start_h, party.flown_h = self._duty_start_h(party.trip, depart_h), 0.0
        return slot

    def _hop(self, trip: int, leg: int, purpose: Purpose, from_place: int, to_place: int, flight_h: float,
             fuel_gal: float, distance_nm: float) -> None:
        people = 1 if purpose is Purpose.FERRY else int(self.schedule.people[trip])
        self.log.hops.append(
            HopFlown(trip, leg, purpose, from_place, to_place, self.env.now, flight_h, fuel_gal, distance_nm, people))
        self.health.fly(flight_h)

    def _fair_h(self, from_place: int, to_place: int, time_h: float) -> float:
        """Return the first hour from a time on in which an empty aircraft may be flown over."""
        look = self.decisions.fair
        return time_h if look is None else max(time_h, look.next_fair_h(from_place, to_place, time_h))

    def _reasons_between(self, leg: int, slot: int) -> int:
        mask = 0
        for bits in self.decisions.reasons[leg, slot:self.last[leg] + 1].tolist():
            mask |= bits
        return mask & ~ASLEEP

    def _most_common(self, leg: int, slot: int) -> Reason:
        """Return the reason that closes most hours that anybody is awake; ties go to the earlier word of the list."""
        counts: dict[Reason, int] = {}
        for bits in self.decisions.reasons[leg, slot:self.last[leg] + 1].tolist():
            if not bits & ASLEEP:
                reason = _leading(bits)
                counts[reason] = counts.get(reason, 0) + 1
        return max(counts, key=lambda r: (counts[r], -BIT[r])) if counts else Reason.DUTY

    def _why_stuck(self, leg: int, slot: int) -> Reason:
        if self._reasons_between(leg, slot):
            return self._most_common(leg, slot)
        return Reason.DUTY

    def _why_late(self, party: _Party) -> Reason:
        """Return what put the trip off: the bits at the planned hours of its legs, else duty, else the shop."""
        first, end = self.first_leg[party.trip], self.first_leg[party.trip + 1]
        for leg in range(first, end):
            bits = self.decisions.reasons.item(leg, self.planned[leg]) & ~ASLEEP
            if bits:
                return _leading(bits)
        return _leading(party.reasons) if party.reasons else self.holder

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

    def _ended(self, party: _Party, outcome: Outcome, reason: Reason | None, home_h: float, planned_home_h: float,
               otherwise: bool, left_h: float = -1.0) -> None:
        offset_h = float(self.schedule.utc_offset_h[party.trip])
        nights = max(0, int((home_h + offset_h) // 24 - (planned_home_h + offset_h) // 24)) + party.nights
        reasons = party.reasons | (BIT[reason] if reason else 0)
        self.log.ends.append(TripEnd(party.trip, outcome, reason, reasons, False, party.departed_h, home_h,
                                     party.reached, party.looks, party.diversions, otherwise, nights, party.marks,
                                     party.turned, party.met_below, left_h, party.nights, party.rested_h))


_ORDER = tuple(BIT.items())


def _leading(mask: int) -> Reason:
    """Return the first reason of a mask in the fixed order; daylight alone when the mask is empty."""
    for reason, bit in _ORDER:
        if mask & bit:
            return reason
    return Reason.DAYLIGHT
