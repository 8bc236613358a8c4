"""The discrete-event year of one aircraft: trips ask for it, the shop takes it, weather and faults delay it.

Nothing is drawn and nothing is planned in here. A process looks up whether and when a leg goes, waits, flies, and
writes a row; the arithmetic was done before in batches.
"""

from __future__ import annotations

from collections.abc import Collection, Generator, Sequence
from math import ceil, inf
from typing import Any

import simpy

from missionsim.base.words import BIT, Mark, Outcome, Purpose, Reason, Shop
from missionsim.year.aircraft import Aircraft, Hop, TripLimits
from missionsim.year.decisions import Decisions
from missionsim.year.local_flying import clear_of_trips
from missionsim.year.records import HopFlown, LegFlown, YearLog
from missionsim.year.schedule import YEAR_AND_AFTER_H, Schedule
from missionsim.year.turns import Process, begin
from missionsim.year.under_way import DAY_H, Party, Refusal, YearUnderWay, leading
from missionsim.year.upkeep import annual_start_h

FREE, TRIP, LOCAL = 0, 1, 2
LAST_LOCAL_H = 8760.0
"""A local flight that finds no free day until then is not flown. [h]"""
NOT_SOON_H = 99.0
"""How far off a place counts as open whose window knows no open hour. [h]"""


def simulate_year(schedule: Schedule, decisions: Decisions, aircraft: Aircraft,
                  limits: TripLimits | Sequence[TripLimits],
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


class _Year(YearUnderWay):
    def run(self, booked: frozenset[int], absent: frozenset[int], until_h: float) -> YearLog:
        env = self.env
        wanted = [trip for trip in range(self.schedule.trips) if trip not in absent and trip not in booked]
        away = [self._planned_away(trip) for trip in wanted]
        for trip, structural in enumerate(self.decisions.structural.tolist()):
            if trip in absent:
                continue
            if trip in booked:
                self._refused(trip, Reason.BOOKED, BIT[Reason.BOOKED], False, 0)
            elif structural:
                self._refused(trip, leading(structural), structural, True, 0)
            else:
                begin(self._trip(trip))
        begin(self._annual(annual_start_h(self.health.upkeep, away)))
        for start_h in clear_of_trips(self.local, away):
            begin(self._local(start_h))
        if self.health.upkeep.available_from_h > env.now:
            begin(self._not_yet())
        env.run(until=until_h)
        self._still_open(until_h, absent)
        self.log.shop.sort(key=lambda row: row.start_h)
        return self.log

    def _trip(self, trip: int) -> Process:
        """Try the days of a trip; one that leaves on none of them is refused for what stopped it on its own."""
        refusal: Refusal | None = None
        every = self._days_of(trip)
        for days in every:
            if len(every) > 1:
                self._move(trip, days)
            found = yield from self._on_day(trip, days)
            if found is None:
                return
            if refusal is None or days == 0:
                refusal = found
        assert refusal is not None
        self._refused(trip, *refusal)

    def _on_day(self, trip: int, days: int) -> Generator[simpy.Event, Any, Refusal | None]:
        """Let a trip leave on its own day or a moved one; return why it does not, None when it left."""
        env, first = self.env, self.first_leg[trip]
        slot = self._first_slot(trip) if days == 0 else self.planned[first]
        yield env.timeout(max(0.0, self.start_h[first] + slot - env.now))
        if not self.aircraft.taken_at_once():
            yield self.aircraft.ask(TRIP)
        refusal = yield from self._leaves(trip, days, max(slot, ceil(env.now - self.start_h[first] - 1e-9)))
        self.aircraft.give_back()
        return refusal

    def _leaves(self, trip: int, days: int, slot: int) -> Generator[simpy.Event, Any, Refusal | None]:
        """Let a trip that has the aircraft leave in a slot or after it; return why it does not, None when it did."""
        first = self.first_leg[trip]
        if slot > self.last[first]:
            return Refusal(self.holder, BIT[self.holder], False, 0)
        go = self._go_or_not(trip, slot)
        if isinstance(go, int) and self.health.hidden:
            go = yield from self._looked_over(trip, go)
        if isinstance(go, Refusal):
            yield from self._shop_if_due(trip + 1)
            return go
        self.holder = Reason.BOOKED
        self.away[trip] = Party(trip)
        self.away[trip].marks = int(Mark.MOVED) if days else 0
        yield from self._away(self.away[trip], first, go)
        yield from self._shop_if_due(trip + 1)
        return None

    def _looked_over(self, trip: int, go: int) -> Generator[simpy.Event, Any, int | Refusal]:
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
            return Refusal(Reason.MAINTENANCE, BIT[Reason.MAINTENANCE], False, 0)
        return self._go_or_not(trip, slot)

    def _away(self, party: Party, first: int, go: int) -> Process:
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

    def _flown(self, party: Party, leg: int, slot: int) -> Generator[simpy.Event, Any, bool]:
        """Fly a leg, again after turning back as long as its window allows; return whether the party got away."""
        ends, home = self.decisions.ends, self.plain.from_place[leg]
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
            nominal_h = self.block_h(leg, self.planned[leg]) or self.block_h(leg, slot)
            planned_h = self.start_h[leg] + self.planned[leg] + nominal_h
            party.late = party.landed_h > planned_h + self.limits_of[party.trip].late_outbound_h
        return True

    def _turned(self, party: Party, leg: int, slot: int, place: int) -> Process:
        """Fly as far as the weather of the way allows, to a place short of the destination or back to where it began.

        A way back begins half way: there and back again takes as long as the whole leg.
        """
        depart_h = self.start_h[leg] + slot
        yield self.env.timeout(max(0.0, depart_h - self.env.now))
        start, goal = self.plain.from_place[leg], self.plain.to_place[leg]
        hop = self.hops.hop(start, goal if place == start else place)
        self._hop(party.trip, leg, Purpose.TURNED, start, place, hop)
        party.turned += 1
        party.met_below += int(self.decisions.met_below is not None and self.decisions.met_below.item(leg, slot))
        party.reasons |= BIT[Reason.CEILING]
        party.flown_h += hop.flight_h
        yield self.env.timeout(hop.flight_h + self.limits_of[party.trip].taxi_h)
        self._landed(party, self.env.now)

    def _landed_short(self, party: Party, leg: int, slot: int, place: int) -> Process:
        """Land short, and go on in the next hour whose way is open; otherwise the place is lost."""
        yield from self._turned(party, leg, slot, place)
        goal, ends, start_h = self.plain.to_place[leg], self.decisions.ends, self.start_h[leg]
        later = self._go(leg, max(slot + 1, ceil(self.env.now - start_h - 1e-9)))
        opens_h = []
        while later <= self.last[leg]:
            if ends is None or not ends.item(leg, later):
                opens_h.append(start_h + later)
            later = self._go(leg, later + 1)
        yield from self._on_from(party, leg, place, opens_h or [self.env.now + NOT_SOON_H], self.hops.hop(place, goal))

    def _fly(self, party: Party, leg: int, slot: int) -> Process:
        env, decisions = self.env, self.decisions
        depart_h = self.start_h[leg] + slot
        party.by_road_h = -1.0
        limits = self.limits_of[party.trip]
        flight_h, block_h = self.flight_h(leg, slot), self.block_h(leg, slot)
        self.log.legs.append(LegFlown(leg, decisions.option.item(leg, slot), slot, depart_h))
        if flight_h > limits.max_flight_per_day_h:
            # The leg alone is more than a day's flying: a night at a fuel stop. Of the way home the date tells it.
            nights = ceil(flight_h / limits.max_flight_per_day_h) - 1
            party.nights += nights if leg < self.first_leg[party.trip + 1] - 1 else 0
            party.slept += nights
            rested_h = self._slept_on_the_way_h(party.trip, depart_h, block_h, nights)
            party.rested_h += rested_h
            block_h += rested_h
        party.flown_h += flight_h
        party.marks |= decisions.marks.item(leg, slot)
        self.health.fly(flight_h)
        yield env.timeout(depart_h + block_h - env.now)
        self._landed(party, env.now)
        if decisions.below.item(leg, slot):
            yield from self._divert(party, leg, slot)

    def _divert(self, party: Party, leg: int, slot: int) -> Process:
        """Go to the alternate, and on from there when the place opens in time; otherwise the place is lost."""
        env = self.env
        place = self.plain.to_place[leg]
        alternate, wait_h = self.decisions.diverts.diversion(leg, slot)
        hop = self.hops.hop(place, alternate)
        party.diversions += 1
        self._hop(party.trip, leg, Purpose.DIVERSION, place, alternate, hop)
        yield env.timeout(hop.flight_h)
        party.reasons |= BIT[Reason.CEILING]
        holds_h = int(self.limits_of[party.trip].hold_for_weather_h)
        yield from self._on_from(party, leg, alternate, [env.now + wait_h + k for k in range(holds_h + 1)], hop)

    def _on_from(self, party: Party, leg: int, alternate: int, opens_h: list[float], hop: Hop) -> Process:
        """Go on from where a flight ended short when its destination opens in time; else by road, the aircraft later.

        `opens_h`: when it may be open; `hop`: to the destination.
        """
        env, place = self.env, self.plain.to_place[leg]
        go_h = self._goes_on_h(party, leg, alternate, opens_h, hop.flight_h)
        if go_h is not None:
            yield env.timeout(go_h - env.now)
            self._hop(party.trip, leg, Purpose.CONTINUATION, alternate, place, hop)
        else:
            # The party goes the rest of the way by road; the pilot brings the aircraft over when the place opens.
            road_h = hop.distance_nm / self.limits_of[party.trip].road_kt
            party.skipped, party.by_road_h = True, env.now + road_h
            yield env.timeout(max(self._fair_h(alternate, place, opens_h[0]) - env.now, road_h))
            self._hop(party.trip, -1, Purpose.FERRY, alternate, place, hop)
        yield env.timeout(hop.flight_h + self.limits_of[party.trip].taxi_h)
        self._landed(party, env.now)

    def _before_flight(self, party: Party, leg: int, slot: int) -> Generator[simpy.Event, Any, Reason | None]:
        """Look at the aircraft before a leg away from home; return a reason when it does not fly it."""
        depart_h = self.start_h[leg] + slot
        if not self.health.flyable_at(depart_h):
            return Reason.MAINTENANCE
        if not self.health.hidden:
            return None
        yield self.env.timeout(max(0.0, depart_h - self.env.now))
        self.health.look_over()
        return (yield from self._mended_in_time(party, leg))

    def _arrived(self, party: Party, leg: int) -> Generator[simpy.Event, Any, Reason | None]:
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

    def _mended_in_time(self, party: Party, leg: int) -> Generator[simpy.Event, Any, Reason | None]:
        """Mend what has shown; return a reason when that takes longer than a leg to come may wait."""
        while self.health.grounded:
            repair_h = self.health.repair_h(away=True, weekend=self._weekend(party.trip))
            if self.env.now + repair_h > self.start_h[leg] + self.last[leg]:
                return Reason.MAINTENANCE
            party.reasons |= BIT[Reason.MAINTENANCE]
            yield self.env.timeout(self._mended(party, self.plain.from_place[leg]))
        return None

    def _stranded(self, party: Party, leg: int, reason: Reason) -> Process:
        """Send the party home by other means, and the aircraft after it, mended or by special permit.

        Whoever waits for a repair stays as long as planned; one whose flight ended short of its place does not.
        """
        env, limits = self.env, self.limits_of[party.trip]
        place = self.plain.from_place[leg]
        last_leg = self.first_leg[party.trip + 1] - 1
        home = self.plain.to_place[last_leg]
        planned = self.planned[last_leg]
        planned_home_h = self.start_h[last_leg] + planned + self.block_h(last_leg, planned)
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
            hop = self.hops.hop(place, home)
            self._hop(party.trip, -1, Purpose.FERRY, place, home, hop)
            yield env.timeout(hop.flight_h + limits.taxi_h)

    def _flyable_again(self, party: Party, place: int) -> Process:
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

    def _not_yet(self) -> Process:
        """Keep the aircraft from its trips until the new owner may fly it."""
        upkeep = self.health.upkeep
        yield self.aircraft.ask(FREE)
        self.holder = upkeep.available_reason
        yield self.env.timeout(upkeep.available_from_h - self.env.now)
        self.aircraft.give_back()

    def _annual(self, start_h: float) -> Process:
        env, upkeep = self.env, self.health.upkeep
        yield env.timeout(max(0.0, start_h - env.now))
        yield self.aircraft.ask(FREE)
        self.holder = Reason.MAINTENANCE
        self.log.shop.append(self.health.visit(Shop.ANNUAL, env.now, upkeep.annual_down_h, 0, -1))
        for _ in range(self.health.deferred_at_annual()):
            self.log.shop.append(self.health.visit(Shop.FAULT, env.now, 0.0, 0, -1))
        yield env.timeout(upkeep.annual_down_h)
        self.aircraft.give_back()

    def _local(self, start_h: float) -> Process:
        """Fly an hour or so from home and back on the first day from a wanted one on that leaves the aircraft free."""
        env, health, flight_h = self.env, self.health, self.local.flight_h
        while start_h < LAST_LOCAL_H:
            yield env.timeout(max(0.0, start_h - env.now))
            start_h += DAY_H
            if not self.aircraft.idle or not health.flyable_at(env.now + flight_h):
                continue
            if not self.aircraft.taken_at_once():
                yield self.aircraft.ask(LOCAL)
            health.look_over()
            if not health.grounded:
                self.log.hops.append(HopFlown(-1, -1, Purpose.LOCAL, 0, 0, env.now, flight_h, self.local.fuel_gal,
                                              0.0, 1))
                health.fly(flight_h)
                yield env.timeout(flight_h + self.limits_of[0].taxi_h if self.limits_of else flight_h)
                start_h = inf
            yield from self._shop_if_due(self.schedule.trips)
            self.aircraft.give_back()
