"""What the trips of a study may do whose load does not fit, in the order the study gives."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial

import numpy as np

from missionsim.aircraft.loading import most_bags_lb
from missionsim.aircraft.profile import Profile
from missionsim.base.arrays import Array, Bools, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.base.words import Adaptation
from missionsim.decide.adapt import LOADS, Lighter, LighterWays, without
from missionsim.decide.candidate_plan import Loads
from missionsim.decide.two_runs import in_two, may_split
from missionsim.study.inputs.schema import Pilot
from missionsim.study.prepare.aircraft import Equipped
from missionsim.study.prepare.pilot import pilot_figure
from missionsim.study.prepare.study import Prepared


def lighter_ways(prepared: Prepared, aircraft: Equipped, people_lb: Array, extra_empty_lb: Array) -> LighterWays | None:
    """Return what trips may do whose load does not fit one aircraft; None where the study lets them do nothing.

    Parameters
    ----------
    aircraft : Equipped
    people_lb : (trip, seat) array   Weights of the people of the replication. [lb]
    extra_empty_lb : (trip,) array   What this one weighs empty beyond its likely weight. [lb]
    """
    order = prepared.study.spec.when_it_does_not_fit

    def ways(short: Ints) -> Iterator[Lighter]:
        adults = np.array([t.adults for t in prepared.table], dtype=np.int64)
        # A trip that must be possible with everybody aboard is never made with fewer.
        least = np.array([t.adults if t.adults_least is None or t.must_be_possible else min(t.adults_least, t.adults)
                          for t in prepared.table], dtype=np.int64)
        own_bags_lb = np.array([t.bags_lb for t in prepared.table], dtype=float)
        gear_lb, left_lb = prepared.bags_lb - own_bags_lb, 0.0
        nobody = np.zeros(len(short), dtype=np.int64)
        for step in order:
            if step == "leave_gear":
                left_lb = removable_lb(prepared.study.pilot, aircraft, prepared.study.assumptions)
                gear_lb = np.maximum(gear_lb - left_lb, -aircraft.profile.removable_weight_lb)
                yield Lighter(Adaptation.GEAR_LEFT, short, _loads_of(aircraft.loads, people_lb, own_bags_lb + gear_lb,
                                                                     extra_empty_lb, short), nobody, left_lb,
                              _room(aircraft, people_lb, own_bags_lb + gear_lb, short))
            elif step == "seats_out" and can_carry_freight(aircraft.profile):
                yield Lighter(Adaptation.SEATS_OUT, short, _loads_of(partial(loads_without_seats, aircraft), people_lb,
                                                                     own_bags_lb + gear_lb, extra_empty_lb, short),
                              nobody)
            elif step == "fewer_aboard":
                for apart in range(1, int((adults - least)[short].max(initial=0)) + 1):
                    some = short[(adults - least)[short] >= apart]
                    people, bags_lb = without(people_lb, own_bags_lb, adults, apart)
                    yield Lighter(Adaptation.FEWER_ABOARD, some, _loads_of(
                        aircraft.loads, people, bags_lb + gear_lb, extra_empty_lb, some), np.full(len(some), apart),
                                  room=_room(aircraft, people, bags_lb + gear_lb, some))
            elif step == "two_runs":
                some = short[can_go_twice(prepared, short)]
                if len(some):
                    yield _twice(aircraft, some, people_lb, own_bags_lb, adults, gear_lb, extra_empty_lb)

    return ways if order else None


def can_go_twice(prepared: Prepared, trips: Ints) -> Bools:
    """Tell which of some trips are short enough, every leg of them, to be flown in two runs, and may be parted."""
    schedule, asked = prepared.schedule, [prepared.table.trips[k] for k in trips.tolist()]
    at_once = np.array([trip.must_be_possible for trip in asked], dtype=bool)
    adults = np.array([trip.adults for trip in asked], dtype=np.int64)
    return (prepared.longest_leg_nm[trips] <= prepared.study.assumptions["flight.two_runs_nm"]) & ~at_once & may_split(
        schedule.people[trips], adults)


def _twice(aircraft: Equipped, trips: Ints, people_lb: Array, own_bags_lb: Array, adults: Ints, gear_lb: Array,
           extra_empty_lb: Array) -> Lighter:
    """Return the way of flying each leg twice; planned with the heavier of both runs."""
    first, second, follow = in_two(people_lb[trips], own_bags_lb[trips], adults[trips])
    runs = [aircraft.loads(people, bags_lb + gear_lb[trips], extra_empty_lb[trips]) for people, bags_lb in
            (first, second)]
    heavy = runs[0].zero_fuel_lb >= runs[1].zero_fuel_lb

    def of(first_is: bool, places: Ints) -> Loads:
        return Loads(*(np.where(heavy == first_is, getattr(runs[0], name), getattr(runs[1], name))[places]
                       for name in LOADS))

    return Lighter(Adaptation.TWO_RUNS, trips, partial(of, True), np.zeros(len(trips), dtype=np.int64),
                   second=partial(of, False), follow=follow)


def _loads_of(weighed: Callable[[Array, Array, Array], Loads], people_lb: Array, bags_lb: Array, extra_empty_lb: Array,
              trips: Ints) -> Callable[[Ints], Loads]:
    """Return what weighs some of the trips listed, when they are asked about; the other arrays are by trip."""
    def of(places: Ints) -> Loads:
        some = trips[places]
        return weighed(people_lb[some], bags_lb[some], extra_empty_lb[some])

    return of


def _room(aircraft: Equipped, people_lb: Array, bags_lb: Array, trips: Ints) -> Bools:
    """Tell of which of some trips the bags and removable items may find room; the other arrays are by trip."""
    most_lb = most_bags_lb(aircraft.profile, (people_lb[trips] > 0.0).sum(axis=1), aircraft.assumptions)
    return np.asarray(bags_lb[trips] + aircraft.profile.removable_weight_lb <= most_lb + 1e-6)


def removable_lb(pilot: Pilot, aircraft: Equipped, assumptions: Assumptions) -> float:
    """Return what can be left behind: the profile's removable items, and a part of what always flies along. [lb]"""
    gear_lb = pilot_figure(pilot, "gear_lb", assumptions)
    return aircraft.profile.removable_weight_lb + min(gear_lb, float(assumptions["pilot.gear_left_lb"]))


def can_carry_freight(profile: Profile) -> bool:
    """Tell whether some row behind the first says what may be tied down where its seats were."""
    return any(_goes_out(profile, i) for i in range(len(profile.stations)))


def _goes_out(profile: Profile, i: int) -> bool:
    front = next(k for k, s in enumerate(profile.stations) if s.kind == "seat")
    station = profile.stations[i]
    return station.kind == "seat" and i != front and station.freight_lb is not None


def loads_without_seats(aircraft: Equipped, people_lb: Array, bags_lb: Array, extra_empty_lb: Array) -> Loads:
    """Return loads of trips with the seats taken out that can be, freight tied down where they were.

    Parameters
    ----------
    aircraft : Equipped
    people_lb : (trip, seat) array   Weights of people. [lb]
    bags_lb : (trip,) array          Bags. [lb]
    extra_empty_lb : (trip,) array   Empty weight beyond that of the profile. [lb]
    """
    profile = aircraft.profile
    out = [i for i in range(len(profile.stations)) if _goes_out(profile, i)]
    stations = tuple(s.model_copy(update={"kind": "baggage", "seats": 0, "max_lb": s.freight_lb}) if i in out else s
                     for i, s in enumerate(profile.stations))
    bare = replace(aircraft, profile=profile.model_copy(update={"stations": stations}))
    weigh_lb = np.array([profile.stations[i].seats_weigh_lb for i in out])
    arm_in = np.array([profile.stations[i].arm_in or 0.0 for i in out])
    found = bare.loads(people_lb, bags_lb, extra_empty_lb - weigh_lb.sum())
    # Taken off at the arm of the empty aircraft; the seats were at their own.
    shift_lb_in = float((weigh_lb * ((profile.weights.empty_arm_in or 0.0) - arm_in)).sum())
    return replace(found, zero_fuel_moment_lb_in=found.zero_fuel_moment_lb_in + shift_lb_in)


def drained_lb(prepared: Prepared, profile: Profile) -> Array:
    """Return by trip what the aircraft weighs less in the months in which it flies without fluid against ice. [lb]"""
    first, last = prepared.study.assumptions["icing.fluid_drained_months"]
    month = np.array([t.departs_local[0].month for t in prepared.table])
    return np.where((month >= first) & (month <= last), profile.panel.ice_fluid_lb, 0.0)
