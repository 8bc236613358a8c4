"""A heavy party through a whole replication: who may stay behind, in which order, and what a study lets them do."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from study_cases import small_study

from missionsim.aircraft.loading import empty_weight_lb
from missionsim.base.words import Adaptation, Mark
from missionsim.study.prepare.aircraft import Equipped
from missionsim.study.prepare.study import prepare
from missionsim.study.replicate.lighter import can_carry_freight, drained_lb, lighter_ways, loads_without_seats
from missionsim.study.replicate.one_year import columns_of, weather_of, year_of
from missionsim.study.unknowns.effects import effects_of

HEAVY = {"adults": 4, "children": 0, "bags_lb": 240.0}


def heavy_study(**trip):
    study = small_study(trips=1, candidates=1, when_it_does_not_fit=("leave_gear", "fewer_aboard"))
    only = replace(study.listed.trips[0], **(HEAVY | trip))
    return replace(study, listed=replace(study.listed, trips=(only,)))


def flown(study):
    made = prepare(study)
    day = weather_of(made, 0)
    year = year_of(made.entrants[0], day, 0)
    return made, year, columns_of(made, year, 0)


def test_one_adult_after_the_other_goes_by_car_until_the_load_fits():
    made, year, columns = flown(heavy_study(adults_least=1))
    aircraft = made.flyers[0].plan.aircraft
    apart = int(year.rows.gave_up.apart[0])
    assert year.rows.gave_up.how.tolist() == [Adaptation.FEWER_ABOARD]
    assert 1 <= apart <= 3
    # By hand: 15 lb of gear stay, and a quarter of the bags goes with each who does not fly.
    people = weather_of(made, 0).people_lb[0].copy()
    people[4 - apart:] = 0.0
    own_lb = effects_of(made.flyers[0].listing.drawn(made.study.seed, [0])).at(0).extra_empty_lb
    alone = aircraft.loads(people[None], np.array([240.0 * (4 - apart) / 4 + 15.0]), own_lb)
    assert year.rows.loads.zero_fuel_lb.tolist() == pytest.approx(alone.zero_fuel_lb.tolist())
    # One more aboard, and it is too heavy: nobody stays behind for nothing.
    people[4 - apart] = weather_of(made, 0).people_lb[0, 4 - apart]
    one_more = aircraft.loads(people[None], np.array([240.0 * (5 - apart) / 4 + 15.0]), own_lb)
    need_gal = year.rows.required_gal.min() - made.flyers[0].plan.fuel.taxi_gal
    assert apart == 1 or float(aircraft.max_fuel_gal(one_more.zero_fuel_lb)[0]) < need_gal + 1.0
    assert columns.trips["outcome"].tolist() != ["refused"]
    assert columns.trips["marks"].tolist() == [Mark.ADAPTED]
    assert set(columns.flights["people"].tolist()) == {4 - apart}


def test_gear_is_weighed_only_where_the_bags_may_find_room():
    # Four aboard leave the bags their place alone; what can be left behind is 15 lb, as by the assumptions.
    made = prepare(heavy_study(bags_lb=0.0))
    equipped = made.entrants[0].flyer.plan.aircraft
    place_lb = sum(s.max_lb or 0.0 for s in equipped.profile.stations if s.kind == "baggage")
    gear_lb = 30.0 - made.study.assumptions["pilot.gear_left_lb"] + equipped.profile.removable_weight_lb
    for bags_lb, room in ((place_lb - gear_lb - 1.0, True), (place_lb - gear_lb + 1.0, False)):
        made = prepare(heavy_study(bags_lb=bags_lb))
        ways = lighter_ways(made, equipped, np.full((1, 6), [180.0] * 4 + [0.0] * 2), np.zeros(1))
        first = next(iter(ways(np.zeros(1, dtype=np.int64))))
        assert (first.how, first.room.tolist()) == (Adaptation.GEAR_LEFT, [room])


@pytest.mark.parametrize("trip", [{}, {"adults_least": 4}, {"adults_least": 1, "must_be_possible": True}])
def test_a_trip_that_wants_everybody_aboard_is_refused(trip):
    _, year, columns = flown(heavy_study(**trip))
    assert not year.rows.gave_up.apart.any()
    assert columns.trips["outcome"].tolist() == ["refused"]
    assert columns.trips["structural"].tolist() == [True]
    assert columns.trips["apart"].tolist() == [0]


def test_a_study_may_let_nobody_give_up_anything():
    study = heavy_study(adults_least=1)
    none = replace(study, spec=study.spec.model_copy(update={"when_it_does_not_fit": ()}))
    made, _, columns = flown(none)
    assert columns.trips["outcome"].tolist() == ["refused"]
    assert lighter_ways(made, made.flyers[0].plan.aircraft, made.people_lb, np.zeros(1)) is None


def test_removable_items_of_the_profile_fly_along_and_are_the_first_to_stay_behind():
    study = small_study(trips=1, candidates=1)
    candidate = study.candidates[0]
    profile = candidate.profile.model_copy(update={"removable_lb": {"cot": 25.0, "tow bar": 8.0}})
    made = prepare(replace(study, candidates=(replace(candidate, profile=profile),)))
    plain = prepare(study)
    with_it, without_it = (p.flyers[0].plan.aircraft.loads(p.people_lb, p.bags_lb) for p in (made, plain))
    assert float(with_it.zero_fuel_lb[0] - without_it.zero_fuel_lb[0]) == pytest.approx(33.0)
    ways = lighter_ways(made, made.flyers[0].plan.aircraft, made.people_lb, np.zeros(1))
    first = next(iter(ways(np.array([0]))))
    assert first.how is Adaptation.GEAR_LEFT
    # 33 lb of the profile and 15 of the 30 lb that always fly along.
    assert float(with_it.zero_fuel_lb[0] - first.loads(np.array([0])).zero_fuel_lb[0]) == pytest.approx(48.0)


def test_seats_taken_out_make_room_for_freight_where_the_profile_says_so():
    study = small_study(trips=1, candidates=1)
    one = study.candidates[0]
    rear = next(i for i, s in enumerate(one.profile.stations) if s.kind == "seat" and i > 0)
    stations = tuple(s.model_copy(update={"freight_lb": 400.0, "seats_weigh_lb": 40.0}) if i == rear else s
                     for i, s in enumerate(one.profile.stations))
    places_lb = sum(s.max_lb or 0.0 for s in stations if s.kind == "baggage")
    aircraft = Equipped.of(one.profile.model_copy(update={"stations": stations}), study.assumptions)
    people, bags = np.array([[190.0, 0.0]]), np.array([places_lb + 390.0])
    assert can_carry_freight(aircraft.profile)
    assert not can_carry_freight(one.profile)
    with_seats, without_seats = aircraft.loads(people, bags), loads_without_seats(aircraft, people, bags, np.zeros(1))
    assert (with_seats.bags_ok.tolist(), without_seats.bags_ok.tolist()) == ([False], [True])
    assert float(with_seats.zero_fuel_lb[0] - without_seats.zero_fuel_lb[0]) == pytest.approx(40.0)
    # By hand: empty aircraft, less the seats at their arm, pilot in front, every bag place full, the rest on the floor.
    p, empty_lb = aircraft.profile, empty_weight_lb(aircraft.profile, study.assumptions)
    moment = empty_lb * p.weights.empty_arm_in + 190.0 * stations[0].arm_in - 40.0 * stations[rear].arm_in
    low, high = (moment + sum(s.max_lb * s.arm_in for s in stations if s.kind == "baggage")
                 + 390.0 * stations[rear].arm_in + shift for shift in (-10.0 * 100.0, 10.0 * 100.0))
    assert low <= float(without_seats.zero_fuel_moment_lb_in[0]) <= high


def test_fluid_against_ice_is_part_of_the_empty_weight_from_autumn_to_spring():
    made = prepare(small_study(trips=14, candidates=1))
    profile = made.flyers[0].candidate.profile
    wet = profile.model_copy(update={"panel": profile.panel.model_copy(update={"ice_fluid_lb": 65.0})})
    months = [t.departs_local[0].month for t in made.table]
    table = replace(made.table, trips=(*made.table.trips, *(replace(
        made.table.trips[0], departs_local=tuple(d.replace(month=m) for d in made.table.trips[0].departs_local))
        for m in (4, 5, 9, 10))))
    drained = drained_lb(replace(made, table=table), wet).tolist()
    assert drained[-4:] == [0.0, 65.0, 65.0, 0.0]
    assert drained[:-4] == [65.0 if 5 <= m <= 9 else 0.0 for m in months]
    assert not drained_lb(made, profile).any()


def short_study(assumptions=None, **trip):
    """Four heavy people to a place 70 nm away, with hours enough for a second run, by whoever flies twice so far."""
    study = heavy_study(stops=("KGRI", "KLNK", "KGRI"), later_h=6.0, return_later_h=6.0, **trip)
    order = ("leave_gear", "fewer_aboard", "two_runs")
    study = replace(study, spec=study.spec.model_copy(update={"when_it_does_not_fit": order}))
    return replace(study, assumptions=study.assumptions.replaced({"flight.two_runs_nm": 100.0, **(assumptions or {})}))


def test_a_short_leg_is_flown_twice_and_its_hours_and_fuel_are_those_of_all_flights():
    made = prepare(short_study())
    year = year_of(made.entrants[0], weather_of(made, 1), 1)
    columns = columns_of(made, year, 1)
    flights, trips = columns.flights, columns.trips
    assert trips["outcome"].tolist() == ["completed"]
    assert (trips["marks"].tolist(), trips["how"].tolist()) == ([Mark.ADAPTED], [Adaptation.TWO_RUNS])
    # The second of the three beside the pilot comes later, on both ways.
    assert flights["people"].tolist() == [3, 1, 2, 3, 1, 2]
    for column, name in (("block_h", "block_h"), ("flight_h", "flight_h"), ("fuel_gal", "fuel_burn_gal")):
        assert float(trips[column][0]) == pytest.approx(float(flights[name].sum()))
    stop_h = year.plan.times.ground_h
    ends_h = flights["depart_h"] + flights["block_h"]
    assert (flights["depart_h"][[1, 2, 4, 5]] - ends_h[[0, 1, 3, 4]]).tolist() == pytest.approx([stop_h] * 4)
    legs = [leg.leg for leg in year.log.legs]
    slots = [leg.slot for leg in year.log.legs]
    assert [float(year.decisions.block_h[k, s]) for k, s in zip(legs, slots, strict=True)] == pytest.approx(
        [ends_h[2] - flights["depart_h"][0], ends_h[5] - flights["depart_h"][3]], abs=1e-6)


@pytest.mark.parametrize(("assumptions", "trip"), [
    ({"flight.two_runs_nm": 0.0}, {}), ({"flight.two_runs_nm": 60.0}, {}), ({}, {"must_be_possible": True}),
    ({}, {"adults": 1, "children": 3})])
def test_no_leg_is_flown_twice_over_the_limit_nor_where_all_must_go_at_once_or_children_would_wait_alone(
        assumptions, trip):
    study = short_study(assumptions, **trip)
    _, year, now = flown(study)
    without = replace(study, spec=study.spec.model_copy(update={
        "when_it_does_not_fit": ("leave_gear", "fewer_aboard")}))
    _, as_before, before = flown(without)
    assert now.trips["outcome"].tolist() == ["refused"]
    for here, there in ((now.flights, before.flights), (now.trips, before.trips)):
        assert all(np.array_equal(here[name], there[name], equal_nan=here[name].dtype.kind == "f") for name in there)
    assert np.array_equal(year.decisions.reasons, as_before.decisions.reasons)
    assert not year.rows.gave_up.how.any()
