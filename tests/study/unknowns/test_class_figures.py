"""Figures of a class, drawn: factors on the likely aircraft do what an aircraft of those figures does."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import yaml
from study_cases import fly_chunk, small_study

from missionsim.aircraft.profile import Profile
from missionsim.flight.table import with_factors
from missionsim.study.prepare.study import prepare
from missionsim.study.replicate.one_year import plan_for
from missionsim.study.unknowns.class_figures import Factors, class_model, drawn_values, likely_value
from missionsim.study.unknowns.draws import Listing
from missionsim.study.unknowns.effects import effects_of

LISTED = yaml.safe_load("""
name: a few figures
class: four-seat fixed gear, 180-200 hp
identity: {year: 1997}
engine: {rated_hp: 180}
weights: {useful_load_lb: 985}
prices: {asking_price_usd: 139000}
limits: {surfaces: [paved, grass]}
panel: {approach: lpv, ads_b: true}
""")


def study_of(profile: Profile, trips: int = 14):
    study = small_study(trips=trips, candidates=1)
    return replace(study, candidates=(replace(study.candidates[0], name=profile.name, profile=profile),))


@pytest.fixture(scope="module")
def listing():
    study = small_study(candidates=1)
    return Listing.of(Profile.model_validate(LISTED), study.year, study.assumptions)


def test_open_figures_of_the_class_are_questions_like_any_other(listing):
    keys = [figure.key for figure in listing.unsaid]
    assert {"book.cruise.tas_kt", "book.climb_fpm", "tanks", "book.takeoff.over_50ft_ft"} <= set(keys)
    assert "weights.empty_weight_lb" not in keys  # the useful load is given
    drawn = listing.drawn(3, range(60))
    assert set(drawn.values) == set(keys)
    speeds = drawn.values["book.cruise.tas_kt"]
    assert np.ptp(speeds) > 10.0
    assert np.median(speeds) == pytest.approx(likely_value(listing.profile, "book.cruise.tas_kt"), rel=0.05)


def test_a_price_nobody_told_is_drawn_about_the_class_and_asked_for():
    study = small_study(candidates=1)
    silent = {**LISTED, "prices": {"asking_price_usd": "unknown"}}
    profile = Profile.model_validate(silent)
    listing = Listing.of(profile, study.year, study.assumptions)
    drawn = listing.drawn(3, range(400)).values["prices.asking_price_usd"]
    likely = profile.prices.asking_price_usd
    assert np.median(drawn) == pytest.approx(likely, rel=0.03)
    # The year is known: a spread of 0.3 of the logarithm, so that the 90 % point is 1.47 times the middle.
    assert np.quantile(drawn, 0.9) == pytest.approx(1.469 * likely, rel=0.04)
    aged = {**silent, "identity": {}}
    wide = Listing.of(Profile.model_validate(aged), study.year, study.assumptions).drawn(3, range(400)).values
    assert np.quantile(wide["prices.asking_price_usd"], 0.9) == pytest.approx(330_000.0, rel=0.06)   # the class's own
    assert "prices.asking_price_usd" not in listing_keys(Profile.model_validate(LISTED), study)


def listing_keys(profile, study):
    return [figure.key for figure in Listing.of(profile, study.year, study.assumptions).unsaid]


def test_crosswind_and_ceiling_nobody_told_limit_what_is_flown():
    study = study_of(Profile.model_validate({**LISTED, "class": "six-seat turbocharged single", "weights": {},
                                             "engine": {"rated_hp": 310}}), 3)
    prepared = prepare(study)
    flyer = prepared.flyers[0]
    drawn = flyer.listing.drawn(3, range(40))
    # Certification asks for a fifth of the stalling speed: 14 CFR 23.233.
    assert (drawn.values["limits.demonstrated_crosswind_kt"] >= 0.2 * drawn.values["book.vs0_cas_kt"] - 1e-9).all()
    effect = replace(effects_of(drawn).at(0), of_class=Factors(crosswind=0.5, ceiling=0.5))
    plan = plan_for(prepared.entrants[0], effect).plan
    assert plan.runways.crosswind_limit_kt == pytest.approx(0.5 * flyer.plan.runways.crosswind_limit_kt)
    levels = plan.table.rows.levels_ft
    half = 0.5 * flyer.listing.profile.book.service_ceiling_ft
    assert not plan.level_limits.oxygen[levels > half].any()
    np.testing.assert_array_equal(plan.level_limits.oxygen[levels <= half],
                                  flyer.plan.level_limits.oxygen[levels <= half])


def test_draws_belong_to_the_aircraft_and_its_replication(listing):
    model = class_model(listing.profile, listing.assumptions)
    whole = drawn_values(listing.profile, model, 3, range(6))
    part = drawn_values(listing.profile, class_model(listing.profile, listing.assumptions), 3, [4, 2])
    for key, values in part.items():
        np.testing.assert_array_equal(values, whole[key][[4, 2]])


def test_a_listing_drawn_again_draws_as_one_nobody_has_drawn_from(listing):
    first, fresh = listing.drawn(3, range(4, 8)), replace(listing)
    again = listing.drawn(3, range(4, 8))
    for key, values in fresh.drawn(3, range(4, 8)).values.items():
        np.testing.assert_array_equal(values, first.values[key])
        np.testing.assert_array_equal(values, again.values[key])


def test_effects_are_the_drawn_figures_over_the_likely_ones(listing):
    drawn = listing.drawn(3, range(5))
    effects = effects_of(drawn)
    for i in range(5):
        factors = effects.at(i).of_class
        assert factors.climb == pytest.approx(drawn.values["book.climb_fpm"][i] / listing.profile.book.climb_fpm)
        assert factors.tank == pytest.approx(drawn.values["tanks"][i] / listing.profile.usable_gal)


def test_an_aircraft_that_is_all_known_flies_by_its_own_plan():
    prepared = prepare(small_study(trips=3, candidates=3))
    flyer = prepared.flyers[2]
    effect = replace(effects_of(flyer.listing.drawn(1, [0])).at(0), speed_share=1.0, autopilot_out=False)
    assert effect.of_class == Factors()
    assert plan_for(prepared.entrants[2], effect).plan is flyer.plan
    same = with_factors(flyer.plan.table, 1.0, 1.0, 1.0)
    for name, values in flyer.plan.table.coefficient.items():
        np.testing.assert_array_equal(same.coefficient[name], values)


def made_of(profile: Profile, values, i: int) -> Profile:
    """Return the profile of a drawn aircraft, typed out: field rolls go with the distances over 50 ft."""
    book, changes = profile.book, {key: float(v[i]) for key, v in values.items() if key.startswith("book.")}
    point = {"tas_kt": changes["book.cruise.tas_kt"], "fuel_flow_gph": changes["book.cruise.fuel_flow_gph"]}
    cruise = [book.cruise[0].model_dump() | point]
    fields = {}
    for side in ("takeoff", "landing"):
        old, over = getattr(book, side), changes[f"book.{side}.over_50ft_ft"]
        fields[f"book.{side}"] = {"ground_roll_ft": old.ground_roll_ft * over / old.over_50ft_ft, "over_50ft_ft": over}
    fields |= {key: float(values[key][i]) for key in (
        "engine.tbo_h", "limits.demonstrated_crosswind_kt", "geometry.wing_area_sqft", "book.vs0_cas_kt")}
    return profile.changed({"book.cruise": cruise, "book.climb_fpm": changes["book.climb_fpm"], **fields,
                            "tanks": [{"name": "tanks", "usable_gal": float(values["tanks"][i])}], "class_words": ""})


@pytest.mark.slow
def test_twenty_drawn_aircraft_prepared_afresh_cost_and_fly_the_same():
    """Net cost within one percent and trips made within one, in the mean; ways and stops stay the likely aircraft's."""
    study = study_of(Profile.model_validate(LISTED), 40)
    prepared, listing = prepare(study), None
    listing = prepared.flyers[0].listing
    values = listing.drawn(study.seed, range(20)).values
    cost, made = np.zeros((2, 20)), np.zeros((2, 20))
    for r in range(20):
        fresh = made_of(listing.profile, values, r)
        for k, ready in enumerate((prepared, prepare(replace(study, candidates=(
                replace(study.candidates[0], profile=fresh),))))):
            (flown,) = fly_chunk(ready, [r])
            cost[k, r] = flown.ledger.amount_cents.sum() / 100.0
            made[k, r] = np.isin(flown.trips["outcome"], ["completed", "delayed"]).sum()
    assert cost[0].mean() == pytest.approx(cost[1].mean(), rel=0.01)
    assert np.abs(made[0] - made[1]).mean() <= 1.0
