"""Kept years are the years that would be flown anew, and only what changed is flown."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from study_cases import small_study

from missionsim.study.compare.compare import chunk_tallies
from missionsim.study.compare.kept_flights import KeptFlights, candidate_key, same_flights, splits, study_key
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import prepare, repriced

SUMS = ("table", "categories", "structural", "on_the_day", "monthly", "by_trip", "trip_cents")


def same(found, wanted):
    assert [t.name for t in found] == [t.name for t in wanted]
    for mine, other in zip(found, wanted, strict=True):
        for name in SUMS:
            np.testing.assert_array_equal(getattr(mine, name), getattr(other, name))


def with_spec(study, **changes):
    return replace(study, spec=study.spec.model_copy(update=changes))


@pytest.fixture(scope="module")
def study():
    return small_study(trips=6)


@pytest.fixture(scope="module")
def prepared(study):
    return prepare(study, rental=True)


@pytest.fixture
def kept(prepared):
    made = KeptFlights()
    assert made.fly(prepared, [0]) == 2
    return made


def test_kept_years_have_the_bits_of_years_flown_at_once(prepared, kept):
    same(kept.tallies(prepared, 0, 10), chunk_tallies(prepared, range(10), 10))
    assert kept.fly(prepared, [0]) == 0


def test_other_prices_fly_nothing_and_give_what_flying_anew_gives(study, prepared, kept):
    dear = with_spec(study, value_of_time_usd_per_h=90.0,
                     prices=study.spec.prices.model_copy(update={"fuel_usd_per_gal": 9.0, "labor_usd_per_h": 180.0}))
    assert same_flights(prepared, dear)
    again = repriced(prepared, dear)
    assert kept.fly(again, [0]) == 0
    found = kept.tallies(again, 0, 10)
    same(found, chunk_tallies(prepare(dear, rental=True), range(10), 10))
    assert (found[0].column("net_cost_cents") != kept.tallies(prepared, 0, 10)[0].column("net_cost_cents")).all()


def test_one_changed_aircraft_flies_alone_beside_the_others_kept_years(study, prepared, kept):
    first, second = study.candidates
    state = second.profile.state.model_copy(update={"months_since_annual": 3.0})
    changed = replace(study, candidates=(first, replace(second, profile=second.profile.model_copy(
        update={"state": state}))))
    assert not same_flights(prepared, changed)
    again = prepare(changed, rental=True)
    assert kept.fly(again, [0]) == 1
    same(kept.tallies(again, 0, 10), chunk_tallies(again, range(10), 10))


def test_an_asking_price_flies_nothing(study, prepared):
    first, second = study.candidates
    prices = first.profile.prices.model_copy(update={"asking_price_usd": 50_000.0})
    cheaper = replace(first, profile=first.profile.model_copy(update={"prices": prices}))
    assert same_flights(prepared, replace(study, candidates=(cheaper, second)))


def test_another_trip_list_is_not_the_same_flights(study, prepared):
    assert same_flights(prepared, study)
    assert not same_flights(prepared, replace(study, listed=replace(study.listed, trips=study.listed.trips[1:])))


@pytest.mark.parametrize(("key", "value"), [("seed", 9), ("plan_by", "cost"), ("oxygen", "yes"), ("kept", "tie_down"),
                                            ("trips_are", "wish_list"), ("mixture", "lean")])
def test_whatever_may_change_a_flight_is_flown_anew(study, key, value):
    assert study_key(replace(with_spec(study, **{key: value}))) != study_key(study)


def test_a_pilot_an_assumption_or_a_trip_less_is_flown_anew(study):
    others = (replace(study, pilot=study.pilot.model_copy(update={"night": not study.pilot.night})),
              replace(study, assumptions=study.assumptions.supposed({"year.max_wind_kt": 20.0})),
              replace(study, listed=replace(study.listed, trips=study.listed.trips[1:])))
    assert len({study_key(study), *map(study_key, others)}) == 4


def test_planning_by_cost_depends_on_the_price_of_fuel(study):
    by_cost = with_spec(study, plan_by="cost")
    dear = with_spec(by_cost, prices=study.spec.prices.model_copy(update={"fuel_usd_per_gal": 9.0}))
    assert study_key(by_cost) != study_key(dear)


def test_candidates_with_other_names_are_told_apart(prepared):
    assert len({candidate_key(f) for f in prepared.flyers}) == 2


def test_years_of_an_ownership_and_drawn_trips_are_not_kept(study):
    assert splits(study)
    assert not splits(with_spec(study, years=3))
    assert not splits(replace(study, listed=None))


def test_the_demo_loaded_twice_has_one_key():
    assert study_key(load_study()) == study_key(load_study())
