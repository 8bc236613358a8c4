"""The discrete-event year of one aircraft: trips ask for it, the shop takes it, weather and faults delay it.

Nothing is drawn and nothing is planned in here: the arithmetic was done before in batches. Processes wait for their
hour and for the aircraft. Whoever has it looks up when each leg goes, flies and writes rows to the end, by a clock of
their own: nobody else does anything with it before it is back.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Generator, Sequence
from math import ceil
from typing import Any, TypeVar

import simpy

from missionsim.base.words import BIT, Mark, Outcome, Purpose, Reason, Shop
from missionsim.year.aircraft import Aircraft, Hop, TripLimits
from missionsim.year.decisions import Decisions
from missionsim.year.local_flying import clear_of_trips
from missionsim.year.records import HopFlown, LegFlown, YearLog
from missionsim.year.schedule import YEAR_AND_AFTER_H, Schedule
from missionsim.year.turns import Process, begin
from missionsim.year.under_way import DAY_H, Party, Refusal, YearOverError, YearUnderWay, leading
from missionsim.year.upkeep import annual_start_h

T = TypeVar("T")
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
    booked : collection of int      Trips refused beforehand because somebody else had booked, structural ones apart;
                                    a sole pilot is away on them by other means.
    absent : collection of int      Trips nobody wants this time; they leave no record.
    until_h : float                 End of the looking, for studies longer than a year. [h]
    """
    year = _Year(schedule, decisions, aircraft, limits, replication)
    return year.run(frozenset(booked), frozenset(absent), until_h)


class _Year(YearUnderWay):
    def run(self, booked: frozenset[int], absent: frozenset[int], until_h: float) -> YearLog:
        at_home = absent if self.sole_pilot else absent | booked
        away = [self._planned_away(trip) for trip in range(self.schedule.trips) if trip not in at_home]
        for trip, structural in enumerate(self.decisions.structural.tolist()):
            if trip in absent:
                continue
            if structural:
                self._refused(trip, leading(structural), structural, True, 0)
            elif trip in booked:
                self._refused(trip, Reason.BOOKED, BIT[Reason.BOOKED], False, 0)
            else:
                begin(self._trip(trip))
        begin(self._annual(annual_start_h(self.health.upkeep, away)))
        for start_h in clear_of_trips(self.local, away):
            begin(self._local(start_h))
        if self.health.upkeep.available_from_h > self.env.now:
            begin(self._not_yet())
        self.until_h = until_h
        self.env.run(until=until_h)
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
        first = self.first_leg[trip]
        slot = self._first_slot(trip) if days == 0 else self.planned[first]
        yield self.env.timeout(max(0.0, self.start_h[first] + slot - self.env.now))
        return (yield from self._with_aircraft(TRIP, lambda: self._leaves(trip, days, slot)))

    def _with_aircraft(self, priority: int, happens: Callable[[], T]) -> Generator[simpy.Event, Any, T]:
        """Take the aircraft, let something happen with it at once, and give it back when that is over."""
        if not self.aircraft.taken_at_once():
            yield self.aircraft.ask(priority)
        began_h = self.now_h = self.env.now
        try:
            outcome = happens()
        except YearOverError:
            yield self.env.event()      # which never happens
        if self.now_h > began_h:
            yield self.env.timeout(self.now_h - began_h)
        self.aircraft.give_back()
        return outcome

    def _leaves(self, trip: int, days: int, slot: int) -> Refusal | None:
        """Let a trip that has the aircraft leave in a slot or after it; return why it does not, None when it did."""
        first = self.first_leg[trip]
        slot = max(slot, ceil(self.now_h - self.start_h[first] - 1e-9))
        if slot > self.last[first]:
            return Refusal(self.holder, BIT[self.holder], False, 0)
        go = self._go_or_not(trip, slot)
        if isinstance(go, int) and self.health.hidden:
            go = self._looked_over(trip, go)
        if isinstance(go, Refusal):
            self._shop_if_due(trip + 1)
            return go
        self.holder = Reason.BOOKED
        self.away[trip] = Party(trip)
        self.away[trip].marks = int(Mark.MOVED) if days else 0
        self._away(self.away[trip], first, go)
        self._shop_if_due(trip + 1)
        return None

    def _looked_over(self, trip: int, go: int) -> int | Refusal:
        """Find a fault before a trip leaves home; return the slot in which it leaves once mended, if in time."""
        first = self.first_leg[trip]
        self._passes(self.start_h[first] + go - self.now_h)
        self.health.look_over()
        self.holder = Reason.MAINTENANCE
        while self.health.grounded:
            repair_h = self.health.repair_h(away=False)
            self.log.shop.append(self.health.visit(Shop.FAULT, self.now_h, repair_h, 0, -1))
            self._passes(repair_h)
        slot = max(go, ceil(self.now_h - self.start_h[first] - 1e-9))
        if slot > self.last[first]:
            return Refusal(Reason.MAINTENANCE, BIT[Reason.MAINTENANCE], False, 0)
        return self._go_or_not(trip, slot)

    def _away(self, party: Party, first: int, go: int) -> None:
        """Fly the legs of a trip; the aircraft is home, or lost to its party, when this returns."""
        last_leg = self.first_leg[party.trip + 1] - 1
        party.looks = max(0, go - self.planned[first])
        party.departed_h = self.start_h[first] + go
        offset_h = self.offset_h[party.trip]
        if (party.departed_h + offset_h) // DAY_H < (self.start_h[first] + self.planned[first] + offset_h) // DAY_H:
            party.nights, party.marks = 1, int(Mark.MOVED)      # the evening before
        for leg in range(first, last_leg + 1):
            slot = self._rested(party, leg, go) if leg == first else self._rested_slot(party, leg)
            if leg > first and slot <= self.last[leg]:
                why = self._before_flight(party, leg, slot)
                if why is not None:
                    self._stranded(party, leg, why)
                    return
                if self.now_h > self.start_h[leg] + slot:
                    slot = self._rested_slot(party, leg)
            if slot > self.last[leg]:
                # Nobody knows beforehand that the window will stay shut: the party waits it out.
                self._passes(max(0.0, self.start_h[leg] + self.last[leg] - self.now_h))
                party.reasons |= self._reasons_between(leg, self.planned[leg])
                self._stranded(party, leg, self._why_stuck(leg, self.planned[leg]))
                return
            if not self._flown(party, leg, slot):
                if leg == first:
                    self._gave_up(party)
                else:
                    self._stranded(party, leg, Reason.CEILING)
                return
            why = self._arrived(party, leg)
            if why is not None:
                self._stranded(party, leg + 1, why)
                return
        self._home(party, last_leg)

    def _flown(self, party: Party, leg: int, slot: int) -> bool:
        """Fly a leg, again after turning back as long as its window allows; return whether the party got away."""
        ends, home = self.decisions.ends, self.plain.from_place[leg]
        while ends is not None and ends.item(leg, slot) == 1 + home:
            self._turned(party, leg, slot, home)
            slot = self._rested(party, leg, self._go(leg, max(0, ceil(self.now_h - self.start_h[leg] - 1e-9))))
            if slot > self.last[leg]:
                return False
        if ends is not None and ends.item(leg, slot):
            self._landed_short(party, leg, slot, ends.item(leg, slot) - 1)
        else:
            self._fly(party, leg, slot)
        if leg == self.first_leg[party.trip]:
            nominal_h = self.block_h(leg, self.planned[leg]) or self.block_h(leg, slot)
            planned_h = self.start_h[leg] + self.planned[leg] + nominal_h
            party.late = party.landed_h > planned_h + self.limits_of[party.trip].late_outbound_h
        return True

    def _turned(self, party: Party, leg: int, slot: int, place: int) -> None:
        """Fly as far as the weather of the way allows, to a place short of the destination or back to where it began.

        A way back begins half way: there and back again takes as long as the whole leg.
        """
        depart_h = self.start_h[leg] + slot
        self._passes(max(0.0, depart_h - self.now_h))
        start, goal = self.plain.from_place[leg], self.plain.to_place[leg]
        hop = self.hops.hop(start, goal if place == start else place)
        self._hop(party.trip, leg, Purpose.TURNED, start, place, hop)
        party.turned += 1
        party.met_below += int(self.decisions.met_below is not None and self.decisions.met_below.item(leg, slot))
        party.reasons |= BIT[Reason.CEILING]
        party.flown_h += hop.flight_h
        self._passes(hop.flight_h + self.limits_of[party.trip].taxi_h)
        party.landed_h = self.now_h
        party.rested_from_h = self._rested_from_h(party.trip, self.now_h)

    def _landed_short(self, party: Party, leg: int, slot: int, place: int) -> None:
        """Land short, and go on in the next hour whose way is open; otherwise the place is lost."""
        self._turned(party, leg, slot, place)
        goal, ends, start_h = self.plain.to_place[leg], self.decisions.ends, self.start_h[leg]
        later = self._go(leg, max(slot + 1, ceil(self.now_h - start_h - 1e-9)))
        opens_h = []
        while later <= self.last[leg]:
            if ends is None or not ends.item(leg, later):
                opens_h.append(start_h + later)
            later = self._go(leg, later + 1)
        self._on_from(party, leg, place, opens_h or [self.now_h + NOT_SOON_H], self.hops.hop(place, goal))

    def _fly(self, party: Party, leg: int, slot: int) -> None:
        decisions = self.decisions
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
        self._passes(depart_h + block_h - self.now_h)
        party.landed_h = self.now_h
        if decisions.below.item(leg, slot):
            self._divert(party, leg, slot)

    def _divert(self, party: Party, leg: int, slot: int) -> None:
        """Go to the alternate, and on from there when the place opens in time; otherwise the place is lost."""
        place = self.plain.to_place[leg]
        alternate, wait_h = self.decisions.diverts.diversion(leg, slot)
        hop = self.hops.hop(place, alternate)
        party.diversions += 1
        self._hop(party.trip, leg, Purpose.DIVERSION, place, alternate, hop)
        self._passes(hop.flight_h)
        party.reasons |= BIT[Reason.CEILING]
        holds_h = int(self.limits_of[party.trip].hold_for_weather_h)
        self._on_from(party, leg, alternate, [self.now_h + wait_h + k for k in range(holds_h + 1)], hop)

    def _on_from(self, party: Party, leg: int, alternate: int, opens_h: list[float], hop: Hop) -> None:
        """Go on from where a flight ended short when its destination opens in time; else by road, the aircraft later.

        `opens_h`: when it may be open; `hop`: to the destination.
        """
        place = self.plain.to_place[leg]
        go_h = self._goes_on_h(party, leg, alternate, opens_h, hop.flight_h)
        if go_h is not None:
            self._passes(go_h - self.now_h)
            self._hop(party.trip, leg, Purpose.CONTINUATION, alternate, place, hop)
        else:
            # The party goes the rest of the way by road; the pilot brings the aircraft over when the place opens.
            road_h = hop.distance_nm / self.limits_of[party.trip].road_kt
            party.skipped, party.by_road_h = True, self.now_h + road_h
            self._passes(max(self._fair_h(alternate, place, opens_h[0]) - self.now_h, road_h))
            self._hop(party.trip, -1, Purpose.FERRY, alternate, place, hop)
        self._passes(hop.flight_h + self.limits_of[party.trip].taxi_h)
        party.landed_h = self.now_h

    def _before_flight(self, party: Party, leg: int, slot: int) -> Reason | None:
        """Look at the aircraft before a leg away from home; return a reason when it does not fly it."""
        depart_h = self.start_h[leg] + slot
        if not self.health.flyable_at(depart_h):
            return Reason.MAINTENANCE
        if not self.health.hidden:
            return None
        self._passes(max(0.0, depart_h - self.now_h))
        self.health.look_over()
        return self._mended_in_time(party, leg)

    def _arrived(self, party: Party, leg: int) -> Reason | None:
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
        return self._mended_in_time(party, leg + 1)

    def _mended_in_time(self, party: Party, leg: int) -> Reason | None:
        """Mend what has shown; return a reason when that takes longer than a leg to come may wait."""
        while self.health.grounded:
            repair_h = self.health.repair_h(away=True, weekend=self._weekend(party.trip))
            if self.now_h + repair_h > self.start_h[leg] + self.last[leg]:
                return Reason.MAINTENANCE
            party.reasons |= BIT[Reason.MAINTENANCE]
            self._passes(self._mended(party, self.plain.from_place[leg]))
        return None

    def _stranded(self, party: Party, leg: int, reason: Reason) -> None:
        """Send the party home by other means, and the aircraft after it, mended or by special permit.

        Whoever waits for a repair stays as long as planned; one whose flight ended short of its place does not.
        """
        limits = self.limits_of[party.trip]
        place = self.plain.from_place[leg]
        last_leg = self.first_leg[party.trip + 1] - 1
        home = self.plain.to_place[last_leg]
        planned = self.planned[last_leg]
        planned_home_h = self.start_h[last_leg] + planned + self.block_h(last_leg, planned)
        stays = reason is Reason.MAINTENANCE and not party.skipped
        leave_h = max(self.now_h, self.start_h[leg] + self.planned[leg]) if stays else self.now_h
        party.reasons |= BIT[reason]
        self._ended(party, Outcome.BROKEN_OFF, reason, leave_h + limits.substitute_block_h, planned_home_h,
                    otherwise=True, left_h=leave_h)
        if self.health.grounded:
            self._flyable_again(party, place)
        else:
            self._passes(limits.fetched_after_h)
        if place != home:
            self._passes(self._fair_h(place, home, self.now_h) - self.now_h)
            hop = self.hops.hop(place, home)
            self._hop(party.trip, -1, Purpose.FERRY, place, home, hop)
            self._passes(hop.flight_h + limits.taxi_h)

    def _flyable_again(self, party: Party, place: int) -> None:
        """Mend an aircraft where it stands, or wait for the permit to fly it home without passengers."""
        permit_h = self.health.upkeep.permit_h
        self.holder = Reason.MAINTENANCE
        while self.health.grounded:
            repair_h = self.health.repair_h(away=True, weekend=self._weekend(party.trip))
            if repair_h > permit_h and self.health.ferriable():
                self._passes(permit_h)
                return
            self._passes(self._mended(party, place))

    def _shop_if_due(self, next_trip: int) -> None:
        """Before the aircraft is given back at home: mend faults, change oil, inspect."""
        health = self.health
        health.ends_trip = False
        for kind, hours_h in health.due_at_home(self._flights_h(next_trip)):
            self.log.shop.append(health.visit(kind, self.now_h, hours_h, 0, -1))
            self.holder = Reason.MAINTENANCE
            self._passes(hours_h)

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
        env, flown = self.env, False
        while start_h < LAST_LOCAL_H and not flown:
            yield env.timeout(max(0.0, start_h - env.now))
            start_h += DAY_H
            if self.aircraft.idle and self.health.flyable_at(env.now + self.local.flight_h):
                flown = yield from self._with_aircraft(LOCAL, self._flies_around)

    def _flies_around(self) -> bool:
        """Fly from home and back unless a fault has shown; return whether that was done."""
        health, flight_h = self.health, self.local.flight_h
        health.look_over()
        flies = not health.grounded
        if flies:
            self.log.hops.append(HopFlown(-1, -1, Purpose.LOCAL, 0, 0, self.now_h, flight_h, self.local.fuel_gal,
                                          0.0, 1))
            health.fly(flight_h)
            self._passes(flight_h + self.limits_of[0].taxi_h if self.limits_of else flight_h)
        self._shop_if_due(self.schedule.trips)
        return flies
